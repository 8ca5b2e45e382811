"""The refrigerant circuit solved for one step: any number of exchangers, two unknowns, an envelope.

Every exchanger ("port") has a wall temperature and two conductances: `ua_hot` (it condenses) and `ua_cold`
(it evaporates); 0 means not active in that role.  All hot ports share the condensing temperature tc, all cold
ports the evaporating temperature te.  Heats are UA sp(difference), sp(x) = (x + sqrt(x^2 + 0.25 K^2)) / 2, so
that an exchanger never runs backwards.  te and tc follow from two equations, solved by Newton's rule with an
analytic Jacobian.  Which two is the kind of the point:

    FREE            m (h1 - h3) = sum(cold)         m (h1 - h3) + P_gas = sum(hot)

P_gas is shaft power and the gas's share of the drive's loss.  Where that would leave less than the least
pressure difference (source warmer than sink, or both very cold) the expansion valve closes further:

    TIED            p_high - p_low = least          m (h1 - h3) + P_gas = sum(hot)     evaporators starved
    PINNED          p_low = least suction           p_high - p_low = least             and condensers slowed
    LIFTED          m (h1 - h3) = sum(cold)         p_high - p_low = least             condensers slowed

Starved: all cold conductances are reduced by one factor (the opening) so that the balance missing from the
row holds; slowed: the same on the hot side.  With no cold port and a bypass pressure set, all heat is power:

    BYPASS          p_low = bypass, or p_high less the least difference                P_gas = sum(hot)
    BYPASS_PINNED   p_low = least suction           p_high - p_low = least             condensers slowed

A point that breaks the envelope, or that has no solution, is given again at the greatest speed that has one
inside the envelope.  A point that was not solved is never handed out.  Entry: `solve_circuit`.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from heatwright.kernel import circuit_names as cn
from heatwright.kernel.circuit_point import GAP_K, PIN_ROOM, bracket, newton
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
from heatwright.physics.jit import inner_jit, kernel_jit
from heatwright.physics.refrigerant import (
    TAB_LOW,
    TAB_SUBCOOLING,
    TAB_SUPERHEAT,
    TAB_T_MAX,
    TAB_T_MIN,
    gas_temperature,
    saturated_side,
)

Floats = NDArray[np.float64]

_SHARE_ROOM = 1e-6
_ENVELOPE_ROOM = 2e-3
_SPEED_ROOM = 1e-3
_TREND_MAX_K = 0.5
_TRIALS = 40
_ATTEMPTS = 10


@inner_jit
def _other_kind(kind: int, par: Floats, work: Floats) -> int:
    """Return the kind that a solved point belongs to: its own, or the neighbour whose bound it breaks."""
    starved = work[cn.AT_DRAWN] <= work[cn.AT_QC] * (1.0 + _SHARE_ROOM)
    drawn = work[cn.AT_DRAWN] if kind < cn.BYPASS else 0.0
    slowed = drawn + work[cn.AT_GAS] <= work[cn.AT_QH] * (1.0 + _SHARE_ROOM)
    p_least = par[cn.PAR_P_SUCTION_MIN_PA]
    if kind == cn.FREE:
        if work[cn.AT_HIGH] - work[cn.AT_LOW] < par[cn.PAR_P_LIFT_MIN_PA] * (1.0 - 1e-9):
            return cn.PINNED
    elif kind == cn.LIFTED:
        if not slowed:
            return cn.FREE
        if work[cn.AT_LOW] > p_least * (1.0 + 2.0 * PIN_ROOM):
            return cn.PINNED
    elif kind == cn.TIED:
        if work[cn.AT_LOW] < p_least:
            return cn.PINNED
        if not starved:
            return cn.FREE
    elif kind == cn.PINNED:
        if not starved:
            return cn.LIFTED
        if not slowed:
            return cn.TIED
    elif kind == cn.BYPASS:
        if work[cn.AT_LOW] < p_least:
            return cn.BYPASS_PINNED
    elif not slowed:
        return cn.BYPASS
    return kind


@inner_jit
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
    kind = int(u[cn.U_KIND])
    if bypass != (kind >= cn.BYPASS):
        kind = cn.BYPASS if bypass else cn.FREE
    te = u[cn.U_T_EVAP]
    tc = u[cn.U_T_COND]
    t_high = tab[TAB_T_MAX]
    from_c = 0.0  # bounds of a bracketing to do before the next Newton run; none while to_c is 0
    to_c = 0.0
    tc_top = 0.0  # where a free point lacks lift: the tied one lies below
    lost = 0
    for _ in range(_ATTEMPTS):
        if to_c > 0.0:
            te, tc = bracket(kind, from_c, to_c, speed_hz, n_port, par, tab, work)
            if kind == cn.FREE:
                if te < tab[TAB_T_MIN] + 1e-4:
                    return LIMIT_SUCTION_PRESSURE
                if tc >= t_high:
                    return LIMIT_DISCHARGE_PRESSURE
                if tc - te < 2.0 * GAP_K:
                    kind = cn.PINNED
                    tc_top = tc
            to_c = 0.0
        out[cn.OUT_ATTEMPTS] += 1.0
        ended = newton(te, tc, kind, speed_hz, n_port, par, tab, work)
        if ended == LIMIT_NONE:
            other = _other_kind(kind, par, work)
            te = work[cn.AT_TE]
            tc = work[cn.AT_TC]
            if other == kind:
                u[cn.U_T_EVAP] = te
                u[cn.U_T_COND] = tc
                u[cn.U_KIND] = float(kind)
                return ended
            if kind == cn.FREE:
                tc_top = tc
            if kind == cn.PINNED and other == cn.TIED:
                if tc_top > tc:
                    from_c = tc
                    to_c = tc_top
                else:
                    other = cn.FREE
            kind = other
        elif ended == LIMIT_SUCTION_PRESSURE and (kind == cn.TIED or kind == cn.BYPASS):
            kind += 1
        elif ended == LIMIT_SUCTION_PRESSURE or (
            ended == LIMIT_DISCHARGE_PRESSURE and (kind != cn.TIED or work[cn.AT_DRAWN] <= work[cn.AT_QC])
        ):
            return ended
        elif lost == 0 and (bypass or ended != LIMIT_LOW_LIFT):
            lost = 1
            kind = cn.BYPASS if bypass else cn.FREE
            te = source - 8.0
            tc = sink + 12.0
        elif lost < 2 and not bypass:
            lost = 2
            kind = cn.FREE
            from_c = tab[TAB_T_MIN] + GAP_K
            to_c = t_high
        else:
            return LIMIT_UNSOLVED
    return LIMIT_UNSOLVED


@inner_jit
def _excess(kind: int, par: Floats, tab: Floats, out: Floats, work: Floats) -> tuple[float, int]:
    """Return the greatest relative excess over the envelope (negative: room left) and whose it is."""
    h2 = work[cn.AT_H1] + work[cn.AT_GAS] / work[cn.AT_M]
    t2, _ = gas_temperature(work[cn.AT_TC], h2, tab)
    out[cn.OUT_H2] = h2
    out[cn.OUT_T_DISCHARGE] = t2
    worst = -1.0
    limit = LIMIT_SUCTION_PRESSURE
    if kind != cn.PINNED and kind != cn.BYPASS_PINNED:
        worst = 1.0 - work[cn.AT_LOW] / par[cn.PAR_P_SUCTION_MIN_PA]
    x = work[cn.AT_HIGH] / par[cn.PAR_P_DISCHARGE_MAX_PA] - 1.0
    if x > worst:
        worst = x
        limit = LIMIT_DISCHARGE_PRESSURE
    x = (t2 - par[cn.PAR_T_DISCHARGE_MAX_K]) / 100.0
    if x > worst:
        worst = x
        limit = LIMIT_DISCHARGE_TEMPERATURE
    x = work[cn.AT_HIGH] / (work[cn.AT_LOW] * par[cn.PAR_RATIO_MAX]) - 1.0
    if x > worst:
        worst = x
        limit = LIMIT_PRESSURE_RATIO
    x = work[cn.AT_ELECTRIC] / par[cn.PAR_POWER_MAX_W] - 1.0
    if x > worst:
        worst = x
        limit = LIMIT_POWER
    return worst, limit


@inner_jit
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
    least = min(asked, par[cn.PAR_SPEED_MIN_HZ])
    aim = -0.5 * _ENVELOPE_ROOM
    good = -1.0
    good_excess = 0.0
    bad = 2.0 * asked
    bad_excess = 1.0
    held = LIMIT_NONE
    speed = min(u[cn.U_SPEED], asked) if u[cn.U_SPEED] > least else asked
    for trial in range(_TRIALS):
        limit = _solve_at(speed, bypass, source, sink, n_port, par, tab, u, out, work)
        excess = 1.0
        if limit == LIMIT_NONE:
            excess, limit = _excess(int(u[cn.U_KIND]), par, tab, out, work)
        if excess <= 0.0:
            full = speed == asked
            close = excess > -_ENVELOPE_ROOM
            if full or close or bad - speed < _SPEED_ROOM * bad:
                u[cn.U_SPEED] = 0.0 if full else speed
                out[cn.OUT_SPEED] = speed
                out[cn.OUT_LIMIT] = float(LIMIT_NONE if full else (limit if close else held))
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
    out[cn.OUT_LIMIT] = float(held)
    if held == LIMIT_UNSOLVED or good > 0.0:
        return CIRCUIT_NOT_SOLVED
    return CIRCUIT_HELD_OFF


@inner_jit
def _heats(kind: int, n_port: int, q: Floats, dq: Floats, out: Floats, work: Floats) -> float:
    """Write each port's heat and its slopes in all wall temperatures; return sum(hot) - sum(cold)."""
    n = np.uint64(n_port)
    i_heat = np.uint64(cn.POINT_SIZE) + n + n + n
    i_slope = i_heat + n + n
    drawing = 1.0 if kind < cn.BYPASS else 0.0
    opening = drawing
    if kind == cn.TIED or kind == cn.PINNED:
        opening = work[cn.AT_DRAWN] / work[cn.AT_QC]
    hot_opening = 1.0
    if kind & 1 == 1:
        hot_opening = (drawing * work[cn.AT_DRAWN] + work[cn.AT_GAS]) / work[cn.AT_QH]
    out[cn.OUT_OPENING] = opening
    out[cn.OUT_HOT_OPENING] = hot_opening
    per_det = 1.0 / (work[cn.AT_J00] * work[cn.AT_J11] - work[cn.AT_J01] * work[cn.AT_J10])
    total = 0.0
    for j in range(n):
        q[j] = hot_opening * work[i_heat + j] - opening * work[i_heat + n + j]
        total += q[j]
        hot_t = work[i_slope + j]
        cold_t = work[i_slope + n + j]
        r0_j = -cold_t if kind < cn.TIED else 0.0
        r1_j = hot_t if kind & 1 == 0 else 0.0
        te_j = (work[cn.AT_J01] * r1_j - work[cn.AT_J11] * r0_j) * per_det
        tc_j = (work[cn.AT_J10] * r0_j - work[cn.AT_J00] * r1_j) * per_det
        drawn_j = drawing * (work[cn.AT_DRAWNE] * te_j + work[cn.AT_DRAWNC] * tc_j)
        starving = 0.0
        if kind == cn.TIED or kind == cn.PINNED:
            starving = (drawn_j - opening * (cold_t - work[cn.AT_DC] * te_j)) / work[cn.AT_QC]
        slowing = 0.0
        if kind & 1 == 1:
            gas_j = work[cn.AT_GASP] * (work[cn.AT_PE] * te_j + work[cn.AT_PC] * tc_j)
            slowing = (drawn_j + gas_j - hot_opening * (work[cn.AT_DH] * tc_j - hot_t)) / work[cn.AT_QH]
        for k in range(n):
            hot = hot_opening * work[i_slope + k] * tc_j + slowing * work[i_heat + k]
            cold = starving * work[i_heat + n + k] - opening * work[i_slope + n + k] * te_j
            dq[k * n + j] = hot - cold
        dq[j * n + j] -= hot_opening * hot_t + opening * cold_t
    return total


