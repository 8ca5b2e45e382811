"""One point of a candidate: a setting settled, heaters and heat on purpose in closed form, judged, kept if best."""

from __future__ import annotations

from heatwright.kernel import dispatch_names as dn
from heatwright.kernel import plan
from heatwright.kernel.ahead import look, look_at_water, react
from heatwright.kernel.desk import ZERO_K, Desk
from heatwright.kernel.judge import CONDENSING_W, judge
from heatwright.kernel.plan import Floats, Ints
from heatwright.physics.jit import kernel_jit

I_COIL = plan.I["mo_coil"]
W_TAU, W_ACT = (plan.W[k] for k in "tau act".split())


@kernel_jit
def heaters_for(pi: Ints, d: Desk, c: int, full: bool, powers: Floats, first: int) -> float:
    """Add what the heaters do to `d.end`: as much as the zones lack, or all; note their power; return the sum [W]."""
    need = d.need
    airs = d.airs
    total = 0.0
    for h in range(d.heater_act.shape[0]):
        powers[first + h] = 0.0
        if d.has_heater[c, h] == 0:
            continue
        p = d.heater_most[h]
        if not full:
            if need[dn.N_HEAT] < 0.5:
                continue
            up = 0.0
            down = 1e-12
            for i in range(airs.shape[0]):
                f = d.reacts[h, airs[i]]
                up += f * (need[dn.N_TREF + i] - d.settings[dn.K_BAND] - end_of(d, airs[i]))
                down += f * f
            p = min(max(up / down, 0.0), p)
        powers[first + h] = p
        total += p
        for i in range(d.end.shape[0]):
            d.end[i] += p * d.reacts[h, i]
    return total


@kernel_jit
def end_of(d: Desk, node: int) -> float:
    """Return the temperature of a node at the end of the step [K]."""
    return d.end[node] + ZERO_K


@kernel_jit
def condenses(pi: Ints, d: Desk) -> bool:
    """Return whether water condenses on a coil of the point looked at last."""
    most = 0.0
    for h in range(plan.int_view(pi, I_COIL).shape[0]):
        most = max(most, d.s[d.columns.holders + h])
    return most > CONDENSING_W


@kernel_jit
def change_over(a: Floats, b: Floats) -> None:
    """Put what stands in each of two arrays of one size into the other."""
    for i in range(a.shape[0]):
        t = a[i]
        a[i] = b[i]
        b[i] = t


@kernel_jit
def warm_water(pi: Ints, pf: Floats, w: Floats, now: Floats, row: Floats, d: Desk) -> None:
    """Look at the water again with the temperatures of `d.end`: heaters warm the air that goes round, and the coil."""
    change_over(plan.work_view(pi, w, W_TAU), d.end)
    look_at_water(pi, pf, w, now, row, d.settings[dn.K_H], d.flash)
    change_over(plan.work_view(pi, w, W_TAU), d.end)


@kernel_jit
def settle(pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int) -> float:
    """Look at the setting in `act`, heaters and heat on purpose off; return 0, or why it cannot be done (of `look`)."""
    w = d.work[c]
    s = d.s
    for i in range(s.shape[0]):
        s[i] = d.heat[c, i]
    s[0] = 1.0
    for i in range(d.columns.heaters, d.columns.holders):
        s[i] = 0.0
    act = plan.work_view(pi, w, W_ACT)
    running = False
    for i in range(d.comp_act.shape[0]):
        running = running or act[d.comp_act[i]] > 0.0
    if not running:
        for i in range(d.columns.walls.shape[0]):
            s[1 + i] = 0.0
    reason = look(pi, pf, w, now, row, d.settings[dn.K_H], d.columns, d.base, s, d.m, d.r, d.zones, d.flash)
    if reason == 0.0 and running:
        for i in range(s.shape[0]):
            d.heat[c, i] = s[i]
    return reason


@kernel_jit
def point(pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int, most_loss_w: float, best: float) -> float:
    """Judge the setting in `act` with its best heaters and heat on purpose; keep it if it beats `best`.

    Returns the better of the two scores. What does not settle, or has nothing to run on, costs IMPOSSIBLE_W.
    """
    w = d.work[c]
    d.kept[dn.H_LOOKS] += 1.0
    d.rows[c, dn.R_LOOKS] += 1.0
    reason = settle(pi, pf, now, row, d, c)
    if reason != 0.0:
        if reason < 0.0:
            d.kept[dn.H_UNSOLVED] += 1.0
        if best >= dn.IMPOSSIBLE_W:
            d.rows[c, dn.R_SCORE] = dn.IMPOSSIBLE_W
            d.rows[c, dn.R_REASON] = reason
        return min(best, dn.IMPOSSIBLE_W)
    act = plan.work_view(pi, w, W_ACT)
    tau = plan.work_view(pi, w, W_TAU)
    heated = d.heater_act.shape[0] > 0 and (
        d.need[dn.N_HEAT] > 0.5 or d.need[dn.N_PACK_IN] > 0.0 or d.need[dn.N_LP] > 0.5
    )
    nh = d.heater_act.shape[0]
    if heated:
        for h in range(nh):
            if d.has_heater[c, h] != 0:
                react(pi, w, d.columns, d.base, d.columns.heaters + h, d.m, d.r, d.reacts[h])
    losses = 1
    if (
        d.has_loss[c] != 0
        and most_loss_w > 1.0
        and (d.need[dn.N_HEAT] > 0.5 or d.need[dn.N_PACK_IN] > 0.0 or d.need[dn.N_LP] > 0.5 or d.need[dn.N_LD] > 0.5)
    ):
        losses = 3
        react(pi, w, d.columns, d.base, d.columns.loss, d.m, d.r, d.reacts[nh])
    for level in range(losses):
        loss_w = 0.5 * level * most_loss_w
        for full in range(2 if heated else 1):
            for i in range(d.end.shape[0]):
                d.end[i] = tau[i]
                if level > 0:
                    d.end[i] += loss_w * d.reacts[nh, i]
            total = 0.0
            if heated:
                total = heaters_for(pi, d, c, full == 1, d.trial, dn.N_ROW)
                if full == 1 and total <= 0.0:
                    continue
            if total + loss_w > 0.0 and condenses(pi, d):
                warm_water(pi, pf, w, now, row, d)
            score = judge(pi, pf, w, now, row, d, c, total, loss_w, d.trial)
            if score < best:
                best = score
                looks = d.rows[c, dn.R_LOOKS]
                for i in range(dn.N_ROW):
                    d.rows[c, i] = d.trial[i]
                d.rows[c, dn.R_LOOKS] = looks
                for i in range(act.shape[0]):
                    d.acts[c, i] = act[i]
                if heated:
                    for h in range(nh):
                        d.acts[c, d.heater_act[h]] = d.trial[dn.N_ROW + h]
                if d.loss_act.shape[0] > 0:
                    d.acts[c, d.loss_act[0]] = loss_w
    return best
