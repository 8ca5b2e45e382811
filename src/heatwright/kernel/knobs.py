"""The flows of a candidate: climbed knob by knob, by steps, while it is the best or the one beside it."""

from __future__ import annotations

from heatwright.kernel import dispatch_names as dn
from heatwright.kernel import plan
from heatwright.kernel.desk import OWN, Desk, longer_asleep
from heatwright.kernel.plan import Floats, Ints
from heatwright.kernel.point import point
from heatwright.kernel.search import set_up
from heatwright.physics.jit import kernel_jit

W_ACT = plan.W["act"]


@kernel_jit
def climb(pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int, k: int) -> bool:
    """Turn one flow knob of a candidate, its compressors as they are, by steps one way for as long as that is better.

    The way is the one that was better last time; where it no longer is, or ends, the other way is next. Returns whether
    it is better.
    """
    before = d.knob[c, k]
    score = d.rows[c, dn.R_SCORE]
    tries = 0
    while tries < 4:
        tries += 1
        at = d.knob[c, k]
        to = min(max(at + d.lean[c, k] * d.knob_step[k], d.knob_least[k]), d.knob_most[k])
        if abs(to - at) < 1e-6:
            if tries > 1:
                break
            d.lean[c, k] = -d.lean[c, k]
            continue
        d.knob[c, k] = to
        loss = set_up(pi, pf, now, row, d, c)
        act = plan.work_view(pi, d.work[c], W_ACT)
        for j in range(d.comp_act.shape[0]):
            if d.has_comp[c, j] != 0 and d.rows[c, dn.R_SPEED] > 0.0:
                act[d.comp_act[j]] = d.speed[c, j]
        found = point(pi, pf, now, row, d, c, loss, score)
        if found < score - 1.0:
            score = found
            continue
        d.knob[c, k] = at
        d.lean[c, k] = -d.lean[c, k]
        break
    return d.knob[c, k] != before


@kernel_jit
def wake_knobs(d: Desk, c: int) -> None:
    """Let every flow knob of a candidate be tried again at once."""
    for k in range(d.knob_due.shape[1]):
        d.knob_due[c, k] = 0.0
        d.knob_idle[c, k] = 0.0


@kernel_jit
def turn_knobs(pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int) -> None:
    """Climb the shared flow knobs of a candidate and one of its own, every one in its turn.

    One that is best where it is, both ways, is tried after longer and longer rests, unless what the cabin lacks costs
    more than the electricity.
    """
    if d.rows[c, dn.R_DUTY] < 1.0:
        return
    n = d.knob_at.shape[0]
    own = 0
    for k in range(n):
        if d.free[c, k] != 0 and d.knob_kind[k] == OWN:
            own += 1
    pick = int(d.kept[dn.H_DECISIONS]) % own if own > 0 else -1
    at = 0
    for k in range(n):
        if d.free[c, k] == 0:
            continue
        if d.knob_kind[k] == OWN:
            at += 1
            if at - 1 != pick:
                continue
        if d.kept[dn.H_TIME] < d.knob_due[c, k] and d.rows[c, dn.R_CABIN] <= d.rows[c, dn.R_ELECTRIC]:
            continue
        if climb(pi, pf, now, row, d, c, k):
            d.knob_idle[c, k] = 0.0
            continue
        d.knob_idle[c, k] += 1.0
        if d.knob_idle[c, k] > 1.0:
            rest = d.settings[dn.K_PERIOD] * 2.0 ** (d.knob_idle[c, k] - 1.0)
            d.knob_due[c, k] = d.kept[dn.H_TIME] + min(rest, longer_asleep(d, d.settings[dn.K_KNOB_REST]))
