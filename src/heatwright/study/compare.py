"""Several plants on one trip, judged at equal service, with a verdict on every difference."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.dispatch.rules import Rules
from heatwright.errors import RunError
from heatwright.plant.model import Plant
from heatwright.run import Run, given_name, plain
from heatwright.simulate import simulate
from heatwright.study import unknowns
from heatwright.study.dispatched import Dispatcher
from heatwright.study.draws import march_draws
from heatwright.study.equal import MOST_MARCHES, Served, equal_service, occupied_s
from heatwright.study.service import ALIKE, Figures, Worth, figures, miss_key, row_of, service_gap
from heatwright.study.stops import March, settled_case
from heatwright.study.strategies import RULES, TABLE, Strategy, labels_of, told_of
from heatwright.study.unknowns import draw_factors
from heatwright.study.verdict import Difference, differences
from heatwright.trip.model import Trip

Progress = Callable[[float, float], Any]


@dataclass(frozen=True)
class Service:
    """How far both plants of a pair miss what was wished, and whether that is like for like."""

    figure: str
    miss_k_min: tuple[float, float]
    gap: float
    alike: bool


@dataclass(frozen=True)
class Equal:
    """A pair at equal service: which plant was changed and how, and the differences that are left."""

    reached: bool
    changed: str = ""
    how: str = ""
    miss_k_min: tuple[float, float] = (0.0, 0.0)
    gap: float = 0.0
    differences: tuple[Difference, ...] = ()


@dataclass(frozen=True)
class Pair:
    """Two plants: differences are those of the second from the first. `equal` only where service is unlike."""

    plants: tuple[str, str]
    service: Service
    differences: tuple[Difference, ...]
    equal: Equal | None = None

    def named(self, quantity: str) -> Difference:
        """Return the difference of one figure."""
        return next(one for one in self.differences if one.quantity == quantity)


@dataclass(frozen=True, eq=False)
class Comparison:
    """What `compare` found. The first plant is the one that all others are set against.

    runs, rows : one a plant, under the decision table where that was asked for, else under the first strategy.
    dispatched, dispatched_rows : the same plants under every further strategy, plant by plant. Pairs are of decision
    tables alone. told : for each strategy what JSON tells of it.
    """

    trip: str
    runs: tuple[Run, ...]
    rows: tuple[dict[str, Any], ...]
    pairs: tuple[Pair, ...]
    worth: Worth
    draws: int
    lost_draws: int
    dispatched: tuple[Run, ...] = ()
    dispatched_rows: tuple[dict[str, Any], ...] = ()
    told: tuple[dict[str, str], ...] = ({"strategy": TABLE},)

    @property
    def driven(self) -> tuple[tuple[dict[str, Any], Run], ...]:
        """Return a (row, run) for each plant and strategy, plant by plant."""
        first = list(zip(self.rows, self.runs, strict=True))
        second = list(zip(self.dispatched_rows, self.dispatched, strict=True))
        more = len(second) // len(first)
        return tuple(one for k in range(len(first)) for one in [first[k], *second[k * more : (k + 1) * more]])

    @property
    def verdicts(self) -> tuple[str, ...]:
        """Return the findings as sentences."""
        from heatwright.study.table import sentences

        return tuple(sentences(self))

    def as_json(self) -> dict[str, Any]:
        """Return rows, pairs and verdicts as plain JSON values."""
        out: dict[str, Any] = plain(
            {
                "plants": [given_name(run.provenance.get("plant_source"), run.plant_name) for run in self.runs],
                "trip": given_name(self.runs[0].provenance.get("trip_source"), self.trip),
                "rows": [_named(row, run) for row, run in self.driven],
                "strategies": self.told,
                "pairs": [asdict(pair) for pair in self.pairs],
                "verdicts": self.verdicts,
                "worth": asdict(self.worth),
                "draws": {"count": self.draws, "lost": self.lost_draws, "unknowns": unknowns.describe()},
            }
        )
        return out

    def as_text(self) -> str:
        """Return the comparison as tables and sentences for a terminal."""
        from heatwright.study.table import as_text

        return as_text(self)


def _named(row: dict[str, Any], run: Run) -> dict[str, Any]:
    """Return a row under the names the user gave (shipped name or path), titles beside them."""
    told = run.provenance
    return {
        **row,
        "plant": given_name(told.get("plant_source"), run.plant_name),
        "trip": given_name(told.get("trip_source"), run.trip_name),
        "plant_title": row["plant"],
        "trip_title": run.trip_name,
    }


@dataclass(eq=False)
class _Car:
    """A plant in work."""

    plant: Plant
    program: Program
    run: Run
    own: Figures
    drawn: list[Figures | None]


def compare(
    plants: Sequence[Plant],
    trip: Trip,
    progress: Progress | None = None,
    *,
    worth: Worth | None = None,
    draws: int = unknowns.COUNT,
    strategies: Sequence[Strategy] = (TABLE,),
) -> Comparison:
    """Run every plant on the trip and compare each with the first at equal service.

    strategies : "table", "rules", "dispatch" or one's own (`dispatch.own.load_own`), one or several; rows of the table
    come first. A fast charge lasts until the slowest plant under the slowest of them has its charge. Draws, verdicts
    and equal service are asked of decision tables alone; every other strategy has rows only.

    progress(done, total) counts marches. worth : what is left in the car at the end, in electric kWh a kWh.
    draws : how many draws of the unknowns every difference is asked in; 0 asks none and every verdict is
    within doubt. Raises RunError, with plant and strategy, when a march cannot go on with the values of the files or
    a strategy of one's own fails: then there is no comparison at all.
    """
    worth = worth or Worth()
    if any(one != TABLE for one in strategies):
        return _with_others(plants, trip, progress, worth, draws, strategies)
    return _compare(plants, settled_case(plants, trip), progress, worth, draws)


def _with_others(
    plants: Sequence[Plant],
    trip: Trip,
    progress: Progress | None,
    worth: Worth,
    draws: int,
    strategies: Sequence[Strategy],
) -> Comparison:
    """Run every plant under every strategy, and compare decision tables on the same case where they are asked for."""
    cars = _told_apart(plants)
    labels = labels_of(strategies)
    others = [label for label in labels if label != TABLE]
    ways = {(car.name, label): _dispatcher(car, label, labels[label]) for car in cars for label in others}
    marches = [_every(ways, label) for label in others]
    if TABLE in labels:
        marches.append(lambda plant, case: simulate(compile_program(plant, case), case))
    case = settled_case(cars, trip, marches=marches)
    told = tuple(told_of(label, labels[label]) for label in ([TABLE] if TABLE in labels else []) + others)
    found = {key: way(case) for key, way in ways.items()}
    rows = {key: row_of(run, worth, key[1]) for key, run in found.items()}
    if TABLE in labels:
        whole, later = _compare(plants, case, progress, worth, draws), others
    else:
        firsts = [(car.name, others[0]) for car in cars]
        runs, told_rows = tuple(found[key] for key in firsts), tuple(rows[key] for key in firsts)
        whole, later = Comparison(case.name, runs, told_rows, (), worth, 0, 0), others[1:]
    further = [(car.name, label) for car in cars for label in later]
    return replace(
        whole,
        dispatched=tuple(found[key] for key in further),
        dispatched_rows=tuple(rows[key] for key in further),
        told=told,
    )


def _every(ways: Mapping[tuple[str, str], Callable[[Any], Run]], label: str) -> March:
    """Return how a strategy marches any of the plants over a case."""
    return lambda plant, case: ways[plant.name, label](case)


def _dispatcher(plant: Plant, label: str, strategy: Strategy) -> Callable[[Any], Run]:
    """Return how a strategy other than the table marches a plant over a case; its failure names both."""
    own = Rules() if strategy == RULES else None if isinstance(strategy, str) else strategy
    dispatcher = Dispatcher(plant, own)

    def march(case: Any) -> Run:
        try:
            return dispatcher.march(plant, case)
        except RunError as failure:
            raise RunError(f"{plant.name} under {label}: {failure}", failure.t_s) from failure

    return march


def _compare(plants: Sequence[Plant], case: Any, progress: Progress | None, worth: Worth, draws: int) -> Comparison:
    """Compare the plants under their decision tables on one case."""
    factors = draw_factors(draws) if draws else np.ones((0, len(unknowns.UNKNOWNS)))
    asked = draws if len(plants) > 1 else 0
    tally = _Tally(progress, len(plants) * (1 + asked) + (len(plants) - 1) * (MOST_MARCHES + asked))
    cars = [_march(plant, case, factors[:asked], worth, tally) for plant in _told_apart(plants)]
    pairs = tuple(_pair(cars[0], other, case, factors[:asked], worth, tally) for other in cars[1:])
    tally.finish()
    lost = sum(one is None for car in cars for one in car.drawn)
    runs = tuple(car.run for car in cars)
    rows = tuple(row_of(run, worth) for run in runs)
    return Comparison(case.name, runs, rows, pairs, worth, asked, lost)


class _Tally:
    """Counts marches for whoever watches; work that turns out not to be needed is counted as done at the end."""

    def __init__(self, progress: Progress | None, total: int) -> None:
        self.progress, self.total, self.done = progress, total, 0

    def __call__(self) -> None:
        self.done = min(self.done + 1, self.total)
        if self.progress is not None:
            self.progress(self.done, self.total)

    def finish(self) -> None:
        if self.progress is not None:
            self.progress(self.total, self.total)


def _told_apart(plants: Sequence[Plant]) -> list[Plant]:
    """Return the plants with a number behind the name of each that is called as an earlier one."""
    seen: dict[str, int] = {}
    out = []
    for plant in plants:
        seen[plant.name] = seen.get(plant.name, 0) + 1
        count = seen[plant.name]
        out.append(plant if count == 1 else replace(plant, name=f"{plant.name} ({count})"))
    return out


def _march(plant: Plant, case: Any, factors: NDArray[np.float64], worth: Worth, tally: _Tally) -> _Car:
    program = compile_program(plant, case)
    run = simulate(program, case)
    tally()
    own = figures(run.summary, run.comfort, run.energy_kwh, worth)
    return _Car(plant, program, run, own, march_draws(plant, program, case, factors, worth, tally))


def _pair(first: _Car, second: _Car, case: Any, factors: NDArray[np.float64], worth: Worth, tally: _Tally) -> Pair:
    key, aboard_s = miss_key(case), occupied_s(case)
    miss = (float(first.own[key] or 0.0), float(second.own[key] or 0.0))
    gap = service_gap(*miss, aboard_s)
    service = Service(key, miss, gap, gap <= ALIKE)
    plants = (first.plant, second.plant)
    found = differences(plants, (first.own, second.own), (first.drawn, second.drawn), factors, aboard_s)
    equal = None
    if not service.alike:
        served = equal_service(plants, case, (first.own, second.own), worth, tally)
        equal = _at_equal(first, second, served, case, factors, worth, tally) if served else Equal(False)
    return Pair((first.plant.name, second.plant.name), service, found, equal)


def _at_equal(
    first: _Car, second: _Car, served: Served, case: Any, factors: NDArray[np.float64], worth: Worth, tally: _Tally
) -> Equal:
    """Judge the pair again with the change in force, in the same draws."""
    cars = [first, second]
    old = cars[served.changed]
    drawn = march_draws(old.plant, served.program, case, factors, worth, tally)
    cars[served.changed] = _Car(old.plant, served.program, old.run, served.figures, drawn)
    a, b = cars
    found = differences((a.plant, b.plant), (a.own, b.own), (a.drawn, b.drawn), factors, occupied_s(case))
    return Equal(True, old.plant.name, served.words, served.miss_k_min, served.gap, found)
