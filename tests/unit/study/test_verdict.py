"""Verdicts on made-up figures, where the right answer is known."""

from typing import Any

import numpy as np
import pytest

from heatwright.plant.model import Plant
from heatwright.study.unknowns import UNKNOWNS, draw_factors
from heatwright.study.verdict import DEPENDS, HOLDS, WITHIN_DOUBT, Difference, differences

COUNT = 64
FACTORS = draw_factors(COUNT)


def judged(
    plants: dict[str, Plant], first: float | None, second: float | None, moved: Any, key: str = "energy_kwh_per_100km"
) -> Difference:
    """The verdict on one figure whose second value is moved from the first in every draw as given."""
    base: dict[str, float | None] = {"energy_kwh_per_100km": 1.0}
    a = [{**base, key: 20.0 if first is None else first} for _ in range(COUNT)]
    b = [{**base, key: None if one is None else (first or 20.0) + one} for one in moved]
    pair = (plants["plain"], plants["reversing"])
    found = differences(pair, ({**base, key: first}, {**base, key: second}), (a, b), FACTORS, 3600.0)
    return next(one for one in found if one.quantity == key)


def signs(agree: int) -> list[float]:
    """Differences of which `agree` are below zero."""
    return [-2.0 - 0.001 * k if k < agree else 2.0 for k in range(COUNT)]


@pytest.mark.parametrize(
    ("agree", "verdict"),
    [(64, HOLDS), (61, HOLDS), (60, DEPENDS), (43, DEPENDS), (42, WITHIN_DOUBT), (0, WITHIN_DOUBT)],
)
def test_share_of_draws_decides(plants: dict[str, Plant], agree: int, verdict: str) -> None:
    """61 of 64 are 95.3 %, 60 are 93.8 %; 43 are 67.2 %, 42 are 65.6 %."""
    one = judged(plants, 20.0, 18.0, signs(agree))
    assert (one.verdict, one.agree_draws, one.draws) == (verdict, agree, 64)
    assert one.difference == pytest.approx(-2.0)
    assert one.relative == pytest.approx(-0.1)


def test_below_two_per_cent_says_nothing(plants: dict[str, Plant]) -> None:
    assert judged(plants, 20.0, 19.61, [-0.39] * COUNT).verdict == WITHIN_DOUBT
    assert judged(plants, 20.0, 19.59, [-0.41] * COUNT).verdict == HOLDS


def test_no_difference_is_said_to_be_none(plants: dict[str, Plant]) -> None:
    one = judged(plants, 20.0, 20.0, [0.0] * COUNT)
    assert (one.verdict, one.why, one.moved_by) == (WITHIN_DOUBT, "no difference", None)


@pytest.mark.parametrize("k", range(len(UNKNOWNS)), ids=[one.name for one in UNKNOWNS])
def test_the_unknown_behind_a_difference_is_found(plants: dict[str, Plant], k: int) -> None:
    noise = 0.02 * np.sin(np.arange(COUNT))
    one = judged(plants, 20.0, 18.0, list(-2.0 - np.log(FACTORS[:, k]) + noise))
    assert one.moved_by == UNKNOWNS[k].name
    assert one.rank_correlation is not None
    assert one.rank_correlation < -0.9
    assert one.low is not None
    assert one.high is not None
    assert one.low < -2.0 < one.high


def test_a_mark_never_reached_is_later_than_any(plants: dict[str, Plant]) -> None:
    one = judged(plants, 600.0, None, [None] * COUNT, "time_to_20c_s")
    assert (one.verdict, one.second, one.difference) == (HOLDS, None, None)
    assert one.low is None


def test_lost_draws_are_left_out(plants: dict[str, Plant]) -> None:
    key = "energy_kwh_per_100km"
    a: list[Any] = [{key: 20.0}] * COUNT
    b: list[Any] = [None if k < 4 else {key: 18.0} for k in range(COUNT)]
    pair = (plants["plain"], plants["reversing"])
    found = differences(pair, ({key: 20.0}, {key: 18.0}), (a, b), FACTORS, 3600.0)
    one = next(one for one in found if one.quantity == key)
    assert (one.draws, one.agree_draws, one.verdict) == (60, 60, HOLDS)


def test_a_use_that_one_plant_lacks_is_nothing_there(plants: dict[str, Plant]) -> None:
    pair = (plants["plain"], plants["reversing"])
    own = ({"use:heater": 5.0}, {"use:pad": 1.0})
    found = {one.quantity: one for one in differences(pair, own, ([own[0]] * 64, [own[1]] * 64), FACTORS, 3600.0)}
    assert found["use:heater"].difference == -5.0
    assert found["use:pad"].difference == 1.0
    assert found["use:pad"].verdict == HOLDS
