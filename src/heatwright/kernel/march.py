"""The march: control, flows, one step (or one full and two half steps), derived signals, record."""

from __future__ import annotations

import numba
import numpy as np

from heatwright.kernel import plan
from heatwright.kernel.control import control, read_signals
from heatwright.kernel.flows import update_flows
from heatwright.kernel.heat import account, restore_temperatures, solve_heat
from heatwright.kernel.names import (
    D_P,
    D_SETPOINT,
    D_SUNCABIN,
    D_TAU,
    M_EERR,
    M_TERR,
    X_SOC,
    X_W,
    Z_DEW,
    Z_FOG,
    Z_ONE,
    Z_PMAX,
    Z_PMIN,
    Z_RH,
    Z_SOC,
    Z_VENT,
    Z_WC,
)
from heatwright.kernel.power import book_power, book_refrigerant, fill_power, run_circuit, step_moisture
from heatwright.physics.cabin import vent_target_k
from heatwright.physics.jit import array_jit, kernel_jit
from heatwright.physics.moist_air import dew_point_k, relative_humidity

I_DIM, I_PKN, I_ZAIR, I_ZGLASS = (plan.I[k] for k in ("dim", "pk_n", "zn_air", "zn_glass"))
F_GC, F_MASS, F_C1, F_C2, F_C3, F_C4 = (plan.F[k] for k in ("gc", "mass", "c1", "c2", "c3", "c4"))
W_U, W_EXT, W_ACC, W_TAU, W_TAUN, W_CAP, W_CPS, W_G = (
    plan.W[k] for k in ("u", "ext", "acc", "tau", "taun", "cap", "cps", "g")
)
W_Z, W_MISC, W_SAVE, W_EDRIVE, W_ACT = (plan.W[k] for k in ("z", "misc", "save", "edrive", "act"))
ONE = np.uint64(1)


@kernel_jit
def derive(pi, w, row):  # type: ignore[no-untyped-def]
    """Fill the derived signals that rules and record look at."""
    z = plan.work_view(pi, w, W_Z)
    ext = plan.work_view(pi, w, W_EXT)
    tau = plan.work_view(pi, w, W_TAU)
    z[Z_ONE] = 1.0
    z[Z_SOC] = ext[X_SOC]
    z[Z_WC] = ext[X_W]
    cells = plan.int_view(pi, I_PKN)
    cold = 1e9
    warm = -1e9
    for k in range(np.uint64(cells.shape[0])):
        cold = min(cold, tau[cells[k]])
        warm = max(warm, tau[cells[k]])
    z[Z_PMAX] = warm + 273.15
    z[Z_PMIN] = cold + 273.15
    zone = plan.int_view(pi, I_ZAIR)
    if zone.shape[0] == 0:
        return
    air = tau[zone[0]] + 273.15
    dew = dew_point_k(ext[X_W], row[D_P])
    z[Z_DEW] = dew
    z[Z_RH] = relative_humidity(air, ext[X_W], row[D_P])
    glass = plan.int_view(pi, I_ZGLASS)
    coldest = 1e9
    for k in range(np.uint64(glass.shape[0])):
        coldest = min(coldest, tau[glass[k]] + 273.15)
    z[Z_FOG] = coldest - dew
    z[Z_VENT] = vent_target_k(row[D_SETPOINT], air, row[D_TAU] + 273.15, row[D_SUNCABIN])


@kernel_jit
def euler(pi, pf, w, row, dt):  # type: ignore[no-untyped-def]
    """Take one linearly implicit step of `dt` seconds."""
    run_circuit(pi, pf, w)
    fill_power(pi, pf, w, row)
    step_moisture(pi, pf, w, row, dt)
    solve_heat(pi, pf, w, row, dt)
    net = account(pi, pf, w, row, dt)
    book_power(pi, pf, w, row, net, dt)


@kernel_jit
def extrapolated(pi, pf, w, row, dt):  # type: ignore[no-untyped-def]
    """Take one full and two half steps and combine them to second order; note their difference as the error."""
    dim = plan.int_view(pi, I_DIM)
    n = np.uint64(dim[0])
    first = np.uint64(pi[plan.W_BASE + W_U])
    last = np.uint64(pi[plan.W_BASE + W_ACC + 1])
    size = last - first
    state = w[first:last]
    save = plan.work_view(pi, w, W_SAVE)
    tau = plan.work_view(pi, w, W_TAU)
    taun = plan.work_view(pi, w, W_TAUN)
    misc = plan.work_view(pi, w, W_MISC)
    for k in range(size):
        save[k] = state[k]
    for i in range(n):
        save[size + size + i] = tau[i]
    euler(pi, pf, w, row, dt)
    for k in range(size):
        save[size + k] = state[k]
        state[k] = save[k]
    for i in range(n):
        full = tau[i]
        tau[i] = save[size + size + i]
        save[size + size + i] = full
    euler(pi, pf, w, row, 0.5 * dt)
    euler(pi, pf, w, row, 0.5 * dt)
    worst = 0.0
    energy = 0.0
    for i in range(n):
        worst = max(worst, abs(tau[i] - save[size + size + i]))
        energy += state[i] - save[size + i]
    misc[M_TERR] = max(misc[M_TERR], worst)
    misc[M_EERR] += abs(energy)
    for k in range(size):
        state[k] = 2.0 * state[k] - save[size + k]
    for i in range(n):
        taun[i] = 2.0 * tau[i] - save[size + size + i]
    restore_temperatures(pi, pf, w)


