"""The march: control, flows, one step (or one full and two half steps), derived signals, record."""

from __future__ import annotations

from typing import Any

import numba
import numpy as np

from heatwright.kernel import plan
from heatwright.kernel.control import aim, move_actuators, read_signals
from heatwright.kernel.drive import watch_drive
from heatwright.kernel.flows import update_flows
from heatwright.kernel.frost import step_frost
from heatwright.kernel.glass_ice import begin_ice, step_ice
from heatwright.kernel.heat import account, restore_temperatures, solve_heat
from heatwright.kernel.moisture import begin_moisture, dew_points, step_moisture
from heatwright.kernel.names import (
    D_P,
    D_SETPOINT,
    D_SUNCABIN,
    D_TAU,
    M_EERR,
    M_REDONE,
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
from heatwright.kernel.pack import watch_pack
from heatwright.kernel.plan import Floats, Ints, Records
from heatwright.kernel.ports import book_refrigerant, open_ports, run_circuit
from heatwright.kernel.power import book_power, fill_power
from heatwright.kernel.start import begin_circuit, compressor_clock, move_liquid
from heatwright.physics.cabin import vent_target_k
from heatwright.physics.jit import kernel_jit
from heatwright.physics.moist_air import relative_humidity

I_DIM, I_PKN, I_ZAIR, I_ZGLASS = (plan.I[k] for k in ("dim", "pk_n", "zn_air", "zn_glass"))
F_GC, F_BODY, F_PK, F_SGPAR = (plan.F[k] for k in ("gc", "body", "pk_par", "sg_par"))
W_U, W_EXT, W_ACC, W_TAU, W_TAUN, W_CAP, W_CPS, W_G = (
    plan.W[k] for k in ("u", "ext", "acc", "tau", "taun", "cap", "cps", "g")
)
W_Z, W_MISC, W_SAVE, W_EDRIVE, W_ACT = (plan.W[k] for k in ("z", "misc", "save", "edrive", "act"))
W_CDQ, W_MLAST, W_GFILM, W_TARGET = (plan.W[k] for k in ("cdq", "mlast", "gfilm", "actx"))
I_WALL, I_CIRC = plan.I["rp_wall"], plan.I["circ"]
LEAP_K = 15.0
ONE, TWO, THREE, FOUR, FIVE = (np.uint64(k) for k in (1, 2, 3, 4, 5))


@kernel_jit
def derive(pi: Ints, w: Floats, row: Floats) -> None:
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
    dew = dew_points(pi, w, row[D_P])
    z[Z_DEW] = dew
    z[Z_RH] = relative_humidity(air, ext[X_W], row[D_P])
    glass = plan.int_view(pi, I_ZGLASS)
    coldest = 1e9
    for k in range(np.uint64(glass.shape[0])):
        coldest = min(coldest, tau[glass[k]] + 273.15)
    z[Z_FOG] = coldest - dew
    z[Z_VENT] = vent_target_k(row[D_SETPOINT], air, row[D_TAU] + 273.15, row[D_SUNCABIN])


@kernel_jit
def keep_state(pi: Ints, w: Floats) -> None:
    """Put the state and temperatures aside before a full step that is to be taken again in halves."""
    save = plan.work_view(pi, w, W_SAVE)
    tau = plan.work_view(pi, w, W_TAU)
    first = np.uint64(pi[plan.W_BASE + W_U])
    size = np.uint64(pi[plan.W_BASE + W_ACC + 1]) - first
    for k in range(size):
        save[k] = w[first + k]
    for i in range(np.uint64(tau.shape[0])):
        save[size + size + i] = tau[i]


@kernel_jit
def return_to_state(pi: Ints, w: Floats) -> None:
    """Put the outcome of the full step aside and go back to where it began."""
    save = plan.work_view(pi, w, W_SAVE)
    tau = plan.work_view(pi, w, W_TAU)
    first = np.uint64(pi[plan.W_BASE + W_U])
    size = np.uint64(pi[plan.W_BASE + W_ACC + 1]) - first
    for k in range(size):
        save[size + k] = w[first + k]
        w[first + k] = save[k]
    for i in range(np.uint64(tau.shape[0])):
        full = tau[i]
        tau[i] = save[size + size + i]
        save[size + size + i] = full


@kernel_jit
def combine(pi: Ints, w: Floats) -> None:
    """Combine one full and two half steps to second order; note their difference as the error estimate."""
    save = plan.work_view(pi, w, W_SAVE)
    tau = plan.work_view(pi, w, W_TAU)
    taun = plan.work_view(pi, w, W_TAUN)
    misc = plan.work_view(pi, w, W_MISC)
    first = np.uint64(pi[plan.W_BASE + W_U])
    size = np.uint64(pi[plan.W_BASE + W_ACC + 1]) - first
    worst = 0.0
    energy = 0.0
    for i in range(np.uint64(tau.shape[0])):
        worst = max(worst, abs(tau[i] - save[size + size + i]))
        energy += w[first + i] - save[size + i]
        taun[i] = 2.0 * tau[i] - save[size + size + i]
    misc[M_TERR] = max(misc[M_TERR], worst)
    misc[M_EERR] += abs(energy)
    for k in range(size):
        w[first + k] = 2.0 * w[first + k] - save[size + k]


@kernel_jit
def walls_leap(pi: Ints, w: Floats) -> bool:
    """Return whether a refrigerant wall would leap; the step is then to be solved again with steady heats.

    The heats are linearised about the walls; where the circuit changes its kind within a step (a starved
    evaporator, a limit) the slope no longer holds. Without it the heats are those solved, and none is lost.
    """
    circ = plan.int_view(pi, I_CIRC)
    tau = plan.work_view(pi, w, W_TAU)
    taun = plan.work_view(pi, w, W_TAUN)
    worst = 0.0
    for c in range(np.uint64(circ.shape[0])):
        wall = plan.int_view(pi[np.uint64(circ[c]) :], I_WALL)
        for k in range(np.uint64(wall.shape[0])):
            worst = max(worst, abs(taun[wall[k]] - tau[wall[k]]))
    if worst < LEAP_K:
        return False
    for c in range(np.uint64(circ.shape[0])):
        dq = plan.work_view(pi[np.uint64(circ[c]) :], w, W_CDQ)
        for k in range(np.uint64(dq.shape[0])):
            dq[k] = 0.0
    misc = plan.work_view(pi, w, W_MISC)
    misc[M_REDONE] += 1.0
    return True


@kernel_jit
def begin(pi: Ints, pf: Floats, w: Floats) -> None:
    """Set capacities, stored energies and constant conductances, and mark every flow as not yet solved.

    The caller has set `tau`, `ext` and `act`.
    """
    dim = plan.int_view(pi, I_DIM)
    u = plan.work_view(pi, w, W_U)
    tau = plan.work_view(pi, w, W_TAU)
    taun = plan.work_view(pi, w, W_TAUN)
    cap = plan.work_view(pi, w, W_CAP)
    cps = plan.work_view(pi, w, W_CPS)
    body = plan.float_view(pi, pf, F_BODY)
    for i in range(np.uint64(dim[0])):
        t = tau[i]
        o = FIVE * i
        c1 = body[o + ONE]
        c2 = body[o + TWO]
        c3 = body[o + THREE]
        c4 = body[o + FOUR]
        cps[i] = c1 + t * (c2 + t * (c3 + t * c4))
        cap[i] = body[o] * c1
        u[i] = body[o] * t * (c1 + t * (0.5 * c2 + t * ((1.0 / 3.0) * c3 + t * 0.25 * c4)))
        taun[i] = t
    g = plan.work_view(pi, w, W_G)
    gc = plan.float_view(pi, pf, F_GC)
    clean = plan.work_view(pi, w, W_GFILM)
    for k in range(np.uint64(gc.shape[0])):
        g[k] = gc[k]
        clean[k] = 1.0
    begin_moisture(pi, w)
    begin_ice(pi, pf, w)
    drive = plan.work_view(pi, w, W_EDRIVE)
    for k in range(np.uint64(drive.shape[0])):
        drive[k] = -1.0
    last = plan.work_view(pi, w, W_MLAST)
    for k in range(np.uint64(last.shape[0])):
        last[k] = -1.0
    circ = plan.int_view(pi, I_CIRC)
    for c in range(np.uint64(circ.shape[0])):
        begin_circuit(pi[np.uint64(circ[c]) :], pf, w)


@kernel_jit
def compiled_march(
    pi: Ints,
    pf: Floats,
    w: Floats,
    rows: Floats,
    dt: float,
    high: bool,
    replay: bool,
    acts: Floats,
    cols: Ints,
    record: Records,
    fresh: bool,
    steer: bool,
) -> None:
    """March over the rows of `rows`; write the chosen work cells after every step into `record`.

    Parameters
        rows : (n, columns)   driver rows, means over each step
        dt : float   step [s]
        high : bool   one full and two half steps, combined to second order
        replay : bool   take the actuators from `acts` (n, actuators) instead of the decision table
        cols : uint32 array   places in `w` to record
        record : float32 array (n, cols)   out; may have no rows
        steer : bool   take the targets of the actuators from the first row of `acts` instead of the decision table
        fresh : bool   only make `w` ready (its temperatures, extra state and actuators are set), no step
    One call site for each part of the step: the compiler then emits each part once.
    """
    act = plan.work_view(pi, w, W_ACT)
    target = plan.work_view(pi, w, W_TARGET)
    n_act = np.uint64(act.shape[0])
    circ = plan.int_view(pi, I_CIRC)
    n_circ = np.uint64(circ.shape[0])
    keep = record.shape[0] > 0
    stages = 3 if high else 1
    steps = np.uint64(rows.shape[0])
    if fresh:
        begin(pi, pf, w)
        if plan.float_view(pi, pf, F_PK).shape[0] > 0:
            watch_pack(pi, pf, w)
            watch_drive(pi, pf, w, rows[0])
        stages = 0
        steps = np.uint64(1)
    for k in range(steps):
        row = rows[k]
        if replay:
            for j in range(n_act):
                act[j] = acts[k, j]
        elif not fresh:
            if not steer or plan.float_view(pi, pf, F_SGPAR).shape[0] > 0:
                read_signals(pi, pf, w, row, dt)
            if steer:
                for j in range(n_act):
                    target[j] = acts[0, j]
            else:
                aim(pi, pf, w, dt)
            move_actuators(pi, pf, w, dt)
            for c in range(n_circ):
                compressor_clock(pi[np.uint64(circ[c]) :], pf, w, dt)
        update_flows(pi, pf, w, row)
        if high:
            keep_state(pi, w)
        for stage in range(stages):
            if stage == 1:
                return_to_state(pi, w)
            h = dt if stage == 0 else 0.5 * dt
            for c in range(n_circ):
                open_ports(pi[np.uint64(circ[c]) :], pf, w)
                run_circuit(pi[np.uint64(circ[c]) :], pf, w, h)
            fill_power(pi, pf, w, row)
            step_moisture(pi, pf, w, row, h)
            for c in range(n_circ):
                move_liquid(pi[np.uint64(circ[c]) :], pf, w, h)
            step_frost(pi, pf, w, row, h)
            step_ice(pi, pf, w, row, h)
            solve_heat(pi, pf, w, row, h)
            if walls_leap(pi, w):
                solve_heat(pi, pf, w, row, h)
            net = account(pi, pf, w, row, h)
            restore_temperatures(pi, pf, w)
            book_power(pi, pf, w, row, net, h)
        if stages == 3:
            combine(pi, w)
            restore_temperatures(pi, pf, w)
        derive(pi, w, row)
        if keep:
            for c in range(n_circ):
                book_refrigerant(pi[np.uint64(circ[c]) :], w)
            for c in range(np.uint64(cols.shape[0])):
                record[k, c] = w[cols[c]]


def march(
    pi: Any,
    pf: Any,
    w: Any,
    rows: Any,
    dt: float,
    high: bool,
    replay: bool,
    acts: Any,
    cols: Any,
    record: Any,
    steer: bool = False,
) -> None:
    """March over `rows` (see `compiled_march`)."""
    compiled_march(pi, pf, w, rows, float(dt), bool(high), bool(replay), acts, cols, record, False, bool(steer))


def prepare(pi: Any, pf: Any, w: Any, row: Any) -> None:
    """Make a work array ready for the first step: capacities, constant conductances, flows, signals."""
    none = np.zeros((1, 1))
    compiled_march(
        pi,
        pf,
        w,
        row.reshape(1, -1),
        1.0,
        False,
        False,
        none,
        np.zeros(0, np.uint32),
        np.zeros((0, 0), np.float32),
        True,
        False,
    )


@numba.njit(parallel=True, cache=True, error_model="numpy")
def march_many(
    pi: Ints, pfs: Floats, ws: Floats, rows: Floats, dt: float, high: bool, cols: Ints, record: Records
) -> None:
    """March many cases of one plan on all cores (compiled when first called).

    Case c takes coefficients `pfs[c]`, work array `ws[c]` (temperatures, extra state and actuators set), driver
    rows `rows[c % len(rows)]` and writes `record[c]`; the rest as in `compiled_march`.
    """
    acts = np.zeros((1, 1))
    yes = pfs.shape[0] > 0
    for c in numba.prange(pfs.shape[0]):
        r = rows[c % rows.shape[0]]
        compiled_march(pi, pfs[c], ws[c], r, dt, not yes, not yes, acts, cols, record[c][:0], yes, not yes)
        compiled_march(pi, pfs[c], ws[c], r, dt, high, not yes, acts, cols, record[c], not yes, not yes)
