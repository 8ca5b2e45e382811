"""What holds a drive unit back, in torque and in the heat it makes on purpose, and its hottest phase when standing.

`begin_k` in the functions below is an array of six temperatures [K], in the order of `COOLANT_IN` ... `HOUSING`:
where torque begins to be held back.  It is all gone one width further.
"""

from __future__ import annotations

import numpy as np

from heatwright.physics.interpolate import fade
from heatwright.physics.jit import kernel_jit

COOLANT_IN, WINDING, ROTOR, INVERTER, OIL, HOUSING = range(6)
"""The temperatures that are watched; each limit is for the one it names."""
WIDTHS_K = (10.0, 25.0, 20.0, 15.0, 10.0, 10.0)
"""From the first hold-back to none left [K], in the same order; values from memory."""
TURNING_RAD_PER_S = 1.0
_0, _1, _2, _3, _4, _5 = (np.uint64(k) for k in range(6))


@kernel_jit
def drive_share(
    t_coolant_in_k: float,
    t_winding_k: float,
    t_rotor_k: float,
    t_inverter_k: float,
    t_oil_k: float,
    t_housing_k: float,
    begin_k: np.ndarray,
    early: float,
) -> tuple[float, int]:
    """Return (share allowed, which limit binds) [-]; 1 and 0 when nothing limits.

    share = least of fade(T_i, b_i - early w_i, b_i + w_i - early w_i), b_i from `begin_k`, w_i from `WIDTHS_K`;
    which: 1 coolant entering, 2 winding, 3 rotor, 4 inverter, 5 oil, 6 housing.
    `early` = 0 gives the share of torque, 1 that of heat made on purpose: it has ended where torque begins to be
    held back.  A housing near 85 degC is normal with coolant entering at 65 degC.
    Parameters: `t_coolant_in_k`, `t_winding_k`, `t_rotor_k`, `t_inverter_k`, `t_oil_k`, `t_housing_k` : those six [K];
    `begin_k` : array of six [K]; `early` : 0 or 1 [-].
    Source: common practice; winding limit of insulation class H, IEC 60085; widths from memory.

    >>> begin = np.array([338.15, 428.15, 413.15, 408.15, 393.15, 358.15])
    >>> drive_share(330.0, 440.65, 350.0, 350.0, 340.0, 340.0, begin, 0.0)
    (0.5, 2)
    >>> drive_share(330.0, 415.65, 350.0, 350.0, 340.0, 340.0, begin, 1.0)
    (0.5, 2)
    """
    share, which = 1.0, 0
    f = _part(t_coolant_in_k, begin_k[_0], WIDTHS_K[0], early)
    if f < share:
        share, which = f, 1
    f = _part(t_winding_k, begin_k[_1], WIDTHS_K[1], early)
    if f < share:
        share, which = f, 2
    f = _part(t_rotor_k, begin_k[_2], WIDTHS_K[2], early)
    if f < share:
        share, which = f, 3
    f = _part(t_inverter_k, begin_k[_3], WIDTHS_K[3], early)
    if f < share:
        share, which = f, 4
    f = _part(t_oil_k, begin_k[_4], WIDTHS_K[4], early)
    if f < share:
        share, which = f, 5
    f = _part(t_housing_k, begin_k[_5], WIDTHS_K[5], early)
    if f < share:
        share, which = f, 6
    return share, which


@kernel_jit
def _part(t_k: float, begin_k: float, width_k: float, early: float) -> float:
    start = begin_k - early * width_k
    return fade(t_k, start, start + width_k)


@kernel_jit
def hottest_phase_k(t_mean_k: float, t_around_k: float, omega: float) -> float:
    """Return the temperature of the hottest of three phases [K] from their mean, standing at the worst angle.

    T = T_mean + u max(T_mean - T_around, 0), u = 1 - |omega| / (1 rad/s), at least 0.  At the worst angle one phase
    carries the whole peak current and the others half of it: 2/3, 1/6, 1/6 of the loss, so the first stands twice as
    far above its surroundings as the mean.  A turning machine loads them alike.
    Parameters: `t_mean_k` : winding or power stage [K]; `t_around_k` : what it gives its heat to [K];
    `omega` : shaft speed [rad/s].
    Outside: settled temperatures are assumed, which is safe in the first half minute.
    Source: closed form (three equal phases, each with a third of the conductance).

    >>> hottest_phase_k(380.0, 340.0, 0.0), hottest_phase_k(380.0, 340.0, 100.0)
    (420.0, 380.0)
    """
    uneven = max(1.0 - abs(omega) / TURNING_RAD_PER_S, 0.0)
    return t_mean_k + uneven * max(t_mean_k - t_around_k, 0.0)


def phase_shares(angle_rad: float) -> tuple[float, float, float]:
    """Return each phase's share of the copper loss of a standing machine [-] by the angle of its current.

    s_k = (2/3) cos^2(angle - 2 pi k / 3): a current that stands still in the stator loads the phases unevenly.
    Parameters: `angle_rad` : electrical angle between current and first phase [rad], any.
    Source: closed form (inverse of the amplitude-invariant transformation).

    >>> [round(s, 4) for s in phase_shares(0.0)]
    [0.6667, 0.1667, 0.1667]
    """
    shares = [float(2.0 / 3.0 * np.cos(angle_rad - 2.0 * np.pi * k / 3.0) ** 2) for k in range(3)]
    return shares[0], shares[1], shares[2]
