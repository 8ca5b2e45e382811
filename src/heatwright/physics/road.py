"""What the road asks of the wheels: air, tyres, grade, inertia; the mean over a step of changing speed."""

from __future__ import annotations

import math

import numpy as np

from heatwright.physics.jit import kernel_jit

G_M_PER_S2 = 9.80665
SEA_LEVEL_PA = 101325.0  # of the standard atmosphere


@kernel_jit
def pressure_pa(altitude_m: float) -> float:
    """Return the air pressure at an altitude [Pa], 101325 (1 - 2.25577e-5 h)^5.25588.

    Parameters: `altitude_m` : [m], -500 to 11000.
    Source: ICAO standard atmosphere (ISO 2533), troposphere.

    >>> round(pressure_pa(1500.0))
    84556
    """
    return SEA_LEVEL_PA * (1.0 - 2.25577e-5 * altitude_m) ** 5.25588


@kernel_jit
def air_density_kg_per_m3(p_pa: float, t_k: float, w: float) -> float:
    """Return the density of moist air [kg/m3], p (1 + w) / (R_a T (1 + w R_v/R_a)), an ideal mixture.

    Parameters: `p_pa` [Pa]; `t_k` [K]; `w` : humidity ratio [kg/kg dry air], >= 0.
    Source: ideal-gas law, R_a 287.05 and R_v 461.52 J/kgK.

    >>> round(air_density_kg_per_m3(101325.0, 266.15, 0.0), 3)
    1.326
    """
    return p_pa * (1.0 + w) / (287.05 * t_k * (1.0 + w * 461.52 / 287.05))


@kernel_jit
def rolling_coefficient(crr_25: float, t_k: float, slope_per_k: float, coldness: float, cold_gain: float) -> float:
    """Return the rolling coefficient [-], c25 [1 + a max(0, 25 degC - T)] (1 + g x).

    Parameters: `crr_25` : warm tyre at 25 degC [-]; `t_k` : outside air [K]; `slope_per_k` : a [1/K], usual
    0.006 (0.004-0.010); `coldness` : x, 1 for a tyre that has stood, 0 for one run warm [-];
    `cold_gain` : g [-], usual 0.2.
    Source: value from memory; the laboratory correction of UN Regulation 117 is 0.008 per K.

    >>> round(rolling_coefficient(0.0085, 266.15, 0.006, 0.0, 0.2), 5)
    0.01013
    """
    return crr_25 * (1.0 + slope_per_k * max(0.0, 298.15 - t_k)) * (1.0 + cold_gain * coldness)


@kernel_jit
def tyre_coldness(coldness: float, rolling: bool, dt_s: float) -> float:
    """Return the tyre's coldness after a step [-]: towards 0 in 20 min rolling, towards 1 in 40 min standing.

    Parameters: `coldness` : before the step [-], 0-1; `rolling` : whether the car moves; `dt_s` [s].
    Source: value from memory; exact for any step length.

    >>> round(tyre_coldness(1.0, True, 1200.0), 4)
    0.3679
    """
    if rolling:
        return coldness * math.exp(-dt_s / 1200.0)
    return 1.0 - (1.0 - coldness) * math.exp(-dt_s / 2400.0)


@kernel_jit
def road_force_n(
    speed: float,
    accel: float,
    mass_kg: float,
    rotating: float,
    cda_m2: float,
    density: float,
    crr: float,
    grade: float,
    headwind: float,
) -> float:
    """Return the force wanted at the wheels [N].

    F = rho CdA |u| u / 2 + m g (c cos a + sin a) + k m dv/dt, u = v + headwind, a = atan(grade); no rolling
    resistance at standstill.
    Parameters: `speed` : [m/s], >= 0; `accel` : dv/dt [m/s2]; `mass_kg`; `rotating` : k, usual 1.04 [-];
    `cda_m2` : drag area [m2]; `density` [kg/m3]; `crr` [-]; `grade` : rise over run [-]; `headwind` [m/s].
    Source: common practice (form of 40 CFR 1066.210 with the air term written out).

    >>> crr = rolling_coefficient(0.0085, 296.15, 0.006, 0.0, 0.2)
    >>> round(road_force_n(100 / 3.6, 0.0, 1900.0, 1.04, 0.60, 1.19, crr, 0.0, 0.0))
    436
    """
    air = speed + headwind
    slope = math.atan(grade)
    roll = crr * math.cos(slope) if speed > 0.0 else 0.0
    return (
        0.5 * density * cda_m2 * air * abs(air)
        + mass_kg * G_M_PER_S2 * (roll + math.sin(slope))
        + rotating * mass_kg * accel
    )


