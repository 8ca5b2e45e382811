"""Where the refrigerant is: a mass balance over exchangers, lines and vessels around every solved point.

The vessel (receiver or accumulator) holds what the rest does not. Where it is empty, less liquid stands before the
valve: subcooling falls, then the valve's inlet is wet; where it is full, subcooling rises. The liquid's enthalpy is
then moved by one number, `par[PAR_H3_SHIFT]`, and the point solved again until the masses agree. In the hot-gas cycle
the vessels hold vapour, and the mass that takes part sets the suction pressure.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from heatwright.kernel import circuit_names as cn
from heatwright.kernel.circuit import solve_circuit
from heatwright.kernel.status import CIRCUIT_RUNS
from heatwright.physics.charge import exchanger_density, two_phase_density
from heatwright.physics.jit import inner_jit, kernel_jit
from heatwright.physics.refrigerant import TAB_BULK, TAB_CP_GAS, saturated_side

Floats = NDArray[np.float64]

# charge block in par, from par[PAR_CHARGE] on; the inside volume of every exchanger stands from CH_PORTS on
CH_MASS_KG, CH_HOT_GAS_KG, CH_DISCHARGE_M3, CH_LIQUID_M3, CH_SUCTION_M3, CH_RECEIVER_M3, CH_ACCUMULATOR_M3, CH_PORTS = (
    np.uint64(k) for k in range(8)
)

_ROUNDS = 8
_SETTLED = 1e-10  # of the charge
_CLOSE_J_PER_KG = 100.0
_WETTEST = 0.8
_MISSED = 1e-3  # of the hot-gas charge


@inner_jit
def _volumes(n_port: int, ua_hot: Floats, ua_cold: Floats, par: Floats) -> tuple[float, float, float]:
    """Return the inside volume of hot, cold and idle exchangers [m3]."""
    hot = 0.0
    cold = 0.0
    idle = 0.0
    first = np.uint64(par[cn.PAR_CHARGE]) + CH_PORTS
    for k in range(np.uint64(n_port)):
        if ua_hot[k] > 0.0:
            hot += par[first + k]
        elif ua_cold[k] > 0.0:
            cold += par[first + k]
        else:
            idle += par[first + k]
    return hot, cold, idle


@kernel_jit
def circuit_mass(
    h3: float, te: float, tc: float, h1: float, h2: float, t2: float, hot: float, cold: float, idle: float, par: Floats,
    tab: Floats,
) -> tuple[float, float, float]:  # fmt: skip
    """Return the mass in exchangers and lines, and what the vessels hold when empty of liquid and when full [kg].

    h3 leaves the hot side at the condensing temperature tc; h1 is suction, h2 discharge with its temperature t2; hot,
    cold and idle are inside volumes [m3]. Idle exchangers hold suction gas. Without a cold volume (hot-gas cycle) h1
    leaves the hot side: the throttle keeps the enthalpy.
    """
    at = np.uint64(par[cn.PAR_CHARGE])
    ln_v, _, ln_l, ln_l_c, h_v, _, h_l, h_l_c = saturated_side(tc, tab[TAB_BULK], tab)
    rho_v = math.exp(ln_v)
    rho_l = math.exp(ln_l)
    rho_2 = rho_v * tc / t2
    below = max((h_l - h3) / h_l_c, 0.0)
    rho_3 = rho_l * math.exp(-ln_l_c * below)
    mass = hot * exchanger_density(h2, h3, h_l, h_v, rho_2, rho_l, rho_v, rho_3)
    quality = (h3 - h_l) / (h_v - h_l)
    liquid = rho_3 if quality <= 0.0 else two_phase_density(quality, quality, rho_l, rho_v)
    mass += par[at + CH_LIQUID_M3] * liquid + par[at + CH_DISCHARGE_M3] * rho_2
    low_v, _, low_l, _, low_h_v, _, low_h_l, _ = saturated_side(te, tab[TAB_BULK], tab)
    rho_low = math.exp(low_v)
    rho_1 = rho_low * te / (te + max(h1 - low_h_v, 0.0) / tab[TAB_CP_GAS])
    mass += (par[at + CH_SUCTION_M3] + idle) * rho_1
    if cold > 0.0:
        low_liquid = math.exp(low_l)
        mass += cold * exchanger_density(h1, max(h3, low_h_l), low_h_l, low_h_v, rho_1, low_liquid, rho_low, low_liquid)
    v_r = par[at + CH_RECEIVER_M3]
    v_a = par[at + CH_ACCUMULATOR_M3]
    return mass, v_r * rho_v + v_a * rho_low, v_r * rho_l + v_a * math.exp(low_l)


@inner_jit
def _liquid_that_fits(
    charge: float, store: float, low: float, high: float, te: float, tc: float, h1: float, h2: float, t2: float,
    hot: float, cold: float, idle: float, par: Floats, tab: Floats,
) -> float:  # fmt: skip
    """Return the liquid's enthalpy at which circuit and `store` hold the charge: the mass falls as it rises."""
    f_low = circuit_mass(low, te, tc, h1, h2, t2, hot, cold, idle, par, tab)[0] + store - charge
    f_high = circuit_mass(high, te, tc, h1, h2, t2, hot, cold, idle, par, tab)[0] + store - charge
    if f_low <= 0.0:
        return low
    if f_high >= 0.0:
        return high
    x = 0.5 * (low + high)
    for k in range(60):
        x = low + (high - low) * f_low / (f_low - f_high)
        if k % 3 == 2:
            x = 0.5 * (low + high)
        f = circuit_mass(x, te, tc, h1, h2, t2, hot, cold, idle, par, tab)[0] + store - charge
        if f > 0.0:
            low = x
            f_low = f
        else:
            high = x
            f_high = f
        if abs(f) < 0.1 * _SETTLED * charge:
            break
    return x


