"""Road load, air, tyres and the mean over a step; consumption of the default car at steady speeds."""

from __future__ import annotations

import math

import numpy as np
import pytest

from heatwright.compiler.drive_table import DriveTable, build_drive_table
from heatwright.physics import road
from heatwright.physics.drive_map import braking_split_n, drive_losses_w, gear_loss_w, motor_torque_nm
from heatwright.physics.motor import Machine

MPH = 0.44704
US = road.coast_from_pounds(40.0, 0.2, 0.018)


@pytest.mark.parametrize("grade", [pytest.param(g, id=f"RL-01 {g:g}") for g in (-0.06, 0.0, 0.12)])
def test_form_of_the_regulation(grade: float) -> None:
    """Source: 40 CFR 1066.210: A cos(atan G) + C v^2 + M_e dv/dt + M g sin(atan G), g 9.80665."""
    slope = math.atan(grade)
    expected = (
        1800.0 * 9.80665 * (0.009 * math.cos(slope) + math.sin(slope)) + 0.5 * 1.2 * 0.6 * 25.0**2 + 1.03 * 1800.0 * 0.7
    )
    got = road.road_force_n(25.0, 0.7, 1800.0, 1.03, 0.6, 1.2, 0.009, grade, 0.0)
    assert got == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("which", [pytest.param(k, id=f"RL-02 {'ABC'[k]}") for k in range(3)])
def test_pounds_and_miles(which: int) -> None:
    """Source: definitions of pound-force and mile."""
    expected = (4.4482216, 9.9503884, 22.2583849)[which]
    assert road.coast_from_pounds(1.0, 1.0, 1.0)[which] == pytest.approx(expected, rel=1e-7)


COAST = [
    pytest.param(50.0, 422.58, 9445.5, 188.91, id="RL-03"),
    pytest.param(60.0, 519.55, 13936.0, 232.26, id="RL-04 60 mph"),
    pytest.param(75.0, 695.03, 23303.0, 310.71, id="RL-04 75 mph"),
]


@pytest.mark.parametrize(("mph", "force", "power", "wh_per_mile"), COAST)
def test_coast_down_list(mph: float, force: float, power: float, wh_per_mile: float) -> None:
    """Source: A 40 lbf, B 0.2, C 0.018; horsepower = F v / 375, closed form."""
    got = road.coast_force_n(mph * MPH, *US)
    assert got == pytest.approx(force, rel=2e-5)
    assert got * mph * MPH == pytest.approx(power, rel=4e-5)
    assert got * 1609.344 / 3600.0 == pytest.approx(wh_per_mile, rel=4e-5)


@pytest.mark.parametrize("kmh", [pytest.param(120.0, id="RL-06")])
def test_air_power(kmh: float) -> None:
    """Source: closed form: CdA 0.60, 1.2 kg/m3: 13.333 kW; -20 degC over 20 degC x 1.158."""
    v = kmh / 3.6
    assert v * road.road_force_n(v, 0.0, 0.0, 1.0, 0.6, 1.2, 0.0, 0.0, 0.0) == pytest.approx(13333.0, rel=1e-4)
    cold, warm = (road.air_density_kg_per_m3(101325.0, t, 0.0) for t in (253.15, 293.15))
    assert cold / warm == pytest.approx(1.158, abs=5e-4)


@pytest.mark.parametrize("mass", [pytest.param(1800.0, id="RL-07")])
def test_rolling(mass: float) -> None:
    """Source: closed form, 1800 kg at 0.009: 158.87 N; none at a standstill."""
    assert road.road_force_n(1.0, 0.0, mass, 1.0, 0.0, 1.2, 0.009, 0.0, 0.0) == pytest.approx(158.87, abs=0.005)
    assert road.road_force_n(0.0, 0.0, mass, 1.0, 0.0, 1.2, 0.009, 0.0, 0.0) == 0.0


@pytest.mark.parametrize("wh_per_mile", [pytest.param(337.05, id="RL-09")])
def test_gallon_equivalent(wh_per_mile: float) -> None:
    """Source: 40 CFR 600 (value from memory), 33.705 kWh a gallon."""
    assert road.gallon_mileage(wh_per_mile * 3600.0 / 1609.344) == pytest.approx(100.0, rel=1e-9)


DENSITY = [pytest.param(t, rho, id=f"{t} degC") for t, rho in ((23, 1.19), (-7, 1.327), (-20, 1.395))]


@pytest.mark.parametrize(("t_c", "rho"), DENSITY)
def test_density(t_c: float, rho: float) -> None:
    """Source: ideal gas, dry, sea level."""
    assert road.air_density_kg_per_m3(101325.0, t_c + 273.15, 0.0) == pytest.approx(rho, rel=2e-3)


@pytest.mark.parametrize(("altitude", "p"), [(0.0, 101325.0), (1000.0, 89874.6), (2000.0, 79495.2), (5000.0, 54019.9)])
def test_standard_atmosphere(altitude: float, p: float) -> None:
    """Source: ICAO standard atmosphere tables (value from memory)."""
    assert road.pressure_pa(altitude) == pytest.approx(p, rel=2e-4)


