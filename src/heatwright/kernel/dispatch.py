"""The dispatch: what is needed now, what every candidate would make of it, and which one is worth switching to.

Called once a control period.  Scores are in watts: electricity, unmet needs, soft limits, less the price of the heat
put into stores.  What a candidate can do at its best is found by `search`.  Switching follows the rent-or-buy rule: the
loss against the best is added up, and a switch is bought when it has cost as much.
"""

from __future__ import annotations

from heatwright.kernel import dispatch_names as dn
from heatwright.kernel import plan
from heatwright.kernel.desk import AIR_ALONE, ASLEEP, ZERO_K, Desk, find_needs, longer_asleep
from heatwright.kernel.knobs import turn_knobs, wake_knobs
from heatwright.kernel.names import D_DRIVING, D_SETPOINT
from heatwright.kernel.plan import Floats, Ints
from heatwright.kernel.relevant import relevant
from heatwright.kernel.search import evaluate
from heatwright.kernel.work_out import work_out
from heatwright.physics.jit import kernel_jit, kernel_part
from heatwright.physics.moist_air import H_VAPOUR_J_PER_KG

W_TAU, W_WET, W_WB = (plan.W[k] for k in "tau wet wb".split())
COLD_COIL = 1 << dn.L_COOL | 1 << dn.L_DRY


@kernel_jit
def bar_above(d: Desk, score: float) -> float:
    """Return the score beyond which a candidate is too far behind one of `score` to be searched for its best."""
    return score + d.settings[dn.K_FAR] + d.settings[dn.K_FAR_SHARE] * max(score, 0.0)


@kernel_jit
def rest_of(d: Desk, c: int, gap: float) -> float:
    """Return how long a candidate, worked out now and so much worse than the best, is not worked out again [s].

    Twice as long as last time; in a sleeping car, where little changes, longer.
    """
    k = d.settings
    if gap <= k[dn.K_NEAR]:
        return 0.0
    far = gap > k[dn.K_FAR]
    least = k[dn.K_LAZY] if far else k[dn.K_LAZY_NEAR]
    return longer_asleep(d, min(max(2.0 * d.wait[c], least), k[dn.K_LAZY_MOST] if far else k[dn.K_LAZY]))


@kernel_jit
def least(d: Desk, current: int) -> int:
    """Return the candidate with the least score; the one that runs, where it is among several."""
    best = current
    for c in range(d.rows.shape[0]):
        if d.rows[c, dn.R_SCORE] < d.rows[best, dn.R_SCORE]:
            best = c
    return best


@kernel_part
def decide(pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk) -> int:
    """Return the candidate to run for the next period; its actuators are `d.acts` of it.

    `now` is the work array of the car as it is read, `row` the driving and weather of the last minutes. Candidate 0
    is the car asleep, candidate 1 air alone: both are always looked at.
    """
    k = d.settings
    kept = d.kept
    kept[dn.H_DECISIONS] += 1.0
    period = k[dn.K_PERIOD]
    find_needs(pi, pf, now, row, d)
    current = int(kept[dn.H_CURRENT])
    time = kept[dn.H_TIME]
    learn_bias(pi, now, d)
    same = True
    for i in range(d.latch.shape[0]):
        same = same and d.latch[i] == d.latch_before[i]
    count = d.rows.shape[0]
    for c in range(count):
        d.rows[c, dn.R_LOOKS] = 0.0
    score = evaluate(pi, pf, now, row, d, AIR_ALONE)
    asleep = d.need[dn.N_WANTED] < 0.5 or row[D_DRIVING] <= 0.0
    if current != AIR_ALONE and (current != ASLEEP or asleep) and d.allow[current] != 0:
        score = min(score, work_out(pi, pf, now, row, d, current, dn.IMPOSSIBLE_W, -1))
    bar = bar_above(d, score)
    lead = -1
    for c in range(count):
        if c == AIR_ALONE or (c == current and d.rows[c, dn.R_LOOKS] > 0.0):
            continue
        if d.allow[c] == 0 or not (c < 2 or relevant(d, c)):
            d.rows[c, dn.R_SCORE] = 2.0 * dn.IMPOSSIBLE_W
            d.due[c] = 0.0
            d.wait[c] = 0.0
            continue
        if c >= 2 and same and time < d.due[c]:
            continue
        if c == ASLEEP and not asleep:
            d.rows[c, dn.R_SCORE] = 2.0 * dn.IMPOSSIBLE_W
            continue
        found = work_out(pi, pf, now, row, d, c, bar, lead)
        bar = min(bar, bar_above(d, found))
        if c >= 2 and found < (dn.IMPOSSIBLE_W if lead < 0 else d.rows[lead, dn.R_SCORE]):
            lead = c
    best = least(d, current)
    while d.rows[best, dn.R_LOOKS] < 0.5 and d.rows[best, dn.R_SCORE] < dn.IMPOSSIBLE_W:
        work_out(pi, pf, now, row, d, best, dn.IMPOSSIBLE_W, -1)
        best = least(d, current)
    score = d.rows[best, dn.R_SCORE]
    if best == AIR_ALONE and asleep and d.rows[ASLEEP, dn.R_SCORE] <= score + k[dn.K_NEAR]:
        best = ASLEEP  # with nothing to move the air a car awake does as little, for no less
        score = d.rows[best, dn.R_SCORE]
    for c in range(count):
        if time >= d.due[c] or not same or d.rows[c, dn.R_LOOKS] > 0.5:
            d.wait[c] = rest_of(d, c, d.rows[c, dn.R_SCORE] - score)
            d.due[c] = time + d.wait[c]
    if best != current:
        lost = d.rows[current, dn.R_SCORE] - score
        kept[dn.H_REGRET] += max(lost, 0.0) * period
        bar = k[dn.K_REGRET] if best == ASLEEP else kept[dn.H_BAR]
        if best != ASLEEP and (d.serves[current] & COLD_COIL) != 0 and (d.serves[best] & COLD_COIL) == 0:
            wet = plan.work_view(pi, now, W_WET)
            first = 2 * plan.work_view(pi, now, W_WB).shape[0]
            for i in range(d.flash.shape[0]):
                if d.flash[i] != 0:
                    bar += k[dn.K_FLASH_SWITCH] * H_VAPOUR_J_PER_KG * wet[first + i]
        able = d.rows[current, dn.R_SCORE] < dn.IMPOSSIBLE_W
        if able and (kept[dn.H_IN_MODE] < k[dn.K_DWELL] or kept[dn.H_REGRET] < bar):
            best = current
    else:
        kept[dn.H_REGRET] *= k[dn.K_FADE]
    move_on(kept, best, period)
    if not same or best != current:
        wake_knobs(d, best)
    if d.rows[best, dn.R_SCORE] < dn.IMPOSSIBLE_W:
        turn_knobs(pi, pf, now, row, d, best)
    rival = -1
    score = dn.IMPOSSIBLE_W
    for c in range(count):
        if c != best and c != ASLEEP and d.rows[c, dn.R_SCORE] < score:
            score = d.rows[c, dn.R_SCORE]
            rival = c
    if rival >= 0 and score <= bar_above(d, d.rows[best, dn.R_SCORE]):
        turn_knobs(pi, pf, now, row, d, rival)
    ring_and_pulse(pi, now, row, d, best)
    kept[dn.H_TIME] = time + period
    return best


