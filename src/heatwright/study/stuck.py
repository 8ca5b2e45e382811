"""What one stuck part takes down: the needs a plant can no longer serve with one actuator frozen in one state."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from heatwright.errors import InputError
from heatwright.modes.atlas import build_atlas
from heatwright.modes.held import actuator_states
from heatwright.modes.model import Atlas
from heatwright.modes.needs import NEEDS
from heatwright.plant.model import Plant

Progress = Callable[[float, float], Any]


@dataclass(frozen=True)
class Stuck:
    """An actuator that stays in one state whatever it is told, and the needs that are lost then."""

    actuator: str
    state: str
    lost: tuple[str, ...]


@dataclass(frozen=True)
class StuckParts:
    """Every actuator in each of its states, worst first. `needs` are those of the whole plant.

    Structure alone: a need that is left may still be served worse. `left_out` says why nothing was looked at, where
    the plant has too many modes to list.
    """

    needs: tuple[str, ...]
    rows: tuple[Stuck, ...]
    left_out: str = ""

    @property
    def losing(self) -> tuple[Stuck, ...]:
        """The rows that lose something."""
        return tuple(row for row in self.rows if row.lost)

    @property
    def single_points(self) -> Mapping[str, tuple[str, ...]]:
        """For each need, the actuators that take it down alone, in some state."""
        return {
            need: tuple(dict.fromkeys(row.actuator for row in self.rows if need in row.lost)) for need in self.needs
        }

    def as_json(self) -> dict[str, Any]:
        """Return the table as plain JSON values."""
        return {
            "needs": list(self.needs),
            "stuck_left_out": self.left_out,
            "stuck": [{"actuator": row.actuator, "state": row.state, "lost": list(row.lost)} for row in self.rows],
            "single_points": {need: list(names) for need, names in self.single_points.items()},
        }


def stuck_parts(plant: Plant, progress: Progress | None = None) -> StuckParts:
    """Freeze every actuator of the atlas in each of its states and see which needs no useful mode serves any more.

    A door that only chooses an outlet makes no mode, so it takes none down. progress(done, total) counts frozen
    atlases.
    """
    try:
        atlas = build_atlas(plant)
    except InputError as failure:
        return StuckParts((), (), failure.problems[0].found)
    if not atlas.whole:
        return StuckParts((), (), "too many joint states to list every mode")
    whole = _served(atlas)
    places = [(name, state) for name, states in actuator_states(plant).items() for state in states if len(states) > 1]
    rows = []
    for done, (name, state) in enumerate(places, 1):
        left = whole if name in atlas.trim else _served(build_atlas(plant, {name: state}))
        rows.append(Stuck(name, state, tuple(need for need in whole if need not in left)))
        if progress is not None:
            progress(done, len(places))
    rows.sort(key=lambda row: -len(row.lost))
    return StuckParts(whole, tuple(rows))


def _served(atlas: Atlas) -> tuple[str, ...]:
    """The needs that some useful mode serves, in the usual order."""
    served = {need for mode in atlas.useful for need in mode.needs}
    return tuple(need for need in NEEDS if need in served)
