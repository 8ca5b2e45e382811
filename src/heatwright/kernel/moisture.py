"""Humidity of the cabin over a step, and the water that a cold coil takes from it."""

from __future__ import annotations

import numpy as np

from heatwright.kernel import plan
from heatwright.kernel.names import (
    A_LATENT,
    D_INFIL,
    D_MOIST,
    D_P,
    D_W,
    X_W,
    X_WATER,
    Z_WATER,
)
from heatwright.kernel.plan import Floats, Ints
from heatwright.kernel.power import Y_LATENT
from heatwright.physics.jit import kernel_jit
from heatwright.physics.moist_air import CP_AIR_J_PER_KG_K, H_VAPOUR_J_PER_KG, saturation_humidity_ratio

I_DVKIND, I_ZFRESH, I_ZIN, I_ZCOIL = (plan.I[k] for k in ("dv_kind", "zn_fresh", "zn_in", "zn_coil"))
F_ZN = plan.F["zn_par"]
W_TAU, W_EXT, W_Y, W_MDOT, W_G, W_ACC, W_Z = (plan.W[k] for k in ("tau", "ext", "y", "mdot", "g", "acc", "z"))
ONE = np.uint64(1)


@kernel_jit
def step_moisture(pi: Ints, pf: Floats, w: Floats, row: Floats, dt: float) -> None:
    """Move the cabin's humidity over a step; condensation on a cold coil heats it by `y[latent]`."""
    ext = plan.work_view(pi, w, W_EXT)
    y = plan.work_view(pi, w, W_Y)
    base = np.uint64(plan.int_view(pi, I_DVKIND).shape[0])
    zn = plan.float_view(pi, pf, F_ZN)
    if zn.shape[0] == 0:
        return
    y[base + np.uint64(Y_LATENT)] = 0.0
    mdot = plan.work_view(pi, w, W_MDOT)
    fresh = 0.0
    flows = plan.int_view(pi, I_ZFRESH)
    for k in range(np.uint64(flows.shape[0])):
        fresh += max(mdot[flows[k]], 0.0)
    total = 0.0
    into = plan.int_view(pi, I_ZIN)
    for k in range(np.uint64(into.shape[0])):
        total += max(mdot[into[k]], 0.0)
    outer = row[D_INFIL] + fresh
    wo = row[D_W]
    wc = ext[X_W]
    share = 1.0
    if total > 1e-9:
        share = min(fresh / total, 1.0)
    taken = 0.0
    level = 0.0
    coil = plan.int_view(pi, I_ZCOIL)
    if coil.shape[0] > 0:
        tau = plan.work_view(pi, w, W_TAU)
        g = plan.work_view(pi, w, W_G)
        level = saturation_humidity_ratio(tau[coil[0]] + 273.15, row[D_P])
        if share * wo + (1.0 - share) * wc > level:
            taken = g[coil[ONE]] / CP_AIR_J_PER_KG_K
    mass = zn[0] / dt
    rec = taken * (1.0 - share)
    new = (mass * wc + outer * wo + row[D_MOIST] - taken * (share * wo - level)) / (mass + outer + rec)
    water = taken * (share * wo + (1.0 - share) * new - level)
    ext[X_W] = new
    ext[X_WATER] += water * dt
    y[base + np.uint64(Y_LATENT)] = water * H_VAPOUR_J_PER_KG
    acc = plan.work_view(pi, w, W_ACC)
    acc[A_LATENT] += water * H_VAPOUR_J_PER_KG * dt
    z = plan.work_view(pi, w, W_Z)
    z[Z_WATER] = water
