"""Where a plant's valves and doors rest while a mode is held."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from heatwright.compiler.networks import actuator_names
from heatwright.modes.nets import BLEND
from heatwright.plant.model import Part, Plant

HEATERS = ("coolant_heater", "air_heater", "pad")


class Rests:
    """The valves and doors of a plant, and where they rest in any setting."""

    def __init__(self, plant: Plant) -> None:
        self._names: dict[str, Mapping[str, str]] = {}
        self._first: dict[str, dict[str, float]] = {}
        self._in_state: dict[tuple[str, str], dict[str, float]] = {}
        for part in plant.of_kind("valve", "door", "shutoff", "expansion"):
            names = actuator_names(part)
            if len(names) > 1 or part.kind not in ("shutoff", "expansion"):
                first = outlet(plant, part) if part.kind == "door" else next(iter(names))
                self._names[part.name] = names
                self._first[part.name] = {names[first]: 1.0}

    def at(self, setting: Mapping[str, str]) -> dict[str, float]:
        """Return where they rest: as a setting has them, the others in their first position."""
        still: dict[str, float] = {}
        for part, first in self._first.items():
            still |= self._of(part, setting[part]) if part in setting else first
        return still

    def _of(self, part: str, state: str) -> dict[str, float]:
        """Return the actuators of a part in one state, worked out once."""
        known = self._in_state.get((part, state))
        if known is None:
            names = self._names[part]
            known = self._in_state[part, state] = dict.fromkeys(names.values(), 0.0) | _rest(names, state)
        return known


def resting(plant: Plant, setting: Mapping[str, str], fresh: Mapping[str, float]) -> dict[str, float]:
    """Return where valves and doors rest: as a setting has them, the inlet as `fresh` says, the rest in their first."""
    return Rests(plant).at(setting) | dict(fresh)


def _rest(names: Mapping[str, str], state: str) -> dict[str, float]:
    """Return the actuators of a valve in one state; a blend rests half way."""
    both = [names[one] for one in state.split(BLEND) if one in names]
    return {name: 1.0 / len(both) for name in both}


def outlet(plant: Plant, door: Part) -> str:
    """Return the position of a door that only chooses outlets: the first that does not blow on the screen."""
    screens = {
        line.start.port
        for line in plant.nets["air"].branches
        if line.start.kind == "port" and line.start.name == door.name and line.end.port == "screen"
    }
    positions: Mapping[str, Iterable[Iterable[str]]] = door.values["positions"]
    for position, groups in positions.items():
        if not any(port in screens for group in groups for port in group):
            return position
    return next(iter(positions))
