"""Fog on glass: when it begins, how fast it grows and dries, and that water and energy close.

Sources: fogging limits by series resistance and saturation (psychrolib 2.5); Regulation (EU) 672/2010, annex II;
the rest closed form or hand calculation.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from heatwright.physics import cabin, fog, moist_air

P0 = 101325.0


@pytest.mark.parametrize(
    ("outside_c", "limit_g_per_kg", "humidity"),
    [
        pytest.param(-10.0, 2.584, 0.159, id="PS-21[-10]"),
        pytest.param(0.0, 4.956, 0.303, id="PS-21[0]"),
        pytest.param(5.0, 6.620, 0.403, id="PS-21[5]"),
    ],
)
def test_fog_begins_at_the_limit(outside_c: float, limit_g_per_kg: float, humidity: float) -> None:
    """Glass 5 mm, 1.0 W/mK, films 8.3 and 50 W/m2K, cabin 22 degC: below the limit it stays dry, above it fogs."""
    t_glass_k = cabin.glass_inner_k(295.15, outside_c + 273.15, 8.3, 0.005, 50.0, 0.0)
    for factor, wet in ((0.995, False), (1.005, True)):
        w = factor * limit_g_per_kg * 1e-3
        coat, after, heat = fog.fog_step(0.0, w, 295.15, t_glass_k, P0, 8.3, 1.0, 3.6, 5.0)
        assert (coat > 0.0) == wet
        assert (after < w) == wet
        assert (heat > 0.0) == wet
    assert moist_air.relative_humidity(295.15, limit_g_per_kg * 1e-3, P0) == pytest.approx(humidity, abs=0.005)


@pytest.mark.parametrize(
    ("t_k", "heat_j_per_kg"),
    [pytest.param(273.16, 2500.9e3, id="PS-22[water]"), pytest.param(273.15, 2834.4e3, id="PS-22[ice]")],
)
def test_latent_heat(t_k: float, heat_j_per_kg: float) -> None:
    """IAPWS-95 and IAPWS-06: vapour to water and to ice at one temperature."""
    assert fog.heat_released_j_per_kg(t_k, t_k) == pytest.approx(heat_j_per_kg, rel=1e-3)


@pytest.mark.parametrize(
    ("t_c", "heat_j_per_kg"),
    [
        pytest.param(10.0, 2477.2e3, id="PS-24[10]"),
        pytest.param(20.0, 2453.5e3, id="PS-24[20]"),
        pytest.param(25.0, 2441.7e3, id="PS-24[25]"),
    ],
)
def test_heat_of_vaporisation(t_c: float, heat_j_per_kg: float) -> None:
    """IAPWS-95: the enthalpies of the ledger carry the same heat."""
    t = t_c + 273.15
    assert fog.heat_released_j_per_kg(t, t) == pytest.approx(heat_j_per_kg, rel=5e-4)


def test_coefficient_against_a_hand_calculation() -> None:
    """20 W/m2K: 20 / (1006 x 0.865^(2/3)) = 20 / (1006 x 0.9078) = 0.021900 kg/m2s."""
    assert fog.mass_transfer_kg_per_m2s(20.0) == pytest.approx(0.021900, rel=1e-4)


def test_steady_growth_against_a_hand_calculation() -> None:
    """Glass 10 degC (7.6301 g/kg), air 9.6301 g/kg, 20 W/m2K: 0.021900 x 0.002 = 43.80 mg/m2s, 26.28 g/m2 in 600 s."""
    coat, w = 0.0, 9.6301e-3
    for _ in range(60):
        coat, w, heat = fog.fog_step(coat, w, 295.15, 283.15, P0, 20.0, 1.0, 1e9, 10.0)
        assert heat == pytest.approx(43.80e-6 * (2501.0e3 + 1860.0 * 22.0 - 4186.0 * 10.0), rel=1e-3)
    assert coat == pytest.approx(26.28e-3, rel=1e-3)


@pytest.mark.parametrize("t_glass_c", [-12.0, 0.005, 4.0, 25.0])
@pytest.mark.parametrize("w", [0.0, 0.004, 0.012])
@pytest.mark.parametrize("dt_s", [0.1, 10.0, 600.0])
@pytest.mark.parametrize("coat", [0.0, 1e-4, 0.05])
def test_water_and_energy_close(t_glass_c: float, w: float, dt_s: float, coat: float) -> None:
    t_air_k, t_glass_k, area, air = 295.15, t_glass_c + 273.15, 1.15, 3.6

    def water(film: float, humidity: float) -> float:
        return area * film + air * humidity

    def energy(film: float, humidity: float) -> float:
        return area * film * fog.film_enthalpy(t_glass_k) + air * moist_air.enthalpy(t_air_k, humidity)

    after, w_after, heat = fog.fog_step(coat, w, t_air_k, t_glass_k, P0, 9.0, area, air, dt_s)
    assert after >= 0.0
    assert water(after, w_after) == pytest.approx(water(coat, w), rel=1e-12, abs=1e-18)
    assert energy(after, w_after) + heat * dt_s == pytest.approx(energy(coat, w), rel=1e-12)


@pytest.mark.parametrize("w", [0.001, 0.012])
def test_a_long_step_ends_at_saturation(w: float) -> None:
    """It neither swings past saturation nor loses water, however long."""
    _, after, _ = fog.fog_step(1.0, w, 295.15, 283.15, P0, 9.0, 1.0, 3.6, 1e9)
    assert after == pytest.approx(moist_air.saturation_humidity_ratio(283.15, P0), rel=1e-6)


def test_many_steps_close_while_the_glass_warms_through_freezing() -> None:
    """Frost, thaw and drying in one march; the film's own heat is the difference of its enthalpy."""
    area, air, w, coat, t_glass_k = 1.15, 3.6, 0.006, 0.0, 263.15
    start_water = air * w
    start_j = air * moist_air.enthalpy(295.15, w)
    given_j, most = 0.0, 0.0
    for k in range(900):
        warmer = 263.15 + min(k, 600) * 0.05
        given_j -= area * coat * (fog.film_enthalpy(warmer) - fog.film_enthalpy(t_glass_k))
        t_glass_k = warmer
        coat, w, heat = fog.fog_step(coat, w, 295.15, t_glass_k, P0, 12.0, area, air, 2.0)
        given_j += 2.0 * heat
        most = max(most, coat)
    end_j = air * moist_air.enthalpy(295.15, w) + area * coat * fog.film_enthalpy(t_glass_k)
    assert most > 1e-3
    assert coat == 0.0
    assert air * w + area * coat == pytest.approx(start_water, rel=1e-12)
    assert end_j + given_j == pytest.approx(start_j, rel=1e-12)


