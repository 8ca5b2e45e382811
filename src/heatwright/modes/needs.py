"""The needs of a car that a mode may serve. A need is served by structure alone: amounts may still forbid it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from itertools import combinations

from heatwright.modes.model import AIR_BOX, ELECTRICITY, OUTSIDE, Mode, Move
from heatwright.modes.sides import Sides

NEEDS = {
    "drive unit cooled": "the drive unit's heat gets to the outside air",
    "drive heat used": "the drive unit's heat gets to the pack or the cabin",
    "pack cooled below air": "refrigerant takes heat out of the pack, which may become colder than the outside air",
    "pack cooled by air": "the pack's heat gets to the outside air through coolant alone",
    "pack warmed": "heat from anywhere else gets into the pack",
    "cabin warmed": "heat gets into a zone of the cabin, other than with fresh air",
    "cabin cooled": "refrigerant takes heat out of a zone's air to somewhere else",
    "cabin dried": "air for the cabin passes something that refrigerant keeps cold",
    "cabin dried and rewarmed": "air for the cabin passes something cold, and something warm behind it",
    "heat taken from outside": "refrigerant takes heat from the outside air",
    "heat put outside": "heat gets to the outside air, other than with the air that is driven out",
    "pack warmed when all is cold": "the pack is warmed by electricity alone, with no warm body to draw on",
    "cabin warmed when all is cold": "a zone is warmed by electricity alone, with no warm body to draw on",
    "both warmed when all is cold": "the last two at once",
}
"""Every need, in the order shown, with its meaning."""

FROM_ELECTRICITY = ("heater", "deliberate loss", "self-fed lift")


def needs_of(sides: Sides, moves: Iterable[Move]) -> frozenset[str]:
    """The needs a state serves, given its moves."""
    served: set[str] = set()
    parts = sides.nature.plant.parts
    for start, end, way in moves:
        if start != end:
            served |= _by_move(*(parts[one].kind if one in parts else one for one in (start, end)), way)
    served |= _dried(sides)
    if {"pack warmed when all is cold", "cabin warmed when all is cold"} <= served:
        served.add("both warmed when all is cold")
    return frozenset(served)


def coverage(modes: Iterable[Mode]) -> Mapping[str, int]:
    """How many of the modes serve each need."""
    listed = list(modes)
    return {need: sum(need in mode.needs for mode in listed) for need in NEEDS}


def never_together(modes: Iterable[Mode]) -> list[tuple[str, str]]:
    """Pairs of needs that are both served, but in no mode at once."""
    served = {mode.needs for mode in modes}
    able = [need for need in NEEDS if any(need in found for found in served)]
    return [(one, other) for one, other in combinations(able, 2) if not any({one, other} <= found for found in served)]


@cache
def _by_move(source: str, sink: str, way: str) -> frozenset[str]:
    """The needs that one move serves; `source` and `sink` are kinds of part, outside, electricity or the air box.

    The air box holds little heat: what goes in or out of it alone serves no need.
    """
    if way in ("stir", "fresh air") or AIR_BOX in (source, sink):
        return frozenset()
    bought = source == ELECTRICITY and way in FROM_ELECTRICITY
    asked = {
        "drive unit cooled": source == "drive_unit" and sink == OUTSIDE,
        "drive heat used": source == "drive_unit" and sink in ("pack", "zone"),
        "pack cooled below air": source == "pack" and way == "lift",
        "pack cooled by air": source == "pack" and sink == OUTSIDE and way == "coolant",
        "pack warmed": sink == "pack",
        "cabin warmed": sink == "zone",
        "cabin cooled": source == "zone" and way == "lift",
        "heat taken from outside": source == OUTSIDE and way == "lift",
        "heat put outside": sink == OUTSIDE,
        "pack warmed when all is cold": bought and sink == "pack",
        "cabin warmed when all is cold": bought and sink == "zone",
    }
    return frozenset(need for need, served in asked.items() if served)


def _dried(sides: Sides) -> set[str]:
    """Whether air is dried, and rewarmed behind what dries it."""
    cold = frozenset(name for stream in sides.state.streams for name in stream.cold)
    chilled = {loop for name, loop in sides.loop_of.items() if name in cold}
    drying, warming = set(), []
    for one in sides.state.air:
        if not one.zones:
            continue
        if sides.nature.kind(one.part).name == "cooler_core":
            if sides.loop_of.get(one.part) in chilled:
                drying.add(one.part)
        elif one.part in cold:
            drying.add(one.part)
        else:
            warming.append(one)
    if not drying:
        return set()
    rewarmed = any(one.after & drying for one in warming)
    return {"cabin dried"} | ({"cabin dried and rewarmed"} if rewarmed else set())
