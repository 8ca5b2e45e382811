"""What a better forecast could still save on a trip, and what a wrong one costs: prices of pack heat are tried.

The same dispatch drives each time; only what it takes heat in the pack to be worth is changed.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.dispatch.march import Dispatched, run_dispatch
from heatwright.dispatch.prices import Prices, derive_prices
from heatwright.dispatch.reduced import reduce_plant
from heatwright.dispatch.score import CHARGE_STEP, Score, score
from heatwright.dispatch.settings import PricePath, Settings, load_settings
from heatwright.errors import InputError, Problem
from heatwright.kernel import dispatch_names as dn
from heatwright.modes.atlas import build_atlas
from heatwright.modes.model import Atlas
from heatwright.plant.model import Plant
from heatwright.run import plain
from heatwright.simulate import Progress
from heatwright.study.belief import believed, other_air
from heatwright.study.draws import side_by_side
from heatwright.study.pattern import Pattern, Point
from heatwright.study.reference import GRID, PASSES, REFERENCE, STEP_S, Grid, Reference, reference
from heatwright.study.stops import KIND, settled_case
from heatwright.trip.load import build_case
from heatwright.trip.model import Trip

EVALUATIONS = 60
LEAST_EVALUATIONS = 12
SHARES = {"constant": 0.25, "path": 0.5, "standing": 0.25}
"""Share of the evaluations that each form of price gets."""
LOWEST, HIGHEST = -0.5, 5.0
"""Prices tried [J/J]."""
STARTS = (-0.2, 0.0, 0.2, 0.5, 0.8, 1.5)
"""Constant prices tried first [J/J]."""
STANDING_STARTS = (0.0, 0.1, 0.3, 0.5)
STEP, LEAST_STEP = 0.3, 0.02
LEFT_OUT = "left out"
LATER_S = (900.0, 1800.0, -900.0, -1800.0)
WARMER_K = (-10.0, -5.0, 5.0, 10.0)


@dataclass(frozen=True)
class Wrong:
    """One wrong forecast: what was believed, the score with it, and that of the right forecast on the same trip."""

    what: str
    score_kwh: float
    right_kwh: float
    charge_min: float
    vetoes: tuple[str, ...]

    @property
    def percent(self) -> float:
        """Return by how much the score is higher than with the right forecast [%]."""
        return 100.0 * (self.score_kwh / self.right_kwh - 1.0)


@dataclass(frozen=True)
class Found:
    """The best that was found of one form of price. path : over time, of pack heat; None: the standing price alone."""

    form: str
    prices: Point
    path: PricePath | None
    score_kwh: float
    evaluations: int


@dataclass(frozen=True)
class Foresight:
    """What `foresee` found. reference : from a dynamic programme on a reduced model, or why there is none."""

    plant: str
    trip: str
    score_kwh: float
    run_path: PricePath
    found: tuple[Found, ...]
    wrong: tuple[Wrong, ...]
    reference: Reference | str = LEFT_OUT

    @property
    def best_found_kwh(self) -> float:
        """Return the lowest score found, that of the derived prices among them."""
        return min([self.score_kwh, *(one.score_kwh for one in self.found)])

    def as_json(self) -> dict[str, Any]:
        """Return everything as plain JSON values."""
        forms = [
            {"form": one.form, "prices": one.prices, "path": one.path, "score_kwh": one.score_kwh,
             "evaluations": one.evaluations}
            for one in self.found
        ]  # fmt: skip
        wrong = [{"what": w.what, "score_kwh": w.score_kwh, "right_kwh": w.right_kwh, "percent": w.percent,
                  "charge_min": w.charge_min, "vetoes": w.vetoes} for w in self.wrong]  # fmt: skip
        beside = self.reference
        out: dict[str, Any] = plain(
            {
                "plant": self.plant, "trip": self.trip, "score_kwh": self.score_kwh,
                "best_found_kwh": self.best_found_kwh,
                "reduced_dp_kwh": beside.best.score_kwh if not isinstance(beside, str) else None,
                "reduced_dp": REFERENCE if not isinstance(beside, str) else f"no dynamic programme: {beside}",
                "reduced": beside.as_json() if not isinstance(beside, str) else None,
                "forms": forms, "derived_path": self.run_path, "wrong_forecast": wrong,
            }
        )  # fmt: skip
        return out

    def as_text(self) -> str:
        """Return the findings for a terminal."""
        from heatwright.study.foresee_table import foresight_as_text

        return foresight_as_text(self)


@dataclass(frozen=True, eq=False)
class _Way:
    """A plant on a trip whose time grid is fixed."""

    plant: Plant
    atlas: Atlas
    settings: Settings
    case: Any
    program: Program

    def march(self, prices: Prices) -> Dispatched:
        return run_dispatch(self.plant, self.program, self.case, self.atlas, self.settings, prices=prices)

    def score(self, prices: Prices) -> Score:
        return score(self.march(prices).run, self.case)

    def derived(self) -> Prices:
        return derive_prices(self.program, self.settings)


def foresee(
    plant: Plant, trip: Trip, evaluations: int = EVALUATIONS, progress: Progress | None = None, grid: Grid | None = GRID
) -> Foresight:
    """Return what better prices of pack heat would still save on a trip and what wrong forecasts cost.

    grid : points along the three stores of the dynamic programme's grids; None leaves the reference out.

    A fast charge lasts until the slowest of the derived prices and all wrong forecasts has its charge, so all drive the
    same trip; prices under which the charge is then not there, or that bring a veto, are not counted.
    """
    if evaluations < LEAST_EVALUATIONS:
        raise InputError([Problem("--evaluations", str(evaluations), f"{LEAST_EVALUATIONS} or more")], "foresee")
    atlas = build_atlas(plant)
    settings = load_settings(plant.dispatch, trip.dispatch)
    steps = _Steps(progress, evaluations + 2 * len(LATER_S) + len(WARMER_K) + 4)
    way = _way(plant, atlas, settings, _settled(plant, atlas, settings, trip, steps))
    right = way.derived()
    run = way.march(right)
    own = score(run.run, way.case)
    steps.done()
    found = _search(way, right, run.run, evaluations, steps)
    wrong = _wrong(way, right, own, steps) if right.charges and right.pack_path is None else []
    wrong += _cancelled(way, right, trip, steps) if right.charges and right.pack_path is None else []
    beside = LEFT_OUT if grid is None else _reference(way, grid, steps)
    return Foresight(plant.name, trip.name, own.score_kwh, _priced_path(run), tuple(found), tuple(wrong), beside)


class _Steps:
    """Tells how many marches are done."""

    def __init__(self, progress: Progress | None, total: int) -> None:
        self._progress, self._total, self._done = progress, total, 0

    def more(self, steps: int) -> None:
        """Take further steps into the total."""
        self._total += steps

    def done(self) -> None:
        """Tell that one more is done."""
        self._done += 1
        if self._progress is not None:
            self._progress(min(self._done, self._total), self._total)


def _reference(way: _Way, grid: Grid, steps: _Steps) -> Reference | str:
    """Return the reference of a dynamic programme, or why there is none."""
    try:
        model = reduce_plant(way.plant, way.program, way.case, way.settings, STEP_S, way.atlas)
    except InputError as refused:
        return "; ".join(f"{one.found}, expected {one.expected}" for one in refused.problems)
    steps.more(PASSES * len(model.steps))
    return reference(model, grid, each=steps.done)


def _way(plant: Plant, atlas: Atlas, settings: Settings, case: Any) -> _Way:
    return _Way(plant, atlas, settings, case, compile_program(plant, case))


def _settled(plant: Plant, atlas: Atlas, settings: Settings, trip: Trip, steps: _Steps) -> Any:
    def march(change: Callable[[Prices], Prices]) -> Callable[[Plant, Any], Any]:
        def one(plant: Plant, case: Any) -> Any:
            way = _way(plant, atlas, settings, case)
            steps.done()
            return way.march(change(way.derived())).run

        return one

    changes: list[Callable[[Prices], Prices]] = [lambda p: p, lambda p: believed(p, known=False)]
    changes += [lambda p, later=later: believed(p, later) for later in LATER_S]  # type: ignore[misc]
    return settled_case([plant], trip, marches=[march(change) for change in changes])


def _search(way: _Way, right: Prices, run: Any, evaluations: int, steps: _Steps) -> list[Found]:
    """Return the best found of a constant price, of a path with three knots, and of the standing price."""
    reached, known = _reaches(run, way.case), set(score(run, way.case).vetoes)

    def counted(prices: Prices) -> float:
        run = way.march(prices).run
        steps.done()
        found = score(run, way.case)
        fit = known.issuperset(found.vetoes) and (_reaches(run, way.case) or not reached)
        return found.score_kwh if fit else math.inf

    def pattern(form: str, of: Callable[[Point], Prices]) -> Pattern:
        budget = max(int(SHARES[form] * evaluations), 1)
        return Pattern(lambda point: counted(of(point)), LOWEST, HIGHEST, budget, side_by_side)

    knots = _knots(way, right)
    constant = pattern("constant", lambda point: replace(right, pack_path=((0.0, point[0]),)))
    constant.look((price,) for price in STARTS)
    constant.walk(STEP, LEAST_STEP)
    level = constant.best()[0][0]
    path = pattern("path", lambda point: replace(right, pack_path=tuple(zip(knots, point, strict=True))))
    path.look([(level,) * 3, (level, level, level - STEP), (level, level + STEP, level), (level - STEP, level, level)])
    path.walk(STEP, LEAST_STEP)
    forms = [
        Found("constant", constant.best()[0], ((0.0, level),), constant.best()[1], constant.spent),
        Found("path", path.best()[0], tuple(zip(knots, path.best()[0], strict=True)), path.best()[1], path.spent),
    ]
    if right.pack_path is None:
        standing = pattern(
            "standing", lambda point: derive_prices(way.program, replace(way.settings, standing_price=point[0]))
        )
        standing.look([(way.settings.standing_price,), *((price,) for price in STANDING_STARTS)])
        standing.walk(0.5 * STEP, LEAST_STEP)
        forms.append(Found("standing", standing.best()[0], None, standing.best()[1], standing.spent))
    return [one for one in forms if math.isfinite(one.score_kwh)]


def _reaches(run: Any, case: Any) -> bool:
    """Return whether every fast charge ends with the charge wanted."""
    soc = run.series["soc"]
    legs = [leg for leg in case.segments if leg.kind == KIND]
    wanted = case.steps["charge_to"]
    return all(float(soc[leg.last_exclusive]) >= float(wanted[leg.first]) - CHARGE_STEP for leg in legs)


def _knots(way: _Way, right: Prices) -> tuple[float, float, float]:
    """Return the times of the three knots [s]: start, begin and end of the first charge; else start, middle, end."""
    end_s = way.case.n * way.case.dt_s
    if right.charges and right.charges[0].start_s > 0.0:
        return 0.0, right.charges[0].start_s, right.charges[0].end_s
    return 0.0, 0.5 * end_s, end_s


def _wrong(way: _Way, right: Prices, own: Score, steps: _Steps) -> list[Wrong]:
    """Return what is lost where the charge is believed at another time, in other air, or is not forecast."""
    beliefs: list[tuple[str, Prices]] = [(_late(later), believed(right, later)) for later in LATER_S]
    beliefs += [("charge not forecast", believed(right, known=False))]
    beliefs += [
        (f"air at the charger believed {abs(warmer):.0f} K {'warmer' if warmer > 0 else 'colder'}",
         other_air(way.program, way.settings, warmer))
        for warmer in WARMER_K
    ]  # fmt: skip
    out = []
    for (what, _), found in zip(beliefs, side_by_side(way.score, [prices for _, prices in beliefs]), strict=True):
        steps.done()
        out.append(Wrong(what, found.score_kwh, own.score_kwh, found.charge_min, found.vetoes))
    return out


def _late(later_s: float) -> str:
    return f"charge believed {abs(later_s) / 60.0:.0f} min {'later' if later_s > 0 else 'earlier'} than it comes"


def _cancelled(way: _Way, right: Prices, trip: Trip, steps: _Steps) -> list[Wrong]:
    """Return what is lost where the charge is forecast and does not come: the trip then ends where it would begin."""
    first = next(k for k, leg in enumerate(trip.legs) if leg.kind == KIND)
    if not any(leg.kind == "drive" for leg in trip.legs[:first]):
        return []
    short = _way(way.plant, way.atlas, way.settings, build_case(replace(trip, legs=trip.legs[:first])))
    hoped, known = side_by_side(short.score, [right, short.derived()])
    steps.done()
    return [Wrong("charge cancelled at the station", hoped.score_kwh, known.score_kwh, 0.0, hoped.vetoes)]


def _priced_path(run: Dispatched) -> PricePath:
    """Return the price of pack heat that was in force at each decision."""
    return tuple((float(t), float(row[dn.N_LP])) for t, row in zip(run.why.t_s, run.why.needs, strict=True))
