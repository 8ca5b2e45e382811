"""A warm run is quick to start: of the heavy libraries it loads numpy, numba and pyarrow, and no other."""

from __future__ import annotations

import json
import subprocess
import sys
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

from tests.balance.marches import run_of

TAIL = "\nimport json, sys\nprint('\\n' + json.dumps(sorted({name.partition('.')[0] for name in sys.modules})))"
HEAVY = {"numpy", "numba", "llvmlite", "pyarrow"}
"""numba stands on llvmlite."""
LIGHT = {"click", "heatwright"}
WITHOUT_PYARROW = {"numpy", "numba", "llvmlite"}


def loaded_by(*words: str, cwd: Path) -> set[str]:
    """Top names of the installed packages that one command line loads, in a process of its own."""
    code = f"from heatwright.cli import main\nmain({list(words)!r}, standalone_mode=False)" + TAIL
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=cwd)
    modules = set(json.loads(answer.stdout.splitlines()[-1]))
    at_start = subprocess.run([sys.executable, "-c", TAIL], capture_output=True, text=True, check=True, cwd=cwd)
    return modules.intersection(packages_distributions()) - set(json.loads(at_start.stdout.splitlines()[-1]))


@pytest.mark.parametrize("plant", ["plain", "reversing"])
def test_a_warm_run_loads_no_other_heavy_library(plant: str, tmp_path: Path) -> None:
    run_of(plant, "winter_day")  # compiled code and tables of properties lie in the cache from here on
    assert loaded_by("run", plant, "winter_day", cwd=tmp_path) - LIGHT == WITHOUT_PYARROW
    assert loaded_by("run", plant, "winter_day", "--out", "out", cwd=tmp_path) - LIGHT == HEAVY


def test_the_search_sees_other_libraries(tmp_path: Path) -> None:
    """Reading the table of a run needs pandas."""
    code = "import pandas" + TAIL
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=tmp_path)
    assert "pandas" in packages_distributions()
    assert "pandas" in json.loads(answer.stdout.splitlines()[-1])
