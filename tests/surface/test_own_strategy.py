"""A strategy of one's own: every mistake is one clear report, and nothing is written."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from heatwright.cli import main
from heatwright.run import load_run
from tools.sources import ROOT

FOLDER = ROOT / "examples" / "own_strategy"
HEAD = (
    "class Mine:\n    signals = ('cabin.air',)\n    def __init__(self, car):\n        pass\n"
    "    def choose(self, seen):\n"
)
COMPILED = "import numba\nCANDIDATES = ({names})\n@numba.njit\ndef mine(t_s, signals, needs, running, held_s):\n"
FILE_MISTAKES = {
    "x = 1\n": ("it holds no strategy", "choose"),
    "import nothing_of_this_name\n": ("mine.py:1", "ModuleNotFoundError"),
    "def f(:\n": ("mine.py:1", "SyntaxError"),
    HEAD.replace("cabin.air", "cabin.ar") + "        return 'asleep'\n": ("no signal 'cabin.ar'", "'cabin.air'"),
    HEAD.replace("pass", "1 / 0") + "        return 'asleep'\n": ("mine.py:4", "ZeroDivisionError"),
    HEAD.replace("('cabin.air',)", "3") + "        return 'asleep'\n": ("signals is 3", "tuple of texts"),
    HEAD + "        return 1\n\nclass Other(Mine):\n    pass\n": ("several strategies", "mine.py:Mine"),
    COMPILED.format(names="'aslep',") + "    return 0\n": ("no candidate 'aslep'", "'asleep'"),
    COMPILED.format(names="") + "    return 0\n": ("without CANDIDATES", "ids or titles"),
}
STEP_MISTAKES = {
    HEAD + "        return 1 / 0\n": ("mine.py:6", "ZeroDivisionError", "at 0 s of the trip"),
    HEAD + "        if seen.t_s > 25.0:\n            raise ValueError('no')\n        return 'asleep'\n": (
        "mine.py:7", "ValueError: no", "at 30 s of the trip",
    ),
    HEAD + "        return seen.signals['cabin.rh']\n": ("mine.py:6", "KeyError: 'cabin.rh'"),
    HEAD + "        return 'air alon'\n": ("no candidate 'air alon'", "'air alone'"),
    HEAD + "        return None\n": ("it returned None", "candidate's id or title"),
    HEAD + "        return 'air alone', {'blowr': 0.5}\n": ("no knob 'blowr'", "'blower'"),
    HEAD + "        return 'air alone', {'blower': float('nan')}\n": ("'blower' is nan", "a number from"),
    HEAD + "        return 'air alone', {'blower': 1.5}\n": ("'blower' is 1.5", "a number from"),
    COMPILED.format(names="'asleep',") + "    return 7\n": ("it returned 7", "from 0 to 0"),
    COMPILED.format(names="'asleep',") + "    return t_s * float('nan')\n": ("it returned nan", "whole number"),
}  # fmt: skip


def run(strategy: str, out: Path) -> Result:
    return CliRunner().invoke(main, ["run", "reversing", "cold_test", "--strategy", strategy, "--out", str(out)])


@pytest.mark.parametrize("text", FILE_MISTAKES)
def test_a_file_that_is_no_strategy_is_told(text: str, tmp_path: Path) -> None:
    (tmp_path / "mine.py").write_text(text)
    answer = run(str(tmp_path / "mine.py"), tmp_path / "out")
    assert answer.exit_code == 2
    assert all(words in answer.stderr for words in FILE_MISTAKES[text]), answer.stderr
    assert "Traceback" not in answer.output
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("text", STEP_MISTAKES)
def test_a_strategy_that_fails_on_the_way_stops_the_run(text: str, tmp_path: Path) -> None:
    (tmp_path / "mine.py").write_text(text)
    answer = run(str(tmp_path / "mine.py"), tmp_path / "out")
    assert answer.exit_code == 1
    assert all(words in answer.stderr for words in (*STEP_MISTAKES[text], "nothing was written")), answer.stderr
    assert "Traceback" not in answer.output
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("dispach", "write 'dispatch'"),
        ("gone.py", "there is no such file"),
        (f"{FOLDER / 'strategy.py'}:Patent", "write 'Patient'"),
    ],
)
def test_a_name_that_is_not_there_is_told(given: str, words: str, tmp_path: Path) -> None:
    answer = run(given, tmp_path / "out")
    assert answer.exit_code == 2
    assert words in answer.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("name", ["Patient", "patient"])
def test_the_example_gives_what_it_promises(name: str, tmp_path: Path) -> None:
    want = tomllib.loads((FOLDER / "strategies.toml").read_text(encoding="utf-8"))[name]
    answer = run(f"{FOLDER / 'strategy.py'}:{name}", tmp_path / "out")
    assert answer.exit_code == 0, answer.output
    notes = json.loads((tmp_path / "out" / "summary.json").read_text())
    assert notes["health"]["choices_that_could_not_be_done"] == 0
    assert abs(load_run(tmp_path / "out").ledger["residual_relative"]) < 1e-12
    found = {**notes["summary"], **notes["comfort"]}
    assert {key: found[key] for key in want} == pytest.approx(want, rel=0.02)
    made = json.loads((tmp_path / "out" / "provenance.json").read_text())
    assert made["strategy"] == name
    assert len(made["strategy_sha256"]) == 64
    told = CliRunner().invoke(main, ["why", str(tmp_path / "out"), "--at", "0:10:00"])
    assert f"chosen by the strategy {name}" in told.output


def test_a_knob_that_is_set_stands(tmp_path: Path) -> None:
    (tmp_path / "mine.py").write_text(HEAD + "        return 'air alone', {'blower': 0.35}\n")
    answer = run(str(tmp_path / "mine.py"), tmp_path / "out")
    assert answer.exit_code == 0, answer.output
    blower = load_run(tmp_path / "out").series["x_blower"]
    assert blower[60:] == pytest.approx(0.35, abs=1e-6)
