"""From one mode to another: what turns off, moves and turns on, whether the compressor must stop, what is swept in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from heatwright.modes.facets import Settled, settle
from heatwright.modes.flow import Flow
from heatwright.modes.model import Mode, Setting
from heatwright.modes.nets import base
from heatwright.modes.read_nets import nets_of
from heatwright.plant.groups import Groups
from heatwright.plant.model import Plant

ON, OFF = "on", "off"
HOLD_LITTLE = ("pump", "shutoff")


@dataclass(frozen=True)
class Leg:
    """A coolant line, the parts of it that hold coolant, and those of the lines it flows together with."""

    line: str
    parts: tuple[str, ...]
    meets: tuple[str, ...] = ()


@dataclass(frozen=True)
class Transition:
    """What it takes to change from one mode to another.

    `setting` is how every actuator stands afterwards. `turns_off` and `turns_on` name devices, `moves` valves and
    doors with both states. `stops` says of each compressor that runs in both modes, but must stop between them,
    why. `swept_in` are legs that stood still and flow now, `turned` those that flow the other way round,
    `left_still` those that come to rest; `mixed` are circuits, each by its parts, that flowed apart and now flow
    as one.
    """

    start: str
    end: str
    setting: Setting
    turns_off: tuple[str, ...]
    moves: Mapping[str, tuple[str, str]]
    turns_on: tuple[str, ...]
    stops: Mapping[str, str]
    swept_in: tuple[Leg, ...]
    turned: tuple[Leg, ...]
    left_still: tuple[Leg, ...]
    mixed: tuple[tuple[tuple[str, ...], ...], ...]


def between(plant: Plant, start: Mode, end: Mode) -> Transition:
    """The change from one mode to another; actuators that do not matter in the second stay as they are."""
    before = start.setting
    after = {name: before.get(name, state) if name in end.free else state for name, state in end.setting.items()}
    changed = {name: (before[name], state) for name, state in after.items() if before.get(name, state) != state}
    first, second = (_Coolant(plant, flowing(plant, setting)) for setting in (before, after))
    return Transition(
        start=start.id,
        end=end.id,
        setting=after,
        turns_off=tuple(sorted(name for name, (_, state) in changed.items() if state == OFF)),
        moves={name: states for name, states in sorted(changed.items()) if states[1] not in (ON, OFF)},
        turns_on=tuple(sorted(name for name, (_, state) in changed.items() if state == ON)),
        stops=_stops(plant, start, end, changed),
        swept_in=second.legs(second.signs.keys() - first.signs.keys()),
        turned=second.legs(name for name, sign in second.signs.items() if first.signs.get(name, sign) != sign),
        left_still=second.legs(first.signs.keys() - second.signs.keys()),
        mixed=_mixed(first, second),
    )


def flowing(plant: Plant, setting: Setting) -> list[Flow]:
    """The coolant lines that flow when every actuator stands as given; none of a net that must not run like this."""
    settled = [settle(net) for net in nets_of(plant, setting) if net.fluid == "coolant"]
    return [flow for one in settled if isinstance(one, Settled) for flow in one.flows]


class _Coolant:
    """What flows in the coolant lines under one setting."""

    def __init__(self, plant: Plant, flows: Iterable[Flow]) -> None:
        self.signs: dict[str, int] = {}
        groups: Groups[str] = Groups()
        for flow in flows:
            self.signs[flow.edge.branch] = flow.sign
            groups.merge(flow.edge.start, flow.edge.end)
        self.holds = {
            branch.name: tuple(name for name in branch.parts if plant.parts[base(name)].kind not in HOLD_LITTLE)
            for branch in plant.nets["coolant"].branches
        }
        self.lines = {branch.name: branch.line for branch in plant.nets["coolant"].branches}
        self.circuit_of = {flow.edge.branch: groups.head(flow.edge.start) for flow in flows}

    def legs(self, names: Iterable[str]) -> tuple[Leg, ...]:
        """Lines that hold coolant worth naming, and what each flows together with."""
        return tuple(
            Leg(self.lines[name], self.holds[name], self._meets(name)) for name in sorted(names) if self.holds[name]
        )

    def parts(self, lines: Iterable[str]) -> tuple[str, ...]:
        """What holds coolant in some lines."""
        return tuple(sorted(part for line in lines for part in self.holds[line]))

    def _meets(self, name: str) -> tuple[str, ...]:
        own = self.circuit_of.get(name)
        return self.parts(line for line, circuit in self.circuit_of.items() if circuit == own and line != name)


def _mixed(first: _Coolant, second: _Coolant) -> tuple[tuple[tuple[str, ...], ...], ...]:
    """Circuits of the second mode that gather lines of several circuits of the first: the parts of each."""
    sources: dict[str, dict[str, list[str]]] = {}
    for line, circuit in second.circuit_of.items():
        if line in first.circuit_of and first.holds[line]:
            sources.setdefault(circuit, {}).setdefault(first.circuit_of[line], []).append(line)
    return tuple(
        tuple(sorted(first.parts(lines) for lines in found.values())) for found in sources.values() if len(found) > 1
    )


def _stops(plant: Plant, start: Mode, end: Mode, changed: Mapping[str, tuple[str, str]]) -> dict[str, str]:
    """Each compressor that runs in both modes but must stop between them, with the reason."""
    was, becomes = _roles(start), _roles(end)
    flipped = {name for name in was.keys() & becomes.keys() if was[name] != becomes[name]}
    found = {}
    for net in (net for net in nets_of(plant) if net.fluid == "refrigerant"):
        inside = {name for parts in net.parts.values() for name in parts}
        why = [f"{name} turns from {was[name]} to {becomes[name]}" for name in sorted(inside & flipped)]
        why += [f"{name} moves" for name in sorted(net.valves) if name in changed]
        for mover in net.movers:
            if why and start.setting.get(mover) == ON == end.setting.get(mover):
                found[mover] = ", ".join(why)
    return found


def _roles(mode: Mode) -> dict[str, str]:
    """Exchanger -> "hot" or "cold", for the running refrigerant circuits."""
    sides = [pair for one in mode.state.streams for pair in (("hot", one.hot), ("cold", one.cold))]
    return {name: role for role, side in sides for name in side}
