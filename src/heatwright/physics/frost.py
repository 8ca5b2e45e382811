"""Frost on an exchanger colder than the frost point: growth, what it costs, and how it is melted off.

A coat of one mass and one density lies evenly on the air side.  Its surface is as warm as the heat through it allows,
and takes vapour by the same film as heat (Lewis).  Ice, water held and metal are counted at the wall's temperature,
with the enthalpies of `moist_air` and `fog`, so that what the air loses is what wall and coat gain.
"""

from __future__ import annotations

import math

from heatwright.physics.exchange import wall_to_stream
from heatwright.physics.fog import heat_released_j_per_kg, mass_transfer_kg_per_m2s
from heatwright.physics.jit import kernel_jit
from heatwright.physics.moist_air import (
    CP_AIR_J_PER_KG_K,
    CP_ICE_J_PER_KG_K,
    CP_ICE_RISE_J_PER_KG_K2,
    CP_VAPOUR_J_PER_KG_K,
    CP_WATER_J_PER_KG_K,
    H_FUSION_J_PER_KG,
    ZERO_C_K,
    dew_point_k,
    saturation_humidity_ratio,
)

LIGHTEST_KG_PER_M3 = 10.0
HEAVIEST_KG_PER_M3 = 650.0
SOLID_KG_PER_M3 = 916.7
_COIL_SHARE_POWER = 3.0
_HALF_RISE = 0.5 * CP_ICE_RISE_J_PER_KG_K2  # enthalpy is the integral of the heat capacity


@kernel_jit
def frost_density(t_surface_k: float) -> float:
    """Return the density of a coat of frost by the temperature of its surface [kg/m3], 650 exp(0.277 t), t in degC.

    Parameters: `t_surface_k` : surface [K], 258-273; the density is held to 10..650.
    Source: Hayashi, Aoki, Adachi and Hori, "Study of frost properties correlating with frost formation types",
    J. Heat Transfer, 1977; coefficients: value from memory.

    >>> [round(frost_density(273.15 + t), 1) for t in (-10.0, -5.0, 0.0)]
    [40.7, 162.7, 650.0]
    """
    exponent = 0.277 * (t_surface_k - ZERO_C_K)
    return min(max(HEAVIEST_KG_PER_M3 * math.exp(exponent), LIGHTEST_KG_PER_M3), HEAVIEST_KG_PER_M3)


@kernel_jit
def frost_conductivity(rho: float) -> float:
    """Return the thermal conductivity of frost of a density [W/mK], 0.02422 + 7.214e-4 rho + 1.1797e-6 rho^2.

    Parameters: `rho` : density [kg/m3], 10-573; used as it is up to solid ice (1.68, three quarters of the truth).
    Source: Yonko and Sepsy, "An investigation of the thermal conductivity of frost while forming on a flat horizontal
    plate", ASHRAE Transactions, 1967; coefficients: value from memory.

    >>> round(frost_conductivity(200.0), 4)
    0.2157
    """
    return 0.02422 + rho * (7.214e-4 + rho * 1.1797e-6)


@kernel_jit
def thickness_m(coat: float, rho: float) -> float:
    """Return the thickness of a coat of frost [m], m / rho; 0 with no coat.

    Parameters: `coat` : m [kg/m2], >= 0; `rho` : its density [kg/m3].
    Source: definition.

    >>> round(thickness_m(0.08, 160.0) * 1e3, 3)
    0.5
    """
    return coat / rho if coat > 0.0 else 0.0


@kernel_jit
def resistance_m2k_per_w(coat: float, rho: float) -> float:
    """Return the thermal resistance that a coat of frost adds [m2K/W], m / (rho k).

    Parameters: `coat` : m [kg/m2], >= 0; `rho` : its density [kg/m3].
    Source: a plane layer; k by `frost_conductivity`.

    >>> round(resistance_m2k_per_w(0.08, 160.0), 5)
    0.00294
    """
    return thickness_m(coat, rho) / frost_conductivity(rho)


@kernel_jit
def free_share(coat: float, rho: float, gap_m: float) -> float:
    """Return the share of the passage between fins that frost leaves free [-], 1 - 2 m / (rho s), not below 0.

    Parameters: `coat` : m [kg/m2], >= 0; `rho` : its density [kg/m3]; `gap_m` : s, clear distance of two fins, usual
    0.0013 [m].
    Source: geometry, both faces coated alike; gap: value from memory.

    >>> round(free_share(0.08, 160.0, 0.0013), 3)
    0.231
    """
    return max(1.0 - 2.0 * thickness_m(coat, rho) / gap_m, 0.0)


