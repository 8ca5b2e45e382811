"""Decision table: latches with hysteresis choose a rule, the rule's laws move the actuators within their slew."""

from __future__ import annotations

from typing import Any

import numpy as np

from heatwright.kernel import plan
from heatwright.kernel.names import M_RULES
from heatwright.kernel.plan import Floats, Ints
from heatwright.kernel.sensors import PARAMETERS, sensed
from heatwright.physics.jit import inner_jit, kernel_jit, kernel_part

I_DIM, I_LTSIG, I_RLYES, I_RLNO = (plan.I[k] for k in ("dim", "lt_sig", "rl_yes", "rl_no"))
I_ACKIND, I_ACSIG, I_ACSTOP = (plan.I[k] for k in ("ac_kind", "ac_sig", "ac_stop"))
I_SGKIND, I_SGIDX = plan.I["sg_kind"], plan.I["sg_idx"]
F_LT, F_ACC, F_ACPAR, F_SLEW, F_SGPAR = (plan.F[k] for k in ("lt_c", "ac_c", "ac_par", "ac_slew", "sg_par"))
W_TAU, W_ACT, W_SIG, W_Z, W_CS, W_MISC, W_TARGET = (plan.W[k] for k in ("tau", "act", "sig", "z", "cs", "misc", "actx"))
W_FROST, W_SEEN = plan.W["frost"], plan.W["seen"]
FOUR, FIVE, EIGHT, TEN, ONE = (np.uint64(k) for k in (4, 5, 8, 10, 1))


@kernel_jit
def read_signals(pi: Ints, pf: Floats, w: Floats, row: Floats, dt: float) -> None:
    """Fill the signal array from node temperatures [K], driver columns, derived values and frost.

    Where the plan has `sg_par`, every signal is what its sensor makes of it after a step of `dt` (kernel.sensors);
    `seen` holds the count of readings, then what each element has followed to, then each average.
    """
    kind = plan.int_view(pi, I_SGKIND)
    idx = plan.int_view(pi, I_SGIDX)
    tau = plan.work_view(pi, w, W_TAU)
    z = plan.work_view(pi, w, W_Z)
    sig = plan.work_view(pi, w, W_SIG)
    par = plan.float_view(pi, pf, F_SGPAR)
    seen = plan.work_view(pi, w, W_SEEN)
    n = np.uint64(kind.shape[0])
    for k in range(n):
        i = idx[k]
        if kind[k] == 0:
            sig[k] = tau[i] + 273.15
        elif kind[k] == 1:
            sig[k] = row[i]
        elif kind[k] == 2:
            sig[k] = z[i]
        elif kind[k] == 3:
            sig[k] = row[i] + 273.15
        else:
            sig[k] = plan.work_view(pi, w, W_FROST)[i]
        if par.shape[0] > 0:
            sig[k] = sensed(sig[k], par, PARAMETERS * k, seen, ONE + k, ONE + n + k, dt)
    if par.shape[0] > 0:
        seen[0] += 1.0


@inner_jit
def _linear(sig: Floats, idx: Ints, at_i: int, coef: Floats, at_c: int) -> float:
    """Return the sum of four weighted signals and a constant."""
    total = coef[at_c + FOUR]
    for k in range(FOUR):
        c = coef[at_c + k]
        if c != 0.0:
            total += c * sig[idx[at_i + k]]
    return total


@kernel_part
def _choose_rule(pi: Ints, pf: Floats, w: Floats, dt: float) -> Any:
    """Update latches and return the rule in force after dwell."""
    lt = plan.int_view(pi, I_LTSIG)
    ltc = plan.float_view(pi, pf, F_LT)
    sig = plan.work_view(pi, w, W_SIG)
    cs = plan.work_view(pi, w, W_CS)
    dim = plan.int_view(pi, I_DIM)
    misc = plan.work_view(pi, w, W_MISC)
    n_latch = np.uint64(lt.shape[0]) // EIGHT
    bits = np.uint64(0)
    for k in range(n_latch):
        if _linear(sig, lt, EIGHT * k, ltc, TEN * k) > 0.0:
            cs[FOUR + k] = 1.0
        elif _linear(sig, lt, EIGHT * k + FOUR, ltc, TEN * k + FIVE) > 0.0:
            cs[FOUR + k] = 0.0
        if cs[FOUR + k] > 0.5:
            bits |= ONE << k
    yes = plan.int_view(pi, I_RLYES)
    no = plan.int_view(pi, I_RLNO)
    chosen = np.uint64(yes.shape[0] - 1)
    for r in range(np.uint64(yes.shape[0])):
        if (bits & np.uint64(yes[r])) == np.uint64(yes[r]) and (bits & np.uint64(no[r])) == np.uint64(0):
            chosen = np.uint64(r)
            break
    cs[1] += dt
    if chosen != np.uint64(cs[0]) and cs[1] >= cs[2]:
        cs[0] = float(chosen)
        cs[1] = 0.0
        misc[M_RULES] += 1.0
    return np.uint64(cs[0]), np.uint64(dim[4]), n_latch