def test_step_converges_to_the_exact_decay() -> None:
    """Glass that never dries: the air's excess decays as exp(-A g t / m); the error falls with the step."""
    w0, ws = 0.012, moist_air.saturation_humidity_ratio(283.15, P0)
    exact = ws + (w0 - ws) * math.exp(-1.15 * fog.mass_transfer_kg_per_m2s(9.0) * 200.0 / 3.6)
    errors = []
    for n in (10, 20, 40):
        coat, w = 0.0, w0
        for _ in range(n):
            coat, w, _ = fog.fog_step(coat, w, 295.15, 283.15, P0, 9.0, 1.15, 3.6, 200.0 / n)
        errors.append(abs(w - exact))
    assert np.log2(errors[0] / errors[1]) == pytest.approx(1.0, abs=0.1)
    assert np.log2(errors[1] / errors[2]) == pytest.approx(1.0, abs=0.1)


def test_time_to_clear() -> None:
    """The closed form agrees with a march in air without end; no drying, no time."""
    coat, left, dt = 0.01, 0.01, 0.5
    expected = fog.clear_time_s(coat, 0.004, 285.15, P0, 18.0)
    passed = 0.0
    while left > 0.0:
        left, _, _ = fog.fog_step(left, 0.004, 295.15, 285.15, P0, 18.0, 1.0, 1e12, dt)
        passed += dt
    assert passed == pytest.approx(expected, abs=1.01 * dt)
    assert fog.clear_time_s(0.0, 0.012, 285.15, P0, 18.0) == 0.0
    assert fog.clear_time_s(0.01, 0.012, 285.15, P0, 18.0) == math.inf


def test_no_time_moves_nothing() -> None:
    assert fog.fog_step(0.01, 0.006, 295.15, 283.15, P0, 9.0, 1.0, 3.6, 0.0) == (0.01, 0.006, 0.0)


def test_view_falls_with_the_film() -> None:
    views = [fog.clear_view(coat, fog.HIDING_KG_PER_M2) for coat in (-1.0, 0.0, 1e-3, 1e-2, 0.1)]
    assert views[0] == views[1] == 1.0
    assert views == sorted(views, reverse=True)


@pytest.mark.parametrize(
    ("share_a", "share_b", "minutes", "met"),
    [
        pytest.param(0.90, 0.80, 10.0, True, id="SY-24[at]"),
        pytest.param(0.899, 0.80, 10.0, False, id="SY-24[A]"),
        pytest.param(0.90, 0.799, 10.0, False, id="SY-24[B]"),
        pytest.param(0.90, 0.80, 10.01, False, id="SY-24[late]"),
    ],
)
def test_demist_limits(share_a: float, share_b: float, minutes: float, met: bool) -> None:
    """Regulation (EU) 672/2010, annex II."""
    assert fog.demist_met(share_a, share_b, 60.0 * minutes) == met
