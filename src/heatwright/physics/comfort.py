"""How warm a seated person feels: predicted mean vote, operative temperature, heaters that warm the body itself.

The vote and its share of dissatisfied are those of ISO 7730: an average person, long at rest in an even room.
A cabin is uneven and changing, so read them as a scale near neutral and ask `pmv_in_range` first.  Heaters of
seat, wheel and panel are put on one scale with the cabin air by the equivalent temperature: the even room in
which the body loses the same dry heat.
"""

from __future__ import annotations

import math

from heatwright.physics.jit import kernel_jit
from heatwright.physics.moist_air import CP_AIR_J_PER_KG_K

MET_W_PER_M2, CLO_M2K_PER_W = 58.15, 0.155
BODY_M2 = 1.8
_HALVINGS = 48
_RADIATION = 3.96e-8  # emissivity, radiating share of the body and Stefan's constant [W/m2K4]

# Usual power [W] (common practice) and, judged and not measured: share of it that reaches the body, and share of
# the clothing's resistance outside the place where it arrives (1 at the skin, 0 on the cloth).
SEAT_W, SEAT_SHARE, SEAT_DEPTH = 70.0, 0.5, 0.8
WHEEL_W, WHEEL_SHARE, WHEEL_DEPTH = 50.0, 0.25, 1.0
PANEL_W, PANEL_SHARE, PANEL_DEPTH = 200.0, 0.35, 0.0


@kernel_jit
def clothing_area_factor(clothing: float) -> float:
    """Return the clothed over the bare surface of the body [-].

    f = 1 + 1.29 I up to 0.078 m2K/W, 1.05 + 0.645 I above.
    Parameters: `clothing` : I, resistance of the clothing [m2K/W], 0-0.31 (0.155 is 1 clo); carried on outside.
    Source: ISO 7730:2005, equation 4.

    >>> round(clothing_area_factor(0.155), 3)
    1.15
    """
    if clothing <= 0.078:
        return 1.0 + 1.29 * clothing
    return 1.05 + 0.645 * clothing


@kernel_jit
def body_convection_w_per_m2k(difference: float, speed: float) -> float:
    """Return the convective film of the clothed body [W/m2K], max(2.38 |dT|^0.25, 12.1 sqrt(v)).

    Parameters: `difference` : clothing less air [K]; `speed` : air relative to the body [m/s], 0-1; below 0 taken
    as 0.
    Source: ISO 7730:2005, equation 3.

    >>> round(body_convection_w_per_m2k(5.0, 0.1), 2)
    3.83
    """
    return max(2.38 * abs(difference) ** 0.25, 12.1 * math.sqrt(max(speed, 0.0)))


@kernel_jit
def clothing_surface_k(t_air_k: float, t_radiant_k: float, speed: float, heat: float, clothing: float) -> float:
    """Return the surface temperature of the clothing [K], by 48 halvings between the coldest and warmest it can be.

    T_cl = T_s - I [3.96e-8 f (T_cl^4 - T_r^4) + f h_c (T_cl - T_a)], T_s = 35.7 degC - 0.028 (M - W).
    The right side falls and the left rises with T_cl, so the one root is always enclosed by T_a, T_r and T_s.
    Parameters: `t_air_k`, `t_radiant_k` : air and mean radiant temperature [K]; `speed` [m/s]; `heat` : M - W,
    metabolic rate less work [W/m2]; `clothing` : I [m2K/W].  Limits: see `pmv_in_range`; carried on outside.
    Source: ISO 7730:2005, equation 2.

    >>> round(clothing_surface_k(295.15, 295.15, 0.1, 69.78, 0.0775) - 273.15, 2)
    28.95
    """
    skin = 308.85 - 0.028 * heat
    factor = clothing_area_factor(clothing)
    low = min(t_air_k, t_radiant_k, skin)
    high = max(t_air_k, t_radiant_k, skin)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        lost = factor * body_convection_w_per_m2k(middle - t_air_k, speed) * (middle - t_air_k)
        lost += _RADIATION * factor * (middle**4 - t_radiant_k**4)
        if middle > skin - clothing * lost:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


