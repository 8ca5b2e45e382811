"""Defrost and demist runs: limits as published, verdicts that can be missed, and one answer for text and JSON."""

from __future__ import annotations

import json
import re
from functools import cache

import numpy as np
import pytest
from click.testing import CliRunner

from heatwright.cli import main
from heatwright.plant.load import load_plant
from heatwright.study.glass import DEFROST, DEMIST, Asked, Found, glass_as_text, glass_run, trip_text
from heatwright.study.table import WIDTH


@cache
def found(kind: str, plant: str = "reversing", rule: str = "") -> Found:
    t_k = 255.15 if kind == "defrost" else 270.15
    return glass_run(load_plant(plant), Asked(kind, t_k, 0.44, 1 if kind == "defrost" else 5, rule))


@pytest.mark.parametrize(
    ("area", "share", "within_min"),
    [
        pytest.param("area_a", 0.80, 20, id="SY-23"),
        pytest.param("area_a_passenger", 0.80, 25, id="SY-23b"),
        pytest.param("area_b", 0.95, 40, id="SY-23c"),
        pytest.param("area_c_us", 0.80, 20, id="SY-26"),
        pytest.param("area_d_us", 0.80, 25, id="SY-26b"),
        pytest.param("area_a_us", 0.95, 40, id="SY-26c"),
    ],
)
def test_defrost_limits(area: str, share: float, within_min: float) -> None:
    """Regulation (EU) 672/2010, annex II; FMVSS 103 with SAE J902 (its shares are values from memory)."""
    one = next(limit for limit in DEFROST if limit.key == area)
    assert (one.share, one.within_s) == (share, within_min * 60.0)


@pytest.mark.parametrize(
    ("area", "share"), [pytest.param("area_a", 0.90, id="SY-24"), pytest.param("area_b", 0.80, id="SY-24b")]
)
def test_demist_limits(area: str, share: float) -> None:
    """Regulation (EU) 672/2010, annex II: within 10 minutes."""
    one = next(limit for limit in DEMIST if limit.key == area)
    assert (one.share, one.within_s) == (share, 600.0)


def test_the_ice_is_that_of_the_regulation() -> None:
    """SY-25: 0.44 kg/m2 (value from memory), on the shipped screen."""
    run = found("defrost").run
    area = load_plant("reversing").glass["screen"]["area"]
    assert run.series["ice_cabin_screen_kg"][0] == pytest.approx(0.44 * area, rel=1e-6)
    assert "0.44 kg/m2" in trip_text(found("defrost").asked)


def test_a_screen_shared_by_two_zones_is_judged_whole() -> None:
    """`joined` has the screen in two halves: all its ice counts."""
    assert found("defrost", "joined").start_kg == pytest.approx(found("defrost").start_kg, rel=1e-6)


@pytest.mark.parametrize("kind", ["defrost", "demist"])
def test_verdicts_follow_from_the_times(kind: str) -> None:
    one = found(kind)
    assert one.start_kg > 1e-4
    for limit, reached, share, met in one.rows:
        assert met == (reached is not None and reached <= limit.within_s)
        assert met <= (share >= limit.share)
    assert one.passed == all(row[3] for row in one.rows)
    assert abs(one.run.ledger["water"]["residual_relative"]) < 1e-10
    assert one.run.health["circuit_not_solved_steps"] == 0


def test_a_car_that_does_not_heat_does_not_clear_its_screen() -> None:
    """The rule `rest` held in force: the ice stays, every limit is missed."""
    one = found("defrost", rule="rest")
    assert one.rule == "rest"
    assert not one.passed
    assert all(reached is None for _, reached, _, _ in one.rows)
    assert np.ptp(one.run.series["ice_cabin_screen_kg"]) < 1e-6


def test_a_jet_that_keeps_its_heat_clears_the_screen_sooner() -> None:
    """What the jet gives the pane it takes from the cabin: the ledger closes whatever it keeps."""
    times = []
    for kept in ("0 %", "50 %", "100 %"):
        one = glass_run(load_plant("reversing", {"zone.cabin.jet_kept": kept}), Asked("defrost", 255.15))
        assert abs(one.run.ledger["residual_relative"]) < 1e-12
        reached = one.rows[0][1]
        times.append(float("inf") if reached is None else reached)
    assert times[0] > 1.3 * times[1] > 1.69 * times[2]


def test_text_and_json_say_the_same() -> None:
    one = found("demist")
    answer = one.as_json()
    assert answer["passed"] == one.passed
    assert [area["passed"] for area in answer["areas"]] == [row[3] for row in one.rows]
    text = glass_as_text(one)
    assert len(re.findall(" met$", text, re.M)) == sum(row[3] for row in one.rows)
    assert all(text.count(source) == 1 for source in {row[0].source for row in one.rows})
    assert max(map(len, text.splitlines())) <= WIDTH
    assert "not a release for the road" in text
    json.dumps(answer)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["defrost", "plain", "--chamber", "5 degC"], "'5 degC' is out of range"),
        (["defrost", "plain", "--ice", "0 kg/m2"], "'0 kg/m2' is out of range"),
        (["defrost", "plain", "--ice", "0.44"], "'0.44' has no unit"),
        (["demist", "plain", "--chamber", "50 degC"], "'50 degC' is out of range"),
        (["demist", "plain", "--rule", "thaw"], "there is no rule 'thaw'"),
    ],
)
def test_bad_input_is_one_sentence(words: list[str], sentence: str) -> None:
    answer = CliRunner().invoke(main, words)
    assert answer.exit_code == 2
    assert sentence in answer.output
    assert "Traceback" not in answer.output


def test_the_verb_prints_and_draws(tmp_path: object) -> None:
    picture = f"{tmp_path}/film.svg"
    answer = CliRunner().invoke(main, ["demist", "reversing", "--json", "--svg", picture])
    assert answer.exit_code == 0, answer.output
    assert json.loads(answer.stdout)["test"] == "demist"
    with open(picture, encoding="utf-8") as file:
        assert "vision area A" in file.read()
