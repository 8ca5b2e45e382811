"""A film of water or frost on the inner face of a pane: growth, drying, heat and what it hides.

One point of glass and the air that washes it.  Vapour passes to the glass by the same film coefficient as heat
(Lewis), driven by the humidity ratio over the saturated one at the glass, over ice below 273.16 K.  Energy is
counted as in `moist_air.enthalpy`, so that what the air loses is what glass and film gain.  Fogged glass while
driving is dangerous: these numbers are estimates for a point, not a release.
"""

from __future__ import annotations

import math

from heatwright.physics.jit import kernel_jit
from heatwright.physics.moist_air import (
    CP_AIR_J_PER_KG_K,
    CP_VAPOUR_J_PER_KG_K,
    CP_WATER_J_PER_KG_K,
    H_FUSION_J_PER_KG,
    H_VAPOUR_J_PER_KG,
    TRIPLE_K,
    ZERO_C_K,
    ice_heat_capacity,
    saturation_humidity_ratio,
)

LEWIS = 0.865  # thermal diffusivity of air over the diffusivity of vapour in it [-]
HIDING_KG_PER_M2 = 3.0e-3  # film that leaves a clear view of 1/e


@kernel_jit
def mass_transfer_kg_per_m2s(film: float) -> float:
    """Return the mass transfer coefficient for humidity ratios [kg/m2s], h / (1006 Le^(2/3)), Le = 0.865.

    Parameters: `film` : convective film coefficient h [W/m2K], >= 0; the radiating part of a whole one moves no
    vapour, so take it off (about 4).
    Source: analogy of Chilton and Colburn; Lewis number: value from memory.

    >>> round(mass_transfer_kg_per_m2s(9.0) * 1e3, 2)
    9.85
    """
    return film / (CP_AIR_J_PER_KG_K * LEWIS ** (2.0 / 3.0))


@kernel_jit
def film_enthalpy(t_k: float) -> float:
    """Return the enthalpy of the film over liquid water at 0 degC [J/kg]: ice below 273.16 K, water above.

    Equation: 4186 t; below, -333400 + (2097 + 3.7 t) t, t = T - 273.15.
    Parameters: `t_k` : temperature [K], 233-373; carried on outside.  A film may stay liquid below 0 degC in truth.
    Source: integral of `moist_air.ice_heat_capacity`; constants of `moist_air`.

    >>> round(film_enthalpy(283.15)), round(film_enthalpy(263.15))
    (41860, -354000)
    """
    t = t_k - ZERO_C_K
    if t_k < TRIPLE_K:
        return -H_FUSION_J_PER_KG + ice_heat_capacity(ZERO_C_K + 0.5 * t) * t
    return CP_WATER_J_PER_KG_K * t


@kernel_jit
def heat_released_j_per_kg(t_air_k: float, t_glass_k: float) -> float:
    """Return the heat the glass gets for each kilogram that settles on it, and gives for each that dries [J/kg].

    Equation: 2501000 + 1860 t_air - `film_enthalpy`(T_glass).
    Parameters: `t_air_k` : the air the vapour leaves or joins; `t_glass_k` : inner face [K], 233-373.
    Source: enthalpy balance in the terms of `moist_air.enthalpy`.

    >>> round(heat_released_j_per_kg(295.15, 278.15))
    2520990
    """
    return H_VAPOUR_J_PER_KG + CP_VAPOUR_J_PER_KG_K * (t_air_k - ZERO_C_K) - film_enthalpy(t_glass_k)


@kernel_jit
def settling_kg_per_m2s(w: float, t_glass_k: float, p_pa: float, film: float) -> float:
    """Return the water settling on wet glass [kg/m2s], below 0 drying: g [w - w_sat(T_glass)].

    Parameters: `w` : humidity ratio of the air there [kg/kg]; `t_glass_k` : inner face [K]; `p_pa` : pressure
    [Pa]; `film` : convective film coefficient [W/m2K].  Dry glass does not dry further: see `fog_step`.
    Source: `mass_transfer_kg_per_m2s`; weak vapour (w below about 0.05).

    >>> round(settling_kg_per_m2s(0.007, 273.16, 101325.0, 9.0) * 3.6e6, 1)
    114.3
    """
    return mass_transfer_kg_per_m2s(film) * (w - saturation_humidity_ratio(t_glass_k, p_pa))


