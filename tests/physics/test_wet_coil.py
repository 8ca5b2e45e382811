"""A cooling coil on moist air: published states, its limits, an independent integration, and balances.

Sources: Cengel and Boles, "Thermodynamics", example 14-6; ASHRAE Handbook - Fundamentals, example of cooling to
saturation; bypass-factor method of the textbooks evaluated with psychrolib 2.5; the rest closed form.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from heatwright.physics import exchange, moist_air, wet_coil

P0 = 101325.0
ZERO = 273.15
ENDLESS = 1.0e9  # surface at the temperature of the cold side [W/K]
R_VAPOUR = 461.52


def humid(t_c: float, share: float, p_pa: float = P0) -> float:
    """Return the humidity ratio at a relative humidity."""
    return moist_air.humidity_ratio(share * moist_air.saturation_pressure(t_c + ZERO), p_pa)


# ---------------------------------------------------------------------------------------------- published states


@pytest.mark.parametrize(
    ("t_out_c", "w_out", "humidity", "drop_j_per_kg", "sensible_share"),
    [pytest.param(11.8, 7.553e-3, 0.878, 24.67e3, 0.631, id="PS-19")],
)
def test_bypass_factor(
    t_out_c: float, w_out: float, humidity: float, drop_j_per_kg: float, sensible_share: float
) -> None:
    """27 degC, 50 %, surface 8 degC, bypass factor 0.2: textbook method, psychrolib."""
    w_in = humid(27.0, 0.5)
    mdot = 0.1
    ha = -math.log(0.2) * mdot * (1006.0 + 1860.0 * w_in)
    assert wet_coil.bypass_factor(ha, mdot, w_in) == pytest.approx(0.2, rel=1e-12)
    t_k, w, sensible, latent, water, t_s_k = wet_coil.coil(27.0 + ZERO, w_in, P0, mdot, ha, ENDLESS, 8.0 + ZERO)
    assert t_k - ZERO == pytest.approx(t_out_c, rel=0.005)
    assert w == pytest.approx(w_out, rel=0.005)
    assert moist_air.relative_humidity(t_k, w, P0) == pytest.approx(humidity, rel=0.005)
    drop = moist_air.enthalpy(27.0 + ZERO, w_in) - moist_air.enthalpy(t_k, w)
    assert drop == pytest.approx(drop_j_per_kg, rel=0.005)
    assert sensible / (mdot * drop) == pytest.approx(sensible_share, rel=0.005)
    assert sensible + latent + water * 4186.0 * (t_s_k - ZERO) == pytest.approx(mdot * drop, rel=1e-9)
    assert wet_coil.apparatus_dew_point_k(27.0 + ZERO, w_in, t_k, w, P0) - ZERO == pytest.approx(8.0, abs=0.01)


@pytest.mark.parametrize(
    ("t_out_c", "w_out", "dew_c"), [pytest.param(11.8, 7.553e-3, 8.0, id="PS-19[apparatus-dew-point]")]
)
def test_apparatus_dew_point_from_two_states(t_out_c: float, w_out: float, dew_c: float) -> None:
    """The published entering and leaving states give back the published apparatus dew point."""
    got = wet_coil.apparatus_dew_point_k(27.0 + ZERO, humid(27.0, 0.5), t_out_c + ZERO, w_out, P0)
    assert got - ZERO == pytest.approx(dew_c, abs=0.1)


@pytest.mark.parametrize(("water_kg_per_min", "heat_kj_per_min"), [pytest.param(0.131, 511.0, id="PS-13")])
def test_saturated_coil(water_kg_per_min: float, heat_kj_per_min: float) -> None:
    """10 m3/min at 30 degC, 80 % to saturation at 14 degC, condensate at 14 degC: Cengel and Boles, example 14-6."""
    w_in = humid(30.0, 0.8)
    mdot = 10.0 / 60.0 * moist_air.density(30.0 + ZERO, w_in, P0) / (1.0 + w_in)
    t_k, w, sensible, latent, water, t_s_k = wet_coil.coil(30.0 + ZERO, w_in, P0, mdot, 1e5, ENDLESS, 14.0 + ZERO)
    assert mdot * 60.0 == pytest.approx(11.25, rel=0.005)
    assert (t_k, t_s_k) == pytest.approx((14.0 + ZERO, 14.0 + ZERO), abs=1e-4)
    assert moist_air.relative_humidity(t_k, w, P0) == pytest.approx(1.0, abs=1e-6)
    assert water * 60.0 == pytest.approx(water_kg_per_min, rel=0.005)
    assert (sensible + latent) * 0.06 == pytest.approx(heat_kj_per_min, rel=0.005)


@pytest.mark.parametrize(("mdot", "heat_w"), [pytest.param(5.70, 198.0e3, id="PS-15")])
def test_cooling_to_saturation(mdot: float, heat_w: float) -> None:
    """5 m3/s at 30 degC, 50 % to saturation at 10 degC: ASHRAE Handbook - Fundamentals; 197 kW there, from memory."""
    w_in = humid(30.0, 0.5)
    flow = 5.0 * moist_air.density(30.0 + ZERO, w_in, P0) / (1.0 + w_in)
    _, _, sensible, latent, _, _ = wet_coil.coil(30.0 + ZERO, w_in, P0, flow, 1e6, ENDLESS, 10.0 + ZERO)
    assert flow == pytest.approx(mdot, rel=0.01)
    assert sensible + latent == pytest.approx(heat_w, rel=0.01)


# ------------------------------------------------------------------------------------------------- limits


@pytest.mark.parametrize("t_cold_c", [14.0, 20.0, 45.0])
@pytest.mark.parametrize("hc", [5.0, 250.0, ENDLESS])
def test_a_dry_coil_is_effectiveness_ntu(t_cold_c: float, hc: float) -> None:
    """Dew point 13.9 degC: nothing condenses and the heat is that of an exchanger with a phase change."""
    t_in_k, w_in, mdot, ha = 25.0 + ZERO, 0.009881, 0.1, 200.0
    t_k, w, sensible, latent, water, _ = wet_coil.coil(t_in_k, w_in, P0, mdot, ha, hc, t_cold_c + ZERO)
    c = mdot * (1006.0 + 1860.0 * w_in)
    g = exchange.exchange_conductance(exchange.PHASE_CHANGE, 1.0 / (1.0 / ha + 1.0 / hc), c, c)
    assert (w, latent, water) == (w_in, pytest.approx(0.0, abs=1e-8), 0.0)
    assert sensible == pytest.approx(g * (t_in_k - t_cold_c - ZERO), rel=1e-9)
    assert t_k == pytest.approx(t_in_k - sensible / c, abs=1e-9)


def test_no_flow_and_no_film_do_nothing() -> None:
    still = wet_coil.coil_step(0.02, 0.06, 3.5, 298.15, 0.012, P0, 0.0, 200.0, 250.0, 278.15, 10.0)
    assert still[:6] == (0.02, 0.0, 298.15, 0.012, 0.0, 0.0)
    t_k, w, sensible, latent, water, _ = wet_coil.coil(298.15, 0.012, P0, 0.1, 0.0, 250.0, 278.15)
    assert (t_k, w, sensible, latent, water) == pytest.approx((298.15, 0.012, 0.0, 0.0, 0.0), abs=1e-8)
    t_k, w, sensible, latent, water, _ = wet_coil.coil(298.15, 0.012, P0, 0.1, 200.0, 0.0, 278.15)
    assert (t_k, w, sensible, latent, water) == pytest.approx((298.15, 0.012, 0.0, 0.0, 0.0), abs=1e-8)


def test_saturated_air_stays_saturated() -> None:
    """The straight line from saturated air would pass through mist: it leaves saturated, with the same enthalpy."""
    w_in = moist_air.saturation_humidity_ratio(298.15, P0)
    t_k, w, _, _, _, _ = wet_coil.coil(298.15, w_in, P0, 0.05, 100.0, 300.0, 274.15)
    assert moist_air.relative_humidity(t_k, w, P0) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("t_c", [-20.0, 0.0, 10.0, 25.0, 50.0])
@pytest.mark.parametrize("p_pa", [70e3, P0])
def test_saturated_enthalpy_has_its_slope_and_inverse(t_c: float, p_pa: float) -> None:
    t_k = t_c + ZERO
    h = wet_coil.saturated_enthalpy(t_k, p_pa)
    assert wet_coil.saturated_temperature_k(h, p_pa) == pytest.approx(t_k, abs=1e-6)
    rise = (wet_coil.saturated_enthalpy(t_k + 0.005, p_pa) - wet_coil.saturated_enthalpy(t_k - 0.005, p_pa)) / 0.01
    assert wet_coil.saturated_enthalpy_slope(t_k, p_pa) == pytest.approx(rise, rel=0.005)


def test_a_line_that_misses_saturation_has_no_apparatus_dew_point() -> None:
    """From 25 degC, 50 % towards 24 degC and half the water: steeper than any tangent of the curve."""
    assert math.isnan(wet_coil.apparatus_dew_point_k(298.15, 0.009881, 297.15, 0.005, P0))
    dew = wet_coil.apparatus_dew_point_k(298.15, 0.009881, 291.15, 0.009881, P0)
    assert dew == pytest.approx(moist_air.dew_point_k(0.009881, P0), abs=1e-3)


# -------------------------------------------------------------------------------- an independent integration


def marched(
    t_in_k: float, w_in: float, p_pa: float, mdot: float, ha: float, hc: float, t_cold_k: float
) -> tuple[float, float]:
    """Return enthalpy and humidity behind 1000 slices of coil, each at its own surface temperature by halving."""
    slices = 1000
    h, w = moist_air.enthalpy(t_in_k, w_in), w_in
    c = 1006.0 + 1860.0 * w_in
    touched = -math.expm1(-ha / slices / (mdot * c))
    for _ in range(slices):
        t_k = moist_air.temperature_from_enthalpy(h, w)
        dry_k = t_cold_k + (t_k - t_cold_k) * ha / (ha + hc)
        if dry_k >= moist_air.dew_point_k(w, p_pa):
            h -= c * (t_k - dry_k) * touched
            continue
        low, high = t_cold_k, t_k
        for _ in range(45):
            middle = 0.5 * (low + high)
            heat = ha / c * (h - wet_coil.saturated_enthalpy(middle, p_pa))
            low, high = (middle, high) if hc * (middle - t_cold_k) < heat else (low, middle)
        h -= (h - wet_coil.saturated_enthalpy(low, p_pa)) * touched
        w -= (w - moist_air.saturation_humidity_ratio(low, p_pa)) * touched
    return h, w


@pytest.mark.parametrize(
    ("air", "mdot", "ha", "hc", "t_cold_c", "share"),
    [
        pytest.param((30.0, 0.0135, P0), 0.10, 200.0, 250.0, 5.0, 0.0, id="wet"),
        pytest.param((30.0, 0.0105, P0), 0.10, 200.0, 250.0, 8.0, 0.337, id="partly"),
        pytest.param((35.0, 0.0250, P0), 0.10, 300.0, 150.0, 3.0, 0.0, id="damp"),
        pytest.param((45.0, 0.0300, 80e3), 0.15, 400.0, 300.0, 5.0, 0.013, id="high-up"),
    ],
)
def test_against_slices(
    air: tuple[float, float, float], mdot: float, ha: float, hc: float, t_cold_c: float, share: float
) -> None:
    """Within 0.7 % in heat and water; the share that stays dry as given."""
    at = (air[0] + ZERO, air[1], air[2], mdot, ha, hc, t_cold_c + ZERO)
    h, w = marched(*at)
    t_k, got_w, _, _, _, _ = wet_coil.coil(*at)
    h_in = moist_air.enthalpy(at[0], at[1])
    assert h_in - moist_air.enthalpy(t_k, got_w) == pytest.approx(h_in - h, rel=0.007)
    assert at[1] - got_w == pytest.approx(at[1] - w, rel=0.007)
    assert wet_coil.dry_share(*at) == pytest.approx(share, abs=0.001)


# ------------------------------------------------------------------------------ continuous, monotone


@pytest.mark.parametrize("hc", [100.0, 250.0, ENDLESS])
@pytest.mark.parametrize("held", [0.0, 0.02, 0.06])
def test_colder_coils_take_more_without_a_jump(hc: float, held: float) -> None:
    """From a warm to a cold coil in steps of 0.02 K through dry, partly wet and wet."""
    before = None
    shares = []
    for t_cold_k in np.arange(303.15, 273.2, -0.02):
        at = (303.15, 0.012, P0, 0.1, 200.0, hc, float(t_cold_k))
        _, _, t_k, w, sensible, latent, _ = wet_coil.coil_step(held, 0.06, 3.5, *at, 1.0)
        shares.append(wet_coil.dry_share(*at))
        now = (sensible + latent, -w, -t_k)
        if before is not None:
            assert all(new >= old - 1e-9 * max(1.0, abs(old)) for new, old in zip(now, before, strict=True))
            assert now[0] - before[0] < 14.0  # 0.02 K through at most 200 W/K and three times that when wet
            assert now[1] - before[1] < 3e-5
        before = now
    assert all(new <= old for old, new in pairwise(shares))
    assert shares[0] == 1.0
    assert shares[-1] == (pytest.approx(0.268, abs=1e-3) if hc == 100.0 else 0.0)


def test_damper_air_gives_more_heat_without_a_jump() -> None:
    before = None
    for w_in in np.linspace(0.002, 0.026, 2401):
        _, _, sensible, latent, water, _ = wet_coil.coil(303.15, float(w_in), P0, 0.1, 200.0, 250.0, 278.15)
        now = (sensible + latent, water)
        if before is not None:
            assert -1e-9 <= now[0] - before[0] < 5.0
            assert 0.0 <= now[1] - before[1] < 2e-6
        before = now


# -------------------------------------------------------------------------------------------- held water


def test_hold_fills_then_drains_then_dries() -> None:
    """An hour cooling, then the coil warms: what was taken is held, drained or given back, to 1e-12."""
    held, area, hold = 0.0, 3.5, wet_coil.HOLD_KG_PER_M2
    taken = drained = wettest = 0.0
    t_cold_k, air = 278.15, (303.15, 0.0135, P0)
    for step in range(1500):
        if step == 600:
            t_cold_k, air, full = 303.15, (303.15, 0.0105, P0), held
        held, out, _, w, _, latent, _ = wet_coil.coil_step(held, hold, area, *air, 0.1, 200.0, 250.0, t_cold_k, 6.0)
        taken += 6.0 * 0.1 * (air[1] - w)
        drained += out
        wettest = max(wettest, w - air[1])
        assert 0.0 <= held <= hold * (1.0 + 1e-12)
        assert (latent >= 0.0) == (step < 600)
        assert area * held + drained == pytest.approx(taken, rel=1e-12, abs=1e-14)
    assert full == pytest.approx(hold, rel=1e-12)
    assert drained > 0.5
    assert held < 0.01 * hold
    assert wettest > 0.002  # air from a warm wet coil is damper than what enters: fog ahead


def test_a_long_step_dries_no_more_than_there_is() -> None:
    for dt_s in (1.0, 1e3, 1e6):
        held, out, _, w, _, _, _ = wet_coil.coil_step(
            0.03, 0.06, 3.5, 303.15, 0.008, P0, 0.1, 200.0, 250.0, 305.15, dt_s
        )
        assert 0.0 <= held < 0.03
        assert out == 0.0
        assert 3.5 * (0.03 - held) == pytest.approx(dt_s * 0.1 * (w - 0.008), rel=1e-9)


def test_water_of_a_partly_wet_coil_stays_on_its_wet_part() -> None:
    """A dry coil that becomes partly wet fills the hold of the wet part alone and dries nothing at its face."""
    at = (303.15, 0.0105, P0, 0.1, 200.0, 250.0, 281.15)
    held = 0.0
    for _ in range(2000):
        held, _, _, w, _, _, _ = wet_coil.coil_step(held, 0.06, 3.5, *at, 6.0)
    assert held == pytest.approx((1.0 - wet_coil.dry_share(*at)) * 0.06, rel=1e-9)
    assert w == pytest.approx(wet_coil.coil(*at)[1], rel=1e-12)


def test_an_idle_coil_cools_the_air_to_its_wet_bulb_at_most() -> None:
    """No cold side, all wet: the air gives its heat to the water and ends near the wet bulb."""
    t_in_k, w_in = 308.15, 0.0141
    _, _, t_k, w, sensible, latent, t_s_k = wet_coil.coil_step(
        0.06, 0.06, 3.5, t_in_k, w_in, P0, 0.05, 400.0, 0.0, 278.15, 1e-3
    )
    wet = moist_air.wet_bulb_k(t_in_k, w_in, P0)
    assert moist_air.enthalpy(t_k, w) == pytest.approx(moist_air.enthalpy(t_in_k, w_in), abs=1.0)
    assert sensible + latent == pytest.approx(0.05 * (w - w_in) * 4186.0 * (t_s_k - ZERO), abs=0.1)
    assert wet - 0.3 < t_k < wet + 0.5
    assert w > w_in
    assert t_s_k == pytest.approx(t_k, abs=0.5)


# ------------------------------------------------------------------------------------------ random points


def vapour_over_liquid(t_k: float, w: float, p_pa: float) -> float:
    """Return the entropy of w vapour over that of as much liquid at 0 degC [J/kgK]: in equilibrium at saturation."""
    if w <= 0.0:
        return 0.0
    over = math.log(moist_air.vapour_pressure(w, p_pa) / moist_air.saturation_pressure(ZERO + 0.01))
    return w * (2501.0e3 / ZERO + 1860.0 * math.log(t_k / ZERO) - R_VAPOUR * over)


def entropy(t_k: float, w: float, p_pa: float) -> float:
    """Return the entropy of moist air over dry air and liquid water at 0 degC [J/kgK]."""
    dry = 1006.0 * math.log(t_k / ZERO) - 287.042 * math.log((p_pa - moist_air.vapour_pressure(w, p_pa)) / P0)
    return dry + vapour_over_liquid(t_k, w, p_pa)


def random_points(count: int) -> list[dict[str, float]]:
    """Return points over the range of a car's evaporator, from idle and warm to cold."""
    rng = np.random.default_rng(20)
    points = []
    for _ in range(count):
        p_pa = float(rng.uniform(65e3, 105e3))
        t_in_k = float(rng.uniform(276.15, 323.15))
        w_in = float(rng.uniform(0.02, 1.0)) * moist_air.saturation_humidity_ratio(t_in_k, p_pa)
        points.append(
            {
                "held": 0.06 * float(rng.choice([0.0, rng.uniform(), 1.0])),
                "hold": 0.06,
                "area": float(rng.uniform(1.0, 6.0)),
                "t_in": t_in_k,
                "w_in": min(w_in, 0.05),
                "p": p_pa,
                "mdot": float(10.0 ** rng.uniform(-3.0, -0.5)),
                "ha": float(10.0 ** rng.uniform(0.5, 3.0)),
                "hc": float(10.0 ** rng.uniform(0.5, 4.0)),
                "t_cold": float(rng.uniform(273.2, 328.15)),
                "dt": float(rng.choice([0.1, 5.0, 300.0])),
            }
        )
    return points