@kernel_jit
def pmv(
    t_air_k: float,
    t_radiant_k: float,
    speed: float,
    p_vapour_pa: float,
    metabolic: float,
    work: float,
    clothing: float,
) -> float:
    """Return the predicted mean vote [-]: -3 cold, 0 neutral, +3 hot.

    PMV = (0.303 exp(-0.036 M) + 0.028) (M - W - E_skin - E_sweat - E_breath - C_breath - R - C).
    Parameters: `t_air_k`, `t_radiant_k` : air and mean radiant temperature [K]; `speed` : air relative to the body
    [m/s]; `p_vapour_pa` : vapour pressure [Pa]; `metabolic` : M [W/m2], 70 for a seated driver; `work` : W, usual 0
    [W/m2]; `clothing` : I [m2K/W].  Sweat is not below 0.  Outside the limits of `pmv_in_range` the
    law is carried on without a check.
    Source: ISO 7730:2005, equation 1; no negative sweat as in its annex D.

    >>> round(pmv(295.15, 295.15, 0.1, 0.6 * 2643.0, 1.2 * 58.15, 0.0, 0.0775), 2)
    -0.75
    """
    heat = metabolic - work
    t_cloth = clothing_surface_k(t_air_k, t_radiant_k, speed, heat, clothing)
    factor = clothing_area_factor(clothing)
    skin = 3.05e-3 * (5733.0 - 6.99 * heat - p_vapour_pa)
    sweat = 0.42 * max(heat - MET_W_PER_M2, 0.0)
    breath = 1.7e-5 * metabolic * (5867.0 - p_vapour_pa) + 0.0014 * metabolic * (307.15 - t_air_k)
    radiation = _RADIATION * factor * (t_cloth**4 - t_radiant_k**4)
    convection = factor * body_convection_w_per_m2k(t_cloth - t_air_k, speed) * (t_cloth - t_air_k)
    scale = 0.303 * math.exp(-0.036 * metabolic) + 0.028
    return scale * (heat - skin - sweat - breath - radiation - convection)


@kernel_jit
def ppd(vote: float) -> float:
    """Return the predicted share of dissatisfied [-], 1 - 0.95 exp(-0.03353 v^4 - 0.2179 v^2).

    Parameters: `vote` : predicted mean vote v [-], -2 to 2; carried on outside, towards 1.
    Source: ISO 7730:2005, equation 5.

    >>> round(ppd(0.0), 4), round(ppd(-1.0), 4)
    (0.05, 0.2612)
    """
    square = vote * vote
    return 1.0 - 0.95 * math.exp(-0.03353 * square * square - 0.2179 * square)


@kernel_jit
def pmv_in_range(
    t_air_k: float,
    t_radiant_k: float,
    speed: float,
    p_vapour_pa: float,
    metabolic: float,
    work: float,
    clothing: float,
) -> bool:
    """Return whether `pmv` of these inputs is inside the limits of the standard.

    Limits: `t_air_k` 10-30 degC in [K]; `t_radiant_k` 10-40 degC in [K]; `speed` 0-1 [m/s]; `p_vapour_pa` 0-2700 [Pa];
    `metabolic` 46-232 [W/m2]; `clothing` 0-0.310 [m2K/W]; the vote itself, with `work` [W/m2], -2 to 2 [-].
    Source: ISO 7730:2005, clause 4; values from memory.

    >>> [pmv_in_range(t_air_k, 295.15, 0.1, 1300.0, 70.0, 0.0, 0.155) for t_air_k in (295.15, 263.15)]
    [True, False]
    """
    air = 283.15 <= t_air_k <= 303.15 and 283.15 <= t_radiant_k <= 313.15
    moving = 0.0 <= speed <= 1.0 and 0.0 <= p_vapour_pa <= 2700.0
    person = 46.0 <= metabolic <= 232.0 and 0.0 <= clothing <= 0.310
    if not (air and moving and person):
        return False
    return abs(pmv(t_air_k, t_radiant_k, speed, p_vapour_pa, metabolic, work, clothing)) <= 2.0


@kernel_jit
def operative_k(t_air_k: float, t_radiant_k: float, speed: float) -> float:
    """Return the operative temperature [K], (T_a sqrt(10 v) + T_r) / (1 + sqrt(10 v)).

    Parameters: `t_air_k`, `t_radiant_k` : air and mean radiant temperature [K]; `speed` [m/s], 0.1-1; held at 0.1
    from below, where both weigh the same.
    Source: ISO 7726, annex on operative temperature; value from memory.

    >>> operative_k(295.0, 305.0, 0.1), round(operative_k(295.0, 305.0, 0.4), 2)
    (300.0, 298.33)
    """
    weight = math.sqrt(10.0 * max(speed, 0.1))
    return (t_air_k * weight + t_radiant_k) / (1.0 + weight)


