"""A warm run is quick to start: of the heavy libraries it loads numpy, numba and pyarrow, and no other.

numba by itself loads parts of scipy where that is installed, for its linear algebra, which is not used here. What numba
brings along is found by asking it, and a run may load no module of scipy beyond that.
"""

from __future__ import annotations

import json
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

from tests.balance.marches import run_of

TAIL = "\nimport json, sys\nprint('\\n' + json.dumps(sorted(sys.modules)))"
NUMBA_ALONE = "import numba, numpy\nnumba.njit(lambda x: x + 1.0)(1.0)"
OTHERS = ("pandas", "xarray", "pvlib", "CoolProp", "scipy")


def loaded_by(code: str, cwd: Path) -> set[str]:
    """Every module that a piece of code loads, in a process of its own."""
    answer = subprocess.run([sys.executable, "-c", code + TAIL], capture_output=True, text=True, check=True, cwd=cwd)
    return set(json.loads(answer.stdout.splitlines()[-1]))


def command(*words: str) -> str:
    return f"from heatwright.cli import main\nmain({list(words)!r}, standalone_mode=False)"


def tops(modules: set[str]) -> set[str]:
    """Names of the packages that modules belong to."""
    return {name.partition(".")[0] for name in modules}


@cache
def numba_alone() -> set[str]:
    return loaded_by(NUMBA_ALONE, Path.cwd())


@pytest.mark.parametrize("plant", ["plain", "reversing"])
def test_a_warm_run_loads_no_other_heavy_library(plant: str, tmp_path: Path) -> None:
    run_of(plant, "winter_day")  # compiled code and tables of properties lie in the cache from here on
    printed = loaded_by(command("run", plant, "winter_day"), tmp_path) - numba_alone()
    assert tops(printed).isdisjoint({*OTHERS, "pyarrow"}), sorted(tops(printed))
    written = loaded_by(command("run", plant, "winter_day", "--out", "out"), tmp_path) - numba_alone()
    assert "pyarrow" in tops(written)
    assert tops(written).isdisjoint(OTHERS), sorted(tops(written))


def test_the_search_sees_other_libraries(tmp_path: Path) -> None:
    assert {"pandas", "pyarrow", "scipy"} <= tops(loaded_by("import pandas, pyarrow, scipy.optimize", tmp_path))
    assert "scipy.optimize" not in numba_alone()