@kernel_jit
def air_flow_factor(free: float, share: float) -> float:
    """Return the air flow with frost over that without, at one fan or ram pressure [-], 1/sqrt(1 - s + s/free^3).

    Friction 4 f L/D_h rho v^2/2 with one f: v rises and D_h falls with the free share.
    Parameters: `free` : free share by `free_share` [-], 0-1, at 0 no air passes; `share` : s, part of the clean path's
    pressure loss that the frosted exchanger makes [-], 0-1.
    Source: Darcy's law at constant friction factor, common practice.

    >>> [round(air_flow_factor(free, 0.5), 3) for free in (1.0, 0.5, 0.0)]
    [1.0, 0.471, 0.0]
    """
    if free <= 0.0:
        return 0.0
    return 1.0 / math.sqrt(1.0 - share + share / free**_COIL_SHARE_POWER)


@kernel_jit
def _uptake(
    t_s_k: float,
    coat: float,
    area_m2: float,
    t_in_k: float,
    w_in: float,
    p_pa: float,
    mdot: float,
    film: float,
    dt_s: float,
) -> tuple[float, float, float]:
    """Return (vapour that settles [kg/s], sensible heat [W], leaving air [K]) with a surface of a temperature."""
    reach = wall_to_stream(area_m2 * mass_transfer_kg_per_m2s(film), mdot)
    settled = reach * (w_in - saturation_humidity_ratio(t_s_k, p_pa))
    if dt_s > 0.0:
        settled = max(settled, -coat * area_m2 / dt_s)
    elif coat <= 0.0:
        settled = max(settled, 0.0)
    left = w_in - settled / mdot
    touched = -math.expm1(-area_m2 * film / (mdot * (CP_AIR_J_PER_KG_K + CP_VAPOUR_J_PER_KG_K * w_in)))
    t_out_k = t_in_k - touched * (t_in_k - t_s_k)
    return settled, mdot * (CP_AIR_J_PER_KG_K + CP_VAPOUR_J_PER_KG_K * left) * (t_in_k - t_out_k), t_out_k


@kernel_jit
def _excess_w(
    t_s_k: float,
    coat: float,
    rho: float,
    area_m2: float,
    t_in_k: float,
    w_in: float,
    p_pa: float,
    mdot: float,
    film: float,
    t_wall_k: float,
    latent: float,
    dt_s: float,
) -> float:
    """Return what conduction to the wall carries over what the air gives, times the coat [W kg/m2]."""
    settled, sensible, _ = _uptake(t_s_k, coat, area_m2, t_in_k, w_in, p_pa, mdot, film, dt_s)
    after = max(coat + settled * dt_s / area_m2, 0.0)
    packed = max(rho, frost_density(t_s_k)) if coat > 0.0 else frost_density(t_s_k)
    through = area_m2 * packed * frost_conductivity(packed) * (t_s_k - t_wall_k)
    return through - after * (sensible + settled * latent)


