"""Reads the states an enumeration found: each becomes a mode with its title, moves, needs, flags and family."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from heatwright.modes.families import Member, families_of
from heatwright.modes.found import Found
from heatwright.modes.identity import canonical_text, id_names, ids_of
from heatwright.modes.model import Family, Mode, State
from heatwright.modes.moves import moves_of
from heatwright.modes.needs import needs_of
from heatwright.modes.titles import titles_of
from heatwright.plant.model import Plant


def read_states(plant: Plant, found: Mapping[State, Found]) -> tuple[tuple[Mode, ...], tuple[Family, ...]]:
    """Every mode, those with fewer running devices first, and every family."""
    names = id_names(plant)
    texts = {state: canonical_text(state, names) for state in found}
    ids = ids_of(texts.values())
    titles = titles_of(plant, found)
    modes = [_mode(plant, state, ids[texts[state]], titles[state], one) for state, one in found.items()]
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
    alike: dict[frozenset[object], list[Mode]] = {}
    for mode in modes:
        alike.setdefault(frozenset(mode.moves), []).append(mode)
    found = {}
    for group in alike.values():
        for mode in group:
            fewer = [one for one in group if one.running < mode.running]
            if fewer:
                found[mode.id] = min(fewer, key=lambda one: (len(one.running), one.id)).id
    return found


def _mode(plant: Plant, state: State, id_: str, title: str, found: Found) -> Mode:
    moves, flags = moves_of(plant, state)
    return Mode(
        id=id_,
        title=title,
        family="",
        state=state,
        combinations=found.combinations,
        setting=found.setting,
        free=found.free,
        running=found.running,
        arrangements=found.arrangements,
        moves=moves,
        needs=needs_of(plant, state, moves),
        flags=(*flags, *found.flags),
    )
