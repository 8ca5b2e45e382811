"""One plant on one trip under its decision table: the run with its meter read and its modes named."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from heatwright.compiler.build import compile_program
from heatwright.plant.model import Plant
from heatwright.run import Run
from heatwright.simulate import simulate
from heatwright.study.meter import metered
from heatwright.study.run_modes import with_modes
from heatwright.study.stops import settled_case
from heatwright.trip.model import Trip

Progress = Callable[[float, float], Any]


def one_run(plant: Plant, trip: Trip, accuracy: str = "normal", progress: Progress | None = None) -> Run:
    """Return the run of a plant on a trip; RunError where the march cannot go on."""
    case = settled_case([plant], trip, accuracy)
    program = compile_program(plant, case)
    run = metered(program, simulate(program, case, accuracy=accuracy, progress=progress))
    return with_modes(plant, run)
