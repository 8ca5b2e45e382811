"""The refrigerant circuit solved for one step: any number of exchangers, two unknowns, an envelope.

Every exchanger ("port") has a wall temperature and two conductances: `ua_hot` (it condenses) and `ua_cold`
(it evaporates); 0 means not active in that role.  All hot ports share the condensing temperature tc, all cold
ports the evaporating temperature te.  Heats are UA sp(difference), sp(x) = (x + sqrt(x^2 + 0.25 K^2)) / 2, so
that an exchanger never runs backwards.  te and tc follow from two equations, solved by Newton's rule with an
analytic Jacobian.  Which two is the kind of the point:

    FREE            m (h1 - h3) = sum(cold)         m (h1 - h3) + P_gas = sum(hot)

P_gas is shaft power and the gas's share of the drive's loss.  Where that would leave less than the least pressure
difference (source warmer than sink, or both very cold) the expansion valve closes further:

    TIED            p_high - p_low = least          m (h1 - h3) + P_gas = sum(hot)     evaporators starved
    PINNED          p_low = least suction           p_high - p_low = least             and condensers slowed
    LIFTED          m (h1 - h3) = sum(cold)         p_high - p_low = least             condensers slowed

Starved: all cold conductances are reduced by one factor (the opening) so that the balance missing from the row
holds; slowed: the same on the hot side.  With no cold port and a bypass pressure set, all heat is power:

    BYPASS          p_low = bypass, or p_high less the least difference                P_gas = sum(hot)
    BYPASS_PINNED   p_low = least suction           p_high - p_low = least             condensers slowed

A point that breaks the envelope, or that has no solution, is given again at the greatest speed that has one
inside the envelope.  A point that was not solved is never handed out.  Entry: `solve_circuit`.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from heatwright.kernel.circuit_names import (
    AT_COUNT,
    AT_DC,
    AT_DH,
    AT_DRAWN,
    AT_DRAWNC,
    AT_DRAWNE,
    AT_ELECTRIC,
    AT_GAS,
    AT_GASP,
    AT_H1,
    AT_H1E,
    AT_H3,
    AT_H3C,
    AT_HIGH,
    AT_HIGHC,
    AT_J00,
    AT_J01,
    AT_J10,
    AT_J11,
    AT_LOW,
    AT_LOWE,
    AT_M,
    AT_MC,
    AT_ME,
    AT_P,
    AT_PC,
    AT_PE,
    AT_QC,
    AT_QH,
    AT_TC,
    AT_TE,
    BYPASS,
    BYPASS_PINNED,
    FREE,
    LIFTED,
    OUT_ATTEMPTS,
    OUT_EVALUATIONS,
    OUT_H1,
    OUT_H2,
    OUT_H3,
    OUT_HOT_OPENING,
    OUT_KIND,
    OUT_LIMIT,
    OUT_MDOT,
    OUT_OPENING,
    OUT_P_DIFFERENCE,
    OUT_P_ELECTRIC,
    OUT_P_GAS,
    OUT_P_HIGH,
    OUT_P_LOW,
    OUT_P_SHAFT,
    OUT_P_SHELL,
    OUT_RESIDUAL,
    OUT_SIZE,
    OUT_SPEED,
    OUT_SUBCOOLING,
    OUT_SUPERHEAT,
    OUT_SUPERHEAT_ROOM,
    OUT_T_COND,
    OUT_T_DISCHARGE,
    OUT_T_EVAP,
    PAR_DISPLACEMENT_M3,
    PAR_DRIVE,
    PAR_GAS_SHARE,
    PAR_ISENTROPIC,
    PAR_P_BYPASS_PA,
    PAR_P_DISCHARGE_MAX_PA,
    PAR_P_LIFT_MIN_PA,
    PAR_P_SUCTION_MIN_PA,
    PAR_POWER_MAX_W,
    PAR_RATIO_MAX,
    PAR_SPEED_MIN_HZ,
    PAR_T_DISCHARGE_MAX_K,
    PAR_VOLUMETRIC,
    PINNED,
    POINT_SIZE,
    SPEED_OFF_HZ,
    TIED,
    U_KIND,
    U_SPEED,
    U_T_COND,
    U_T_EVAP,
)
from heatwright.kernel.status import (
    CIRCUIT_HELD_OFF,
    CIRCUIT_NOT_SOLVED,
    CIRCUIT_OFF,
    CIRCUIT_RUNS,
    LIMIT_DISCHARGE_PRESSURE,
    LIMIT_DISCHARGE_TEMPERATURE,
    LIMIT_LOW_LIFT,
    LIMIT_NO_SINK,
    LIMIT_NO_SOURCE,
    LIMIT_NONE,
    LIMIT_POWER,
    LIMIT_PRESSURE_RATIO,
    LIMIT_SUCTION_PRESSURE,
    LIMIT_UNSOLVED,
)
from heatwright.physics.compressor import gas_power, isentropic_efficiency, volumetric_efficiency
from heatwright.physics.jit import kernel_jit
from heatwright.physics.refrigerant import (
    TAB_HIGH,
    TAB_LOW,
    TAB_SUBCOOLING,
    TAB_SUPERHEAT,
    TAB_T_MAX,
    TAB_T_MIN,
    gas_enthalpy,
    gas_temperature,
    saturated_side,
)

Floats = NDArray[np.float64]

_SMOOTH_K2 = 0.25
_TOLERANCE_K = 1e-5
_STEP_MAX_K = 8.0
_NEWTON_MAX = 25
_GAP_K = 0.5
_PIN_ROOM = 1e-3
_SHARE_ROOM = 1e-6
_ENVELOPE_ROOM = 2e-3
_SPEED_ROOM = 1e-3
_TRIALS = 40
_ATTEMPTS = 10


@kernel_jit
def evaluate_point(te: float, tc: float, speed_hz: float, par: Floats, tab: Floats, pt: Floats) -> None:
    """Fill pt with mass flow, enthalpies, powers and their slopes at two saturation temperatures."""
    ln_low, ln_low_e, h1, h1e, ln_rho, ln_rho_e, s1, s1e = saturated_side(te, tab[TAB_LOW], tab)
    ln_high, ln_high_c, h_v, dh_v, s_v, ds_v, h3, h3c = saturated_side(tc, tab[TAB_HIGH], tab)
    low = math.exp(ln_low)
    high = math.exp(ln_high)
    ratio = high / low
    k = PAR_VOLUMETRIC
    fill, fill_r = volumetric_efficiency(
        ratio, speed_hz, par[k], par[k + 1], par[k + 2], par[k + 3], par[k + 4]
    )
    k = PAR_ISENTROPIC
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
    swept = par[PAR_DISPLACEMENT_M3] * speed_hz * math.exp(ln_rho)
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
    k = PAR_DRIVE
    gas, gas_p, electric = gas_power(m * rise, par[k], par[k + 1], par[k + 2], par[PAR_GAS_SHARE])
    pt[AT_M] = m
    pt[AT_ME] = m_e
    pt[AT_MC] = m_c
    pt[AT_H1] = h1
    pt[AT_H1E] = h1e
    pt[AT_H3] = h3
    pt[AT_H3C] = h3c
    pt[AT_P] = m * rise
    pt[AT_PE] = m_e * rise + m * rise_e
    pt[AT_PC] = m_c * rise + m * rise_c
    pt[AT_LOW] = low
    pt[AT_LOWE] = low * ln_low_e
    pt[AT_HIGH] = high
    pt[AT_HIGHC] = high * ln_high_c
    pt[AT_GAS] = gas
    pt[AT_GASP] = gas_p
    pt[AT_ELECTRIC] = electric


@kernel_jit
def balances(
    te: float, tc: float, kind: int, speed_hz: float, n_port: int, par: Floats, tab: Floats, work: Floats
) -> tuple[float, float]:
    """Return r0 and r1 at two saturation temperatures; leave point, port heats and Jacobian in work."""
    evaluate_point(te, tc, speed_hz, par, tab, work)
    n = np.uint64(n_port)
    i_wall = np.uint64(POINT_SIZE)
    i_ua = i_wall + n
    i_heat = i_ua + n + n
    i_slope = i_heat + n + n
    hot = 0.0
    hot_t = 0.0
    cold = 0.0
    cold_t = 0.0
    for k in range(n):
        wall = work[i_wall + k]
        heat = 0.0
        slope = 0.0
        if work[i_ua + k] > 0.0:
            root = math.sqrt((tc - wall) * (tc - wall) + _SMOOTH_K2)
            heat = 0.5 * work[i_ua + k] * (tc - wall + root)
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
    work[AT_QH] = hot
    work[AT_DH] = hot_t
    work[AT_QC] = cold
    work[AT_DC] = cold_t
    work[AT_TE] = te
    work[AT_TC] = tc
    work[AT_COUNT] += 1.0
    span = work[AT_H1] - work[AT_H3]
    drawn = work[AT_M] * span
    drawn_e = work[AT_ME] * span + work[AT_M] * work[AT_H1E]
    drawn_c = work[AT_MC] * span - work[AT_M] * work[AT_H3C]
    work[AT_DRAWN] = drawn
    work[AT_DRAWNE] = drawn_e
    work[AT_DRAWNC] = drawn_c
    p_least = par[PAR_P_SUCTION_MIN_PA] * (1.0 + _PIN_ROOM)
    follow = max(work[AT_HIGH] - par[PAR_P_LIFT_MIN_PA], 0.3 * p_least)
    ln_low = math.log(work[AT_LOW])
    ln_low_e = work[AT_LOWE] / work[AT_LOW]
    tie = ln_low - math.log(follow)
    tie_c = -work[AT_HIGHC] / follow
    r1 = tie
    work[AT_J10] = ln_low_e
    work[AT_J11] = tie_c
    if kind & 1 == 0:
        r1 = work[AT_GAS] - hot
        work[AT_J10] = work[AT_GASP] * work[AT_PE]
        work[AT_J11] = work[AT_GASP] * work[AT_PC] - hot_t
        if kind < BYPASS:
            r1 += drawn
            work[AT_J10] += drawn_e
            work[AT_J11] += drawn_c
    if kind < TIED:
        work[AT_J00] = drawn_e + cold_t
        work[AT_J01] = drawn_c
        return drawn - cold, r1
    r0 = tie
    work[AT_J00] = ln_low_e
    work[AT_J01] = tie_c
    pin = ln_low - math.log(par[PAR_P_BYPASS_PA] if kind == BYPASS else p_least)
    if kind & 1 == 1 or (kind == BYPASS and pin > tie):
        r0 = pin
        work[AT_J01] = 0.0
    return r0, r1


@kernel_jit
def _newton(
    te: float, tc: float, kind: int, speed_hz: float, n_port: int, par: Floats, tab: Floats, work: Floats
) -> int:
    """Damped Newton from a guess; return LIMIT_NONE when the point in work solves the kind's equations.

    A step is at most 8 K, halved where it turns back.  An unknown held at the table's end while the other has
    settled means that the solution lies outside: LIMIT_SUCTION_PRESSURE or LIMIT_DISCHARGE_PRESSURE.
    LIMIT_LOW_LIFT: te presses against tc.  LIMIT_UNSOLVED: no longer moving, or too many steps.
    """
    t_min = tab[TAB_T_MIN]
    t_max = tab[TAB_T_MAX]
    tc = min(max(tc, t_min + _GAP_K), t_max)
    te = min(max(te, t_min), tc - _GAP_K)
    last_e = 0.0
    last_c = 0.0
    pressed = 0
    for _ in range(_NEWTON_MAX):
        r0, r1 = balances(te, tc, kind, speed_hz, n_port, par, tab, work)
        per_det = 1.0 / (work[AT_J00] * work[AT_J11] - work[AT_J01] * work[AT_J10])
        step_e = -(r0 * work[AT_J11] - r1 * work[AT_J01]) * per_det
        step_c = -(r1 * work[AT_J00] - r0 * work[AT_J10]) * per_det
        held = LIMIT_NONE
        if te <= t_min and step_e < 0.0:
            held = LIMIT_SUCTION_PRESSURE
            step_e = 0.0
            step_c = -r1 / work[AT_J11]
        if tc >= t_max and step_c > 0.0:
            held = LIMIT_DISCHARGE_PRESSURE
            step_c = 0.0
            step_e = 0.0 if step_e == 0.0 else -r0 / work[AT_J00]
        if abs(step_e) + abs(step_c) < _TOLERANCE_K:
            return held
        scale = _STEP_MAX_K / max(abs(step_e), abs(step_c), _STEP_MAX_K)
        step_e *= scale
        step_c *= scale
        if step_e * last_e < 0.0 and abs(step_e) > 0.5 * abs(last_e):
            step_e *= 0.5
        if step_c * last_c < 0.0 and abs(step_c) > 0.5 * abs(last_c):
            step_c *= 0.5
        new_c = min(max(tc + step_c, t_min + _GAP_K), t_max)
        new_e = min(max(te + step_e, t_min), new_c - _GAP_K)
        pressed = pressed + 1 if new_e == new_c - _GAP_K else 0
        last_e = new_e - te
        last_c = new_c - tc
        if pressed > 2 or not abs(last_e) + abs(last_c) > 1e-9:
            break
        te = new_e
        tc = new_c
    return LIMIT_LOW_LIFT if pressed > 2 else LIMIT_UNSOLVED


@kernel_jit
def _bracket(
    kind: int, low: float, high: float, speed_hz: float, n_port: int, par: Floats, tab: Floats, work: Floats
) -> tuple[float, float]:
    """Return te and tc of a kind's point by nested bisection, tc between low and high.

    At a given tc the first equation rises with te; with te so found, the condensers' balance falls with tc.
    A point beyond the bounds ends at them.
    """
    tc = high
    te = high - _GAP_K
    for outer in range(34):
        low_e = tab[TAB_T_MIN]
        high_e = tc - _GAP_K
        te = min(max(te, low_e), high_e)
        r0 = 0.0
        r1 = 0.0
        for _ in range(40):
            r0, r1 = balances(te, tc, kind, speed_hz, n_port, par, tab, work)
            if r0 > 0.0:
                high_e = te
            else:
                low_e = te
            new = te - r0 / work[AT_J00]
            if not (new > low_e and new < high_e):
                new = 0.5 * (low_e + high_e)
            if abs(new - te) < 1e-7:
                break
            te = new
        if kind == FREE:
            r1 -= max(r0, 0.0)
        if r1 > 0.0:
            low = tc
        else:
            high = tc
        if outer == 0 and r1 > 0.0:
            break
        tc = 0.5 * (low + high)
    return te, tc


@kernel_jit
def _other_kind(kind: int, par: Floats, work: Floats) -> int:
    """Return the kind that a solved point belongs to: its own, or the neighbour whose bound it breaks."""
    starved = work[AT_DRAWN] <= work[AT_QC] * (1.0 + _SHARE_ROOM)
    drawn = work[AT_DRAWN] if kind < BYPASS else 0.0
    slowed = drawn + work[AT_GAS] <= work[AT_QH] * (1.0 + _SHARE_ROOM)
    p_least = par[PAR_P_SUCTION_MIN_PA]
    if kind == FREE:
        if work[AT_HIGH] - work[AT_LOW] < par[PAR_P_LIFT_MIN_PA] * (1.0 - 1e-9):
            return PINNED
    elif kind == LIFTED:
        if not slowed:
            return FREE
        if work[AT_LOW] > p_least * (1.0 + 2.0 * _PIN_ROOM):
            return PINNED
    elif kind == TIED:
        if work[AT_LOW] < p_least:
            return PINNED
        if not starved:
            return FREE
    elif kind == PINNED:
        if not starved:
            return LIFTED
        if not slowed:
            return TIED
    elif kind == BYPASS:
        if work[AT_LOW] < p_least:
            return BYPASS_PINNED
    elif not slowed:
        return BYPASS
    return kind


@kernel_jit
def _solve_at(
    speed_hz: float,
    bypass: bool,
    source: float,
    sink: float,
    n_port: int,
    par: Floats,
    tab: Floats,
    u: Floats,
    out: Floats,
    work: Floats,
) -> int:
    """Solve at one speed: from u as the kind it was, then as the neighbouring kinds, then from the walls.

    source, sink: coldest active cold wall, warmest active hot wall [K].  A solution goes to u and LIMIT_NONE
    is returned, else why there is none.
    """
    kind = int(u[U_KIND])
    if bypass != (kind >= BYPASS):
        kind = BYPASS if bypass else FREE
    te = u[U_T_EVAP]
    tc = u[U_T_COND]
    tc_top = 0.0
    lost = 0
    for _ in range(_ATTEMPTS):
        out[OUT_ATTEMPTS] += 1.0
        ended = _newton(te, tc, kind, speed_hz, n_port, par, tab, work)
        if ended == LIMIT_NONE:
            other = _other_kind(kind, par, work)
            te = work[AT_TE]
            tc = work[AT_TC]
            if other == kind:
                u[U_T_EVAP] = te
                u[U_T_COND] = tc
                u[U_KIND] = float(kind)
                return ended
            if kind == FREE:
                tc_top = tc
            if kind == PINNED and other == TIED:
                if tc_top > tc:
                    te, tc = _bracket(TIED, tc, tc_top, speed_hz, n_port, par, tab, work)
                else:
                    other = FREE
            kind = other
        elif ended == LIMIT_SUCTION_PRESSURE and (kind == TIED or kind == BYPASS):
            kind += 1
        elif ended == LIMIT_SUCTION_PRESSURE or (
            ended == LIMIT_DISCHARGE_PRESSURE and (kind != TIED or work[AT_DRAWN] <= work[AT_QC])
        ):
            return ended
        elif bypass or (lost == 0 and ended != LIMIT_LOW_LIFT):
            lost += 1
            kind = BYPASS if bypass else FREE
            te = source - 8.0
            tc = sink + 12.0
        elif lost < 2:
            lost = 2
            kind = FREE
            te, tc = _bracket(FREE, tab[TAB_T_MIN] + _GAP_K, tab[TAB_T_MAX], speed_hz, n_port, par, tab, work)
            if te < tab[TAB_T_MIN] + 1e-4:
                return LIMIT_SUCTION_PRESSURE
            if tc >= tab[TAB_T_MAX]:
                return LIMIT_DISCHARGE_PRESSURE
            if tc - te < 2.0 * _GAP_K:
                kind = PINNED
                tc_top = tc
        else:
            return LIMIT_UNSOLVED
        if lost > 2:
            return LIMIT_UNSOLVED
    return LIMIT_UNSOLVED


@kernel_jit
def _excess(kind: int, par: Floats, tab: Floats, out: Floats, work: Floats) -> tuple[float, int]:
    """Return the greatest relative excess over the envelope (negative: room left) and whose it is."""
    h2 = work[AT_H1] + work[AT_GAS] / work[AT_M]
    t2, _ = gas_temperature(work[AT_TC], h2, tab)
    out[OUT_H2] = h2
    out[OUT_T_DISCHARGE] = t2
    worst = -1.0
    limit = LIMIT_SUCTION_PRESSURE
    if kind != PINNED and kind != BYPASS_PINNED:
        worst = 1.0 - work[AT_LOW] / par[PAR_P_SUCTION_MIN_PA]
    x = work[AT_HIGH] / par[PAR_P_DISCHARGE_MAX_PA] - 1.0
    if x > worst:
        worst = x
        limit = LIMIT_DISCHARGE_PRESSURE
    x = (t2 - par[PAR_T_DISCHARGE_MAX_K]) / 100.0
    if x > worst:
        worst = x
        limit = LIMIT_DISCHARGE_TEMPERATURE
    x = work[AT_HIGH] / (work[AT_LOW] * par[PAR_RATIO_MAX]) - 1.0
    if x > worst:
        worst = x
        limit = LIMIT_PRESSURE_RATIO
    x = work[AT_ELECTRIC] / par[PAR_POWER_MAX_W] - 1.0
    if x > worst:
        worst = x
        limit = LIMIT_POWER
    return worst, limit


@kernel_jit
def _find_speed(
    asked: float,
    bypass: bool,
    source: float,
    sink: float,
    n_port: int,
    par: Floats,
    tab: Floats,
    u: Floats,
    out: Floats,
    work: Floats,
) -> int:
    """Solve at the asked speed or the greatest below it that keeps the envelope; return a circuit status.

    A bracketed secant on the excess over the envelope; a speed without solution counts as too high.
    The search starts at the last step's speed where that was cut.
    """
    least = min(asked, par[PAR_SPEED_MIN_HZ])
    aim = -0.5 * _ENVELOPE_ROOM
    good = -1.0
    good_excess = 0.0
    bad = 2.0 * asked
    bad_excess = 1.0
    held = LIMIT_NONE
    speed = min(u[U_SPEED], asked) if u[U_SPEED] > least else asked
    for trial in range(_TRIALS):
        limit = _solve_at(speed, bypass, source, sink, n_port, par, tab, u, out, work)
        excess = 1.0
        if limit == LIMIT_NONE:
            excess, limit = _excess(int(u[U_KIND]), par, tab, out, work)
        if excess <= 0.0:
            full = speed == asked
            if full or excess > -_ENVELOPE_ROOM or bad - speed < _SPEED_ROOM * bad:
                u[U_SPEED] = 0.0 if full else speed
                out[OUT_SPEED] = speed
                out[OUT_LIMIT] = float(LIMIT_NONE if full else (limit if held == LIMIT_NONE else held))
                return CIRCUIT_RUNS
            good = speed
            good_excess = excess
        else:
            bad = speed
            bad_excess = excess
            held = limit
            if speed <= least:
                break
        if bad > asked:
            speed = min(asked, good * (1.0 + min(max(1.2 * (aim - good_excess), 0.01), 0.5)))
        elif good < 0.0:
            speed = max(least, bad * (1.0 - min(max(1.2 * (bad_excess - aim), 0.01), 0.4)))
        elif bad - good < _SPEED_ROOM * bad:
            speed = good
        else:
            part = (aim - good_excess) / (bad_excess - good_excess)
            if trial % 3 == 2 or bad_excess == 1.0:
                part = 0.5
            speed = good + min(max(part, 0.03), 0.97) * (bad - good)
    out[OUT_LIMIT] = float(held)
    if held == LIMIT_UNSOLVED or good > 0.0:
        return CIRCUIT_NOT_SOLVED
    return CIRCUIT_HELD_OFF


@kernel_jit
def _heats(kind: int, n_port: int, q: Floats, dq: Floats, out: Floats, work: Floats) -> float:
    """Write each port's heat and its slopes in all wall temperatures; return sum(hot) - sum(cold)."""
    n = np.uint64(n_port)
    i_heat = np.uint64(POINT_SIZE) + n + n + n
    i_slope = i_heat + n + n
    drawing = 1.0 if kind < BYPASS else 0.0
    opening = drawing
    if kind == TIED or kind == PINNED:
        opening = work[AT_DRAWN] / work[AT_QC]
    hot_opening = 1.0
    if kind & 1 == 1:
        hot_opening = (drawing * work[AT_DRAWN] + work[AT_GAS]) / work[AT_QH]
    out[OUT_OPENING] = opening
    out[OUT_HOT_OPENING] = hot_opening
    per_det = 1.0 / (work[AT_J00] * work[AT_J11] - work[AT_J01] * work[AT_J10])
    total = 0.0
    for j in range(n):
        q[j] = hot_opening * work[i_heat + j] - opening * work[i_heat + n + j]
        total += q[j]
        hot_t = work[i_slope + j]
        cold_t = work[i_slope + n + j]
        r0_j = -cold_t if kind < TIED else 0.0
        r1_j = hot_t if kind & 1 == 0 else 0.0
        te_j = (work[AT_J01] * r1_j - work[AT_J11] * r0_j) * per_det
        tc_j = (work[AT_J10] * r0_j - work[AT_J00] * r1_j) * per_det
        drawn_j = drawing * (work[AT_DRAWNE] * te_j + work[AT_DRAWNC] * tc_j)
        starving = 0.0
        if kind == TIED or kind == PINNED:
            starving = (drawn_j - opening * (cold_t - work[AT_DC] * te_j)) / work[AT_QC]
        slowing = 0.0
        if kind & 1 == 1:
            gas_j = work[AT_GASP] * (work[AT_PE] * te_j + work[AT_PC] * tc_j)
            slowing = (drawn_j + gas_j - hot_opening * (work[AT_DH] * tc_j - hot_t)) / work[AT_QH]
        for k in range(n):
            hot = hot_opening * work[i_slope + k] * tc_j + slowing * work[i_heat + k]
            cold = starving * work[i_heat + n + k] - opening * work[i_slope + n + k] * te_j
            dq[k * n + j] = hot - cold
        dq[j * n + j] -= hot_opening * hot_t + opening * cold_t
    return total


