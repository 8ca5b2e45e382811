"""Frost by its mass alone: limits, the book value of the air flow, and vapour that settles and leaves again.

The air flow of a frosted coil, 1 - 0.5 m/m_full, is common practice, value from memory.
"""

from __future__ import annotations

import numpy as np
import pytest

from heatwright.physics import frost, moist_air
from heatwright.physics.front_frost import film_factor, passage_free, settling_kg_per_s

P0 = 101325.0
FULL = 0.5


@pytest.mark.parametrize("share", [0.0, 0.25, 0.5, 0.75, 1.0])
def test_air_flow_follows_the_common_rule(share: float) -> None:
    """The friction of the narrowed way at half the path's loss gives 1 - 0.5 x within 0.03."""
    flow = frost.air_flow_factor(passage_free(share * FULL, FULL), 0.5)
    assert flow == pytest.approx(1.0 - 0.5 * share, abs=0.03)


def test_more_frost_is_never_better() -> None:
    """Both factors start at 1, fall without a jump and rest on their least values."""
    for factor, least in ((passage_free, 0.1), (film_factor, 0.3)):
        values = np.array([factor(m, FULL) for m in np.linspace(0.0, 3.0, 301)])
        assert values[0] == 1.0
        assert values[-1] == least
        assert np.all(np.diff(values) <= 0.0)
        assert np.abs(np.diff(values)).max() < 0.011


@pytest.mark.parametrize("frost_point_c", [pytest.param(-12.490, id="PS-08[frost-point]")])
def test_vapour_settles_below_the_frost_point_only(frost_point_c: float) -> None:
    """Air of -10 degC and 80 % over ice, w = 1.2789 g/kg (psychrolib 2.5, Hyland and Wexler)."""
    for off_k, sign in ((0.05, -1.0), (-0.05, 1.0)):
        rate = settling_kg_per_s(0.3, 1.2789e-3, 273.15 + frost_point_c + off_k, P0, 1.0, 1.0)
        assert np.sign(rate) == sign


def test_no_more_leaves_than_there_is() -> None:
    """Dry air over frost takes what is held in a step at most; nothing from a bare surface; a trace below 0 is none."""
    assert settling_kg_per_s(0.3, 0.0, 272.0, P0, 1e-4, 1.0) == -1e-4
    assert settling_kg_per_s(0.3, 0.0, 272.0, P0, 0.0, 1.0) == 0.0
    assert settling_kg_per_s(0.3, 0.0, 272.0, P0, -1e-4, 1.0) == 0.0


def test_rate_of_a_coil_near_freezing() -> None:
    """0 degC, 90 %, surface 7 K colder: of the order of half a gram a second at most, as common practice has it."""
    w = moist_air.humidity_ratio(0.9 * moist_air.saturation_pressure(273.15), P0)
    rate = settling_kg_per_s(0.55 * 0.6, w, 266.15, P0, 0.0, 1.0)
    assert 2e-4 < rate < 5.2e-4