def test_first_and_second_law_at_5000_points() -> None:
    for one in random_points(5000):
        held, drained, t_k, w, sensible, latent, t_s_k = wet_coil.coil_step(*one.values())
        mdot, dt_s, area = one["mdot"], one["dt"], one["area"]
        taken = mdot * (one["w_in"] - w)
        scale = max(area * one["held"], dt_s * mdot * max(one["w_in"], w))
        assert area * (held - one["held"]) + drained == pytest.approx(dt_s * taken, abs=1e-12 * scale), one
        assert 0.0 <= held <= one["hold"] * (1.0 + 1e-12), one
        assert drained >= 0.0, one
        low, high = sorted((one["t_in"], one["t_cold"]))
        assert t_k <= high + 1e-6, one
        assert t_k >= min(low, moist_air.wet_bulb_k(one["t_in"], one["w_in"], one["p"])) - 0.3, one
        assert moist_air.relative_humidity(t_k, w, one["p"]) <= 1.0 + 1e-9, one
        gained = mdot * (moist_air.enthalpy(one["t_in"], one["w_in"]) - moist_air.enthalpy(t_k, w))
        water = taken * 4186.0 * (t_s_k - ZERO)
        assert sensible + latent + water == pytest.approx(gained, rel=1e-12, abs=1e-12 * mdot * 1e5), one
        made = mdot * (entropy(t_k, w, one["p"]) - entropy(one["t_in"], one["w_in"], one["p"]))
        made += (sensible + latent) / one["t_cold"]
        made += taken * 4186.0 * math.log(t_s_k / ZERO)
        size = mdot * 1006.0 * (abs(one["t_in"] - one["t_cold"]) + 1.0) / one["t_cold"]
        assert made >= -1e-9 * size, (made, size, one)


