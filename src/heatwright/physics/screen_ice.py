"""Ice on the outside of a screen: warming, melting and the time until it is gone.

One point: a pane and the ice on it share one temperature, heat comes from the cabin through the inner film and
half of the glass (and from wires in it) and leaves by the outer film.  Meltwater runs off at 0 degC.  Iced glass
while driving is dangerous: these numbers are estimates for a point, not a release.
"""

from __future__ import annotations

import math

from heatwright.physics.jit import kernel_jit
from heatwright.physics.moist_air import H_FUSION_J_PER_KG, ZERO_C_K

ICE_J_PER_KG_K = 2050.0  # heat capacity between -18 and 0 degC
GLASS_J_PER_M2K = 10.5e3  # 5 mm of glass
LEAST_HEAT, MOST_HEAT = 0.5, 1.5  # heat at the worst and best place of a pane over its mean (engineering judgement)
AREA_A = (0.9, 1.5)  # the same over the vision areas: before the driver, where the outlets point,
AREA_A_PASSENGER = (0.8, 1.4)  # its mirror image,
AREA_B = (0.6, 1.5)  # and the wide one (all engineering judgement)
LOAD_KG_PER_M2 = 0.44  # ice sprayed on for the test of the regulation


@kernel_jit
def stored_j_per_m2(ice: float, t_k: float, glass: float) -> float:
    """Return the enthalpy of pane and ice over glass and water at 0 degC [J/m2], C t + m (c t - L).

    Parameters: `ice` : m [kg/m2], >= 0; `t_k` : their temperature, at most 273.15 where there is ice [K]; `glass` : C,
    heat capacity of the pane, usual 10500 [J/m2K].  c = 2050 J/kgK, right within 3 % from -20 to 0 degC.
    Source: definition; ice by IAPWS-06, glass from memory.

    >>> round(stored_j_per_m2(0.44, 255.15, 10.5e3))
    -351932
    """
    t = t_k - ZERO_C_K
    return glass * t + ice * (ICE_J_PER_KG_K * t - H_FUSION_J_PER_KG)


@kernel_jit
def ice_step(
    ice: float,
    t_k: float,
    t_inside_k: float,
    t_outside_k: float,
    inward: float,
    outward: float,
    heat: float,
    glass: float,
    dt_s: float,
) -> tuple[float, float, float]:
    """Return (ice after a step [kg/m2], temperature of pane and ice [K], mean heat gained by them [W/m2]).

    H1 - H0 = dt [U (T_in - T1) + q - h (T1 - T_out)], H by `stored_j_per_m2`: below 0 degC nothing melts; at 0 degC
    the heat melts ice; what is left after the last of it warms the pane.  Meltwater leaves with no enthalpy.
    Parameters: `ice` : now [kg/m2], >= 0; `t_k` : now [K]; `t_inside_k` : air on the inner face [K]; `t_outside_k` :
    air outside, or `cabin.outer_k` under a clear sky [K]; `inward` : U, inner film and half of the pane in series
    [W/m2K]; `outward` : h, outer film [W/m2K]; `heat` : q, sun or wires [W/m2]; `glass` : see `stored_j_per_m2`
    [J/m2K]; `dt_s` : dt [s], > 0.  No sublimation and no new frost; ice that slides off early is not seen.
    Source: enthalpy method, backward Euler.

    >>> ice, t_k, gained = ice_step(0.44, 273.15, 313.15, 265.15, 18.0, 8.0, 0.0, GLASS_J_PER_M2K, 60.0)
    >>> round(0.44 - ice, 4), t_k, round(gained)
    (0.1181, 273.15, 656)
    """
    before = stored_j_per_m2(ice, t_k, glass)
    leak = inward + outward
    drive = inward * (t_inside_k - ZERO_C_K) + outward * (t_outside_k - ZERO_C_K) + heat
    melted_to = before + dt_s * drive  # enthalpy after the step if it ends at 0 degC
    solid = -ice * H_FUSION_J_PER_KG
    if melted_to < solid or (ice <= 0.0 and melted_to <= 0.0):
        t = (melted_to - solid) / (glass + ice * ICE_J_PER_KG_K + dt_s * leak)
        after = ice
    elif melted_to < 0.0:
        t = 0.0
        after = min(-melted_to / H_FUSION_J_PER_KG, ice)
    else:
        t = melted_to / (glass + dt_s * leak)
        after = 0.0
    return after, ZERO_C_K + t, drive - leak * t


