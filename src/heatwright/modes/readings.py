"""Reads the states an enumeration found: each becomes a mode with its title, moves, needs, flags and family."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from heatwright.modes.families import Member, families_of
from heatwright.modes.found import Found
from heatwright.modes.identity import canonical_text, id_names, ids_of
from heatwright.modes.model import Family, Mode, Move, State
from heatwright.modes.moves import moves_of
from heatwright.modes.needs import needs_of
from heatwright.modes.normal import Nature
from heatwright.modes.sides import Sides
from heatwright.modes.telling import Tell, told
from heatwright.modes.titles import titles_of
from heatwright.plant.model import Plant


def read_states(
    plant: Plant, found: Mapping[State, Found], tell: Tell | None = None
) -> tuple[tuple[Mode, ...], tuple[Family, ...]]:
    """Every mode, those with fewer running devices first, and every family; `tell` is called with the share done."""
    names = id_names(plant)
    texts = {state: canonical_text(state, names) for state in told(found, tell, 0.0, 0.1)}
    ids = ids_of(texts.values())
    nature = Nature(plant)
    sides = {state: Sides(nature, state) for state in told(found, tell, 0.1, 0.2)}
    titles = titles_of(told(sides.values(), tell, 0.2, 0.6))
    modes = [
        _mode(sides[state], ids[texts[state]], titles[state], found[state]) for state in told(found, tell, 0.6, 1.0)
    ]
    modes.sort(key=lambda mode: (len(mode.running), mode.title))
    families = families_of(plant, (Member(mode.id, mode.moves, mode.flags) for mode in modes))
    family = {member: one.id for one in families for member in one.modes}
    better = dominated(modes)
    return (
        tuple(replace(mode, family=family[mode.id], dominated_by=better.get(mode.id)) for mode in modes),
        families,
    )


def dominated(modes: list[Mode]) -> dict[str, str]:
    """For each mode that another betters: the id of the one that moves the same heat with the fewest of its devices."""
    alike: dict[frozenset[Move], list[Mode]] = {}
    for mode in modes:
        alike.setdefault(mode.moves, []).append(mode)
    found = {}
    for group in alike.values():
        for mode in group:
            fewer = [one for one in group if one.running < mode.running]
            if fewer:
                found[mode.id] = min(fewer, key=lambda one: (len(one.running), one.id)).id
    return found


def _mode(sides: Sides, id_: str, title: str, found: Found) -> Mode:
    moves, flags = moves_of(sides)
    return Mode(
        id=id_,
        title=title,
        family="",
        state=sides.state,
        combinations=found.combinations,
        setting=found.setting,
        free=found.free,
        running=found.running,
        arrangements=found.arrangements,
        moves=moves,
        needs=needs_of(sides, moves),
        flags=(*flags, *found.flags),
    )
