"""A cooling coil on moist air: dry, partly wet or wet, and the water that stays on it.

The cold side has one temperature (an evaporating refrigerant, a wall).  Air meets the coil in order: where the
surface is warmer than the dew point it is dry and follows effectiveness-NTU; from there on it is wet and heat
and vapour together follow the difference of enthalpy between the air and saturated air at the surface (Lewis
number 1).  Water left on the dry part from wetter times dries into the air.  Films carry the efficiency of their
fins.  Condensate counts as liquid also below 0 degC: where frost grows see `frost`.
"""

from __future__ import annotations

import math

from heatwright.physics.exchange import wall_to_stream
from heatwright.physics.jit import kernel_jit
from heatwright.physics.moist_air import (
    CP_AIR_J_PER_KG_K,
    CP_VAPOUR_J_PER_KG_K,
    CP_WATER_J_PER_KG_K,
    H_VAPOUR_J_PER_KG,
    MASS_RATIO,
    TRIPLE_K,
    ZERO_C_K,
    dew_point_k,
    enthalpy,
    saturation_humidity_ratio,
    temperature_from_enthalpy,
)

HOLD_KG_PER_M2 = 0.06  # water that stays on finned surface, 200 g on 3.5 m2
R_VAPOUR_J_PER_KG_K = 461.52
_WARMEST_START_K = 345.0
_LEAST_PATH = 1.0e-9  # least conductance to the cold side over that of the air


@kernel_jit
def saturated_enthalpy(t_k: float, p_pa: float) -> float:
    """Return the enthalpy of saturated air over dry air and liquid water at 0 degC [J/kg dry air].

    Equation: h(T, w_sat(T)), `moist_air.enthalpy` of `moist_air.saturation_humidity_ratio`.
    Parameters: `t_k` : temperature [K], 213-345; `p_pa` : total pressure [Pa].
    Source: ASHRAE Handbook - Fundamentals, chapter 1.

    >>> round(saturated_enthalpy(283.15, 101325.0))
    29285
    """
    return enthalpy(t_k, saturation_humidity_ratio(t_k, p_pa))


@kernel_jit
def saturated_enthalpy_slope(t_k: float, p_pa: float) -> float:
    """Return how fast the enthalpy of saturated air rises with its temperature [J/kgK].

    Equation: 1006 + 1860 w + w' (2501000 + 1860 t), w' = w (1 + w/0.621945) L/(461.52 T^2), L = 2501000 - 2361 t over
    water and 2834000 over ice: Clausius and Clapeyron, within 0.5 % of the slope of `saturated_enthalpy`.
    Parameters: `t_k` : temperature of the wall [K], 233-333; steps down by 9 % at 273.16; `p_pa` [Pa].
    Source: derivative of `saturated_enthalpy`; ideal gas.

    >>> round(saturated_enthalpy_slope(283.15, 101325.0))
    2323
    """
    t = t_k - ZERO_C_K
    w = saturation_humidity_ratio(t_k, p_pa)
    latent = 2.834e6 if t_k < TRIPLE_K else H_VAPOUR_J_PER_KG - 2361.0 * t
    rise = w * (1.0 + w / MASS_RATIO) * latent / (R_VAPOUR_J_PER_KG_K * t_k * t_k)
    return CP_AIR_J_PER_KG_K + CP_VAPOUR_J_PER_KG_K * w + rise * (H_VAPOUR_J_PER_KG + CP_VAPOUR_J_PER_KG_K * t)


@kernel_jit
def _saturated_near(h_j_per_kg: float, p_pa: float, start_k: float) -> float:
    """Return the temperature of saturated air of an enthalpy by Newton, best from a start above it [K]."""
    t_k = start_k
    for _ in range(25):
        move = (saturated_enthalpy(t_k, p_pa) - h_j_per_kg) / saturated_enthalpy_slope(t_k, p_pa)
        t_k -= move
        if abs(move) < 1.0e-10:
            break
    return t_k


