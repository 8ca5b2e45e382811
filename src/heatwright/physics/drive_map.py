"""The drive unit as the march sees it: a loss map over speed and used share of torque, and the gear.

The map's second axis is the share u = |torque| / available torque(speed), so every cell lies inside the
machine's limits.  Both axes are evenly spaced from zero.  `table[speed, share, layer]` holds the layers
named by the constants below.
"""

from __future__ import annotations

import math

import numpy as np

from heatwright.physics.jit import kernel_jit

COPPER, IRON, MECHANICAL, INVERTER, EXTRA, EXTRA_COPPER, EXTRA_INVERTER = range(7)
"""Layers, all [W] at the reference winding temperature: losses; most extra loss, copper's and the inverter's part
of it (the rest is iron's, below zero where a weaker flux spares some)."""
LAYERS = 7


@kernel_jit
def available_torque_nm(torque_nm: np.ndarray, omega_step: float, omega: float) -> float:
    """Return the torque available at a speed [N m], straight between the map's speeds.

    Parameters: `torque_nm` : array, most torque at 0, step, 2 step ... [N m]; `omega_step` : [rad/s], > 0;
    `omega` : shaft speed [rad/s], its sign is ignored.  Beyond the last speed: 0 (over-speed).
    Source: common practice.

    >>> import numpy as np
    >>> available_torque_nm(np.array([370.0, 370.0, 190.0]), 100.0, -150.0)
    280.0
    """
    x = abs(omega) / omega_step
    last = torque_nm.shape[0] - 1
    if x > last + 1e-9:
        return 0.0
    i = min(int(x), last - 1)
    return torque_nm[i] + (torque_nm[i + 1] - torque_nm[i]) * (x - i)


@kernel_jit
def read_map(
    table: np.ndarray, torque_nm: np.ndarray, omega_step: float, omega: float, torque: float, layer: int
) -> float:
    """Return one layer of the loss map at a speed and torque (layer's unit), bilinear in speed and share.

    Parameters: `table` : (speed, share, layer); `torque_nm`, `omega_step` : see `available_torque_nm`;
    `omega` [rad/s], `torque` [N m] : signs are ignored; `layer` : int.
    Outside: a torque above the available one reads the edge, a speed above the last reads the last.
    Source: common practice.

    >>> import numpy as np
    >>> table = np.zeros((2, 2, 6)); table[1, 1, 0] = 8.0
    >>> read_map(table, np.array([10.0, 10.0]), 100.0, 50.0, 5.0, 0)
    2.0
    """
    n_speed, n_share = table.shape[0], table.shape[1]
    x = min(abs(omega) / omega_step, n_speed - 1.0)
    i = min(int(x), n_speed - 2)
    a = x - i
    most = torque_nm[i] + (torque_nm[i + 1] - torque_nm[i]) * a
    y = min(abs(torque) / max(most, 1e-9), 1.0) * (n_share - 1.0)
    j = min(int(y), n_share - 2)
    b = y - j
    near = table[i, j, layer] * (1.0 - b) + table[i, j + 1, layer] * b
    far = table[i + 1, j, layer] * (1.0 - b) + table[i + 1, j + 1, layer] * b
    return near * (1.0 - a) + far * a


@kernel_jit
def drive_losses_w(
    table: np.ndarray, torque_nm: np.ndarray, omega_step: float, omega: float, torque: float
) -> tuple[float, float, float, float]:
    """Return (copper, iron, mechanical, inverter) losses [W], copper at the map's winding temperature.

    Multiply copper by `copper_factor`.  Standing still with no torque wanted, the caller decides whether the
    inverter is awake: the map then gives the inverter's idle loss.
    Parameters: `table`, `torque_nm`, `omega_step`, `omega`, `torque` : as `read_map`.
    Source: the map is built from the dq model of `motor`.

    >>> import numpy as np
    >>> table = np.ones((2, 2, 6)) * np.arange(6.0)
    >>> drive_losses_w(table, np.array([10.0, 10.0]), 100.0, 50.0, -5.0)
    (0.0, 1.0, 2.0, 3.0)
    """
    return (
        read_map(table, torque_nm, omega_step, omega, torque, 0),
        read_map(table, torque_nm, omega_step, omega, torque, 1),
        read_map(table, torque_nm, omega_step, omega, torque, 2),
        read_map(table, torque_nm, omega_step, omega, torque, 3),
    )


