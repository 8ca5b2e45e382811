"""Assemble, eliminate and account one linearly implicit step of the heat network.

Every heat flow is written with coefficients frozen at the start of the step and temperatures at its end:

    conductance   Q = K (t_p - t_q)             into node r, out of node s
    stream        Q = m (h_a + cp_a (t_a' - t_a))   enthalpy counted from 273.15 K, taken from the upstream node
    refrigerant   Q_k = q_k + sum_l dq_k/dt_l (t_l' - t_l)

so that the ledger, which adds up the same expressions, closes to the accuracy of the elimination.
Temperatures in the matrix are tau = T - 273.15 K.
"""

from __future__ import annotations

import numpy as np

from heatwright.kernel import plan
from heatwright.kernel.names import A_THROUGH
from heatwright.kernel.plan import Floats, Ints
from heatwright.physics.jit import kernel_jit, kernel_part

I_DIM, I_ELIM, I_TR, I_BT, I_ST, I_BS, I_SO, I_SD = (
    plan.I[k] for k in ("dim", "elim", "tr", "bt", "st", "bs", "so", "sd")
)
I_RPWALL, I_RPSLOT, I_TBCOL, I_CIRC = (plan.I[k] for k in ("rp_wall", "rp_slot", "tb_col", "circ"))
F_BODY, F_SOC, F_SDC = plan.F["body"], plan.F["so_c"], plan.F["sd_c"]
W_U, W_TAU, W_TAUN, W_CAP, W_CPS, W_HOF = (plan.W[k] for k in ("u", "tau", "taun", "cap", "cps", "hof"))
W_A, W_B, W_G, W_MDOT, W_TB, W_Y, W_ACC = (plan.W[k] for k in ("a", "b", "g", "mdot", "tb", "y", "acc"))
W_TW, W_CQ, W_CDQ = plan.W["tw"], plan.W["cq"], plan.W["cdq"]
ONE, TWO, THREE, FOUR, FIVE, SIX, NINE = (np.uint64(k) for k in (1, 2, 3, 4, 5, 6, 9))


@kernel_jit
def eliminate(elim: Ints, a: Floats, b: Floats) -> None:
    """Solve a x = b in place (x in b) by a programme of the plan; no pivoting (a is an M-matrix by rows)."""
    n = np.uint64(b.shape[0])
    p = np.uint64(0)
    for _ in range(n):
        o = elim[p]
        c = np.uint64(elim[p + ONE])
        p += TWO
        s = 1.0 / a[o]
        a[o] = s
        bo = b[o] * s
        for _ in range(c):
            f = a[elim[p]]
            b[elim[p + ONE]] -= f * bo
            f *= s
            p += TWO
            for _ in range(c):
                a[elim[p]] -= f * a[elim[p + ONE]]
                p += TWO
    for _ in range(n):
        o = elim[p]
        c = np.uint64(elim[p + ONE])
        p += TWO
        s = b[o]
        for _ in range(c):
            s -= a[elim[p]] * b[elim[p + ONE]]
            p += TWO
        b[o] = s * a[o]


@kernel_jit
def eliminate_many(elim: Ints, a: Floats, b: Floats, many: int) -> None:
    """As `eliminate` for `many` right-hand sides at once: b[i many + k] is entry i of the k-th.

    Apart from `eliminate`, which every step of the march calls and which is written for one side.
    """
    m = np.uint64(many)
    n = np.uint64(b.shape[0]) // m
    p = np.uint64(0)
    for _ in range(n):
        o = np.uint64(elim[p])
        c = np.uint64(elim[p + ONE])
        p += TWO
        s = 1.0 / a[o]
        a[o] = s
        for k in range(m):
            b[o * m + k] *= s
        for _ in range(c):
            f = a[elim[p]]
            row = np.uint64(elim[p + ONE]) * m
            for k in range(m):
                b[row + k] -= f * b[o * m + k]
            f *= s
            p += TWO
            for _ in range(c):
                a[elim[p]] -= f * a[elim[p + ONE]]
                p += TWO
    for _ in range(n):
        o = np.uint64(elim[p])
        c = np.uint64(elim[p + ONE])
        p += TWO
        s = a[o]
        for _ in range(c):
            f = a[elim[p]] * s
            row = np.uint64(elim[p + ONE]) * m
            for k in range(m):
                b[o * m + k] -= f * b[row + k]
            p += TWO


