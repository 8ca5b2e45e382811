"""Rules and strategies of one's own in `days` and `compare`: rows by name, through sensors, and failures told once."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from short_trip import SHORT_TRIP

from heatwright.cli import main
from heatwright.dispatch.days import day
from heatwright.dispatch.own import load_own
from heatwright.dispatch.score import score
from heatwright.plant.load import load_plant
from heatwright.sensors import load_sensors
from heatwright.study.days import many_days
from heatwright.study.dispatched import dispatched
from heatwright.study.strategies import labels_of, read_strategies
from heatwright.trip.load import build_case, load_trip
from tools.sources import ROOT

PATIENT = f"{ROOT / 'examples' / 'own_strategy' / 'strategy.py'}:Patient"
COMMUTE, LONG_WAY = 2, 5
HEAD = (
    "class {0}:\n    signals = ('cabin.air',)\n    def __init__(self, car):\n        pass\n"
    "    def choose(self, seen):\n"
)
WATCHING = "SEEN = []\n" + HEAD.format("Watch") + (
    "        SEEN.append(seen.signals['cabin.air'])\n        return 'air alone' if seen.needs['wanted'] else 'asleep'\n"
)  # fmt: skip
FAILING = {
    "        return 1 / 0\n": "ZeroDivisionError",
    "        return 'air alon'\n": "no candidate 'air alon'",
    "        return None\n": "it returned None",
    "        return 'air alone', {'blower': 7.0}\n": "'blower' is 7.0",
    "        if seen.t_s > 60.0:\n            raise ValueError('no')\n        return 'air alone'\n": "ValueError: no",
}


def call(*words: str) -> Result:
    return CliRunner().invoke(main, list(words))


@pytest.fixture(scope="module")
def short(tmp_path_factory: pytest.TempPathFactory) -> str:
    file = tmp_path_factory.mktemp("compared") / "short.trip.toml"
    file.write_text(SHORT_TRIP)
    return str(file)


def mine(folder: Path, body: str, name: str = "Mine") -> str:
    file = folder / f"{name.lower()}.py"
    file.write_text(HEAD.format(name) + body)
    return str(file)


def test_days_have_a_line_for_each_strategy_by_its_name(tmp_path: Path) -> None:
    words = ("days", "reversing", "--seed", str(COMMUTE), "--count", "1", "--strategies", f"table,rules,{PATIENT}")
    told = json.loads(call(*words, "--json").stdout)
    assert list(told["days"][0]) == ["seed", "trip", "table", "rules", "Patient"]
    named = told["summary"]["strategies"]
    assert [one["strategy"] for one in named] == ["table", "rules", "Patient"]
    assert named[2]["strategy_file"] == PATIENT.rpartition(":")[0]
    assert len(named[2]["strategy_sha256"]) == 64
    assert [(one["strategy"], one["other"]) for one in told["summary"]["against"]] == [
        ("rules", "table"), ("Patient", "table")
    ]  # fmt: skip
    assert len({told["days"][0][name]["score_kwh"] for name in ("table", "rules", "Patient")}) == 3
    text = call(*words).stdout
    assert "mean score under Patient" in text
    assert max(len(line) for line in text.splitlines()) <= 100


def test_a_day_under_an_own_strategy_scores_as_its_own_run(tmp_path: Path) -> None:
    found = many_days(load_plant("reversing"), [COMMUTE], ["dispatch", load_own(PATIENT)], sensing=lambda _: None)
    trip = found.days[0]
    own = dispatched(load_plant("reversing"), day(COMMUTE), strategy=load_own(PATIENT)).run
    assert trip.scores["Patient"].score_kwh == score(own, build_case(day(COMMUTE))).score_kwh


def test_an_own_strategy_reads_the_sensors_and_nothing_else(tmp_path: Path) -> None:
    """Its file notes what it is shown: the very state without sensors, readings about it with them."""
    (tmp_path / "watch.py").write_text(WATCHING)
    plant, seen = load_plant("plain"), {}
    for name, sensing in (("true", lambda _: None), ("sensed", load_sensors), ("again", load_sensors)):
        own = load_own(str(tmp_path / "watch.py"))
        many_days(plant, [COMMUTE], [own], sensing=sensing)
        seen[name] = np.array(own.module.SEEN)
    wide = load_own(str(tmp_path / "watch.py"))
    many_days(plant, [COMMUTE], [wide], sensing=lambda day: load_sensors(day).with_noise(5.0))
    assert seen["true"].size == seen["sensed"].size > 100
    off_k = seen["sensed"] - seen["true"]
    assert 0.0 < np.abs(off_k).max() < 3.0
    assert np.array_equal(seen["sensed"], seen["again"])
    assert np.std(np.diff(np.array(wide.module.SEEN))) > 2.0 * np.std(np.diff(seen["sensed"]))


def test_all_strategies_wait_for_the_slowest_charge(tmp_path: Path) -> None:
    idle = load_own(mine(tmp_path, "        return 'air alone' if seen.needs['wanted'] else 'asleep'\n"))
    (one,) = many_days(load_plant("plain"), [LONG_WAY], ["dispatch", idle]).days
    assert one.trip.startswith("Long way")
    assert all(0.0 < found.charge_min <= 90.0 for found in one.scores.values())


@pytest.mark.parametrize("body", FAILING)
def test_a_strategy_that_fails_stops_the_days_whole(body: str, tmp_path: Path) -> None:
    answer = call("days", "plain", "--seed", "1", "--count", "2", "--strategies", f"table,{mine(tmp_path, body)}",
                  "--trips", str(tmp_path / "days"))  # fmt: skip
    assert answer.exit_code == 1
    assert answer.stdout == ""
    assert FAILING[body] in answer.stderr
    assert "day 1, Plain under Mine: " in answer.stderr
    assert "nothing was written" in answer.stderr
    assert "Traceback" not in answer.output
    assert not (tmp_path / "days").exists()


@pytest.mark.parametrize("body", FAILING)
def test_a_strategy_that_fails_stops_the_comparison_whole(body: str, short: str, tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    answer = call("compare", "plain", "--trip", short, "--strategy", f"dispatch,{mine(tmp_path, body)}",
                  "--out", str(page))  # fmt: skip
    assert answer.exit_code == 1
    assert answer.stdout == ""
    assert FAILING[body] in answer.stderr
    assert "Plain under Mine: " in answer.stderr
    assert "Traceback" not in answer.output
    assert not page.exists()
    as_json = call("compare", "plain", "--trip", short, "--strategy", mine(tmp_path, body), "--json")
    assert as_json.exit_code == 1
    assert len(json.loads(as_json.stdout)["problems"]) == 1


@pytest.mark.parametrize("verb", ["days", "compare"])
@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("gone.py", "there is no such file"),
        (PATIENT.replace("Patient", "Patent"), "write 'Patient'"),
        ("table,dispach", "write 'dispatch'"),
        (",", "no strategy is named"),
    ],
)
def test_a_strategy_that_is_not_there_is_one_report(verb: str, given: str, words: str, short: str) -> None:
    more = ("--strategies", given, "--count", "1") if verb == "days" else ("--trip", short, "--strategy", given)
    answer = call(verb, "plain", *more)
    assert answer.exit_code == 2
    assert words in answer.stderr
    assert "Traceback" not in answer.output


def test_all_mistakes_of_the_strategies_come_together(tmp_path: Path) -> None:
    answer = call("days", "plain", "--strategies", "luck,gone.py,tabel")
    assert answer.exit_code == 2
    assert all(words in answer.stderr for words in ("'luck'", "no such file", "write 'table'"))


def test_a_signal_that_the_plant_lacks_is_one_report(short: str, tmp_path: Path) -> None:
    file = tmp_path / "mine.py"
    file.write_text(HEAD.format("Mine").replace("cabin.air", "cabin.ar") + "        return 'asleep'\n")
    for words in (("days", "plain", "--count", "1", "--strategies", str(file)),
                  ("compare", "plain", "--trip", short, "--strategy", str(file))):  # fmt: skip
        answer = call(*words)
        assert answer.exit_code == 2
        assert "no signal 'cabin.ar'" in answer.stderr


def test_a_comparison_has_a_row_for_each_plant_and_strategy(short: str, tmp_path: Path) -> None:
    page, own = tmp_path / "every.html", mine(tmp_path, "        return 'air alone'\n")
    words = ("compare", "plain", "reversing", "--trip", short, "--strategy", f"{own},rules,table,dispatch")
    told = json.loads(call(*words, "--json").stdout)
    order = ["table", "Mine", "rules", "dispatch"]
    assert [(row["plant"], row["strategy"]) for row in told["rows"]] == [
        (plant, name) for plant in ("plain", "reversing") for name in order
    ]
    assert [one["strategy"] for one in told["strategies"]] == order
    assert len(told["strategies"][1]["strategy_sha256"]) == 64
    table = json.loads(call(*words[:-1], "table", "--json").stdout)
    assert told["rows"][0::4] == table["rows"]
    assert told["pairs"] == table["pairs"]
    alone = dispatched(load_plant("plain"), load_trip(short), strategy=load_own(own)).run
    assert told["rows"][1]["energy_used_kwh"] == alone.summary["energy_used_kwh"]
    answer = call(*words, "--out", str(page))
    assert max(len(line) for line in answer.stdout.replace(str(page), "").splitlines()) <= 100
    assert "<dt>Runs</dt><dd>8</dd>" in page.read_text()


def test_a_candidate_of_another_plant_stops_the_comparison(short: str) -> None:
    answer = call("compare", "reversing", "plain", "--trip", short, "--strategy", PATIENT)
    assert answer.exit_code == 1
    assert "Plain under Patient: " in answer.stderr
    assert "there is no candidate" in answer.stderr


def test_without_the_table_the_first_named_fills_the_blocks(short: str) -> None:
    words = ("compare", "plain", "--trip", short, "--strategy", "rules,dispatch")
    told = json.loads(call(*words, "--json").stdout)
    assert [row["strategy"] for row in told["rows"]] == ["rules", "dispatch"]
    assert told["pairs"] == []
    assert "The blocks below are of rules." in " ".join(call(*words).stdout.split())


def test_names_that_are_taken_are_told_with_their_file(tmp_path: Path) -> None:
    given = ",".join(["dispatch", mine(tmp_path, "        return 'asleep'\n", "dispatch"), "table"])
    labels = list(labels_of(read_strategies(given)))
    assert labels == ["dispatch", f"{tmp_path / 'dispatch.py'}:dispatch", "table"]
