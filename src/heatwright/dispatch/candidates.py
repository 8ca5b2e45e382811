"""What the dispatch may choose from: families of the atlas as actuators, and the flow knobs of a plant."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from heatwright.compiler.held import Rests, outlet
from heatwright.compiler.networks import actuator_names
from heatwright.dispatch.switches import ASLEEP
from heatwright.kernel import dispatch_names as dn
from heatwright.kernel.desk import BLOWER, INLET, OUTLET, OWN
from heatwright.modes.model import Atlas, Mode
from heatwright.modes.moves import PARKED_ONLY
from heatwright.modes.nets import BLEND
from heatwright.plant.model import Plant

PASSIVE = ("coolant", "conduction")
"""Ways on which heat gets into the pack without being lifted or bought."""
AIR = "air alone"
SERVES = {
    dn.L_HEAT: ("cabin warmed",),
    dn.L_COOL: ("cabin cooled",),
    dn.L_DRY: ("cabin dried",),
    dn.L_PACK_WARM: ("pack warmed",),
    dn.L_PACK_COOL: ("pack cooled below air", "pack cooled by air"),
    dn.L_DRIVE: ("drive unit cooled",),
}
PUMP_START, FAN_START, BLOWER_START, FRESH_START, SCREEN_START, HALF = 0.7, 0.3, 0.45, 0.5, 0.25, 0.5


@dataclass(frozen=True)
class Knob:
    """A flow knob: the actuator it sets, the one that gets the rest of 1 (if any), range, step, start and kind."""

    at: str
    other: str
    least: float
    most: float
    step: float
    start: float
    kind: int = OWN


@dataclass(frozen=True)
class Candidate:
    """A family of the atlas as actuators, with heaters and compressors off.

    `serves` : latches (kernel.dispatch_names) it serves, one bit each. `running`, `knobs` : what may be turned in it.
    `drive_feeds` : heat of the drive unit gets into the cabin. `mode` : the mode that stands for the family; None of
    asleep and air alone.
    """

    id: str
    title: str
    setting: Mapping[str, float]
    serves: int
    running: frozenset[str]
    knobs: frozenset[str]
    drive_feeds: bool = False
    mode: Mode | None = None


def candidates_of(plant: Plant, atlas: Atlas) -> tuple[Candidate, ...]:
    """Return the car asleep, air alone, and one candidate for each family that a driven car may run.

    Of a family the mode with the fewest running devices stands for all: fresh or recirculated air is a knob.
    """
    blowers = frozenset(part.name for part in plant.of_kind("blower"))
    rests = Rests(plant)
    still = rests.at({})
    found = [
        Candidate(ASLEEP, "asleep", still, 0, frozenset(), frozenset()),
        Candidate(AIR, "air alone", still, 0, blowers, blowers),
    ]
    seen: dict[str, Mode] = {}
    for mode in atlas.modes:
        if mode.useful and PARKED_ONLY not in mode.flags:
            known = seen.get(mode.family)
            if known is None or (len(mode.running), mode.id) < (len(known.running), known.id):
                seen[mode.family] = mode
    drives, zones = (frozenset(part.name for part in plant.of_kind(kind)) for kind in ("drive_unit", "zone"))
    packs = frozenset(part.name for part in plant.of_kind("pack"))
    fronts = frozenset(part.name for part in plant.of_kind("outdoor_coil"))
    for mode in seen.values():
        bits = sum(1 << latch for latch, needs in SERVES.items() if mode.needs.intersection(needs))
        if any(stream.hot & fronts for stream in mode.state.streams):
            bits |= 1 << dn.L_FROST
        if any(move.end in packs and move.way in PASSIVE for move in mode.moves):
            bits |= 1 << dn.B_PASSIVE
        setting = rests.at(mode.setting)
        blended = frozenset(name for name, state in mode.setting.items() if BLEND in state)
        running = mode.running | mode.state.pads | blowers
        feeds = any(move.start in drives and move.end in zones for move in mode.moves)
        found.append(Candidate(mode.family, mode.title, setting, bits, running, running | blended, feeds, mode))
    return tuple(found)


def knobs_of(plant: Plant) -> tuple[Knob, ...]:
    """Return every flow knob of a plant: blowers, inlets and outlets for all candidates alike, the rest for each."""
    found = [Knob(part.name, "", 0.0, 1.0, 0.1, BLOWER_START, BLOWER) for part in plant.of_kind("blower")]
    for part in plant.of_kind("door"):
        names = actuator_names(part)
        if {"fresh", "recirculate"} <= set(names):
            found.append(Knob(names["fresh"], names["recirculate"], 0.1, 1.0, 0.2, FRESH_START, INLET))
        elif "screen" in names and len(names) > 1:
            rest = names[outlet(plant, part)]
            found.append(Knob(names["screen"], rest, 0.1, 1.0, 0.2, SCREEN_START, OUTLET))
    for part in plant.of_kind("pump"):
        found.append(Knob(part.name, "", 0.2, 1.0, 0.15, PUMP_START))
    for part in plant.of_kind("fan"):
        found.append(Knob(part.name, "", 0.0, 1.0, 0.15, FAN_START))
    for part in plant.of_kind("valve", "door", "expansion"):
        names = actuator_names(part)
        for one, other in part.values.get("blend") or ():
            if not {"fresh", "screen"} & set(names):
                found.append(Knob(names[one], names[other], 0.05, 0.95, 0.15, HALF))
    return tuple(found)
