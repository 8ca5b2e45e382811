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
from heatwright.kernel import names, period, plan
from heatwright.kernel.control import read_signals
from heatwright.kernel.obey import obey
from heatwright.modes.model import Atlas
from heatwright.plant.model import Plant
from heatwright.run import Run
from heatwright.simulate import Progress, Recorder, gather

BLUR_S = 60.0
PARKED_S = 60.0
EVENTS = [names.DRIVERS.index(k) for k in "driving plugged wanted occupied charging".split()]
BLURRED = np.array(
    sorted(
        names.DRIVERS.index(k)
        for k in (
            "speed wheel_w loss_copper_w loss_iron_w loss_rotor_w loss_inverter_w gear_viscous_w gear_churn_w "
            "gear_mesh_w ram_m_per_s motor_rad_per_s extra_copper_w extra_iron_w extra_inverter_w torque_used"
        ).split()
    ),
    np.uint32,
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
    way.watch_through(model_error, np.asarray(case.steps["rain"], float))
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
        self.program, self.desk, self.prices, self.stretch = program, desk, prices.make_book(), stretch
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
        self.way = make_way(program, desk, settings, stretch)
        self.period, self.parked = (int(self.way.pace[k]) for k in (period.P_PERIOD, period.P_PARKED))
        self.targets = np.zeros((1, len(program.index.actuators)))
        most = int(self.way.pace[period.P_ASLEEP]) // self.parked
        self.naps = np.zeros((max(most, 1), self.cols.size), np.float32)
        self.ends = np.zeros(1, np.uint32)
        self.book = WhyBook(desk.need.size)
        self.deciding_s = 0.0
        self.watch: Observer | None = None
        self.chooser: Chooser | None = None
        self.sees = self.w

    def watch_through(self, model_error: Mapping[str, float] | None, rain: Any) -> None:
        """Let dispatch see the car through the sensors of the program, if it has any."""
        if self.program.sensors is None:
            if model_error:
                raise ValueError("a wrong model needs sensors to be held against: compile the program with them")
            return
        self.watch = Observer(self.program, self.program.sensors, model_error, rain)
        self.watch.begin(self.w)
        self.sees = self.watch.work

    def decide_and_go(self) -> None:
        """Take one decision and march to the next."""
        program, desk, first = self.program, self.desk, self.at
        t_s, before = first * program.dt_s, int(self.mode[0])
        driven = program.rows[max(first - self.period, 0) : first + 1]
        if self.watch is not None:
            driven = self.watch.known(driven, self.w, first)
        tick = time.perf_counter()
        if self.chooser is None:
            chosen = int(period.take_turn(
                program.pi, program.pf, self.sees, driven, desk, self.prices, self.way, self.book.room,
                self.book.next(), first, before, self.ends,
            ))  # fmt: skip
            last = int(self.ends[0])
        else:
            last = int(period.set_out(program.pi, self.sees, driven, desk, self.prices, self.way, first))
            asked, chosen = self._ask(self.chooser, t_s)
            period.note_choice(desk, self.way, self.book.room, self.book.next(asked), before, chosen, t_s)
        self.deciding_s += time.perf_counter() - tick
        self.targets[0] = desk.acts[chosen]
        self.mode[0] = float(chosen)
        if self.stretch and chosen == kd.ASLEEP and not is_busy(program.rows[first]):
            self._sleep(first, last)
        else:
            self._go(program.rows[first:last], program.dt_s, self.record[first + 1 : last + 1], last)
        self.at = last
        if last - self.marked >= MARK_STEPS or last == self.n:
            self.ledger.mark(last)
            self.marked = last

    def _ask(self, chooser: Chooser, t_s: float) -> tuple[int, int]:
        """Return the candidate that another than dispatch chooses, and what runs: that one, or air alone."""
        program, desk = self.program, self.desk
        pi, pf = program.pi, program.pf
        if self.watch is None:
            read_signals(pi, pf, self.w, program.rows[self.at], program.dt_s)
        kd.find_needs(pi, pf, self.sees, self.way.ahead, desk)
        current, held_s = int(desk.kept[dn.H_CURRENT]), min(float(desk.kept[dn.H_IN_MODE]), t_s)
        asked, fixed = chooser.choose(t_s, plan.section(pi, self.w, "sig"), desk, current, held_s)
        ends = desk.knob_least.copy(), desk.knob_most.copy()
        for k, value in fixed.items():
            desk.knob[asked, k] = desk.knob_least[k] = desk.knob_most[k] = value
        chosen = int(obey(pi, pf, self.sees, self.way.ahead, desk, asked))
        desk.knob_least[:], desk.knob_most[:] = ends
        instead = chooser.instead() if chosen != asked else None
        if instead is not None:
            desk.acts[asked], desk.kept[dn.H_CURRENT], chosen = instead, float(asked), asked
        return asked, chosen

    def _sleep(self, first: int, last: int) -> None:
        """March in a few long steps; the record runs straight between their ends."""
        at_once = 1 if self.watch is not None else max((last - first) // self.parked, 1)
        while first < last:
            size = min(self.parked, last - first)
            many = min(at_once, (last - first) // size)
            end, means, naps = first + many * size, np.empty((many, self.program.rows.shape[1])), self.naps[:many]
            period.mean_rows(self.program.rows[first:end], size, means)
            self._go(means, size * self.program.dt_s, naps, end)
            period.draw_straight(self.record[first : end + 1], size, naps, self.mode_column, self.mode[0])
            first = end

    def _go(self, rows: Any, step_s: float, into: Any, last: int) -> None:
        """March towards the targets over driver rows up to step `last`, and keep what comes of each in `into`."""
        program = self.program
        kernel.march(
            program.pi, program.pf, self.w, rows, step_s, False, False, self.targets, self.cols, into, True
        )  # fmt: skip
        if self.watch is not None:
            at = self.recorder.cols.index(program.place("act"))
            self.watch.follow(self.w, rows, into[:, at : at + self.targets.size].astype(float), step_s, last - 1)


def make_way(program: Program, desk: kd.Desk, settings: Settings, stretch: bool) -> period.Way:
    """Return a trip at its beginning. stretch : a car asleep is asked every `asleep_period_s`."""
    dt = program.dt_s
    parked = max(round(PARKED_S / dt), 1)
    pace = {
        "dt_s": dt, "period_steps": max(round(settings.period_s / dt), 1), "parked_steps": parked,
        "asleep_steps": max(round(settings.asleep_period_s / dt), 1) if stretch else parked, "blur_s": BLUR_S,
        "horizon_s": settings.horizon_s, "far_horizon_s": settings.far_horizon_s, "far_short_w": settings.far_short_w,
        "regret_j": settings.regret_j, "switch_span_s": settings.switch_span_s,
        "free_switches": round(settings.switch_span_s / settings.switch_every_s),
        "switch_growth": settings.switch_growth,
    }  # fmt: skip
    return period.Way(
        program.rows, stops_of(program.rows), program.rows[0].copy(), BLURRED,
        np.array([pace[name] for name in period.PACE], float), np.zeros(period.N_STATE),
        np.zeros(program.rows.shape[0]),
    )  # fmt: skip


def stops_of(rows: Any) -> Any:
    """Return for every row the next after it where something begins or ends; behind the last row at the latest."""
    n = rows.shape[0]
    changed = np.flatnonzero((rows[1:, EVENTS] != rows[:-1, EVENTS]).any(axis=1)) + 1
    edges = np.append(changed, n)
    return edges[np.searchsorted(edges, np.arange(n), side="right")].astype(np.uint32)


def is_busy(row: Any) -> bool:
    """Return whether the car drives, or its cabin is wanted."""
    return bool(row[names.D_DRIVING] > 0.5 or row[names.D_WANTED] > 0.5)
