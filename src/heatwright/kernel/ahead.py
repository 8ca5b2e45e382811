"""A setting looked at ahead: the plant itself, taking one long implicit step in that setting.

Every candidate has a work array of its own, in which flows, films and the guess of its circuit stay warm.  The heat
matrix of the step is eliminated once, with a column for the constant part and one for a watt into each place whose
heat is still open: refrigerant walls, heaters, heat on purpose, latent heat, and the air of each zone,

    T = B0 + sum_k B_k s_k

so that the circuit is a small system in the heats of its walls, solved by Newton's rule on the plant's own circuit

    s = q(T(s)),    (1 - dq G) ds = q - s,    G = B at the walls

with shorter strides where heat is thrown to and fro between walls (of evaporators side by side the warmer boils all),
and heaters follow without another solve.  A point that did not settle is never handed out.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from heatwright.kernel import circuit_names as cc
from heatwright.kernel import plan
from heatwright.kernel.drive import P_LOSS, wanted_heat, watch_drive
from heatwright.kernel.flows import update_flows
from heatwright.kernel.heat import assemble, eliminate_many
from heatwright.kernel.moisture import step_moisture
from heatwright.kernel.names import N_EXTRA, X_SOC, Z_LIMIT, Z_ON, Z_SOC
from heatwright.kernel.plan import Floats, Ints
from heatwright.kernel.ports import open_ports, run_circuit
from heatwright.kernel.power import P_REACHES, fill_power
from heatwright.physics.jit import kernel_jit

I_CIRC, I_MH, I_FX, I_DRACT, I_ELIM, I_CXACT = (plan.I[k] for k in ("circ", "mh", "fx", "dr_act", "elim", "cx_act"))
F_DR = plan.F["dr_par"]
W_TAU, W_EXT, W_WET, W_FROST, W_FILM, W_MLAST, W_DEW, W_Z, W_Y, W_ACT, W_A, W_B, W_CQ, W_CDQ, W_COUT, W_WB = (
    plan.W[k] for k in "tau ext wet frost gfilm mlast dew z y act a b cq cdq cout wb".split()
)
ROUNDS = 20
CLOSE_K = 0.1
CLOSE_CONDENSING_K = 0.5
STOPS = 4
WATER_TIMES = 4.0  # water is looked at further ahead: what a coil holds dries off in minutes
NEAR_K = 1.0
ZONE_S = 6.0  # the zones of the exchangers move by as much towards their rest at every round
EARLY = 6  # rounds after which zones move less and less, and walls near their rest are close enough
CLOSE_W, CLOSE_SHARE = 60.0, 0.02  # heat not yet where it goes, and the share of the largest heat on top
STRIDE_K = 15.0
LEAST_STRIDE = 0.1
PATIENCE = 14  # rounds after which walls that would still move by LOST_K are given up
LOST_K = 5.0
DAMP_W = 60.0
SEVEN, FIVE, SIX, THREE = (np.uint64(k) for k in (7, 5, 6, 3))
PLAIN, COPPER, IRON, INVERTER = range(4)
NOT_SETTLED = -1.0
"""Reason of a point whose wall heats did not settle; any other reason is a LIMIT_ of kernel/status.py."""


class Columns(NamedTuple):
    """Where the open heats enter: seeds (node, column, share of a watt, kind), and what each column is.

    `walls` are the nodes of columns 1 on, in the order of the circuits; `heaters`, `loss`, `airs` and `holders` the
    first column of each group (`loss` 0: none). `many` counts all.
    """

    node: Ints
    column: Ints
    share: Floats
    kind: Ints
    walls: Ints
    heaters: int
    loss: int
    airs: int
    holders: int
    many: int


@kernel_jit
def take_state(pi: Ints, w: Floats, now: Floats) -> None:
    """Take over temperatures, water, frost and charge from the car as it is."""
    for k in (W_TAU, W_WET, W_FROST, W_DEW):
        to = plan.work_view(pi, w, k)
        of = plan.work_view(pi, now, k)
        for i in range(np.uint64(to.shape[0])):
            to[i] = of[i]
    to = plan.work_view(pi, w, W_EXT)
    of = plan.work_view(pi, now, W_EXT)
    for i in range(np.uint64(N_EXTRA)):
        to[i] = of[i]
    of_soc = of[X_SOC]
    to = plan.work_view(pi, w, W_FILM)
    of = plan.work_view(pi, now, W_FILM)
    changed = False
    for i in range(np.uint64(to.shape[0])):
        changed = changed or abs(to[i] - of[i]) > 0.01
        to[i] = of[i]
    if changed:
        last = plan.work_view(pi, w, W_MLAST)
        for i in range(np.uint64(last.shape[0])):
            last[i] = -1.0
    plan.work_view(pi, w, W_Z)[Z_SOC] = of_soc


@kernel_jit
def most_loss(pi: Ints, pf: Floats, w: Floats, row: Floats) -> tuple[float, float, float, float]:
    """Return the most heat on purpose that the drive unit may make now [W], and the shares of it in its parts."""
    place = plan.int_view(pi, I_DRACT)
    if place.shape[0] == 0:
        return 0.0, 0.0, 0.0, 0.0
    act = plan.work_view(pi, w, W_ACT)
    act[place[0]] = plan.float_view(pi, pf, F_DR)[P_LOSS]
    heat, cu, fe, inv = wanted_heat(pi, pf, w, row, watch_drive(pi, pf, w, row))
    act[place[0]] = 0.0
    if heat <= 0.0:
        return 0.0, 0.0, 0.0, 0.0
    part = plan.float_view(pi, pf, F_DR)[P_REACHES] / heat
    return heat, part * cu, part * fe, part * inv


@kernel_jit
def open_step(pi: Ints, pf: Floats, w: Floats, row: Floats, horizon: float, c: Columns, base: Floats) -> float:
    """Fill the columns B of the step for the setting in `act` (heaters off); return the most heat on purpose [W]."""
    update_flows(pi, pf, w, row)
    most, cu, fe, inv = 0.0, 0.0, 0.0, 0.0
    if c.loss > 0:
        most, cu, fe, inv = most_loss(pi, pf, w, row)
    fill_power(pi, pf, w, row)
    y = plan.work_view(pi, w, W_Y)
    held = plan.int_view(pi, I_MH)
    for h in range(np.uint64(held.shape[0]) // SEVEN):
        y[held[SEVEN * h + SIX]] = 0.0
    fx = plan.int_view(pi, I_FX)
    for i in range(np.uint64(fx.shape[0]) // FIVE):
        y[fx[FIVE * i + THREE]] = 0.0
        y[fx[FIVE * i + np.uint64(4)]] = 0.0
    circ = plan.int_view(pi, I_CIRC)
    for k in range(np.uint64(circ.shape[0])):
        own = pi[np.uint64(circ[k]) :]
        q = plan.work_view(own, w, W_CQ)
        dq = plan.work_view(own, w, W_CDQ)
        for i in range(np.uint64(q.shape[0])):
            q[i] = 0.0
        for i in range(np.uint64(dq.shape[0])):
            dq[i] = 0.0
    assemble(pi, pf, w, row, horizon)
    b = plan.work_view(pi, w, W_B)
    many = np.uint64(c.many)
    for i in range(np.uint64(base.shape[0])):
        base[i] = 0.0
    for i in range(np.uint64(b.shape[0])):
        base[i * many] = b[i]
    for s in range(np.uint64(c.node.shape[0])):
        share = c.share[s]
        if c.kind[s] == COPPER:
            share *= cu
        elif c.kind[s] == IRON:
            share *= fe
        elif c.kind[s] == INVERTER:
            share *= inv
        base[np.uint64(c.node[s]) * many + np.uint64(c.column[s])] += share
    eliminate_many(plan.int_view(pi, I_ELIM), plan.work_view(pi, w, W_A), base, np.int64(many))
    return most


@kernel_jit
def temperatures(base: Floats, s: Floats, tau: Floats) -> None:
    """Fill the temperatures at the end of the step from the columns and the heats."""
    many = np.uint64(s.shape[0])
    for i in range(np.uint64(tau.shape[0])):
        t = 0.0
        for k in range(many):
            t += base[i * many + k] * s[k]
        tau[i] = t


@kernel_jit
def solve_small(m: Floats, r: Floats, n: int) -> bool:
    """Solve the n x n system m x = r in place (x in r) with pivots; return whether it has an answer."""
    size = np.uint64(n)
    for k in range(size):
        best = k
        for i in range(k + np.uint64(1), size):
            if abs(m[i * size + k]) > abs(m[best * size + k]):
                best = i
        if abs(m[best * size + k]) < 1e-12:
            return False
        if best != k:
            for j in range(size):
                t = m[k * size + j]
                m[k * size + j] = m[best * size + j]
                m[best * size + j] = t
            t = r[k]
            r[k] = r[best]
            r[best] = t
        for i in range(k + np.uint64(1), size):
            f = m[i * size + k] / m[k * size + k]
            for j in range(k, size):
                m[i * size + j] -= f * m[k * size + j]
            r[i] -= f * r[k]
    for back in range(size):
        row = size - np.uint64(1) - back
        t = r[row]
        for j in range(row + np.uint64(1), size):
            t -= m[row * size + j] * r[j]
        r[row] = t / m[row * size + row]
    return True


@kernel_jit
def answers(dq: Floats, i: int, size: int, c: Columns, first: int, base: Floats, column: int) -> float:
    """Return the heat that wall i of a circuit, whose walls begin at `first`, takes for a watt in a column [W/W]."""
    t = 0.0
    for k in range(np.uint64(size)):
        at = np.uint64(c.walls[np.uint64(first) + k]) * np.uint64(c.many) + np.uint64(column)
        t += dq[np.uint64(i) * np.uint64(size) + k] * base[at]
    return t


@kernel_jit
def fill_system(pi: Ints, w: Floats, c: Columns, base: Floats, m: Floats) -> None:
    """Fill 1 - dq G of all circuits' walls."""
    n = np.uint64(c.walls.shape[0])
    first = np.uint64(0)
    circ = plan.int_view(pi, I_CIRC)
    for k in range(np.uint64(circ.shape[0])):
        dq = plan.work_view(pi[np.uint64(circ[k]) :], w, W_CDQ)
        size = np.uint64(plan.work_view(pi[np.uint64(circ[k]) :], w, W_CQ).shape[0])
        for i in range(size):
            for j in range(n):
                m[(first + i) * n + j] = -answers(dq, i, size, c, first, base, np.uint64(1) + j)
            m[(first + i) * n + first + i] += 1.0
        first += size