@kernel_jit
def saturated_temperature_k(h_j_per_kg: float, p_pa: float) -> float:
    """Return the temperature of saturated air of an enthalpy [K], the inverse of `saturated_enthalpy` to 1e-6 K.

    Parameters: `h_j_per_kg` : enthalpy [J/kg dry air], -50e3 to 1e6; `p_pa` : total pressure [Pa].
    Source: inverse of `saturated_enthalpy`, Newton from above.

    >>> round(saturated_temperature_k(29285.0, 101325.0) - 273.15, 2)
    10.0
    """
    start_k = min(ZERO_C_K + h_j_per_kg / CP_AIR_J_PER_KG_K, _WARMEST_START_K)
    return _saturated_near(h_j_per_kg, p_pa, start_k)


@kernel_jit
def bypass_factor(ha_w_per_k: float, mdot: float, w: float) -> float:
    """Return the share of the air that passes a coil as if untouched [-], exp[-hA / (m (1006 + 1860 w))].

    Parameters: `ha_w_per_k` : film times area on the air side [W/K], >= 0; `mdot` : m, dry air [kg/s], 0 or less
    gives 0; `w` : humidity ratio [kg/kg].
    Source: McQuiston, Parker and Spitler, "Heating, Ventilating, and Air Conditioning"; common practice.

    >>> round(bypass_factor(180.0, 0.111, 0.011), 3)
    0.206
    """
    if mdot <= 0.0:
        return 0.0
    return math.exp(-ha_w_per_k / (mdot * (CP_AIR_J_PER_KG_K + CP_VAPOUR_J_PER_KG_K * w)))


@kernel_jit
def apparatus_dew_point_k(t_in_k: float, w_in: float, t_out_k: float, w_out: float, p_pa: float) -> float:
    """Return the temperature at which the line from entering to leaving air meets saturation [K]; NaN if it never does.

    Equation: [w_in - w_sat(T)] (h_in - h_out) = (w_in - w_out) [h_in - h_sat(T)], the warmest T not above T_out.
    Parameters: `t_in_k`, `t_out_k` : entering and leaving air, cooled [K]; `w_in`, `w_out` : humidity ratios, the
    second not above the first [kg/kg]; `p_pa` : total pressure [Pa].  With no water taken it is the dew point.
    Source: common practice; ASHRAE Handbook - HVAC Systems and Equipment, chapter on cooling coils.

    >>> round(apparatus_dew_point_k(300.15, 0.011145, 284.95, 0.007553, 101325.0) - 273.15, 1)
    8.0
    """
    h_in = enthalpy(t_in_k, w_in)
    drop = h_in - enthalpy(t_out_k, w_out)
    dried = w_in - w_out
    t_k = t_out_k
    for _ in range(60):
        h = saturated_enthalpy(t_k, p_pa)
        slope = saturated_enthalpy_slope(t_k, p_pa)
        w = saturation_humidity_ratio(t_k, p_pa)
        vapour = H_VAPOUR_J_PER_KG + CP_VAPOUR_J_PER_KG_K * (t_k - ZERO_C_K)
        w_slope = (slope - CP_AIR_J_PER_KG_K - CP_VAPOUR_J_PER_KG_K * w) / vapour
        fall = dried * slope - w_slope * drop
        if not fall < 0.0:
            return math.nan
        move = ((w_in - w) * drop - dried * (h_in - h)) / fall
        t_k -= move
        if abs(move) < 1.0e-9:
            return t_k
    return math.nan


