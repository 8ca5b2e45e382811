"""`heatwright days` as a user meets it."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from heatwright.cli_days import days_verb
from heatwright.compiler.build import compile_program
from heatwright.dispatch.days import day
from heatwright.dispatch.score import score
from heatwright.errors import InputError
from heatwright.plant.load import load_plant
from heatwright.simulate import simulate
from heatwright.study.days import many_days
from heatwright.trip.load import build_case, load_trip

COMMUTE, LONG_WAY = 2, 5


def call(*words: str) -> Result:
    return CliRunner().invoke(days_verb, list(words))


def test_a_day_under_the_table_scores_as_its_own_run(tmp_path: Path) -> None:
    answer = call("plain", "--seed", str(COMMUTE), "--count", "1", "--strategies", "table", "--json",
                  "--true-state", "--trips", str(tmp_path / "days"))  # fmt: skip
    assert answer.exit_code == 0, answer.output
    (row,) = json.loads(answer.stdout)["days"]
    written = load_trip(tmp_path / "days" / f"day_{COMMUTE}.trip.toml")
    assert row["trip"] == written.name == day(COMMUTE).name
    case = build_case(written)
    own = score(simulate(compile_program(load_plant("plain"), case), case), case)
    assert row["table"]["score_kwh"] == own.score_kwh
    assert row["table"]["energy_kwh"] == own.energy_kwh > 0.5


def test_both_strategies_wait_for_the_same_charge() -> None:
    found = many_days(load_plant("plain"), [LONG_WAY])
    (one,) = found.days
    assert one.trip.startswith("Long way")
    assert all(3.0 < one.scores[name].charge_min < 90.0 for name in ("table", "dispatch"))
    assert all("drained pack" not in one.scores[name].vetoes for name in ("table", "dispatch"))
    assert one.scores["table"].score_kwh != one.scores["dispatch"].score_kwh


def test_what_is_wrong_is_one_report() -> None:
    answer = call("plain", "--strategies", "table,luck")
    assert answer.exit_code == 2
    assert "there is no strategy 'luck'" in answer.output
    assert "table, rules, dispatch" in answer.output
    assert call("plain", "--count", "0").exit_code == 2
    assert call("no_such_plant").exit_code == 2


def test_a_plant_without_a_decision_table_is_told_so() -> None:
    bare = replace(load_plant("plain"), control=None)
    with pytest.raises(InputError, match="has no decision table"):
        many_days(bare, [COMMUTE])


def test_a_folder_that_exists_is_left_alone(tmp_path: Path) -> None:
    answer = call("plain", "--count", "1", "--strategies", "table", "--trips", str(tmp_path))
    assert answer.exit_code == 2
    assert list(tmp_path.iterdir()) == []


def test_both_strategies_read_the_same_sensors_unless_told_otherwise() -> None:
    words = ("plain", "--seed", str(COMMUTE), "--count", "1", "--json")
    sensed, noisy, true = (
        json.loads(call(*words, *more).stdout) for more in ((), ("--noise", "1 K"), ("--true-state",))
    )
    assert [one["summary"]["sees"] for one in (sensed, noisy, true)] == ["sensors", "sensors", "true state"]
    for name in ("table", "dispatch"):
        scores = {one["days"][0][name]["score_kwh"] for one in (sensed, noisy, true)}
        assert len(scores) == 3
    assert sensed == json.loads(call(*words).stdout)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--noise", "1 bar"), "--noise"),
        (("--noise", "1"), "has no unit"),
        (("--noise", "50 K"), "0 to 10 K"),
        (("--noise", "1 K", "--true-state"), "the true state has no noise"),
    ],
)
def test_noise_that_makes_no_sense_is_one_report(words: tuple[str, ...], said: str) -> None:
    answer = call("plain", *words)
    assert answer.exit_code == 2
    assert said in answer.output
    assert "Traceback" not in answer.output
