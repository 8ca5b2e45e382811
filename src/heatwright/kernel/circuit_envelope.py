"""Which kind of point the circuit is in, and the greatest speed that keeps the envelope.

The kinds, their equations and the envelope stand at the head of `kernel/circuit.py`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from heatwright.kernel import circuit_names as cn
from heatwright.kernel.circuit_point import GAP_K, PIN_ROOM, SUCTION_MOST, bracket, newton
from heatwright.kernel.status import (
    CIRCUIT_HELD_OFF,
    CIRCUIT_NOT_SOLVED,
    CIRCUIT_RUNS,
    LIMIT_DISCHARGE_PRESSURE,
    LIMIT_DISCHARGE_TEMPERATURE,
    LIMIT_LOW_LIFT,
    LIMIT_NONE,
    LIMIT_POWER,
    LIMIT_PRESSURE_RATIO,
    LIMIT_SUCTION_MOST,
    LIMIT_SUCTION_PRESSURE,
    LIMIT_UNSOLVED,
)
from heatwright.physics.jit import inner_jit
from heatwright.physics.refrigerant import TAB_P_LOW_MAX_PA, TAB_T_MAX, TAB_T_MIN, gas_temperature

Floats = NDArray[np.float64]

_SHARE_ROOM = 1e-6
_ENVELOPE_ROOM = 2e-3
_SPEED_ROOM = 1e-3
_TRIALS = 40
_ATTEMPTS = 10


@inner_jit
def _other_kind(kind: int, par: Floats, tab: Floats, work: Floats) -> int:
    """Return the kind that a solved point belongs to: its own, or the neighbour whose bound it breaks."""
    starved = work[cn.AT_DRAWN] <= work[cn.AT_QC] * (1.0 + _SHARE_ROOM)
    drawn = work[cn.AT_DRAWN] if kind < cn.BYPASS else 0.0
    slowed = drawn + work[cn.AT_GAS] <= work[cn.AT_QH] * (1.0 + _SHARE_ROOM)
    p_least = par[cn.PAR_P_SUCTION_MIN_PA]
    if kind == cn.FREE:
        if work[cn.AT_HIGH] - work[cn.AT_LOW] < par[cn.PAR_P_LIFT_MIN_PA] * (1.0 - 1e-9):
            return cn.PINNED
        if work[cn.AT_LOW] > SUCTION_MOST * tab[TAB_P_LOW_MAX_PA]:
            return cn.TIED
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
            other = _other_kind(kind, par, tab, work)
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
        elif ended == LIMIT_SUCTION_MOST and kind == cn.FREE:
            kind = cn.TIED
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
def find_speed(
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
    if (  # the excess jumps: the greatest speed found below that
        good > 0.0
        and _solve_at(good, bypass, source, sink, n_port, par, tab, u, out, work) == LIMIT_NONE
        and _excess(int(u[cn.U_KIND]), par, tab, out, work)[0] <= 0.0
    ):
        u[cn.U_SPEED] = good
        out[cn.OUT_SPEED] = good
        return CIRCUIT_RUNS
    if good > 0.0 or held in (LIMIT_NONE, LIMIT_UNSOLVED):
        out[cn.OUT_LIMIT] = float(LIMIT_UNSOLVED)
        return CIRCUIT_NOT_SOLVED
    return CIRCUIT_HELD_OFF
