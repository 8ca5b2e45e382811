"""The import law is kept here, and is seen to be broken where it is broken."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tools.sources import ROOT


def lint(tree: Path) -> subprocess.CompletedProcess[str]:
    """Check the import contracts of the tree under `tree`."""
    command = "import sys; from importlinter.cli import lint_imports_command as c; c(prog_name='lint')"
    return subprocess.run(
        [sys.executable, "-c", command, "--no-cache"],
        cwd=tree,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(tree / "src"), str(tree)])},
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """A copy of what the contracts look at."""
    no_data = shutil.ignore_patterns("__pycache__", "data", "*.egg-info")
    shutil.copytree(ROOT / "src", tmp_path / "src", ignore=no_data)
    shutil.copytree(ROOT / "tools", tmp_path / "tools", ignore=no_data)
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return tmp_path


def test_the_law_is_kept(tree: Path) -> None:
    answer = lint(tree)
    assert answer.returncode == 0, answer.stdout + answer.stderr
    assert "3 kept, 0 broken" in answer.stdout


@pytest.mark.parametrize(
    ("file", "line", "said"),
    [
        (
            "physics/__init__.py",
            "import heatwright.units",
            "physics is not allowed to import heatwright.units",
        ),
        ("physics/__init__.py", "import logging", "physics may not import logging"),
        ("physics/__init__.py", "import heatwright.kernel", "physics may not import heatwright.kernel"),
        ("kernel/__init__.py", "import heatwright.plant", "kernel may not import heatwright.plant"),
        ("plant/__init__.py", "import heatwright.trip", "plant is not allowed to import heatwright.trip"),
        ("errors.py", "import heatwright.units", "errors is not allowed to import heatwright.units"),
        (
            "run.py",
            "def late():\n    import heatwright.study",
            "run is not allowed to import heatwright.study",
        ),
        ("attic/__init__.py", "", "- heatwright.attic"),
    ],
)
def test_a_breach_is_found(tree: Path, file: str, line: str, said: str) -> None:
    path = tree / "src" / "heatwright" / file
    path.parent.mkdir(exist_ok=True)
    with path.open("a") as text:
        text.write(f"\n{line}\n")
    answer = lint(tree)
    assert answer.returncode != 0
    assert "Traceback" not in answer.stderr
    assert said in answer.stdout
