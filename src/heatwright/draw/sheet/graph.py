"""The graph behind a plant sheet: parts, valves and tees as nodes, pipes and ducts as edges; hoses are left out."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from hashlib import blake2b

from heatwright.outcome import slug
from heatwright.plant.circuits import circuits_of, connected
from heatwright.plant.model import Branch, End, Plant
from heatwright.plant.parts import kinds

OUTSIDE = "outside"
WIND = "wind"
BODIES = ("pack", "drive_unit", "electronics", "zone")
TAGS = "ABCDEFGHJKLMNOPQSTUVWXYZ"
REFRIGERANT_TAG = "R"
UPSTREAM, LONGEST_CHAIN = 3, 12


@dataclass(frozen=True)
class Node:
    """A symbol on the sheet: a part, a tee (no part), or a piece of the outside (no part).

    `ports` are named by pipe: "NUMBER:start" or "NUMBER:end"; where two streams pass, each one's two stand together.
    """

    id: str
    symbol: str
    label: str
    part: str
    ports: tuple[str, ...] = ()


@dataclass(frozen=True)
class Pipe:
    """An edge: a pipe or duct between two ports, in the direction written.

    `lines` are the branches it is a piece of ("coolant/drive"), several where equal ducts are drawn as one.
    `ahead` and `back` name the run series that colour it, best first, for flow as written and against it;
    `flow` names the series of its mass flow; `start_ports` and `end_ports` the ports of valves it stands on.
    """

    id: str
    medium: str
    start: str
    end: str
    lines: tuple[str, ...]
    check: bool = False
    loop: str = ""
    ahead: tuple[str, ...] = ()
    back: tuple[str, ...] = ()
    flow: tuple[str, ...] = ()
    start_ports: tuple[str, ...] = ()
    end_ports: tuple[str, ...] = ()


@dataclass(frozen=True)
class Graph:
    """Everything a sheet shows, without places; the order of nodes and pipes is that of the plant file."""

    nodes: Mapping[str, Node]
    pipes: Mapping[str, Pipe]
    pins: Mapping[str, tuple[int, int]] = field(default_factory=dict)

    def at(self, node: str) -> list[Pipe]:
        """The pipes that touch a node."""
        return [pipe for pipe in self.pipes.values() if node in (pipe.start, pipe.end)]

    def port(self, pipe: Pipe, end: str) -> int:
        """Number of the port that a pipe takes at its "start" or "end"."""
        node = self.nodes[pipe.start if end == "start" else pipe.end]
        return node.ports.index(f"{pipe.id}:{end}")

    @property
    def key(self) -> str:
        """Hash of what is drawn and how it hangs together; values of parts and moves of valves are not in it."""
        shown = [[n.id, n.symbol, list(n.ports)] for n in self.nodes.values()]
        joins = [[p.id, p.medium, p.start, p.end] for p in self.pipes.values()]
        pins = sorted((name, list(place)) for name, place in self.pins.items())
        return blake2b(json.dumps([shown, joins, pins]).encode(), digest_size=12).hexdigest()


def graph_of(plant: Plant) -> Graph:
    """The graph of a plant: its lines, the parts in the wind, and bodies that stand in no line."""
    return _Drafter(plant).graph()


class _Drafter:
    """Gathers the nodes and pipes of one plant."""

    def __init__(self, plant: Plant) -> None:
        self.plant = plant
        self.nodes: dict[str, Node] = {}
        self.pipes: dict[str, Pipe] = {}
        self.streams: dict[tuple[str, str], list[str]] = {}
        self.tags = _tags(plant)
        self.laid = {p.name: p.values["on"] for p in plant.parts.values() if p.kind == "refrigerant_plate"}

    def graph(self) -> Graph:
        for fluid, net in self.plant.nets.items():
            for branch in net.branches:
                self._branch(fluid, branch)
        self._wind()
        for part in self.plant.parts.values():
            if part.kind in BODIES:
                self._part(part.name)
        self._splice()
        self._merge_ducts()
        self._look_upstream()
        ports: dict[str, list[str]] = {name: [] for name in self.nodes}
        for (name, _), ends in self.streams.items():
            ports[name] += [one for one in ends if one.partition(":")[0] in self.pipes]
        nodes = {name: replace(node, ports=tuple(ports[name])) for name, node in self.nodes.items()}
        return Graph(nodes, self.pipes, {k: v for k, v in self.plant.pins.items() if k in nodes})

    def _branch(self, fluid: str, branch: Branch) -> None:
        """The pieces of one line from part to part."""
        stops = [self._end(fluid, branch, branch.start, "from"), *(self._part(n) for n in branch.parts)]
        stops.append(self._end(fluid, branch, branch.end, "to"))
        sides = ["", *(n.partition(".")[2] for n in branch.parts), ""]
        line = f"{fluid}/{branch.name}"
        ahead, back = _series(fluid, branch, 1), _series(fluid, branch, -1)
        for k in range(len(stops) - 1):
            name = f"{slug(line)}_{k + 1}"
            self.pipes[name] = Pipe(
                name, fluid, stops[k], stops[k + 1], (line,), branch.check, self.tags.get(line, ""),
                ahead[k], back[k], self._flow(fluid, branch),
                (branch.start.port,) if k == 0 else (), (branch.end.port,) if k == len(stops) - 2 else (),
            )  # fmt: skip
            self.streams.setdefault((stops[k], f"{fluid}{sides[k]}"), []).append(f"{name}:start")
            self.streams.setdefault((stops[k + 1], f"{fluid}{sides[k + 1]}"), []).append(f"{name}:end")

    def _flow(self, fluid: str, branch: Branch) -> tuple[str, ...]:
        if fluid == "refrigerant":
            return ("mdot_refrigerant_kg_per_s",)
        return (f"mdot_{slug(f'{fluid}/{branch.name}')}_kg_per_s",)

    def _part(self, place: str) -> str:
        """The node of a part; a plate that lies on a body is drawn on that body."""
        name = place.partition(".")[0]
        name = self.laid.get(name, name)
        if name not in self.nodes:
            part = self.plant.parts[name]
            self.nodes[name] = Node(name, kinds()[part.kind].symbol, name.replace("_", " "), name)
        return name

    def _end(self, fluid: str, branch: Branch, end: End, side: str) -> str:
        """The node at an end of a line; the outside is drawn anew wherever air comes from it or goes there."""
        if end.kind == "outside":
            name = f"{OUTSIDE}.{slug(branch.name)}.{side}"
            self.nodes.setdefault(name, Node(name, "outside", "air in" if side == "from" else "air out", ""))
            return name
        if end.kind == "tee":
            name = f"@{fluid}.{end.name}"
            self.nodes.setdefault(name, Node(name, "tee", "", ""))
            return name
        return self._part(end.name)

    def _wind(self) -> None:
        """The parts in the front of the car, in the order the wind meets them."""
        stack = self.plant.front_stack
        if not stack:
            return
        self.nodes[OUTSIDE] = Node(OUTSIDE, "outside", OUTSIDE, "")
        before = OUTSIDE
        for number, name in enumerate(stack):
            pipe = f"{WIND}_{number + 1}"
            here = self._part(name)
            series = ("t_ambient_k",) if before == OUTSIDE else (f"t_{slug(before)}_wind_k", "t_ambient_k")
            self.pipes[pipe] = Pipe(
                pipe, WIND, before, here, (WIND,), ahead=series, back=series, flow=("mdot_front_kg_per_s",)
            )
            self.streams.setdefault((before, WIND), []).append(f"{pipe}:start")
            self.streams.setdefault((here, WIND), []).append(f"{pipe}:end")
            before = here

    def _look_upstream(self) -> None:
        """Where a valve or tee may have no series of its own, the series of what feeds it stand in."""
        for _ in range(UPSTREAM):
            before = dict(self.pipes)
            for name, pipe in before.items():
                same = [one for one in before.values() if one.medium == pipe.medium and one.id != name]
                fed = [one.ahead for one in same if one.end == pipe.start and self._joint(pipe.start)]
                left = [one.back for one in same if one.start == pipe.end and self._joint(pipe.end)]
                self.pipes[name] = replace(pipe, ahead=_chain(pipe.ahead, fed), back=_chain(pipe.back, left))

    def _joint(self, node: str) -> bool:
        return self.nodes[node].symbol in ("valve", "door", "tee")

    def _splice(self) -> None:
        """Take out tees at which only two pipes meet."""
        for name in [one for one, node in self.nodes.items() if node.symbol == "tee"]:
            into = [p for p in self.pipes.values() if p.end == name]
            out = [p for p in self.pipes.values() if p.start == name]
            if len(into) != 1 or len(out) != 1:
                continue
            first, last = into[0], out[0]
            self.pipes[first.id] = replace(
                first, end=last.end, check=first.check or last.check, end_ports=last.end_ports
            )
            del self.pipes[last.id], self.nodes[name]
            for ends in self.streams.values():
                if f"{last.id}:end" in ends:
                    ends[ends.index(f"{last.id}:end")] = f"{first.id}:end"
            self.streams = {key: ends for key, ends in self.streams.items() if key[0] != name}

    def _merge_ducts(self) -> None:
        """Ducts that lead from one node to one other are drawn as one."""
        first: dict[tuple[str, str, str], str] = {}
        for name, pipe in list(self.pipes.items()):
            key = (pipe.medium, pipe.start, pipe.end)
            kept = first.setdefault(key, name)
            if kept != name and pipe.medium == "air":
                one = self.pipes[kept]
                self.pipes[kept] = replace(
                    one, lines=one.lines + pipe.lines, flow=one.flow + pipe.flow,
                    start_ports=one.start_ports + pipe.start_ports, end_ports=one.end_ports + pipe.end_ports,
                )  # fmt: skip
                del self.pipes[name]


def _chain(own: tuple[str, ...], others: list[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys([*own, *(name for other in others for name in other)]))[:LONGEST_CHAIN]


def _tags(plant: Plant) -> dict[str, str]:
    """Letter of the loop of every line: A, B, C ... for coolant, R for refrigerant (R2 ... for further circuits)."""
    tags: dict[str, str] = {}
    groups = connected(plant.nets["coolant"].branches)
    for letter, group in zip(_letters(), groups, strict=False):
        tags |= {f"coolant/{branch.name}": letter for branch in group}
    for number, circuit in enumerate(circuits_of(plant)):
        tag = REFRIGERANT_TAG if number == 0 else f"{REFRIGERANT_TAG}{number + 1}"
        tags |= {f"refrigerant/{branch.name}": tag for branch in circuit}
    return tags


def _letters() -> Iterator[str]:
    yield from TAGS
    yield from (f"{one}{other}" for one in TAGS for other in TAGS)


def _series(fluid: str, branch: Branch, way: int) -> list[tuple[str, ...]]:
    """For every piece of a line, the series of what last lies upstream: part by part back to the line's start."""
    if fluid == "refrigerant":
        return [()] * (len(branch.parts) + 1)
    stops: list[End | str] = [branch.start, *branch.parts, branch.end]
    pieces = range(len(stops) - 1)
    found = []
    for k in pieces:
        upstream = stops[k::-1] if way > 0 else stops[k + 1 :]
        hose = (f"t_{slug(branch.name)}_hose_k",) if fluid == "coolant" and k == len(stops) - 2 and way > 0 else ()
        found.append((*hose, *(name for stop in upstream for name in _names(fluid, stop))))
    return found


def _names(fluid: str, stop: End | str) -> tuple[str, ...]:
    """Series of the fluid at one stop of a line."""
    if isinstance(stop, str):
        return (f"t_{slug(stop)}_{fluid}_k",)
    if stop.kind == "outside":
        return ("t_ambient_k",)
    if stop.kind == "zone":
        return (f"t_{slug(stop.name)}_air_k",)
    if stop.kind == "port":
        return (f"t_{slug(f'{fluid}.{stop.name}.{stop.port}')}_k", f"t_{slug(stop.name)}_{fluid}_k")
    return (f"t_{slug(stop.name)}_{fluid}_k", f"t_{fluid}_{slug(stop.name)}_k")