@inner_jit
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
    for k in range(np.uint64(cn.OUT_SIZE)):
        if k != cn.OUT_LIMIT and k != cn.OUT_EVALUATIONS and k != cn.OUT_ATTEMPTS:
            out[k] = 0.0
    u[cn.U_T_EVAP] = coldest - 3.0
    u[cn.U_T_COND] = warmest + 3.0
    u[cn.U_SPEED] = 0.0
    u[cn.U_KIND] = 0.0
    u[cn.U_TREND_EVAP] = 0.0
    u[cn.U_TREND_COND] = 0.0
    coldest = max(coldest, tab[TAB_T_MIN])
    p = math.exp(saturated_side(coldest, tab[TAB_LOW], tab)[0])
    out[cn.OUT_P_LOW] = p
    out[cn.OUT_P_HIGH] = p
    out[cn.OUT_T_EVAP] = coldest
    out[cn.OUT_T_COND] = coldest
    out[cn.OUT_OPENING] = 1.0
    out[cn.OUT_HOT_OPENING] = 1.0


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
    follow: bool = False,
) -> int:
    """Solve the circuit for one step and return a CIRCUIT_ status (kernel/status.py).

    Parameters
        speed_hz : float   asked shaft speed [1/s]; below SPEED_OFF_HZ the compressor is off
        n_port : int   number of exchangers
        t_wall : array (n_port)   wall temperatures [K]
        ua_hot, ua_cold : arrays (n_port)   conductance as condenser, evaporator [W/K]; 0 = not in that role
        par : array (PAR_SIZE)   the compressor: indices PAR_ above, made by circuit_parameters
        tab : array   run table of the refrigerant (compiler.tables.run_tables)
        u : array (U_SIZE)   in and out, kept by the caller from step to step: indices U_; start from zeros
        q : array (n_port)   out: heat into each wall [W]; hot positive, cold negative
        dq : array (n_port^2)   out: dq[k n_port + j] = dq_k / dt_wall_j [W/K], by the implicit-function
            theorem at the speed and kind found
        out : array (OUT_SIZE)   out: indices OUT_ above
        work : array (work_size(n_port))   scratch
        follow : bool   guess that te and tc change as they did in the last step (steps of equal length)
    Returns
        CIRCUIT_RUNS: both equations hold (the last Newton step is below 2e-3 K and taken by the slopes);
        out[OUT_LIMIT] names what cut the speed or closed the valve.  Any other status: q and dq are 0, the
        next guess is at the walls, the compressor counts as off; out[OUT_LIMIT] tells why.
    """
    n = np.uint64(n_port)
    out[cn.OUT_LIMIT] = float(LIMIT_NONE)
    out[cn.OUT_ATTEMPTS] = 0.0
    out[cn.OUT_EVALUATIONS] = 0.0
    work[cn.AT_COUNT] = 0.0
    status = CIRCUIT_OFF
    source = 1e9
    source_max = 0.0
    sink = 0.0
    row = np.uint64(cn.POINT_SIZE)
    for k in range(n):
        work[row + k] = t_wall[k]
        work[row + n + k] = ua_hot[k]
        work[row + n + n + k] = ua_cold[k]
        if ua_hot[k] > 0.0:
            sink = max(sink, t_wall[k])
        if ua_cold[k] > 0.0:
            source = min(source, t_wall[k])
            source_max = max(source_max, t_wall[k])
    if speed_hz >= cn.SPEED_OFF_HZ:
        bypass = source_max == 0.0 and par[cn.PAR_P_BYPASS_PA] > 0.0
        if bypass:
            source = sink
        if sink == 0.0 or (source_max == 0.0 and not bypass):
            status = CIRCUIT_HELD_OFF
            out[cn.OUT_LIMIT] = float(LIMIT_NO_SINK if sink == 0.0 else LIMIT_NO_SOURCE)
        else:
            if not u[cn.U_T_COND] > 0.0:
                u[cn.U_T_EVAP] = source - 8.0
                u[cn.U_T_COND] = sink + 12.0
            te_last = u[cn.U_T_EVAP]
            tc_last = u[cn.U_T_COND]
            if follow:
                u[cn.U_T_EVAP] += u[cn.U_TREND_EVAP]
                u[cn.U_T_COND] += u[cn.U_TREND_COND]
            status = _find_speed(speed_hz, bypass, source, sink, n_port, par, tab, u, out, work)
            u[cn.U_TREND_EVAP] = min(max(u[cn.U_T_EVAP] - te_last, -_TREND_MAX_K), _TREND_MAX_K)
            u[cn.U_TREND_COND] = min(max(u[cn.U_T_COND] - tc_last, -_TREND_MAX_K), _TREND_MAX_K)
        out[cn.OUT_EVALUATIONS] = work[cn.AT_COUNT]
    if status != CIRCUIT_RUNS:
        _rest(n_port, t_wall, tab, u, q, dq, out)
        return status
    kind = int(u[cn.U_KIND])
    total = _heats(kind, n_port, q, dq, out, work)
    out[cn.OUT_KIND] = u[cn.U_KIND]
    if kind != cn.FREE and kind != cn.BYPASS and out[cn.OUT_LIMIT] == float(LIMIT_NONE):
        out[cn.OUT_LIMIT] = float(LIMIT_LOW_LIFT)
    out[cn.OUT_MDOT] = work[cn.AT_M]
    out[cn.OUT_P_LOW] = work[cn.AT_LOW]
    out[cn.OUT_P_HIGH] = work[cn.AT_HIGH]
    out[cn.OUT_H1] = work[cn.AT_H1]
    out[cn.OUT_H3] = work[cn.AT_H3]
    out[cn.OUT_P_SHAFT] = work[cn.AT_P]
    out[cn.OUT_P_ELECTRIC] = work[cn.AT_ELECTRIC]
    out[cn.OUT_P_GAS] = work[cn.AT_GAS]
    out[cn.OUT_P_SHELL] = work[cn.AT_ELECTRIC] - work[cn.AT_GAS]
    out[cn.OUT_P_DIFFERENCE] = total
    out[cn.OUT_RESIDUAL] = total - work[cn.AT_GAS]
    out[cn.OUT_T_EVAP] = work[cn.AT_TE]
    out[cn.OUT_T_COND] = work[cn.AT_TC]
    out[cn.OUT_SUPERHEAT] = tab[TAB_SUPERHEAT]
    out[cn.OUT_SUBCOOLING] = tab[TAB_SUBCOOLING]
    out[cn.OUT_SUPERHEAT_ROOM] = source_max - work[cn.AT_TE] - tab[TAB_SUPERHEAT]
    return status
