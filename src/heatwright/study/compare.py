"""Several plants on one trip, judged at equal service, with a verdict on every difference."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.plant.model import Plant
from heatwright.run import Run, given_name, plain
from heatwright.simulate import simulate
from heatwright.study import unknowns
from heatwright.study.days import DISPATCH, TABLE
from heatwright.study.dispatched import Dispatcher
from heatwright.study.draws import march_draws
from heatwright.study.equal import MOST_MARCHES, Served, equal_service, occupied_s
from heatwright.study.service import ALIKE, Figures, Worth, figures, miss_key, row_of, service_gap
from heatwright.study.stops import March, settled_case
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

    runs, rows : one a plant, under the decision table where that was asked for, else under dispatch. dispatched,
    dispatched_rows : the same plants under dispatch, where both were asked for. Pairs are of decision tables alone.
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

    @property
    def driven(self) -> tuple[tuple[dict[str, Any], Run], ...]:
        """Return a (row, run) for each plant and strategy, plant by plant."""
        first = list(zip(self.rows, self.runs, strict=True))
        second = list(zip(self.dispatched_rows, self.dispatched, strict=True))
        return tuple(one for k in range(len(first)) for one in first[k : k + 1] + second[k : k + 1])

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
    strategies: Sequence[str] = (TABLE,),
) -> Comparison:
    """Run every plant on the trip and compare each with the first at equal service.

    strategies : "table", "dispatch" or both. A fast charge lasts until the slowest plant under the slowest of them has
    its charge. Draws, verdicts and equal service are asked of decision tables alone; dispatch has rows only.

    progress(done, total) counts marches. worth : what is left in the car at the end, in electric kWh a kWh.
    draws : how many draws of the unknowns every difference is asked in; 0 asks none and every verdict is
    within doubt. Raises RunError when a march cannot go on with the values of the files.
    """
    worth = worth or Worth()
    if DISPATCH in strategies:
        return _with_dispatch(plants, trip, progress, worth, draws, strategies)
    return _compare(plants, settled_case(plants, trip), progress, worth, draws)


def _with_dispatch(
    plants: Sequence[Plant], trip: Trip, progress: Progress | None, worth: Worth, draws: int, strategies: Sequence[str]
) -> Comparison:
    """Run every plant under dispatch, and compare decision tables on the same case where they are asked for too."""
    cars = _told_apart(plants)
    dispatchers = {car.name: Dispatcher(car) for car in cars}
    marches: list[March] = [lambda plant, case: dispatchers[plant.name].march(plant, case)]
    if TABLE in strategies:
        marches.append(lambda plant, case: simulate(compile_program(plant, case), case))
    case = settled_case(cars, trip, marches=marches)
    runs = tuple(dispatchers[car.name].march(car, case) for car in cars)
    rows = tuple(row_of(run, worth, DISPATCH) for run in runs)
    if TABLE not in strategies:
        return Comparison(case.name, runs, rows, (), worth, 0, 0)
    return replace(_compare(plants, case, progress, worth, draws), dispatched=runs, dispatched_rows=rows)


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
