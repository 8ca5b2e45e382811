"""One control period of a trip under dispatch, round the decision itself: what is known before it, noted after it."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from heatwright.kernel import dispatch_names as dn
from heatwright.kernel import plan
from heatwright.kernel.desk import ASLEEP, BLOWER, INLET, ZERO_K, Desk
from heatwright.kernel.dispatch import decide
from heatwright.kernel.names import D_DRIVING, D_OCCUPIED, D_WANTED, X_SOC
from heatwright.kernel.plan import Floats, Ints, Records
from heatwright.kernel.price_book import PriceBook, price_all
from heatwright.physics.jit import kernel_jit

I_PKN, W_TAU, W_EXT = plan.I["pk_n"], plan.W["tau"], plan.W["ext"]
PACE = (
    "dt_s period_steps parked_steps asleep_steps blur_s horizon_s far_horizon_s far_short_w "
    "regret_j switch_span_s free_switches switch_growth"
).split()
"""What `Way.pace` holds. Steps of a period: driving, parked, and asleep (as parked where sleep is not stretched)."""
(
    P_DT, P_PERIOD, P_PARKED, P_ASLEEP, P_BLUR, P_HORIZON, P_FAR_HORIZON, P_FAR_SHORT,
    P_REGRET, P_SPAN, P_FREE, P_GROWTH,
) = range(len(PACE))  # fmt: skip
S_OLDEST, S_NEXT = range(2)
N_STATE = 2
MILD_K = 293.15
"""Stands for the pack's temperature where there is none [K]."""
Matrix = NDArray[np.float64]


class Way(NamedTuple):
    """A trip under way; made by `heatwright.dispatch.march`.

    `stops` says for every step where something next begins or ends. `ahead` is the driver row that decisions are made
    by, of which the columns `blurred` follow the last minutes. `state` holds which of `switched` (times of switches
    [s]) are the oldest in the span looked at and the next to be written.
    """

    rows: Matrix
    stops: Ints
    ahead: Floats
    blurred: Ints
    pace: Floats
    state: Floats
    switched: Floats


class Notes(NamedTuple):
    """Room for the why-record of some decisions: see `heatwright.dispatch.why.Why`."""

    t_s: Floats
    chosen: Ints
    best: Any
    lines: Any
    needs: Matrix


@kernel_jit
def blur(way: Way, driven: Matrix) -> None:
    """Move the driving of the last minutes towards the rows just driven; weather and wishes are as they are now."""
    n = driven.shape[0]
    span_s = way.pace[P_PERIOD] * way.pace[P_DT]
    part = span_s / (way.pace[P_BLUR] + span_s)
    at = 0
    for j in range(way.ahead.shape[0]):
        if at < way.blurred.shape[0] and way.blurred[at] == j:
            at += 1
            mean = 0.0
            for k in range(n):
                mean += driven[k, j]
            way.ahead[j] += part * (mean / n - way.ahead[j])
        else:
            way.ahead[j] = driven[n - 1, j]


@kernel_jit
def look_far(d: Desk, way: Way) -> None:
    """Look further ahead while the cabin is cold and the best found leaves much of its need unmet.

    Heat that builds up over minutes (a warmer source, air that goes round its coils) is not seen near by.
    """
    pace = way.pace
    far = d.settings[dn.K_H] != pace[P_HORIZON]
    short_w = pace[P_FAR_SHORT] * (0.5 if far else 1.0)
    current = int(d.kept[dn.H_CURRENT])
    wanted = (
        d.latch[dn.L_HEAT] > 0.5
        and d.rows[current, dn.R_SCORE] < dn.IMPOSSIBLE_W
        and d.rows[current, dn.R_SHORT] > short_w
        and pace[P_FAR_HORIZON] > pace[P_HORIZON]
    )
    if wanted != far:
        d.settings[dn.K_H] = pace[P_FAR_HORIZON] if wanted else pace[P_HORIZON]
        d.kept[dn.H_RING_COUNT] = 0.0


@kernel_jit
def raise_bar(d: Desk, way: Way, now_s: float) -> None:
    """Raise what the next switch must have saved with each of the last ones beyond those that are free.

    Falling asleep stays at the plain regret.
    """
    state = way.state
    while state[S_OLDEST] < state[S_NEXT] and way.switched[int(state[S_OLDEST])] <= now_s - way.pace[P_SPAN]:
        state[S_OLDEST] += 1.0
    beyond = max(state[S_NEXT] - state[S_OLDEST] - way.pace[P_FREE], 0.0)
    d.kept[dn.H_BAR] = way.pace[P_REGRET] * way.pace[P_GROWTH] ** beyond


@kernel_jit
def set_limits(d: Desk, row: Floats) -> None:
    """Keep the flows of air within what people aboard need."""
    for k in range(d.knob_kind.shape[0]):
        if d.knob_kind[k] == BLOWER:
            least = d.settings[dn.K_BLOWER_LEAST] if row[D_WANTED] > 0.5 else 0.0
        elif d.knob_kind[k] == INLET:
            least = d.settings[dn.K_FRESH] if row[D_OCCUPIED] > 0.5 else 0.0
        else:
            continue
        d.knob_least[k] = least
        for c in range(d.knob.shape[0]):
            d.knob[c, k] = max(d.knob[c, k], least)