def test_moist_air_is_lighter() -> None:
    """Source: ideal mixture at 43 degC, 13.56 g/kg: 1.1075 kg/m3 of moist air (psychrometric library)."""
    assert road.air_density_kg_per_m3(101325.0, 316.15, 0.013562) == pytest.approx(1.1075, rel=1e-3)


def test_tyre_warms_and_cools() -> None:
    """Source: exponentials of 20 and 40 min (value from memory): two half steps are one whole step."""
    half = road.tyre_coldness(road.tyre_coldness(1.0, True, 300.0), True, 300.0)
    assert half == pytest.approx(road.tyre_coldness(1.0, True, 600.0))
    assert road.tyre_coldness(0.0, False, 1e6) == pytest.approx(1.0)
    cold = road.rolling_coefficient(0.0085, 266.15, 0.006, 1.0, 0.2)
    assert cold == pytest.approx(0.0085 * (1.0 + 0.006 * 32.0) * 1.2)
    assert road.rolling_coefficient(0.0085, 310.0, 0.006, 0.0, 0.2) == 0.0085


@pytest.mark.parametrize(("v0", "v1"), [(0.0, 2.0), (20.0, 23.0), (12.0, 9.5), (3.0, 0.0)])
def test_mean_power_over_a_step_is_exact(v0: float, v1: float) -> None:
    """Source: closed form: the integral of F v by a thousand steps."""
    force, speed = np.zeros(3), np.zeros(3)
    car = (1900.0, 1.04, 0.6, 1.2, 0.0085, 0.02, 1.5)
    mean = road.step_wheel_powers_w(v0, v1, 1.0, *car, force, speed)
    t = (np.arange(1000) + 0.5) / 1000.0
    fine = [road.road_force_n(v0 + (v1 - v0) * x, v1 - v0, *car) * (v0 + (v1 - v0) * x) for x in t]
    assert mean == pytest.approx(float(np.mean(fine)), rel=1e-6, abs=1e-3)
    assert speed.tolist() == [v0, 0.5 * (v0 + v1), v1]


@pytest.mark.parametrize("force", [-9000.0, -1000.0, 500.0, 20000.0])
@pytest.mark.parametrize("speed", [0.0, 1.0, 15.0, 40.0])
def test_braking_split_adds_up(force: float, speed: float) -> None:
    """Source: balance of forces; the motor never passes its limits and never brakes a standing car."""
    by_motor, by_friction = braking_split_n(force, speed, 60e3, 8000.0, 2.0)
    assert abs(by_motor) <= 8000.0
    assert abs(by_motor) * speed <= 60e3 + 1e-6
    assert by_friction <= 0.0
    if force < 0.0:
        assert by_motor + by_friction == pytest.approx(force)
    if speed == 0.0:
        assert by_motor >= 0.0


@pytest.fixture(scope="module")
def built() -> DriveTable:
    return build_drive_table(Machine())


STEADY = [
    pytest.param(30, 23, 7.4, 1.19, 0.34, id="30 km/h 23 degC"),
    pytest.param(50, 23, 8.2, 1.19, 0.57, id="50 km/h 23 degC"),
    pytest.param(80, 23, 11.0, 1.19, 1.0, id="80 km/h 23 degC"),
    pytest.param(100, 23, 13.8, 1.19, 1.4, id="100 km/h 23 degC"),
    pytest.param(120, 23, 17.3, 1.19, 1.9, id="120 km/h 23 degC"),
    pytest.param(130, 23, 19.4, 1.19, 2.3, id="130 km/h 23 degC"),
    pytest.param(50, -7, 9.2, 1.327, None, id="50 km/h -7 degC"),
    pytest.param(100, -7, 15.5, 1.327, None, id="100 km/h -7 degC"),
    pytest.param(130, -20, 22.9, 1.395, None, id="130 km/h -20 degC"),
]


@pytest.mark.parametrize(("kmh", "t_c", "kwh", "rho", "waste_kw"), STEADY)
def test_steady_consumption(
    built: DriveTable, kmh: float, t_c: float, kwh: float, rho: float, waste_kw: float | None
) -> None:
    """Source: table computed by other code from the same car (values from memory), 300 W at 92 % besides.

    Oil at 60 degC, winding at 80 degC, at the pack's terminals, kWh/100 km.
    """
    v = kmh / 3.6
    crr = road.rolling_coefficient(0.0085, t_c + 273.15, 0.006, 0.0, 0.2)
    force = road.road_force_n(v, 0.0, 1900.0, 1.04, 0.60, rho, crr, 0.0, 0.0)
    torque_out, omega = road.motor_side(force, v, 0.335, 9.5)
    torque = motor_torque_nm(torque_out, omega, 333.15)
    losses = drive_losses_w(built.table, built.torque_nm, built.omega_step, omega, torque)
    waste = sum(losses) + gear_loss_w(omega, torque, 333.15)
    assert (force * v + waste + 300.0 / 0.92) / v / 36.0 == pytest.approx(kwh, rel=0.015)
    if waste_kw is not None:
        assert waste / 1e3 == pytest.approx(waste_kw, rel=0.05)
