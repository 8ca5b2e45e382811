"""Electric loads, traction, pack and station, and the refrigerant circuit's share of them.

Called at the start of a (part of a) step with the temperatures of its beginning: fills the heats `y`, and
after the heat network is solved, `book_power` books the electric side of the same step.
"""

from __future__ import annotations

import math

import numpy as np

from heatwright.kernel import circuit_names as cc
from heatwright.kernel import plan
from heatwright.kernel.names import (
    A_CHARGER,
    A_CHEM,
    A_HEATER,
    A_LV,
    A_RESID,
    A_ROAD,
    A_STANDBY,
    A_STATION,
    D_CONV,
    D_CU,
    D_DRIVING,
    D_FE,
    D_GC,
    D_GM,
    D_GV,
    D_INV,
    D_LV,
    D_PLUGGED,
    D_ROT,
    D_STATION,
    D_WHEEL,
    M_CAPPED,
    N_TERMS,
    U_BRAKE,
    U_COMPRESSOR,
    U_LV,
    U_PACK,
    U_TRACTION,
    X_SOC,
    Z_BRAKE,
    Z_IPACK,
    Z_LV,
    Z_ON,
    Z_PC,
    Z_PPACK,
    Z_QPACK,
    Z_REGEN,
    Z_STATION,
    Z_TRACTION,
)
from heatwright.kernel.plan import Floats, Ints
from heatwright.physics.drive_map import copper_factor
from heatwright.physics.front_air import fan_power_w
from heatwright.physics.interpolate import fade
from heatwright.physics.jit import kernel_jit, kernel_part
from heatwright.physics.pack import (
    charge_limit_w,
    current_a,
    entropy_v_per_k,
    heat_w,
    ocv_v,
    resistance_ohm,
)

I_DVKIND, I_DVACT, I_DVN, I_PKN, I_DRN = (plan.I[k] for k in ("dv_kind", "dv_act", "dv_n", "pk_n", "dr_n"))
F_DV, F_PK, F_CELL, F_DR = (plan.F[k] for k in ("dv_par", "pk_par", "pk_cell", "dr_par"))
W_TAU, W_COUT, W_ACT, W_Y, W_Z, W_EXT, W_ACC, W_MISC, W_PDEV = (
    plan.W[k] for k in ("tau", "cout", "act", "y", "z", "ext", "acc", "misc", "pdev")
)
ONE, TWO, THREE, SIX = (np.uint64(k) for k in (1, 2, 3, 6))

# outputs after the devices' heats
Y_PACK, Y_CU, Y_FE, Y_ROT, Y_INV, Y_GEAR, Y_SHELL = range(7)
N_OUTPUTS = 7


@kernel_part
def _devices(pi: Ints, pf: Floats, w: Floats) -> float:
    """Fill power and heat of heaters, pumps, blowers and fans; return their power [W]."""
    kind = plan.int_view(pi, I_DVKIND)
    dact = plan.int_view(pi, I_DVACT)
    dn = plan.int_view(pi, I_DVN)
    par = plan.float_view(pi, pf, F_DV)
    act = plan.work_view(pi, w, W_ACT)
    tau = plan.work_view(pi, w, W_TAU)
    power = plan.work_view(pi, w, W_PDEV)
    y = plan.work_view(pi, w, W_Y)
    total = 0.0
    for d in range(np.uint64(kind.shape[0])):
        o = SIX * d
        if kind[d] == 0:
            p = min(max(act[dact[d]], 0.0), par[o + THREE]) * fade(tau[dn[d]], par[o + ONE], par[o + TWO])
            power[d] = p
            y[d] = par[o] * p
        else:
            if kind[d] == 3:
                power[d] = fan_power_w(act[dact[d]], par[o], par[o + ONE])
            y[d] = power[d]
        total += power[d]
    return total


@kernel_part
def _traction(pi: Ints, w: Floats, row: Floats, base: int, allowed: float) -> tuple[float, float, float]:
    """Fill the drive unit's heats; return (electric power, mechanical power at the wheels, braked away) [W].

    Braking power beyond `allowed` (what pack and other loads can take) is left to the friction brakes.
    """
    y = plan.work_view(pi, w, W_Y)
    z = plan.work_view(pi, w, W_Z)
    for k in range(np.uint64(5)):
        y[base + np.uint64(Y_CU) + k] = 0.0
    z[Z_REGEN] = 1.0
    if row[D_DRIVING] <= 0.0:
        return 0.0, 0.0, 0.0
    dn = plan.int_view(pi, I_DRN)
    tau = plan.work_view(pi, w, W_TAU)
    thick = min(4.0, math.exp(0.025 * (60.0 - tau[dn[ONE]])))
    cu = row[D_CU] * copper_factor(tau[dn[0]] + 273.15, 353.15)
    gear = thick * row[D_GV] + math.sqrt(thick) * row[D_GC] + row[D_GM]
    losses = cu + row[D_FE] + row[D_ROT] + row[D_INV] + gear
    wheel = row[D_WHEEL]
    braked = 0.0
    if wheel + losses < -allowed:
        kept = min(-allowed - losses, 0.0)
        braked = kept - wheel
        z[Z_REGEN] = kept / wheel
        wheel = kept
    y[base + np.uint64(Y_CU)] = cu
    y[base + np.uint64(Y_FE)] = row[D_FE]
    y[base + np.uint64(Y_ROT)] = row[D_ROT]
    y[base + np.uint64(Y_INV)] = row[D_INV]
    y[base + np.uint64(Y_GEAR)] = gear
    return wheel + losses, wheel, braked


