"""A candidate worked out from where it was left, or from its start where other needs have left it far off."""

from __future__ import annotations

from heatwright.kernel import dispatch_names as dn
from heatwright.kernel.desk import UNSEEN, Desk
from heatwright.kernel.plan import Floats, Ints
from heatwright.kernel.search import evaluate_within
from heatwright.physics.jit import kernel_jit


@kernel_jit
def forget(d: Desk, c: int, now: Floats) -> None:
    """Put a candidate back to where it started."""
    for i in range(now.shape[0]):
        d.work[c, i] = now[i]
    for i in range(d.knob_start.shape[0]):
        d.knob[c, i] = min(max(d.knob_start[i], d.knob_least[i]), d.knob_most[i])
    for i in range(d.speed.shape[1]):
        d.speed[c, i] = 0.0
    for i in range(d.heat.shape[1]):
        d.heat[c, i] = 0.0


@kernel_jit
def is_as_begun(d: Desk, c: int) -> bool:
    """Return whether a candidate's flows are those it starts from: what it was left at then differs by speed alone."""
    for k in range(d.knob_start.shape[0]):
        if d.free[c, k] != 0 and d.knob[c, k] != min(max(d.knob_start[k], d.knob_least[k]), d.knob_most[k]):
            return False
    return True


@kernel_jit
def work_out(pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int, bar: float, lead: int) -> float:
    """As `evaluate_within`; what cannot be done, or was no candidate last time, is worked out from its start.

    Flows that were best for what was needed before (a fan at rest on the road) may leave no way back, or be far off:
    of what was left long ago and what the start leads to, the better stands.
    """
    before = d.rows[c, dn.R_SCORE]
    known = before < dn.IMPOSSIBLE_W
    left = dn.IMPOSSIBLE_W
    if known or (before > dn.IMPOSSIBLE_W and d.supply[c, 0] != UNSEEN):
        left = evaluate_within(pi, pf, now, row, d, c, bar, lead)
        if left < dn.IMPOSSIBLE_W and (known or is_as_begun(d, c)):
            return left
    n = d.knob_at.shape[0]
    for k in range(n):
        d.spare[k] = d.knob[c, k]
    for j in range(d.speed.shape[1]):
        d.spare[n + j] = d.speed[c, j]
    forget(d, c, now)
    found = evaluate_within(pi, pf, now, row, d, c, bar, lead)
    if found <= left:
        return found
    for k in range(n):
        d.knob[c, k] = d.spare[k]
    for j in range(d.speed.shape[1]):
        d.speed[c, j] = d.spare[n + j]
    return evaluate_within(pi, pf, now, row, d, c, bar, lead)
