"""The compressor's clocks, the allowance at a start, and liquid that gathers in the accumulator of a standing car.

The clock `ext[X_CLOCK_S]` counts seconds run (above 0) or stood (below 0). Whatever the strategy says, a compressor
that has stood for less than its least time off stays off, and one that has run for less than its least time on keeps
its least speed; a limit, or valves that leave no way, stop it all the same. The least times of the laws that move it
count by the same clock. For some time after a start suction may fall below its usual least pressure.

Liquid that gathered while standing, dM/dt = (M_end - M) / time, takes no part in the circuit. While any is left the
suction gas is saturated: the superheat the valves would have set boils the liquid instead,
dM/dt = -m (h_sh - h_v) / (h_sh - h_l). The refrigerant's own heat is not stored, so no heat is lost to the ledger.
"""

from __future__ import annotations

import numpy as np

from heatwright.kernel import circuit_names as cc
from heatwright.kernel import plan
from heatwright.kernel.names import M_STARTS, X_CLOCK_S, X_LIQUID_KG, Z_HOLD, Z_LIMIT, Z_LIQUID, Z_ON
from heatwright.kernel.plan import Floats, Ints
from heatwright.kernel.status import (
    CIRCUIT_OFF,
    CIRCUIT_RUNS,
    LIMIT_BOILING,
    LIMIT_LEAST_OFF,
    LIMIT_NONE,
    LIMIT_START_ALLOWANCE,
    LIMIT_UNSOLVED,
)
from heatwright.physics.jit import inner_jit, kernel_jit
from heatwright.physics.refrigerant import TAB_BULK, TAB_LOW, saturated_side

I_ACT, I_LTSIG = plan.I["cx_act"], plan.I["lt_sig"]
F_CPPAR, F_TAB = plan.F["cp_par"], plan.F["cp_tab"]
W_ACT, W_EXT, W_Z, W_MISC, W_COUT, W_NOW, W_TARGET, W_CS = (
    plan.W[k] for k in ("act", "ext", "z", "misc", "cout", "cpnow", "actx", "cs")
)
LIQUID_LEAST_KG = 1e-6
HOLD_NONE, HOLD_OFF, HOLD_ON = 0.0, 1.0, 2.0
FREE_S = 1e9


@inner_jit
def begin_circuit(pi: Ints, pf: Floats, w: Floats) -> None:
    """Copy the compressor's numbers to where clocks and charge may change them."""
    par = plan.float_view(pi, pf, F_CPPAR)
    now = plan.work_view(pi, w, W_NOW)
    for k in range(np.uint64(par.shape[0])):
        now[k] = par[k]


@inner_jit
def _time_law(pi: Ints, w: Floats, own: int, clock: float) -> None:
    """Set the timer of the compressor's law (kernel.control) to the time really run or stood [s].

    A law that asks for a compressor that stands may let go at once: it has not started. One that no longer asks for
    a compressor that still runs begins to count when it stands.
    """
    cs = plan.work_view(pi, w, W_CS)
    state = (
        np.uint64(4) + np.uint64(plan.int_view(pi, I_LTSIG).shape[0]) // np.uint64(8) + np.uint64(3) * np.uint64(own)
    )
    if cs[state + np.uint64(1)] > 0.5:
        cs[state + np.uint64(2)] = clock if clock > 0.0 else FREE_S
    else:
        cs[state + np.uint64(2)] = max(-clock, 0.0)


