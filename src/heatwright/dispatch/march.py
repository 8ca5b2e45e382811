"""A trip marched under dispatch: a decision each control period, the plant in between, the why-record beside it."""

from __future__ import annotations

import time
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from heatwright.books import MARK_STEPS, Book
from heatwright.compiler.program import Program
from heatwright.dispatch.candidates import Candidate, Knob
from heatwright.dispatch.desk import make_desk
from heatwright.dispatch.observer import Observer
from heatwright.dispatch.own import Chooser, Own
from heatwright.dispatch.prices import Prices, derive_prices
from heatwright.dispatch.rules import Rules
from heatwright.dispatch.settings import Settings, load_settings
from heatwright.dispatch.why import Why, WhyBook
from heatwright.kernel import desk as kd
from heatwright.kernel import dispatch_names as dn
from heatwright.kernel import march as kernel
from heatwright.kernel import names, plan
from heatwright.kernel.control import read_signals
from heatwright.kernel.dispatch import decide
from heatwright.kernel.obey import obey
from heatwright.modes.model import Atlas
from heatwright.plant.model import Plant
from heatwright.run import Run
from heatwright.simulate import Progress, Recorder, gather

BLUR_S = 60.0
PARKED_S = 60.0
EVENTS = [names.DRIVERS.index(k) for k in "driving plugged wanted occupied charging".split()]
BLURRED = np.array(
    [
        names.DRIVERS.index(k)
        for k in (
            "speed wheel_w loss_copper_w loss_iron_w loss_rotor_w loss_inverter_w gear_viscous_w gear_churn_w "
            "gear_mesh_w ram_m_per_s motor_rad_per_s extra_copper_w extra_iron_w extra_inverter_w torque_used"
        ).split()
    ]
)
"""Driver columns of which the dispatch knows the last minutes, not the moment."""


@dataclass(frozen=True, eq=False)
class Dispatched:
    """A run under dispatch, its why-record, and what it cost: decisions, looks at a point, points left unsettled."""

    run: Run
    why: Why
    candidates: tuple[Candidate, ...]
    knobs: tuple[Knob, ...]
    decisions: int
    looks: int
    unsettled: int
    deciding_s: float


def run_dispatch(
    plant: Plant,
    program: Program,
    case: Any,
    atlas: Atlas | None = None,
    settings: Settings | None = None,
    progress: Progress | None = None,
    prices: Prices | None = None,
    masked: Collection[str] = (),
    stretch: bool = True,
    model_error: Mapping[str, float] | None = None,
    strategy: Own | Rules | None = None,
) -> Dispatched:
    """March a program over its trip with the dispatch choosing.

    settings : left out, those of plant and trip. prices : left out, derived. masked : candidates (their ids) and parts
    that may not be used. stretch : a car asleep takes one step a control period, not one every `dt_s`. model_error :
    factors on conductances to outside that dispatch wrongly believes in, by zone or part; only for a program with
    sensors, through which dispatch then sees the car (dispatch.observer).
    strategy : the plant's rules or a user's own, which then choose in the place of dispatch; a user's own needs a
    program compiled with all signals.
    InputError where it fits the plant nowhere, RunError with the time of the last accepted step where it fails.
    """
    chosen = settings or load_settings(plant.dispatch, case.dispatch)
    desk, known, knobs = make_desk(plant, program, chosen, atlas, strategy.candidates(plant) if strategy else None)
    for c, one in enumerate(known):
        if one.id in masked or not one.running.isdisjoint(masked):
            desk.allow[c] = 0
    way = _Way(program, desk, prices or derive_prices(program, chosen), chosen, stretch)
    way.watch_through(model_error)
    if strategy is not None:
        way.chooser = strategy.begin(plant, program, known, knobs, way.w)
    begun = time.perf_counter()
    while way.at < way.n:
        way.decide_and_go()
        if progress is not None:
            progress(way.at, way.n)
    elapsed = time.perf_counter() - begun
    titles = tuple(one.title for one in known)
    run = gather(
        program, case, way.recorder, way.record, way.w, way.ledger, way.wet_start, elapsed, "normal", titles
    )  # fmt: skip
    kept, why = desk.kept, way.book.closed(known, strategy.name if strategy else "")
    return Dispatched(
        run, why, known, knobs, int(kept[dn.H_DECISIONS]), int(kept[dn.H_LOOKS]),
        int(kept[dn.H_UNSOLVED]), way.deciding_s,
    )  # fmt: skip


