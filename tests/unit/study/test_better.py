"""Which plant is better, in one sentence that never says more than the draws do."""

from dataclasses import replace

import pytest

from heatwright.study.better import KEY, better_sentence
from heatwright.study.compare import Equal, Pair, Service
from heatwright.study.verdict import DEPENDS, HOLDS, WITHIN_DOUBT, Difference

LESS = Difference(
    KEY, 30.0, 24.0, -6.0, -0.2, HOLDS, "64 of 64 draws agree in sign", 64, 64, -6.6, -5.4, None, None
)  # fmt: skip


def pair(one: Difference, alike: bool = True, equal: Equal | None = None) -> Pair:
    return Pair(("Old", "New"), Service("short_k_min", (100.0, 60.0), 0.4, alike), (one,), equal)


def test_a_difference_that_holds_names_the_better_one_and_the_spread() -> None:
    told = better_sentence(pair(LESS))
    assert told.startswith("New is better: it needs 6.00 kWh/100 km less than Old (20 % of Old). That holds")
    assert "nine in ten lie between −6.60 and −5.40 kWh/100 km" in told


def test_the_first_may_be_the_better_one() -> None:
    more = replace(LESS, second=36.0, difference=6.0, relative=0.2, low=5.4, high=6.6)
    assert better_sentence(pair(more)).startswith("Old is better")


@pytest.mark.parametrize(("verdict", "word"), [(DEPENDS, "but that depends"), (WITHIN_DOUBT, "cannot be told apart")])
def test_what_does_not_hold_is_not_called_better(verdict: str, word: str) -> None:
    told = better_sentence(pair(replace(LESS, verdict=verdict, why="40 of 64 draws agree in sign")))
    assert word in told
    assert "better" not in told


def test_no_difference_is_said_to_be_none() -> None:
    assert "need the same energy" in better_sentence(pair(replace(LESS, second=30.0, difference=0.0, relative=0.0)))


def test_unlike_service_is_judged_at_equal_service_or_said_to_stand_against_it() -> None:
    smaller = replace(LESS, second=28.0, difference=-2.0, relative=-1 / 15, low=-2.5, high=-1.5)
    equal = Equal(True, "New", "set-point lowered by 0.8 K", (100.0, 100.0), 0.0, (smaller,))
    assert better_sentence(pair(LESS, False, equal)).startswith("At equal service New is better: it needs 2.00")
    assert "do not serve alike" in better_sentence(pair(LESS, False, Equal(False)))
