"""Everything a car can do in a step, as a table: what each setting costs and where it leaves the stores of heat.

A setting is a candidate with its flow knobs, compressors, heaters and heat on purpose at levels.  Each is looked at as
the dispatch looks at it (one implicit step of the plant's own matrix), but no score chooses among them.
"""

from __future__ import annotations

import math

from heatwright.kernel import dispatch_names as dn
from heatwright.kernel import plan
from heatwright.kernel.ahead import react
from heatwright.kernel.desk import AIR_ALONE, ASLEEP, ZERO_K, Desk, find_needs
from heatwright.kernel.judge import judge_limits, judge_stores
from heatwright.kernel.knobs import turn_knobs, wake_knobs
from heatwright.kernel.names import (
    D_DRIVING,
    D_SETPOINT,
    X_PULSE,
    X_SOC,
    Z_BRAKE,
    Z_DHEAT,
    Z_IPACK,
    Z_LV,
    Z_ON,
    Z_PC,
    Z_PPACK,
    Z_SOC,
    Z_TAKE,
    Z_TBEST,
)
from heatwright.kernel.pack import P_CAPACITY
from heatwright.kernel.plan import Floats, Ints
from heatwright.kernel.point import settle
from heatwright.kernel.power import fill_power
from heatwright.kernel.search import evaluate, set_up, still_walls
from heatwright.physics.jit import kernel_jit
from heatwright.physics.pack_limits import pulse_clock_s

I_CIRC, I_DVKIND, I_PKN = (plan.I[k] for k in "circ dv_kind pk_n".split())
F_CX, F_PK = plan.F["cx_par"], plan.F["pk_par"]
W_TAU, W_ACT, W_Z, W_PDEV, W_EXT = (plan.W[k] for k in "tau act z pdev ext".split())

E_J, E_PACK, E_DRIVE, E_CABIN, E_AIR, E_S = range(6)
N_EFFECT = 6
"""One line of a menu: cost without comfort, wait, wear and braking [J]; rise of pack, drive unit and cabin [K]; cabin
air at the end [K]; how long the step lasts [s]. An infinite cost: it cannot be done."""
SPEEDS, HEATS, LOSSES, PARTS = 5, 5, 2, 2
"""Levels: of a running compressor, of heaters and of heat on purpose (none among both), and between two speeds, each
run part of the time. Heaters: none, what the air lacks of the band, what it lacks, half, all."""
COMFORT_K = 1.0
"""Error of the air that nobody minds [K]."""
LEAST_RATE = 0.2
"""A charge slower than this share of its rate without other loads is taken as that."""


@kernel_jit
def drawn_w(pi: Ints, pf: Floats, w: Floats, row: Floats) -> float:
    """Return what the setting in `act` draws without traction [W], as the march books it."""
    fill_power(pi, pf, w, row)
    z = plan.work_view(pi, w, W_Z)
    power = plan.work_view(pi, w, W_PDEV)
    n = plan.int_view(pi, I_DVKIND).shape[0]
    total = z[Z_LV] + z[Z_DHEAT] + power[n + 1] + power[n + 2]
    for i in range(n):
        total += power[i]
    circ = plan.int_view(pi, I_CIRC)
    for k in range(circ.shape[0]):
        own = pi[int(circ[k]) :]
        z_own = plan.work_view(own, w, W_Z)
        if z_own[Z_ON] > 0.0:
            total += z_own[Z_PC] + plan.float_view(own, pf, F_CX)[0]
    return total


@kernel_jit
def charge_rate(pi: Ints, pf: Floats, w: Floats, row: Floats) -> float:
    """Return how fast a car that does nothing else gains charge [1/s]."""
    fill_power(pi, pf, w, row)
    return -plan.work_view(pi, w, W_Z)[Z_IPACK] / plan.float_view(pi, pf, F_PK)[P_CAPACITY]