@kernel_part
def capacities(pi: Ints, pf: Floats, w: Floats, rdt: float) -> None:
    """Fill heat capacities, stream coefficients and the diagonal of the matrix."""
    dim = plan.int_view(pi, I_DIM)
    tau = plan.work_view(pi, w, W_TAU)
    cap = plan.work_view(pi, w, W_CAP)
    cps = plan.work_view(pi, w, W_CPS)
    hof = plan.work_view(pi, w, W_HOF)
    body = plan.float_view(pi, pf, F_BODY)
    a = plan.work_view(pi, w, W_A)
    b = plan.work_view(pi, w, W_B)
    n = np.uint64(dim[0])
    nc = np.uint64(dim[1])
    for s in range(n, np.uint64(dim[2])):
        a[s] = 0.0
    o = np.uint64(0)
    for i in range(nc):
        t = tau[i]
        c1 = body[o + ONE]
        c2 = body[o + TWO]
        c3 = body[o + THREE]
        c4 = body[o + FOUR]
        cp = c1 + t * (c2 + t * (c3 + t * c4))
        cps[i] = cp
        hof[i] = -t * t * (0.5 * c2 + t * ((2.0 / 3.0) * c3 + t * 0.75 * c4))
        cap[i] = body[o] * cp
        g = cap[i] * rdt
        a[i] = g
        b[i] = g * t
        o += FIVE
    for i in range(nc, n):
        g = cap[i] * rdt
        a[i] = g
        b[i] = g * tau[i]


@kernel_part
def conductances(pi: Ints, w: Floats) -> None:
    """Add inner and outside conductances to the matrix."""
    a = plan.work_view(pi, w, W_A)
    b = plan.work_view(pi, w, W_B)
    g = plan.work_view(pi, w, W_G)
    tb = plan.work_view(pi, w, W_TB)
    tr = plan.int_view(pi, I_TR)
    for c in range(np.uint64(0), np.uint64(tr.shape[0]), NINE):
        k = g[tr[c + FOUR]]
        a[tr[c]] -= k
        a[tr[c + ONE]] += k
        a[tr[c + TWO]] += k
        a[tr[c + THREE]] -= k
    bt = plan.int_view(pi, I_BT)
    for c in range(np.uint64(0), np.uint64(bt.shape[0]), FOUR):
        i = bt[c]
        k = g[bt[c + TWO]]
        a[i] += k
        b[i] += k * tb[bt[c + ONE]]


@kernel_part
def streams(pi: Ints, w: Floats) -> None:
    """Add enthalpy streams, upwind, to the matrix."""
    a = plan.work_view(pi, w, W_A)
    b = plan.work_view(pi, w, W_B)
    mdot = plan.work_view(pi, w, W_MDOT)
    cps = plan.work_view(pi, w, W_CPS)
    hof = plan.work_view(pi, w, W_HOF)
    tb = plan.work_view(pi, w, W_TB)
    st = plan.int_view(pi, I_ST)
    for e in range(np.uint64(0), np.uint64(st.shape[0]), FIVE):
        m = mdot[st[e + TWO]]
        i = st[e]
        j = st[e + ONE]
        if m >= 0.0:
            k = m * cps[i]
            h = m * hof[i]
            a[i] += k
            a[st[e + FOUR]] -= k
            b[i] -= h
            b[j] += h
        else:
            k = -m * cps[j]
            h = -m * hof[j]
            a[j] += k
            a[st[e + THREE]] -= k
            b[j] -= h
            b[i] += h
    bs = plan.int_view(pi, I_BS)
    for e in range(np.uint64(0), np.uint64(bs.shape[0]), FIVE):
        m = mdot[bs[e + ONE]]
        if bs[e + TWO] == 0:
            m = -m
        i = bs[e]
        if m >= 0.0:
            b[i] += m * cps[i] * tb[bs[e + THREE]]
        else:
            a[i] -= m * cps[i]
            b[i] += m * hof[i]


