"""Opening the package loads none of the heavy libraries."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = {"numba", "scipy", "pandas", "xarray", "pvlib", "CoolProp", "starlette", "uvicorn"}

SOLVER = {"numpy", "pyarrow", "heatwright.kernel", "heatwright.compiler", "heatwright.simulate"}


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


def ready_demo(cache: Path) -> None:
    """Lay the least that passes for a demo study already run into a cache folder."""
    from heatwright.cli_open import DEMO_PLANTS
    from heatwright.workbench.serve import demo_folder

    for name in DEMO_PLANTS:
        place = cache / "demo" / demo_folder().name / name
        place.mkdir(parents=True)
        (place / "provenance.json").write_text("{}")
        (place / "summary.json").write_text(json.dumps({"plant": name}))


def test_the_workbench_is_ready_before_anything_heavy_is_loaded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With the demo study in the cache, `open` prints its address without having loaded a solver or a table reader."""
    ready_demo(tmp_path)
    monkeypatch.setenv("HEATWRIGHT_CACHE", str(tmp_path))
    code = (
        "import click, json, os, sys\n"
        "def said(text, **_):\n"
        "    print(text)\n"
        "    print(json.dumps(sorted(sys.modules)), flush=True)\n"
        "    os._exit(0)\n"
        "click.echo = said\n" + command("open", "--no-browser")
    )
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    address, loaded = answer.stdout.splitlines()
    assert address.startswith("http://127.0.0.1:")
    assert {"uvicorn", "heatwright.workbench.app"} <= set(json.loads(loaded))
    assert (HEAVY | SOLVER) & set(json.loads(loaded)) == {"starlette", "uvicorn"}


def test_the_page_of_the_workbench_answers_without_anything_heavy(tmp_path: Path) -> None:
    code = (
        "from pathlib import Path\nfrom starlette.testclient import TestClient\n"
        "from heatwright.workbench.app import make_app\nfrom heatwright.workbench.study import Study\n"
        f"app, queue = make_app(Study(Path({str(tmp_path)!r}), 'x'), 'token')\n"
        "page = TestClient(app, base_url='http://127.0.0.1')\n"
        "asked = '/ /page.json /queue.json /static/bench.js /layers/heat /set-up.json?plant=plain'.split()\n"
        "assert [page.get(one).status_code for one in asked] == [200] * len(asked)\nqueue.close()"
    )
    assert loaded_by(code) == {"starlette"}


def test_the_probe_sees_a_heavy_import() -> None:
    assert loaded_by("import numba") >= {"numba"}


def test_every_public_name_is_found() -> None:
    """The package fetches its names late, so a wrong home would show only when asked for."""
    import heatwright

    assert len(heatwright.__all__) > 1
    for name in heatwright.__all__:
        assert getattr(heatwright, name) is not None
