"""The modes that may serve a need, each as actuators held with every device in it at its most."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from heatwright.compiler.held import HEATERS, resting
from heatwright.compiler.networks import actuator_names
from heatwright.modes.model import Atlas, Mode
from heatwright.modes.moves import PARKED_ONLY
from heatwright.plant.model import Plant

PUMPED = ("pump", "fan")


@dataclass(frozen=True)
class Candidate:
    """A mode held at full devices: `acts` by actuator name, `idle` the same with only its air moving.

    `at_most` says of every heater, `compressors` by name of every compressor, what its most is; `devices` run. `makers`
    are the actuators of heaters, heat on purpose and compressors, the last not slower than `least_hz` of their names.
    """

    id: str
    title: str
    acts: Mapping[str, float]
    idle: Mapping[str, float]
    at_most: tuple[str, ...]
    compressors: Mapping[str, str] = field(default_factory=dict)
    devices: int = 0
    makers: tuple[str, ...] = ()
    least_hz: Mapping[str, float] = field(default_factory=dict)


def candidates(
    plant: Plant,
    atlas: Atlas,
    serves: tuple[frozenset[str], ...],
    begins: frozenset[str],
    blower: float,
    fresh: Mapping[str, float],
    standing: bool,
    heating: bool,
) -> tuple[Candidate, ...]:
    """Return the useful modes that serve one of each set of needs, those alike around the need only once.

    Alike are modes whose circuits, refrigerant roles, pads and air hang together alike from `begins` (kinds of body or
    zone) on; of those the one with the fewest running devices is taken. Fresh or recirculated air is set by `fresh`
    (the inlet's actuators) for all of them. A mode for a parked car only is left out where the car drives.
    """
    seen: dict[object, Mode] = {}
    starts = frozenset(part.name for part in plant.of_kind(*begins))
    for mode in atlas.modes:
        if not (mode.useful and all(mode.needs & one for one in serves)):
            continue
        if standing or PARKED_ONLY not in mode.flags:
            key = around(mode, starts)
            if key not in seen or len(mode.running) < len(seen[key].running):
                seen[key] = mode
    return tuple(_held(plant, mode, blower, fresh, heating) for mode in seen.values())


def around(mode: Mode, starts: frozenset[str]) -> frozenset[object]:
    """Return the circuits, streams, active parts in air and pads of a mode that hang together from `starts` on."""
    state = mode.state
    links: list[tuple[object, frozenset[str]]] = [(one, one) for one in state.circuits]
    links += [(one, one.hot | one.cold) for one in state.streams]
    links += [((one.part, one.zones), one.zones | {one.part}) for one in state.air]
    links += [(name, starts) for name in state.pads]
    found: set[object] = set()
    reached = starts
    while True:
        new = {key for key, names in links if key not in found and names & reached}
        if not new:
            return frozenset(found)
        found |= new
        reached = reached.union(*(names for key, names in links if key in new))


def _held(plant: Plant, mode: Mode, blower: float, fresh: Mapping[str, float], heating: bool) -> Candidate:
    """Return a mode as actuators: valves and doors as it has them, what runs at its most."""
    still = resting(plant, mode.setting, fresh)
    air = {part.name: blower for part in plant.of_kind("blower") if part.name in mode.running}
    acts = {**still, **air}
    told: list[str] = []
    makers: list[str] = []
    for part in plant.of_kind(*PUMPED):
        if part.name in mode.running or part.kind == "fan":
            acts[part.name] = 1.0
    for part in plant.of_kind(*HEATERS):
        if part.name in mode.running or part.name in mode.state.pads:
            acts[part.name] = float(part.values["power"])
            makers.append(part.name)
            told.append(f"{part.name} at its {part.values['power'] / 1e3:g} kW")
    driven = {part.name: part.values for part in plant.of_kind("compressor") if part.name in mode.running}
    acts |= {name: float(values["speed"]) for name, values in driven.items()}
    makers += driven
    for name, most in losses(plant, mode, heating).items():
        acts[name] = most
        makers.append(name)
        told.append(f"{name} at its {most / 1e3:g} kW")
    words = {name: f"{name} at its {60.0 * values['speed']:.0f} rpm" for name, values in driven.items()}
    least_hz = {name: float(values["least_speed"]) for name, values in driven.items()}
    return Candidate(
        mode.id, mode.title, acts, {**still, **air}, tuple(told), words, len(mode.running), tuple(makers), least_hz
    )


def turned_down(plant: Plant, mode: Candidate, turns: Sequence[float]) -> Iterator[Candidate]:
    """Yield a candidate with one of its pumps or expansion valves less open: how two sides share what there is."""
    for part in plant.of_kind("pump", "expansion"):
        names = {part.kind: part.name} if part.kind == "pump" else actuator_names(part)
        main = names.get("pump") or names.get("throttle", "")
        if mode.acts.get(main, 0.0) <= 0.0:
            continue
        for turn in turns:
            acts = {**mode.acts, main: turn * mode.acts[main]}
            if "shut" in names:
                acts[names["shut"]] = 1.0 - acts[main]
            yield replace(mode, acts=acts)


def part_load(mode: Candidate, level: float) -> Candidate:
    """Return a candidate with heaters, heat on purpose and compressors at a level from nothing (0) to full (1)."""
    acts = dict(mode.acts)
    for name in mode.makers:
        least = mode.least_hz.get(name, 0.0)
        acts[name] = least + level * (mode.acts[name] - least) if level > 0.0 else 0.0
    return replace(mode, acts=acts)


def losses(plant: Plant, mode: Mode, heating: bool) -> dict[str, float]:
    """Return the heat on purpose of a mode [W]: the drive unit's if part of it, others' where heat is wanted."""
    found = {}
    for part in plant.of_kind("drive_unit", "compressor", "blower"):
        most = part.values["deliberate_loss"]
        own = part.kind == "drive_unit"
        on = f"{part.name}.loss" in mode.running if own else heating and part.name in mode.running
        if most is not None and on:
            found[f"{part.name}.loss"] = float(most)
    return found
