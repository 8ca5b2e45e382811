"""All that is known of one mode: how to set it, what flows through what, which exchangers work, what stands still."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from heatwright.modes.facets import Settled, settle
from heatwright.modes.flow import Flow
from heatwright.modes.fragments import circuits
from heatwright.modes.model import Mode, State
from heatwright.modes.nets import ConnectedNet, role_of
from heatwright.modes.read_nets import nets_of
from heatwright.plant.model import Plant

Role = Literal["hot side", "cold side", "active", "inert"]


@dataclass(frozen=True)
class Leg:
    """A flowing branch: its line, its parts in the direction of the flow, and the nodes it leads from and to."""

    line: str
    start: str
    end: str
    parts: tuple[str, ...]
    forwards: bool


@dataclass(frozen=True)
class Circuit:
    """What flows together. `walk` is the order of parts where it is one plain ring, empty where it branches."""

    fluid: str
    legs: tuple[Leg, ...]
    walk: tuple[str, ...]
    movers: tuple[str, ...]


@dataclass(frozen=True)
class Record:
    """A mode in full, as set with the fewest running devices.

    `setting`, `free` and `arrangements` are the mode's own; `trim` has the doors that only choose an outlet and
    `blends` the valves that rest between two positions. `exchangers` says what each does, `fed_by` with what air
    each zone is blown, `air_order` each active part in the air with the zones it feeds and what stands upstream.
    `still` are coolant branches that stand and hold their heat, with their parts.
    """

    mode: Mode
    setting: Mapping[str, str]
    free: tuple[str, ...]
    trim: Mapping[str, tuple[str, ...]]
    blends: tuple[str, ...]
    circuits: tuple[Circuit, ...]
    exchangers: Mapping[str, Role]
    fed_by: Mapping[str, str]
    air_order: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...]
    still: Mapping[str, tuple[str, ...]]


def record(plant: Plant, mode: Mode) -> Record:
    """Everything that is known of a mode of this plant."""
    found: list[Circuit] = []
    still: dict[str, tuple[str, ...]] = {}
    trim: dict[str, tuple[str, ...]] = {}
    for net, free in zip(nets_of(plant, mode.setting), nets_of(plant), strict=True):
        trim |= free.trim
        settled = settle(net)
        assert isinstance(settled, Settled)
        found += [_circuit(net, flows, mode.running) for flows in circuits(settled.flows)]
        if net.fluid == "coolant":
            flowing = {flow.edge.branch for flow in settled.flows}
            still |= {name: parts for name, parts in net.parts.items() if name not in flowing and parts}
    return Record(
        mode=mode,
        setting=mode.setting,
        free=mode.free,
        trim=trim,
        blends=tuple(name for name, state in mode.setting.items() if "~" in state),
        circuits=tuple(found),
        exchangers=exchanger_roles(plant, mode.state),
        fed_by=dict(sorted(mode.state.feed)),
        air_order=tuple(
            (one.part, tuple(sorted(one.zones)), tuple(sorted(one.after)))
            for one in sorted(mode.state.air, key=lambda one: (len(one.after), one.part))
        ),
        still=still,
    )


def exchanger_roles(plant: Plant, state: State) -> dict[str, Role]:
    """What each exchanger of the plant does in a state."""
    roles: dict[str, Role] = {name: "inert" for name in plant.parts if role_of(plant, name) == "exchanger"}
    linked = {name for circuit in state.circuits for name in circuit} | {one.part for one in state.air}
    roles |= {name: "active" for name in roles if name in linked}
    for stream in state.streams:
        roles |= dict.fromkeys(stream.hot, "hot side")
        roles |= dict.fromkeys(stream.cold, "cold side")
    return roles


def _circuit(net: ConnectedNet, flows: list[Flow], running: frozenset[str]) -> Circuit:
    legs = sorted((_leg(net, flow) for flow in flows), key=lambda leg: leg.line)
    first = next((leg for leg in legs if not running.isdisjoint(leg.parts)), legs[0])
    after = {leg.start: leg for leg in legs}
    walk = [first]
    if len(after) == len(legs):  # nothing parts, so it is one ring
        while walk[-1].end != first.start:
            walk.append(after[walk[-1].end])
    ring = len(walk) == len(legs)
    order = tuple(part for leg in walk for part in leg.parts) if ring else ()
    movers = tuple(part for leg in legs for part in leg.parts if part in net.movers)
    return Circuit(net.fluid, tuple(legs), order, movers)


def _leg(net: ConnectedNet, flow: Flow) -> Leg:
    edge, parts = flow.edge, net.parts[flow.edge.branch]
    if flow.sign > 0:
        return Leg(edge.branch, edge.start, edge.end, parts, True)
    return Leg(edge.branch, edge.end, edge.start, parts[::-1], False)