@kernel_part
def sources(pi: Ints, pf: Floats, w: Floats, row: Floats) -> None:
    """Add heat sources and the linearised refrigerant heats."""
    a = plan.work_view(pi, w, W_A)
    b = plan.work_view(pi, w, W_B)
    y = plan.work_view(pi, w, W_Y)
    so = plan.int_view(pi, I_SO)
    sc = plan.float_view(pi, pf, F_SOC)
    for s in range(np.uint64(sc.shape[0])):
        b[so[THREE * s]] += sc[s] * y[so[THREE * s + ONE]]
    sd = plan.int_view(pi, I_SD)
    cc = plan.float_view(pi, pf, F_SDC)
    for s in range(np.uint64(cc.shape[0])):
        b[sd[THREE * s]] += cc[s] * row[sd[THREE * s + ONE]]
    circ = plan.int_view(pi, I_CIRC)
    for c in range(np.uint64(circ.shape[0])):
        own = pi[np.uint64(circ[c]) :]
        wall = plan.int_view(own, I_RPWALL)
        slot = plan.int_view(own, I_RPSLOT)
        q = plan.work_view(own, w, W_CQ)
        dq = plan.work_view(own, w, W_CDQ)
        tw = plan.work_view(own, w, W_TW)
        n = np.uint64(wall.shape[0])
        for k in range(n):
            t = q[k]
            for i in range(n):
                j = dq[k * n + i]
                a[slot[k * n + i]] -= j
                t -= j * (tw[i] - 273.15)
            b[wall[k]] += t


@kernel_part
def assemble(pi: Ints, pf: Floats, w: Floats, row: Floats, dt: float) -> None:
    """Fill the matrix and its right-hand side for a step of `dt` seconds."""
    tb = plan.work_view(pi, w, W_TB)
    col = plan.int_view(pi, I_TBCOL)
    for k in range(np.uint64(col.shape[0])):
        tb[k] = row[col[k]]
    capacities(pi, pf, w, 1.0 / dt)
    conductances(pi, w)
    streams(pi, w)
    sources(pi, pf, w, row)


@kernel_jit
def solve_heat(pi: Ints, pf: Floats, w: Floats, row: Floats, dt: float) -> None:
    """Fill `taun` with the node temperatures at the end of a step of `dt` seconds."""
    assemble(pi, pf, w, row, dt)
    b = plan.work_view(pi, w, W_B)
    eliminate(plan.int_view(pi, I_ELIM), plan.work_view(pi, w, W_A), b)
    taun = plan.work_view(pi, w, W_TAUN)
    for i in range(np.uint64(taun.shape[0])):
        taun[i] = b[i]


@kernel_part
def _account_conductances(pi: Ints, w: Floats, dt: float) -> float:
    """Book the heat of every conductance; return the sum of magnitudes [W]."""
    g = plan.work_view(pi, w, W_G)
    t = plan.work_view(pi, w, W_TAUN)
    tb = plan.work_view(pi, w, W_TB)
    acc = plan.work_view(pi, w, W_ACC)
    tr = plan.int_view(pi, I_TR)
    through = 0.0
    for c in range(np.uint64(0), np.uint64(tr.shape[0]), NINE):
        through += abs(g[tr[c + FOUR]] * (t[tr[c + FIVE]] - t[tr[c + SIX]]))
    bt = plan.int_view(pi, I_BT)
    for c in range(np.uint64(0), np.uint64(bt.shape[0]), FOUR):
        f = g[bt[c + TWO]] * (tb[bt[c + ONE]] - t[bt[c]])
        acc[bt[c + THREE]] += f * dt
        through += abs(f)
    return through


@kernel_part
def _account_streams(pi: Ints, w: Floats, dt: float) -> float:
    """Book the enthalpy of every stream; return the sum of magnitudes [W]."""
    t = plan.work_view(pi, w, W_TAUN)
    tb = plan.work_view(pi, w, W_TB)
    acc = plan.work_view(pi, w, W_ACC)
    mdot = plan.work_view(pi, w, W_MDOT)
    cps = plan.work_view(pi, w, W_CPS)
    hof = plan.work_view(pi, w, W_HOF)
    st = plan.int_view(pi, I_ST)
    through = 0.0
    for e in range(np.uint64(0), np.uint64(st.shape[0]), FIVE):
        m = mdot[st[e + TWO]]
        i = st[e]
        if m < 0.0:
            i = st[e + ONE]
        through += abs(m * (cps[i] * t[i] + hof[i]))
    bs = plan.int_view(pi, I_BS)
    for e in range(np.uint64(0), np.uint64(bs.shape[0]), FIVE):
        m = mdot[bs[e + ONE]]
        if bs[e + TWO] == 0:
            m = -m
        i = bs[e]
        if m >= 0.0:
            f = m * cps[i] * tb[bs[e + THREE]]
        else:
            f = m * (cps[i] * t[i] + hof[i])
        acc[bs[e + FOUR]] += f * dt
        through += abs(f)
    return through


