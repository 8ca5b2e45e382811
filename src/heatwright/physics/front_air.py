"""Air through the front of the car: ram and fan, and how the exchangers there answer to it."""

from __future__ import annotations

import math

from heatwright.physics.jit import kernel_jit


@kernel_jit
def core_speed(speed: float, ram: float, fan: float, fan_free: float) -> float:
    """Return the air speed through the front cores [m/s], sqrt((k v)^2 + (u n)^2).

    Parameters: `speed` : car [m/s], >= 0; `ram` : k, usual 0.12 open, 0.02 with shutters closed [-];
    `fan` : n, share of full fan speed [-], 0-1; `fan_free` : u, core speed of the fan alone, usual 2.4 [m/s].
    Source: value from memory; adding squares is common practice (the pressures add).

    >>> round(core_speed(80 / 3.6, 0.12, 0.0, 2.4), 2), core_speed(0.0, 0.12, 1.0, 2.4)
    (2.67, 2.4)
    """
    return math.sqrt((ram * speed) ** 2 + (fan_free * fan) ** 2)


@kernel_jit
def core_flow_kg_per_s(core: float, face_m2: float, density: float) -> float:
    """Return the air flow through a core [kg/s], rho A u.

    Parameters: `core` : air speed at the face [m/s]; `face_m2` : [m2], usual 0.27; `density` [kg/m3].
    Source: continuity.

    >>> round(core_flow_kg_per_s(2.4, 0.27, 1.19), 3)
    0.771
    """
    return density * face_m2 * core


@kernel_jit
def fan_power_w(fan: float, p_full_w: float, idle_w: float) -> float:
    """Return the fan's electric power [W], P_full n^3 + idle, and 0 when it stands.

    Parameters: `fan` : share of full speed [-], 0-1; `p_full_w` : usual 500 [W]; `idle_w` : usual 10 [W].
    Source: fan law; values from memory.

    >>> fan_power_w(1.0, 500.0, 10.0), fan_power_w(0.5, 500.0, 10.0), fan_power_w(0.0, 500.0, 10.0)
    (510.0, 72.5, 0.0)
    """
    if fan <= 0.0:
        return 0.0
    return p_full_w * fan * fan * fan + idle_w


@kernel_jit
def power_law(value: float, x: float, x_reference: float, exponent: float) -> float:
    """Return a conductance or pressure drop at another flow, value (x / x_ref)^n; 0 at no flow.

    Usual exponents: radiator air side 0.55, coolant side 0.75, outdoor coil 0.5, core pressure drop 1.7.
    Parameters: `value` : at the reference; `x`, `x_reference` : one unit, x_reference > 0; `exponent` [-].
    Source: common practice; exponents from memory.

    >>> round(power_law(600.0, 5.0, 2.5, 0.5), 1)
    848.5
    """
    if x <= 0.0:
        return 0.0
    return value * (x / x_reference) ** exponent


@kernel_jit
def radiator_w_per_k(air_w_per_k: float, coolant_w_per_k: float, wall_k_per_w: float) -> float:
    """Return a radiator's conductance [W/K], 1 / (1/air + wall + 1/coolant); 0 if either side stands.

    Parameters: `air_w_per_k`, `coolant_w_per_k` : films [W/K], usual 900 at 3 m/s and 2600 at 12 L/min;
    `wall_k_per_w` : [K/W], >= 0.
    Source: resistances in series.

    >>> round(radiator_w_per_k(power_law(900.0, 2.5, 3.0, 0.55), 2600.0, 0.0), 1)
    620.0
    """
    if air_w_per_k <= 0.0 or coolant_w_per_k <= 0.0:
        return 0.0
    return 1.0 / (1.0 / air_w_per_k + wall_k_per_w + 1.0 / coolant_w_per_k)