@kernel_jit
def begin(pi, pf, w, row):  # type: ignore[no-untyped-def]
    """Prepare the work array for the first step: capacities, constant conductances, flows, signals.

    The caller has set `tau`, `ext` and `act`.
    """
    dim = plan.int_view(pi, I_DIM)
    u = plan.work_view(pi, w, W_U)
    tau = plan.work_view(pi, w, W_TAU)
    taun = plan.work_view(pi, w, W_TAUN)
    cap = plan.work_view(pi, w, W_CAP)
    cps = plan.work_view(pi, w, W_CPS)
    mass = plan.float_view(pi, pf, F_MASS)
    c1 = plan.float_view(pi, pf, F_C1)
    c2 = plan.float_view(pi, pf, F_C2)
    c3 = plan.float_view(pi, pf, F_C3)
    c4 = plan.float_view(pi, pf, F_C4)
    for i in range(np.uint64(dim[0])):
        t = tau[i]
        cps[i] = c1[i] + t * (c2[i] + t * (c3[i] + t * c4[i]))
        cap[i] = mass[i] * c1[i]
        u[i] = mass[i] * t * (c1[i] + t * (0.5 * c2[i] + t * ((1.0 / 3.0) * c3[i] + t * 0.25 * c4[i])))
        taun[i] = t
    g = plan.work_view(pi, w, W_G)
    gc = plan.float_view(pi, pf, F_GC)
    for k in range(np.uint64(gc.shape[0])):
        g[k] = gc[k]
    drive = plan.work_view(pi, w, W_EDRIVE)
    for k in range(np.uint64(drive.shape[0])):
        drive[k] = -1.0
    update_flows(pi, pf, w, row)
    derive(pi, w, row)


@kernel_jit
def march(pi, pf, w, rows, dt, high, replay, acts, cols, record):  # type: ignore[no-untyped-def]
    """March over the rows of `rows`; write the chosen work cells after every step into `record`.

    Parameters
        rows : (n, columns)   driver rows, means over each step
        dt : float   step [s]
        high : bool   extrapolated steps
        replay : bool   take the actuators from `acts` (n, actuators) instead of the decision table
        cols : uint32 array   places in `w` to record
        record : float32 array (n, cols)   out; may have no rows
    """
    act = plan.work_view(pi, w, W_ACT)
    n_act = np.uint64(act.shape[0])
    keep = record.shape[0] > 0
    for k in range(np.uint64(rows.shape[0])):
        row = rows[k]
        if replay:
            for j in range(n_act):
                act[j] = acts[k, j]
        else:
            read_signals(pi, w, row)
            control(pi, pf, w, dt)
        update_flows(pi, pf, w, row)
        if high:
            extrapolated(pi, pf, w, row, dt)
        else:
            euler(pi, pf, w, row, dt)
        derive(pi, w, row)
        if keep:
            book_refrigerant(pi, w)
            for c in range(np.uint64(cols.shape[0])):
                record[k, c] = w[cols[c]]


@array_jit
def prepare(pi, pf, w, row):  # type: ignore[no-untyped-def]
    """Call `begin` from Python."""
    begin(pi, pf, w, row)


@numba.njit(parallel=True, cache=True, error_model="numpy")
def march_many(pi, pfs, ws, rows, dt, high, cols, record):  # type: ignore[no-untyped-def]
    """March many cases of one plan on all cores (compiled when first called).

    Case c takes coefficients `pfs[c]`, work array `ws[c]` (temperatures, extra state and actuators set), driver
    rows `rows[c % len(rows)]` and writes `record[c]`; the rest as in `march`.
    """
    acts = np.zeros((1, 1))
    for c in numba.prange(pfs.shape[0]):
        begin(pi, pfs[c], ws[c], rows[c % rows.shape[0], 0])
        march(pi, pfs[c], ws[c], rows[c % rows.shape[0]], dt, high, False, acts, cols, record[c])
