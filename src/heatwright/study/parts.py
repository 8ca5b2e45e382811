"""One answer for several plants: what they are made of, what one stuck part takes down, what a trip costs each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from heatwright.plant.model import Plant
from heatwright.study.compare import Comparison, compare
from heatwright.study.parts_pay import Against, sentences, set_against
from heatwright.study.parts_roll import Roll, roll_up
from heatwright.study.stuck import StuckParts, stuck_parts
from heatwright.trip.model import Trip

Progress = Callable[[float, float], Any]

TRIP_ROWS = (
    ("energy_kwh_per_100km", "energy, kWh/100 km", 2),
    ("short_k_min", "too cold, K min", 0),
    ("over_k_min", "too warm, K min", 0),
    ("range_km", "range, km", 0),
)
"""What of a trip stands beside the parts: figure, words, digits."""


@dataclass(frozen=True)
class PartsAnswer:
    """Roll-ups and stuck parts, the plant with the fewest parts first; with a trip, its figures and who gains."""

    rolls: tuple[Roll, ...]
    stuck: tuple[StuckParts, ...]
    comparison: Comparison | None = None
    against: tuple[Against, ...] = ()

    @property
    def sentences(self) -> list[str]:
        """Whether having fewer parts pays, in words; nothing without a trip or with one plant."""
        return sentences(self.against, self.comparison.trip) if self.comparison and self.against else []

    def as_json(self) -> dict[str, Any]:
        """Return everything as plain JSON values."""
        plants = [roll.as_json() | stuck.as_json() for roll, stuck in zip(self.rolls, self.stuck, strict=True)]
        if self.comparison is not None:
            for entry, row in zip(plants, self.comparison.rows, strict=True):
                entry["on_trip"] = {key: row.get(key) for key, _, _ in TRIP_ROWS}
        trip = self.comparison.trip if self.comparison else None
        return {"plants": plants, "trip": trip, "sentences": self.sentences}

    def as_text(self) -> str:
        """Return everything as tables and sentences."""
        from heatwright.study.parts_table import parts_as_text

        return parts_as_text(self)


def parts(plants: Sequence[Plant], trip: Trip | None = None, progress: Progress | None = None) -> PartsAnswer:
    """Roll up every plant, freeze its actuators one by one, and send it on the trip if there is one.

    progress(done, total) counts plants, then marches. Raises InputError where a plant lacks what the march needs.
    """
    order = sorted(((plant, roll_up(plant)) for plant in plants), key=lambda pair: (pair[1].parts, pair[1].cost_usd))
    cars, rolls = [plant for plant, _ in order], tuple(roll for _, roll in order)
    stuck = tuple(stuck_parts(plant, _share(progress, k, len(cars))) for k, plant in enumerate(cars))
    if trip is None:
        return PartsAnswer(rolls, stuck)
    comparison = compare(cars, trip, progress, draws=0)
    return PartsAnswer(rolls, stuck, comparison, tuple(set_against(rolls, comparison)))


def _share(progress: Progress | None, k: int, count: int) -> Progress | None:
    """Progress of one plant among several."""
    return None if progress is None else lambda done, total: progress(k + done / total, count)
