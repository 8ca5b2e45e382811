"""Rain on the panes.

It keeps a film of water on the outer face of a pane.  It has nearly the pane's temperature and evaporates, by the
analogy of heat and mass, with the same film coefficient as the heat; a wet pane is therefore cooled towards the
wet-bulb temperature of the air and not towards its dry-bulb temperature, and more strongly.
"""

from __future__ import annotations

from heatwright.physics.jit import kernel_jit
from heatwright.physics.moist_air import (
    CP_AIR_J_PER_KG_K,
    heat_of_vaporisation,
    saturation_humidity_ratio,
    wet_bulb_k,
)

PANE_DRIES_S = 600.0  # a film of 0.05 mm at 0.1 g/s m2 (value from memory)


@kernel_jit
def wet_gain(t_k: float, p_pa: float) -> float:
    """Return how much evaporation adds to the film coefficient of a wet surface [-], L/c_p dw_s/dT.

    Film coefficient of the wet surface against the wet-bulb temperature: h (1 + s), Lewis number 1.
    Parameters: `t_k` : wet-bulb temperature, 253-313 [K]; `p_pa` : pressure [Pa].
    Outside the range the slope of the saturation line there is taken all the same.
    Source: analogy of heat and mass transfer (Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, sec. 6.7),
    linearised about the wet-bulb temperature.

    >>> [round(wet_gain(t + 273.15, 101325.0), 2) for t in (0.0, 8.0, 20.0)]
    [0.73, 1.13, 2.27]
    """
    half = 0.5
    above = saturation_humidity_ratio(t_k + half, p_pa)
    slope = (above - saturation_humidity_ratio(t_k - half, p_pa)) / (2.0 * half)
    return heat_of_vaporisation(t_k) / CP_AIR_J_PER_KG_K * slope


@kernel_jit
def wet_pane(film: float, t_ambient_k: float, w_ambient: float, p_pa: float, wet: float) -> tuple[float, float]:
    """Return (film coefficient [W/m2K], temperature it acts against [K]) of a pane that is wet outside.

    h' = h (1 + f s);  T' = ((1 - f) T_a + f (1 + s) T_wb) / (1 + f s).
    Parameters: `film` : h of the dry pane [W/m2K]; `t_ambient_k` [K]; `w_ambient` : humidity ratio [kg/kg]; `p_pa`
    [Pa]; `wet` : f, share of the face that is wet, 0-1 [-].
    Below 0 degC saturation is that over ice: snow that clings, its melting left out.  The heat that the rain itself
    takes up (2 W/m2K at 2 mm/h) is left out too.
    Source: as `wet_gain`.

    >>> film, t = wet_pane(25.0, 281.15, 0.0060, 101325.0, 1.0)
    >>> round(film, 1), round(t - 273.15, 2)
    (52.0, 7.23)
    """
    if wet <= 0.0:
        return film, t_ambient_k
    t_wet_k = wet_bulb_k(t_ambient_k, w_ambient, p_pa)
    gain = wet_gain(t_wet_k, p_pa)
    whole = 1.0 + wet * gain
    return film * whole, ((1.0 - wet) * t_ambient_k + wet * (1.0 + gain) * t_wet_k) / whole
