"""Bad input through the command line: one report of all mistakes, exit code 2, nothing written, no traceback."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from heatwright.cli import main
from heatwright.plant.source import shipped_folder
from tests.balance.marches import run_of

Edits = tuple[tuple[str, str], ...]
PLANT = (shipped_folder() / "plain.plant.toml").read_text(encoding="utf-8")
TRIP = """format    = "heatwright trip 1"
name      = "There"
set_point = "21 degC"

[start]
charge = "80 %"

[weather]
table = \"\"\"
time [s], temperature [degC], humidity [%]
0,    -5, 80
4000, -3, 70
\"\"\"

[[segment]]
kind     = "drive"
schedule = "there.csv"
"""
SCHEDULE = "t [s], speed [km/h]\n0, 0\n20, 50\n600, 50\n620, 0\n"


@dataclass(frozen=True)
class Mistake:
    """Edits that spoil one place; the file and the text of the line it must be reported at, and what is said."""

    file: str
    at: str
    said: tuple[str, ...]
    plant: Edits = ()
    trip: Edits = ()
    schedule: Edits = ()
    hint: bool = False


MISTAKES = {
    "unknown unit": Mistake(
        "mine.plant.toml",
        'power = "5.5 kWw"',
        ("kWw", "a unit such as 'kW' (power)", "did you mean 'kW'"),
        plant=(('power         = "5.5 kW"', 'power = "5.5 kWw"'),),
        hint=True,
    ),
    "wrong dimension": Mistake(
        "mine.plant.toml",
        'volume        = "0.4 kg"',
        ("0.4 kg", "unit such as"),
        plant=(('volume        = "0.4 L"', 'volume        = "0.4 kg"'),),
        hint=True,
    ),
    "missing part": Mistake(
        "mine.plant.toml",
        "> haeter > core",
        ("haeter", "a part of this plant", "did you mean 'heater'"),
        plant=(("> heater > core", "> haeter > core"),),
        hint=True,
    ),
    "coolant too thin": Mistake(
        "mine.plant.toml",
        'coolant = "water-glycol 20 %"',
        ("'water-glycol 20 %' cannot be worked out", "30 % to 60 % glycol by mass"),
        plant=(("[pump.core_pump]", '[fluid]\ncoolant = "water-glycol 20 %"\n[pump.core_pump]'),),
        hint=True,
    ),
    "dangling port": Mistake(
        "mine.plant.toml",
        "cold = ",
        ("port 'past' of 'temper' has no line on it",),
        plant=(('past    = "temper.past > @mixed"\n', ""),),
        hint=True,
    ),
    "port used twice": Mistake(
        "mine.plant.toml",
        'past    = "temper.through',
        ("temper.through", "through"),
        plant=(("temper.past > @mixed", "temper.through > @mixed"),),
        hint=True,
    ),
    "loop without a pump": Mistake(
        "mine.plant.toml",
        '"heat_tank > heater',
        ("nothing moves the coolant in line 'warmth'", "a pump in one of them"),
        plant=(("heat_tank > core_pump > heater", "heat_tank > heater"),),
        hint=True,
    ),
    "negative size": Mistake(
        "mine.plant.toml",
        'volume = "-0.9 L"',
        ("'-0.9 L' cannot be", "0.01 to 100 L"),
        plant=(('volume = "0.9 L"', 'volume = "-0.9 L"'),),
        hint=True,
    ),
    "empty schedule": Mistake("there.csv", "", ("the table is empty",), schedule=((SCHEDULE, ""),)),
    "NaN in the weather": Mistake(
        "there.trip.toml", "4000, nan", ("'nan' is not a usable value",), trip=(("4000, -3", "4000, nan"),), hint=True
    ),
    "unreadable plant": Mistake(
        "mine.plant.toml",
        "[pump.core_pump",
        ("not readable as TOML", "valid TOML", "[kind.name]"),
        plant=(("[pump.core_pump]", "[pump.core_pump"),),
        hint=True,
    ),
    "unreadable trip": Mistake(
        "there.trip.toml", "[weather", ("this is not TOML",), trip=(("[weather]", "[weather"),), hint=True
    ),
}


@dataclass
class Desk:
    """A folder with a plant, a trip and its schedule."""

    home: Path
    before: set[str] = field(default_factory=set)

    def lay(self, *mistakes: Mistake) -> None:
        """Write the three files with all the mistakes in them."""
        texts = {"plant": PLANT, "trip": TRIP, "schedule": SCHEDULE}
        for kind in texts:
            for one in mistakes:
                for old, new in getattr(one, kind):
                    assert old in texts[kind], old
                    texts[kind] = texts[kind].replace(old, new)
        names = {"plant": "mine.plant.toml", "trip": "there.trip.toml", "schedule": "there.csv"}
        for kind, name in names.items():
            (self.home / name).write_text(texts[kind], encoding="utf-8")
        self.before = self.files()

    def files(self) -> set[str]:
        return {str(path.relative_to(self.home)) for path in self.home.rglob("*")}

    def line(self, mistake: Mistake) -> int:
        text = (self.home / mistake.file).read_text(encoding="utf-8")
        return next((n for n, line in enumerate(text.splitlines(), 1) if mistake.at in line), 1)

    def run(self, *more: str) -> Result:
        return CliRunner().invoke(main, ["run", "mine.plant.toml", "there.trip.toml", "--out", "out", *more])


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    monkeypatch.chdir(tmp_path)
    return Desk(tmp_path)


def test_the_desk_is_sound(desk: Desk) -> None:
    """Otherwise every report below could be about something else."""
    desk.lay()
    answer = CliRunner().invoke(main, ["check", "mine.plant.toml", "there.trip.toml"])
    assert answer.exit_code == 0, answer.output


@pytest.mark.parametrize("name", MISTAKES)
def test_one_mistake_is_told_with_its_place(desk: Desk, name: str) -> None:
    mistake = MISTAKES[name]
    desk.lay(mistake)
    answer = desk.run()
    assert (answer.exit_code, answer.stdout) == (2, "")
    told = [line for line in answer.stderr.splitlines() if f"{mistake.file}:{desk.line(mistake)}: " in line]
    assert told, answer.stderr
    for words in mistake.said:
        assert words in answer.stderr
    assert ("try: " in answer.stderr) == mistake.hint
    assert "Traceback" not in answer.stderr
    assert desk.files() == desk.before


@pytest.mark.parametrize("name", MISTAKES)
def test_one_mistake_as_json(desk: Desk, name: str) -> None:
    mistake = MISTAKES[name]
    desk.lay(mistake)
    answer = desk.run("--json")
    assert answer.exit_code == 2
    problems = json.loads(answer.stdout)["problems"]
    assert all(set(one) == {"where", "file", "line", "found", "expected", "hint"} for one in problems)
    where = [one for one in problems if one["where"] == f"{mistake.file}:{desk.line(mistake)}"]
    assert where, problems
    assert (where[0]["file"], where[0]["line"]) == (mistake.file, desk.line(mistake))
    text = " ".join(where[0][key] for key in ("found", "expected", "hint"))
    assert all(words in text for words in mistake.said)
    assert desk.files() == desk.before


def heatwright(*words: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "heatwright.cli", *words]
    return subprocess.run(command, capture_output=True, text=True, check=False, cwd=cwd)


def test_all_mistakes_at_once_in_a_process(desk: Desk) -> None:
    names = ("wrong dimension", "negative size", "missing part", "NaN in the weather", "empty schedule")
    desk.lay(*(MISTAKES[name] for name in names))
    answer = heatwright("run", "mine.plant.toml", "there.trip.toml", "--out", "out", cwd=desk.home)
    assert answer.returncode == 2
    head, *rest = answer.stderr.splitlines()
    assert head == "mine.plant.toml and there.trip.toml: 5 problems"
    for name in names:
        mistake = MISTAKES[name]
        assert any(f"{mistake.file}:{desk.line(mistake)}: " in line for line in rest), answer.stderr
    assert answer.stdout == ""
    assert "Traceback" not in answer.stderr
    assert desk.files() == desk.before
    as_json = heatwright("run", "mine.plant.toml", "there.trip.toml", "--out", "out", "--json", cwd=desk.home)
    assert as_json.returncode == 2
    assert len(json.loads(as_json.stdout)["problems"]) == 5


def test_an_existing_folder_is_left_alone(tmp_path: Path) -> None:
    """It is told before anything is marched, and the folder's content stays."""
    mine = tmp_path / "out" / "mine.txt"
    mine.parent.mkdir()
    mine.write_text("mine")
    answer = heatwright("run", "plain", "winter_day", "--out", "out", cwd=tmp_path)
    assert answer.returncode == 2
    assert "out: exists already and is left as it is" in answer.stderr
    assert "Traceback" not in answer.stderr
    assert [path.name for path in mine.parent.iterdir()] == ["mine.txt"]
    as_json = heatwright("run", "plain", "winter_day", "--out", "out", "--json", cwd=tmp_path)
    assert as_json.returncode == 2
    assert json.loads(as_json.stdout)["problems"][0]["where"] == "out"


