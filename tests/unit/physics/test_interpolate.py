"""Small tables and fades read as they should, at knots, between and beyond."""

from __future__ import annotations

import numpy as np
import pytest

from heatwright.physics.interpolate import fade, read_table

TABLES = np.array([[[0.0, 1.0, 3.0, 3.0], [2.0, 6.0, 0.0, 0.0]], [[5.0, 6.0, 7.0, 8.0], [1.0, 1.0, 2.0, 9.0]]])


@pytest.mark.parametrize("x", np.linspace(-1.0, 4.0, 21))
def test_table_with_repeated_last_knot(x: float) -> None:
    assert read_table(TABLES, 0, float(x)) == pytest.approx(np.interp(x, [0.0, 1.0, 3.0], [2.0, 6.0, 0.0]))


@pytest.mark.parametrize("x", np.linspace(4.0, 9.0, 21))
def test_second_table(x: float) -> None:
    assert read_table(TABLES, 1, float(x)) == pytest.approx(np.interp(x, TABLES[1, 0], TABLES[1, 1]))


@pytest.mark.parametrize(("x", "share"), [(40.0, 1.0), (50.0, 1.0), (57.5, 0.25), (60.0, 0.0), (90.0, 0.0)])
def test_fade(x: float, share: float) -> None:
    assert fade(x, 50.0, 60.0) == share
    assert fade(-x, -50.0, -60.0) == share
