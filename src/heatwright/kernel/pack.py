"""The pack in the step: its voltage and resistance now, what it may give and take, and where charging is best."""

from __future__ import annotations

import numpy as np

from heatwright.kernel import plan
from heatwright.kernel.names import X_PULSE, X_SOC, Z_GIVE, Z_PULSE, Z_TAKE, Z_TBEST, Z_THOT
from heatwright.kernel.plan import Floats, Ints
from heatwright.physics.jit import kernel_jit
from heatwright.physics.pack import charge_limit_w, charge_window_k, entropy_v_per_k, ocv_v, resistance_ohm
from heatwright.physics.pack_limits import discharge_limit_w, pulse_factor

I_PKN = plan.I["pk_n"]
F_PK, F_CELL = plan.F["pk_par"], plan.F["pk_cell"]
W_TAU, W_EXT, W_Z = (plan.W[k] for k in ("tau", "ext", "z"))

# places in pk_par
(
    P_SERIES, P_R25, P_AGE, P_EA, P_ENERGY, P_IMAX, P_REGEN, P_CAPACITY, P_GIVE, P_UMIN, P_TABLES, P_KNOTS, P_BEGIN,
    P_STOP,
) = (np.uint64(k) for k in range(14))  # fmt: skip


@kernel_jit
def watch_pack(pi: Ints, pf: Floats, w: Floats) -> tuple[float, float, float, float, float]:
    """Fill what the pack may give and take and where charging is best.

    Returns (open-circuit voltage [V], resistance [ohm], mean temperature [K], dU/dT [V/K], most power that
    braking may put in [W]).
    """
    z = plan.work_view(pi, w, W_Z)
    ext = plan.work_view(pi, w, W_EXT)
    tau = plan.work_view(pi, w, W_TAU)
    pk = plan.float_view(pi, pf, F_PK)
    cells = plan.int_view(pi, I_PKN)
    cold = 1e9
    warm = -1e9
    for k in range(np.uint64(cells.shape[0])):
        cold = min(cold, tau[cells[k]] + 273.15)
        warm = max(warm, tau[cells[k]] + 273.15)
    mean = 0.5 * (cold + warm)
    soc = ext[X_SOC]
    flat = plan.float_view(pi, pf, F_CELL)
    cell = flat.reshape((np.int64(pk[P_TABLES]), 2, np.int64(pk[P_KNOTS])))
    u = ocv_v(soc, cell, pk[P_SERIES])
    r = resistance_ohm(mean, soc, pk[P_R25], pk[P_AGE], pk[P_EA], 0.0, 4e4)
    take = charge_limit_w(cold, warm, soc, pk[P_ENERGY], u, pk[P_IMAX], 1.0, cell)
    z[Z_TAKE] = take
    z[Z_GIVE] = discharge_limit_w(warm, u, r, pk[P_UMIN], pk[P_GIVE], pk[P_BEGIN], pk[P_STOP])
    z[Z_PULSE] = ext[X_PULSE]
    z[Z_TBEST], z[Z_THOT] = charge_window_k(soc, cell)
    pulse = min(take * pulse_factor(ext[X_PULSE]), u * pk[P_IMAX])
    return u, r, mean, entropy_v_per_k(soc, cell, pk[P_SERIES]), min(pulse, pk[P_REGEN])
