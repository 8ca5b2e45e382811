"""Coolant and air flows from the actuators, and the conductances that follow from flows.

A network is solved again only when a pump or blower in it has moved by more than 0.15 % of its speed, a valve
or door by more than 0.5 % of its travel, or when the coolant somewhere in it has changed its viscosity by 3 %
since the last solution.  Films are renewed with it.  Conductances between a wall or a core and an air stream are
renewed when that stream has changed by 0.2 %.
"""

from __future__ import annotations

import math

import numpy as np

from heatwright.kernel import plan
from heatwright.kernel.frost import frosted_flow
from heatwright.kernel.names import D_P, D_RAM, D_RHO, M_FLOWFAIL, M_FLOWS
from heatwright.kernel.pairs import renew_pairs
from heatwright.kernel.plan import Floats, Ints
from heatwright.physics.blower import blower_power_w
from heatwright.physics.coolant import conductivity, density, heat_capacity, viscosity
from heatwright.physics.exchange import exchange_conductance, wall_to_stream
from heatwright.physics.front_air import core_speed
from heatwright.physics.hydraulics import film, pump_head, pump_power
from heatwright.physics.jit import kernel_jit, kernel_part
from heatwright.physics.network import solve_network

I_NETJ, I_NETB, I_NETE, I_NETNP, I_NETNODE, I_NETFLUID = (
    plan.I[k] for k in ("net_j", "net_b", "net_e", "net_np", "net_node", "net_fluid")
)
I_BRF, I_BRT, I_ONE, I_ELPTR, I_ELKIND, I_ELN, I_WPTR, I_ELW = (
    plan.I[k] for k in ("br_f", "br_t", "br_one", "el_ptr", "el_kind", "el_n", "el_wptr", "el_w")
)
I_DVKIND, I_DVEL, I_DVM, I_FR = (plan.I[k] for k in ("dv_kind", "dv_el", "dv_m", "fr_idx"))
I_GD, I_GF, I_GA, I_GX, I_GL = (plan.I[k] for k in ("gd", "gf", "ga", "gx", "gl"))
F_ELPAR, F_FLUID, F_DV, F_FR = (plan.F[k] for k in ("el_par", "fluid", "dv_par", "fr_par"))
F_GF, F_GA, F_GX, F_GL, F_GD = (plan.F[k] for k in ("gf_par", "ga_par", "gx_par", "gl_par", "gdf"))
W_TAU, W_G, W_MDOT, W_ACT, W_MISC, W_PDEV, W_HFILM, W_CPS = (
    plan.W[k] for k in ("tau", "g", "mdot", "act", "misc", "pdev", "hfilm", "cps")
)
W_MOVED, W_GFILM = plan.W["moved"], plan.W["gfilm"]
W_EDRIVE, W_ERHO, W_EMU, W_TLAST, W_TTOL, W_MLAST, W_NETW, W_NETP = (
    plan.W[k] for k in ("edrive", "erho", "emu", "tlast", "ttol", "mlast", "net_w", "net_p")
)
ONE, TWO, THREE, FOUR, SIX, SEVEN, ZERO = (np.uint64(k) for k in (1, 2, 3, 4, 6, 7, 0))
MOVED = 1.5e-3  # of a pump or blower
TURNED = 5e-3  # of a valve or door
THROAT = 2
TOLERANCE = 1e-6  # of pressures and flows; junctions balance to round-off whatever it is
THICKER = 0.03
R_AIR = 287.05
CP_AIR = 1006.0
MU_AIR = 1.8e-5