@kernel_part
def _account_sources(pi: Ints, pf: Floats, w: Floats, row: Floats, dt: float) -> tuple[float, float]:
    """Book sources from the driver rows; return the sum of magnitudes [W] and the net refrigerant heat [W]."""
    t = plan.work_view(pi, w, W_TAUN)
    y = plan.work_view(pi, w, W_Y)
    acc = plan.work_view(pi, w, W_ACC)
    so = plan.int_view(pi, I_SO)
    sc = plan.float_view(pi, pf, F_SOC)
    through = 0.0
    for s in range(np.uint64(sc.shape[0])):
        f = sc[s] * y[so[THREE * s + ONE]]
        acc[so[THREE * s + TWO]] += f * dt
        through += abs(f)
    sd = plan.int_view(pi, I_SD)
    cc = plan.float_view(pi, pf, F_SDC)
    for s in range(np.uint64(cc.shape[0])):
        f = cc[s] * row[sd[THREE * s + ONE]]
        acc[sd[THREE * s + TWO]] += f * dt
        through += abs(f)
    circ = plan.int_view(pi, I_CIRC)
    net = 0.0
    for m in range(np.uint64(circ.shape[0])):
        own = pi[np.uint64(circ[m]) :]
        wall = plan.int_view(own, I_RPWALL)
        q = plan.work_view(own, w, W_CQ)
        dq = plan.work_view(own, w, W_CDQ)
        tw = plan.work_view(own, w, W_TW)
        n = np.uint64(wall.shape[0])
        for k in range(n):
            f = q[k]
            for i in range(n):
                f += dq[k * n + i] * (t[wall[i]] - (tw[i] - 273.15))
            net += f
            through += abs(f)
    return through, net


@kernel_jit
def account(pi: Ints, pf: Floats, w: Floats, row: Floats, dt: float) -> float:
    """Book every heat flow of the step, move the stored energies, and return the net refrigerant heat [W]."""
    acc = plan.work_view(pi, w, W_ACC)
    through = _account_conductances(pi, w, dt) + _account_streams(pi, w, dt)
    extra, net = _account_sources(pi, pf, w, row, dt)
    acc[A_THROUGH] += (through + extra) * dt
    dim = plan.int_view(pi, I_DIM)
    u = plan.work_view(pi, w, W_U)
    tau = plan.work_view(pi, w, W_TAU)
    taun = plan.work_view(pi, w, W_TAUN)
    cap = plan.work_view(pi, w, W_CAP)
    n = np.uint64(dim[0])
    for i in range(n):
        u[i] += cap[i] * (taun[i] - tau[i])
    return net


@kernel_jit
def restore_temperatures(pi: Ints, pf: Floats, w: Floats) -> None:
    """Fill `tau` from the stored energies, starting from `taun` where heat capacity varies with temperature."""
    dim = plan.int_view(pi, I_DIM)
    u = plan.work_view(pi, w, W_U)
    tau = plan.work_view(pi, w, W_TAU)
    taun = plan.work_view(pi, w, W_TAUN)
    cap = plan.work_view(pi, w, W_CAP)
    body = plan.float_view(pi, pf, F_BODY)
    nc = np.uint64(dim[1])
    o = np.uint64(0)
    for i in range(nc):
        t = taun[i]
        c1 = body[o + ONE]
        c2 = body[o + TWO]
        c3 = body[o + THREE]
        c4 = body[o + FOUR]
        um = u[i] / body[o]
        for _ in range(2):
            e = t * (c1 + t * (0.5 * c2 + t * ((1.0 / 3.0) * c3 + t * 0.25 * c4))) - um
            t -= e / (c1 + t * (c2 + t * (c3 + t * c4)))
        tau[i] = t
        o += FIVE
    for i in range(nc, np.uint64(dim[0])):
        tau[i] = u[i] / cap[i]