@kernel_jit
def set_prices(pi: Ints, d: Desk, p: PriceBook, now: Floats, t_s: float) -> None:
    """Put what heat in pack, drive unit and cabin is worth now among the needs."""
    cells = plan.int_view(pi, I_PKN)
    tau = plan.work_view(pi, now, W_TAU)
    t_k = 0.0
    for k in range(cells.shape[0]):
        t_k += tau[cells[k]]
    t_k = t_k / cells.shape[0] + ZERO_K if cells.shape[0] > 0 else MILD_K
    price_all(p, t_s, t_k, plan.work_view(pi, now, W_EXT)[X_SOC], d.need[dn.N_LP :])


@kernel_jit
def set_out(pi: Ints, now: Floats, driven: Matrix, d: Desk, p: PriceBook, way: Way, first: int) -> int:
    """Make the desk ready for the decision at step `first`; return where the period that then begins ends.

    now : the car as it is read. driven : driver rows of the last period, the one of `first` last, as they are known.
    """
    pace = way.pace
    row = way.rows[first]
    steps = pace[P_PERIOD]
    if row[D_DRIVING] <= 0.5 and row[D_WANTED] <= 0.5:
        asleep = first > 0 and int(d.kept[dn.H_CURRENT]) == ASLEEP
        steps = pace[P_ASLEEP] if asleep else pace[P_PARKED]
    last = min(first + int(steps), int(way.stops[first]))
    now_s = first * pace[P_DT]
    blur(way, driven)
    d.settings[dn.K_PERIOD] = (last - first) * pace[P_DT]
    look_far(d, way)
    raise_bar(d, way, now_s)
    set_limits(d, row)
    set_prices(pi, d, p, now, now_s)
    return last


@kernel_jit
def note_choice(d: Desk, way: Way, notes: Notes, at: int, before: int, chosen: int, t_s: float) -> None:
    """Note a decision at place `at` of the record, and a switch of a car awake among the last ones."""
    if before != chosen and before != ASLEEP and chosen != ASLEEP:
        way.switched[int(way.state[S_NEXT])] = t_s
        way.state[S_NEXT] += 1.0
    notes.t_s[at] = t_s
    notes.chosen[at] = chosen
    for j in range(dn.BEST):
        best = -1
        for c in range(d.rows.shape[0]):
            taken = False
            for i in range(j):
                taken = taken or notes.best[at, i] == c
            score = d.rows[c, dn.R_SCORE]
            if not taken and score < (2.0 * dn.IMPOSSIBLE_W if best < 0 else d.rows[best, dn.R_SCORE]):
                best = c
        notes.best[at, j] = best
        for i in range(dn.N_ROW):
            notes.lines[at, j, i] = d.rows[max(best, 0), i]
    for i in range(dn.N_ROW):
        notes.lines[at, dn.BEST, i] = d.rows[chosen, i]
    for i in range(d.need.shape[0]):
        notes.needs[at, i] = d.need[i]


@kernel_jit
def take_turn(
    pi: Ints, pf: Floats, now: Floats, driven: Matrix, d: Desk, p: PriceBook, way: Way, notes: Notes, at: int,
    first: int, before: int, ends: Ints,
) -> int:  # fmt: skip
    """Decide at step `first` and note it at place `at` of the record; return the candidate to run.

    before : what ran until now. ends : its first entry is filled with the step at which the period ends. The rest as in
    `set_out`.
    """
    ends[0] = set_out(pi, now, driven, d, p, way, first)
    chosen = decide(pi, pf, now, way.ahead, d)
    note_choice(d, way, notes, at, before, chosen, first * way.pace[P_DT])
    return chosen


@kernel_jit
def mean_rows(rows: Matrix, size: int, out: Matrix) -> None:
    """Fill every row of `out` with the mean of the next `size` rows."""
    n = np.uint64(rows.shape[1])
    for i in range(np.uint64(out.shape[0])):
        for j in range(n):
            out[i, j] = 0.0
        for k in range(i * np.uint64(size), (i + np.uint64(1)) * np.uint64(size)):
            for j in range(n):
                out[i, j] += rows[k, j]
        for j in range(n):
            out[i, j] /= size


@kernel_jit
def draw_straight(record: Records, size: int, ends: Records, mode_column: int, mode: float) -> None:
    """Fill the record behind its first row: straight to every row of `ends`, `size` apart, the mode as it is."""
    for i in range(ends.shape[0]):
        first = i * size
        for k in range(1, size + 1):
            share = np.float32(k) / np.float32(size)
            for j in range(record.shape[1]):
                record[first + k, j] = record[first, j] + share * (ends[i, j] - record[first, j])
            record[first + k, mode_column] = mode
        for j in range(record.shape[1]):
            record[first + size, j] = ends[i, j]