@kernel_jit
def keep_zones(pi: Ints, w: Floats, zones: Floats, back: bool) -> None:
    """Put the zones of the exchangers aside, or back."""
    ext = plan.work_view(pi, w, W_EXT)
    for i in range(np.uint64(N_EXTRA), np.uint64(ext.shape[0])):
        if back:
            ext[i] = zones[i]
        else:
            zones[i] = ext[i]


@kernel_jit
def settle_walls(
    pi: Ints, pf: Floats, w: Floats, c: Columns, base: Floats, s: Floats, m: Floats, r: Floats, zones: Floats
) -> float:
    """Move the heats of the walls in `s` until they are those of the circuits; return 0, or why they are not.

    `tau` of the work array holds the temperatures at the end of the step afterwards.
    """
    tau = plan.work_view(pi, w, W_TAU)
    act = plan.work_view(pi, w, W_ACT)
    circ = plan.int_view(pi, I_CIRC)
    n = np.uint64(c.walls.shape[0])
    many = np.uint64(c.many)
    keep_zones(pi, w, zones, False)
    stopped = 0
    worst = STRIDE_K
    stride = 1.0
    reason = NOT_SETTLED
    high = 0.0
    for turn in range(ROUNDS):
        temperatures(base, s, tau)
        first = np.uint64(0)
        zone_s = 5.0 * ZONE_S if worst < NEAR_K else ZONE_S
        if turn >= EARLY:  # to and fro between walls and zones dies down
            zone_s = EARLY * ZONE_S / turn
        runs = True
        before = high
        high = 0.0
        for k in range(np.uint64(circ.shape[0])):
            own = pi[np.uint64(circ[k]) :]
            open_ports(own, pf, w)
            run_circuit(own, pf, w, zone_s)
            q = plan.work_view(own, w, W_CQ)
            for i in range(np.uint64(q.shape[0])):
                r[first + i] = q[i] - s[np.uint64(1) + first + i]
                r[n + first + i] = r[first + i]
            first += np.uint64(q.shape[0])
            z = plan.work_view(own, w, W_Z)
            high += plan.work_view(own, w, W_COUT)[cc.OUT_T_COND]
            if act[plan.int_view(own, I_CXACT)[0]] > 0.0 and z[Z_ON] == 0.0:
                runs = False
                reason = max(z[Z_LIMIT], 1.0)
        if not runs:  # a stride too far for the circuit to follow: half of it back, unless it never ran
            stopped += 1
            keep_zones(pi, w, zones, True)
            if turn == 0 or stopped > STOPS:
                return reason
            for i in range(n):
                r[n + n + i] *= 0.5
                s[np.uint64(1) + i] -= r[n + n + i]
            continue
        fill_system(pi, w, c, base, m)
        along = -1.0
        if solve_small(m, r, np.int64(n)):
            along = 0.0
            for i in range(n):
                along += r[i] * r[n + i]
        if along < 0.0:  # hotter walls draw more heat: Newton's rule would run the wrong way, so follow the heat
            for i in range(n):
                r[i] = r[n + i]
        worst = 0.0
        for i in range(n):
            t = 0.0
            for j in range(n):
                t += base[np.uint64(c.walls[i]) * many + np.uint64(1) + j] * r[j]
            worst = max(worst, abs(t))
        turned = 0.0
        if turn > 0:
            for i in range(n):
                turned += r[i] * r[n + n + i]
        stride = max(0.5 * stride, LEAST_STRIDE) if turned < 0.0 else min(2.0 * stride, 1.0)
        part = stride * STRIDE_K / worst if worst > STRIDE_K else stride
        for i in range(n):
            r[n + n + i] = part * r[i]
            s[np.uint64(1) + i] += part * r[i]
        left = 0.0
        most = 0.0
        for i in range(n):
            left = max(left, abs(r[n + i]))
            most = max(most, abs(s[np.uint64(1) + i]))
        close = worst < CLOSE_K or (turn >= EARLY and worst < NEAR_K and left < CLOSE_W + CLOSE_SHARE * most)
        if close and abs(high - before) < CLOSE_CONDENSING_K:
            temperatures(base, s, tau)
            return 0.0
        if turn >= PATIENCE and worst > LOST_K:
            break
    return NOT_SETTLED if stopped == 0 else reason