@kernel_jit
def move_on(kept: Floats, best: int, period: float) -> None:
    """Note which candidate runs over the next period, and for how long it has."""
    if best == int(kept[dn.H_CURRENT]):
        kept[dn.H_IN_MODE] += period
        return
    kept[dn.H_CURRENT] = float(best)
    kept[dn.H_IN_MODE] = 0.0
    kept[dn.H_REGRET] = 0.0
    kept[dn.H_RING_COUNT] = 0.0
    kept[dn.H_PULSE] = 1.0


@kernel_jit
def learn_bias(pi: Ints, now: Floats, d: Desk) -> None:
    """Learn from air and glass of now how far what was foreseen a horizon ago missed them."""
    k = d.settings
    kept = d.kept
    back = int(k[dn.K_H] / k[dn.K_PERIOD] + 0.5)
    if 0 < back < dn.RING and kept[dn.H_RING_COUNT] >= back and d.airs.shape[0] > 0:
        at = (int(kept[dn.H_RING_AT]) - back + dn.RING) % dn.RING
        missed = plan.work_view(pi, now, W_TAU)[d.airs[0]] + ZERO_K - d.ring[dn.RING_AIR, at]
        missed = min(max(missed, -k[dn.K_BIAS_STEP]), k[dn.K_BIAS_STEP])
        bias = kept[dn.H_BIAS] + 2.0 * k[dn.K_BIAS] / back * missed
        kept[dn.H_BIAS] = min(max(bias, -k[dn.K_BIAS_MOST]), k[dn.K_BIAS_MOST])
        if d.need[dn.N_WANTED] > 0.5:
            missed = d.need[dn.N_HUMID] - d.ring[dn.RING_DAMP, at] - kept[dn.H_DAMP_BIAS]
            bias = kept[dn.H_DAMP_BIAS] + 2.0 * k[dn.K_BIAS] / back * missed
            kept[dn.H_DAMP_BIAS] = min(max(bias, -k[dn.K_DAMP_MOST]), k[dn.K_DAMP_MOST])


@kernel_jit
def ring_and_pulse(pi: Ints, now: Floats, row: Floats, d: Desk, best: int) -> None:
    """Note what the air should be at, and let a compressor that is too strong run part of the time."""
    kept = d.kept
    airs = d.airs
    if airs.shape[0] == 0:
        return
    at = int(kept[dn.H_RING_AT]) % dn.RING
    d.ring[dn.RING_AIR, at] = d.rows[best, dn.R_TAIR] + kept[dn.H_BIAS]
    d.ring[dn.RING_DAMP, at] = d.rows[best, dn.R_RH] - d.settings[dn.K_DAMP_SHARE] * kept[dn.H_DAMP_BIAS]
    kept[dn.H_RING_AT] += 1.0
    kept[dn.H_RING_COUNT] += 1.0
    if d.rows[best, dn.R_DUTY] >= 1.0:
        kept[dn.H_PULSE] = 1.0
        return
    kept[dn.H_RING_COUNT] = 0.0
    over = plan.work_view(pi, now, W_TAU)[airs[0]] + ZERO_K - row[D_SETPOINT]
    if d.need[dn.N_COOL] > 0.5:
        over = -over
    if over > d.settings[dn.K_PULSE_ABOVE]:
        kept[dn.H_PULSE] = 0.0
    elif over < -d.settings[dn.K_PULSE_BELOW]:
        kept[dn.H_PULSE] = 1.0
    if kept[dn.H_PULSE] < 0.5:
        for j in range(d.comp_act.shape[0]):
            d.acts[best, d.comp_act[j]] = 0.0
