"""One plant over many drawn days, under its decision table and under dispatch, set side by side by their scores."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import partial
from typing import Any

from heatwright.compiler.build import compile_program
from heatwright.dispatch.days import day
from heatwright.dispatch.march import run_dispatch
from heatwright.dispatch.rules import Rules
from heatwright.dispatch.score import Score, score
from heatwright.errors import InputError, Problem
from heatwright.modes.atlas import build_atlas
from heatwright.modes.model import Atlas
from heatwright.plant.model import Plant
from heatwright.run import Run, plain
from heatwright.sensors import Sensors, load_sensors
from heatwright.simulate import Progress, simulate
from heatwright.study.draws import side_by_side
from heatwright.study.stops import settled_case

TABLE, RULES, DISPATCH = "table", "rules", "dispatch"
STRATEGIES = (TABLE, RULES, DISPATCH)
USUAL = (TABLE, DISPATCH)
TOLD = ("score_kwh", "energy_kwh", "discomfort_kh", "charge_min", "switches_per_h")
"""What a day's answer tells of each strategy."""

March = Callable[[Sensors | None, Plant, Any], Run]
Sensing = Callable[[int], Sensors | None]
"""The sensors that a day's car is read through, by the day's number; None reads the true state."""


@dataclass(frozen=True)
class Day:
    """One drawn day: its seed, its title, and the score under each strategy, in the order asked for."""

    seed: int
    trip: str
    scores: Mapping[str, Score]

    def ratio(self, one: str, other: str) -> float:
        """Return the score under one strategy over that under another [-]."""
        return self.scores[one].score_kwh / self.scores[other].score_kwh


@dataclass(frozen=True)
class Against:
    """How a strategy fares against another over all days: ratio of scores, days won, its best and its worst day."""

    strategy: str
    other: str
    mean_ratio: float
    wins: int
    days: int
    best_seed: int
    best_ratio: float
    worst_seed: int
    worst_ratio: float


@dataclass(frozen=True)
class Days:
    """What `many_days` found; the first strategy is the one that the others are set against.

    sees : what both strategies look at: "sensors" or "true state".
    """

    plant: str
    strategies: tuple[str, ...]
    days: tuple[Day, ...]
    sees: str = "true state"

    @property
    def against(self) -> tuple[Against, ...]:
        """Return how every other strategy fares against the first."""
        return tuple(self._against(one) for one in self.strategies[1:])

    @property
    def vetoes(self) -> tuple[tuple[int, str, str], ...]:
        """Return (seed, strategy, what) of every veto."""
        return tuple(
            (one.seed, name, veto) for one in self.days for name, found in one.scores.items() for veto in found.vetoes
        )

    def mean_score_kwh(self, strategy: str) -> float:
        """Return a strategy's mean score."""
        return sum(one.scores[strategy].score_kwh for one in self.days) / len(self.days)

    def _against(self, strategy: str) -> Against:
        other = self.strategies[0]
        ratios = [(one.ratio(strategy, other), one.seed) for one in self.days]
        (best, best_seed), (worst, worst_seed) = min(ratios), max(ratios)
        mean = sum(ratio for ratio, _ in ratios) / len(ratios)
        wins = sum(ratio < 1.0 for ratio, _ in ratios)
        return Against(strategy, other, mean, wins, len(ratios), best_seed, best, worst_seed, worst)

    def as_json(self) -> dict[str, Any]:
        """Return days and summary as plain JSON values."""
        rows = [
            {"seed": one.seed, "trip": one.trip}
            | {name: {key: getattr(found, key) for key in TOLD} for name, found in one.scores.items()}
            for one in self.days
        ]
        summary = {
            "plant": self.plant,
            "sees": self.sees,
            "mean_score_kwh": {name: self.mean_score_kwh(name) for name in self.strategies},
            "against": [vars(one) for one in self.against],
            "vetoes": [{"seed": seed, "strategy": name, "veto": veto} for seed, name, veto in self.vetoes],
        }
        out: dict[str, Any] = plain({"days": rows, "summary": summary})
        return out

    def as_text(self) -> str:
        """Return the days as a table for a terminal."""
        from heatwright.study.days_table import days_as_text

        return days_as_text(self)


def read_strategies(text: str) -> tuple[str, ...]:
    """Return the strategies of a text such as `table,dispatch`; InputError if one is not known."""
    named = tuple(dict.fromkeys(piece.strip() for piece in text.split(",") if piece.strip()))
    problems = []
    for name in named:
        if name not in STRATEGIES:
            near = get_close_matches(name, STRATEGIES, 1)
            hint = f"write {near[0]!r}" if near else ""
            problems.append(
                Problem(
                    "--strategies", f"there is no strategy {name!r}", f"one or more of: {', '.join(STRATEGIES)}", hint
                )
            )
    if not named:
        problems.append(Problem("--strategies", "no strategy is named", f"one or more of: {', '.join(STRATEGIES)}"))
    if problems:
        raise InputError(problems, "days")
    return named


def many_days(
    plant: Plant,
    seeds: Sequence[int],
    strategies: Sequence[str] = USUAL,
    progress: Progress | None = None,
    sensing: Sensing = load_sensors,
) -> Days:
    """Drive a plant through the days of the seeds under every strategy and return their scores.

    A fast charge lasts until the slowest of the strategies has its charge, so all of them drive the same day; the wait
    of each ends with its own charge. sensing : every strategy of a day reads the same sensors with the same errors, by
    default the declared ones with errors drawn from the day's number; a function that returns None shows them the true
    state. progress(done, total) counts days; days run beside each other on all cores.
    InputError if a decision table is asked for and the plant has none, or there is no day.
    """
    marches = marches_of(plant, strategies)
    if not seeds:
        raise InputError([Problem("days", "no day is asked for", "one seed or more")], "days")

    def one(seed: int) -> Day:
        trip = day(seed)
        seen = {name: partial(march, sensing(seed)) for name, march in marches.items()}
        case = settled_case([plant], trip, marches=tuple(seen.values()))
        return Day(seed, trip.name, {name: score(march(plant, case), case) for name, march in seen.items()})

    found = []
    for each in side_by_side(one, seeds):
        found.append(each)
        if progress is not None:
            progress(len(found), len(seeds))
    return Days(plant.name, tuple(marches), tuple(found), "true state" if sensing(seeds[0]) is None else "sensors")


def marches_of(plant: Plant, strategies: Sequence[str]) -> dict[str, March]:
    """Return how each strategy marches a plant over a case, read through sensors."""
    known: dict[str, March] = {}
    for name in strategies:
        if name == DISPATCH:
            known[name] = partial(_by_dispatch, build_atlas(plant), None)
        else:
            if plant.control is None:
                hint = f"write a [control] into the plant, or take --strategies {DISPATCH}"
                raise InputError([Problem(plant.source, "the plant has no decision table", "[control]", hint)], "days")
            known[name] = _by_table if name == TABLE else partial(_by_dispatch, None, Rules())
    return known


def _by_table(sensors: Sensors | None, plant: Plant, case: Any) -> Run:
    return simulate(compile_program(plant, case, sensors=sensors), case)


def _by_dispatch(atlas: Atlas | None, strategy: Rules | None, sensors: Sensors | None, plant: Plant, case: Any) -> Run:
    return run_dispatch(plant, compile_program(plant, case, sensors=sensors), case, atlas, strategy=strategy).run