@inner_jit
def _balance(
    charge: float, hot: float, cold: float, idle: float, t_sink: float, par: Floats, tab: Floats, out: Floats
) -> float:
    """Note level, mass missing and subcooling of a solved point; return the liquid's enthalpy that would fit."""
    te = out[cn.OUT_T_EVAP]
    tc = out[cn.OUT_T_COND]
    h1 = out[cn.OUT_H1]
    h2 = out[cn.OUT_H2]
    t2 = out[cn.OUT_T_DISCHARGE]
    h3 = out[cn.OUT_H3]
    _, _, _, _, h_v, _, h_l, h_l_c = saturated_side(tc, tab[TAB_BULK], tab)
    if par[cn.PAR_H3_SHIFT] != 0.0:
        out[cn.OUT_SUBCOOLING] = (h_l - h3) / h_l_c
    mass, empty, full = circuit_mass(h3, te, tc, h1, h2, t2, hot, cold, idle, par, tab)
    left = charge - mass
    if full > empty:
        out[cn.OUT_LEVEL] = min(max((left - empty) / (full - empty), 0.0), 1.0)
    out[cn.OUT_CHARGE_ERROR_KG] = left - min(max(left, empty), full)
    usual = h3 - par[cn.PAR_H3_SHIFT]
    if usual != h3:
        mass = circuit_mass(usual, te, tc, h1, h2, t2, hot, cold, idle, par, tab)[0]
    left = charge - mass
    if left < empty:
        out[cn.OUT_CHARGE_SHORT] = 1.0
        top = h_l + _WETTEST * (h_v - h_l)
        return _liquid_that_fits(charge, empty, usual, top, te, tc, h1, h2, t2, hot, cold, idle, par, tab)
    if left > full:
        out[cn.OUT_CHARGE_SHORT] = -1.0
        bottom = min(h_l - h_l_c * max(tc - t_sink, 0.0), usual)
        return _liquid_that_fits(charge, full, bottom, usual, te, tc, h1, h2, t2, hot, cold, idle, par, tab)
    out[cn.OUT_CHARGE_SHORT] = 0.0
    return usual