def test_first_law_of_a_coil_without_old_water_is_exact() -> None:
    """Heat to the coil and enthalpy of the condensate at its surface are what the air loses, to rounding."""
    for one in random_points(500):
        at = (one["t_in"], one["w_in"], one["p"], one["mdot"], one["ha"], one["hc"], one["t_cold"])
        t_k, w, sensible, latent, water, t_s_k = wet_coil.coil(*at)
        lost = one["mdot"] * (moist_air.enthalpy(one["t_in"], one["w_in"]) - moist_air.enthalpy(t_k, w))
        got = sensible + latent + water * 4186.0 * (t_s_k - ZERO)
        assert got == pytest.approx(lost, rel=1e-12, abs=1e-9)
        assert latent >= -1e-9 * abs(lost) - 1e-9
        assert water >= 0.0
        assert (sensible >= -1e-9) == (one["t_in"] >= one["t_cold"])


@pytest.mark.parametrize("t_wall_c", [2.0, 7.0, 12.0])
@pytest.mark.parametrize("ntu", [0.3, 1.0, 3.0])
def test_a_wall_of_one_temperature_is_the_law_of_the_run(t_wall_c: float, ntu: float) -> None:
    """With nothing between surface and cold side the wet surface takes m (1 - exp(-NTU)) (w - w_sat(T_wall)): the
    conductance of the run's coil over 1006 (the humid heat capacity differs by 1860 w, 2 %)."""
    t_k, w, p_pa, mdot = 301.15, 0.0125, 101325.0, 0.1
    t_wall_k = 273.15 + t_wall_c
    ha = ntu * mdot * (1006.0 + 1860.0 * w)
    _, out, surface = wet_coil.wet_surface(t_k, w, p_pa, mdot, ha, 1e9, t_wall_k)
    taken = -np.expm1(-ntu) * (w - moist_air.saturation_humidity_ratio(t_wall_k, p_pa))
    assert surface == pytest.approx(t_wall_k, abs=1e-3)
    assert w - out == pytest.approx(taken, rel=1e-4)