@pytest.mark.parametrize("words", [("check", "x" * 300), ("run", "plain", "winter_day", "--out", "x" * 300)])
def test_a_name_too_long_for_a_file_is_a_mistake(words: tuple[str, ...]) -> None:
    answer = CliRunner().invoke(main, [*words, "--json"])
    assert answer.exit_code == 2
    (problem,) = json.loads(answer.output)["problems"]
    assert (problem["where"], problem["found"]) == ("x" * 300, "File name too long")


LONG_TRIP = """format = "heatwright trip 1"
name   = "Two days"
[weather]
temperature = "-5 degC"
[[segment]]
kind        = "park"
duration    = "48 h"
conditioned = true
"""


def hear_interrupts() -> None:
    """Give a child the usual interrupt: a shell that started the tests in the background has switched it off."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.mark.parametrize("accuracy", ["normal", "high"])
def test_ctrl_c_in_the_middle_of_a_march(tmp_path: Path, accuracy: str) -> None:
    """Interrupted while it marches: exit code 130 and no folder, whole or partial."""
    run_of("plain", "winter_day")  # the child finds everything compiled
    (tmp_path / "long.trip.toml").write_text(LONG_TRIP)
    words = ["run", "plain", "long.trip.toml", "--out", "deep/out", "--accuracy", accuracy]
    with subprocess.Popen(
        [sys.executable, "-u", "-c", MARCHING.format(words=words)],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=hear_interrupts,
    ) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == "marching\n", child.stderr.read() if child.stderr else ""
        os.kill(child.pid, signal.SIGINT)
        begun = time.monotonic()
        _, errors = child.communicate(timeout=60)
    assert child.returncode == 130
    assert time.monotonic() - begun < 5.0
    assert "interrupted; nothing was left behind" in errors
    assert "Traceback" not in errors
    assert [path.name for path in tmp_path.iterdir()] == ["long.trip.toml"]


MARCHING = """
from heatwright import cli, progress
ask = progress.Progress.__call__
def tell(self, done, total=1.0, what=""):
    if done > 4000 and not tell.told:
        tell.told = True
        print("marching", flush=True)
    ask(self, done, total, what)
tell.told = False
progress.Progress.__call__ = tell
cli.main({words!r})
"""