@kernel_jit
def dry_share(
    t_in_k: float, w_in: float, p_pa: float, mdot: float, ha_w_per_k: float, hc_w_per_k: float, t_cold_k: float
) -> float:
    """Return the share of a coil that stays dry, from its face on [-], 0 wet, between partly wet, 1 dry.

    Equation: x = ln[(T_in - T_c) / ((T_dew - T_c)(1 + hc/ha))] / NTU, NTU = UA/(m c), 1/UA = 1/ha + 1/hc: there the dry
    surface T_c + (T - T_c) ha/(ha + hc) is at the dew point.
    Parameters: `t_in_k`, `w_in` : entering air [K], [kg/kg]; `p_pa` [Pa]; `mdot` : m, dry air [kg/s], > 0;
    `ha_w_per_k` : film times area, air side [W/K]; `hc_w_per_k` : from surface to cold side [W/K], endless at best;
    `t_cold_k` : T_c [K].
    Source: closed form; method of Braun, Klein and Mitchell, ASHRAE Transactions, 1989.

    >>> [round(dry_share(303.15, 0.0105, 101325.0, 0.1, 200.0, 250.0, 273.15 + t), 3) for t in (1.0, 8.0, 15.0)]
    [0.0, 0.337, 1.0]
    """
    below = dew_point_k(w_in, p_pa) - t_cold_k
    ua = ha_w_per_k * hc_w_per_k / (ha_w_per_k + hc_w_per_k) if ha_w_per_k > 0.0 else 0.0
    if below <= 0.0 or ua <= 0.0:
        return 1.0
    ntu = ua / (mdot * (CP_AIR_J_PER_KG_K + CP_VAPOUR_J_PER_KG_K * w_in))
    reach = math.log(max(t_in_k - t_cold_k, 1.0e-12) / (below * (1.0 + hc_w_per_k / ha_w_per_k)))
    return min(max(reach / ntu, 0.0), 1.0)


@kernel_jit
def _meeting(h_in: float, t_in_k: float, p_pa: float, k: float, t_cold_k: float) -> float:
    """Return q = h_in - h_sat(T_c + k q), the potential where the air meets the wet surface [J/kg]."""
    gap = h_in - saturated_enthalpy(t_cold_k, p_pa)
    q = 0.0 if gap <= 0.0 else min(gap, (max(t_in_k - t_cold_k, 0.0) + 0.5) / k)
    for _ in range(25):
        t_k = t_cold_k + k * q
        move = (saturated_enthalpy(t_k, p_pa) + q - h_in) / (1.0 + k * saturated_enthalpy_slope(t_k, p_pa))
        q -= move
        if abs(move) < 1.0e-9 and k * abs(move) < 1.0e-12:
            break
    return q


@kernel_jit
def _fallen(q: float, ntu: float, h_in: float, p_pa: float, k: float, t_cold_k: float) -> float:
    """Return by how much the enthalpy falls along a wet surface [J/kg].

    With z = T_s - T_c = k q: dNTU = -(1 + k h') dz/z, h the parabola through the cold end, the meeting point and the
    middle: NTU = A v + B (1 - exp(-v)), v = ln(z_in/z_out).
    """
    cold = saturated_enthalpy(t_cold_k, p_pa)
    span = (h_in - q) - cold
    bend = 4.0 * ((h_in - q) - 2.0 * saturated_enthalpy(t_cold_k + 0.5 * k * q, p_pa) + cold)
    whole = 1.0 + span / q
    b = min(max(bend / q, -1.8 * whole), 1.8 * whole)
    a = whole - 0.5 * b
    v = ntu / (a + b)
    for _ in range(12):
        left = math.exp(-v)
        move = (a * v + b * (1.0 - left) - ntu) / (a + b * left)
        v -= move
        if abs(move) < 1.0e-13 * (1.0 + v):
            break
    share = -math.expm1(-v)
    return q * share * (a + 0.5 * b * (2.0 - share))