@kernel_jit
def compressor_clock(pi: Ints, pf: Floats, w: Floats, dt: float) -> None:
    """Move the clock by the step that has passed; hold the compressor off, or on, where its least times ask for it."""
    now = plan.work_view(pi, w, W_NOW)
    if now.shape[0] == 0:
        return
    ext = plan.work_view(pi, w, W_EXT)
    act = plan.work_view(pi, w, W_ACT)
    target = plan.work_view(pi, w, W_TARGET)
    z = plan.work_view(pi, w, W_Z)
    own = plan.int_view(pi, I_ACT)[0]
    clock = ext[X_CLOCK_S]
    if z[Z_ON] > 0.0 or (clock > 0.0 and z[Z_LIMIT] == float(LIMIT_UNSOLVED)):
        if clock <= 0.0:
            misc = plan.work_view(pi, w, W_MISC)
            misc[M_STARTS] += 1.0
        clock = max(clock, 0.0) + dt
    else:
        clock = min(clock, 0.0) - dt
    ext[X_CLOCK_S] = clock
    _time_law(pi, w, own, clock)
    z[Z_HOLD] = HOLD_NONE
    if clock < 0.0 and act[own] > 0.0 and -clock < now[cc.PAR_LEAST_OFF_S]:
        act[own] = 0.0
        z[Z_HOLD] = HOLD_OFF
    elif 0.0 < clock < now[cc.PAR_LEAST_ON_S] and max(act[own], target[own]) < now[cc.PAR_SPEED_MIN_HZ]:
        act[own] = now[cc.PAR_SPEED_MIN_HZ]
        z[Z_HOLD] = HOLD_ON
    usual = plan.float_view(pi, pf, F_CPPAR)[cc.PAR_P_SUCTION_MIN_PA]
    now[cc.PAR_P_SUCTION_MIN_PA] = now[cc.PAR_P_START_PA] if clock < now[cc.PAR_START_S] else usual


@inner_jit
def wet_suction(pi: Ints, pf: Floats, w: Floats) -> float:
    """Set whether the suction gas is saturated, because liquid is left; return that liquid [kg]."""
    now = plan.work_view(pi, w, W_NOW)
    ext = plan.work_view(pi, w, W_EXT)
    wet = ext[X_LIQUID_KG] > LIQUID_LEAST_KG
    now[cc.PAR_WET] = 1.0 if wet else 0.0
    return max(ext[X_LIQUID_KG], 0.0)


@inner_jit
def name_start_limit(pi: Ints, pf: Floats, w: Floats, status: int) -> None:
    """Name what a start does to the point: least time off, allowance in use, liquid boiling off."""
    z = plan.work_view(pi, w, W_Z)
    if status == CIRCUIT_OFF and z[Z_HOLD] == HOLD_OFF:
        z[Z_LIMIT] = float(LIMIT_LEAST_OFF)
    if status != CIRCUIT_RUNS:
        return
    out = plan.work_view(pi, w, W_COUT)
    now = plan.work_view(pi, w, W_NOW)
    if out[cc.OUT_P_LOW] < plan.float_view(pi, pf, F_CPPAR)[cc.PAR_P_SUCTION_MIN_PA] * (1.0 - 1e-6):
        z[Z_LIMIT] = float(LIMIT_START_ALLOWANCE)
    elif now[cc.PAR_WET] > 0.0 and z[Z_LIMIT] == float(LIMIT_NONE):
        z[Z_LIMIT] = float(LIMIT_BOILING)
    if now[cc.PAR_WET] > 0.0:
        out[cc.OUT_SUCTION_SUPERHEAT] = 0.0


@kernel_jit
def move_liquid(pi: Ints, pf: Floats, w: Floats, dt: float) -> None:
    """Boil off the accumulator's liquid while the compressor runs; let it gather while it stands."""
    now = plan.work_view(pi, w, W_NOW)
    if now.shape[0] == 0:
        return
    ext = plan.work_view(pi, w, W_EXT)
    z = plan.work_view(pi, w, W_Z)
    if z[Z_ON] > 0.0:
        if ext[X_LIQUID_KG] > 0.0:
            tab = plan.float_view(pi, pf, F_TAB)
            out = plan.work_view(pi, w, W_COUT)
            te = out[cc.OUT_T_EVAP]
            _, _, _, _, h_v, _, h_l, _ = saturated_side(te, tab[TAB_BULK], tab)
            h_sh = saturated_side(te, tab[TAB_LOW], tab)[2]
            boiled = out[cc.OUT_MDOT] * (h_sh - h_v) / (h_sh - h_l)
            ext[X_LIQUID_KG] = max(ext[X_LIQUID_KG] - boiled * dt, 0.0)
    elif now[cc.PAR_LIQUID_S] > 0.0:
        share = dt / now[cc.PAR_LIQUID_S]
        ext[X_LIQUID_KG] = (ext[X_LIQUID_KG] + share * now[cc.PAR_LIQUID_KG]) / (1.0 + share)
    z[Z_LIQUID] = ext[X_LIQUID_KG]
