"""What a coat of frost does to an exchanger in the wind, by its mass alone: cheap enough for every step of a run.

A coat is told by its mass over `full`, the mass that closes half of the air's way.  The finer layer with a density
and a surface of its own is `frost`; this one is meant for whole trips, where density is the least sure number.
"""

from __future__ import annotations

from heatwright.physics.jit import kernel_jit
from heatwright.physics.moist_air import saturation_humidity_ratio

CLOSED_AT_FULL = 0.5
LEAST_FREE = 0.1
FILM_LOSS_AT_FULL = 0.35
LEAST_FILM = 0.3


@kernel_jit
def passage_free(ice: float, full: float) -> float:
    """Return the share of the air's way that frost leaves free [-], 1 - 0.5 m / m_full.

    With `frost.air_flow_factor` at a share of 0.5 the flow follows 1 - 0.5 m/m_full within 0.03.
    Parameters: `ice` : m, frost [kg], >= 0; `full` : m_full, usual 0.5, range 0.4-0.7 [kg], > 0.
    Outside: held at 0.1, so that some air always passes.
    Source: common practice; values from memory.

    >>> [round(passage_free(m, 0.5), 2) for m in (0.0, 0.25, 0.5, 2.0)]
    [1.0, 0.75, 0.5, 0.1]
    """
    return max(1.0 - CLOSED_AT_FULL * ice / full, LEAST_FREE)


@kernel_jit
def film_factor(ice: float, full: float) -> float:
    """Return the air-side conductance with frost over that without, at one air flow [-], 1 - 0.35 m / m_full.

    Parameters: `ice` : m, frost [kg], >= 0; `full` : m_full [kg], > 0.
    Outside: held at 0.3.
    Source: common practice; values from memory.

    >>> [round(film_factor(m, 0.5), 3) for m in (0.0, 0.25, 0.5, 2.0)]
    [1.0, 0.825, 0.65, 0.3]
    """
    return max(1.0 - FILM_LOSS_AT_FULL * ice / full, LEAST_FILM)


@kernel_jit
def settling_kg_per_s(reach: float, w_in: float, t_surface_k: float, p_pa: float, held: float, dt_s: float) -> float:
    """Return the vapour that settles on a surface [kg/s], r (w - w_sat(T_s)); below 0 it leaves, never more than held.

    Parameters: `reach` : r, air that comes as close as the surface [kg/s], conductance over the heat capacity of air
    (Lewis), at most the flow; `w_in` [kg/kg]; `t_surface_k` : T_s [K], over ice below 273.16 K; `p_pa` [Pa]; `held` :
    what can leave again [kg]; `dt_s` : step [s], > 0.
    Outside: a `held` below 0 counts as 0.
    Source: Chilton and Colburn's analogy at a Lewis number of 1, common practice.

    >>> round(settling_kg_per_s(0.3, 0.0034, 267.15, 101325.0, 0.0, 1.0) * 1e3, 3)
    0.339
    """
    rate = reach * (w_in - saturation_humidity_ratio(t_surface_k, p_pa))
    return max(rate, -max(held, 0.0) / dt_s)