@kernel_jit
def _rest(n_port: int, t_wall: Floats, tab: Floats, u: Floats, q: Floats, dq: Floats, out: Floats) -> None:
    """Write the circuit at rest: no heat, pressures equal at the coldest wall, guesses at the walls."""
    n = np.uint64(n_port)
    coldest = tab[TAB_T_MAX]
    warmest = tab[TAB_T_MIN]
    for k in range(n):
        q[k] = 0.0
        coldest = min(coldest, t_wall[k])
        warmest = max(warmest, t_wall[k])
        for j in range(n):
            dq[k * n + j] = 0.0
    for k in range(np.uint64(OUT_SIZE)):
        if k != OUT_LIMIT and k != OUT_EVALUATIONS and k != OUT_ATTEMPTS:
            out[k] = 0.0
    u[U_T_EVAP] = coldest - 3.0
    u[U_T_COND] = warmest + 3.0
    u[U_SPEED] = 0.0
    u[U_KIND] = 0.0
    coldest = max(coldest, tab[TAB_T_MIN])
    p = math.exp(saturated_side(coldest, tab[TAB_LOW], tab)[0])
    out[OUT_P_LOW] = p
    out[OUT_P_HIGH] = p
    out[OUT_T_EVAP] = coldest
    out[OUT_T_COND] = coldest
    out[OUT_OPENING] = 1.0
    out[OUT_HOT_OPENING] = 1.0