@kernel_jit
def surface_k(
    coat: float,
    rho: float,
    area_m2: float,
    t_in_k: float,
    w_in: float,
    p_pa: float,
    mdot: float,
    film: float,
    t_wall_k: float,
    dt_s: float,
) -> float:
    """Return the temperature of the surface of frost at the end of a step [K], not above 273.15.

    (T_s - T_w) A rho k / m = sensible + latent heat from the air at T_s, with the coat m and the density rho at the
    end of the step; regula falsi between the coldest and the warmest of wall, air and frost point.
    Parameters: see `frost_step`: `coat`, `rho`, `area_m2`, `t_in_k`, `w_in`, `p_pa`, `mdot`, `film`, `t_wall_k`,
    `dt_s` [kg/m2, kg/m3, m2, K, kg/kg, Pa, kg/s, W/m2K, K, s].
    Over 0 degC the surface melts and soaks the coat; it then stays there.
    Source: heat balance of the surface, backward Euler.

    >>> round(surface_k(0.05, 100.0, 6.0, 273.15, 0.0034, 101325.0, 0.6, 60.0, 265.15, 1.0) - 273.15, 2)
    -6.33
    """
    latent = heat_released_j_per_kg(t_in_k, t_wall_k)
    low = min(t_wall_k, t_in_k, dew_point_k(w_in, p_pa))
    high = max(t_wall_k, t_in_k)
    f_low = _excess_w(low, coat, rho, area_m2, t_in_k, w_in, p_pa, mdot, film, t_wall_k, latent, dt_s)
    f_high = _excess_w(high, coat, rho, area_m2, t_in_k, w_in, p_pa, mdot, film, t_wall_k, latent, dt_s)
    if f_low >= 0.0:
        return min(low, ZERO_C_K)
    if f_high <= 0.0:
        return min(high, ZERO_C_K)
    side = 0
    middle = low
    for _ in range(80):
        before = middle
        middle = (low * f_high - high * f_low) / (f_high - f_low)
        f = _excess_w(middle, coat, rho, area_m2, t_in_k, w_in, p_pa, mdot, film, t_wall_k, latent, dt_s)
        if f > 0.0:
            high, f_high = middle, f
            f_low *= 0.5 if side == 1 else 1.0
            side = 1
        else:
            low, f_low = middle, f
            f_high *= 0.5 if side == -1 else 1.0
            side = -1
        if abs(middle - before) < 1.0e-11 or f == 0.0:
            break
    return min(middle, ZERO_C_K)


@kernel_jit
def frost_step(
    coat: float,
    rho: float,
    area_m2: float,
    t_in_k: float,
    w_in: float,
    p_pa: float,
    mdot: float,
    film: float,
    t_wall_k: float,
    dt_s: float,
) -> tuple[float, float, float, float, float, float, float]:
    """Return (frost after a step [kg/m2], its density [kg/m3], leaving air [K], its humidity ratio [kg/kg], sensible
    heat to the wall [W], latent heat [W], surface [K]).

    Vapour m [1 - exp(-g A/m)] (w - w_sat,ice(T_s)), g by `fog.mass_transfer_kg_per_m2s`: never more than the air
    brings; below 0 the frost sublimes, never more than there is.  Heat m c [1 - exp(-h A/(m c))] (T_in - T_s).  The
    coat packs to `frost_density` of its surface and does not loosen again.  A dm = m (w_in - w_out) dt; the heats
    are what the air's enthalpy loses less that of the new ice, at the wall's temperature.
    Parameters: `coat` : [kg/m2], >= 0; `rho` [kg/m3], any with no coat; `area_m2` : A, air side [m2]; `t_in_k`,
    `w_in` : entering air, not over saturation [K], [kg/kg]; `p_pa` [Pa]; `mdot` : m, dry air [kg/s], no flow moves
    nothing; `film` : h, convective, with the efficiency of the fins [W/m2K], usual 60; `t_wall_k` : wall, 243-273.15
    [K]: warmer ones move no vapour, see `defrost_step`; `dt_s` [s].  Leaving air a little over saturation keeps its
    mist.
    Source: Chilton and Colburn's analogy by `fog`; `surface_k`.

    >>> out = frost_step(0.0, 0.0, 6.0, 273.15, 0.0034, 101325.0, 0.6, 60.0, 265.15, 600.0)
    >>> round(out[0] * 1e3, 1), round(out[1]), round(out[4]), round(out[5]), round(out[6] - 273.15, 2)
    (35.8, 105, 1786, 1022, -6.58)
    """
    if mdot <= 0.0:
        return coat, rho, t_in_k, w_in, 0.0, 0.0, t_wall_k
    if t_wall_k >= ZERO_C_K:
        t_s_k = ZERO_C_K if coat > 0.0 else t_wall_k
        _, sensible, t_out_k = _uptake(t_s_k, coat, area_m2, t_in_k, 0.0, p_pa, mdot, film, 0.0)
        return coat, rho, t_out_k, w_in, sensible, 0.0, t_s_k
    t_s_k = surface_k(coat, rho, area_m2, t_in_k, w_in, p_pa, mdot, film, t_wall_k, dt_s)
    settled, sensible, t_out_k = _uptake(t_s_k, coat, area_m2, t_in_k, w_in, p_pa, mdot, film, dt_s)
    after = max(coat + settled * dt_s / area_m2, 0.0)
    packed = frost_density(t_s_k)
    if coat > 0.0:
        packed = max(rho, packed)
    if after <= 0.0:
        packed = 0.0
    latent = settled * heat_released_j_per_kg(t_in_k, t_wall_k)
    return after, packed, t_out_k, w_in - settled / mdot, sensible, latent, t_s_k


