"""Electric loads, traction, pack and station, and the refrigerant circuit's share of them.

Called at the start of a (part of a) step with the temperatures of its beginning: fills the heats `y`, and
after the heat network is solved, `book_power` books the electric side of the same step.
"""

from __future__ import annotations

import numpy as np

from heatwright.kernel import circuit_names as cc
from heatwright.kernel import plan
from heatwright.kernel.drive import traction, wanted_heat, watch_drive
from heatwright.kernel.names import (
    A_CHARGER,
    A_CHEM,
    A_HEATER,
    A_LV,
    A_RESID,
    A_ROAD,
    A_STANDBY,
    A_STATION,
    A_THROUGH,
    D_CHARGETO,
    D_CONV,
    D_DRIVING,
    D_FAST,
    D_LV,
    D_PLUGGED,
    D_STATION,
    M_CAPPED,
    N_TERMS,
    S_CHARGED,
    S_DRIVE,
    U_BRAKE,
    U_COMPRESSOR,
    U_DHEAT,
    U_LV,
    U_PACK,
    U_TRACTION,
    X_PULSE,
    X_SOC,
    Z_BRAKE,
    Z_DHEAT,
    Z_DSHORT,
    Z_GIVE,
    Z_IPACK,
    Z_LV,
    Z_ON,
    Z_PC,
    Z_PPACK,
    Z_QPACK,
    Z_SOC,
    Z_STATION,
    Z_TAKE,
    Z_TRACTION,
)
from heatwright.kernel.pack import P_CAPACITY, watch_pack
from heatwright.kernel.plan import Floats, Ints
from heatwright.physics.front_air import fan_power_w
from heatwright.physics.interpolate import fade
from heatwright.physics.jit import inner_jit, kernel_jit, kernel_part
from heatwright.physics.pack import current_a, heat_w
from heatwright.physics.pack_limits import pulse_clock_s

I_DVKIND, I_DVACT, I_DVN, I_CHN, I_CIRC, I_CXY = (
    plan.I[k] for k in ("dv_kind", "dv_act", "dv_n", "ch_n", "circ", "cx_y")
)
F_DV, F_PK, F_DR, F_CX = (plan.F[k] for k in ("dv_par", "pk_par", "dr_par", "cx_par"))
W_TAU, W_COUT, W_ACT, W_Y, W_Z, W_EXT, W_ACC, W_MISC, W_PDEV = (
    plan.W[k] for k in ("tau", "cout", "act", "y", "z", "ext", "acc", "misc", "pdev")
)
ONE, TWO, THREE, SIX = (np.uint64(k) for k in (1, 2, 3, 6))

# outputs after the devices' heats
Y_PACK, Y_CU, Y_FE, Y_ROT, Y_INV, Y_GEAR, Y_SHELL, Y_CHARGER = range(8)
N_OUTPUTS = 8

# places in dr_par
P_CHARGER, P_FIXED, P_SHARE, P_SQUARE, P_LOSS, P_REACHES, P_AWAKE, P_INSIDE, P_HOT = (np.uint64(k) for k in range(9))
HOT_WIDTH_K = 10.0  # from the first hold-back of the charger to none left
AWAKE_W = 1.0  # devices that draw more than this keep a parked car awake


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
def _compressors(pi: Ints, pf: Floats, w: Floats) -> float:
    """Fill the heat of every compressor's shell; return the power of those that run [W]."""
    y = plan.work_view(pi, w, W_Y)
    circ = plan.int_view(pi, I_CIRC)
    total = 0.0
    for c in range(np.uint64(circ.shape[0])):
        own = pi[np.uint64(circ[c]) :]
        z = plan.work_view(own, w, W_Z)
        shell = 0.0
        if z[Z_ON] > 0.0:
            total += z[Z_PC] + plan.float_view(own, pf, F_CX)[0]
            shell = plan.work_view(own, w, W_COUT)[cc.OUT_P_SHELL]
        y[plan.int_view(own, I_CXY)[0]] = shell
    return total


@kernel_part
def _charger_w(pi: Ints, pf: Floats, w: Floats) -> float:
    """Return the most the car's charger draws [W]: less of it once the electronics that hold it are hot."""
    dr = plan.float_view(pi, pf, F_DR)
    tau = plan.work_view(pi, w, W_TAU)
    body = plan.int_view(pi, I_CHN)
    most = dr[P_CHARGER]
    for k in range(np.uint64(body.shape[0])):
        limit = dr[P_HOT]
        most = min(most, dr[P_CHARGER] * fade(tau[body[k]] + 273.15, limit, limit + HOT_WIDTH_K))
    return most


@inner_jit
def _supply(dr: Floats, row: Floats, own: float, take: float, soc: float, want: float) -> tuple[float, float]:
    """Return what comes from the plug for the car and into the pack, and what the charger loses of it [W].

    A station of direct current feeds the pack side itself; any other goes through the car's charger, which draws
    at most `own`. The pack is charged while it is below the charge wanted, with what it may take for long. `soc` is
    the charge at the beginning of the whole step: a charge that ended between two half steps would leave them
    without a common end.
    """
    ask = max(want, 0.0)
    if soc < row[D_CHARGETO]:
        ask += take
    if row[D_PLUGGED] <= 0.0 or ask <= 0.0:
        return 0.0, 0.0
    if row[D_FAST] > 0.0:
        return min(ask, row[D_STATION]), 0.0
    most = min(row[D_STATION], own)
    supply = min(ask, max((most - dr[P_FIXED]) / (1.0 + dr[P_SHARE] + dr[P_SQUARE] * most), 0.0))
    if supply <= 0.0:
        return 0.0, 0.0
    return supply, dr[P_FIXED] + dr[P_SHARE] * supply + dr[P_SQUARE] * supply * supply


