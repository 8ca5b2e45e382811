"""An atlas as one JSON object, whole or for some of its modes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from heatwright.modes.model import Atlas, Family, Mode
from heatwright.modes.needs import coverage, never_together
from heatwright.modes.reach import reach_of
from heatwright.modes.record import Record
from heatwright.modes.transitions import Leg, Transition


def atlas_as_json(atlas: Atlas, modes: Sequence[Mode], families: Sequence[Family]) -> dict[str, Any]:
    """Counts of the whole plant; `modes` and `families` are those asked for. Counts of needs are of useful modes.

    Where the atlas is not whole, what is counted over modes is null.
    """
    over_modes = {
        "distinct": atlas.distinct,
        "useful": len(atlas.useful),
        "mirror_folded": atlas.folded,
        "needs": dict(coverage(atlas.useful)),
        "never_together": [list(pair) for pair in never_together(atlas.useful)],
        "reach": _reach(atlas),
    }
    return {
        "plant": atlas.plant,
        "combinations": atlas.combinations,
        "legal": atlas.legal,
        "joined": atlas.joined,
        "whole": atlas.whole,
        "checksum": checksum(atlas),
        "illegal": dict(sorted(atlas.illegal.items(), key=lambda item: -item[1])),
        **(over_modes if atlas.whole else dict.fromkeys(over_modes)),
        "trim": {door: list(states) for door, states in atlas.trim.items()},
        "families": [{"id": one.id, "title": one.title, "modes": list(one.modes)} for one in families],
        "modes": [mode_as_json(mode) for mode in modes],
    }


def _reach(atlas: Atlas) -> dict[str, dict[str, dict[str, int]]]:
    """From -> to -> way -> how many useful modes move heat so."""
    found: dict[str, dict[str, dict[str, int]]] = {}
    for (start, end), ways in reach_of(atlas.useful).items():
        found.setdefault(start, {})[end] = dict(ways)
    return found


def checksum(atlas: Atlas) -> bool:
    """Whether legal and illegal combinations add up to all, and those of the modes to the legal ones."""
    legal = sum(mode.combinations for mode in atlas.modes) if atlas.whole else atlas.legal
    return legal == atlas.legal and atlas.legal + sum(atlas.illegal.values()) == atlas.combinations


def mode_as_json(mode: Mode) -> dict[str, Any]:
    """One mode."""
    return {
        "id": mode.id,
        "title": mode.title,
        "family": mode.family,
        "moves": [{"from": move.start, "to": move.end, "way": move.way} for move in sorted(mode.moves)],
        "flags": list(mode.flags),
        "needs": sorted(mode.needs),
        "setting": dict(mode.setting),
        "free": list(mode.free),
        "running": sorted(mode.running),
        "combinations": mode.combinations,
        "arrangements": mode.arrangements,
        "useful": mode.useful,
        "dominated_by": mode.dominated_by,
    }


def record_as_json(known: Record) -> dict[str, Any]:
    """What flows where in one mode; its setting, moves and flags stand with the mode."""
    return {
        "mode": known.mode.id,
        "blends": list(known.blends),
        "circuits": [
            {
                "fluid": circuit.fluid,
                "ring": bool(circuit.walk),
                "walk": list(circuit.walk),
                "legs": [
                    {
                        "line": leg.line,
                        "from": leg.start,
                        "to": leg.end,
                        "parts": list(leg.parts),
                        "as_written": leg.forwards,
                    }
                    for leg in circuit.legs
                ],
            }
            for circuit in known.circuits
        ],
        "exchangers": dict(known.exchangers),
        "fed_by": dict(known.fed_by),
        "air_order": [
            {"part": part, "zones": list(zones), "after": list(after)} for part, zones, after in known.air_order
        ],
        "still": {line: list(parts) for line, parts in known.still.items()},
    }


def transition_as_json(found: Transition) -> dict[str, Any]:
    """The change from one mode to another."""
    return {
        "from": found.start,
        "to": found.end,
        "setting": dict(found.setting),
        "compressor_must_stop": bool(found.stops),
        "stops": dict(found.stops),
        "turns_off": list(found.turns_off),
        "moves": {name: {"from": states[0], "to": states[1]} for name, states in found.moves.items()},
        "turns_on": list(found.turns_on),
        "swept_in": [_leg(leg) for leg in found.swept_in],
        "turned": [_leg(leg) for leg in found.turned],
        "left_still": [_leg(leg) for leg in found.left_still],
        "mixed": [[list(parts) for parts in circuits] for circuits in found.mixed],
    }


def _leg(leg: Leg) -> dict[str, Any]:
    return {"line": leg.line, "parts": list(leg.parts), "meets": list(leg.meets)}
