"""Ice on the outside of the screen over a step: what melts, and the heat that it takes from the pane.

Pane and ice share one temperature (`physics.screen_ice`).  While there is ice, whatever would carry the pane over
0 degC melts ice instead: the heat that holds it there, worked out from the temperatures at the step's begin, is a
sink of the step.  The sensible heat of the ice below 0 degC is taken as it melts.  Meltwater leaves at 0 degC.
"""

from __future__ import annotations

import numpy as np

from heatwright.kernel import plan
from heatwright.kernel.names import A_ICE, N_WATER, V_ICE, V_THROUGH, X_ICE, X_ICEHEAT
from heatwright.kernel.plan import Floats, Ints
from heatwright.physics.jit import kernel_jit

I_MI = plan.I["mi"]
F_ICE = plan.F["mi_par"]
W_WET, W_EXT, W_G, W_TAU, W_Y, W_ACC = (plan.W[k] for k in ("wet", "ext", "g", "tau", "y", "acc"))
ONE, TWO, THREE, FOUR, FIVE, SIX, SEVEN, EIGHT, NINE, TEN = (np.uint64(k) for k in range(1, 11))


@kernel_jit
def begin_ice(pi: Ints, pf: Floats, w: Floats) -> None:
    """Lay the ice of the start on every screen."""
    wet = plan.work_view(pi, w, W_WET)
    par = plan.float_view(pi, pf, F_ICE)
    start = plan.work_view(pi, w, W_EXT)[X_ICE]
    n = np.uint64(par.shape[0]) // THREE
    first = np.uint64(wet.shape[0]) - np.uint64(N_WATER) - n
    for k in range(n):
        wet[first + k] = start * par[THREE * k]


@kernel_jit
def step_ice(pi: Ints, pf: Floats, w: Floats, row: Floats, dt: float) -> None:
    """Melt what the heat around each screen melts in a step; fill the heat that this takes from the pane."""
    par = plan.float_view(pi, pf, F_ICE)
    n = np.uint64(par.shape[0]) // THREE
    wet = plan.work_view(pi, w, W_WET)
    books = np.uint64(wet.shape[0]) - np.uint64(N_WATER)
    record = plan.int_view(pi, I_MI)
    tau = plan.work_view(pi, w, W_TAU)
    g = plan.work_view(pi, w, W_G)
    y = plan.work_view(pi, w, W_Y)
    acc = plan.work_view(pi, w, W_ACC)
    each = plan.work_view(pi, w, W_EXT)[X_ICEHEAT]
    for k in range(n):
        o = TEN * k
        p = THREE * k
        ice = wet[books - n + k]
        moved = ice
        if ice > 0.0:
            heat = par[p + TWO] * tau[record[o]] / dt + par[p + ONE] * row[record[o + FIVE]] + y[record[o + SIX]]
            heat += g[record[o + TWO]] * tau[record[o + ONE]] + g[record[o + THREE]] * row[record[o + FOUR]]
            heat += g[record[o + NINE]] * (tau[record[o + EIGHT]] - tau[record[o + ONE]])
            moved = min(max(heat * dt / each, 0.0), ice)
        y[record[o + SEVEN]] = -moved * each / dt
        acc[A_ICE] -= moved * each
        wet[books - n + k] = ice - moved
        wet[books + np.uint64(V_ICE)] -= moved
        wet[books + np.uint64(V_THROUGH)] += abs(moved)
