"""A permanent-magnet machine in rotor axes (dq, amplitude-invariant, motor convention) and its inverter.

Every function takes numbers or arrays alike; none is compiled, because the march reads the finished map
(see `drive_map`) and not the machine itself.  Currents and flux linkages are peak values, `d` along the
magnet; `omega` is the shaft's mechanical speed.  Torque and loss are even in the direction of running:
give the size of the torque and the speed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

COPPER_PER_K = 0.00393  # [1/K] at 20 degC, annealed copper (IEC 60028)
T_COPPER_K = 293.15
_ZOOM_POINTS, _ZOOM_ROUNDS = 33, 4
_PENALTY_W = 1.0e7  # what a unit of overshoot of a limit costs the search


@dataclass(frozen=True)
class Machine:
    """The numbers of one machine with its inverter (defaults: values from memory, generic 160 kW unit)."""

    pole_pairs: int = 4
    psi_wb: float = 0.055
    l_d_h: float = 0.10e-3
    l_q_h: float = 0.27e-3
    r_ohm: float = 8.0e-3  # one phase at 20 degC
    ac_factor: float = 0.25  # growth of resistance at 1 kHz
    ac_power: float = 1.7
    i_max_a: float = 640.0  # peak
    omega_max_rad_per_s: float = 16000.0 * np.pi / 30.0
    bus_v: float = 350.0
    bus_use: float = 0.95  # reached share of bus_v / sqrt(3)
    hysteresis_w_s_per_wb2: float = 136.0
    eddy_w_s2_per_wb2: float = 0.29
    friction_nm: float = 0.20
    windage_nm_s2: float = 1.5e-7
    inverter_base_w: float = 50.0
    inverter_w_per_a: float = 4.0
    inverter_w_per_a2: float = 0.006
    i_heat_a: float = 450.0  # peak current allowed for long when heat is wanted
    extra_max_w: float = 3000.0  # most extra loss asked of a turning machine


SILICON_CARBIDE = {"inverter_base_w": 30.0, "inverter_w_per_a": 1.2, "inverter_w_per_a2": 0.0045}


def torque_nm(machine: Machine, i_d_a: Any, i_q_a: Any) -> Any:
    """Return the air-gap torque [N m], T = 1.5 p (psi i_q + (L_d - L_q) i_d i_q).

    Parameters: `machine`; `i_d_a`, `i_q_a` : direct and quadrature current, peak [A], any.
    Source: dq theory with constant inductances, e.g. Morimoto et al. (1990), eq. of torque.

    >>> round(float(torque_nm(Machine(), 0.0, 100.0)), 3)
    33.0
    """
    reluctance = (machine.l_d_h - machine.l_q_h) * i_d_a
    return 1.5 * machine.pole_pairs * (machine.psi_wb + reluctance) * i_q_a


def resistance_ohm(machine: Machine, t_winding_k: Any, omega: Any = 0.0) -> Any:
    """Return one phase's resistance [ohm], R = R20 (1 + a (T - 20 degC)) (1 + k (f / 1 kHz)^n).

    Parameters: `machine`; `t_winding_k` : winding temperature [K], 230-460;
    `omega` : shaft speed [rad/s], >= 0.
    Source: IEC 60028 copper coefficient; alternating-current factor from memory (hairpin winding).

    >>> round(float(resistance_ohm(Machine(), 353.15)) * 1e3, 3)
    9.886
    """
    frequency_khz = np.abs(omega) * machine.pole_pairs / (2.0e3 * np.pi)
    warm = 1.0 + COPPER_PER_K * (t_winding_k - T_COPPER_K)
    return machine.r_ohm * warm * (1.0 + machine.ac_factor * frequency_khz**machine.ac_power)


def voltages_v(machine: Machine, i_d_a: Any, i_q_a: Any, omega: Any, r_ohm: Any = 0.0) -> tuple[Any, Any]:
    """Return (v_d, v_q) [V], v_d = R i_d - w L_q i_q, v_q = R i_q + w (L_d i_d + psi), w = p omega.

    Parameters: `machine`; `i_d_a`, `i_q_a` : peak [A]; `omega` : shaft speed [rad/s];
    `r_ohm` : phase resistance [ohm], >= 0.
    Source: steady dq voltage equations (textbook).

    >>> v_d, v_q = voltages_v(Machine(), -100.0, 200.0, 250.0)
    >>> round(float(v_d), 1), round(float(v_q), 1)
    (-54.0, 45.0)
    """
    w = omega * machine.pole_pairs
    v_d = r_ohm * i_d_a - w * machine.l_q_h * i_q_a
    return v_d, r_ohm * i_q_a + w * (machine.l_d_h * i_d_a + machine.psi_wb)


def mtpa_currents_a(machine: Machine, i_a: Any) -> tuple[Any, Any]:
    """Return (i_d, i_q) [A] giving the most torque for a current of size `i_a`, in closed form.

    i_d = [psi - sqrt(psi^2 + 8 (L_q - L_d)^2 I^2)] / [4 (L_q - L_d)];  i_d = 0 where L_q = L_d.
    Parameters: `machine`; `i_a` : peak current [A], >= 0.
    Source: Morimoto, Takeda, Hirasa, Taniguchi (1990), maximum torque per ampere.

    >>> i_d, i_q = mtpa_currents_a(Machine(), 640.0)
    >>> round(float(i_d), 1), round(float(torque_nm(Machine(), i_d, i_q)), 1)
    (-378.8, 369.5)
    """
    gap = machine.l_q_h - machine.l_d_h
    if gap == 0.0:
        return 0.0 * i_a, 1.0 * i_a
    i_d = (machine.psi_wb - np.sqrt(machine.psi_wb**2 + 8.0 * (gap * i_a) ** 2)) / (4.0 * gap)
    return i_d, np.sqrt(i_a**2 - i_d**2)


def losses_w(machine: Machine, i_d_a: Any, i_q_a: Any, omega: Any, t_winding_k: Any) -> tuple[Any, Any, Any, Any]:
    """Return (copper, iron, mechanical, inverter) losses [W] at given currents and speed.

    copper 1.5 R I^2;  iron (a f + b f^2) L^2, L = max(|flux linkage|, psi / 2), f electrical [Hz];
    mechanical c omega + d omega^3;  inverter e + g I_rms + h I_rms^2.
    Parameters: `machine`; `i_d_a`, `i_q_a` : peak [A]; `omega` : shaft speed [rad/s], >= 0;
    `t_winding_k` : [K].
    Source: copper closed form; the others forms of common practice, coefficients from memory (+/-40 %).

    >>> [round(float(x)) for x in losses_w(Machine(), -450.0, 0.0, 0.0, 293.15)]
    [2430, 0, 0, 1930]
    """
    i2 = i_d_a**2 + i_q_a**2
    copper = 1.5 * resistance_ohm(machine, t_winding_k, omega) * i2
    along = machine.psi_wb + machine.l_d_h * i_d_a
    linkage2 = np.maximum(along**2 + (machine.l_q_h * i_q_a) ** 2, (0.5 * machine.psi_wb) ** 2)
    f = omega * machine.pole_pairs / (2.0 * np.pi)
    iron = (machine.hysteresis_w_s_per_wb2 * f + machine.eddy_w_s2_per_wb2 * f**2) * linkage2
    mechanical = machine.friction_nm * omega + machine.windage_nm_s2 * omega**3
    i_rms = np.sqrt(0.5 * i2)
    inverter = machine.inverter_base_w + machine.inverter_w_per_a * i_rms + machine.inverter_w_per_a2 * i_rms**2
    return copper, iron, mechanical, inverter


def overshoot(machine: Machine, i_d_a: Any, i_q_a: Any, omega: Any, i_cap_a: Any) -> Any:
    """Return by how much the current and voltage limits are broken, relative and summed [-]; 0 inside both.

    Voltage limit: p omega |flux linkage| <= bus_use bus_v / sqrt(3) (resistance left out).
    Parameters: `machine`; `i_d_a`, `i_q_a` : peak [A]; `omega` [rad/s];
    `i_cap_a` : current limit, peak [A], > 0.
    Source: common practice.

    >>> float(overshoot(Machine(), -450.0, 0.0, 0.0, 450.0))
    0.0
    """
    v_d, v_q = voltages_v(machine, i_d_a, i_q_a, omega)
    v_max = machine.bus_use * machine.bus_v / np.sqrt(3.0)
    current = np.maximum(np.hypot(i_d_a, i_q_a) / i_cap_a - 1.0, 0.0)
    return current + np.maximum(np.hypot(v_d, v_q) / v_max - 1.0, 0.0)


def zoom(cost: Callable[[Any], Any], low: Any, high: Any) -> Any:
    """Return where `cost` is least between `low` and `high`, element by element, by a shrinking grid.

    Parameters: `cost` : takes an array with one more axis in front [any unit];
    `low`, `high` : arrays, one unit.
    Resolution: the span times 1e-5.  A cost with several valleys may give any of them.
    Source: common practice.

    >>> round(float(zoom(lambda x: (x - 0.3) ** 2, np.array(0.0), np.array(1.0))), 4)
    0.3
    """
    share = np.linspace(0.0, 1.0, _ZOOM_POINTS)
    for _ in range(_ZOOM_ROUNDS):
        grid = low + (high - low) * share.reshape(-1, *([1] * np.ndim(low)))
        best = np.argmin(cost(grid), axis=0)
        cell = (high - low) / (_ZOOM_POINTS - 1)
        middle = np.take_along_axis(grid, best[None, ...], axis=0)[0]
        low, high = np.maximum(middle - cell, low), np.minimum(middle + cell, high)
    return 0.5 * (low + high)


def quadrature_a(machine: Machine, torque: Any, i_d_a: Any) -> Any:
    """Return the quadrature current [A] that makes `torque` [N m] with the direct current `i_d_a` [A].

    Parameters: `machine`; `torque` [N m]; `i_d_a` : peak [A], below psi / (L_q - L_d).
    Source: the torque equation solved for i_q.

    >>> round(float(quadrature_a(Machine(), 33.0, 0.0)), 6)
    100.0
    """
    return torque / torque_nm(machine, i_d_a, 1.0)


def torque_max_nm(machine: Machine, omega: Any) -> Any:
    """Return the largest torque [N m] within the current and voltage limits at a speed.

    For every i_d the largest i_q inside the current circle and the voltage ellipse is taken, and the best
    i_d found by search; this contains maximum torque per ampere, flux weakening and torque per volt.
    Parameters: `machine`; `omega` : shaft speed [rad/s], >= 0.  Zero where no current obeys both limits.
    Source: common practice.

    >>> round(float(torque_max_nm(Machine(), np.array(0.0))), 1)
    369.5
    """
    w = np.maximum(np.asarray(omega, dtype=float) * machine.pole_pairs, 1e-6)
    flux_max = machine.bus_use * machine.bus_v / np.sqrt(3.0) / w

    def negative(i_d: Any) -> Any:
        circle = machine.i_max_a**2 - i_d**2
        ellipse = (flux_max**2 - (machine.psi_wb + machine.l_d_h * i_d) ** 2) / machine.l_q_h**2
        room = np.minimum(circle, ellipse)
        # where nothing fits, a slope that leads the search to where something does
        return np.where(room > 0.0, -torque_nm(machine, i_d, np.sqrt(np.maximum(room, 0.0))), -room)

    best = zoom(negative, np.full_like(w, -machine.i_max_a), np.zeros_like(w))
    return np.maximum(-negative(best), 0.0)


def least_loss_currents_a(machine: Machine, torque: Any, omega: Any, t_winding_k: float = 353.15) -> tuple[Any, Any]:
    """Return the currents (i_d, i_q) [A] of least total loss at a torque and speed, within both limits.

    Search over i_d in [-I_max, 0], i_q following from the torque; limits enter as a steep penalty, so a
    torque out of reach gives the currents that break the limits least.
    Parameters: `machine`; `torque` [N m], >= 0; `omega` : shaft speed [rad/s], >= 0; `t_winding_k` [K].
    Source: common practice.

    >>> i_d, i_q = least_loss_currents_a(Machine(), np.array(50.0), np.array(5000 * np.pi / 30))
    >>> round(sum(float(x) for x in losses_w(Machine(), i_d, i_q, 5000 * np.pi / 30, 353.15)) / 1e3, 2)
    1.22
    """
    torque, omega = np.broadcast_arrays(np.asarray(torque, dtype=float), np.asarray(omega, dtype=float))

    def cost(i_d: Any) -> Any:
        i_q = quadrature_a(machine, torque, i_d)
        broken = overshoot(machine, i_d, i_q, omega, machine.i_max_a)
        return sum(losses_w(machine, i_d, i_q, omega, t_winding_k)) + _PENALTY_W * broken

    i_d = zoom(cost, np.full(torque.shape, -machine.i_max_a), np.zeros(torque.shape))
    return i_d, quadrature_a(machine, torque, i_d)


def lossy_currents_a(
    machine: Machine, torque: Any, omega: Any, extra_w: Any, t_winding_k: float = 353.15
) -> tuple[Any, Any]:
    """Return currents (i_d, i_q) [A] that keep the torque and waste about `extra_w` more than the least.

    i_d is pushed further negative by bisection, under the current cap `i_heat_a` (or the least-loss
    current where that is larger) and the voltage limit; an amount out of reach gives all there is.
    Parameters: `machine`; `torque` [N m], >= 0; `omega` [rad/s], >= 0; `extra_w` : wanted extra loss [W],
    >= 0; `t_winding_k` [K].
    Source: common practice (direct-axis heating).

    >>> i_d, i_q = lossy_currents_a(Machine(), np.array(0.0), np.array(0.0), 1e6, 293.15)
    >>> round(float(i_d)), round(sum(float(x) for x in losses_w(Machine(), i_d, i_q, 0.0, 293.15)))
    (-450, 4360)
    """
    torque, omega = np.broadcast_arrays(np.asarray(torque, dtype=float), np.asarray(omega, dtype=float))
    i_d0, i_q0 = least_loss_currents_a(machine, torque, omega, t_winding_k)
    least = sum(losses_w(machine, i_d0, i_q0, omega, t_winding_k))
    cap = np.maximum(machine.i_heat_a, np.hypot(i_d0, i_q0))
    near, far = i_d0, np.full(torque.shape, -machine.i_max_a)
    for _ in range(40):
        middle = 0.5 * (near + far)
        i_q = quadrature_a(machine, torque, middle)
        spent = sum(losses_w(machine, middle, i_q, omega, t_winding_k)) - least
        good = (overshoot(machine, middle, i_q, omega, cap) <= 1e-9) & (spent <= extra_w)
        near, far = np.where(good, middle, near), np.where(good, far, middle)
    return near, quadrature_a(machine, torque, near)