@kernel_jit
def solve_charged(
    speed_hz: float, n_port: int, t_wall: Floats, ua_hot: Floats, ua_cold: Floats, par: Floats, tab: Floats, u: Floats,
    q: Floats, dq: Floats, out: Floats, work: Floats, elsewhere_kg: float,
) -> int:  # fmt: skip
    """Solve the circuit as `solve_circuit` does, with the liquid before the valve that the charge allows.

    elsewhere_kg : refrigerant that takes no part (liquid gathered in the accumulator while the car stood).
    `par` is in and out: its PAR_H3_SHIFT and PAR_P_BYPASS_PA are where the next step starts. Besides what
    solve_circuit writes: OUT_LEVEL, OUT_CHARGE_ERROR_KG, OUT_CHARGE_SHORT, OUT_SUBCOOLING as it is.
    """
    out[cn.OUT_LEVEL] = np.nan
    out[cn.OUT_CHARGE_SHORT] = 0.0
    out[cn.OUT_CHARGE_ERROR_KG] = 0.0
    if not par[cn.PAR_CHARGE] > 0.0:
        return solve_circuit(speed_hz, n_port, t_wall, ua_hot, ua_cold, par, tab, u, q, dq, out, work)
    at = np.uint64(par[cn.PAR_CHARGE])
    hot, cold, idle = _volumes(n_port, ua_hot, ua_cold, par)
    if cold <= 0.0 and par[at + CH_HOT_GAS_KG] > 0.0:
        return _solve_hot_gas(
            speed_hz, n_port, t_wall, ua_hot, ua_cold, par, tab, u, q, dq, out, work, hot, idle
        )  # fmt: skip
    charge = par[at + CH_MASS_KG] - elsewhere_kg
    t_sink = 1e9
    for k in range(np.uint64(n_port)):
        if ua_hot[k] > 0.0:
            t_sink = min(t_sink, t_wall[k])
    status = CIRCUIT_RUNS
    for _ in range(_ROUNDS):
        status = solve_circuit(speed_hz, n_port, t_wall, ua_hot, ua_cold, par, tab, u, q, dq, out, work)
        if status != CIRCUIT_RUNS:
            par[cn.PAR_H3_SHIFT] = 0.0
            break
        fits = _balance(charge, hot, cold, idle, t_sink, par, tab, out)
        move = fits - out[cn.OUT_H3]
        close = abs(move) < _CLOSE_J_PER_KG
        par[cn.PAR_H3_SHIFT] = fits - (out[cn.OUT_H3] - par[cn.PAR_H3_SHIFT])
        if close:
            break
    return status


@inner_jit
def _solve_hot_gas(
    speed_hz: float, n_port: int, t_wall: Floats, ua_hot: Floats, ua_cold: Floats, par: Floats, tab: Floats, u: Floats,
    q: Floats, dq: Floats, out: Floats, work: Floats, hot: float, idle: float,
) -> int:  # fmt: skip
    """Solve the hot-gas cycle at the suction pressure at which its mass is that which takes part."""
    charge = par[np.uint64(par[cn.PAR_CHARGE]) + CH_HOT_GAS_KG]
    par[cn.PAR_H3_SHIFT] = 0.0
    least = par[cn.PAR_P_SUCTION_MIN_PA] * 1.001
    most = 0.5 * par[cn.PAR_P_DISCHARGE_MAX_PA]
    p = min(max(par[cn.PAR_P_BYPASS_PA], least), most)
    slope = 1.0
    last_p = 0.0
    last = 0.0
    status = CIRCUIT_RUNS
    for k in range(2 * _ROUNDS):
        par[cn.PAR_P_BYPASS_PA] = p
        status = solve_circuit(speed_hz, n_port, t_wall, ua_hot, ua_cold, par, tab, u, q, dq, out, work)
        if status != CIRCUIT_RUNS:
            break
        h1 = out[cn.OUT_H1]
        te = out[cn.OUT_T_EVAP]
        tc = out[cn.OUT_T_COND]
        mass, vapour, _ = circuit_mass(
            h1, te, tc, h1, out[cn.OUT_H2], out[cn.OUT_T_DISCHARGE], hot, 0.0, idle, par, tab
        )
        found = math.log((mass + vapour) / charge)
        out[cn.OUT_CHARGE_ERROR_KG] = charge - mass - vapour
        out[cn.OUT_CHARGE_SHORT] = 0.0 if abs(found) < _MISSED else math.copysign(1.0, found)
        if abs(found) < _SETTLED:
            break
        if k > 0 and p != last_p:
            slope = min(max((found - last) / (math.log(p) - math.log(last_p)), 0.2), 5.0)
        last_p = p
        last = found
        p = min(max(p * math.exp(min(max(-found / slope, -0.7), 0.7)), least), most)
        if p == last_p:
            break
    return status