@kernel_jit
def solve_circuit(
    speed_hz: float,
    n_port: int,
    t_wall: Floats,
    ua_hot: Floats,
    ua_cold: Floats,
    par: Floats,
    tab: Floats,
    u: Floats,
    q: Floats,
    dq: Floats,
    out: Floats,
    work: Floats,
) -> int:
    """Solve the circuit for one step and return a CIRCUIT_ status (kernel/status.py).

    Parameters
        speed_hz : float   asked shaft speed [1/s]; below SPEED_OFF_HZ the compressor is off
        n_port : int   number of exchangers
        t_wall : array (n_port)   wall temperatures [K]
        ua_hot, ua_cold : arrays (n_port)   conductances as condenser, as evaporator [W/K]; 0 = not in that role
        par : array (PAR_SIZE)   the compressor: indices PAR_ above, made by circuit_parameters
        tab : array   run table of the refrigerant (compiler.tables.run_tables)
        u : array (U_SIZE)   in and out, kept by the caller from step to step: indices U_; start from zeros
        q : array (n_port)   out: heat into each wall [W]; hot positive, cold negative
        dq : array (n_port^2)   out: dq[k n_port + j] = dq_k / dt_wall_j [W/K], by the implicit-function theorem
            at the speed and kind found
        out : array (OUT_SIZE)   out: indices OUT_ above
        work : array (work_size(n_port))   scratch
    Returns
        CIRCUIT_RUNS: both balances hold (Newton step below 1e-5 K); out[OUT_LIMIT] names what cut the speed or
        starved the evaporators.  Any other status: q and dq are 0, the next guess is at the walls, the
        compressor counts as off; out[OUT_LIMIT] tells why.
    """
    n = np.uint64(n_port)
    out[OUT_LIMIT] = float(LIMIT_NONE)
    out[OUT_ATTEMPTS] = 0.0
    out[OUT_EVALUATIONS] = 0.0
    work[AT_COUNT] = 0.0
    status = CIRCUIT_OFF
    source = 1e9
    source_max = 0.0
    sink = 0.0
    row = np.uint64(POINT_SIZE)
    for k in range(n):
        work[row + k] = t_wall[k]
        work[row + n + k] = ua_hot[k]
        work[row + n + n + k] = ua_cold[k]
        if ua_hot[k] > 0.0:
            sink = max(sink, t_wall[k])
        if ua_cold[k] > 0.0:
            source = min(source, t_wall[k])
            source_max = max(source_max, t_wall[k])
    if speed_hz >= SPEED_OFF_HZ:
        bypass = source_max == 0.0 and par[PAR_P_BYPASS_PA] > 0.0
        if bypass:
            source = sink
        if sink == 0.0 or (source_max == 0.0 and not bypass):
            status = CIRCUIT_HELD_OFF
            out[OUT_LIMIT] = float(LIMIT_NO_SINK if sink == 0.0 else LIMIT_NO_SOURCE)
        else:
            if not u[U_T_COND] > 0.0:
                u[U_T_EVAP] = source - 8.0
                u[U_T_COND] = sink + 12.0
            status = _find_speed(speed_hz, bypass, source, sink, n_port, par, tab, u, out, work)
        out[OUT_EVALUATIONS] = work[AT_COUNT]
    if status != CIRCUIT_RUNS:
        _rest(n_port, t_wall, tab, u, q, dq, out)
        return status
    kind = int(u[U_KIND])
    total = _heats(kind, n_port, q, dq, out, work)
    out[OUT_KIND] = u[U_KIND]
    if kind != FREE and kind != BYPASS and out[OUT_LIMIT] == float(LIMIT_NONE):
        out[OUT_LIMIT] = float(LIMIT_LOW_LIFT)
    out[OUT_MDOT] = work[AT_M]
    out[OUT_P_LOW] = work[AT_LOW]
    out[OUT_P_HIGH] = work[AT_HIGH]
    out[OUT_H1] = work[AT_H1]
    out[OUT_H3] = work[AT_H3]
    out[OUT_P_SHAFT] = work[AT_P]
    out[OUT_P_ELECTRIC] = work[AT_ELECTRIC]
    out[OUT_P_GAS] = work[AT_GAS]
    out[OUT_P_SHELL] = work[AT_ELECTRIC] - work[AT_GAS]
    out[OUT_P_DIFFERENCE] = total
    out[OUT_RESIDUAL] = total - work[AT_GAS]
    out[OUT_T_EVAP] = work[AT_TE]
    out[OUT_T_COND] = work[AT_TC]
    out[OUT_SUPERHEAT] = tab[TAB_SUPERHEAT]
    out[OUT_SUBCOOLING] = tab[TAB_SUBCOOLING]
    out[OUT_SUPERHEAT_ROOM] = source_max - work[AT_TE] - tab[TAB_SUPERHEAT]
    return status
