"""The nets of a plant, and every state of each: what it does, or that it is illegal. Shares no code with the atlas."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import product
from typing import Any, NamedTuple

from modes.walk_flows import Flow, Pipe, reached, solve_signs

from heatwright.plant.model import FLUIDS, Branch, End, Plant

MOVERS = ("pump", "compressor", "blower")
HEATERS = ("coolant_heater", "air_heater")
BODIES = ("pack", "drive_unit", "electronics")
LIQUID = ("radiator", "chiller", "liquid_condenser", "heater_core", "cooler_core", "coolant_exchanger")
GAS = (
    "outdoor_coil",
    "refrigerant_plate",
    "chiller",
    "liquid_condenser",
    "evaporator",
    "cabin_condenser",
    "cabin_coil",
)
AIRY = ("evaporator", "cabin_condenser", "cabin_coil", "heater_core", "cooler_core")

WALLS = ("zone", "outside")

Combination = Mapping[str, str]
Node = tuple[Any, ...]
"""("tee", name), ("tank", name), ("zone", name), ("outside", "outside"), or ("ports", the joined ports)."""


class Illegal(Exception):
    """This combination does harm or cannot be."""


class Through(NamedTuple):
    """A part in moving air: zones it feeds, and what stands upstream of it."""

    part: str
    zones: frozenset[str]
    after: frozenset[str]


class Facet(NamedTuple):
    """What one net does: coolant circuits, refrigerant roles (hot, cold, hot gas), air; and literals that hold."""

    circuits: frozenset[frozenset[str]] = frozenset()
    roles: tuple[frozenset[str], frozenset[str], bool] | None = None
    air: frozenset[Through] = frozenset()
    feed: frozenset[tuple[str, str]] = frozenset()
    holds: frozenset[tuple[str, str]] = frozenset()


@dataclass
class NetWalk:
    """How often each facet of one net occurs, how many of its states are illegal, and in how many sizes decide."""

    facets: Counter[Facet] = field(default_factory=Counter)
    illegal: int = 0
    unsure: int = 0

    @property
    def size(self) -> int:
        """How many states the net has."""
        return sum(self.facets.values()) + self.illegal


def walk_nets(plant: Plant, frozen: Combination | None = None) -> list[NetWalk]:
    """Visit every state of every net of a plant; `frozen` holds actuators in one state each."""
    named = {literal for _, rule in plant.never for literal in rule}
    return [
        _walk_net(plant, fluid, branches, named, frozen or {})
        for fluid in FLUIDS
        for branches in _nets(plant.nets[fluid].branches)
    ]


def _nets(branches: tuple[Branch, ...]) -> Iterator[list[Branch]]:
    """Branches that hang together when all ports of a valve count as one place."""
    left = list(branches)
    while left:
        pipes = [Pipe(one.name, _place(one.start)[:2], _place(one.end)[:2], 0, False) for one in left]
        inside = reached(pipes[0].start, pipes)
        yield [branch for branch, pipe in zip(left, pipes, strict=True) if pipe.start in inside]
        left = [branch for branch, pipe in zip(left, pipes, strict=True) if pipe.start not in inside]


def _place(end: End) -> Node:
    """A port is a place of its own; all outlets of a zone are one place."""
    return (end.kind, end.name, end.port) if end.kind == "port" else (end.kind, end.name)


def actuators(plant: Plant, branches: list[Branch]) -> dict[str, tuple[str, ...]]:
    """Every actuator of a net with its states."""
    found: dict[str, tuple[str, ...]] = {}
    names = [name for branch in branches for name in branch.parts]
    names += [end.name for branch in branches for end in (branch.start, branch.end) if end.kind == "port"]
    for name in dict.fromkeys(names):
        part = plant.part_at(name)
        if part.kind in ("valve", "door"):
            blends = tuple(f"{one} ~ {other}" for one, other in part.values["blend"])
            found[name] = (*part.values["positions"], *blends)
        elif part.kind in ("shutoff", "expansion"):
            found[name] = part.values["states"]
        elif part.kind in (*MOVERS, *HEATERS):
            found[name] = ("off", "on")
        if part.kind == "drive_unit" and part.values.get("deliberate_loss") is not None:
            found[f"{name}.loss"] = ("off", "on")
    return found


def _walk_net(
    plant: Plant, fluid: str, branches: list[Branch], named: set[tuple[str, str]], frozen: Combination
) -> NetWalk:
    walked = NetWalk()
    states = {name: (frozen[name],) if name in frozen else choices
              for name, choices in actuators(plant, branches).items()}  # fmt: skip
    for combination in product(*states.values()):
        told = dict(zip(states, combination, strict=True))
        pipes = _pipes(plant, branches, told)
        flow = solve_signs(pipes)
        walked.unsure += not flow.sure
        try:
            facet = _facet(plant, fluid, branches, pipes, told, flow)
        except Illegal:
            walked.illegal += 1
            continue
        walked.facets[facet._replace(holds=frozenset(named & told.items()))] += 1
    return walked


def _facet(plant: Plant, fluid: str, branches: list[Branch], pipes: list[Pipe], told: Combination, flow: Flow) -> Facet:
    _must_move(plant, branches, told, flow)
    if fluid == "coolant":
        return Facet(circuits=_circuits(plant, branches, pipes, told, flow))
    streams = _directed(branches, pipes, flow)
    if fluid == "refrigerant":
        return Facet(roles=_roles(plant, streams, told))
    air, feed = _air(plant, streams, told)
    return Facet(air=air, feed=feed)


def _pipes(plant: Plant, branches: list[Branch], told: Combination) -> list[Pipe]:
    """The branches that are not shut, between places merged by the positions of valves and doors."""
    merged = _merged(plant, told)

    def node(end: End) -> Node:
        return merged.get(_place(end), _place(end))

    pipes = []
    for branch in branches:
        if any(told.get(name) == "shut" or _blocks(plant, name, told) for name in branch.parts):
            continue
        push = sum(plant.part_at(name).kind in MOVERS and told[name] == "on" for name in branch.parts)
        pipes.append(Pipe(branch.name, node(branch.start), node(branch.end), push, branch.check))
    return pipes


def _blocks(plant: Plant, name: str, told: Combination) -> bool:
    return plant.part_at(name).values.get("off") == "blocks" and told[name] == "off"


def _merged(plant: Plant, told: Combination) -> dict[Node, Node]:
    """For every joined port, the group of ports it is joined to; groups that share a port are one."""
    groups: list[frozenset[Node]] = []
    for name, state in told.items():
        positions: Any = plant.parts[name].values.get("positions") if name in plant.parts else None
        for position in state.split(" ~ ") if positions else ():
            for ports in positions[position]:
                group = frozenset(("port", name, port) for port in ports)
                sharing = [one for one in groups if one & group]
                groups = [one for one in groups if not one & group] + [group.union(*sharing)]
    return {port: ("ports", group) for group in groups for port in group}


def _must_move(plant: Plant, branches: list[Branch], told: Combination, flow: Flow) -> None:
    """Whatever runs needs flow, and a mover that runs needs it its own way."""
    for branch in branches:
        sign = flow.signs.get(branch.name, 0)
        for name in branch.parts:
            kind = plant.part_at(name).kind
            pushes = kind in MOVERS and told[name] == "on"
            heats = (kind in HEATERS and told[name] == "on") or told.get(f"{name}.loss") == "on"
            if (pushes and sign != 1) or (heats and not sign):
                raise Illegal


def _circuits(
    plant: Plant, branches: list[Branch], pipes: list[Pipe], told: Combination, flow: Flow
) -> frozenset[frozenset[str]]:
    """Connected sets of flowing branches, each as the set of its links."""
    moving = [pipe for pipe in pipes if pipe.name in flow.signs]
    parts = {branch.name: branch.parts for branch in branches}
    found = set()
    for piece in {frozenset(reached(pipe.start, moving)) for pipe in moving}:
        names = [name for pipe in moving if pipe.start in piece for name in parts[pipe.name]]
        links = {name for name in names if plant.part_at(name).kind in (*BODIES, *LIQUID)}
        links |= {name for name in names if plant.part_at(name).kind in HEATERS and told[name] == "on"}
        links |= {f"{name}.loss" for name in names if told.get(f"{name}.loss") == "on"}
        found.add(frozenset(links))
    return frozenset(found - {frozenset()})


class Directed(NamedTuple):
    """A flowing branch in the direction of its flow."""

    start: Node
    parts: tuple[str, ...]
    end: Node


def _directed(branches: list[Branch], pipes: list[Pipe], flow: Flow) -> list[Directed]:
    parts = {branch.name: branch.parts for branch in branches}
    found = []
    for pipe in pipes:
        sign = flow.signs.get(pipe.name, 0)
        if sign > 0:
            found.append(Directed(pipe.start, parts[pipe.name], pipe.end))
        elif sign < 0:
            found.append(Directed(pipe.end, parts[pipe.name][::-1], pipe.start))
    return found


def _roles(
    plant: Plant, streams: list[Directed], told: Combination
) -> tuple[frozenset[str], frozenset[str], bool] | None:
    """Hot before the throttle, cold behind it; None where the refrigerant stands still."""
    if not streams:
        return None
    kind = {name: part.kind for name, part in plant.parts.items()}
    paths = [[name for name in path if told.get(name) == "throttle" or kind[name] in GAS]
             for path in _paths(streams, kind)]  # fmt: skip
    seen: dict[str, set[str]] = {}
    gas = False
    for path in paths:
        throttles = [i for i, name in enumerate(path) if kind[name] == "expansion"]
        if not throttles:
            raise Illegal
        gas |= throttles[-1] == len(path) - 1
        for i, name in enumerate(path):
            if i not in throttles:
                place = "hot" if i < throttles[0] else "cold" if i > throttles[-1] else "between"
                seen.setdefault(name, set()).add(place)
    if any(len(places) > 1 or "between" in places for places in seen.values()):
        raise Illegal
    hot = frozenset(name for name, places in seen.items() if places == {"hot"})
    return hot, frozenset(seen) - hot, gas


def _paths(streams: list[Directed], kind: Mapping[str, str]) -> list[list[str]]:
    """Every way from the compressor's outlet to its inlet, as the parts passed."""
    (home,) = [one for one in streams if any(kind[name] == "compressor" for name in one.parts)]
    at = next(i for i, name in enumerate(home.parts) if kind[name] == "compressor")
    done: list[list[str]] = []

    def follow(node: Node, passed: list[str]) -> None:
        if node == home.start:
            done.append([*passed, *home.parts[:at]])
            return
        for one in streams:
            if one.start == node and one is not home:
                follow(one.end, [*passed, *one.parts])

    follow(home.end, list(home.parts[at + 1 :]))
    return done


