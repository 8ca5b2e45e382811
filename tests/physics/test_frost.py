"""Frost on a cold exchanger and its melting: published constants, limits, balances.

Sources: IAPWS-06 and IAPWS-95 for heats and ice; Hyland and Wexler for the frost point (psychrolib 2.5); Yonko and
Sepsy 1967 in the units of their paper, value from memory; rates of frost: common practice; the rest closed form.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from heatwright.physics import exchange, fog, frost, moist_air, screen_ice

P0 = 101325.0
ZERO = 273.15
FRONT = (6.0, 273.15, 0.0034, P0, 0.6, 60.0)  # area, air at 0 degC and 90 %, pressure, flow, film
R_VAPOUR = 461.52


# ---------------------------------------------------------------------------------------------- published values


@pytest.mark.parametrize(("w", "frost_point_c"), [pytest.param(1.2789e-3, -12.490, id="PS-08[frost-point]")])
def test_frost_begins_at_the_frost_point(w: float, frost_point_c: float) -> None:
    """Air of -10 degC and 80 %: none on a wall 0.05 K above the frost point, some 0.05 K below."""
    for off_k, grows in ((0.05, False), (-0.05, True)):
        wall_k = frost_point_c + ZERO + off_k
        coat, _, _, w_out, _, latent, _ = frost.frost_step(0.0, 0.0, 6.0, 263.15, w, P0, 0.6, 60.0, wall_k, 60.0)
        assert (coat > 0.0, w_out < w, latent > 0.0) == (grows, grows, grows)


@pytest.mark.parametrize("heat_j_per_kg", [pytest.param(2834.4e3, id="PS-22[ice-vapour]")])
def test_latent_heat_of_frost(heat_j_per_kg: float) -> None:
    """Heat to the wall for each kilogram of frost near 0 degC, IAPWS-06/95."""
    w = moist_air.saturation_humidity_ratio(273.15, P0)
    _, _, _, w_out, _, latent, _ = frost.frost_step(0.0, 0.0, 6.0, 273.15, w, P0, 0.6, 60.0, 273.1, 0.01)
    assert latent / (0.6 * (w - w_out)) == pytest.approx(heat_j_per_kg, rel=1e-3)


@pytest.mark.parametrize("fusion_j_per_kg", [pytest.param(333.4e3, id="PS-22[ice-water]")])
def test_heat_of_melting(fusion_j_per_kg: float) -> None:
    """IAPWS-06: heat at 0 degC divided by the ice that it melts."""
    ice, _, _, t_k, _ = frost.defrost_step(0.1, 0.0, 200.0, 273.15, 100.0, 1300.0, 0.0, 60.0)
    assert 6000.0 / (0.1 - ice) == pytest.approx(fusion_j_per_kg, rel=1e-3)
    assert t_k == 273.15


@pytest.mark.parametrize(
    ("t_c", "heat_j_per_kg_k"),
    [pytest.param(-10.0, 2023.0, id="PS-23[-10]"), pytest.param(0.0, 2097.0, id="PS-23[0]")],
)
def test_heat_capacity_of_ice(t_c: float, heat_j_per_kg_k: float) -> None:
    """IAPWS-06: heat that raises a kilogram of ice over 0.1 K around a temperature, without metal."""
    low, high = (frost.stored_j_per_m2(1.0, 0.0, ZERO + t_c + d, 0.0) for d in (-0.1, 0.0))
    assert (high - low) / 0.1 == pytest.approx(heat_j_per_kg_k, rel=2e-3)


@pytest.mark.parametrize("rho", [pytest.param(916.7, id="PS-23[density]")])
def test_refrozen_water_is_solid(rho: float) -> None:
    """IAPWS-06, ice at 0 degC: water alone that freezes has this density."""
    ice, water, got, _, _ = frost.defrost_step(0.0, 0.05, 0.0, 273.15, -1000.0, 1300.0, 0.06, 60.0)
    assert (ice, water) == (0.05, 0.0)
    assert got == pytest.approx(rho, rel=2e-3)


@pytest.mark.parametrize(
    ("t_c", "energy_j_per_m2"),
    [pytest.param(0.0, 152.9e3, id="PS-25[0]"), pytest.param(-18.0, 170.0e3, id="PS-25[-18]")],
)
def test_energy_floor_of_a_defrost(t_c: float, energy_j_per_m2: float) -> None:
    """0.5 mm of solid ice on 1 m2, closed form: the least heat, and a defrost of just that heat leaves water."""
    ice = 0.5e-3 * moist_air.ice_density(273.15)
    got = frost.melt_energy_j_per_m2(ice, t_c + ZERO, 0.0)
    assert got == pytest.approx(energy_j_per_m2, rel=0.005)
    whole = frost.melt_energy_j_per_m2(ice, t_c + ZERO, 1300.0)
    for part, done in ((0.999, False), (1.001, True)):
        left, _, _, _, _ = frost.defrost_step(ice, 0.0, 916.7, t_c + ZERO, part * whole, 1300.0, 0.0, 1.0)
        assert (left == 0.0) == done


@pytest.mark.parametrize("rho", [30.0, 100.0, 200.0, 400.0, 573.0])
def test_conductivity_in_the_units_of_the_paper(rho: float) -> None:
    """Yonko and Sepsy: 0.014 + 0.00668 r + 0.0001759 r^2 Btu/h ft F, r in lb/ft3; value from memory."""
    r = rho / 16.01846
    assert frost.frost_conductivity(rho) == pytest.approx(
        1.730735 * (0.014 + 0.00668 * r + 0.0001759 * r * r), rel=0.006
    )


def test_rate_in_the_open() -> None:
    """0 degC and 90 %, a wall 7 K colder: a front exchanger of a car takes 0.2 to 0.5 g/s; common practice."""
    _, _, _, w_out, _, _, _ = frost.frost_step(0.0, 0.0, *FRONT, 266.15, 1.0)
    assert 0.2e-3 < 0.6 * (0.0034 - w_out) < 0.5e-3


# ------------------------------------------------------------------------------------------------- limits


def test_a_dry_cold_wall_is_effectiveness_ntu() -> None:
    """Air without vapour: only heat, as from a wall to a stream."""
    area, t_in_k, _, p_pa, mdot, film = FRONT
    coat, rho, t_out_k, w, sensible, latent, t_s_k = frost.frost_step(
        0.0, 0.0, area, t_in_k, 0.0, p_pa, mdot, film, 263.15, 10.0
    )
    g = exchange.wall_to_stream(area * film, mdot * 1006.0)
    assert (coat, rho, w, latent, t_s_k) == (0.0, 0.0, 0.0, 0.0, pytest.approx(263.15, abs=1e-9))
    assert sensible == pytest.approx(g * 10.0, rel=1e-9)
    assert t_out_k == pytest.approx(t_in_k - g * 10.0 / (mdot * 1006.0), abs=1e-9)


def test_no_flow_and_warm_walls_grow_nothing() -> None:
    still = frost.frost_step(0.05, 120.0, 6.0, 273.15, 0.0034, P0, 0.0, 60.0, 265.15, 60.0)
    assert still == (0.05, 120.0, 273.15, 0.0034, 0.0, 0.0, 265.15)
    coat, rho, _, w_out, sensible, latent, t_s_k = frost.frost_step(
        0.0, 0.0, 6.0, 283.15, 0.006, P0, 0.6, 60.0, 274.15, 60.0
    )
    assert (coat, rho, w_out, latent, t_s_k) == (0.0, 0.0, 0.006, 0.0, 274.15)
    assert sensible > 0.0


def test_a_step_takes_no_more_water_than_the_air_brings() -> None:
    """A huge surface: the air leaves with what saturates it at the surface, whatever the step."""
    for dt_s in (1.0, 1e3):
        _, _, _, w_out, _, _, t_s_k = frost.frost_step(0.0, 0.0, 1e4, 273.15, 0.0034, P0, 0.1, 60.0, 263.15, dt_s)
        assert w_out == pytest.approx(moist_air.saturation_humidity_ratio(t_s_k, P0), rel=1e-9)
        assert w_out >= moist_air.saturation_humidity_ratio(263.15, P0) * (1.0 - 1e-9)


def test_frost_sublimes_into_dry_air_and_no_more_than_there_is() -> None:
    for dt_s in (60.0, 1e7):
        coat, _, _, w_out, _, latent, _ = frost.frost_step(
            0.02, 100.0, 6.0, 270.15, 0.0005, P0, 0.6, 60.0, 268.15, dt_s
        )
        assert 0.0 <= coat < 0.02
        assert latent < 0.0
        assert 6.0 * (0.02 - coat) == pytest.approx(dt_s * 0.6 * (w_out - 0.0005), rel=1e-9)
    assert coat == 0.0


@pytest.mark.parametrize("coat", [0.0, 0.001, 0.02, 0.1])
@pytest.mark.parametrize("rho", [20.0, 150.0])
def test_the_surface_carries_what_the_air_gives(coat: float, rho: float) -> None:
    """Heat by the air equals conduction through the coat as it stands after the step."""
    after, packed, _, _, sensible, latent, t_s_k = frost.frost_step(coat, rho, *FRONT, 265.15, 10.0)
    through = 6.0 * (t_s_k - 265.15) / frost.resistance_m2k_per_w(after, packed)
    assert through == pytest.approx(sensible + latent, rel=1e-6)
    assert packed == pytest.approx(max(rho if coat else 0.0, frost.frost_density(t_s_k)), rel=1e-12)


def test_a_surface_that_would_be_above_zero_stays_there() -> None:
    _, rho, _, _, _, _, t_s_k = frost.frost_step(1.0, 30.0, 6.0, 283.15, 0.007, P0, 0.6, 60.0, 273.10, 1.0)
    assert t_s_k == 273.15
    assert rho == pytest.approx(650.0)


# ------------------------------------------------------------------------------------ growth over an hour


def grown(dt_s: float, t_wall_k: float = 265.15) -> tuple[list[float], list[float], float, float]:
    """Return masses, densities, water taken [kg] and heat to the wall [J] of an hour of frost."""
    coats, rhos, taken, heat = [0.0], [0.0], 0.0, 0.0
    for _ in range(round(3600.0 / dt_s)):
        coat, rho, _, w_out, sensible, latent, _ = frost.frost_step(coats[-1], rhos[-1], *FRONT, t_wall_k, dt_s)
        taken += dt_s * 0.6 * (FRONT[2] - w_out)
        heat += dt_s * (sensible + latent)
        coats.append(coat)
        rhos.append(rho)
    return coats, rhos, taken, heat


def test_an_hour_of_frost_slows_packs_and_blocks() -> None:
    coats, rhos, taken, _ = grown(10.0)
    gains = np.diff(coats)
    assert np.all(gains > 0.0)
    assert np.all(np.diff(gains) <= 1e-12)
    assert np.all(np.diff(rhos) >= 0.0)
    assert 6.0 * coats[-1] == pytest.approx(taken, rel=1e-12)
    free = [frost.free_share(c, r, 0.0013) for c, r in zip(coats[1:], rhos[1:], strict=True)]
    flow = [frost.air_flow_factor(share, 0.5) for share in free]
    assert all(b <= a for a, b in pairwise(free))
    assert all(b <= a for a, b in pairwise(flow))
    assert frost.air_flow_factor(1.0, 0.5) == 1.0
    assert frost.resistance_m2k_per_w(0.0, 0.0) == 0.0


def test_a_coarser_step_comes_to_the_same_frost() -> None:
    fine = grown(5.0)[0][-1]
    assert abs(grown(10.0)[0][-1] / fine - 1.0) < 0.002
    assert abs(grown(300.0)[0][-1] / fine - 1.0) < 0.02


def test_colder_walls_grow_more_without_a_jump() -> None:
    """From the frost point down in steps of 0.02 K."""
    before = None
    for t_wall_k in np.arange(273.14, 250.0, -0.02):
        coat, _, _, w_out, sensible, latent, _ = frost.frost_step(0.01, 120.0, *FRONT, float(t_wall_k), 10.0)
        now = (coat, -w_out, sensible + latent)
        if before is not None:
            assert all(a >= b - 1e-12 * abs(b) - 1e-13 for a, b in zip(now, before, strict=True))
            assert now[2] - before[2] < 20.0
        before = now


# ------------------------------------------------------------------------------------------------ defrost


def test_frost_and_defrost_close_in_water_and_energy() -> None:
    """An hour of frost, a defrost that heats, drains, freezes again and is melted off: 1e-12 of what was taken."""
    coats, rhos, taken, _ = grown(10.0)
    ice, water, rho, t_k, metal, hold = coats[-1], 0.0, rhos[-1], 265.15, 1300.0, 0.012
    start = frost.stored_j_per_m2(ice, water, t_k, metal)
    given = carried = drained = refrozen = 0.0
    for step in range(600):
        heat = -500.0 if 150 <= step < 300 else 800.0
        old = ice
        ice, water, rho, t_k, out = frost.defrost_step(ice, water, rho, t_k, heat, metal, hold, 1.0)
        given += heat
        carried += out * 4186.0 * (t_k - ZERO)
        drained += out
        refrozen += max(ice - old, 0.0)
        assert 6.0 * (ice + water + drained) == pytest.approx(taken, rel=1e-12)
        assert water <= hold * (1.0 + 1e-12)
    assert refrozen == pytest.approx(hold, rel=1e-9)
    assert ice == 0.0
    assert water == pytest.approx(hold, rel=1e-12)
    end = frost.stored_j_per_m2(ice, water, t_k, metal)
    assert end - start == pytest.approx(given - carried, rel=1e-12)


def test_melting_and_freezing_again_gives_back_what_it_took() -> None:
    """Nothing drains: the same heat out as in leads back to the start, a cycle makes no energy."""
    state = (0.08, 0.0, 160.0, 265.15)
    hot = frost.defrost_step(*state, 1000.0, 1300.0, 1.0, 60.0)
    assert hot[0] == 0.0
    assert hot[3] > ZERO
    back = frost.defrost_step(*hot[:4], -1000.0, 1300.0, 1.0, 60.0)
    assert back[0] == pytest.approx(0.08, rel=1e-14)
    assert back[3] == pytest.approx(265.15, abs=1e-9)
    assert back[2] == pytest.approx(916.7)  # it does not come back as frost


def test_retained_water_shortens_the_next_period() -> None:
    """A thin layer of solid ice left from before takes less room than frost, but it is there from the start."""
    ice, _, rho, _, _ = frost.defrost_step(0.0, 0.012, 0.0, 273.15, -500.0, 1300.0, 0.012, 60.0)
    assert frost.thickness_m(ice, rho) == pytest.approx(0.012 / 916.7, rel=1e-9)
    again, _, _, _, _, _, _ = frost.frost_step(ice, rho, *FRONT, 265.15, 600.0)
    fresh, _, _, _, _, _, _ = frost.frost_step(0.0, 0.0, *FRONT, 265.15, 600.0)
    assert again > fresh
    assert again - ice < fresh * 1.2


def test_agrees_with_ice_on_a_screen() -> None:
    """The same ice by the other module, its heat capacity rounded to 2050 J/kgK there: 0.4 %."""
    here = frost.melt_energy_j_per_m2(0.44, 255.15, 10.5e3)
    assert here == pytest.approx(screen_ice.clearing_energy_j_per_m2(0.44, 255.15, 10.5e3), rel=0.004)


# ------------------------------------------------------------------------------------------ random points


def entropy(t_k: float, w: float, p_pa: float) -> float:
    """Return the entropy of moist air over dry air and liquid water at 0 degC [J/kgK]."""
    pv = moist_air.vapour_pressure(w, p_pa)
    dry = 1006.0 * math.log(t_k / ZERO) - 287.042 * math.log((p_pa - pv) / P0)
    if w <= 0.0:
        return dry
    over = math.log(pv / moist_air.saturation_pressure(ZERO + 0.01))
    return dry + w * (2501.0e3 / ZERO + 1860.0 * math.log(t_k / ZERO) - R_VAPOUR * over)


def ice_entropy(t_k: float) -> float:
    """Return the entropy of ice over liquid water at 0 degC [J/kgK], heat capacity 2097 + 7.4 t."""
    return -333.4e3 / ZERO + (2097.0 - 7.4 * ZERO) * math.log(t_k / ZERO) + 7.4 * (t_k - ZERO)


def test_first_and_second_law_of_growth_at_5000_points() -> None:
    rng = np.random.default_rng(21)
    grew = shrank = 0
    for _ in range(5000):
        p_pa = float(rng.uniform(65e3, 105e3))
        t_in_k = float(rng.uniform(248.15, 283.15))
        w_in = float(rng.uniform(0.05, 1.0)) * moist_air.saturation_humidity_ratio(t_in_k, p_pa)
        coat = float(rng.choice([0.0, 10.0 ** rng.uniform(-5.0, -0.7)]))
        rho = float(rng.uniform(15.0, 600.0))
        area, mdot = float(rng.uniform(2.0, 8.0)), float(10.0 ** rng.uniform(-2.0, 0.3))
        film, dt_s = float(rng.uniform(15.0, 120.0)), float(rng.choice([0.1, 5.0, 300.0]))
        t_wall_k = float(rng.uniform(max(t_in_k - 25.0, 243.15), min(t_in_k + 5.0, 273.14)))
        one = (coat, rho, area, t_in_k, w_in, p_pa, mdot, film, t_wall_k, dt_s)
        after, packed, t_out_k, w_out, sensible, latent, t_s_k = frost.frost_step(*one)
        taken = mdot * (w_in - w_out)
        grew += after > coat
        shrank += after < coat
        assert after >= 0.0, one
        assert 0.0 <= w_out <= max(w_in, moist_air.saturation_humidity_ratio(t_s_k, p_pa)) * (1.0 + 1e-12), one
        scale = max(area * coat, dt_s * mdot * max(w_in, w_out))
        assert area * (after - coat) == pytest.approx(dt_s * taken, abs=1e-12 * scale), one
        assert (packed == 0.0) if after == 0.0 else (10.0 <= packed <= 650.0), one
        lost = mdot * (moist_air.enthalpy(t_in_k, w_in) - moist_air.enthalpy(t_out_k, w_out))
        given = sensible + latent + taken * fog.film_enthalpy(t_wall_k)
        assert given == pytest.approx(lost, rel=1e-11, abs=1e-11 * mdot * 1e5), one
        assert min(t_in_k, t_s_k) - 1e-9 <= t_out_k <= max(t_in_k, t_s_k) + 1e-9, one
        made = mdot * (entropy(t_out_k, w_out, p_pa) - entropy(t_in_k, w_in, p_pa))
        made += (sensible + latent) / t_wall_k + taken * ice_entropy(t_wall_k)
        size = mdot * 1006.0 * (abs(t_in_k - t_wall_k) + 1.0) / t_wall_k
        assert made >= -1e-9 * size, (made / size, one)
    assert grew > 1000
    assert shrank > 500


def test_first_law_of_defrost_at_5000_points() -> None:
    rng = np.random.default_rng(22)
    froze = 0
    for _ in range(5000):
        ice, water = float(rng.choice([0.0, rng.uniform(0.0, 0.2)])), float(rng.choice([0.0, rng.uniform(0.0, 0.05)]))
        t_k = ZERO + float(rng.uniform(-25.0, 0.0) if ice > 0.0 else rng.uniform(-5.0, 30.0))
        metal, hold = float(rng.uniform(500.0, 4000.0)), float(rng.uniform(0.0, 0.05))
        heat, dt_s = float(rng.uniform(-1500.0, 2500.0)), float(rng.choice([0.1, 2.0, 20.0]))
        one = (ice, water, 200.0, t_k, heat, metal, hold, dt_s)
        left, held, rho, after_k, out = frost.defrost_step(*one)
        froze += left > ice
        assert min(left, held, out) >= 0.0, one
        assert held <= hold * (1.0 + 1e-12) + 1e-15, one
        assert left + held + out == pytest.approx(ice + water, rel=1e-12, abs=1e-15), one
        assert left == 0.0 or after_k <= ZERO, one
        assert held + out == 0.0 or after_k >= ZERO, one
        assert left == 0.0 or 200.0 <= rho <= 916.8, one
        before = frost.stored_j_per_m2(ice, water, t_k, metal)
        end = frost.stored_j_per_m2(left, held, after_k, metal) + out * 4186.0 * (after_k - ZERO)
        scale = abs(before) + abs(heat) * dt_s + 333.4e3 * (ice + water) + metal
        assert end == pytest.approx(before + heat * dt_s, abs=1e-12 * scale), one
    assert froze > 300
