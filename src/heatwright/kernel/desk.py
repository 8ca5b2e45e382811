"""The desk of the dispatch, and what is needed now: latches with hysteresis, how much, and where the air should be."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from heatwright.kernel import dispatch_names as dn
from heatwright.kernel import plan
from heatwright.kernel.ahead import Columns
from heatwright.kernel.names import D_CHARGING, D_P, D_SETPOINT, D_TAU, D_WANTED, X_W
from heatwright.kernel.plan import Floats, Ints
from heatwright.physics.jit import kernel_jit
from heatwright.physics.moist_air import saturation_humidity_ratio

I_ZGLASS, I_PKN = plan.I["zn_glass"], plan.I["pk_n"]
W_TAU, W_EXT, W_FROST = plan.W["tau"], plan.W["ext"], plan.W["frost"]
ZERO_K = 273.15
GROUP_PACK, GROUP_DRIVE, GROUP_CABIN, GROUP_COOLANT = 1, 2, 3, 4
UNSEEN, SUPPLIES, SEEN = 7, 1, 2  # marks of `Desk.supply`
OWN, BLOWER, INLET, OUTLET = range(4)  # kinds of flow knob
ASLEEP, AIR_ALONE = 0, 1  # candidates that every plant has
NONE = 9999
Matrix = NDArray[np.float64]


class Desk(NamedTuple):
    """Everything the dispatch looks at and keeps for one plant; made by `heatwright.dispatch.desk`.

    `setting` (candidates, actuators) holds every candidate with heaters and compressors off; `serves` the latches it
    serves, one bit each; `has_*` what it may turn; `free` which flow knobs. `work` is a work array for each. `knob`,
    `speed` and `heat` are what they were left at, `lean` the way (1 or -1) a knob is turned first, `knob_due`
    when it is turned again and `knob_idle` how often in vain till then, `rows` the lines of
    the why-record, `acts` the actuators they mean, `due` when each is looked at again. `frost_bare` is the least frost
    read of each exchanger so far, which counts as none: an estimate may be off by that much.
    """

    columns: Columns
    airs: Ints
    cores: Ints
    flash: Ints
    drive_feeds: Ints
    supply: Any
    group: Ints
    hot_node: Ints
    hot_k: Floats
    frost_column: Ints
    frost_place: Ints
    frost_bare: Floats
    heater_act: Ints
    heater_most: Floats
    comp_act: Ints
    comp_least: Floats
    comp_most: Floats
    loss_act: Ints
    knob_at: Ints
    knob_other: Ints
    knob_least: Floats
    knob_most: Floats
    knob_step: Floats
    knob_kind: Ints
    knob_start: Floats
    setting: Matrix
    serves: Ints
    has_comp: Any
    has_heater: Any
    has_loss: Ints
    free: Any
    allow: Ints
    work: Matrix
    knob: Matrix
    lean: Matrix
    knob_due: Matrix
    knob_idle: Matrix
    speed: Matrix
    heat: Matrix
    rows: Matrix
    acts: Matrix
    due: Floats
    wait: Floats
    latch: Floats
    latch_before: Floats
    kept: Floats
    ring: Matrix
    settings: Floats
    need: Floats
    base: Floats
    s: Floats
    m: Floats
    r: Floats
    reacts: Matrix
    zones: Floats
    per: Floats
    end: Floats
    trial: Floats
    spare: Floats


@kernel_jit
def longer_asleep(d: Desk, rest_s: float) -> float:
    """Return a rest from looking again, of some periods at least in a sleeping car [s]: little changes there."""
    if int(d.kept[dn.H_CURRENT]) != ASLEEP:
        return rest_s
    return max(rest_s, d.settings[dn.K_ASLEEP_REST] * d.settings[dn.K_PERIOD])


@kernel_jit
def set_latch(latch: Floats, k: int, on: bool, off: bool) -> None:
    """Move one latch: on, off, or as it was."""
    if on:
        latch[k] = 1.0
    elif off:
        latch[k] = 0.0


@kernel_jit
def find_needs(pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk) -> None:
    """Fill the latches and the needs of this period from the car as it is read (prices stand there already)."""
    k = d.settings
    tau = plan.work_view(pi, now, W_TAU)
    need = d.need
    latch = d.latch
    for i in range(latch.shape[0]):
        d.latch_before[i] = latch[i]
    wanted = row[D_WANTED] > 0.5
    airs = d.airs
    target = row[D_SETPOINT]
    cold = 1e9
    warm = -1e9
    for i in range(airs.shape[0]):
        t = tau[airs[i]] + ZERO_K
        cold = min(cold, t)
        warm = max(warm, t)
    set_latch(
        latch, dn.L_HEAT, wanted and cold < target + k[dn.K_HEAT_ON], not wanted or cold > target + k[dn.K_HEAT_OFF]
    )
    set_latch(
        latch, dn.L_COOL, wanted and warm > target + k[dn.K_COOL_ON], not wanted or warm < target + k[dn.K_COOL_OFF]
    )
    glass = plan.int_view(pi, I_ZGLASS)
    humid = 0.0
    w_air = plan.work_view(pi, now, W_EXT)[X_W]
    for i in range(glass.shape[0]):
        humid = max(humid, w_air / saturation_humidity_ratio(tau[glass[i]] + ZERO_K, row[D_P]))
    need[dn.N_HUMID] = humid
    set_latch(latch, dn.L_DRY, wanted and humid > k[dn.K_DRY_ON], not wanted or humid < k[dn.K_DRY_OFF])
    cells = plan.int_view(pi, I_PKN)
    pack_cold = 1e9
    pack_hot = -1e9
    for i in range(cells.shape[0]):
        t = tau[cells[i]] + ZERO_K
        pack_cold = min(pack_cold, t)
        pack_hot = max(pack_hot, t)
    set_latch(latch, dn.L_PACK_WARM, pack_cold < k[dn.K_FLOOR], pack_cold > k[dn.K_FLOOR] + k[dn.K_FLOOR_WIDTH])
    hot = k[dn.K_HOT_CHARGE] if row[D_CHARGING] > 0.5 else k[dn.K_HOT]
    set_latch(latch, dn.L_PACK_COOL, pack_hot > hot, pack_hot < hot - k[dn.K_HOT_WIDTH])
    over = -1e9
    for i in range(d.hot_node.shape[0]):
        over = max(over, tau[d.hot_node[i]] + ZERO_K - d.hot_k[i])
    set_latch(latch, dn.L_DRIVE, over > k[dn.K_DRIVE_ON], over < k[dn.K_DRIVE_OFF])
    frost = plan.work_view(pi, now, W_FROST)
    most = 0.0
    for i in range(d.frost_place.shape[0]):
        guess = frost[d.frost_place[i]]
        d.frost_bare[i] = min(d.frost_bare[i], guess)
        most = max(most, guess - d.frost_bare[i])
    thaws = row[D_TAU] + ZERO_K > k[dn.K_FROST_T]
    set_latch(
        latch, dn.L_FROST, wanted and thaws and most > k[dn.K_FROST_ON],
        not wanted or not thaws or most < k[dn.K_FROST_OFF],
    )  # fmt: skip
    need[dn.N_WANTED] = 1.0 if wanted else 0.0
    need[dn.N_HEAT] = latch[dn.L_HEAT]
    need[dn.N_COOL] = latch[dn.L_COOL]
    need[dn.N_DRY] = latch[dn.L_DRY]
    need[dn.N_PACK_IN] = k[dn.K_FLOOR_W] * latch[dn.L_PACK_WARM]
    out = k[dn.K_HOT_W] + k[dn.K_HOT_W_PER_K] * (pack_hot - hot + k[dn.K_HOT_WIDTH])
    need[dn.N_PACK_OUT] = min(max(out, 0.0), k[dn.K_HOT_MOST]) * latch[dn.L_PACK_COOL]
    need[dn.N_DRIVE] = latch[dn.L_DRIVE]
    need[dn.N_FROST] = latch[dn.L_FROST]
    reach = 1.0 - math.exp(-k[dn.K_H] / k[dn.K_APPROACH])
    for i in range(airs.shape[0]):
        t = tau[airs[i]] + ZERO_K
        need[dn.N_TREF + i] = t + (target - t) * reach - d.kept[dn.H_BIAS]