@kernel_jit
def heater_resistance_k_per_w(depth: float, clothing: float, film: float, area_m2: float) -> float:
    """Return the equivalent temperature gained by heat that arrives at the body [K/W], (y I + 1/(f h)) / A.

    Heat at the skin has all of the clothing and the film between it and the room, heat on the cloth the film alone:
    the more lies outside it, the more room temperature it replaces.
    Parameters: `depth` : y, share of the clothing outside the place of arrival [-], 0-1; `clothing` : I [m2K/W];
    `film` : h, convection and radiation of the clothed body, usual 8 [W/m2K]; `area_m2` : A, usual 1.8 [m2].
    Source: closed form of the dry heat balance that defines equivalent temperature (ISO 14505-2).

    >>> [round(heater_resistance_k_per_w(depth, 0.155, 8.0, 1.8), 3) for depth in (1.0, 0.0)]
    [0.146, 0.06]
    """
    return (depth * clothing + 1.0 / (clothing_area_factor(clothing) * film)) / area_m2


@kernel_jit
def equivalent_change_k(
    power_w: float, share: float, depth: float, clothing: float, film: float, area_m2: float
) -> float:
    """Return by how much a heater at the body raises the whole-body equivalent temperature at rest [K], e P R.

    Parameters: `power_w` : P [W]; `share` : e, part that reaches the body [-], 0-1; `depth`, `clothing` [m2K/W],
    `film` [W/m2K], `area_m2` [m2] : of R, see `heater_resistance_k_per_w`.  Local limits (a seat too hot to bear)
    are not seen.
    Source: `heater_resistance_k_per_w`; usual shares and depths of this module are engineering judgement.

    >>> round(equivalent_change_k(SEAT_W, SEAT_SHARE, SEAT_DEPTH, 0.155, 8.0, 1.8), 1)
    4.5
    """
    return share * power_w * heater_resistance_k_per_w(depth, clothing, film, area_m2)


@kernel_jit
def heater_w_per_k(share: float, depth: float, clothing: float, film: float, area_m2: float) -> float:
    """Return the heater power that buys one kelvin of equivalent temperature [W/K], 1 / (e R).

    Parameters: `share` : e [-], above 0 (0 gives infinity); `depth` [-], `clothing` [m2K/W], `film` [W/m2K],
    `area_m2` [m2] : see `heater_resistance_k_per_w`.  To be set beside `air_w_per_k`.
    Source: inverse of `equivalent_change_k`.

    >>> round(heater_w_per_k(SEAT_SHARE, SEAT_DEPTH, 0.155, 8.0, 1.8), 1)
    15.5
    >>> round(heater_w_per_k(PANEL_SHARE, PANEL_DEPTH, 0.155, 8.0, 1.8), 1)
    47.3
    """
    return 1.0 / (share * heater_resistance_k_per_w(depth, clothing, film, area_m2))


@kernel_jit
def air_w_per_k(shell_w_per_k: float, fresh_kg_per_s: float, performance: float) -> float:
    """Return the electric power that holds all of the cabin one kelvin warmer [W/K], (G + 1006 m) / COP.

    Parameters: `shell_w_per_k` : G, walls and glass, usual 67 at 50 km/h [W/K]; `fresh_kg_per_s` : m, outside air
    let in [kg/s]; `performance` : COP, heat over electric power [-], above 0; 1 for an electric heater.
    Source: heat balance at rest; conductance from memory.

    >>> round(air_w_per_k(67.0, 150 / 3600, 1.0)), round(air_w_per_k(67.0, 150 / 3600, 2.2))
    (109, 50)
    """
    return (shell_w_per_k + CP_AIR_J_PER_KG_K * fresh_kg_per_s) / performance


@kernel_jit
def warm_up_share(time_s: float, constant_s: float) -> float:
    """Return the part of the final gain that is felt a time after switching on [-], 1 - exp(-t / tau).

    Parameters: `time_s` : t [s], 0 from below; `constant_s` : tau, usual 180 for a seat with clothing, 60 a wheel, 120
    a panel [s], above 0.
    Source: one heat capacity, closed form; usual times are engineering judgement.

    >>> round(warm_up_share(180.0, 180.0), 3)
    0.632
    """
    return -math.expm1(-max(time_s, 0.0) / constant_s)