@kernel_part
def _moved(pi: Ints, w: Floats, k: int) -> bool:
    """Return whether an actuator or a viscosity of network k has moved; take over the new openings."""
    e0 = np.uint64(plan.int_view(pi, I_NETE)[k])
    e1 = np.uint64(plan.int_view(pi, I_NETE)[k + ONE])
    wptr = plan.int_view(pi, I_WPTR)
    elw = plan.int_view(pi, I_ELW)
    act = plan.work_view(pi, w, W_ACT)
    drive = plan.work_view(pi, w, W_EDRIVE)
    kind = plan.int_view(pi, I_ELKIND)
    dirty = False
    for e in range(e0, e1):
        a = np.uint64(wptr[e])
        b = np.uint64(wptr[e + ONE])
        if a == b:
            continue
        total = 0.0
        for j in range(a, b):
            total += act[elw[j]]
        least = TURNED if kind[e] == THROAT else MOVED
        if abs(total - drive[e]) > least or (total == 0.0) != (drive[e] == 0.0):
            drive[e] = total
            dirty = True
    nodes = plan.int_view(pi, I_NETNODE)
    tau = plan.work_view(pi, w, W_TAU)
    last = plan.work_view(pi, w, W_TLAST)
    tol = plan.work_view(pi, w, W_TTOL)
    n0 = np.uint64(plan.int_view(pi, I_NETNP)[k])
    n1 = np.uint64(plan.int_view(pi, I_NETNP)[k + ONE])
    for j in range(n0, n1):
        if abs(tau[nodes[j]] - last[j]) > tol[j]:
            dirty = True
    return dirty


@kernel_part
def _fill_fluid(pi: Ints, pf: Floats, w: Floats, row: Floats, k: int) -> None:
    """Fill density and viscosity of every element of network k, and the next temperatures to act on."""
    e0 = np.uint64(plan.int_view(pi, I_NETE)[k])
    e1 = np.uint64(plan.int_view(pi, I_NETE)[k + ONE])
    eln = plan.int_view(pi, I_ELN)
    tau = plan.work_view(pi, w, W_TAU)
    rho = plan.work_view(pi, w, W_ERHO)
    mu = plan.work_view(pi, w, W_EMU)
    fluid = plan.float_view(pi, pf, F_FLUID)
    coolant = plan.int_view(pi, I_NETFLUID)[k] == 1
    for e in range(e0, e1):
        t = tau[eln[e]] + 273.15
        if coolant:
            rho[e] = density(t, fluid, ZERO)
            mu[e] = viscosity(t, fluid, ZERO)
        else:
            rho[e] = row[D_P] / (R_AIR * t)
            mu[e] = MU_AIR
    nodes = plan.int_view(pi, I_NETNODE)
    last = plan.work_view(pi, w, W_TLAST)
    tol = plan.work_view(pi, w, W_TTOL)
    for j in range(np.uint64(plan.int_view(pi, I_NETNP)[k]), np.uint64(plan.int_view(pi, I_NETNP)[k + ONE])):
        t = tau[nodes[j]] + 273.15
        last[j] = t - 273.15
        if coolant:
            change = math.log(viscosity(t - 0.5, fluid, ZERO) / viscosity(t + 0.5, fluid, ZERO))
            tol[j] = THICKER / max(abs(change), 1e-4)
        else:
            tol[j] = THICKER * t


@kernel_part
def _solve(pi: Ints, pf: Floats, w: Floats, k: int) -> None:
    """Solve the flows of network k."""
    netb = plan.int_view(pi, I_NETB)
    nete = plan.int_view(pi, I_NETE)
    netj = plan.int_view(pi, I_NETJ)
    b0 = np.uint64(netb[k])
    b1 = np.uint64(netb[k + ONE])
    e0 = np.uint64(nete[k])
    e1 = np.uint64(nete[k + ONE])
    j0 = ZERO
    for i in range(k):
        j0 += np.uint64(netj[i])
    misc = plan.work_view(pi, w, W_MISC)
    _, ok = solve_network(
        plan.int_view(pi, I_BRF)[b0:b1],
        plan.int_view(pi, I_BRT)[b0:b1],
        plan.int_view(pi, I_ONE)[b0:b1],
        plan.int_view(pi, I_ELPTR)[b0 + k : b1 + k + ONE],
        plan.int_view(pi, I_ELKIND)[e0:e1],
        plan.float_view(pi, pf, F_ELPAR)[SIX * e0 : SIX * e1],
        plan.work_view(pi, w, W_ERHO)[e0:e1],
        plan.work_view(pi, w, W_EMU)[e0:e1],
        plan.work_view(pi, w, W_EDRIVE)[e0:e1],
        plan.work_view(pi, w, W_MDOT)[b0:b1],
        plan.work_view(pi, w, W_NETP)[j0 : j0 + np.uint64(netj[k])],
        plan.work_view(pi, w, W_NETW),
        TOLERANCE,
    )
    moved = plan.work_view(pi, w, W_MOVED)
    for b in range(b0, b1):
        moved[b] = 1.0
    misc[M_FLOWS] += 1.0
    if not ok:
        misc[M_FLOWFAIL] += 1.0


