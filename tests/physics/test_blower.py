"""Blower power.

Sources: law and its three points are values from memory; NW-05 (affinity laws) is closed form.
"""

from __future__ import annotations

import pytest

from heatwright.physics.blower import blower_power_w


@pytest.mark.parametrize(("kg_per_h", "watts"), [(270.0, 50.0), (400.0, 117.0), (540.0, 242.0)])
def test_points(kg_per_h: float, watts: float) -> None:
    assert blower_power_w(kg_per_h / 3600.0, 0.15, 230.0, 12.0) == pytest.approx(watts, abs=0.6)


@pytest.mark.parametrize("share", [pytest.param(0.7, id="NW-05")])
def test_electric_power_falls_less_than_the_air_power(share: float) -> None:
    """At 0.7 of the flow pressure is 0.49 and air power 0.343 of full; a motor's falls less than that."""
    full, part = (blower_power_w(0.15 * x, 0.15, 230.0, 12.0) for x in (1.0, share))
    assert share**3 < part / full < share**2


def test_nothing_when_it_stands() -> None:
    assert blower_power_w(0.0, 0.15, 230.0, 12.0) == 0.0
    assert blower_power_w(-0.01, 0.15, 230.0, 12.0) == 0.0
