"""Electric heaters: in the coolant, in the air stream, on a body."""

from __future__ import annotations

from heatwright.physics.interpolate import fade
from heatwright.physics.jit import kernel_jit


@kernel_jit
def coolant_heater_limit_w(p_rated_w: float, t_out_k: float, flow: float, flow_least: float) -> float:
    """Return the electric power a coolant heater may draw [W].

    P_rated fade(T_out; 75..90 degC) min(1, V / V_least); none without flow.
    Parameters: `p_rated_w` : usual 7000 [W]; `t_out_k` : coolant at its outlet [K]; `flow` : [m3/s];
    `flow_least` : flow needed for full power, usual 1e-4 (6 L/min) [m3/s].
    Source: value from memory.

    >>> [round(coolant_heater_limit_w(7e3, 355.65, flow, 1e-4)) for flow in (2e-4, 5e-5, 0.0)]
    [3500, 1750, 0]
    """
    return p_rated_w * fade(t_out_k, 348.15, 363.15) * min(max(flow, 0.0) / flow_least, 1.0)


@kernel_jit
def heater_heat_w(p_electric_w: float, efficiency: float) -> tuple[float, float]:
    """Return (heat to the stream, heat lost to the surroundings) [W], eta P and (1 - eta) P.

    Parameters: `p_electric_w` [W]; `efficiency` : usual 0.97 coolant (0.94-0.99), 0.98 air [-].
    Source: energy balance; efficiencies from memory (air heater: Park & Kim, Energies 10 (2017) 1494).

    >>> [round(x, 6) for x in heater_heat_w(7000.0, 0.97)]
    [6790.0, 210.0]
    """
    return efficiency * p_electric_w, (1.0 - efficiency) * p_electric_w


@kernel_jit
def air_heater_limit_w(
    p_rated_w: float, t_in_k: float, mdot: float, volt_share: float, t_out_max_k: float, cp: float
) -> float:
    """Return the power an air heater of rising resistance (PTC) takes by itself at full duty [W].

    P = P_n u^0.6 (m / 300 kg/h)^0.35 (1 - T_in / 160 degC), and no more than m cp (T_out,max - T_in).
    Parameters: `p_rated_w` : P_n at 0 degC inlet, 300 kg/h and nominal voltage, usual 5500 [W];
    `t_in_k` [K]; `mdot` : air [kg/s]; `volt_share` : u, voltage over nominal [-];
    `t_out_max_k` : usual 363 [K]; `cp` : air [J/kgK].  0 without air and from 160 degC inlet on.
    Source: value from memory; rating as Park & Kim, Energies 10 (2017) 1494.

    >>> round(air_heater_limit_w(5500.0, 273.15, 300 / 3600, 1.0, 363.15, 1006.0))
    5500
    >>> round(air_heater_limit_w(5500.0, 273.15, 60 / 3600, 1.0, 363.15, 1006.0))
    1509
    """
    if mdot <= 0.0:
        return 0.0
    own = p_rated_w * volt_share**0.6 * (mdot * 12.0) ** 0.35 * (1.0 - (t_in_k - 273.15) / 160.0)
    return max(min(own, mdot * cp * (t_out_max_k - t_in_k)), 0.0)


@kernel_jit
def pad_limit_w(p_rated_w: float, t_body_k: float, t_full_k: float, t_none_k: float) -> float:
    """Return the power a pad may draw [W], P_rated fade(T_body; T_full..T_none).

    Parameters: `p_rated_w` [W]; `t_body_k` : temperature of what it warms [K]; `t_full_k`, `t_none_k` [K].
    Source: common practice.

    >>> pad_limit_w(2000.0, 315.65, 313.15, 318.15)
    1000.0
    """
    return p_rated_w * fade(t_body_k, t_full_k, t_none_k)