@kernel_jit
def fog_step(
    coat: float,
    w: float,
    t_air_k: float,
    t_glass_k: float,
    p_pa: float,
    film: float,
    area_m2: float,
    air_kg: float,
    dt_s: float,
) -> tuple[float, float, float]:
    """Return (film after a step [kg/m2], humidity ratio of the air after it [kg/kg], heat to the glass [W]).

    m (w1 - w) = -A g dt (w1 - w_sat), never more than the film holds: implicit in the air's humidity, so that a
    long step ends at saturation and does not swing.  The glass temperature is that of the step's begin.
    Parameters: `coat` : film now [kg/m2], >= 0; `w` : humidity ratio now [kg/kg]; `t_air_k`, `t_glass_k` : air and
    inner face [K]; `p_pa` [Pa]; `film` : convective film coefficient [W/m2K]; `area_m2` : A [m2]; `air_kg` : dry air
    that shares its vapour with the pane, m [kg], > 0; `dt_s` : dt [s], >= 0.  A film that would run off
    (over about 0.1 kg/m2) stays.  When the glass itself changes temperature the film's own heat is
    the difference of `film_enthalpy`.
    Source: mass and enthalpy balance, backward Euler.

    >>> coat, w, heat = fog_step(0.0, 0.007, 295.15, 273.16, 101325.0, 9.0, 1.15, 3.6, 10.0)
    >>> round(coat * 1e3, 3), round(w, 5), round(heat)
    (0.308, 0.0069, 90)
    """
    reach = area_m2 * mass_transfer_kg_per_m2s(film) * dt_s
    excess = w - saturation_humidity_ratio(t_glass_k, p_pa)
    moved = reach * excess * air_kg / (air_kg + reach)
    held = coat * area_m2
    if moved <= -held:
        moved = -held
        after = 0.0
    else:
        after = coat + moved / area_m2
    heat = moved * heat_released_j_per_kg(t_air_k, t_glass_k) / dt_s if dt_s > 0.0 else 0.0
    return after, w - moved / air_kg, heat


@kernel_jit
def clear_time_s(coat: float, w: float, t_glass_k: float, p_pa: float, film: float) -> float:
    """Return the time in which a film dries in air and on glass that stay as they are [s]; infinite if it does not.

    Parameters: `coat` : film [kg/m2], >= 0; `w` : humidity ratio [kg/kg]; `t_glass_k` : inner face [K]; `p_pa`
    [Pa]; `film` : convective film coefficient [W/m2K].
    Source: closed form, film over `settling_kg_per_m2s`.

    >>> round(clear_time_s(0.01, 0.004, 285.15, 101325.0, 18.0))
    107
    """
    if coat <= 0.0:
        return 0.0
    rate = settling_kg_per_m2s(w, t_glass_k, p_pa, film)
    if rate >= 0.0:
        return math.inf
    return -coat / rate


@kernel_jit
def clear_view(coat: float, hiding: float) -> float:
    """Return the part of the view that a fogged pane leaves [-], exp(-m / m_0): 1 when dry.

    Parameters: `coat` : m, film [kg/m2], >= 0; `hiding` : m_0, usual 3e-3 [kg/m2], > 0.  Droplets of one growth:
    a film that has run together is clearer than this.
    Source: engineering judgement (attenuation by droplets in proportion to their mass); no measurement behind it.

    >>> round(clear_view(0.0, HIDING_KG_PER_M2), 3), round(clear_view(3e-3, HIDING_KG_PER_M2), 3)
    (1.0, 0.368)
    """
    return math.exp(-max(coat, 0.0) / hiding)


@kernel_jit
def demist_met(share_a: float, share_b: float, time_s: float) -> bool:
    """Return whether a screen cleared so far at a time after the start has met the demist limits.

    Limits: 90 % of vision area A and 80 % of area B within 10 minutes.
    Parameters: `share_a`, `share_b` : cleared part of the vision areas [-], 0-1; `time_s` : since the start [s].
    Source: Regulation (EU) 672/2010, annex II.

    >>> demist_met(0.9, 0.8, 600.0), demist_met(0.89, 0.8, 600.0), demist_met(1.0, 1.0, 601.0)
    (True, False, False)
    """
    return share_a >= 0.90 and share_b >= 0.80 and time_s <= 600.0