@kernel_jit
def wet_surface(
    t_in_k: float, w_in: float, p_pa: float, mdot: float, ha_w_per_k: float, hc_w_per_k: float, t_cold_k: float
) -> tuple[float, float, float]:
    """Return (enthalpy of the air behind a wet surface [J/kg], its humidity ratio [kg/kg], mean surface [K]).

    m dh = -(ha/c) [h - h_sat(T_s)] dA, hc (T_s - T_c) = (ha/c) [h - h_sat(T_s)] (the liquid's enthalpy, 2 % of the
    latent heat at 10 degC, left out of the conduction as usual), h_sat a parabola between the cold end
    and the entry; the mean surface is the saturated air towards which the bypass factor carries the enthalpy, and
    the humidity follows it.  Air that would be over saturation leaves saturated.
    Parameters: `t_in_k`, `w_in` : entering air, not over saturation [K], [kg/kg]; `p_pa` [Pa]; `mdot` : dry air [kg/s],
    > 0; `ha_w_per_k`, `hc_w_per_k` : from air to surface and from there to the cold side [W/K], >= 0; `t_cold_k` : T_c,
    273-333 [K], warmer or colder than the air: the surface takes water from it or dries into it.
    Source: enthalpy potential of Merkel; Threlkeld, "Thermal Environmental Engineering"; Lewis number 1.

    >>> h, w, t_k = wet_surface(303.15, 0.0135, 101325.0, 0.1, 200.0, 250.0, 278.15)
    >>> round(h), round(w, 5), round(t_k - 273.15, 2)
    (41630, 0.01016, 13.43)
    """
    h_in = enthalpy(t_in_k, w_in)
    c = CP_AIR_J_PER_KG_K + CP_VAPOUR_J_PER_KG_K * w_in
    ntu = ha_w_per_k / (mdot * c)
    if ntu < 1.0e-12:
        return h_in, w_in, t_in_k
    k = ha_w_per_k / (c * max(hc_w_per_k, _LEAST_PATH * ha_w_per_k))
    q = _meeting(h_in, t_in_k, p_pa, k, t_cold_k)
    fall = 0.0
    if abs(q) > 1.0e-12:
        fall = _fallen(q, ntu, h_in, p_pa, k, t_cold_k)
    touched = -math.expm1(-ntu)
    t_s_k = _saturated_near(h_in - fall / touched, p_pa, max(t_cold_k, t_cold_k + k * q) + 0.1)
    w = w_in + (saturation_humidity_ratio(t_s_k, p_pa) - w_in) * touched
    h = h_in - fall
    t_k = temperature_from_enthalpy(h, w)
    if w > saturation_humidity_ratio(t_k, p_pa):
        t_k = _saturated_near(h, p_pa, max(t_in_k, t_s_k) + 0.1)
        w = saturation_humidity_ratio(t_k, p_pa)
    return h, w, t_s_k


@kernel_jit
def coil_step(
    held: float,
    hold: float,
    area_m2: float,
    t_in_k: float,
    w_in: float,
    p_pa: float,
    mdot: float,
    ha_w_per_k: float,
    hc_w_per_k: float,
    t_cold_k: float,
    dt_s: float,
) -> tuple[float, float, float, float, float, float, float]:
    """Return (water held after a step [kg/m2], drained [kg], leaving air [K], its humidity ratio [kg/kg], sensible heat
    to the coil [W], latent heat [W], surface at the end of the coil [K]).

    Front share x by `dry_share`: dry, but for water left there, which dries (implicit, never more than is there); then
    `wet_surface`.  The wet part holds up to (1 - x) of the hold, the rest drains; what it held before fills it first.
    Heats add up to m (h_in - h_out) less the enthalpy 4186 t of the water taken, at the surface returned; sensible
    is m (1006 + 1860 w_out)(T_in - T_out).  Water: A (held' - held) + drained = dt m (w_in - w_out).
    Parameters: `held` [kg/m2], 0 to `hold`, usual 0.06; `area_m2` : A, air side [m2]; `t_in_k`, `w_in` : entering air,
    not over saturation [K], [kg/kg]; `p_pa` [Pa]; `mdot` : m, dry air [kg/s], no flow moves nothing; `ha_w_per_k`,
    `hc_w_per_k`, `t_cold_k` : see `dry_share`; `dt_s` [s], 0 for the rates alone.
    Source: `dry_share`, `wet_surface`; hold: value from memory.

    >>> out = coil_step(0.0, 0.06, 3.5, 303.15, 0.0135, 101325.0, 0.1, 200.0, 250.0, 278.15, 10.0)
    >>> round(out[0] * 1e3, 3), out[1], round(out[2] - 273.15, 2), round(out[4]), round(out[5])
    (0.954, 0.0, 15.82, 1453, 835)
    """
    if mdot <= 0.0:
        return held, 0.0, t_in_k, w_in, 0.0, 0.0, t_cold_k
    x = dry_share(t_in_k, w_in, p_pa, mdot, ha_w_per_k, hc_w_per_k, t_cold_k)
    room = area_m2 * hold
    front = max(area_m2 * held - (1.0 - x) * room, 0.0)
    back = area_m2 * held - front
    h, w, dried = _front(front, x, x * room, t_in_k, w_in, p_pa, mdot, ha_w_per_k, hc_w_per_k, t_cold_k, dt_s)
    t_k = temperature_from_enthalpy(h, w)
    taken = 0.0
    ratio = ha_w_per_k / (ha_w_per_k + hc_w_per_k) if ha_w_per_k > 0.0 else 0.0
    t_s_k = t_cold_k + ratio * (t_k - t_cold_k)
    if x < 1.0:
        h, after, t_s_k = wet_surface(t_k, w, p_pa, mdot, (1.0 - x) * ha_w_per_k, (1.0 - x) * hc_w_per_k, t_cold_k)
        taken = mdot * max(w - after, 0.0)
        w -= taken / mdot
        t_k = temperature_from_enthalpy(h, w)
    front = max(front - dt_s * dried, 0.0)
    back += dt_s * taken
    drained = max(front - x * room, 0.0) + max(back - (1.0 - x) * room, 0.0)
    water = CP_WATER_J_PER_KG_K * (t_s_k - ZERO_C_K) * mdot * (w_in - w)
    heat = mdot * (enthalpy(t_in_k, w_in) - h) - water
    sensible = mdot * (CP_AIR_J_PER_KG_K + CP_VAPOUR_J_PER_KG_K * w) * (t_in_k - t_k)
    return (front + back - drained) / area_m2, drained, t_k, w, sensible, heat - sensible, t_s_k


