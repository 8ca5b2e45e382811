"""Front air: core speed, flow, fan power and the radiator's conductance.

Source of all rows: tables of the default car computed by other code (values from memory); the affinity
laws (NW-05) are closed form.
"""

from __future__ import annotations

import math

import pytest

from heatwright.physics import front_air


@pytest.mark.parametrize(("kmh", "expected"), [(50.0, 1.7), (80.0, 2.7), (120.0, 4.0)])
def test_ram_air(kmh: float, expected: float) -> None:
    assert front_air.core_speed(kmh / 3.6, 0.12, 0.0, 2.4) == pytest.approx(expected, abs=0.05)
    assert front_air.core_speed(kmh / 3.6, 0.12, 1.0, 2.4) > expected
    assert front_air.core_speed(kmh / 3.6, 0.02, 0.0, 2.4) < 0.2 * expected


@pytest.mark.parametrize("speed", [pytest.param(0.7, id="NW-05")])
def test_affinity_of_the_fan(speed: float) -> None:
    """At a standstill: flow as the speed, pressure as its square (here 1.7), power as its cube."""
    full, part = (front_air.core_speed(0.0, 0.12, n, 2.4) for n in (1.0, speed))
    assert part / full == pytest.approx(0.7)
    power = [front_air.fan_power_w(n, 500.0, 0.0) for n in (1.0, speed)]
    assert power[1] / power[0] == pytest.approx(0.343)
    assert front_air.power_law(22.0, part, full, 2.0) / 22.0 == pytest.approx(0.49)
    assert front_air.fan_power_w(0.0, 500.0, 10.0) == 0.0


RADIATOR = [(0.8, 174.0), (1.5, 252.0), (2.5, 320.0), (3.5, 372.0), (5.0, 424.0)]


@pytest.mark.parametrize(("core", "per_kelvin"), RADIATOR)
def test_radiator_heat_per_kelvin(core: float, per_kelvin: float) -> None:
    """12 L/min of 50 % water-glycol at 40 degC; cross-flow effectiveness in its approximate unmixed form."""
    ua = front_air.radiator_w_per_k(front_air.power_law(900.0, core, 3.0, 0.55), 2600.0, 0.0)
    c_air = front_air.core_flow_kg_per_s(core, 0.27, 1.19) * 1006.0
    c_coolant = 12.0 / 60000.0 * 1053.0 * 3413.0
    least, most = min(c_air, c_coolant), max(c_air, c_coolant)
    ntu, ratio = ua / least, least / most
    effectiveness = 1.0 - math.exp((math.exp(-ratio * ntu**0.78) - 1.0) * ntu**0.22 / ratio)
    assert effectiveness * least == pytest.approx(per_kelvin, rel=0.03)


def test_still_sides_give_nothing() -> None:
    assert front_air.power_law(900.0, 0.0, 3.0, 0.55) == 0.0
    assert front_air.radiator_w_per_k(0.0, 2600.0, 0.0) == 0.0
    assert front_air.radiator_w_per_k(900.0, 0.0, 0.0) == 0.0
    assert front_air.radiator_w_per_k(900.0, 2600.0, 1e-4) < front_air.radiator_w_per_k(900.0, 2600.0, 0.0)
