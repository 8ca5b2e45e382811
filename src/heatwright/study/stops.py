"""Stops that last as long as the charge takes: the trip is laid again with the length that was needed.

The time grid of a case is fixed before the march, so a fast charge is laid with its longest stay first. What happens
until the charge is reached does not depend on that length: a march tells it, and the trip is laid anew, stop by stop.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from heatwright.compiler.build import compile_program
from heatwright.outcome import reached_step
from heatwright.plant.model import Plant
from heatwright.run import Run
from heatwright.simulate import simulate
from heatwright.trip.load import build_case
from heatwright.trip.model import Leg, Trip

KIND = "fast_charge"
March = Callable[[Plant, Any], Run]


def settled_case(plants: Sequence[Plant], trip: Trip, accuracy: str = "normal", marches: Sequence[March] = ()) -> Any:
    """Return the trip on its time grid, every fast charge ending when the slowest of the plants has its charge.

    A charge that a plant does not reach lasts its longest stay. Costs one march a plant and fast charge; a trip
    without one is laid at once. marches : ways to march a plant over a case, the slowest of which counts; left out,
    its decision table in `accuracy`.
    """
    ways = marches or (lambda plant, case: simulate(compile_program(plant, case), case, accuracy),)
    stops = [leg.name for leg in trip.legs if leg.kind == KIND]
    case = build_case(trip)
    for name in stops:
        longest_s = max(_needed_s(way(plant, case), case, name) for plant in plants for way in ways)
        trip = _with_stay(trip, name, longest_s)
        case = build_case(trip)
    return case


def _needed_s(run: Run, case: Any, name: str) -> float:
    """Return how long the plant of a run needs the stop [s]."""
    leg = next(one for one in case.segments if one.name == name and one.kind == KIND)
    step = reached_step(run.series, case, leg)
    return float((leg.last_exclusive - leg.first if step is None else max(step, 1)) * case.dt_s)


def _with_stay(trip: Trip, name: str, stay_s: float) -> Trip:
    legs = [_stay(leg, stay_s) if leg.kind == KIND and leg.name == name else leg for leg in trip.legs]
    return replace(trip, legs=tuple(legs))


def _stay(leg: Leg, stay_s: float) -> Leg:
    return replace(leg, values={**leg.values, "longest": stay_s})
