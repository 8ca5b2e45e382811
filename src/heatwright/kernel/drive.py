"""The drive unit in the step: its losses, what its temperatures leave of its torque, and heat made on purpose."""

from __future__ import annotations

import math

import numpy as np

from heatwright.kernel import plan
from heatwright.kernel.names import (
    D_CU,
    D_DRIVING,
    D_FE,
    D_GC,
    D_GM,
    D_GV,
    D_INV,
    D_OMEGA,
    D_ROT,
    D_TUSED,
    D_WHEEL,
    D_WSHORT,
    D_XCU,
    D_XFE,
    D_XINV,
    Z_DLIMIT,
    Z_DSHARE,
    Z_DSHORT,
    Z_REGEN,
)
from heatwright.kernel.plan import Floats, Ints
from heatwright.physics.drive_limits import drive_share, hottest_phase_k
from heatwright.physics.drive_map import copper_factor
from heatwright.physics.jit import kernel_jit, kernel_part

I_DRN, I_DRACT = plan.I["dr_n"], plan.I["dr_act"]
F_DR, F_DRLIM = plan.F["dr_par"], plan.F["dr_lim"]
W_TAU, W_ACT, W_Y, W_Z = (plan.W[k] for k in ("tau", "act", "y", "z"))
ZERO, ONE, TWO, THREE, FOUR, FIVE, SIX, SEVEN, EIGHT = (np.uint64(k) for k in range(9))
ZERO_K = 273.15
T_MAP_K = 353.15  # winding temperature the losses of the driver rows are for (compiler.drive_table)
P_LOSS = np.uint64(4)  # place in dr_par: most heat on purpose [W]

# places of the drive unit's heats among the outputs, counted from the pack's (kernel.power)
Y_CU, Y_FE, Y_ROT, Y_INV, Y_GEAR = range(1, 6)


@kernel_jit
def watch_drive(pi: Ints, pf: Floats, w: Floats, row: Floats) -> float:
    """Fill the share of torque that the unit's temperatures allow; return that of heat on purpose.

    Nodes of `dr_n`: winding, oil, coolant entering, rotor, inverter, housing, iron, coolant around, case. The
    winding gives its heat to the iron, the inverter half to the coolant and half to its case.
    """
    z = plan.work_view(pi, w, W_Z)
    z[Z_DSHARE] = 1.0
    z[Z_DLIMIT] = 0.0
    dn = plan.int_view(pi, I_DRN)
    if dn.shape[0] == 0:
        return 0.0
    tau = plan.work_view(pi, w, W_TAU)
    begin = plan.float_view(pi, pf, F_DRLIM)
    winding = hottest_phase_k(tau[dn[ZERO]], tau[dn[SIX]], row[D_OMEGA]) + ZERO_K
    around = 0.5 * (tau[dn[SEVEN]] + tau[dn[EIGHT]])
    inverter = hottest_phase_k(tau[dn[FOUR]], around, row[D_OMEGA]) + ZERO_K
    oil = tau[dn[ONE]] + ZERO_K
    entering = tau[dn[TWO]] + ZERO_K
    rotor = tau[dn[THREE]] + ZERO_K
    housing = tau[dn[FIVE]] + ZERO_K
    share, which = drive_share(entering, winding, rotor, inverter, oil, housing, begin, 0.0)
    z[Z_DSHARE] = share
    z[Z_DLIMIT] = float(which)
    return drive_share(entering, winding, rotor, inverter, oil, housing, begin, 1.0)[0]


@kernel_part
def wanted_heat(pi: Ints, pf: Floats, w: Floats, row: Floats, share: float) -> tuple[float, float, float, float]:
    """Return the heat on purpose that is wanted and allowed: (all of it, copper's, iron's, inverter's) [W].

    Standing, the inverter wakes for it and its idle loss is part of it. Between nothing and the most the
    losses share it as they do at the most.
    """
    place = plan.int_view(pi, I_DRACT)
    if place.shape[0] == 0:
        return 0.0, 0.0, 0.0, 0.0
    want = min(plan.work_view(pi, w, W_ACT)[place[ZERO]], plan.float_view(pi, pf, F_DR)[P_LOSS])
    if want <= 0.0 or share <= 0.0:
        return 0.0, 0.0, 0.0, 0.0
    idle = row[D_INV] if row[D_DRIVING] <= 0.0 else 0.0
    tau = plan.work_view(pi, w, W_TAU)
    cu = row[D_XCU] * copper_factor(tau[plan.int_view(pi, I_DRN)[ZERO]] + ZERO_K, T_MAP_K)
    most = cu + row[D_XFE] + row[D_XINV]
    part = min(max(want - idle, 0.0) / max(most, 1.0), share)
    return idle + part * most, part * cu, part * row[D_XFE], idle + part * row[D_XINV]


@kernel_part
def traction(pi: Ints, w: Floats, row: Floats, base: int, allowed: float) -> tuple[float, float, float]:
    """Fill the drive unit's heats; return (electric power, mechanical power at the wheels, braked away) [W].

    Torque beyond what the temperatures allow is not there: driving, it is short; braking, the friction brakes
    take it, as they take what is beyond `allowed` (what pack and other loads can take).
    """
    y = plan.work_view(pi, w, W_Y)
    z = plan.work_view(pi, w, W_Z)
    for k in range(np.uint64(Y_CU), np.uint64(Y_GEAR + 1)):
        y[base + k] = 0.0
    z[Z_REGEN] = 1.0
    z[Z_DSHORT] = 0.0
    if row[D_DRIVING] <= 0.0:
        return 0.0, 0.0, 0.0
    dn = plan.int_view(pi, I_DRN)
    tau = plan.work_view(pi, w, W_TAU)
    left = 1.0
    if row[D_TUSED] > z[Z_DSHARE]:
        left = z[Z_DSHARE] / row[D_TUSED]
    thick = min(4.0, math.exp(0.025 * (60.0 - tau[dn[ONE]])))
    cu = row[D_CU] * copper_factor(tau[dn[ZERO]] + ZERO_K, T_MAP_K) * left * left
    inverter = row[D_INV] * left
    gear = thick * row[D_GV] + math.sqrt(thick) * row[D_GC] + row[D_GM] * left
    losses = cu + row[D_FE] + row[D_ROT] + inverter + gear
    wheel = row[D_WHEEL] * left
    braked = 0.0
    if row[D_WHEEL] < 0.0:
        if wheel + losses < -allowed:
            wheel = min(-allowed - losses, 0.0)
        braked = wheel - row[D_WHEEL]
        z[Z_REGEN] = wheel / row[D_WHEEL]
    z[Z_DSHORT] = row[D_WSHORT] + max(row[D_WHEEL] - wheel, 0.0)
    y[base + np.uint64(Y_CU)] = cu
    y[base + np.uint64(Y_FE)] = row[D_FE]
    y[base + np.uint64(Y_ROT)] = row[D_ROT]
    y[base + np.uint64(Y_INV)] = inverter
    y[base + np.uint64(Y_GEAR)] = gear
    return wheel + losses, wheel, braked
