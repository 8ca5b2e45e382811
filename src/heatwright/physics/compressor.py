"""The electric compressor: volumetric and isentropic efficiency, drive loss, each with its analytic slope.

Forms and default coefficients are tuned to land in published bands of automotive scroll compressors; they are
no regression of one machine.  Speeds are of the shaft in 1/s.
"""

from __future__ import annotations

import math

from heatwright.physics.jit import kernel_jit


@kernel_jit
def volumetric_efficiency(
    ratio: float,
    speed_hz: float,
    base: float = 0.98,
    clearance: float = 0.015,
    leak_hz: float = 0.5,
    throttling_hz: float = 1000.0,
    floor: float = 0.25,
) -> tuple[float, float]:
    """Return the volumetric efficiency and its slope in the pressure ratio.

    Equation
        eta_v = base - (r - 1) (clearance + leak_hz / n) - (n / throttling_hz)^2, not below floor
    Parameters
        ratio : float   discharge over suction pressure [-], 1 to 14
        speed_hz : float   shaft speed [1/s], 13 to 142
        base : float   value without lift or speed [-]
        clearance : float   re-expansion loss per unit of ratio [-]
        leak_hz : float   leakage loss per unit of ratio times speed [1/s]
        throttling_hz : float   speed scale of the suction port's loss [1/s]
        floor : float   least value [-]
    Returns
        eta_v [-], d eta_v / d ratio [-]
    Outside the range
        the floor holds, with slope 0; the efficiency then says little
    Source
        common practice: linear in the ratio, leakage over speed; coefficients are values from memory
    Example
        >>> [round(x, 4) for x in volumetric_efficiency(8.0, 4000 / 60)]
        [0.8181, -0.0225]
    """
    per_ratio = clearance + leak_hz / speed_hz
    relative = speed_hz / throttling_hz
    value = base - (ratio - 1.0) * per_ratio - relative * relative
    if value > floor:
        return value, -per_ratio
    return floor, 0.0


@kernel_jit
def isentropic_efficiency(
    ratio: float,
    speed_hz: float,
    best: float = 0.74,
    ratio_best: float = 3.0,
    fall_above: float = 0.12,
    fall_below: float = 0.22,
    fall_speed: float = 0.09,
    speed_best_hz: float = 4000.0 / 60.0,
    speed_span_hz: float = 4000.0 / 60.0,
    floor: float = 0.35,
) -> tuple[float, float]:
    """Return the isentropic efficiency (shaft work) and its slope in the pressure ratio.

    Equation
        eta = best - fall ln(r / ratio_best)^2 - fall_speed ((n - speed_best) / speed_span)^2
        fall = fall_above for r > ratio_best, else fall_below; eta not below floor
    Parameters
        ratio : float   discharge over suction pressure [-], 1.3 to 14
        speed_hz : float   shaft speed [1/s], 13 to 142
        best : float   greatest value [-]
        ratio_best : float   ratio at which it is reached [-]
        fall_above, fall_below : float   fall per squared log of ratio on either side [-]
        fall_speed : float   fall at one span away from the best speed [-]
        speed_best_hz, speed_span_hz : float   best speed and span [1/s]
        floor : float   least value [-]
    Returns
        eta [-], d eta / d ratio [-]
    Outside the range
        the floor holds, with slope 0
    Source
        common practice: a built-in ratio with losses of under- and over-compression; coefficients are
        values from memory
    Example
        >>> [round(x, 4) for x in isentropic_efficiency(8.0, 4000 / 60)]
        [0.6246, -0.0294]
    """
    away = math.log(ratio / ratio_best)
    fall = fall_above if away > 0.0 else fall_below
    relative = (speed_hz - speed_best_hz) / speed_span_hz
    value = best - fall * away * away - fall_speed * relative * relative
    if value > floor:
        return value, -2.0 * fall * away / ratio
    return floor, 0.0


@kernel_jit
def gas_power(
    p_shaft_w: float, best: float = 0.93, droop: float = 0.05, scale_w: float = 500.0, gas_share: float = 0.7
) -> tuple[float, float, float]:
    """Return the power that reaches the refrigerant, its slope in the shaft power, and the electric power.

    Equation
        eta = best - droop exp(-P / scale)   efficiency of motor with inverter
        P_el = P / eta;  P_gas = P + gas_share (P_el - P);  the rest of the loss leaves through the shell
    Parameters
        p_shaft_w : float   shaft power P [W], 0 to 7000
        best : float   efficiency at high power [-], 0.85 to 0.94
        droop : float   loss of efficiency at no power [-]
        scale_w : float   power over which the droop fades [W]
        gas_share : float   share of the drive's loss taken up by the gas [-], 0.5 to 0.9
    Returns
        P_gas [W], dP_gas / dP [-], P_el [W]
    Outside the range
        above: eta tends to best; a negative P has the efficiency of P = 0
    Source
        common practice (suction-cooled motor); coefficients are values from memory
    Example
        >>> [round(x, 2) for x in gas_power(1000.0)]
        [1058.2, 1.05, 1083.15]
    """
    fade = droop * math.exp(-max(p_shaft_w, 0.0) / scale_w)
    per_eta = 1.0 / (best - fade)
    p_electric = p_shaft_w * per_eta
    dp_electric = per_eta
    if p_shaft_w > 0.0:
        dp_electric -= p_electric * fade / scale_w * per_eta
    return (
        p_shaft_w + gas_share * (p_electric - p_shaft_w),
        1.0 + gas_share * (dp_electric - 1.0),
        p_electric,
    )