@kernel_jit
def stored_j_per_m2(ice: float, water: float, t_k: float, metal: float) -> float:
    """Return the enthalpy of metal, ice and held water over metal and water at 0 degC [J/m2].

    Equation: C t + m_i [(2097 + 3.7 t) t - 333400] + 4186 m_w t, t = T - 273.15.
    Parameters: `ice`, `water` : m_i, m_w [kg/m2], >= 0; `t_k` : their one temperature [K], 233-353; `metal` : C, heat
    capacity of the exchanger over its air-side area, usual 1300 [J/m2K].
    Source: constants of `moist_air`; 8 kJ/K on 6 m2, value from memory.

    >>> round(stored_j_per_m2(0.08, 0.0, 265.15, 1300.0))
    -38395
    """
    t = t_k - ZERO_C_K
    solid = (CP_ICE_J_PER_KG_K + _HALF_RISE * t) * t - H_FUSION_J_PER_KG
    return metal * t + ice * solid + water * CP_WATER_J_PER_KG_K * t


@kernel_jit
def melt_energy_j_per_m2(ice: float, t_k: float, metal: float) -> float:
    """Return the least heat that turns a coat into water at 0 degC [J/m2]: warmed and melted, nothing lost.

    Parameters: `ice` : coat [kg/m2], >= 0; `t_k` : its temperature, at most 273.15 [K]; `metal` : heat capacity of the
    exchanger, 0 to leave it out [J/m2K].
    Source: `stored_j_per_m2`.

    >>> round(melt_energy_j_per_m2(0.08, 265.15, 1300.0))
    38395
    """
    return -stored_j_per_m2(ice, 0.0, t_k, metal)


@kernel_jit
def defrost_step(
    ice: float, water: float, rho: float, t_k: float, heat: float, metal: float, hold: float, dt_s: float
) -> tuple[float, float, float, float, float]:
    """Return (ice after a step [kg/m2], water held [kg/m2], density of the ice [kg/m3], temperature [K], water drained
    [kg/m2]) of an exchanger that is heated, or cooled again.

    H' = H + q dt with H by `stored_j_per_m2`: below 0 degC all is ice, at 0 degC ice and water share the heat, above
    all is water.  Water over the hold drains and takes 4186 t with it: H'' = H' - 4186 t dm.  Refreezing gives back
    what melting took, and its ice is solid.
    Parameters: `ice`, `water` : now [kg/m2], >= 0; `rho` : density of the ice [kg/m3], any with none; `t_k` : now [K],
    233-353; `heat` : q into metal and coat, less what they lose [W/m2], either sign; `metal` : see `stored_j_per_m2`,
    > 0; `hold` : water that stays on the surface [kg/m2], usual 0.012, 15 % of 0.08; `dt_s` [s], >= 0.
    Frost that slides off early and vapour that leaves meanwhile are not seen.
    Source: enthalpy method, one temperature; hold: value from memory.

    >>> ice, water, rho, t_k, drained = defrost_step(0.08, 0.0, 160.0, 265.15, 500.0, 1300.0, 0.012, 60.0)
    >>> round(ice, 4), round(water, 4), rho, t_k, round(drained, 4)
    (0.0252, 0.012, 160.0, 273.15, 0.0428)
    """
    after = stored_j_per_m2(ice, water, t_k, metal) + heat * dt_s
    total = ice + water
    frozen = -total * H_FUSION_J_PER_KG
    t = 0.0
    if after < frozen:
        b = metal + CP_ICE_J_PER_KG_K * total
        left = after - frozen
        t = 2.0 * left / (b + math.sqrt(max(b * b + 4.0 * _HALF_RISE * total * left, 0.0)))
        solid = total
    elif after <= 0.0:
        solid = min(-after / H_FUSION_J_PER_KG, total)
    else:
        t = after / (metal + CP_WATER_J_PER_KG_K * total)
        solid = 0.0
    drained = max(total - solid - hold, 0.0)
    packed = rho if solid > 0.0 else 0.0
    if solid > ice:
        packed = solid / (thickness_m(ice, rho) + (solid - ice) / SOLID_KG_PER_M3)
    return solid, total - solid - drained, packed, ZERO_C_K + t, drained
