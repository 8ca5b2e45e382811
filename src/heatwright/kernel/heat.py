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

I_DIM = plan.I["dim"]
I_ORDER, I_DIAG, I_LPTR, I_LROW, I_LSLOT, I_USLOT, I_UCOL, I_DST = (
    plan.I[k] for k in ("order", "diag", "lptr", "lrow", "lslot", "uslot", "ucol", "dst")
)
I_TRP, I_TRQ, I_RP, I_RQ, I_SP, I_SQ, I_TRR, I_TRS, I_TRG = (
    plan.I[k] for k in ("tr_p", "tr_q", "tr_rp", "tr_rq", "tr_sp", "tr_sq", "tr_r", "tr_s", "tr_g")
)
I_BTQ, I_BTSLOT, I_BTB, I_BTG, I_BTACC = (plan.I[k] for k in ("bt_q", "bt_slot", "bt_b", "bt_g", "bt_acc"))
I_STA, I_STB, I_STM, I_AA, I_BA, I_AB, I_BB = (
    plan.I[k] for k in ("st_a", "st_b", "st_m", "st_aa", "st_ba", "st_ab", "st_bb")
)
I_BSN, I_BSM, I_BSD, I_BSB, I_BSACC = (plan.I[k] for k in ("bs_n", "bs_m", "bs_d", "bs_b", "bs_acc"))
I_SON, I_SOY, I_SOACC, I_SDN, I_SDCOL, I_SDACC = (
    plan.I[k] for k in ("so_n", "so_y", "so_acc", "sd_n", "sd_col", "sd_acc")
)
I_RPWALL, I_RPSLOT, I_TBCOL = plan.I["rp_wall"], plan.I["rp_slot"], plan.I["tb_col"]
F_MASS, F_C1, F_C2, F_C3, F_C4 = (plan.F[k] for k in ("mass", "c1", "c2", "c3", "c4"))
F_SOC, F_SDC = plan.F["so_c"], plan.F["sd_c"]
W_U, W_TAU, W_TAUN, W_CAP, W_CPS, W_HOF = (plan.W[k] for k in ("u", "tau", "taun", "cap", "cps", "hof"))
W_A, W_B, W_G, W_MDOT, W_TB, W_Y, W_ACC = (plan.W[k] for k in ("a", "b", "g", "mdot", "tb", "y", "acc"))
W_TW, W_CQ, W_CDQ = plan.W["tw"], plan.W["cq"], plan.W["cdq"]
ONE, TWO = np.uint64(1), np.uint64(2)


@kernel_jit
def eliminate(pi: Ints, a: Floats, b: Floats) -> None:
    """Solve a x = b in place (x in b) in the precomputed order; no pivoting (a is an M-matrix by rows)."""
    order = plan.int_view(pi, I_ORDER)
    diag = plan.int_view(pi, I_DIAG)
    lptr = plan.int_view(pi, I_LPTR)
    lrow = plan.int_view(pi, I_LROW)
    lslot = plan.int_view(pi, I_LSLOT)
    uslot = plan.int_view(pi, I_USLOT)
    ucol = plan.int_view(pi, I_UCOL)
    dst = plan.int_view(pi, I_DST)
    n = np.uint64(order.shape[0])
    d = np.uint64(0)
    for k in range(n):
        o = order[k]
        dk = diag[k]
        s = 1.0 / a[dk]
        a[dk] = s
        l0 = np.uint64(lptr[k])
        l1 = np.uint64(lptr[k + ONE])
        bo = b[o]
        for q in range(l0, l1):
            f = a[lslot[q]] * s
            for r in range(l0, l1):
                a[dst[d]] -= f * a[uslot[r]]
                d += ONE
            b[lrow[q]] -= f * bo
    for kk in range(n):
        k = n - ONE - kk  # type: ignore[assignment]
        o = order[k]
        s = b[o]
        for r in range(np.uint64(lptr[k]), np.uint64(lptr[k + ONE])):
            s -= a[uslot[r]] * b[ucol[r]]
        b[o] = s * a[diag[k]]


@kernel_part
def _capacities(pi: Ints, pf: Floats, w: Floats, rdt: float) -> None:
    """Fill heat capacities, stream coefficients and the diagonal of the matrix."""
    dim = plan.int_view(pi, I_DIM)
    tau = plan.work_view(pi, w, W_TAU)
    cap = plan.work_view(pi, w, W_CAP)
    cps = plan.work_view(pi, w, W_CPS)
    hof = plan.work_view(pi, w, W_HOF)
    mass = plan.float_view(pi, pf, F_MASS)
    c1 = plan.float_view(pi, pf, F_C1)
    c2 = plan.float_view(pi, pf, F_C2)
    c3 = plan.float_view(pi, pf, F_C3)
    c4 = plan.float_view(pi, pf, F_C4)
    a = plan.work_view(pi, w, W_A)
    b = plan.work_view(pi, w, W_B)
    n = np.uint64(dim[0])
    nc = np.uint64(dim[1])
    for s in range(np.uint64(dim[2])):
        a[s] = 0.0
    for i in range(nc):
        t = tau[i]
        cp = c1[i] + t * (c2[i] + t * (c3[i] + t * c4[i]))
        cps[i] = cp
        hof[i] = -t * t * (0.5 * c2[i] + t * ((2.0 / 3.0) * c3[i] + t * 0.75 * c4[i]))
        cap[i] = mass[i] * cp
        g = cap[i] * rdt
        a[i] = g
        b[i] = g * t
    for i in range(nc, n):
        g = cap[i] * rdt
        a[i] = g
        b[i] = g * tau[i]


