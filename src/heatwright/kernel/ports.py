"""The exchangers as the valves have opened them, the circuit solved for them, and its heats for the record."""

from __future__ import annotations

import numpy as np

from heatwright.kernel import circuit_names as cc
from heatwright.kernel import plan
from heatwright.kernel.charge import solve_charged
from heatwright.kernel.mapped import left_map
from heatwright.kernel.names import (
    M_CSTEPS,
    M_FAILED,
    M_LIMITED,
    M_MAPLEFT,
    M_NEWTON,
    M_OVER,
    M_RETRIED,
    M_SHORT,
    M_WET,
    Z_CERR,
    Z_LEVEL,
    Z_LIMIT,
    Z_MAPLEFT,
    Z_MAY,
    Z_MREF,
    Z_NUSED,
    Z_ON,
    Z_PC,
    Z_PH,
    Z_PL,
    Z_QCOLD,
    Z_QHOT,
    Z_RESID,
    Z_SC,
    Z_SH,
    Z_SHORT,
    Z_TD,
    Z_WET,
)
from heatwright.kernel.plan import Floats, Ints
from heatwright.kernel.start import name_start_limit, wet_suction
from heatwright.kernel.status import CIRCUIT_NOT_SOLVED, CIRCUIT_RUNS
from heatwright.kernel.zones import move_zones, rest_zones, set_zones
from heatwright.physics.jit import kernel_jit

I_WALL, I_HOT, I_COLD, I_LEGAL, I_CBPTR, I_CBACT, I_RANK, I_LOSS = (
    plan.I[k] for k in ("rp_wall", "cb_hot", "cb_cold", "cb_legal", "cb_ptr", "cb_act", "cb_rank", "cx_loss")
)
I_IN, I_OUT, I_ACT = plan.I["rp_in"], plan.I["rp_out"], plan.I["cx_act"]
F_UA, F_SHARE, F_TAB = (plan.F[k] for k in ("rp_ua", "rp_share", "cp_tab"))
W_TAU, W_TW, W_UAH, W_UAC, W_CQ, W_CDQ, W_COUT, W_CWORK, W_CGUESS = (
    plan.W[k] for k in ("tau", "tw", "uah", "uac", "cq", "cdq", "cout", "cwork", "cguess")
)
W_ACT, W_Z, W_MISC, W_EXT, W_NOW = (plan.W[k] for k in ("act", "z", "misc", "ext", "cpnow"))
ONE, TWO, EIGHT = np.uint64(1), np.uint64(2), np.uint64(8)
LOWEST_LEGAL = 0.5


@kernel_jit
def open_ports(pi: Ints, pf: Floats, w: Floats) -> None:
    """Fill wall temperatures and the hot and cold conductance of every exchanger from the valves."""
    wall = plan.int_view(pi, I_WALL)
    tau = plan.work_view(pi, w, W_TAU)
    act = plan.work_view(pi, w, W_ACT)
    tw = plan.work_view(pi, w, W_TW)
    hot = plan.work_view(pi, w, W_UAH)
    cold = plan.work_view(pi, w, W_UAC)
    ua = plan.float_view(pi, pf, F_UA)
    z = plan.work_view(pi, w, W_Z)
    n = np.uint64(wall.shape[0])
    for k in range(n):
        tw[k] = tau[wall[k]] + 273.15
        hot[k] = 0.0
        cold[k] = 0.0
    mh = plan.int_view(pi, I_HOT)
    mc = plan.int_view(pi, I_COLD)
    legal = plan.int_view(pi, I_LEGAL)
    ptr = plan.int_view(pi, I_CBPTR)
    acts = plan.int_view(pi, I_CBACT)
    may = 0.0
    most = 0.0
    row = np.uint64(0)
    for c in range(np.uint64(mh.shape[0])):
        weight = 1.0
        for j in range(np.uint64(ptr[c]), np.uint64(ptr[c + ONE])):
            weight *= act[acts[j]]
        if weight <= 0.0 or legal[c] == 0:
            continue
        may += weight
        if weight > most:
            most = weight
            row = np.uint64(c)
        for k in range(n):
            if (np.uint64(mh[c]) >> k) & ONE:
                hot[k] += weight * ua[TWO * k]
            if (np.uint64(mc[c]) >> k) & ONE:
                cold[k] += weight * ua[TWO * k + ONE]
    z[Z_MAY] = may
    if most <= 0.0:
        return
    work = plan.work_view(pi, w, W_CWORK)
    rank = plan.int_view(pi, I_RANK)
    share = plan.float_view(pi, pf, F_SHARE)
    at = np.uint64(cc.POINT_SIZE) + EIGHT * n
    for k in range(n):
        work[at + k] = float(rank[row * n + k])
        work[at + n + k] = share[k]
    before = plan.int_view(pi, I_IN)
    behind = plan.int_view(pi, I_OUT)
    at += TWO * n + np.uint64(2 * cc.LINE)
    for k in range(np.uint64(before.shape[0])):
        work[at + k] = tau[before[k]] + 273.15
        work[at + n + k] = tau[behind[k]] + 273.15