@kernel_jit
def cold_brake_w(
    pi: Ints, pf: Floats, w: Floats, rows: Floats, charge: Floats, full: float, dt: float, out: Floats
) -> None:
    """Fill what the friction brakes take in every row because the cells, as warm as `w` has them, are cold [W]."""
    ext = plan.work_view(pi, w, W_EXT)
    z = plan.work_view(pi, w, W_Z)
    t_k = plan.work_view(pi, w, W_TAU)[plan.int_view(pi, I_PKN)[0]] + ZERO_K
    ext[X_PULSE] = 0.0
    for k in range(rows.shape[0]):
        ext[X_SOC] = charge[k]
        z[Z_SOC] = charge[k]
        fill_power(pi, pf, w, rows[k])
        ext[X_PULSE] = pulse_clock_s(ext[X_PULSE], z[Z_PPACK] < -z[Z_TAKE] - 1e-6, dt)
        out[k] = max(z[Z_BRAKE], 0.0) if t_k < z[Z_TBEST] and charge[k] < full else 0.0


@kernel_jit
def answer(pi: Ints, d: Desk, c: int, heated: bool, lossy: bool) -> None:
    """Fill what a watt of each heater of a candidate and of heat on purpose does to every node."""
    nh = d.heater_act.shape[0]
    if heated:
        for h in range(nh):
            if d.has_heater[c, h] != 0:
                react(pi, d.work[c], d.columns, d.base, d.columns.heaters + h, d.m, d.r, d.reacts[h])
    if lossy:
        react(pi, d.work[c], d.columns, d.base, d.columns.loss, d.m, d.r, d.reacts[nh])


@kernel_jit
def effects(
    pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int, heats: Floats, loss_w: float, caps: Floats,
    rate: float, out: Floats,
) -> None:  # fmt: skip
    """Fill one line of a menu for the setting last settled, with powers of the heaters [W] and heat on purpose.

    caps : heat capacity of the stores [J/K]. rate : of a charge without other loads [1/s]; 0: time is fixed.
    """
    w = d.work[c]
    act = plan.work_view(pi, w, W_ACT)
    tau = plan.work_view(pi, w, W_TAU)
    nh = d.heater_act.shape[0]
    for i in range(d.end.shape[0]):
        d.end[i] = tau[i]
        if loss_w > 0.0:
            d.end[i] += loss_w * d.reacts[nh, i]
    for h in range(nh):
        if heats[h] > 0.0:
            act[d.heater_act[h]] = heats[h]
            for i in range(d.end.shape[0]):
                d.end[i] += heats[h] * d.reacts[h, i]
    if loss_w > 0.0:
        act[d.loss_act[0]] = loss_w
    drawn = drawn_w(pi, pf, w, row)
    for h in range(nh):
        act[d.heater_act[h]] = 0.0
    if d.loss_act.shape[0] > 0:
        act[d.loss_act[0]] = 0.0
    judge_stores(pi, w, now, d, d.trial)
    judge_limits(pi, pf, w, row, d, d.trial)
    seconds = d.settings[dn.K_H]
    if rate > 0.0:
        got = -plan.work_view(pi, w, W_Z)[Z_IPACK] / plan.float_view(pi, pf, F_PK)[P_CAPACITY]
        seconds *= 2.0 * rate / (rate + max(got, LEAST_RATE * rate))
    out[E_J] = (drawn + d.trial[dn.R_SOFT]) * seconds
    out[E_PACK] = d.trial[dn.R_DPACK] * seconds / caps[0]
    out[E_DRIVE] = d.trial[dn.R_DDRIVE] * seconds / caps[1]
    out[E_CABIN] = d.trial[dn.R_DCABIN] * seconds / caps[2]
    out[E_AIR] = d.end[d.airs[0]] + ZERO_K if d.airs.shape[0] > 0 else 0.0
    out[E_S] = seconds


@kernel_jit
def settings_of(d: Desk, c: int) -> tuple[bool, bool, bool]:
    """Return whether a candidate has compressors, heaters and heat on purpose."""
    compressors = False
    for j in range(d.comp_act.shape[0]):
        compressors = compressors or d.has_comp[c, j] != 0
    heated = False
    for h in range(d.heater_act.shape[0]):
        heated = heated or d.has_heater[c, h] != 0
    return compressors, heated, d.has_loss[c] != 0


@kernel_jit
def lines_of(d: Desk, c: int) -> int:
    """Return how many lines a candidate has for each of its presets."""
    compressors, heated, lossy = settings_of(d, c)
    n = (HEATS if heated else 1) * (LOSSES if lossy else 1)
    return n * (1 + SPEEDS) + PARTS * SPEEDS if compressors else n