@inner_jit
def _stand(cs: Floats, state: int, on: bool, dt: float) -> None:
    """Count for how long an actuator has been asked for, or not, under a law that is free to move it."""
    cs[state + np.uint64(2)] += dt
    if (cs[state + ONE] > 0.5) != on:
        cs[state + ONE] = 1.0 if on else 0.0
        cs[state + np.uint64(2)] = 0.0


@kernel_part
def _law(pi: Ints, pf: Floats, w: Floats, cell: int, state: int, dt: float) -> float:
    """Return the target of one actuator under the rule in force; `state` is its integral, on-flag and timer.

    The timer [s] counts from the command; that of a compressor follows its own clock (kernel.start).
    """
    kind = plan.int_view(pi, I_ACKIND)[cell]
    par = plan.float_view(pi, pf, F_ACPAR)
    cs = plan.work_view(pi, w, W_CS)
    o = EIGHT * cell
    u0 = par[o]
    if kind == 0:
        cs[state] = 0.0
        _stand(cs, state, u0 > 0.0, dt)
        return u0
    sig = plan.work_view(pi, w, W_SIG)
    e = _linear(sig, plan.int_view(pi, I_ACSIG), FOUR * cell, plan.float_view(pi, pf, F_ACC), FIVE * cell)
    gain = par[o + ONE]
    lo = par[o + np.uint64(2)]
    hi = par[o + np.uint64(3)]
    if kind == 1:
        target = min(max(u0 + gain * e, lo), hi)
        _stand(cs, state, target > 0.0, dt)
        return target
    push = gain * e
    if par[o + np.uint64(4)] == 0.0:
        cs[state] = 0.0
    raw = u0 + push + cs[state]
    if (raw < hi or push < 0.0) and (raw > lo or push > 0.0):
        cs[state] = min(max(cs[state] + push * dt * par[o + np.uint64(4)], lo - hi), hi - lo)
    target = min(max(raw, lo), hi)
    min_on = par[o + np.uint64(5)]
    min_off = par[o + np.uint64(6)]
    if min_on > 0.0 or min_off > 0.0:
        cs[state + np.uint64(2)] += dt
        timer = cs[state + np.uint64(2)]
        if cs[state + ONE] > 0.5:
            if push < 0.5 * (lo - hi) and timer >= min_on:
                cs[state + ONE] = 0.0
                cs[state + np.uint64(2)] = 0.0
        elif e > 0.0 and timer >= min_off:
            cs[state + ONE] = 1.0
            cs[state + np.uint64(2)] = 0.0
            cs[state] = 0.0
        if cs[state + ONE] < 0.5:
            target = 0.0
    else:
        _stand(cs, state, target > 0.0, dt)
    return target


@kernel_jit
def aim(pi: Ints, pf: Floats, w: Floats, dt: float) -> None:
    """Choose the rule and let its laws say where every actuator should go."""
    rule, n_act, n_latch = _choose_rule(pi, pf, w, dt)
    target = plan.work_view(pi, w, W_TARGET)
    base = FOUR + n_latch
    for k in range(n_act):
        target[k] = _law(pi, pf, w, rule * n_act + k, base + np.uint64(3) * k, dt)


@kernel_jit
def move_actuators(pi: Ints, pf: Floats, w: Floats, dt: float) -> None:
    """Move every actuator toward its target within its slew rate.

    An actuator marked in `ac_stop` (a valve that turns exchangers from hot to cold) waits until the compressor
    stands whose actuator is named there (its place + 1), and holds that compressor off while it travels.
    """
    stop = plan.int_view(pi, I_ACSTOP)
    slew = plan.float_view(pi, pf, F_SLEW)
    act = plan.work_view(pi, w, W_ACT)
    target = plan.work_view(pi, w, W_TARGET)
    n_act = np.uint64(act.shape[0])
    for k in range(n_act):
        if stop[k] != 0 and abs(target[k] - act[k]) > 1e-9:
            compressor = np.uint64(stop[k]) - ONE
            target[compressor] = 0.0
            if act[compressor] > 1.0:
                target[k] = act[k]
    for k in range(n_act):
        move = slew[k] * dt
        act[k] += min(max(target[k] - act[k], -move), move)