@kernel_jit
def fill_power(pi: Ints, pf: Floats, w: Floats, row: Floats) -> None:
    """Fill every electric power and heat of the step from the temperatures at its beginning."""
    z = plan.work_view(pi, w, W_Z)
    y = plan.work_view(pi, w, W_Y)
    ext = plan.work_view(pi, w, W_EXT)
    tau = plan.work_view(pi, w, W_TAU)
    misc = plan.work_view(pi, w, W_MISC)
    base = np.uint64(plan.int_view(pi, I_DVKIND).shape[0])
    loads = _devices(pi, pf, w)
    pk = plan.float_view(pi, pf, F_PK)
    if pk.shape[0] == 0:
        return
    dr = plan.float_view(pi, pf, F_DR)
    if z[Z_ON] > 0.0:
        loads += z[Z_PC] + dr[4]
    loads += row[D_LV]
    cells = plan.int_view(pi, I_PKN)
    cold = 1e9
    warm = -1e9
    for k in range(np.uint64(cells.shape[0])):
        cold = min(cold, tau[cells[k]] + 273.15)
        warm = max(warm, tau[cells[k]] + 273.15)
    mean = 0.5 * (cold + warm)
    soc = ext[X_SOC]
    flat = plan.float_view(pi, pf, F_CELL)
    cell = flat.reshape((np.int64(pk[10]), 2, np.int64(pk[11])))
    u = ocv_v(soc, cell, pk[0])
    r = resistance_ohm(mean, soc, pk[1], pk[2], pk[3], 0.0, 4e4)
    limit = min(charge_limit_w(cold, warm, soc, pk[4], u, pk[5], 1.5, cell), pk[6])
    traction, wheel, braked = _traction(pi, w, row, base, limit + loads)
    station = 0.0
    charger = 0.0
    want = loads + traction
    if row[D_PLUGGED] > 0.0 and want > 0.0:
        most = min(row[D_STATION], dr[0])
        supply = min(want, max((most - dr[1]) / (1.0 + dr[2] + dr[3] * most), 0.0))
        charger = dr[1] + dr[2] * supply + dr[3] * supply * supply
        station = supply + charger
        want -= supply
    i, short = current_a(want, u, r)
    given = i * (u - r * i)
    if short:
        misc[M_CAPPED] += 1.0
        traction -= want - given
        wheel -= want - given
    q = heat_w(i, r, mean, entropy_v_per_k(soc, cell, pk[0]))
    y[base + np.uint64(Y_PACK)] = q
    out = plan.work_view(pi, w, W_COUT)
    y[base + np.uint64(Y_SHELL)] = out[cc.OUT_P_SHELL] if z[Z_ON] > 0.0 else 0.0
    z[Z_PPACK] = given
    z[Z_IPACK] = i
    z[Z_QPACK] = q
    z[Z_STATION] = station
    z[Z_TRACTION] = traction
    z[Z_BRAKE] = braked
    z[Z_LV] = row[D_LV]
    dr_work = plan.work_view(pi, w, W_PDEV)
    dr_work[base] = wheel
    dr_work[base + ONE] = charger
    dr_work[base + TWO] = i * i * r


@kernel_jit
def book_power(pi: Ints, pf: Floats, w: Floats, row: Floats, net: float, dt: float) -> None:
    """Book the electric side of a step whose net refrigerant heat came out as `net` [W]; move the charge."""
    z = plan.work_view(pi, w, W_Z)
    acc = plan.work_view(pi, w, W_ACC)
    ext = plan.work_view(pi, w, W_EXT)
    pk = plan.float_view(pi, pf, F_PK)
    if pk.shape[0] == 0:
        return
    dr = plan.float_view(pi, pf, F_DR)
    power = plan.work_view(pi, w, W_PDEV)
    y = plan.work_view(pi, w, W_Y)
    base = np.uint64(plan.int_view(pi, I_DVKIND).shape[0])
    kind = plan.int_view(pi, I_DVKIND)
    for d in range(base):
        acc[N_TERMS + d] += power[d] * dt
        if kind[d] == 0:
            acc[A_HEATER] -= (power[d] - y[d]) * dt
    wheel = power[base]
    charger = power[base + ONE]
    nominal = 0.0
    if z[Z_ON] > 0.0:
        out = plan.work_view(pi, w, W_COUT)
        nominal = out[cc.OUT_P_GAS]
        acc[A_STANDBY] -= dr[4] * dt
        acc[U_COMPRESSOR] += (net + out[cc.OUT_P_SHELL] + dr[4]) * dt
        acc[A_RESID] += abs(out[cc.OUT_RESIDUAL]) * dt
    acc[A_CHEM] += (z[Z_PPACK] + z[Z_QPACK] + net - nominal) * dt
    acc[A_STATION] += z[Z_STATION] * dt
    acc[A_CHARGER] -= charger * dt
    acc[A_ROAD] -= wheel * dt
    acc[A_LV] -= (row[D_LV] - row[D_CONV]) * dt
    acc[U_TRACTION] += z[Z_TRACTION] * dt
    acc[U_LV] += row[D_LV] * dt
    acc[U_PACK] += power[base + TWO] * dt
    acc[U_BRAKE] -= z[Z_BRAKE] * dt
    ext[X_SOC] -= z[Z_IPACK] * dt / pk[7]
