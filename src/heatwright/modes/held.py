"""The actuators of an atlas with their states, and holding some of them."""

from __future__ import annotations

from collections.abc import Mapping

from heatwright.errors import InputError, Problem
from heatwright.modes.nets import ON_OFF, states_of
from heatwright.modes.read_nets import nets_of
from heatwright.plant.mistakes import listed, near
from heatwright.plant.model import Plant


def actuator_states(plant: Plant) -> dict[str, tuple[str, ...]]:
    """Every actuator that an atlas counts, with its states, the resting one first; pads last."""
    found: dict[str, tuple[str, ...]] = {}
    for net in nets_of(plant):
        found |= {**net.states, **net.trim}
    return found | {part.name: states_of(part) for part in plant.of_kind("pad")}


def pads_of(plant: Plant, held: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    """The pads with the states they may take."""
    return {part.name: (held[part.name],) if part.name in held else ON_OFF for part in plant.of_kind("pad")}


def check_held(plant: Plant, held: Mapping[str, str]) -> None:
    """Raise InputError for held actuators or states that the plant does not have."""
    if not held:
        return
    known = actuator_states(plant)
    problems = []
    for name, state in held.items():
        if name not in known:
            found = f"'{name}' makes no mode"
            problems.append(Problem(plant.source, found, f"one of {listed(known)}", near(name, known, "")))
        elif state not in known[name]:
            found = f"'{name}' has no state '{state}'"
            problems.append(Problem(plant.source, found, f"one of {listed(known[name])}", near(state, known[name], "")))
    if problems:
        raise InputError(problems, plant.name)