def _air(
    plant: Plant, streams: list[Directed], told: Combination
) -> tuple[frozenset[Through], frozenset[tuple[str, str]]]:
    """Each part in moving air with the zones downstream and the parts upstream; how each blown zone is fed."""
    kind = {name: part.kind for name, part in plant.parts.items()}
    works = {name for one in streams for name in one.parts
             if kind[name] in AIRY or (kind[name] in HEATERS and told[name] == "on")}  # fmt: skip
    found = set()
    for one in streams:
        upstream, _ = _upstream(one.start, streams)
        zones = frozenset(node[1] for node in _downstream(one.end, streams) if node[0] == "zone")
        for i, name in enumerate(one.parts):
            if name in works:
                found.add(Through(name, zones, frozenset(upstream.union(one.parts[:i]) & works)))
    feed = set()
    for zone in {one.end for one in streams if one.end[0] == "zone"}:
        sources = [source for one in streams if one.end == zone for source in _upstream(one.start, streams)[1]]
        feed.add((zone[1], "fresh" if ("outside", "outside") in sources else "recirculated"))
    return frozenset(found), frozenset(feed)


def _upstream(node: Node, streams: list[Directed]) -> tuple[set[str], set[Node]]:
    """Parts and places upstream of a place, itself included; the search ends at zones and outside."""
    parts: set[str] = set()
    places: set[Node] = set()
    ahead = [node]
    while ahead:
        here = ahead.pop()
        if here not in places:
            places.add(here)
            into = [one for one in streams if one.end == here and here[0] not in WALLS]
            parts.update(name for one in into for name in one.parts)
            ahead += [one.start for one in into]
    return parts, places


def _downstream(node: Node, streams: list[Directed]) -> set[Node]:
    """Places downstream of a place, itself included; the search ends at zones and outside."""
    places: set[Node] = set()
    ahead = [node]
    while ahead:
        here = ahead.pop()
        if here not in places:
            places.add(here)
            ahead += [one.end for one in streams if one.start == here and here[0] not in WALLS]
    return places
