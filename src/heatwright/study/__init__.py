"""Studies: several runs and what they say together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from os import PathLike
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from heatwright.plant.model import Plant
    from heatwright.run import Run
    from heatwright.trip.model import Trip

__all__ = ["Study", "run_study"]


@dataclass(frozen=True, eq=False)
class Study:
    """Runs, and one row of figures for each (see `study.service.row_of`)."""

    runs: tuple[Run, ...]
    rows: tuple[dict[str, Any], ...]

    def as_json(self) -> dict[str, Any]:
        """Return the rows as plain JSON values."""
        from heatwright.run import plain

        found: dict[str, Any] = plain({"rows": self.rows})
        return found


def run_study(
    plants: Sequence[Plant | str | PathLike[str]],
    trips: Sequence[Trip | str | PathLike[str]],
    accuracy: str = "normal",
    progress: Callable[[float, float], Any] | None = None,
) -> Study:
    """March every plant over every trip, plant by plant.

    Plants and trips are loaded ones, or files or names to load. progress(done, total) counts runs. Raises
    InputError for a file that cannot be used and RunError for a march that cannot go on.
    """
    from heatwright.compiler.build import compile_program
    from heatwright.plant.load import load_plant
    from heatwright.plant.model import Plant
    from heatwright.simulate import simulate
    from heatwright.study.service import row_of
    from heatwright.study.stops import settled_case
    from heatwright.trip.load import load_trip
    from heatwright.trip.model import Trip

    cars = [one if isinstance(one, Plant) else load_plant(str(one)) for one in plants]
    ways = [one if isinstance(one, Trip) else load_trip(one) for one in trips]
    total = len(cars) * len(ways)
    runs: list[Run] = []
    for car in cars:
        for way in ways:
            case = settled_case([car], way, accuracy)
            runs.append(simulate(compile_program(car, case), case, accuracy=accuracy))
            if progress is not None:
                progress(len(runs), total)
    return Study(tuple(runs), tuple(row_of(run) for run in runs))
