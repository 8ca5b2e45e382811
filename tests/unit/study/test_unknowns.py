"""The draws: even, centred on what the files say, the same for every plant, and without effect on driver rows."""

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.plant.model import Plant
from heatwright.study.unknowns import (
    UNKNOWNS,
    applies,
    describe,
    draw_factors,
    drawn,
    latin_hypercube,
    rank_correlation,
    ranks,
)
from heatwright.trip.model import Case


def one_moved(k: int, factor: float) -> list[float]:
    return [factor if j == k else 1.0 for j in range(len(UNKNOWNS))]


def test_each_column_has_one_draw_in_every_slice() -> None:
    cube = latin_hypercube(64, 9)
    assert cube.shape == (64, 9)
    for column in cube.T:
        assert sorted(np.floor(column * 64).astype(int)) == list(range(64))
    assert np.max(np.abs(np.corrcoef(cube.T) - np.eye(9))) < 0.4


def test_draws_are_the_same_every_time() -> None:
    assert np.array_equal(draw_factors(64), draw_factors(64))
    assert not np.array_equal(draw_factors(64), draw_factors(64, seed=1))


def test_half_the_draws_lie_on_each_side_of_the_file_and_reach_the_ends() -> None:
    factors = draw_factors(64)
    for column, unknown in zip(factors.T, UNKNOWNS, strict=True):
        assert np.sum(column < 1.0) == 32
        assert unknown.low <= column.min() < unknown.low + 0.1 * (1.0 - unknown.low)
        assert unknown.high >= column.max() > unknown.high - 0.1 * (unknown.high - 1.0)


def test_the_five_groups_are_there() -> None:
    assert len({one.group for one in UNKNOWNS}) == 5
    assert [one["name"] for one in describe()] == [one.name for one in UNKNOWNS]


def test_no_draw_is_the_plant_itself(plants: dict[str, Plant]) -> None:
    assert drawn(plants["reversing"], [1.0] * len(UNKNOWNS)) == plants["reversing"]


@pytest.mark.parametrize("k", range(len(UNKNOWNS)), ids=[one.name for one in UNKNOWNS])
def test_every_unknown_moves_coefficients_and_nothing_else(
    k: int, plants: dict[str, Plant], programs: dict[str, Program], case: Case
) -> None:
    """Driver rows and places are shared between draws, so no draw may touch them."""
    for name, plant in plants.items():
        full = compile_program(drawn(plant, one_moved(k, 0.9)), case)
        assert np.array_equal(full.rows, programs[name].rows)
        assert np.array_equal(full.pi, programs[name].pi)
        moved = not np.array_equal(full.pf, programs[name].pf)
        assert moved == applies(plant, UNKNOWNS[k]), name
        shared = compile_program(drawn(plant, one_moved(k, 0.9)), case, like=programs[name])
        assert np.array_equal(shared.pf, full.pf)
        assert shared.rows is programs[name].rows


def test_fresh_air_moves_blends_and_leaves_all_fresh_alone(plants: dict[str, Plant]) -> None:
    k = next(k for k, one in enumerate(UNKNOWNS) if one.kind == "door")
    act = drawn(plants["plain"], one_moved(k, 1.25)).control.acts["heat"]["inlet"]
    assert dict(act.from_) == pytest.approx({"fresh": 0.25, "recirculate": 0.75})
    assert dict(act.to)["fresh"] == 1.0
    assert dict(plants["plain"].control.acts["heat"]["inlet"].from_)["fresh"] == pytest.approx(0.2)


def test_unlike_plants_share_nothing(plants: dict[str, Plant], programs: dict[str, Program], case: Case) -> None:
    with pytest.raises(ValueError, match="not alike"):
        compile_program(plants["plain"], case, like=programs["reversing"])


def test_ranks_share_ties() -> None:
    assert ranks([3.0, 1.0, 3.0, 2.0]).tolist() == [2.5, 0.0, 2.5, 1.0]


@pytest.mark.parametrize(
    ("a", "b", "rho"),
    [([1, 2, 3], [2, 4, 9], 1.0), ([1, 2, 3], [9, 4, 2], -1.0), ([1, 2, 3], [5, 5, 5], 0.0),
     ([1, 2, 3, 4, 5], [2, 1, 4, 3, 5], 0.8)],
)  # fmt: skip
def test_rank_correlation(a: list[float], b: list[float], rho: float) -> None:
    """The last: 1 - 6 sum d^2 / (n (n^2 - 1)) = 1 - 6 x 4 / 120."""
    assert rank_correlation(a, b) == pytest.approx(rho)
