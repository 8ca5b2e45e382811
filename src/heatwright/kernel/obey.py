"""The best of one given candidate: what dispatch does for the candidate it runs, for a choice made by another."""

from __future__ import annotations

from heatwright.kernel import dispatch_names as dn
from heatwright.kernel.desk import AIR_ALONE, Desk
from heatwright.kernel.dispatch import learn_bias, move_on, ring_and_pulse
from heatwright.kernel.knobs import turn_knobs
from heatwright.kernel.plan import Floats, Ints
from heatwright.kernel.search import evaluate
from heatwright.kernel.work_out import work_out
from heatwright.physics.jit import kernel_jit


@kernel_jit
def obey(pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int) -> int:
    """Solve the knobs of candidate `c` for the next period; return what runs, whose actuators are `d.acts` of it.

    The needs of the period stand in `d.need` already (`desk.find_needs`). Where `c` cannot be done now, air alone
    runs. Only what was chosen and what runs has a score; all other lines say impossible.
    """
    kept = d.kept
    kept[dn.H_DECISIONS] += 1.0
    period = d.settings[dn.K_PERIOD]
    learn_bias(pi, now, d)
    for i in range(d.rows.shape[0]):
        if i != c:
            d.rows[i, dn.R_SCORE] = 2.0 * dn.IMPOSSIBLE_W
    evaluate(pi, pf, now, row, d, AIR_ALONE)
    runs = c
    if c != AIR_ALONE:
        if work_out(pi, pf, now, row, d, c, dn.IMPOSSIBLE_W, -1) >= dn.IMPOSSIBLE_W:
            runs = AIR_ALONE
        else:
            d.rows[AIR_ALONE, dn.R_SCORE] = 2.0 * dn.IMPOSSIBLE_W
    move_on(kept, runs, period)
    if d.rows[runs, dn.R_SCORE] < dn.IMPOSSIBLE_W:
        turn_knobs(pi, pf, now, row, d, runs)
    ring_and_pulse(pi, now, row, d, runs)
    kept[dn.H_TIME] += period
    return runs
