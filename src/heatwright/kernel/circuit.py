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
                    or p_low = the greatest there is (R744)
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
from heatwright.kernel.circuit_envelope import find_speed
from heatwright.kernel.circuit_point import SUCTION_MOST
from heatwright.kernel.status import (
    CIRCUIT_HELD_OFF,
    CIRCUIT_OFF,
    CIRCUIT_RUNS,
    LIMIT_LOW_LIFT,
    LIMIT_NO_SINK,
    LIMIT_NO_SOURCE,
    LIMIT_NONE,
    LIMIT_SUCTION_MOST,
)
from heatwright.physics.jit import inner_jit, kernel_jit
from heatwright.physics.refrigerant import (
    TAB_LOW,
    TAB_P_LOW_MAX_PA,
    TAB_SUBCOOLING,
    TAB_SUPERHEAT,
    TAB_T_LOW_MAX,
    TAB_T_MIN,
    saturated_side,
)
from heatwright.physics.zones import STABLE_SHARE

Floats = NDArray[np.float64]


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
    coldest = tab[TAB_T_LOW_MAX]
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
    Returns
        CIRCUIT_RUNS: both equations hold (Newton step below 1e-5 K); out[OUT_LIMIT] names what cut the speed
        or closed the valve.  Any other status: q and dq are 0, the next guess is at the walls, the compressor
        counts as off; out[OUT_LIMIT] tells why.
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
            work[cn.AT_EXTRA] = u[cn.U_EXTRA]
            status = find_speed(speed_hz, bypass, source, sink, n_port, par, tab, u, out, work)
        out[cn.OUT_EVALUATIONS] = work[cn.AT_COUNT]
    if status != CIRCUIT_RUNS:
        _rest(n_port, t_wall, tab, u, q, dq, out)
        return status
    kind = int(u[cn.U_KIND])
    total = _heats(kind, n_port, q, dq, out, work)
    out[cn.OUT_KIND] = u[cn.U_KIND]
    if kind != cn.FREE and kind != cn.BYPASS and out[cn.OUT_LIMIT] == float(LIMIT_NONE):
        most = kind == cn.TIED and work[cn.AT_LOW] > (SUCTION_MOST - 1e-4) * tab[TAB_P_LOW_MAX_PA]
        out[cn.OUT_LIMIT] = float(LIMIT_SUCTION_MOST if most else LIMIT_LOW_LIFT)
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
    zones = par[cn.PAR_ZONES] > 0.0
    superheat = work[cn.AT_SUPERHEAT] if zones else tab[TAB_SUPERHEAT]
    suction = work[cn.AT_SUCTION] if zones else tab[TAB_SUPERHEAT]
    out[cn.OUT_SUPERHEAT] = superheat
    out[cn.OUT_SUCTION_SUPERHEAT] = suction
    out[cn.OUT_SUBCOOLING] = work[cn.AT_SUBCOOLING] if zones else tab[TAB_SUBCOOLING]
    out[cn.OUT_SUPERHEAT_ROOM] = source_max - work[cn.AT_TE] - superheat
    out[cn.OUT_WET_MARGIN] = suction - (STABLE_SHARE * work[cn.AT_D] if zones and superheat > 0.0 else 0.0)
    return status
