"""Ice on the screen: energy, time to clear, and the regulation's limits.

Sources: IAPWS-06 for ice; Regulation (EU) 672/2010, annex II; the ice load is a value from memory; the rest
closed form.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from heatwright.physics import moist_air, screen_ice

GLASS = screen_ice.GLASS_J_PER_M2K


@pytest.mark.parametrize(
    ("t_c", "energy_j_per_m2"),
    [pytest.param(0.0, 152.9e3, id="PS-25[0]"), pytest.param(-18.0, 170.0e3, id="PS-25[-18]")],
)
def test_energy_floor(t_c: float, energy_j_per_m2: float) -> None:
    """0.5 mm of ice on 1 m2, m (L + c dT), closed form."""
    ice = 0.5e-3 * moist_air.ice_density(273.15)
    got = screen_ice.clearing_energy_j_per_m2(ice, t_c + 273.15, 0.0)
    assert got == pytest.approx(energy_j_per_m2, rel=0.005)


@pytest.mark.parametrize("thickness_mm", [pytest.param(0.48, id="SY-25")])
def test_ice_load(thickness_mm: float) -> None:
    """0.044 g/cm2 is 0.48 mm of ice; value from memory."""
    thickness = screen_ice.LOAD_KG_PER_M2 / moist_air.ice_density(263.15)
    assert thickness * 1e3 == pytest.approx(thickness_mm, rel=0.05)


@pytest.mark.parametrize(
    ("driver", "passenger", "wide", "met"),
    [
        pytest.param(0.80, 0.80, 0.95, True, id="SY-23[at]"),
        pytest.param(0.799, 0.80, 0.95, False, id="SY-23[A]"),
        pytest.param(0.80, 0.799, 0.95, False, id="SY-23[mirror]"),
        pytest.param(0.80, 0.80, 0.949, False, id="SY-23[B]"),
    ],
)
def test_defrost_limits(driver: float, passenger: float, wide: float, met: bool) -> None:
    """Regulation (EU) 672/2010, annex II."""
    assert screen_ice.defrost_met(driver, passenger, wide) == met


@pytest.mark.parametrize("ice", [0.0, 0.01, 0.44])
@pytest.mark.parametrize("t_c", [-18.0, -0.01, 0.0])
@pytest.mark.parametrize("inside_c", [-18.0, 5.0, 45.0])
@pytest.mark.parametrize("dt_s", [0.1, 30.0, 3600.0])
def test_a_step_closes(ice: float, t_c: float, inside_c: float, dt_s: float) -> None:
    """Heat through both faces at the new temperature is what pane and ice gain; meltwater leaves at zero enthalpy."""
    inward, outward, heat, t_out_k = 18.0, 8.0, 100.0, 255.15
    t_in_k = inside_c + 273.15
    start = screen_ice.stored_j_per_m2(ice, t_c + 273.15, GLASS)
    left, t_k, gained = screen_ice.ice_step(ice, t_c + 273.15, t_in_k, t_out_k, inward, outward, heat, GLASS, dt_s)
    through = inward * (t_in_k - t_k) - outward * (t_k - t_out_k) + heat
    size = abs(start) + dt_s * (inward * abs(t_in_k - 273.15) + outward * 18.0 + heat)
    assert 0.0 <= left <= ice
    assert left == 0.0 or t_k <= 273.15
    assert gained == pytest.approx(through, abs=1e-9)
    end = screen_ice.stored_j_per_m2(left, t_k, GLASS)
    assert end - start == pytest.approx(dt_s * gained, abs=1e-12 * size + 1e-8)


def test_a_march_closes_and_melts_only_at_zero() -> None:
    ice, t_k, given_j = screen_ice.LOAD_KG_PER_M2, 255.15, 0.0
    start = screen_ice.stored_j_per_m2(ice, t_k, GLASS)
    for _ in range(9000):
        before = ice
        ice, t_k, gained = screen_ice.ice_step(ice, t_k, 318.15, 255.15, 15.0, 8.0, 0.0, GLASS, 1.0)
        given_j += gained
        assert ice == before or t_k >= 273.15
    assert ice == 0.0
    assert screen_ice.stored_j_per_m2(ice, t_k, GLASS) - start == pytest.approx(given_j, rel=1e-11)
    assert t_k == pytest.approx((15.0 * 318.15 + 8.0 * 255.15) / 23.0, abs=1e-5)


def clear_by_march(dt_s: float, *around: float) -> float:
    """Return the time at which a march first finds the pane clear [s]."""
    ice, t_k, passed = screen_ice.LOAD_KG_PER_M2, 255.15, 0.0
    while ice > 0.0:
        ice, t_k, _ = screen_ice.ice_step(ice, t_k, *around, GLASS, dt_s)
        passed += dt_s
    return passed


def test_time_to_clear_is_what_a_march_finds() -> None:
    around = (313.15, 255.15, 15.0, 8.0, 0.0)
    exact = screen_ice.clearing_time_s(screen_ice.LOAD_KG_PER_M2, 255.15, *around, GLASS)
    assert clear_by_march(0.25, *around) == pytest.approx(exact, rel=0.002)
    assert abs(clear_by_march(2.0, *around) - exact) < abs(clear_by_march(32.0, *around) - exact)


def test_melting_against_a_hand_calculation() -> None:
    """At 0 degC: 18 x 40 - 8 x 8 = 656 W/m2; 0.44 x 333400 / 656 = 223.6 s."""
    got = screen_ice.clearing_time_s(0.44, 273.15, 313.15, 265.15, 18.0, 8.0, 0.0, GLASS)
    assert got == pytest.approx(223.6, rel=1e-3)


def test_too_little_heat_never_clears() -> None:
    """10 x 5 inside against 25 x 8 outside: the ice stays, however long the step."""
    around = (278.15, 265.15, 10.0, 25.0, 0.0)
    assert screen_ice.clearing_time_s(0.44, 265.15, *around, GLASS) == math.inf
    left, t_k, _ = screen_ice.ice_step(0.44, 265.15, *around, GLASS, 1e6)
    assert left == 0.44
    assert t_k < 273.15
    assert screen_ice.clearing_time_s(0.0, 265.15, *around, GLASS) == 0.0


def test_more_heat_clears_sooner() -> None:
    times = [
        screen_ice.clearing_time_s(0.44, 255.15, 303.15, 255.15, 18.0, 8.0, wires, GLASS)
        for wires in (0.0, 100.0, 500.0)
    ]
    assert times == sorted(times, reverse=True)


@pytest.mark.parametrize("gone", [0.3, 0.67, 0.8, 0.93, 0.999])
def test_cleared_share_against_the_dose_place_by_place(gone: float) -> None:
    """200 000 places of evenly spread heat: the dose that leaves this much ice frees this share of them."""
    heat = np.linspace(screen_ice.LEAST_HEAT, screen_ice.MOST_HEAT, 200_001)
    low, high = 0.0, 2.0
    for _ in range(60):
        dose = 0.5 * (low + high)
        low, high = (dose, high) if np.minimum(heat * dose, 1.0).mean() < gone else (low, dose)
    for part in (screen_ice.AREA_A, screen_ice.AREA_A_PASSENGER, screen_ice.AREA_B):
        inside = heat[(heat >= part[0]) & (heat <= part[1])]
        assert screen_ice.cleared_share(gone, *part) == pytest.approx(np.mean(inside * dose >= 1.0), abs=2e-3)