@kernel_jit
def _front(
    water: float,
    x: float,
    room: float,
    t_in_k: float,
    w_in: float,
    p_pa: float,
    mdot: float,
    ha_w_per_k: float,
    hc_w_per_k: float,
    t_cold_k: float,
    dt_s: float,
) -> tuple[float, float, float]:
    """Return (enthalpy [J/kg], humidity [kg/kg], water dried off [kg/s]) behind the dry front share.

    Two strips side by side: one still wet, in proportion to its water over its room, one dry; both mix.
    """
    c = mdot * (CP_AIR_J_PER_KG_K + CP_VAPOUR_J_PER_KG_K * w_in)
    ua = ha_w_per_k * hc_w_per_k / (ha_w_per_k + hc_w_per_k) if ha_w_per_k > 0.0 else 0.0
    h_dry = enthalpy(t_in_k, w_in) - wall_to_stream(x * ua, c) * (t_in_k - t_cold_k) / mdot
    if water <= 0.0 or x <= 0.0:
        return h_dry, w_in, 0.0
    h, w, _ = wet_surface(t_in_k, w_in, p_pa, mdot, x * ha_w_per_k, x * hc_w_per_k, t_cold_k)
    rate = mdot * max(w - w_in, 0.0)
    strip = min(water / max(room + dt_s * rate, water), 1.0)
    return h_dry + strip * (h - h_dry), w_in + strip * rate / mdot, strip * rate


@kernel_jit
def coil(
    t_in_k: float, w_in: float, p_pa: float, mdot: float, ha_w_per_k: float, hc_w_per_k: float, t_cold_k: float
) -> tuple[float, float, float, float, float, float]:
    """Return (leaving air [K], its humidity ratio [kg/kg], sensible heat to the coil [W], latent heat [W], water taken
    [kg/s], surface at the end of the coil [K]) of a coil without water of before.

    Equation: `coil_step` with nothing held and no time.
    Parameters: see `coil_step`: `t_in_k`, `w_in`, `p_pa`, `mdot`, `ha_w_per_k`, `hc_w_per_k`, `t_cold_k`.
    Source: `coil_step`.

    >>> out = coil(303.15, 0.0135, 101325.0, 0.1, 200.0, 250.0, 278.15)
    >>> round(out[0] - 273.15, 2), round(out[1], 5), round(out[2]), round(out[3]), round(out[4] * 3.6e6)
    (15.82, 0.01016, 1453, 835, 1202)
    """
    _, _, t_k, w, sensible, latent, t_s_k = coil_step(
        0.0, 0.0, 1.0, t_in_k, w_in, p_pa, mdot, ha_w_per_k, hc_w_per_k, t_cold_k, 0.0
    )
    return t_k, w, sensible, latent, max(mdot, 0.0) * (w_in - w), t_s_k