@kernel_part
def _conductances(pi: Ints, w: Floats) -> None:
    """Add inner and outside conductances to the matrix."""
    a = plan.work_view(pi, w, W_A)
    b = plan.work_view(pi, w, W_B)
    g = plan.work_view(pi, w, W_G)
    tb = plan.work_view(pi, w, W_TB)
    rp = plan.int_view(pi, I_RP)
    rq = plan.int_view(pi, I_RQ)
    sp = plan.int_view(pi, I_SP)
    sq = plan.int_view(pi, I_SQ)
    tg = plan.int_view(pi, I_TRG)
    for c in range(np.uint64(tg.shape[0])):
        k = g[tg[c]]
        a[rp[c]] -= k
        a[rq[c]] += k
        a[sp[c]] += k
        a[sq[c]] -= k
    q = plan.int_view(pi, I_BTQ)
    bb = plan.int_view(pi, I_BTB)
    bg = plan.int_view(pi, I_BTG)
    for c in range(np.uint64(q.shape[0])):
        k = g[bg[c]]
        a[q[c]] += k
        b[q[c]] += k * tb[bb[c]]


@kernel_part
def _streams(pi: Ints, w: Floats) -> None:
    """Add enthalpy streams, upwind, to the matrix."""
    a = plan.work_view(pi, w, W_A)
    b = plan.work_view(pi, w, W_B)
    mdot = plan.work_view(pi, w, W_MDOT)
    cps = plan.work_view(pi, w, W_CPS)
    hof = plan.work_view(pi, w, W_HOF)
    tb = plan.work_view(pi, w, W_TB)
    sa = plan.int_view(pi, I_STA)
    sb = plan.int_view(pi, I_STB)
    sm = plan.int_view(pi, I_STM)
    ab = plan.int_view(pi, I_AB)
    ba = plan.int_view(pi, I_BA)
    for e in range(np.uint64(sa.shape[0])):
        m = mdot[sm[e]]
        i = sa[e]
        j = sb[e]
        if m >= 0.0:
            k = m * cps[i]
            h = m * hof[i]
            a[i] += k
            a[ba[e]] -= k
            b[i] -= h
            b[j] += h
        else:
            k = -m * cps[j]
            h = -m * hof[j]
            a[j] += k
            a[ab[e]] -= k
            b[j] -= h
            b[i] += h
    bn = plan.int_view(pi, I_BSN)
    bm = plan.int_view(pi, I_BSM)
    bd = plan.int_view(pi, I_BSD)
    bb = plan.int_view(pi, I_BSB)
    for e in range(np.uint64(bn.shape[0])):
        m = mdot[bm[e]]
        if bd[e] == 0:
            m = -m
        i = bn[e]
        if m >= 0.0:
            b[i] += m * cps[i] * tb[bb[e]]
        else:
            a[i] -= m * cps[i]
            b[i] += m * hof[i]


@kernel_part
def _sources(pi: Ints, pf: Floats, w: Floats, row: Floats) -> None:
    """Add heat sources and the linearised refrigerant heats."""
    a = plan.work_view(pi, w, W_A)
    b = plan.work_view(pi, w, W_B)
    y = plan.work_view(pi, w, W_Y)
    sn = plan.int_view(pi, I_SON)
    sy = plan.int_view(pi, I_SOY)
    sc = plan.float_view(pi, pf, F_SOC)
    for s in range(np.uint64(sn.shape[0])):
        b[sn[s]] += sc[s] * y[sy[s]]
    dn = plan.int_view(pi, I_SDN)
    dc = plan.int_view(pi, I_SDCOL)
    cc = plan.float_view(pi, pf, F_SDC)
    for s in range(np.uint64(dn.shape[0])):
        b[dn[s]] += cc[s] * row[dc[s]]
    wall = plan.int_view(pi, I_RPWALL)
    slot = plan.int_view(pi, I_RPSLOT)
    q = plan.work_view(pi, w, W_CQ)
    dq = plan.work_view(pi, w, W_CDQ)
    tw = plan.work_view(pi, w, W_TW)
    n = np.uint64(wall.shape[0])
    for k in range(n):
        t = q[k]
        for i in range(n):
            j = dq[k * n + i]
            a[slot[k * n + i]] -= j
            t -= j * (tw[i] - 273.15)
        b[wall[k]] += t