@kernel_jit
def clearing_energy_j_per_m2(ice: float, t_k: float, glass: float) -> float:
    """Return the least heat that frees a pane of ice [J/m2]: warmed to 0 degC and melted, nothing lost.

    Parameters: `ice` : [kg/m2], >= 0; `t_k` : its temperature, at most 273.15 [K]; `glass` : heat capacity of the
    pane, 0 to leave it out [J/m2K].
    Source: `stored_j_per_m2`.

    >>> round(clearing_energy_j_per_m2(0.44, 255.15, 0.0))
    162932
    """
    return -stored_j_per_m2(ice, t_k, glass)


@kernel_jit
def clearing_time_s(
    ice: float,
    t_k: float,
    t_inside_k: float,
    t_outside_k: float,
    inward: float,
    outward: float,
    heat: float,
    glass: float,
) -> float:
    """Return the time until a pane is free of ice if nothing changes around it [s]; infinite if it never is.

    t = tau ln[(T_end - T) / (T_end - 0)] to reach 0 degC, tau = (C + m c) / (U + h), T_end = (U T_in + h T_out + q) /
    (U + h); then m L / (U T_in + h T_out + q), temperatures over 0 degC.
    Parameters: as in `ice_step`: `ice` [kg/m2]; `t_k`, `t_inside_k`, `t_outside_k` [K]; `inward`, `outward`
    [W/m2K]; `heat` [W/m2]; `glass` [J/m2K].
    Source: closed form of the balance of `ice_step`.

    >>> round(clearing_time_s(0.44, 265.15, 313.15, 265.15, 18.0, 8.0, 0.0, GLASS_J_PER_M2K) / 60.0, 1)
    5.7
    """
    if ice <= 0.0:
        return 0.0
    leak = inward + outward
    drive = inward * (t_inside_k - ZERO_C_K) + outward * (t_outside_k - ZERO_C_K) + heat
    if drive <= 0.0:
        return math.inf
    start = min(t_k - ZERO_C_K, 0.0)
    end = drive / leak
    warming = (glass + ice * ICE_J_PER_KG_K) / leak * math.log((end - start) / end)
    return warming + ice * H_FUSION_J_PER_KG / drive


@kernel_jit
def defrost_met(driver: float, passenger: float, wide: float) -> bool:
    """Return whether the cleared parts of a screen meet the defrost limits.

    Limits: 80 % of vision area A after 20 min, 80 % of its mirror image on the passenger's side after 25 min,
    95 % of vision area B after 40 min.
    Parameters: `driver` : cleared part of A at 20 min; `passenger` : of the mirror image at 25 min; `wide` :
    of B at 40 min, all [-], 0-1.
    Source: Regulation (EU) 672/2010, annex II (chamber at -8 or -18 degC).

    >>> defrost_met(0.8, 0.8, 0.95), defrost_met(0.79, 0.9, 1.0)
    (True, False)
    """
    return driver >= 0.80 and passenger >= 0.80 and wide >= 0.95


@kernel_jit
def cleared_share(gone: float, least: float, most: float) -> float:
    """Return the cleared share of a part of the pane once a share of all ice (or film) is gone [-], 0-1.

    Heat spreads over the pane between f = 0.5 and 1.5 of its mean, evenly: at a dose e a place is free where f e >= 1,
    and gone = E[min(f e, 1)].  Up to gone = 2/3 nothing is free; then e = 1/[c + sqrt(c^2 - 0.25)], c = 1.5 - gone.
    Of a part that gets f from `least` to `most`: (most - 1/e)/(most - least), held to 0-1.
    Parameters: `gone` : share of the pane's ice melted or film dried [-], 0-1; `least`, `most` : f over that part [-],
    0.5-1.5, see `AREA_A`, `AREA_A_PASSENGER`, `AREA_B`.  Outside them it is held to what a whole pane gives.
    Source: closed form; the spread is engineering judgement, no measurement behind it.  All heat is taken to reach the
    ice that is left, so the last share comes early.

    >>> round(cleared_share(0.66, 0.9, 1.5), 2), round(cleared_share(0.9, 0.9, 1.5), 2), cleared_share(1.0, 0.6, 1.5)
    (0.0, 0.95, 1.0)
    """
    if gone >= 1.0:
        return 1.0
    c = 0.5 * (LEAST_HEAT + MOST_HEAT) + 0.5 * (MOST_HEAT - LEAST_HEAT) - gone * (MOST_HEAT - LEAST_HEAT)
    if c * MOST_HEAT * 2.0 > LEAST_HEAT * LEAST_HEAT + MOST_HEAT * MOST_HEAT:
        return 0.0
    edge = c + math.sqrt(max(c * c - LEAST_HEAT * LEAST_HEAT, 0.0))
    return min(max((most - edge) / (most - least), 0.0), 1.0)