@kernel_jit
def run_circuit(pi: Ints, pf: Floats, w: Floats, dt: float) -> None:
    """Solve the refrigerant circuit for the walls as they are; nothing runs that was not solved.

    The zones of its exchangers move over a step of `dt` seconds.
    """
    z = plan.work_view(pi, w, W_Z)
    z[Z_ON] = 0.0
    z[Z_PC] = 0.0
    tw = plan.work_view(pi, w, W_TW)
    n = np.uint64(tw.shape[0])
    if n == np.uint64(0):
        return
    speed = plan.work_view(pi, w, W_ACT)[plan.int_view(pi, I_ACT)[0]]
    if z[Z_MAY] < LOWEST_LEGAL:
        speed = 0.0
    out = plan.work_view(pi, w, W_COUT)
    kept = plan.work_view(pi, w, W_CGUESS)
    loss = plan.int_view(pi, I_LOSS)
    if loss.shape[0] > 0:
        kept[cc.U_EXTRA] = plan.work_view(pi, w, W_ACT)[loss[0]]
    par = plan.work_view(pi, w, W_NOW)
    tab = plan.float_view(pi, pf, F_TAB)
    ext = plan.work_view(pi, w, W_EXT)
    work = plan.work_view(pi, w, W_CWORK)
    cold = plan.work_view(pi, w, W_UAC)
    q = plan.work_view(pi, w, W_CQ)
    zones = par[cc.PAR_ZONES] > 0.0
    liquid_kg = wet_suction(pi, pf, w)
    if zones and speed >= cc.SPEED_OFF_HZ:
        set_zones(np.int64(n), tab, ext, cold, work)
    if par[cc.PAR_WET] > 0.0:
        work[cc.AT_HALF] = 0.0
        work[cc.AT_NONE] = 1.0
        work[cc.AT_SUCTION] = 0.0
    elif not zones:
        work[cc.AT_NONE] = 0.0
    status = solve_charged(
        speed, np.int64(n), tw, plan.work_view(pi, w, W_UAH), cold, par, tab, kept, q,
        plan.work_view(pi, w, W_CDQ), out, work, liquid_kg,
    )  # fmt: skip
    if zones and status == CIRCUIT_RUNS:
        move_zones(np.int64(n), par, tab, q, out, ext, work, dt)
    elif zones:
        rest_zones(np.int64(n), par, tab, ext)
    z[Z_LIMIT] = out[cc.OUT_LIMIT]
    name_start_limit(pi, pf, w, status)
    z[Z_LEVEL] = out[cc.OUT_LEVEL]
    z[Z_SHORT] = out[cc.OUT_CHARGE_SHORT]
    z[Z_CERR] = out[cc.OUT_CHARGE_ERROR_KG]
    z[Z_SC] = out[cc.OUT_SUBCOOLING] if status == CIRCUIT_RUNS else np.nan
    z[Z_PH] = out[cc.OUT_P_HIGH]
    z[Z_PL] = out[cc.OUT_P_LOW]
    z[Z_NUSED] = 0.0
    z[Z_MREF] = 0.0
    z[Z_RESID] = 0.0
    z[Z_TD] = np.nan
    z[Z_SH] = np.nan
    z[Z_WET] = np.nan
    if speed >= cc.SPEED_OFF_HZ:
        misc = plan.work_view(pi, w, W_MISC)
        misc[M_CSTEPS] += 1.0
        misc[M_NEWTON] += out[cc.OUT_EVALUATIONS]
        if out[cc.OUT_ATTEMPTS] > 1.0:
            misc[M_RETRIED] += 1.0
        if out[cc.OUT_LIMIT] > 0.0:
            misc[M_LIMITED] += 1.0
        if status == CIRCUIT_NOT_SOLVED:
            misc[M_FAILED] += 1.0
    if status == CIRCUIT_RUNS:
        z[Z_ON] = 1.0
        z[Z_PC] = out[cc.OUT_P_ELECTRIC]
        z[Z_NUSED] = out[cc.OUT_SPEED]
        z[Z_MREF] = out[cc.OUT_MDOT]
        z[Z_TD] = out[cc.OUT_T_DISCHARGE]
        z[Z_RESID] = out[cc.OUT_RESIDUAL]
        z[Z_SH] = out[cc.OUT_SUPERHEAT]
        z[Z_WET] = out[cc.OUT_WET_MARGIN]
    misc = plan.work_view(pi, w, W_MISC)
    if status == CIRCUIT_RUNS and out[cc.OUT_WET_MARGIN] < 0.0:
        misc[M_WET] += 1.0
    z[Z_MAPLEFT] = left_map(par, out) if status == CIRCUIT_RUNS else 0.0
    if z[Z_MAPLEFT] > 0.0:
        misc[M_MAPLEFT] += 1.0
    if z[Z_SHORT] > 0.0:
        misc[M_SHORT] += 1.0
    elif z[Z_SHORT] < 0.0:
        misc[M_OVER] += 1.0


@kernel_jit
def book_refrigerant(pi: Ints, w: Floats) -> None:
    """Note the heats of hot and cold sides of the last solve for the record."""
    z = plan.work_view(pi, w, W_Z)
    q = plan.work_view(pi, w, W_CQ)
    z[Z_QHOT] = 0.0
    z[Z_QCOLD] = 0.0
    for k in range(np.uint64(q.shape[0])):
        if q[k] > 0.0:
            z[Z_QHOT] += q[k]
        else:
            z[Z_QCOLD] -= q[k]
