"""Backward induction against problems whose answer is known."""

import itertools
import math

import numpy as np
import pytest

from heatwright.kernel.induction import N_STAGE, S_BAND, back_up, best_line, stage_j, value_at
from heatwright.kernel.menu import E_AIR, E_CABIN, E_DRIVE, E_J, E_PACK, E_S, N_EFFECT

MOVES = {-1.0: 0.0, 0.0: 5.0, 1.0: 13.0, 2.0: 29.0}
"""Rise of the pack [K] and what it costs [J]: losing heat is free, making it costs more the faster."""
STEPS = 6
GRID = (21, 2, 2)
BOX = np.array([270.0, 1.0, 280.0, 10.0, 280.0, 10.0, 1e6, 1e6, 1e6])
SIZE, KNOWN = np.array(GRID, float), np.array([2.0, 2.0, 2.0])
NO_BRAKE = (np.array([200.0, 400.0]), np.zeros(2))


def still_stage() -> np.ndarray:
    stage = np.zeros(N_STAGE)
    stage[S_BAND] = 1.0
    stage[-2], stage[-1] = 1e9, 10.0
    return stage


def menu() -> np.ndarray:
    out = np.zeros((8, len(MOVES) + 1, N_EFFECT))
    for k, (rise, cost) in enumerate(MOVES.items()):
        out[:, k, [E_J, E_PACK, E_S]] = cost, rise, 60.0
    out[:, -1, E_J] = math.inf
    out[:, -1, E_PACK] = 20.0
    return out


def terminal(t: float) -> float:
    return 6.0 * max(285.0 - t, 0.0) ** 1.5


def induced() -> list[np.ndarray]:
    axis = 270.0 + np.arange(21)
    v = [np.repeat([terminal(t) for t in axis], 4)]
    for _ in range(STEPS):
        here, own, used = np.zeros(8 * N_EFFECT), np.zeros(v[0].size), np.zeros(len(MOVES) + 1, np.uint32)
        back_up(
            menu().ravel(), len(MOVES) + 1, KNOWN, BOX, SIZE, v[0], BOX, still_stage(), *NO_BRAKE, here, np.zeros(3),
            own, used,
        )  # fmt: skip
        assert used[-1] == 0
        v.insert(0, own)
    return v


@pytest.mark.parametrize("start", [276.0, 280.0, 284.0])
def test_the_cost_to_go_is_that_of_the_best_of_all_ways(start: float) -> None:
    """Moves of whole spacings touch no interpolation: the answer is exact."""
    ways = itertools.product(MOVES, repeat=STEPS)
    known = min(sum(MOVES[m] for m in way) + terminal(start + sum(way)) for way in ways)
    assert value_at(induced()[0], BOX, *GRID, start, 285.0, 285.0) == pytest.approx(known, rel=1e-12)


def test_following_the_cost_to_go_costs_what_it_says() -> None:
    v, t, cost = induced(), np.array([277.0, 285.0, 285.0]), 0.0
    line = menu()[0].ravel()
    for k in range(STEPS):
        found, _ = best_line(line, len(MOVES) + 1, t, v[k + 1], BOX, SIZE, still_stage(), *NO_BRAKE)
        cost += menu()[0, found, E_J]
        t[0] += menu()[0, found, E_PACK]
    assert cost + terminal(t[0]) == pytest.approx(value_at(v[0], BOX, *GRID, 277.0, 285.0, 285.0), rel=1e-12)


def test_heat_that_may_be_lost_free_never_raises_the_cost_to_go() -> None:
    for v in induced():
        assert (np.diff(v.reshape(GRID)[:, 0, 0]) <= 1e-9).all()


def test_the_cost_to_go_runs_straight_inside_and_rises_outside() -> None:
    box = np.array([0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 7.0, 8.0, 9.0])
    v = np.array([1.0 + 2.0 * i + 3.0 * j - 4.0 * k for i in range(3) for j in range(2) for k in range(2)])
    assert value_at(v, box, 3, 2, 2, 1.25, 0.5, 0.25) == pytest.approx(1.0 + 2.5 + 1.5 - 1.0)
    assert value_at(v, box, 3, 2, 2, 3.0, 0.0, 0.0) == pytest.approx(5.0 + 7.0)
    assert value_at(v, box, 3, 2, 2, 0.0, -2.0, 0.0) == pytest.approx(1.0 + 16.0)


def test_a_step_is_scored_in_its_terms() -> None:
    e = np.zeros(N_EFFECT)
    e[[E_J, E_PACK, E_DRIVE, E_CABIN, E_AIR, E_S]] = 1000.0, 3.0, 0.0, 0.0, 290.15, 60.0
    stage = np.array([1.0, 294.15, 6000.0, 400.0, 1.0, 250.0, 298.15, 10.0])
    grid, brake = np.array([250.0, 350.0]), np.array([100.0, 100.0])
    watts = 6000.0 + 100.0 + 400.0 * 3.0 + 250.0 * (2.0 ** ((308.15 - 298.15) / 10.0) - 1.0)
    assert stage_j(e, 305.15, stage, grid, brake) == pytest.approx(1000.0 + 60.0 * watts)
    stage[0] = 0.0
    assert stage_j(e, 280.0, stage, grid, brake) == pytest.approx(1000.0 + 60.0 * 6100.0)
