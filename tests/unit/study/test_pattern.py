"""The search by even steps: it finds a known least, keeps to its limits and to its budget."""

import pytest

from heatwright.study.draws import side_by_side
from heatwright.study.pattern import Pattern, Point


def bowl(point: Point) -> float:
    return sum((x - target) ** 2 for x, target in zip(point, (0.37, -0.21, 1.4), strict=False))


def test_it_finds_the_least_of_a_bowl() -> None:
    search = Pattern(bowl, -0.5, 5.0, 200, side_by_side)
    search.look([(0.8, 0.8, 0.8)])
    search.walk(0.3, 0.01)
    place, value = search.best()
    assert place == pytest.approx((0.37, -0.21, 1.4), abs=0.02)
    assert value == min(search.seen.values()) == bowl(place)


def test_it_stays_within_its_limits_and_its_budget() -> None:
    asked: list[Point] = []

    def told(point: Point) -> float:
        asked.append(point)
        return -sum(point)

    search = Pattern(told, -0.5, 1.0, 17, side_by_side)
    search.look([(0.9, 0.9)])
    search.walk(0.3, 0.001)
    assert search.spent == len(asked) <= 17
    assert len(set(asked)) == len(asked)
    assert search.best() == ((1.0, 1.0), -2.0)


def test_a_spent_budget_looks_no_further() -> None:
    search = Pattern(bowl, -0.5, 5.0, 2, side_by_side)
    search.look([(0.0,), (1.0,), (2.0,)])
    search.walk(0.3, 0.01)
    assert set(search.seen) == {(0.0,), (1.0,)}


def test_without_a_place_there_is_no_best() -> None:
    with pytest.raises(ValueError, match="empty"):
        Pattern(bowl, 0.0, 1.0, 0, side_by_side).best()