@kernel_part
def _renew_films(pi: Ints, pf: Floats, w: Floats) -> None:
    """Renew coolant films and powers of pumps and blowers in networks that have been solved again."""
    moved = plan.work_view(pi, w, W_MOVED)
    tau = plan.work_view(pi, w, W_TAU)
    g = plan.work_view(pi, w, W_G)
    mdot = plan.work_view(pi, w, W_MDOT)
    fluid = plan.float_view(pi, pf, F_FLUID)
    gf = plan.int_view(pi, I_GF)
    par = plan.float_view(pi, pf, F_GF)
    for i in range(np.uint64(gf.shape[0]) // THREE):
        flow = gf[THREE * i + ONE]
        if moved[flow] == 0.0:
            continue
        t = tau[gf[THREE * i + TWO]] + 273.15
        o = FOUR * i
        h = film(
            mdot[flow], par[o], par[o + ONE], viscosity(t, fluid, ZERO), heat_capacity(t, fluid, ZERO),
            conductivity(t, fluid, ZERO),
        )  # fmt: skip
        g[gf[THREE * i]] = 1.0 / (1.0 / (h * par[o + TWO]) + par[o + THREE])
    gx = plan.int_view(pi, I_GX)
    xp = plan.float_view(pi, pf, F_GX)
    hfilm = plan.work_view(pi, w, W_HFILM)
    for i in range(np.uint64(gx.shape[0]) // FOUR):
        flow = gx[FOUR * i + ONE]
        if moved[flow] == 0.0:
            continue
        t = tau[gx[FOUR * i + TWO]] + 273.15
        o = SEVEN * i
        h = film(
            mdot[flow], xp[o], xp[o + ONE], viscosity(t, fluid, ZERO), heat_capacity(t, fluid, ZERO),
            conductivity(t, fluid, ZERO),
        )  # fmt: skip
        hfilm[i] = h * xp[o + TWO]
    kind = plan.int_view(pi, I_DVKIND)
    el = plan.int_view(pi, I_DVEL)
    dm = plan.int_view(pi, I_DVM)
    dv = plan.float_view(pi, pf, F_DV)
    epar = plan.float_view(pi, pf, F_ELPAR)
    rho = plan.work_view(pi, w, W_ERHO)
    drive = plan.work_view(pi, w, W_EDRIVE)
    power = plan.work_view(pi, w, W_PDEV)
    for d in range(np.uint64(kind.shape[0])):
        if moved[dm[d]] == 0.0:
            continue
        if kind[d] == 1:
            e = np.uint64(el[d])
            q = mdot[dm[d]] / rho[e]
            s = drive[e]
            head, _ = pump_head(q, s, epar[SIX * e], epar[SIX * e + ONE], epar[SIX * e + TWO], epar[SIX * e + THREE])
            o = SIX * d
            power[d] = pump_power(q, head, s, dv[o], dv[o + ONE], dv[o + TWO], dv[o + THREE])
        elif kind[d] == 2:
            o = SIX * d
            running = drive[el[d]] > 0.0
            power[d] = blower_power_w(mdot[dm[d]], dv[o], dv[o + ONE], dv[o + TWO]) if running else 0.0


@kernel_part
def _renew_air(pi: Ints, pf: Floats, w: Floats) -> None:
    """Renew conductances to air streams that have changed."""
    mdot = plan.work_view(pi, w, W_MDOT)
    last = plan.work_view(pi, w, W_MLAST)
    moved = plan.work_view(pi, w, W_MOVED)
    g = plan.work_view(pi, w, W_G)
    cps = plan.work_view(pi, w, W_CPS)
    clean = plan.work_view(pi, w, W_GFILM)
    ga = plan.int_view(pi, I_GA)
    par = plan.float_view(pi, pf, F_GA)
    for i in range(np.uint64(ga.shape[0]) // TWO):
        m = abs(mdot[ga[TWO * i + ONE]])
        if abs(m - last[ga[TWO * i + ONE]]) > 0.002 * m:
            ha = par[THREE * i] * (m / par[THREE * i + ONE]) ** par[THREE * i + TWO]
            g[ga[TWO * i]] = wall_to_stream(ha * clean[ga[TWO * i]], m * CP_AIR)
    gx = plan.int_view(pi, I_GX)
    xp = plan.float_view(pi, pf, F_GX)
    hfilm = plan.work_view(pi, w, W_HFILM)
    for i in range(np.uint64(gx.shape[0]) // FOUR):
        into = gx[FOUR * i]
        flow = gx[FOUR * i + ONE]
        air_flow = gx[FOUR * i + THREE]
        m = abs(mdot[air_flow])
        if moved[flow] != 0.0 or abs(m - last[air_flow]) > 0.002 * m:
            o = SEVEN * i
            c_cool = abs(mdot[flow]) * cps[gx[FOUR * i + TWO]]
            if m < 1e-7 or c_cool < 1e-6:
                g[into] = 0.0
            else:
                air = xp[o + THREE] * (m / xp[o + FOUR]) ** xp[o + np.uint64(5)]
                ua = 1.0 / (1.0 / hfilm[i] + 1.0 / (air * clean[into]))
                g[into] = exchange_conductance(np.int64(xp[o + SIX]), ua, c_cool, m * CP_AIR)
    gl = plan.int_view(pi, I_GL)
    lp = plan.float_view(pi, pf, F_GL)
    for i in range(np.uint64(0), np.uint64(gl.shape[0]), TWO):
        g[gl[i]] = lp[i] + lp[i + ONE] * abs(mdot[gl[i + ONE]])
    for i in range(np.uint64(last.shape[0])):
        m = abs(mdot[i])
        if abs(m - last[i]) > 0.002 * m:
            last[i] = m
        moved[i] = 0.0


@kernel_jit
def update_flows(pi: Ints, pf: Floats, w: Floats, row: Floats) -> None:
    """Bring flows, films and conductances up to date with actuators, speed and temperatures."""
    fluid = plan.int_view(pi, I_NETFLUID)
    n_net = np.uint64(fluid.shape[0])
    solved = ZERO
    for k in range(n_net):
        if fluid[k] != 0 and _moved(pi, w, k):
            _fill_fluid(pi, pf, w, row, k)
            _solve(pi, pf, w, k)
            solved = ONE
    mdot = plan.work_view(pi, w, W_MDOT)
    fr = plan.int_view(pi, I_FR)
    if fr.shape[0] > 0:
        par = plan.float_view(pi, pf, F_FR)
        fan = 0.0
        if fr[ONE] != 0:
            fan = plan.work_view(pi, w, W_ACT)[fr[ONE]]
        mdot[fr[ZERO]] = row[D_RHO] * par[ZERO] * core_speed(row[D_RAM], 1.0, fan, par[ONE]) * frosted_flow(pi, pf, w)
    if solved == ONE:
        _renew_films(pi, pf, w)
        renew_pairs(pi, pf, w)
    _renew_air(pi, pf, w)
    g = plan.work_view(pi, w, W_G)
    gd = plan.int_view(pi, I_GD)
    c = plan.float_view(pi, pf, F_GD)
    for i in range(np.uint64(0), np.uint64(gd.shape[0]), TWO):
        g[gd[i]] = c[i] + c[i + ONE] * row[gd[i + ONE]]