@kernel_jit
def react(pi: Ints, w: Floats, c: Columns, base: Floats, column: int, m: Floats, r: Floats, out: Floats) -> bool:
    """Fill what a watt in a column does to every node [K/W], the circuits answering it as they now stand."""
    n = np.uint64(c.walls.shape[0])
    many = np.uint64(c.many)
    col = np.uint64(column)
    first = np.uint64(0)
    circ = plan.int_view(pi, I_CIRC)
    for k in range(np.uint64(circ.shape[0])):
        dq = plan.work_view(pi[np.uint64(circ[k]) :], w, W_CDQ)
        size = np.uint64(plan.work_view(pi[np.uint64(circ[k]) :], w, W_CQ).shape[0])
        for i in range(size):
            r[first + i] = answers(dq, i, size, c, first, base, col)
        first += size
    fill_system(pi, w, c, base, m)
    good = solve_small(m, r, np.int64(n))
    for i in range(np.uint64(out.shape[0])):
        t = base[i * many + col]
        if good:
            for j in range(n):
                t += base[i * many + np.uint64(1) + j] * r[j]
        out[i] = t
    return good


@kernel_jit
def look_at_water(pi: Ints, pf: Floats, w: Floats, now: Floats, row: Floats, horizon: float, flash: Ints) -> None:
    """Fill humidities and latent heats of the point whose temperatures stand in `tau`."""
    wet = plan.work_view(pi, w, W_WET)
    before = plan.work_view(pi, now, W_WET)
    for i in range(np.uint64(wet.shape[0])):
        wet[i] = before[i]
    held_from = np.uint64(2) * np.uint64(plan.work_view(pi, w, W_WB).shape[0])
    for i in range(np.uint64(flash.shape[0])):
        if flash[i] != 0:  # its water comes back once, when it turns warm: a cost of switching, not of the setting
            wet[held_from + i] = 0.0
    step_moisture(pi, pf, w, row, WATER_TIMES * horizon)


@kernel_jit
def look(
    pi: Ints, pf: Floats, w: Floats, now: Floats, row: Floats, horizon: float, c: Columns, base: Floats, s: Floats,
    m: Floats, r: Floats, zones: Floats, flash: Ints,
) -> float:  # fmt: skip
    """Settle circuits and water of one point (compressors in `act`, other open heats in `s`); return 0 or why not."""
    held = plan.int_view(pi, I_MH)
    y = plan.work_view(pi, w, W_Y)
    n_held = np.uint64(held.shape[0]) // SEVEN
    first = np.uint64(c.holders)
    part = 1.0
    for _ in range(3):
        reason = settle_walls(pi, pf, w, c, base, s, m, r, zones)
        if reason != 0.0:
            return reason
        look_at_water(pi, pf, w, now, row, horizon, flash)
        moved = 0.0
        for h in range(n_held):
            latent = y[held[SEVEN * h + SIX]]
            moved = max(moved, abs(latent - s[first + h]))
            s[first + h] += part * (latent - s[first + h])
        if moved <= DAMP_W:
            break
        part = 0.5
    return 0.0