@kernel_jit
def copper_factor(t_winding_k: float, t_reference_k: float) -> float:
    """Return the copper loss over that at the map's temperature [-], (1 + a dT) / (1 + a dT_ref).

    Parameters: `t_winding_k`, `t_reference_k` : [K], 230-460.
    dT counts from 20 degC.
    Source: IEC 60028, a = 0.00393 1/K.

    >>> round(copper_factor(373.15, 293.15), 4)
    1.3144
    """
    return (1.0 + 0.00393 * (t_winding_k - 293.15)) / (1.0 + 0.00393 * (t_reference_k - 293.15))


@kernel_jit
def gear_drag_nm(omega: float, t_oil_k: float) -> float:
    """Return the torque-free drag of the gear at the motor shaft [N m], 0.3 nu + 1.5e-4 omega sqrt(nu).

    nu = min(4, exp(0.025 (60 degC - T_oil))), the oil's thickness relative to 60 degC.
    Parameters: `omega` : motor speed [rad/s], sign ignored; `t_oil_k` : oil temperature [K]; nu is held at 4
    below 4.5 degC.
    Source: value from memory (+/-40 %).

    >>> round(gear_drag_nm(1000.0, 333.15), 3), round(gear_drag_nm(1000.0, 253.15), 3)
    (0.45, 1.5)
    """
    nu = min(4.0, math.exp(0.025 * (333.15 - t_oil_k)))
    return 0.3 * nu + 1.5e-4 * abs(omega) * math.sqrt(nu)


@kernel_jit
def gear_loss_w(omega: float, torque: float, t_oil_k: float) -> float:
    """Return the gear's loss [W], (drag + 0.015 |T|) |omega|, with motor speed and motor torque.

    Parameters: `omega` [rad/s]; `torque` : motor torque [N m]; `t_oil_k` [K].
    Source: value from memory (+/-40 %).

    >>> round(gear_loss_w(1000.0, 50.0, 333.15))
    1200
    """
    return (gear_drag_nm(omega, t_oil_k) + 0.015 * abs(torque)) * abs(omega)


@kernel_jit
def motor_torque_nm(torque_out: float, omega: float, t_oil_k: float) -> float:
    """Return the motor torque [N m] for a torque wanted behind the gear, referred to the motor shaft.

    T_m = T_out + drag + 0.015 |T_m|, solved in closed form; running forward (omega >= 0).  At standstill the
    drag is left out.
    Parameters: `torque_out` : wheel torque / ratio [N m], negative when braking; `omega` [rad/s], >= 0;
    `t_oil_k` [K].
    Source: energy balance over the gear of `gear_loss_w`.

    >>> t = motor_torque_nm(50.0, 1000.0, 333.15)
    >>> round(t, 3), round(t * 1000.0 - gear_loss_w(1000.0, t, 333.15), 6)
    (51.218, 50000.0)
    """
    wanted = torque_out
    if omega > 0.0:
        wanted += gear_drag_nm(omega, t_oil_k)
    if wanted >= 0.0:
        return wanted / 0.985
    return wanted / 1.015


@kernel_jit
def braking_split_n(
    force: float, speed: float, p_limit_w: float, f_limit_n: float, speed_fade: float
) -> tuple[float, float]:
    """Return (force from the motor, force from the brakes) [N] for a wheel force wanted.

    Braking: the motor takes what the limits allow, |F| <= min(P/v, F_max), fading out below `speed_fade`;
    friction takes the rest.  Driving: the motor alone, cut at the same limits, brakes 0.
    Parameters: `force` [N], negative = braking; `speed` [m/s], >= 0; `p_limit_w` : most wheel power in that
    direction [W], >= 0; `f_limit_n` : most wheel force [N], >= 0; `speed_fade` [m/s], > 0, about 2.
    Source: common practice.

    >>> braking_split_n(-5000.0, 20.0, 60000.0, 9000.0, 2.0)
    (-3000.0, -2000.0)
    """
    most = min(f_limit_n, p_limit_w / max(speed, 0.1))
    if force >= 0.0:
        return min(force, most), 0.0
    motor = max(force, -most * min(speed / speed_fade, 1.0))
    return motor, force - motor
