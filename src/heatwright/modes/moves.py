"""Heat moves of a state, net of lifts that cancel, and what is odd about it."""

from __future__ import annotations

from heatwright.modes.model import ELECTRICITY, OUTSIDE, Move
from heatwright.modes.nets import is_loss
from heatwright.modes.sides import Lifted, Loop, Sides

OWN_COOLANT = "its own coolant"

WAYS = {
    "lift": "uphill by refrigerant",
    "drying": "out of the air and back into it, which leaves the air drier",
    "compressor work": "what the compressor takes in, which comes out beside what it lifts",
    "self-fed lift": "compressor's work alone: the circuit draws on nothing but what it heats",
    "coolant": "downhill through a coolant circuit that both meet",
    "heater": "from an electric heater",
    "deliberate loss": "from a drive unit told to run badly",
    "fresh air": "with air from outside that is blown in, and the air it drives out",
    "stir": "nowhere: a body's coolant goes round with nothing else in it",
}
"""Every way heat moves, in the order they are shown, in plain words."""

WASTED_HEAT = "pure waste: made heat goes only outside"
WASTED_LIFT = "pure waste: the lift ends where it began"
BESIDE_RADIATOR = "heater or loss shares a circuit with the radiator"
BOUGHT_HEAT = "bought heat is lifted"
CANCELLED = "lifts cancel: a cold and a hot exchanger meet the same coolant or body, only the compressor's work is left"
PARKED_ONLY = "parked only: a drive unit or electronics stands in still coolant"

FLAGS = (WASTED_HEAT, WASTED_LIFT, BESIDE_RADIATOR, BOUGHT_HEAT, CANCELLED, PARKED_ONLY)
"""What may be said against a mode, in the order shown."""


def moves_of(sides: Sides) -> tuple[frozenset[Move], tuple[str, ...]]:
    """Every heat move of a state, and its flags in the order of FLAGS."""
    moves: set[Move] = set()
    flags: set[str] = set()
    for loop in sides.loops:
        _by_coolant(sides, loop, moves, flags)
    for lifted in sides.lifts:
        _by_refrigerant(lifted, moves, flags)
    _by_air(sides, moves)
    if _still_bodies(sides):
        flags.add(PARKED_ONLY)
    return frozenset(moves), tuple(flag for flag in FLAGS if flag in flags)


def _by_coolant(sides: Sides, loop: Loop, moves: set[Move], flags: set[str]) -> None:
    every = sides.state.streams
    starts = {place for place, _ in sides.sources(loop, every)}
    ends = {place for place, _ in sides.sinks(loop, every)}
    way = "deliberate loss" if any(map(is_loss, loop)) else "heater"
    for start in starts:
        for end in ends - {start}:
            moves.add(Move(start, end, way if start == ELECTRICITY else "coolant"))
    if len(loop) == 1:
        moves.add(Move(next(iter(loop)), OWN_COOLANT, "stir"))
    if ELECTRICITY in starts and OUTSIDE in ends:
        flags.add(BESIDE_RADIATOR)
    if ELECTRICITY in starts and ends <= {OUTSIDE} and not any(stream.cold & loop for stream in every):
        flags.add(WASTED_HEAT)


def _by_refrigerant(lifted: Lifted, moves: set[Move], flags: set[str]) -> None:
    moves |= {Move(start, end, "lift") for start, end in lifted.pairs}
    moves |= {Move(zone, zone, "drying") for zone in lifted.dried}
    moves |= {Move(ELECTRICITY, end, "compressor work") for end in lifted.heated}
    if lifted.self_fed:
        moves |= {Move(ELECTRICITY, end, "self-fed lift") for end in lifted.heated}
    if lifted.cancelled:
        flags.add(CANCELLED)
    if not lifted.heated and not lifted.pairs:
        flags.add(WASTED_LIFT)
    if ELECTRICITY in lifted.drawn:
        flags.add(BOUGHT_HEAT)


def _by_air(sides: Sides, moves: set[Move]) -> None:
    for one in sides.state.air:
        if sides.nature.makes(one.part):
            moves |= {Move(ELECTRICITY, place, "heater") for place in sides.met(one.part)}
    for zone, feed in sides.state.feed:
        if feed == "fresh":
            moves |= {Move(OUTSIDE, zone, "fresh air"), Move(zone, OUTSIDE, "fresh air")}
    for pad in sides.state.pads:
        moves.add(Move(ELECTRICITY, sides.nature.plant.parts[pad].values["on"], "heater"))


def _still_bodies(sides: Sides) -> bool:
    """Whether a drive unit or electronics that coolant could cool is in no circuit that flows."""
    return any(name not in sides.loop_of for name in sides.nature.cooled)