class _Way:
    """A trip under way: the car's work array, the record so far, and where it is."""

    def __init__(self, program: Program, desk: kd.Desk, prices: Prices, settings: Settings, stretch: bool) -> None:
        self.program, self.desk, self.prices, self.stretch = program, desk, prices, stretch
        self.recorder = Recorder(program)
        self.cols = np.array(self.recorder.cols, np.uint32)
        self.mode_column = self.recorder.names.index("mode")
        self.n, self.at = program.rows.shape[0], 0
        self.record = np.zeros((self.n + 1, self.cols.size), np.float32)
        self.w = program.start()
        kernel.prepare(program.pi, program.pf, self.w, program.rows[0])
        desk.work[:] = self.w
        self.ledger = Book(program, self.w)
        self.marked = 0
        self.wet_start = plan.section(program.pi, self.w, "wet").copy()
        self.mode = plan.section(program.pi, self.w, "cs")[:1]
        self.mode[0] = 0.0
        self.record[0] = self.w[self.cols]
        self.period = max(round(settings.period_s / program.dt_s), 1)
        self.parked = max(round(PARKED_S / program.dt_s), 1)
        self.asleep = max(round(settings.asleep_period_s / program.dt_s), 1)
        self.settings = settings
        self.switched_s: list[float] = []
        self.knobs, self.retried_s = desk.knob.copy(), 0.0
        self.ahead = program.rows[0].copy()
        self.targets = np.zeros((1, len(program.index.actuators)))
        self.book = WhyBook(program.dt_s)
        self.deciding_s = 0.0
        self.watch: Observer | None = None
        self.chooser: Chooser | None = None
        self.sees = self.w

    def watch_through(self, model_error: Mapping[str, float] | None) -> None:
        """Let dispatch see the car through the sensors of the program, if it has any."""
        if self.program.sensors is None:
            if model_error:
                raise ValueError("a wrong model needs sensors to be held against: compile the program with them")
            return
        self.watch = Observer(self.program, self.program.sensors, model_error)
        self.watch.begin(self.w)
        self.sees = self.watch.work

    def decide_and_go(self) -> None:
        """Take one decision and march to the next."""
        program, desk, first = self.program, self.desk, self.at
        row, dt = program.rows[first], program.dt_s
        busy = row[names.D_DRIVING] > 0.5 or row[names.D_WANTED] > 0.5
        last = next_stop(program.rows, first, self._steps(busy))
        driven = program.rows[max(first - self.period, 0) : first + 1]
        blur_rows(self.ahead, driven if self.watch is None else self.watch.known(driven, self.w), self.period * dt)
        desk.settings[dn.K_PERIOD] = (last - first) * dt
        self._look_far()
        self._raise_bar(first * dt)
        self._try_anew(first * dt)
        set_limits(desk, row)
        set_prices(desk, program, self.prices, self.sees, first * dt)
        tick = time.perf_counter()
        asked = None
        if self.chooser is None:
            chosen = int(decide(program.pi, program.pf, self.sees, self.ahead, desk))
        else:
            asked, chosen = self._ask(self.chooser, first * dt)
        self.deciding_s += time.perf_counter() - tick
        if self.mode[0] != chosen and kd.ASLEEP not in (chosen, int(self.mode[0])):
            self.switched_s.append(first * dt)
        self.targets[0] = desk.acts[chosen]
        self.mode[0] = float(chosen)
        self.book.note(first, chosen, desk, asked)
        self._go(first, last, self.stretch and chosen == kd.ASLEEP and not busy)
        self.at = last
        if last - self.marked >= MARK_STEPS or last == self.n:
            self.ledger.mark(last)
            self.marked = last

    def _steps(self, busy: bool) -> int:
        """Return how many steps a period has at most."""
        if busy:
            return self.period
        asleep = self.stretch and int(self.desk.kept[dn.H_CURRENT]) == kd.ASLEEP and self.at > 0
        return self.asleep if asleep else self.parked

    def _look_far(self) -> None:
        """Look further ahead while the cabin is cold and the best found leaves much of its need unmet.

        Heat that builds up over minutes (a warmer source, air that goes round its coils) is not seen near by.
        """
        desk = self.desk
        line = desk.rows[int(desk.kept[dn.H_CURRENT])]
        far = desk.settings[dn.K_H] != self.settings.horizon_s
        cold = desk.latch[dn.L_HEAT] > 0.5 and line[dn.R_SCORE] < dn.IMPOSSIBLE_W
        short_w = self.settings.far_short_w * (0.5 if far else 1.0)
        wanted = bool(cold and line[dn.R_SHORT] > short_w and self.settings.far_horizon_s > self.settings.horizon_s)
        if wanted != far:
            desk.settings[dn.K_H] = self.settings.far_horizon_s if wanted else self.settings.horizon_s
            desk.kept[dn.H_RING_COUNT] = 0.0

    def _raise_bar(self, now_s: float) -> None:
        """Raise what the next switch must have saved with each of the last ones beyond those that are free."""
        usual = self.settings
        self.switched_s = [t for t in self.switched_s if t > now_s - usual.switch_span_s]
        beyond = max(len(self.switched_s) - round(usual.switch_span_s / usual.switch_every_s), 0)
        self.desk.settings[dn.K_REGRET] = usual.regret_j * usual.switch_growth**beyond

    def _try_anew(self, now_s: float) -> None:
        """Let candidates that could not be done forget where they were left: from there they might never be done."""
        if now_s < self.retried_s + self.settings.retry_s:
            return
        self.retried_s = now_s
        desk = self.desk
        lost = desk.rows[:, dn.R_SCORE] == dn.IMPOSSIBLE_W
        desk.work[lost] = self.sees
        desk.knob[lost] = self.knobs[lost]
        desk.speed[lost] = desk.heat[lost] = 0.0

    def _ask(self, chooser: Chooser, t_s: float) -> tuple[int, int]:
        """Return the candidate that another than dispatch chooses, and what runs: that one, or air alone."""
        program, desk = self.program, self.desk
        pi, pf = program.pi, program.pf
        if self.watch is None:
            read_signals(pi, pf, self.w, program.rows[self.at], program.dt_s)
        kd.find_needs(pi, pf, self.sees, self.ahead, desk)
        current, held_s = int(desk.kept[dn.H_CURRENT]), min(float(desk.kept[dn.H_IN_MODE]), t_s)
        asked, fixed = chooser.choose(t_s, plan.section(pi, self.w, "sig"), desk, current, held_s)
        ends = desk.knob_least.copy(), desk.knob_most.copy()
        for k, value in fixed.items():
            desk.knob[asked, k] = desk.knob_least[k] = desk.knob_most[k] = value
        chosen = int(obey(pi, pf, self.sees, self.ahead, desk, asked))
        desk.knob_least[:], desk.knob_most[:] = ends
        instead = chooser.instead() if chosen != asked else None
        if instead is not None:
            desk.acts[asked], desk.kept[dn.H_CURRENT], chosen = instead, float(asked), asked
        return asked, chosen

    def _go(self, first: int, last: int, asleep: bool) -> None:
        """March towards the targets; a sleeping car takes one step, and the record runs straight between its ends."""
        program, record = self.program, self.record
        if asleep:
            while last - first > self.parked:
                self._go(first, first + self.parked, asleep)
                first += self.parked
        rows = program.rows[first:last].mean(axis=0)[None, :] if asleep else program.rows[first:last]
        step = (last - first) * program.dt_s if asleep else program.dt_s
        into = record[last - rows.shape[0] + 1 : last + 1]
        kernel.march(
            program.pi, program.pf, self.w, rows, step, False, False, self.targets, self.cols, into, True
        )  # fmt: skip
        if self.watch is not None:
            at = self.recorder.cols.index(program.place("act"))
            self.watch.follow(self.w, rows, into[:, at : at + self.targets.size].astype(float), step)
        if asleep and last - first > 1:
            share = (np.arange(1, last - first, dtype=np.float32) / (last - first))[:, None]
            record[first + 1 : last] = record[first] + share * (record[last] - record[first])
            record[first + 1 : last, self.mode_column] = self.mode[0]


