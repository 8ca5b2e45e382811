"""Opening the package loads none of the heavy libraries."""

import json
import subprocess
import sys

import pytest

HEAVY = {"numba", "scipy", "pandas", "xarray", "pvlib", "CoolProp", "starlette", "uvicorn"}


def loaded_by(code: str) -> set[str]:
    """Run `code` in a fresh interpreter and return the heavy libraries it loaded."""
    tail = "\nimport sys, json\nprint('\\n' + json.dumps(sorted(sys.modules)))"
    answer = subprocess.run([sys.executable, "-c", code + tail], capture_output=True, text=True, check=True)
    return HEAVY & set(json.loads(answer.stdout.splitlines()[-1]))


def command(*words: str) -> str:
    """Code that runs one command line in process."""
    return f"from heatwright.cli import main\nmain({list(words)!r}, standalone_mode=False)"


@pytest.mark.parametrize(
    "code",
    [
        pytest.param("import heatwright", id="import"),
        pytest.param(command("--help"), id="help"),
        pytest.param(command("list"), id="list"),
        pytest.param(command("check", "plain", "winter_day"), id="check"),
    ],
)
def test_rim_is_light(code: str) -> None:
    assert loaded_by(code) == set()


def test_the_probe_sees_a_heavy_import() -> None:
    assert loaded_by("import numba") >= {"numba"}


def test_every_public_name_is_found() -> None:
    """The package fetches its names late, so a wrong home would show only when asked for."""
    import heatwright

    assert len(heatwright.__all__) > 1
    for name in heatwright.__all__:
        assert getattr(heatwright, name) is not None