@kernel_jit
def fill_candidate(
    pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int, caps: Floats, rate: float, heats: Floats,
    out: Floats, first: int,
) -> None:  # fmt: skip
    """Fill the lines of a candidate at its knobs, from line `first` of the flat menu on."""
    compressors, heated, lossy = settings_of(d, c)
    most = set_up(pi, pf, now, row, d, c)
    act = plan.work_view(pi, d.work[c], W_ACT)
    n_heat = HEATS if heated else 1
    n_loss = LOSSES if lossy else 1
    at = first
    still_walls(d, c)
    for level in range(1 + SPEEDS if compressors else 1):
        for j in range(d.comp_act.shape[0]):
            if d.has_comp[c, j] != 0:
                share = (level - 1.0) / (SPEEDS - 1.0)
                speed = d.comp_least[j] * (d.comp_most[j] / d.comp_least[j]) ** share
                act[d.comp_act[j]] = speed if level > 0 else 0.0
        done = settle(pi, pf, now, row, d, c) == 0.0
        if done:
            answer(pi, d, c, heated, lossy and most > 1.0)
        for loss in range(n_loss):
            for heat in range(n_heat):
                line = out[N_EFFECT * at : N_EFFECT * (at + 1)]
                line[E_J] = math.inf
                if done and (loss == 0 or most > 1.0):
                    for h in range(heats.shape[0]):
                        heats[h] = 0.0
                    loss_w = most * loss / (LOSSES - 1.0)
                    for h in range(d.heater_act.shape[0]):
                        if d.has_heater[c, h] != 0:
                            heats[h] = heater_level(pi, row, d, c, h, heat, loss_w)
                    effects(pi, pf, now, row, d, c, heats, loss_w, caps, rate, line)
                at += 1
    if compressors:
        for level in range(SPEEDS):
            low = N_EFFECT * (first + level * n_heat * n_loss)
            high = low + N_EFFECT * n_heat * n_loss
            start_w = d.settings[dn.K_START] if level == 0 else 0.0
            for part in range(PARTS):
                share = (part + 1.0) / (PARTS + 1.0)
                to = N_EFFECT * at
                mix(out[low : low + N_EFFECT], out[high : high + N_EFFECT], share, start_w, out[to : to + N_EFFECT])
                at += 1


@kernel_jit
def heater_level(pi: Ints, row: Floats, d: Desk, c: int, h: int, level: int, loss_w: float) -> float:
    """Return the power of a heater at one of its levels [W]; where several heat the air, each as if alone."""
    most = d.heater_most[h]
    if level == 0:
        return 0.0
    if level > 2:
        return most if level == HEATS - 1 else 0.5 * most
    if d.airs.shape[0] == 0:
        return 0.0
    air = d.airs[0]
    now = plan.work_view(pi, d.work[c], W_TAU)[air]
    if loss_w > 0.0:
        now += loss_w * d.reacts[d.heater_act.shape[0], air]
    aim = row[D_SETPOINT] - ZERO_K - (0.9 * COMFORT_K if level == 1 else 0.0)
    return min(max((aim - now) / max(d.reacts[h, air], 1e-9), 0.0), most)


@kernel_jit
def mix(low: Floats, high: Floats, part: float, start_w: float, out: Floats) -> None:
    """Fill the line of a compressor that runs faster a part of the time."""
    for i in range(N_EFFECT):
        out[i] = part * high[i] + (1.0 - part) * low[i]
    out[E_J] += start_w * out[E_S]


