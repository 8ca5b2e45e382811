"""The circuit's equations at one speed: the point, the two balances with their Jacobian, Newton, bracket.

The kinds of point and what their equations mean stand in `kernel/circuit.py`.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from heatwright.kernel import circuit_names as cn
from heatwright.kernel.mapped import take_map
from heatwright.kernel.status import (
    LIMIT_DISCHARGE_PRESSURE,
    LIMIT_LOW_LIFT,
    LIMIT_NONE,
    LIMIT_SUCTION_MOST,
    LIMIT_SUCTION_PRESSURE,
    LIMIT_UNSOLVED,
)
from heatwright.physics.compressor import gas_power, isentropic_efficiency, volumetric_efficiency
from heatwright.physics.jit import inner_jit
from heatwright.physics.refrigerant import (
    TAB_HIGH,
    TAB_LOW,
    TAB_P_LOW_MAX_PA,
    TAB_T_LOW_MAX,
    TAB_T_MAX,
    TAB_T_MIN,
    gas_enthalpy,
    less_superheat,
    saturated_liquid,
    saturated_side,
)

Floats = NDArray[np.float64]

_SMOOTH_K2 = 0.25
_TOLERANCE_K = 1e-5
_STEP_MAX_K = 8.0
_NEWTON_MAX = 25
PIN_ROOM = 1e-3
GAP_K = 0.5
SUCTION_MOST = 0.998  # of the table's greatest suction pressure: where an evaporator is starved to keep it


@inner_jit
def evaluate_point(te: float, tc: float, speed_hz: float, par: Floats, tab: Floats, pt: Floats) -> None:
    """Fill pt with mass flow, enthalpies, powers and their slopes at two saturation temperatures."""
    ln_low, ln_low_e, h1, h1e, ln_rho, ln_rho_e, s1, s1e = saturated_side(te, tab[TAB_LOW], tab)
    ln_high, ln_high_c, h_v, dh_v, s_v, ds_v, h3, h3c = saturated_side(tc, tab[TAB_HIGH], tab)
    if pt[cn.AT_HALF] != 0.0 or pt[cn.AT_NONE] != 0.0:
        h1, h1e, ln_rho, ln_rho_e, s1, s1e = less_superheat(
            te, pt[cn.AT_HALF], pt[cn.AT_NONE], h1, h1e, ln_rho, ln_rho_e, s1, s1e, tab
        )
    if pt[cn.AT_LESS] > 0.0:
        liquid, liquid_c = saturated_liquid(tc, tab)
        h3 += pt[cn.AT_LESS] * (liquid - h3)
        h3c += pt[cn.AT_LESS] * (liquid_c - h3c)
    h3 += par[cn.PAR_H3_SHIFT]
    low = math.exp(ln_low)
    high = math.exp(ln_high)
    ratio = high / low
    k = cn.PAR_VOLUMETRIC
    fill, fill_r = volumetric_efficiency(ratio, speed_hz, par[k], par[k + 1], par[k + 2], par[k + 3], par[k + 4])
    k = cn.PAR_ISENTROPIC
    eta, eta_r = isentropic_efficiency(
        ratio,
        speed_hz,
        par[k],
        par[k + 1],
        par[k + 2],
        par[k + 3],
        par[k + 4],
        par[k + 5],
        par[k + 6],
        par[k + 7],
    )
    swept = par[cn.PAR_DISPLACEMENT_M3] * speed_hz * math.exp(ln_rho)
    m = fill * swept
    ratio_e = -ratio * ln_low_e
    ratio_c = ratio * ln_high_c
    m_e = m * ln_rho_e + swept * fill_r * ratio_e
    m_c = swept * fill_r * ratio_c
    h2s, h2s_t, t2s = gas_enthalpy(tc, s1 - s_v, h_v, dh_v, tab)
    per_eta = 1.0 / eta
    rise = (h2s - h1) * per_eta
    rise_e = (t2s * s1e - h1e - rise * eta_r * ratio_e) * per_eta
    rise_c = (h2s_t - t2s * ds_v - rise * eta_r * ratio_c) * per_eta
    k = cn.PAR_DRIVE
    gas, gas_p, electric = gas_power(m * rise, par[k], par[k + 1], par[k + 2], par[cn.PAR_GAS_SHARE])
    pt[cn.AT_M] = m
    pt[cn.AT_ME] = m_e
    pt[cn.AT_MC] = m_c
    pt[cn.AT_H1] = h1
    pt[cn.AT_H1E] = h1e
    pt[cn.AT_H3] = h3
    pt[cn.AT_H3C] = h3c
    pt[cn.AT_P] = m * rise
    pt[cn.AT_PE] = m_e * rise + m * rise_e
    pt[cn.AT_PC] = m_c * rise + m * rise_c
    pt[cn.AT_LOW] = low
    pt[cn.AT_LOWE] = low * ln_low_e
    pt[cn.AT_HIGH] = high
    pt[cn.AT_HIGHC] = high * ln_high_c
    pt[cn.AT_GAS] = gas
    pt[cn.AT_GASP] = gas_p
    pt[cn.AT_ELECTRIC] = electric
    if par[cn.PAR_MAP] > 0.0:
        take_map(te, tc, speed_hz, ln_rho, ln_rho_e, par, pt)
    pt[cn.AT_GAS] += par[cn.PAR_GAS_SHARE] * pt[cn.AT_EXTRA]
    pt[cn.AT_ELECTRIC] += pt[cn.AT_EXTRA]


@inner_jit
def balances(
    te: float, tc: float, kind: int, speed_hz: float, n_port: int, par: Floats, tab: Floats, work: Floats
) -> tuple[float, float]:
    """Return r0 and r1 at two saturation temperatures; leave point, port heats and Jacobian in work."""
    evaluate_point(te, tc, speed_hz, par, tab, work)
    n = np.uint64(n_port)
    i_wall = np.uint64(cn.POINT_SIZE)
    i_ua = i_wall + n
    i_heat = i_ua + n + n
    i_slope = i_heat + n + n
    i_shift = i_slope + n + n
    hot = 0.0
    hot_t = 0.0
    cold = 0.0
    cold_t = 0.0
    for k in range(n):
        wall = work[i_wall + k]
        heat = 0.0
        slope = 0.0
        if work[i_ua + k] > 0.0:
            over = tc + work[i_shift + k] - wall
            root = math.sqrt(over * over + _SMOOTH_K2)
            heat = 0.5 * work[i_ua + k] * (over + root)
            slope = heat / root
        work[i_heat + k] = heat
        work[i_slope + k] = slope
        hot += heat
        hot_t += slope
        heat = 0.0
        slope = 0.0
        if work[i_ua + n + k] > 0.0:
            root = math.sqrt((wall - te) * (wall - te) + _SMOOTH_K2)
            heat = 0.5 * work[i_ua + n + k] * (wall - te + root)
            slope = heat / root
        work[i_heat + n + k] = heat
        work[i_slope + n + k] = slope
        cold += heat
        cold_t += slope
    work[cn.AT_QH] = hot
    work[cn.AT_DH] = hot_t
    work[cn.AT_QC] = cold
    work[cn.AT_DC] = cold_t
    work[cn.AT_TE] = te
    work[cn.AT_TC] = tc
    work[cn.AT_COUNT] += 1.0
    span = work[cn.AT_H1] - work[cn.AT_H3]
    drawn = work[cn.AT_M] * span
    drawn_e = work[cn.AT_ME] * span + work[cn.AT_M] * work[cn.AT_H1E]
    drawn_c = work[cn.AT_MC] * span - work[cn.AT_M] * work[cn.AT_H3C]
    work[cn.AT_DRAWN] = drawn
    work[cn.AT_DRAWNE] = drawn_e
    work[cn.AT_DRAWNC] = drawn_c
    p_least = par[cn.PAR_P_SUCTION_MIN_PA] * (1.0 + PIN_ROOM)
    follow = max(work[cn.AT_HIGH] - par[cn.PAR_P_LIFT_MIN_PA], 0.3 * p_least)
    ln_low = math.log(work[cn.AT_LOW])
    ln_low_e = work[cn.AT_LOWE] / work[cn.AT_LOW]
    tie = ln_low - math.log(follow)
    tie_c = -work[cn.AT_HIGHC] / follow
    most = SUCTION_MOST * tab[TAB_P_LOW_MAX_PA]
    if kind == cn.TIED and follow > most:
        tie = ln_low - math.log(most)
        tie_c = 0.0
    r1 = tie
    work[cn.AT_J10] = ln_low_e
    work[cn.AT_J11] = tie_c
    if kind & 1 == 0:
        r1 = work[cn.AT_GAS] - hot
        work[cn.AT_J10] = work[cn.AT_GASP] * work[cn.AT_PE]
        work[cn.AT_J11] = work[cn.AT_GASP] * work[cn.AT_PC] - hot_t
        if kind < cn.BYPASS:
            r1 += drawn
            work[cn.AT_J10] += drawn_e
            work[cn.AT_J11] += drawn_c
    if kind < cn.TIED:
        work[cn.AT_J00] = drawn_e + cold_t
        work[cn.AT_J01] = drawn_c
        return drawn - cold, r1
    r0 = tie
    work[cn.AT_J00] = ln_low_e
    work[cn.AT_J01] = tie_c
    pin = ln_low - math.log(par[cn.PAR_P_BYPASS_PA] if kind == cn.BYPASS else p_least)
    if kind & 1 == 1 or (kind == cn.BYPASS and pin > tie):
        r0 = pin
        work[cn.AT_J01] = 0.0
    return r0, r1


@inner_jit
def newton(
    te: float, tc: float, kind: int, speed_hz: float, n_port: int, par: Floats, tab: Floats, work: Floats
) -> int:
    """Damped Newton from a guess; return LIMIT_NONE when the point in work solves the kind's equations.

    A step is at most 8 K, halved where it turns back.  An unknown held at the table's end while the other has
    settled means that the solution lies outside: LIMIT_SUCTION_PRESSURE or LIMIT_DISCHARGE_PRESSURE.
    LIMIT_LOW_LIFT: te presses against tc.  LIMIT_SUCTION_MOST: te against the low side's end
    (R744).  LIMIT_UNSOLVED: no longer moving, or too many steps.
    """
    t_min = tab[TAB_T_MIN]
    t_max = tab[TAB_T_MAX]
    tc = min(max(tc, t_min + GAP_K), t_max)
    t_low = tab[TAB_T_LOW_MAX]
    te = min(max(te, t_min), tc - GAP_K, t_low)
    last_e = 0.0
    last_c = 0.0
    pressed = 0
    for _ in range(_NEWTON_MAX):
        r0, r1 = balances(te, tc, kind, speed_hz, n_port, par, tab, work)
        per_det = 1.0 / (work[cn.AT_J00] * work[cn.AT_J11] - work[cn.AT_J01] * work[cn.AT_J10])
        step_e = -(r0 * work[cn.AT_J11] - r1 * work[cn.AT_J01]) * per_det
        step_c = -(r1 * work[cn.AT_J00] - r0 * work[cn.AT_J10]) * per_det
        held = LIMIT_NONE
        if te <= t_min and step_e < 0.0:
            held = LIMIT_SUCTION_PRESSURE
            step_e = 0.0
            step_c = -r1 / work[cn.AT_J11]
        if tc >= t_max and step_c > 0.0:
            held = LIMIT_DISCHARGE_PRESSURE
            step_c = 0.0
            step_e = 0.0 if step_e == 0.0 else -r0 / work[cn.AT_J00]
        if te >= t_low and step_e > 0.0:
            held = LIMIT_SUCTION_MOST
            step_e = 0.0
            step_c = -r1 / work[cn.AT_J11]
        if abs(step_e) + abs(step_c) < _TOLERANCE_K:
            return held
        scale = _STEP_MAX_K / max(abs(step_e), abs(step_c), _STEP_MAX_K)
        step_e *= scale
        step_c *= scale
        if step_e * last_e < 0.0 and abs(step_e) > 0.5 * abs(last_e):
            step_e *= 0.5
        if step_c * last_c < 0.0 and abs(step_c) > 0.5 * abs(last_c):
            step_c *= 0.5
        new_c = min(max(tc + step_c, t_min + GAP_K), t_max)
        new_e = min(max(te + step_e, t_min), new_c - GAP_K, t_low)
        pressed = pressed + 1 if new_e == new_c - GAP_K else 0
        last_e = new_e - te
        last_c = new_c - tc
        if pressed > 2 or not abs(last_e) + abs(last_c) > 1e-9:
            break
        te = new_e
        tc = new_c
    return LIMIT_LOW_LIFT if pressed > 2 else LIMIT_UNSOLVED


@inner_jit
def bracket(
    kind: int, low: float, high: float, speed_hz: float, n_port: int, par: Floats, tab: Floats, work: Floats
) -> tuple[float, float]:
    """Return te and tc of a kind's point by nested bisection, tc between low and high.

    At a given tc the first equation rises with te; with te so found, the condensers' balance falls with tc.
    A point beyond the bounds ends at them.
    """
    tc = high
    te = min(high - GAP_K, tab[TAB_T_LOW_MAX])
    for outer in range(34):
        low_e = tab[TAB_T_MIN]
        high_e = min(tc - GAP_K, tab[TAB_T_LOW_MAX])
        te = min(max(te, low_e), high_e)
        r0 = 0.0
        r1 = 0.0
        for _ in range(40):
            r0, r1 = balances(te, tc, kind, speed_hz, n_port, par, tab, work)
            if r0 > 0.0:
                high_e = te
            else:
                low_e = te
            new = te - r0 / work[cn.AT_J00]
            if not (new > low_e and new < high_e):
                new = 0.5 * (low_e + high_e)
            if abs(new - te) < 1e-7:
                break
            te = new
        if kind == cn.FREE:
            r1 -= max(r0, 0.0)
        if r1 > 0.0:
            low = tc
        else:
            high = tc
        if outer == 0 and r1 > 0.0:
            break
        tc = 0.5 * (low + high)
    return te, tc