def next_stop(rows: Any, first: int, steps: int) -> int:
    """Return where the period that begins at `first` ends: after its steps, or where something begins or ends."""
    last = min(first + steps, rows.shape[0])
    changed = (rows[first + 1 : last, EVENTS] != rows[first, EVENTS]).any(axis=1)
    return first + 1 + int(changed.argmax()) if changed.any() else last


def blur_rows(ahead: Any, rows: Any, dt: float) -> None:
    """Move the driving of the last minutes towards the rows just driven; weather and wishes are as they are now."""
    part = dt / (BLUR_S + dt)
    mean = rows.mean(axis=0)
    kept = ahead[BLURRED].copy()
    ahead[:] = rows[-1]
    ahead[BLURRED] = kept + part * (mean[BLURRED] - kept)


def set_limits(desk: kd.Desk, row: Any) -> None:
    """Keep the flows of air within what people aboard need."""
    wanted, aboard = row[names.D_WANTED] > 0.5, row[names.D_OCCUPIED] > 0.5
    least = {
        kd.BLOWER: desk.settings[dn.K_BLOWER_LEAST] if wanted else 0.0,
        kd.INLET: desk.settings[dn.K_FRESH] if aboard else 0.0,
    }
    for k, kind in enumerate(desk.knob_kind):
        if kind in least:
            desk.knob_least[k] = least[kind]
            desk.knob[:, k] = np.maximum(desk.knob[:, k], least[kind])


def set_prices(desk: kd.Desk, program: Program, prices: Prices, now: Any, t_s: float) -> None:
    """Put what heat in pack, drive unit and cabin is worth now among the needs."""
    cells = plan.section(program.pi, program.pi, "pk_n").astype(int)
    t_pack_k = float(plan.section(program.pi, now, "tau")[cells].mean()) + 273.15 if cells.size else 293.15
    desk.need[dn.N_LP], desk.need[dn.N_LD], desk.need[dn.N_LC] = prices.at(
        t_s, t_pack_k, float(plan.section(program.pi, now, "ext")[names.X_SOC])
    )