@kernel_jit
def fill_menu(
    pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, presets: Floats, caps: Floats, rate: float, heats: Floats,
    out: Floats,
) -> None:  # fmt: skip
    """Fill the menu of all candidates allowed, `out` flat, lines in a fixed order.

    presets : knobs (preset, candidate, knob), flat.
    """
    find_needs(pi, pf, now, row, d)
    knobs = d.knob_at.shape[0]
    n = d.rows.shape[0]
    at = 0
    for c in range(n):
        if d.allow[c] == 0:
            continue
        for p in range(presets.shape[0] // (n * knobs)):
            for k in range(knobs):
                d.knob[c, k] = min(max(presets[(n * p + c) * knobs + k], d.knob_least[k]), d.knob_most[k])
            fill_candidate(pi, pf, now, row, d, c, caps, rate, heats, out, at)
            if c == ASLEEP and d.need[dn.N_WANTED] > 0.5 and row[D_DRIVING] > 0.0:
                out[N_EFFECT * at + E_J] = math.inf
            at += lines_of(d, c)


@kernel_jit
def climb_to(pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int) -> bool:
    """Settle a candidate at its compressors' speeds by way of lower ones; return whether it can be done."""
    act = plan.work_view(pi, d.work[c], W_ACT)
    still_walls(d, c)
    done = False
    for level in range(SPEEDS + 1):
        for j in range(d.comp_act.shape[0]):
            if d.has_comp[c, j] != 0:
                act[d.comp_act[j]] = d.comp_least[j] * (d.speed[c, j] / d.comp_least[j]) ** (level / SPEEDS)
        done = settle(pi, pf, now, row, d, c) == 0.0
    return done


@kernel_jit
def measure(
    pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, c: int, caps: Floats, rate: float, heats: Floats,
    scratch: Floats, out: Floats,
) -> None:  # fmt: skip
    """Fill the line of what the dispatch made of a candidate: its `acts`, run part of the time if its duty says so."""
    out[E_J] = math.inf
    if d.rows[c, dn.R_SCORE] >= dn.IMPOSSIBLE_W:
        return
    _, heated, lossy = settings_of(d, c)
    duty = d.rows[c, dn.R_DUTY]
    set_up(pi, pf, now, row, d, c)
    act = plan.work_view(pi, d.work[c], W_ACT)
    for h in range(heats.shape[0]):
        heats[h] = 0.0
    for h in range(d.heater_act.shape[0]):
        if d.has_heater[c, h] != 0:
            heats[h] = d.acts[c, d.heater_act[h]]
    loss = d.acts[c, d.loss_act[0]] if d.loss_act.shape[0] > 0 else 0.0
    for j in range(d.comp_act.shape[0]):
        if d.has_comp[c, j] != 0:
            act[d.comp_act[j]] = d.speed[c, j]
    if not (settle(pi, pf, now, row, d, c) == 0.0 or climb_to(pi, pf, now, row, d, c)):
        return
    answer(pi, d, c, heated, lossy and loss > 0.0)
    effects(pi, pf, now, row, d, c, heats, loss, caps, rate, out)
    if duty >= 1.0:
        return
    for j in range(d.comp_act.shape[0]):
        act[d.comp_act[j]] = 0.0
    if settle(pi, pf, now, row, d, c) != 0.0:
        out[E_J] = math.inf
        return
    for h in range(heats.shape[0]):
        heats[h] = 0.0
    effects(pi, pf, now, row, d, c, heats, 0.0, caps, rate, scratch)
    for i in range(N_EFFECT):
        out[i] = duty * out[i] + (1.0 - duty) * scratch[i]
    out[E_J] += d.settings[dn.K_START] * out[E_S]


@kernel_jit
def fill_best(
    pi: Ints, pf: Floats, now: Floats, row: Floats, d: Desk, near_w: float, turns: int, caps: Floats, rate: float,
    heats: Floats, scratch: Floats, out: Floats,
) -> None:  # fmt: skip
    """Fill one line for every candidate, at the best the dispatch makes of it under the prices in `need`.

    Knobs are turned further where the score is within `near_w` of the best.
    """
    find_needs(pi, pf, now, row, d)
    best = dn.IMPOSSIBLE_W
    evaluate(pi, pf, now, row, d, AIR_ALONE)
    for c in range(d.rows.shape[0]):
        if c != AIR_ALONE:
            evaluate(pi, pf, now, row, d, c)
        best = min(best, d.rows[c, dn.R_SCORE])
    for c in range(d.rows.shape[0]):
        line = out[N_EFFECT * c : N_EFFECT * (c + 1)]
        if d.rows[c, dn.R_SCORE] < min(best + near_w, dn.IMPOSSIBLE_W):
            wake_knobs(d, c)
            for _ in range(turns):
                turn_knobs(pi, pf, now, row, d, c)
        measure(pi, pf, now, row, d, c, caps, rate, heats, scratch, line)
        if c == ASLEEP and d.need[dn.N_WANTED] > 0.5 and row[D_DRIVING] > 0.0:
            line[E_J] = math.inf
