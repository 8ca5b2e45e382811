"""Days drawn from a seed: the same for ever, readable by any trip reader, and spread over what they may be."""

import hashlib
from functools import cache

import numpy as np
import pytest

from heatwright.dispatch.days import LONGEST_MIN, Draw, day, day_text
from heatwright.trip.load import build_case, load_trip
from heatwright.trip.model import Case

SEEDS = range(1, 101)
KEPT = {1: "e25feb9fd41bfab7", 2: "52a85db5b4dadcde", 24: "d65071fce08e3b8d"}


@cache
def cases() -> tuple[Case, ...]:
    return tuple(build_case(day(seed)) for seed in SEEDS)


@pytest.mark.parametrize("seed", KEPT)
def test_a_seed_is_the_same_day_for_ever(seed: int) -> None:
    assert day_text(seed) == day_text(seed)
    assert hashlib.sha256(day_text(seed).encode()).hexdigest()[:16] == KEPT[seed]


def test_other_seeds_are_other_days() -> None:
    assert len({day_text(seed) for seed in SEEDS}) == len(SEEDS)


def test_a_day_can_be_written_and_read_back(tmp_path) -> None:
    file = tmp_path / "mine.trip.toml"
    file.write_text(day_text(7), encoding="utf-8")
    again, ours = load_trip(file), day(7)
    assert (again.name, again.digest) == (ours.name, ours.digest)
    assert ours.source == "day 7"


def test_every_day_has_one_line_for_a_title() -> None:
    names = [day(seed).name for seed in SEEDS]
    assert all(20 < len(name) < 90 and "\n" not in name for name in names)
    assert {name.split(" at ")[0] for name in names} == {"Commute", "Long way", "Mild rain"}


def test_a_hundred_days_spread_over_what_a_day_may_be() -> None:
    air_c = np.array([case.steps["t_ambient_k"].mean() - 273.15 for case in cases()])
    assert -20.0 <= air_c.min() < -18.0
    assert 34.0 < air_c.max() <= 37.0
    assert np.histogram(air_c, bins=6, range=(-20.0, 37.0))[0].min() >= 8
    assert {int(case.steps["occupants"].max()) for case in cases()} == {1, 2, 3, 4}
    assert max(case.steps["sun_direct_w_per_m2"].max() for case in cases()) > 600.0
    assert 10 <= sum(bool(case.steps["rain"].any()) for case in cases()) <= 35
    assert 10 <= sum(bool(case.steps["fast"].any()) for case in cases()) <= 35
    hours = [float(np.sum(case.steps["occupied"] == 0.0)) / 3600.0 for case in cases()]
    assert 1.0 < min(h for h in hours if h > 0.0) < 2.0
    assert 8.0 < max(hours) <= 9.001


def test_air_and_drives_stay_within_bounds() -> None:
    for case in cases():
        air_k = case.steps["t_ambient_k"]
        assert 253.1 <= air_k.min() <= air_k.max() <= 310.2
        assert case.steps["w_ambient"].max() < 0.0195  # a dew point of 24 degC
        spans = np.diff(np.flatnonzero(np.diff(np.concatenate(([0.0], case.steps["driving"], [0.0])))))[::2]
        assert 0.9 * 20.0 < spans.min() / 60.0 < spans.max() / 60.0 <= LONGEST_MIN + 0.1


def test_a_draw_stays_within_its_range() -> None:
    draw = Draw(3)
    assert {draw.whole(1, 4) for _ in range(200)} == {1, 2, 3, 4}
    assert all(-2.0 <= draw.between(-2.0, 5.0) < 5.0 for _ in range(200))
