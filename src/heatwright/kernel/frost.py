"""Frost and dew on the exchangers in the wind: vapour that settles, the air it holds back, and its melting.

For every exchanger `frost` keeps ice, water held, what was taken from the air, what has drained [kg] and the share of
the air's way that is closed.  The heats are known before the heat network is solved and enter it as sources, so the
ledger books what was solved.  The state is linear in the steps like every other; what a combination of steps
has taken below zero is made good in the next step, in mass and in heat.
"""

from __future__ import annotations

import math

import numpy as np

from heatwright.kernel import plan
from heatwright.kernel.names import D_P, D_W
from heatwright.kernel.plan import Floats, Ints
from heatwright.physics.front_frost import film_factor, passage_free, settling_kg_per_s
from heatwright.physics.jit import kernel_jit
from heatwright.physics.moist_air import CP_AIR_J_PER_KG_K, H_FUSION_J_PER_KG, H_VAPOUR_J_PER_KG, ZERO_C_K

I_FX, I_FR = plan.I["fx"], plan.I["fr_idx"]
F_FX = plan.F["fx_par"]
W_FROST, W_FILM, W_TAU, W_CAP, W_G, W_MDOT, W_Y = (
    plan.W[k] for k in ("frost", "gfilm", "tau", "cap", "g", "mdot", "y")
)
ICE, HELD, TAKEN, DRAINED, CLOSED = (np.uint64(k) for k in range(5))
PLACES = 5
WALL, AIR, G, LATENT, MELT = (np.uint64(k) for k in range(5))
FULL, HOLD, INNER, PATH, MELTS, TAKES = (np.uint64(k) for k in range(6))
N_PAR = 6
FIVE, SIX = np.uint64(5), np.uint64(6)
LEAST_FLOW_KG_PER_S = 1e-6


@kernel_jit
def frosted_flow(pi: Ints, pf: Floats, w: Floats) -> float:
    """Return the front air flow over that without frost; fill the factors of the frosted exchangers' air films."""
    fx = plan.int_view(pi, I_FX)
    par = plan.float_view(pi, pf, F_FX)
    state = plan.work_view(pi, w, W_FROST)
    film = plan.work_view(pi, w, W_FILM)
    rise = 0.0
    for i in range(np.uint64(fx.shape[0]) // FIVE):
        ice = state[FIVE * i + ICE]
        into = fx[FIVE * i + G]
        film[into] = 1.0
        if ice > 0.0:
            full = par[SIX * i + FULL]
            free = passage_free(ice, full)
            film[into] = film_factor(ice, full)
            rise += par[SIX * i + PATH] * (1.0 / (free * free * free) - 1.0)
    return 1.0 / math.sqrt(1.0 + rise)


@kernel_jit
def surface_c(t_wall: float, t_air: float, inner: float, factor: float) -> float:
    """Return the temperature of a surface in the wind, of its frost where it has some [degC].

    inner : share of the resistance between wall and bare surface. factor : of the air's film (`film_factor`).
    """
    t_s = t_wall + inner * (t_air - t_wall)
    return t_s + (1.0 - factor) * (t_air - t_s)


@kernel_jit
def reached_kg_per_s(conductance: float, inner: float, factor: float, takes: float, flow: float) -> float:
    """Return the air that comes as close as the surface [kg/s]. conductance : from wall to air, as frosted [W/K]."""
    return takes * min(conductance / ((1.0 - inner) * factor) / CP_AIR_J_PER_KG_K, flow)


@kernel_jit
def step_frost(pi: Ints, pf: Floats, w: Floats, row: Floats, dt: float) -> None:
    """Move frost and water of every exchanger in the wind over a step; fill their latent and melting heats."""
    fx = plan.int_view(pi, I_FX)
    n = np.uint64(fx.shape[0]) // FIVE
    if n == np.uint64(0):
        return
    par = plan.float_view(pi, pf, F_FX)
    state = plan.work_view(pi, w, W_FROST)
    tau = plan.work_view(pi, w, W_TAU)
    y = plan.work_view(pi, w, W_Y)
    flow = plan.work_view(pi, w, W_MDOT)[plan.int_view(pi, I_FR)[0]]
    humid = row[D_W]
    for i in range(n):
        o = FIVE * i
        c = SIX * i
        ice = state[o + ICE]
        held = state[o + HELD]
        t_n = tau[fx[o + WALL]]
        t_a = tau[fx[o + AIR]]
        y[fx[o + LATENT]] = 0.0
        y[fx[o + MELT]] = 0.0
        if t_n >= t_a and ice == 0.0 and held == 0.0:
            continue
        full = par[c + FULL]
        factor = film_factor(max(ice, 0.0), full)
        inner = par[c + INNER]
        t_s = t_n + inner * (t_a - t_n)
        t_s += (1.0 - factor) * (t_a - t_s)
        settled = 0.0
        if flow > LEAST_FLOW_KG_PER_S:
            conductance = plan.work_view(pi, w, W_G)[fx[o + G]] / ((1.0 - inner) * factor)
            reach = par[c + TAKES] * min(conductance / CP_AIR_J_PER_KG_K, flow)
            stock = ice if t_s < 0.0 else held
            settled = settling_kg_per_s(reach, humid, t_s + ZERO_C_K, row[D_P], stock, dt)
            humid -= settled / flow
        if t_s < 0.0:
            ice += settled * dt
            y[fx[o + LATENT]] = settled * (H_VAPOUR_J_PER_KG + H_FUSION_J_PER_KG)
        else:
            held += settled * dt
            y[fx[o + LATENT]] = settled * H_VAPOUR_J_PER_KG
        power = min(par[c + MELTS], plan.work_view(pi, w, W_CAP)[fx[o + WALL]] / dt) * t_n
        melted = min(max(power * dt / H_FUSION_J_PER_KG, -held), ice)
        ice -= melted
        held += melted
        y[fx[o + MELT]] = -melted * H_FUSION_J_PER_KG / dt
        drained = min(held, 0.0) + max(held - par[c + HOLD], 0.0)
        state[o + ICE] = ice
        state[o + HELD] = held - drained
        state[o + TAKEN] += settled * dt
        state[o + DRAINED] += drained
        state[o + CLOSED] = 1.0 - passage_free(max(ice, 0.0), full)


@kernel_jit
def freezing_kg_per_s(pi: Ints, pf: Floats, w: Floats, row: Floats, end: Floats) -> float:
    """Return the frost that would gather on all exchangers in the wind with the nodes at `end` [degC]."""
    fx = plan.int_view(pi, I_FX)
    n = np.uint64(fx.shape[0]) // FIVE
    if n == np.uint64(0):
        return 0.0
    par = plan.float_view(pi, pf, F_FX)
    state = plan.work_view(pi, w, W_FROST)
    flow = plan.work_view(pi, w, W_MDOT)[plan.int_view(pi, I_FR)[0]]
    humid = row[D_W]
    total = 0.0
    for i in range(n):
        o = FIVE * i
        c = SIX * i
        factor = film_factor(max(state[o + ICE], 0.0), par[c + FULL])
        inner = par[c + INNER]
        t_s = surface_c(end[fx[o + WALL]], end[fx[o + AIR]], inner, factor)
        if t_s >= 0.0 or flow <= LEAST_FLOW_KG_PER_S:
            continue
        reach = reached_kg_per_s(plan.work_view(pi, w, W_G)[fx[o + G]], inner, factor, par[c + TAKES], flow)
        settled = settling_kg_per_s(reach, humid, t_s + ZERO_C_K, row[D_P], 0.0, 1.0)
        humid -= settled / flow
        total += settled
    return total
