"""Coolant to coolant: the conductance between the inlets of an exchanger whose sides both flow either way.

Each exchanger has four conductances, one for each pair of directions, between the nodes its two coolants then come
from; the one of the directions at hand is set, the other three are 0. With both flows as written, or both turned, it is
in counterflow, with one of them turned in parallel flow.
"""

from __future__ import annotations

import numpy as np

from heatwright.kernel import plan
from heatwright.kernel.plan import Floats, Ints
from heatwright.physics.coolant import conductivity, heat_capacity, viscosity
from heatwright.physics.exchange import COUNTER, PARALLEL, exchange_conductance
from heatwright.physics.hydraulics import film
from heatwright.physics.jit import kernel_part

I_GP, F_GP, F_FLUID = plan.I["gp"], plan.F["gp_par"], plan.F["fluid"]
W_TAU, W_G, W_MDOT, W_MOVED = (plan.W[k] for k in ("tau", "g", "mdot", "moved"))
ZERO, ONE, TWO, THREE, FOUR, FIVE = (np.uint64(k) for k in range(6))


@kernel_part
def renew_pairs(pi: Ints, pf: Floats, w: Floats) -> None:
    """Renew the conductances of exchangers of which a side has moved since the last solution of its network."""
    pairs = plan.int_view(pi, I_GP)
    par = plan.float_view(pi, pf, F_GP)
    fluid = plan.float_view(pi, pf, F_FLUID)
    moved = plan.work_view(pi, w, W_MOVED)
    mdot = plan.work_view(pi, w, W_MDOT)
    tau = plan.work_view(pi, w, W_TAU)
    g = plan.work_view(pi, w, W_G)
    for i in range(np.uint64(pairs.shape[0]) // FIVE):
        at = FIVE * i
        o = FOUR * i
        if moved[pairs[at + ONE]] == 0.0 and moved[pairs[at + THREE]] == 0.0:
            continue
        resistance = 0.0
        for side in range(TWO):
            m = mdot[pairs[at + ONE + TWO * side]]
            t = tau[pairs[at + TWO + TWO * side]] + 273.15
            cp = heat_capacity(t, fluid, ZERO)
            h = film(m, par[o], par[o + ONE], viscosity(t, fluid, ZERO), cp, conductivity(t, fluid, ZERO))
            resistance += 1.0 / (h * par[o + TWO + side])
        a = mdot[pairs[at + ONE]]
        b = mdot[pairs[at + THREE]]
        c_a = a * heat_capacity(tau[pairs[at + TWO]] + 273.15, fluid, ZERO)
        c_b = b * heat_capacity(tau[pairs[at + FOUR]] + 273.15, fluid, ZERO)
        kind = COUNTER if (a < 0.0) == (b < 0.0) else PARALLEL
        first = np.uint64(pairs[at])
        for k in range(FOUR):
            g[first + k] = 0.0
        used = first + (TWO if a < 0.0 else ZERO) + (ONE if b < 0.0 else ZERO)
        g[used] = exchange_conductance(np.int64(kind), 1.0 / resistance, c_a, c_b)
