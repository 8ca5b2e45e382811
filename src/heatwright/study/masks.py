"""What can be left out of a plant under dispatch: for every part, position and mode, the candidates that go with it.

Nothing of the plant changes: mass, flow resistance and losses stay. Only the candidates that use the part may no longer
be chosen, so the rest of the plant does what it can without it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from heatwright.compiler.held import HEATERS
from heatwright.dispatch.candidates import Candidate
from heatwright.dispatch.why import Why
from heatwright.modes.model import Mode
from heatwright.modes.nets import BLEND, role_of
from heatwright.plant.model import Plant

MOVERS = frozenset(
    {"pack", "drive_unit", "electronics", "zone", "pump", "fan", "blower", "tank", "door", "valve", "expansion"}
)
"""Kinds that are not left out whole: what is to be served, what moves coolant and air, what is a matter of position."""
KNOBS = frozenset({"fresh", "recirculate", "screen"})
"""Positions of doors that the dispatch turns by degrees in every candidate."""


@dataclass(frozen=True)
class Mask:
    """Something left out. ids : of the candidates that may then not be chosen; says : in words, beside the name."""

    part: str
    says: str
    ids: frozenset[str]


def modes_behind(known: Sequence[Candidate]) -> dict[str, Mode]:
    """Return the mode that stands for each candidate, by the candidate's id; asleep and air alone have none."""
    return {one.id: one.mode for one in known if one.mode is not None}


def part_masks(plant: Plant, behind: Mapping[str, Mode]) -> tuple[list[Mask], list[str], list[str]]:
    """Return a mask for every part that some candidate uses, the parts that none uses, and those not left out.

    Parts are heaters, heat on purpose in a drive unit, compressors, exchangers and pads; what only moves coolant or air
    is left out by its valve's position or by mode. Not left out is a radiator that mostly just cools a drive unit:
    nearly every candidate goes with it, whatever else it does.
    """
    uses: dict[str, set[str]] = {}
    for name, mode in behind.items():
        for part in _used(mode):
            uses.setdefault(part, set()).add(name)
    kept = [part.name for part in plant.of_kind("radiator") if _cools_a_drive(plant, part.name, behind)]
    masks = []
    for part in uses:
        kind = plant.parts[part].kind if part in plant.parts else ""
        if kind not in MOVERS and part not in kept:
            masks.append(Mask(part, kind.replace("_", " ") or "heat on purpose", frozenset(uses[part])))
    asked = [part.name for part in plant.of_kind(*HEATERS, "compressor")]
    exchangers = [one.name for one in plant.parts.values() if role_of(plant, one.name) == "exchanger"]
    idle = sorted({*asked, *exchangers} - set(uses))
    return sorted(masks, key=lambda one: one.part), idle, kept


def _cools_a_drive(plant: Plant, radiator: str, behind: Mapping[str, Mode]) -> bool:
    """Return whether a radiator mostly lies in a circuit with a drive unit and no other exchanger."""
    bare = {"drive_unit", "electronics", "radiator"}
    own = [circuit for mode in behind.values() for circuit in mode.state.circuits if radiator in circuit]
    plainly = [all(plant.parts[name].kind in bare for name in circuit if name in plant.parts) for circuit in own]
    return 2 * sum(plainly) > len(plainly)


def position_masks(plant: Plant, behind: Mapping[str, Mode], held_s: Mapping[tuple[str, str], float]) -> list[Mask]:
    """Return a mask for every valve held for good where it stood longest, and for each of three or more positions.

    held_s : how long each (valve, position) was needed. A candidate to which the position does not matter stays.
    """
    masks = []
    for part in plant.of_kind("valve", "door", "expansion"):
        needs = positions_of(part.name, behind)
        places = sorted({place for found in needs.values() for place in found} - KNOBS)
        if len(places) < 2:
            continue
        longest = max(places, key=lambda place: (held_s.get((part.name, place), 0.0), place))
        stuck = frozenset(name for name, found in needs.items() if found != {longest})
        masks.append(Mask(part.name, f"held at {longest!r}", stuck))
        if len(places) > 2:
            for place in places:
                gone = frozenset(name for name, found in needs.items() if place in found)
                masks.append(Mask(f"{part.name}:{place}", "position left out", gone))
    return masks


def positions_of(valve: str, behind: Mapping[str, Mode]) -> dict[str, frozenset[str]]:
    """Return the positions that each candidate needs of a valve, both of a blend; none where it does not matter."""
    found = {}
    for name, mode in behind.items():
        if valve in mode.setting and valve not in mode.free:
            places = frozenset(piece.strip() for piece in mode.setting[valve].split(BLEND.strip()))
            if places - KNOBS:
                found[name] = places
    return found


def mode_masks(known: Sequence[Candidate], ran: set[str], behind: Mapping[str, Mode]) -> list[Mask]:
    """Return a mask for every candidate that ran; never for asleep and air alone, which have no mode."""
    return [Mask(one.title, "mode", frozenset({one.id})) for one in known if one.id in ran and one.id in behind]


def longest_held(why: Why, end_s: float, plant: Plant, behind: Mapping[str, Mode]) -> dict[tuple[str, str], float]:
    """Return how long each (valve, position) was needed in a run that ended at `end_s` [s]."""
    held: dict[tuple[str, str], float] = {}
    spans = [*(float(t) for t in why.t_s[1:]), end_s]
    ran: dict[str, float] = {}
    for k, number in enumerate(why.chosen.tolist()):
        ran[why.ids[number]] = ran.get(why.ids[number], 0.0) + spans[k] - float(why.t_s[k])
    for part in plant.of_kind("valve", "door", "expansion"):
        for name, places in positions_of(part.name, behind).items():
            for place in places:
                held[part.name, place] = held.get((part.name, place), 0.0) + ran.get(name, 0.0)
    return held


def _used(mode: Mode) -> frozenset[str]:
    state = mode.state
    found = set(mode.running) | state.pads | {one.part for one in state.air}
    for circuit in state.circuits:
        found |= circuit
    for stream in state.streams:
        found |= stream.hot | stream.cold
    return frozenset(found)
