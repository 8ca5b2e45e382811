"""The best a candidate can do now at its flows: compressors by search, every setting a `point`.

The best found so far stands in the candidate's line.
"""

from __future__ import annotations

import math

from heatwright.kernel import dispatch_names as dn
from heatwright.kernel import plan
from heatwright.kernel.ahead import look, open_step, take_state
from heatwright.kernel.desk import GROUP_COOLANT, NONE, SEEN, SUPPLIES, UNSEEN, Desk
from heatwright.kernel.judge import judge
from heatwright.kernel.plan import Floats, Ints
from heatwright.kernel.point import point
from heatwright.kernel.relevant import relevant
from heatwright.physics.jit import kernel_jit

I_ST = plan.I["st"]
W_TAU, W_ACT, W_MDOT = (plan.W[k] for k in "tau act mdot".split())
STILL_KG_PER_S = 1e-4
LEAST_STEP = 0.2  # of a compressor's speed [1/s]
FAR_STEP = 1.5


@kernel_jit
def find_supply(pi: Ints, w: Floats, d: Desk, c: int) -> None:
    """Mark the coolant that a candidate's flows carry round to the cores in the cabin's air: heat that is coming."""
    marks = d.supply[c]
    for i in range(marks.shape[0]):
        marks[i] = 0
    for i in range(d.cores.shape[0]):
        marks[d.cores[i]] = SUPPLIES
    st = plan.int_view(pi, I_ST)
    mdot = plan.work_view(pi, w, W_MDOT)
    moved = True
    while moved:
        moved = False
        for e in range(st.shape[0] // 5):
            a = st[5 * e]
            b = st[5 * e + 1]
            if d.group[a] != GROUP_COOLANT or d.group[b] != GROUP_COOLANT or abs(mdot[st[5 * e + 2]]) < STILL_KG_PER_S:
                continue
            if marks[a] != marks[b]:
                marks[a] = SUPPLIES
                marks[b] = SUPPLIES
                moved = True
    still = True
    for i in range(d.cores.shape[0]):
        for e in range(st.shape[0] // 5):
            if (st[5 * e] == d.cores[i] or st[5 * e + 1] == d.cores[i]) and abs(mdot[st[5 * e + 2]]) > STILL_KG_PER_S:
                still = False
    if still:
        for i in range(marks.shape[0]):
            marks[i] = 0
    if marks.shape[0] > 0 and marks[0] == 0:
        marks[0] = SEEN


@kernel_jit
def set_up(pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int) -> float:
    """Put a candidate's actuators and the car's state into its work array, and open the step."""
    w = d.work[c]
    act = plan.work_view(pi, w, W_ACT)
    for i in range(act.shape[0]):
        act[i] = d.setting[c, i]
    for k in range(d.knob_at.shape[0]):
        if d.free[c, k] != 0:
            act[d.knob_at[k]] = d.knob[c, k]
            if d.knob_other[k] != NONE:
                act[d.knob_other[k]] = 1.0 - d.knob[c, k]
    take_state(pi, w, now)
    most = open_step(pi, pf, w, row, d.settings[dn.K_H], d.columns, d.base)
    if d.supply[c, 0] == UNSEEN:
        find_supply(pi, w, d, c)
    return most


@kernel_jit
def try_speed(
    pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int, j: int, speed: float, loss: float, best: float
) -> float:
    """Judge a candidate with compressor `j` at a speed."""
    act = plan.work_view(pi, d.work[c], W_ACT)
    act[d.comp_act[j]] = speed
    found = point(pi, pf, now, row, d, c, loss, best)
    if found < best:
        d.speed[c, j] = speed
    return found


@kernel_jit
def runs_short(d: Desk, c: int) -> bool:
    """Return whether a candidate, as judged last, leaves a need unmet that more of its compressor would serve."""
    line = d.rows[c]
    short = line[dn.R_SHORT]
    cabin = (d.need[dn.N_HEAT] > 0.5 and short > 0.0) or (d.need[dn.N_COOL] > 0.5 and short < 0.0)
    return cabin or line[dn.R_UNMET] > 0.0 or line[dn.R_FROST] > 0.0


@kernel_jit
def still_walls(d: Desk, c: int) -> None:
    """Let the circuits of a candidate begin with walls that take no heat."""
    for i in range(d.columns.walls.shape[0]):
        d.heat[c, 1 + i] = 0.0


@kernel_jit
def search_speed(
    pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int, j: int, loss: float, best: float, bar: float,
    lead: int,
) -> float:  # fmt: skip
    """Find the best speed of one compressor: over its range the first time, then from where it was.

    A candidate that costs more than `bar` where it was strides the way its needs point for as long as that helps.
    lead : a candidate worked out already, at whose speed this one is dismissed if it costs more than `bar` there and at
    its least; -1: none.
    """
    least = d.comp_least[j]
    most = d.comp_most[j]
    from_speed = d.speed[c, j]
    fresh = from_speed <= 0.0
    step = 1.2
    if not fresh:
        from_speed = min(max(from_speed, least), most)
        best = try_speed(pi, pf, now, row, d, c, j, from_speed, loss, best)
        fresh = best >= dn.IMPOSSIBLE_W
        up = runs_short(d, c)
        while best > bar and not fresh and runs_short(d, c) == up:
            at = d.speed[c, j]
            to = min(at * FAR_STEP, most) if up else max(at / FAR_STEP, least)
            before = best
            if abs(to - at) > LEAST_STEP:
                best = try_speed(pi, pf, now, row, d, c, j, to, loss, best)
            if best >= before:
                break
    if fresh:
        still_walls(d, c)
        worse = 0
        if lead >= 0 and d.speed[lead, j] > least:
            best = try_speed(pi, pf, now, row, d, c, j, least, loss, best)
            best = try_speed(pi, pf, now, row, d, c, j, d.speed[lead, j], loss, best)
            if best <= bar:
                best = dn.IMPOSSIBLE_W
                still_walls(d, c)
        for i in range(5 if best >= dn.IMPOSSIBLE_W else 0):
            before = best
            best = try_speed(pi, pf, now, row, d, c, j, least * (most / least) ** (0.25 * i), loss, best)
            if best >= before:
                worse += 1
            if worse > 1 and best < dn.IMPOSSIBLE_W:
                break
        step = (most / least) ** 0.125
    for _ in range(2 if fresh else 1):
        middle = d.speed[c, j]
        if middle <= 0.0 or best > bar:
            break
        for sign in range(2):
            moved = False
            for _ in range(2):
                at = d.speed[c, j]
                to = min(max(at * step if sign == 0 else at / step, least), most)
                if abs(to - at) < LEAST_STEP:
                    break
                before = best
                best = try_speed(pi, pf, now, row, d, c, j, to, loss, best)
                if best >= before:
                    break
                moved = True
            if moved:
                break
        step = math.sqrt(step)
    act = plan.work_view(pi, d.work[c], W_ACT)
    act[d.comp_act[j]] = d.speed[c, j]
    return best


@kernel_jit
def evaluate(pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int) -> float:
    """Fill a candidate's line with the best it can do now; return its score [W]."""
    return evaluate_within(pi, pf, now, row, d, c, dn.IMPOSSIBLE_W, -1)


@kernel_jit
def evaluate_within(pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int, bar: float, lead: int) -> float:
    """As `evaluate`, without a search for a candidate that costs more than `bar` where it was left.

    lead : as in `search_speed`.
    """
    loss = set_up(pi, pf, now, row, d, c)
    d.rows[c, dn.R_SCORE] = dn.IMPOSSIBLE_W
    best = dn.IMPOSSIBLE_W
    compressors = False
    for j in range(d.comp_act.shape[0]):
        compressors = compressors or d.has_comp[c, j] != 0
    if not compressors:
        return point(pi, pf, now, row, d, c, loss, best)
    act = plan.work_view(pi, d.work[c], W_ACT)
    for j in range(d.comp_act.shape[0]):
        if d.has_comp[c, j] != 0:
            act[d.comp_act[j]] = d.speed[c, j] if d.speed[c, j] > 0.0 else d.comp_least[j]
    for j in range(d.comp_act.shape[0]):
        if d.has_comp[c, j] != 0:
            best = search_speed(pi, pf, now, row, d, c, j, loss, best, bar, lead)
            if best >= dn.IMPOSSIBLE_W:
                d.speed[c, j] = 0.0
    if not relevant(d, c):  # what it was for is over: its compressors may rest
        for j in range(d.comp_act.shape[0]):
            act[d.comp_act[j]] = 0.0
        return point(pi, pf, now, row, d, c, loss, best)
    short = d.rows[c, dn.R_SHORT]
    least = True
    for j in range(d.comp_act.shape[0]):
        if d.has_comp[c, j] != 0 and d.speed[c, j] > 1.02 * d.comp_least[j]:
            least = False
    over = (d.need[dn.N_HEAT] > 0.5 and short < -30.0) or (d.need[dn.N_COOL] > 0.5 and short > 30.0)
    if least and over and best < dn.IMPOSSIBLE_W:
        best = pulse(pi, pf, now, row, d, c, best)
    return best


@kernel_jit
def pulse(pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int, best: float) -> float:
    """Score a candidate whose compressor is too strong at its least speed as one that runs part of the time."""
    short = d.rows[c, dn.R_SHORT]
    act = plan.work_view(pi, d.work[c], W_ACT)
    for j in range(d.comp_act.shape[0]):
        act[d.comp_act[j]] = 0.0
    s = d.s
    for i in range(s.shape[0]):
        s[i] = 0.0
    s[0] = 1.0
    if look(pi, pf, d.work[c], now, row, d.settings[dn.K_H], d.columns, d.base, s, d.m, d.r, d.zones, d.flash) != 0.0:
        return best
    tau = plan.work_view(pi, d.work[c], W_TAU)
    for i in range(d.end.shape[0]):
        d.end[i] = tau[i]
    judge(pi, pf, d.work[c], now, row, d, c, 0.0, 0.0, d.trial)
    still = d.trial[dn.R_SHORT]
    if (still > 0.0) == (short > 0.0) or still == short:
        return best
    part = still / (still - short)
    line = d.rows[c]
    mixed = d.settings[dn.K_START]
    for i in range(dn.R_ELECTRIC, dn.R_START):
        if i != dn.R_CABIN:
            mixed += part * line[i] + (1.0 - part) * d.trial[i]
    if mixed < best:
        for i in range(dn.R_ELECTRIC, dn.R_START):
            line[i] = part * line[i] + (1.0 - part) * d.trial[i] if i != dn.R_CABIN else 0.0
        line[dn.R_START] = d.settings[dn.K_START]
        line[dn.R_DUTY] = part
        line[dn.R_SCORE] = mixed
        return mixed
    return best