@kernel_part
def _low_voltage(dr: Floats, row: Floats, devices: float) -> float:
    """Return the power of the 12 V side [W]; a parked car whose devices run is awake whatever the trip says."""
    if row[D_DRIVING] <= 0.0 and devices > AWAKE_W:
        return max(row[D_LV], dr[P_AWAKE])
    return row[D_LV]


@kernel_jit
def fill_power(pi: Ints, pf: Floats, w: Floats, row: Floats) -> None:
    """Fill every electric power and heat of the step from the temperatures at its beginning."""
    z = plan.work_view(pi, w, W_Z)
    y = plan.work_view(pi, w, W_Y)
    soc = z[Z_SOC]
    misc = plan.work_view(pi, w, W_MISC)
    base = np.uint64(plan.int_view(pi, I_DVKIND).shape[0])
    loads = _devices(pi, pf, w)
    if plan.float_view(pi, pf, F_PK).shape[0] == 0:
        return
    dr = plan.float_view(pi, pf, F_DR)
    loads += _compressors(pi, pf, w)
    z[Z_LV] = _low_voltage(dr, row, loads)
    loads += z[Z_LV]
    u, r, mean, entropy, pulse = watch_pack(pi, pf, w)
    heat, x_cu, x_fe, x_inv = wanted_heat(pi, pf, w, row, watch_drive(pi, pf, w, row))
    drawn, wheel, braked = traction(pi, w, row, base, pulse + loads + heat)
    # held back in this order: heat on purpose, then traction; the other loads are drawn whatever the limit says
    own = _charger_w(pi, pf, w)
    room = z[Z_GIVE] + _supply(dr, row, own, 0.0, soc, 1e12)[0] - loads
    part = 1.0
    if heat > 0.0:
        part = min(max(room - drawn, 0.0) / heat, 1.0)
        heat *= part
    cut = min(max(drawn - room, 0.0), max(wheel, 0.0))
    drawn -= cut
    wheel -= cut
    supply, charger = _supply(dr, row, own, z[Z_TAKE], soc, loads + heat + drawn)
    want = loads + heat + drawn - supply
    i, short = current_a(want, u, r)
    given = i * (u - r * i)
    if short:
        drawn -= want - given
        wheel -= want - given
        cut += want - given
    if want > z[Z_GIVE] + 1e-6 or cut > 0.0:
        misc[M_CAPPED] += 1.0
    q = heat_w(i, r, mean, entropy)
    part *= dr[P_REACHES]
    y[base + np.uint64(Y_PACK)] = q
    y[base + np.uint64(Y_CU)] += part * x_cu
    y[base + np.uint64(Y_FE)] += part * x_fe
    y[base + np.uint64(Y_INV)] += part * x_inv
    y[base + np.uint64(Y_CHARGER)] = charger * dr[P_INSIDE]
    z[Z_PPACK] = given
    z[Z_IPACK] = i
    z[Z_QPACK] = q
    z[Z_STATION] = supply + charger
    z[Z_TRACTION] = drawn
    z[Z_BRAKE] = braked
    z[Z_DHEAT] = heat
    z[Z_DSHORT] += cut
    work = plan.work_view(pi, w, W_PDEV)
    work[base] = wheel
    work[base + ONE] = charger
    work[base + TWO] = i * i * r


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
    running = 0.0
    circ = plan.int_view(pi, I_CIRC)
    for c in range(np.uint64(circ.shape[0])):
        own = pi[np.uint64(circ[c]) :]
        if plan.work_view(own, w, W_Z)[Z_ON] > 0.0:
            out = plan.work_view(own, w, W_COUT)
            idle = plan.float_view(own, pf, F_CX)[0]
            running = 1.0
            nominal += out[cc.OUT_P_GAS]
            acc[A_STANDBY] -= idle * dt
            acc[U_COMPRESSOR] += (out[cc.OUT_P_SHELL] + idle) * dt
            acc[A_RESID] += abs(out[cc.OUT_RESIDUAL]) * dt
    if running > 0.0:
        acc[U_COMPRESSOR] += net * dt
    acc[A_CHEM] += (z[Z_PPACK] + z[Z_QPACK] + net - nominal) * dt
    acc[A_STATION] += z[Z_STATION] * dt
    acc[A_THROUGH] += z[Z_STATION] * dt
    acc[A_CHARGER] -= charger * (1.0 - dr[P_INSIDE]) * dt
    acc[A_HEATER] -= z[Z_DHEAT] * (1.0 - dr[P_REACHES]) * dt
    acc[A_ROAD] -= wheel * dt
    acc[A_LV] -= (z[Z_LV] - row[D_CONV]) * dt
    acc[U_TRACTION] += z[Z_TRACTION] * dt
    acc[U_DHEAT] += z[Z_DHEAT] * dt
    acc[S_DRIVE] += z[Z_DSHORT] * dt
    if row[D_PLUGGED] > 0.0:
        acc[S_CHARGED] += max(-z[Z_PPACK] - z[Z_QPACK], 0.0) * dt
    acc[U_LV] += z[Z_LV] * dt
    acc[U_PACK] += power[base + TWO] * dt
    acc[U_BRAKE] -= z[Z_BRAKE] * dt
    ext[X_SOC] -= z[Z_IPACK] * dt / pk[P_CAPACITY]
    ext[X_PULSE] = pulse_clock_s(ext[X_PULSE], z[Z_PPACK] < -z[Z_TAKE] - 1e-6, dt)
