"""Where a plant's valves and doors rest while a mode is held."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from heatwright.compiler.networks import actuator_names
from heatwright.modes.nets import BLEND
from heatwright.plant.model import Part, Plant

HEATERS = ("coolant_heater", "air_heater", "pad")


def resting(plant: Plant, setting: Mapping[str, str], fresh: Mapping[str, float]) -> dict[str, float]:
    """Return where valves and doors rest: as a setting has them, the inlet as `fresh` says, the rest in their first."""
    still: dict[str, float] = {}
    for part in plant.of_kind("valve", "door", "shutoff", "expansion"):
        names = actuator_names(part)
        if len(names) == 1 and part.kind in ("shutoff", "expansion"):
            continue
        if part.name in setting:
            still |= dict.fromkeys(names.values(), 0.0)
            still |= _rest(names, setting[part.name])
        elif part.kind == "door":
            still[names[outlet(plant, part)]] = 1.0
        else:
            still[next(iter(names.values()))] = 1.0
    return still | dict(fresh)


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