@kernel_jit
def coast_force_n(speed: float, a_n: float, b_n_s_per_m: float, c_n_s2_per_m2: float) -> float:
    """Return the level-road force [N] from coast-down coefficients, A + B v + C v^2.

    Parameters: `speed` [m/s]; `a_n`, `b_n_s_per_m` (may be negative), `c_n_s2_per_m2`.
    Source: 40 CFR 1066.210.

    >>> round(coast_force_n(50 * 0.44704, *coast_from_pounds(40.0, 0.2, 0.018)), 2)
    422.58
    """
    return a_n + b_n_s_per_m * speed + c_n_s2_per_m2 * speed * speed


@kernel_jit
def coast_from_pounds(a_lbf: float, b_lbf_per_mph: float, c_lbf_per_mph2: float) -> tuple[float, float, float]:
    """Return coast-down coefficients in SI (N, N s/m, N s2/m2) from those printed in lbf and mph.

    Parameters: `a_lbf`, `b_lbf_per_mph`, `c_lbf_per_mph2`.
    Source: definitions: 1 lbf = 4.4482216152605 N, 1 mph = 0.44704 m/s.

    >>> [round(x, 7) for x in coast_from_pounds(1.0, 1.0, 1.0)]
    [4.4482216, 9.9503884, 22.2583849]
    """
    lbf, mph = 4.4482216152605, 0.44704
    return a_lbf * lbf, b_lbf_per_mph * lbf / mph, c_lbf_per_mph2 * lbf / (mph * mph)


@kernel_jit
def gallon_mileage(energy_j_per_m: float) -> float:
    """Return miles per gallon equivalent from energy per distance [J/m], 33.705 kWh a gallon.

    Parameters: `energy_j_per_m` : > 0.
    Source: 40 CFR 600 (33.705 kWh per gallon: value from memory).

    >>> round(gallon_mileage(337.05 * 3600.0 / 1609.344), 6)
    100.0
    """
    return 33705.0 * 3600.0 / (energy_j_per_m * 1609.344)


@kernel_jit
def simpson(start: float, middle: float, end: float) -> float:
    """Return the mean over a step from its three values, (s + 4 m + e) / 6; exact up to cubics.

    Parameters: `start`, `middle`, `end` : values at the step's start, middle and end [one unit].
    Source: Simpson's rule.

    >>> simpson(0.0, 0.125, 1.0)
    0.25
    """
    return (start + 4.0 * middle + end) / 6.0


@kernel_jit
def step_wheel_powers_w(
    speed_0: float,
    speed_1: float,
    dt_s: float,
    mass_kg: float,
    rotating: float,
    cda_m2: float,
    density: float,
    crr: float,
    grade: float,
    headwind: float,
    force_n: np.ndarray,
    speed: np.ndarray,
) -> float:
    """Return the mean wheel power over a step of evenly changing speed [W]; fill `force_n` and `speed`.

    The three points (start, middle, end) go into the arrays of 3; the mean is Simpson's, exact here because
    F v is a cubic of time when speed is straight in time and the air comes from ahead.
    Parameters: `speed_0`, `speed_1` : at the step's edges [m/s], >= 0; `dt_s` [s]; `mass_kg`,
    `rotating`, `cda_m2`, `density`, `crr`, `grade`, `headwind` : as `road_force_n`.
    Source: Simpson's rule.

    >>> f, v = np.zeros(3), np.zeros(3)
    >>> round(step_wheel_powers_w(100 / 3.6, 100 / 3.6, 1.0, 1900.0, 1.04, 0.6, 1.19, 0.0086, 0.0, 0.0, f, v))
    12103
    """
    accel = (speed_1 - speed_0) / dt_s
    for k in range(3):
        speed[k] = speed_0 + 0.5 * k * (speed_1 - speed_0)
        force_n[k] = road_force_n(speed[k], accel, mass_kg, rotating, cda_m2, density, crr, grade, headwind)
    return simpson(force_n[0] * speed[0], force_n[1] * speed[1], force_n[2] * speed[2])


@kernel_jit
def motor_side(force_n: float, speed: float, radius_m: float, ratio: float) -> tuple[float, float]:
    """Return (torque behind the gear, speed) at the motor shaft [N m, rad/s], F r / i and v i / r.

    Parameters: `force_n` : wheel force [N]; `speed` [m/s]; `radius_m` : rolling radius [m]; `ratio` : i [-].
    Source: kinematics; tyre slip is left out.

    >>> [round(x, 2) for x in motor_side(436.0, 100 / 3.6, 0.335, 9.5)]
    [15.37, 787.73]
    """
    return force_n * radius_m / ratio, speed * ratio / radius_m
