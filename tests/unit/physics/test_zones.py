"""Zones inside refrigerant exchangers: the exact march against small steps, limits and orders of the factors."""

from __future__ import annotations

import numpy as np
import pytest

from heatwright.physics.zones import evaporator_factor, isobar_port, single_phase

H = np.array([250e3, 262e3, 400e3, 430e3])
T = np.array([303.15, 313.15, 313.15, 338.15])
LINE = np.concatenate([H, T])


def small_steps(h: float, m: float, ua: float, t_sink: float, single: float, n: int = 40_000) -> float:
    """The same march by Euler's rule."""
    for _ in range(n):
        k = min(max(int(np.searchsorted(H, h, side="left")) - 1, 0), 2)
        t = T[k] + (T[k + 1] - T[k]) / (H[k + 1] - H[k]) * (h - H[k])
        share = 1.0 if k == 1 else single
        h -= max(t - t_sink, 0.0) * share * ua / m / n
    return h


@pytest.mark.parametrize("ua", [20.0, 150.0, 600.0, 2500.0])
@pytest.mark.parametrize("t_sink", [290.0, 309.0, 320.0])
@pytest.mark.parametrize("h", [445e3, 430e3, 390e3, 259e3])
def test_the_march_is_that_of_small_steps(ua: float, t_sink: float, h: float) -> None:
    assert isobar_port(h, 0.03, ua, t_sink, LINE, 0, 3, 0.6, 0.0, 0.0) == pytest.approx(
        small_steps(h, 0.03, ua, t_sink, 0.6), abs=60.0
    )


def test_two_exchangers_in_a_row_are_one() -> None:
    half = isobar_port(430e3, 0.03, 300.0, 300.0, LINE, 0, 3, 0.6, 0.0, 0.0)
    assert isobar_port(half, 0.03, 300.0, 300.0, LINE, 0, 3, 0.6, 0.0, 0.0) == pytest.approx(
        isobar_port(430e3, 0.03, 600.0, 300.0, LINE, 0, 3, 0.6, 0.0, 0.0), rel=1e-12
    )


def test_a_sink_warmer_than_the_gas_gives_nothing_back() -> None:
    assert isobar_port(430e3, 0.03, 800.0, 350.0, LINE, 0, 3, 0.6, 0.0, 0.0) == 430e3


def test_the_entry_at_a_node_belongs_to_the_piece_below() -> None:
    assert isobar_port(400e3, 0.03, 100.0, 300.0, LINE, 0, 3, 0.6, 0.0, 0.0) < 400e3


def test_an_evaporator_has_less_for_more_superheat() -> None:
    factors = [evaporator_factor(10.0, x, 150e3, 950.0, 0.3) for x in (0.0, 2.0, 5.0, 8.0)]
    assert factors == sorted(factors, reverse=True)
    assert factors[2] == pytest.approx(1.0, abs=1e-12)
    assert all(0.0 < x <= 3.0 for x in factors)


def test_one_phase_counts_less_the_more_the_refrigerant_s_side_resists() -> None:
    assert single_phase(0.2, 0.0) == 1.0
    assert single_phase(0.2, 1.0) == pytest.approx(0.2)
    assert single_phase(0.2, 0.3) > single_phase(0.2, 0.6)
