"""Families of modes: those that move the same heat, whatever air is blown and whichever side of the car it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from heatwright.modes.identity import id_names, ids_of, mirror_names
from heatwright.modes.model import ELECTRICITY, OUTSIDE, Family, Move
from heatwright.modes.moves import WASTED_HEAT, WAYS
from heatwright.modes.titles import BETWEEN, flows, places
from heatwright.plant.model import Plant

Key = tuple[Move, ...]

SET_ASIDE = ("fresh air", "stir")
MADE = ("heater", "deliberate loss")
NO_HEAT = "No heat moved"


class Member(NamedTuple):
    """What a family needs to know of a mode."""

    id: str
    moves: frozenset[Move]
    flags: tuple[str, ...]


def families_of(plant: Plant, members: Iterable[Member]) -> tuple[Family, ...]:
    """Every family with its modes, in the order its first mode comes."""
    groups: dict[Key, list[str]] = {}
    for one in members:
        groups.setdefault(family_key(plant, one.moves, one.flags), []).append(one.id)
    former = id_names(plant)
    texts = {key: "F:" + ";".join(">".join(move) for move in _renamed(key, former)) for key in groups}
    ids = ids_of(texts.values())
    titles = {key: family_title(plant, key) for key in groups}
    return tuple(Family(ids[texts[key]], titles[key], tuple(found)) for key, found in groups.items())


def family_key(plant: Plant, moves: Iterable[Move], flags: Sequence[str] = ()) -> Key:
    """The heat moves that make a family, of a mode and its mirror image alike.

    Fresh air and stirring are set aside. Heat that is made and goes only outside is no move either: a mode that
    wastes it stands in the family of what else it does.
    """
    wasted = WASTED_HEAT in flags
    real = [
        move
        for move in moves
        if move.way not in SET_ASIDE
        and not (wasted and move.start == ELECTRICITY and move.end == OUTSIDE and move.way in MADE)
    ]
    twins = mirror_names(plant)
    own = tuple(sorted(real))
    return min(own, _renamed(own, twins)) if twins else own


def family_title(plant: Plant, key: Key) -> str:
    """A family's heat moves in words: different families have different titles."""
    by_way: dict[str, list[Move]] = {}
    for move in key:
        by_way.setdefault(move.way, []).append(move)
    said = {move.end for way in ("lift", "self-fed lift") for move in by_way.get(way, ())}
    by_way["compressor work"] = [move for move in by_way.get("compressor work", ()) if move.end not in said]
    twins = mirror_names(plant)
    if _renamed(key, twins) == key:
        twins = {}
    zones = frozenset(part.name for part in plant.of_kind("zone"))
    phrases = [_phrase(zones, way, by_way[way], twins) for way in WAYS if by_way.get(way)]
    text = BETWEEN.join(phrases) or NO_HEAT
    return text[:1].upper() + text[1:]


def _phrase(zones: frozenset[str], way: str, moves: Iterable[Move], twins: Mapping[str, str]) -> str:
    """One way's moves in words."""
    pairs = {(move.start, move.end) for move in moves}
    if way in ("lift", "coolant"):
        return f"{'heat lifted' if way == 'lift' else 'coolant'} {flows(zones, pairs, twins)}"
    ends = places(zones, {end for _, end in pairs}, twins)
    return {
        "drying": f"air to {ends} dried",
        "heater": f"heater for {ends}",
        "deliberate loss": f"deliberate loss for {ends}",
        "compressor work": f"compressor's work for {ends}",
        "self-fed lift": f"compressor's work alone for {ends}",
    }[way]


def _renamed(moves: Iterable[Move], names: Mapping[str, str]) -> Key:
    """The moves between places of other names, sorted."""
    return tuple(sorted(Move(names.get(m.start, m.start), names.get(m.end, m.end), m.way) for m in moves))