@kernel_jit
def solve_heat(pi: Ints, pf: Floats, w: Floats, row: Floats, dt: float) -> None:
    """Fill `taun` with the node temperatures at the end of a step of `dt` seconds."""
    tb = plan.work_view(pi, w, W_TB)
    col = plan.int_view(pi, I_TBCOL)
    for k in range(np.uint64(col.shape[0])):
        tb[k] = row[col[k]]
    _capacities(pi, pf, w, 1.0 / dt)
    _conductances(pi, w)
    _streams(pi, w)
    _sources(pi, pf, w, row)
    b = plan.work_view(pi, w, W_B)
    eliminate(pi, plan.work_view(pi, w, W_A), b)
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
    p = plan.int_view(pi, I_TRP)
    q = plan.int_view(pi, I_TRQ)
    tg = plan.int_view(pi, I_TRG)
    through = 0.0
    for c in range(np.uint64(tg.shape[0])):
        through += abs(g[tg[c]] * (t[p[c]] - t[q[c]]))
    bq = plan.int_view(pi, I_BTQ)
    bb = plan.int_view(pi, I_BTB)
    bg = plan.int_view(pi, I_BTG)
    ba = plan.int_view(pi, I_BTACC)
    for c in range(np.uint64(bq.shape[0])):
        f = g[bg[c]] * (tb[bb[c]] - t[bq[c]])
        acc[ba[c]] += f * dt
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
    sa = plan.int_view(pi, I_STA)
    sb = plan.int_view(pi, I_STB)
    sm = plan.int_view(pi, I_STM)
    through = 0.0
    for e in range(np.uint64(sa.shape[0])):
        m = mdot[sm[e]]
        i = sa[e]
        if m < 0.0:
            i = sb[e]
        through += abs(m * (cps[i] * t[i] + hof[i]))
    bn = plan.int_view(pi, I_BSN)
    bm = plan.int_view(pi, I_BSM)
    bd = plan.int_view(pi, I_BSD)
    bb = plan.int_view(pi, I_BSB)
    ba = plan.int_view(pi, I_BSACC)
    for e in range(np.uint64(bn.shape[0])):
        m = mdot[bm[e]]
        if bd[e] == 0:
            m = -m
        i = bn[e]
        if m >= 0.0:
            f = m * cps[i] * tb[bb[e]]
        else:
            f = m * (cps[i] * t[i] + hof[i])
        acc[ba[e]] += f * dt
        through += abs(f)
    return through


@kernel_part
def _account_sources(pi: Ints, pf: Floats, w: Floats, row: Floats, dt: float) -> tuple[float, float]:
    """Book sources from the driver rows; return the sum of magnitudes [W] and the net refrigerant heat [W]."""
    t = plan.work_view(pi, w, W_TAUN)
    y = plan.work_view(pi, w, W_Y)
    acc = plan.work_view(pi, w, W_ACC)
    sn = plan.int_view(pi, I_SON)
    sy = plan.int_view(pi, I_SOY)
    sa = plan.int_view(pi, I_SOACC)
    sc = plan.float_view(pi, pf, F_SOC)
    through = 0.0
    for s in range(np.uint64(sn.shape[0])):
        f = sc[s] * y[sy[s]]
        acc[sa[s]] += f * dt
        through += abs(f)
    dn = plan.int_view(pi, I_SDN)
    dc = plan.int_view(pi, I_SDCOL)
    da = plan.int_view(pi, I_SDACC)
    cc = plan.float_view(pi, pf, F_SDC)
    for s in range(np.uint64(dn.shape[0])):
        f = cc[s] * row[dc[s]]
        acc[da[s]] += f * dt
        through += abs(f)
    wall = plan.int_view(pi, I_RPWALL)
    q = plan.work_view(pi, w, W_CQ)
    dq = plan.work_view(pi, w, W_CDQ)
    tw = plan.work_view(pi, w, W_TW)
    n = np.uint64(wall.shape[0])
    net = 0.0
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
    mass = plan.float_view(pi, pf, F_MASS)
    c1 = plan.float_view(pi, pf, F_C1)
    c2 = plan.float_view(pi, pf, F_C2)
    c3 = plan.float_view(pi, pf, F_C3)
    c4 = plan.float_view(pi, pf, F_C4)
    nc = np.uint64(dim[1])
    for i in range(nc):
        t = taun[i]
        um = u[i] / mass[i]
        for _ in range(2):
            e = t * (c1[i] + t * (0.5 * c2[i] + t * ((1.0 / 3.0) * c3[i] + t * 0.25 * c4[i]))) - um
            t -= e / (c1[i] + t * (c2[i] + t * (c3[i] + t * c4[i])))
        tau[i] = t
    for i in range(nc, np.uint64(dim[0])):
        tau[i] = u[i] / cap[i]
