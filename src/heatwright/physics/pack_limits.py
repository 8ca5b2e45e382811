"""What a pack may give, how long braking may put in more than charging may, where charging is best, heat it holds.

What may be put in for long stands in `pack.charge_rate_per_h`; the functions here add time and the other direction.
"""

from __future__ import annotations

import numpy as np

from heatwright.physics.interpolate import fade
from heatwright.physics.jit import kernel_jit
from heatwright.physics.pack import charge_window_k

PULSE_FACTOR = 1.5
"""What a short pulse may put in over what charging may [-]; value from memory."""
PULSE_S = 10.0
PULSE_REST = 3.0
"""Seconds of rest that give back one second of pulse; value from memory."""


@kernel_jit
def discharge_limit_w(
    t_hot_k: float, u_v: float, r_ohm: float, u_min_v: float, p_rated_w: float, t_begin_k: float, t_stop_k: float
) -> float:
    """Return the most power that may be taken out [W, >= 0].

    min( P_rated fade(T_begin..T_stop),  U_min (U - U_min) / R ), the second at the lowest voltage allowed; where
    U_min < U/2 the greatest power U^2 / 4R.  Heat cuts the first, cold (through R) the second.
    Parameters: `t_hot_k` : hottest cell [K]; `u_v` : open-circuit voltage [V]; `r_ohm` : at the mean temperature
    [ohm], > 0; `u_min_v` : [V]; `p_rated_w` [W]; `t_begin_k`, `t_stop_k` : hold-back begins, nothing left [K],
    usual 323.15 and 333.15.
    Source: hot derate from memory; the rest closed form.

    >>> round(discharge_limit_w(328.15, 350.0, 0.05, 270.0, 180e3, 323.15, 333.15) / 1e3, 1)
    90.0
    """
    low = max(u_min_v, 0.5 * u_v)
    return min(p_rated_w * fade(t_hot_k, t_begin_k, t_stop_k), max(low * (u_v - low) / r_ohm, 0.0))


@kernel_jit
def pulse_factor(pulse_s: float) -> float:
    """Return what braking may put in over what charging may [-], 1 + 0.5 fade(8 s..10 s).

    Parameters: `pulse_s` : how long it has been more than charging may, see `pulse_clock_s` [s], 0-10.
    Source: value from memory (half as much again for 10 s).

    >>> pulse_factor(0.0), pulse_factor(9.0), pulse_factor(10.0)
    (1.5, 1.25, 1.0)
    """
    return 1.0 + (PULSE_FACTOR - 1.0) * fade(pulse_s, 0.8 * PULSE_S, PULSE_S)


@kernel_jit
def pulse_clock_s(pulse_s: float, over: bool, dt: float) -> float:
    """Return the pulse clock after a step [s]: it runs up while `over`, down at a third of that speed otherwise.

    Parameters: `pulse_s` : before [s]; `over` : whether more goes in than charging may; `dt` [s], > 0.
    Held between 0 and 10 s.
    Source: value from memory (a pulse of 10 s asks for 30 s of rest).

    >>> pulse_clock_s(4.0, True, 1.0), pulse_clock_s(4.0, False, 3.0)
    (5.0, 3.0)
    """
    step = dt if over else -dt / PULSE_REST
    return min(max(pulse_s + step, 0.0), PULSE_S)


@kernel_jit
def best_charge_temperature_k(soc: float, cell: np.ndarray) -> float:
    """Return the temperature to prepare a pack to [K]: the least at which its charge takes the full rate.

    The lower end of `pack.charge_window_k`; it falls with charge, so preparing aims lower for a fuller pack.
    Parameters: `soc` : charge [-], 0-1; `cell` : chemistry.
    Source: as `pack.charge_rate_per_h`.

    >>> from heatwright.physics.pack import NMC
    >>> [round(best_charge_temperature_k(s, NMC) - 273.15, 1) for s in (0.1, 0.5, 0.8)]
    [35.0, 28.6, 19.0]
    """
    return charge_window_k(soc, cell)[0]


def stored_heat_kwh(capacity_j_per_k: float, t_k: float, t_reference_k: float = 293.15) -> float:
    """Return the heat a pack holds above a reference temperature [kWh], C (T - T_ref) / 3.6e6.

    Parameters: `capacity_j_per_k` : [J/K]; `t_k` : mean of cells and plate [K]; `t_reference_k` [K].
    Below the reference it is negative: heat owed.
    Source: closed form.

    >>> round(stored_heat_kwh(440e3, 313.15), 3)
    2.444
    """
    return capacity_j_per_k * (t_k - t_reference_k) / 3.6e6
