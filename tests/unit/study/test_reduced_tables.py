"""Which lines of a menu are worth keeping."""

import math

import numpy as np
import pytest

from heatwright.dispatch.reduced import BRAKE_GRID_K, Step
from heatwright.kernel.induction import N_STAGE
from heatwright.kernel.menu import E_J, E_PACK, E_S, N_EFFECT
from heatwright.study import reduced_tables
from heatwright.study.reduced_tables import slopes, worth_keeping

STEP = Step(0.0, 60.0, np.zeros(1), 0.5, 0.0, np.zeros(N_STAGE), np.zeros(BRAKE_GRID_K.size))
CAPS = np.array([1000.0, 100.0, 100.0])
NO_PRICES = np.zeros((1, 3))


def table(costs: list[float], rises: list[float]) -> np.ndarray:
    out = np.zeros((2, len(costs), N_EFFECT))
    out[:, :, E_J], out[:, :, E_PACK], out[:, :, E_S] = costs, rises, 60.0
    return out


def test_lines_best_under_no_price_are_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """A kelvin for 900 J is never best, two for 1000 J are from 0.5 J/J on; what is impossible never is."""
    monkeypatch.setattr(reduced_tables, "BEST_LINES", 1)
    some = table([0.0, 900.0, 1000.0, math.inf], [0.0, 1.0, 2.0, 9.0])
    prices = np.array([(p, 0.0, 0.0) for p in (0.0, 0.4, 0.6, 1.0)])
    assert worth_keeping(some, STEP, CAPS, prices).tolist() == [0, 2]
    assert worth_keeping(some, STEP, CAPS, NO_PRICES).tolist() == [0]


def test_where_nothing_can_be_done_nothing_is_kept() -> None:
    assert worth_keeping(table([math.inf], [0.0]), STEP, CAPS, NO_PRICES).size == 0


def test_prices_met_on_a_grid_are_its_slopes() -> None:
    grid = (4, 3, 3)
    axes = np.meshgrid(*(np.arange(n, dtype=float) for n in grid), indexing="ij")
    v = -(2.0 * CAPS[0] * axes[0] + 0.5 * CAPS[1] * axes[1] - 1.0 * CAPS[2] * axes[2]).ravel()
    found = slopes(v, np.array([0.0, 1.0] * 3 + [0.0] * 3), grid, CAPS, 5, 6.0)
    assert np.allclose(found[:-6], (2.0, 0.5, -1.0))
    assert np.allclose(found[-6], (8.0, 0.5, -1.0))
