"""Coolant and air lines as flow networks: junctions, branches, elements, and the way through every valve.

Junctions are valve ports, tees, tanks, zones and the outside; branches are the lines of the plant and the
throats inside its valves.  A network without a mover is not solved: its legs are still.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from heatwright.plant.groups import joined
from heatwright.plant.model import Branch, End, Part, Plant

CHANNEL, PUMP, THROAT = 0, 1, 2


@dataclass
class Element:
    """One resistance or mover of a branch; `acts` are the actuators whose values add up to its drive."""

    kind: int
    par: tuple[float, ...]
    node: str
    acts: tuple[str, ...] = ()
    part: str = ""


@dataclass
class FlowBranch:
    """A branch between two junctions, named as its mass flow is."""

    flow: str
    start: str
    end: str
    one_way: bool
    elements: list[Element] = field(default_factory=list)
    line: Branch | None = None
    valve: str = ""


@dataclass
class FlowNet:
    """One connected network: junction 0 is its pressure reference."""

    fluid: str
    junctions: list[str]
    branches: list[FlowBranch]

    @property
    def driven(self) -> bool:
        """Whether anything in it moves the fluid."""
        return any(e.kind == PUMP for b in self.branches for e in b.elements)


def junction_name(end: End) -> str:
    """Return the name of the junction at an end of a branch."""
    if end.kind == "port":
        return f"{end.name}.{end.port}"
    if end.kind == "tee":
        return f"@{end.name}"
    if end.kind == "outside":
        return "outside"
    return end.name


def is_two_way(part: Part) -> bool:
    """Return whether a valve has just two positions that may be blended (one fraction sets both)."""
    return len(part.values["positions"]) == 2


def actuator_names(part: Part) -> dict[str, str]:
    """Return the actuator of every position of a valve or door, or of every state of an in-line valve."""
    if part.kind in ("valve", "door"):
        return {position: f"{part.name}:{position}" for position in part.values["positions"]}
    return {state: f"{part.name}:{state}" for state in part.values["states"]}


def throat_pairs(part: Part) -> dict[tuple[str, str], tuple[str, ...]]:
    """Return the positions that open each way between two ports of a valve."""
    ways: dict[tuple[str, str], list[str]] = {}
    for position, groups in part.values["positions"].items():
        for group in groups:
            for a, b in pairwise(group):
                key = (a, b) if (b, a) not in ways else (b, a)
                ways.setdefault(key, []).append(position)
    return {key: tuple(positions) for key, positions in ways.items()}


def build_nets(plant: Plant, fluid: str, elements_of: Any) -> list[FlowNet]:
    """Return the connected networks of one fluid.

    `elements_of(branch)` gives the elements of a line, `elements_of.throat(part, positions, end)` the element
    of a way through a valve.
    """
    branches: list[FlowBranch] = []
    valves: set[str] = set()
    for line in plant.nets[fluid].branches:
        start, end = junction_name(line.start), junction_name(line.end)
        branches.append(FlowBranch(f"{fluid}/{line.name}", start, end, line.check, elements_of.line(line), line))
        valves |= {e.name for e in (line.start, line.end) if e.kind == "port"}
    for name in sorted(valves):
        part = plant.parts[name]
        for (a, b), positions in throat_pairs(part).items():
            element = elements_of.throat(part, positions)
            flow = f"{fluid}/{name}:{a}-{b}"
            branches.append(FlowBranch(flow, f"{name}.{a}", f"{name}.{b}", False, [element], None, name))
    return _split(fluid, branches, plant)


def _split(fluid: str, branches: list[FlowBranch], plant: Plant) -> list[FlowNet]:
    """Split branches into connected networks and choose each one's reference junction."""
    nets = []
    for group in joined(branches, lambda b: (b.start, b.end)):
        seen: list[str] = []
        for b in group:
            seen += [j for j in (b.start, b.end) if j not in seen]
        tanks = [j for j in seen if j in plant.parts and plant.parts[j].kind == "tank"]
        first = "outside" if "outside" in seen else (tanks or seen)[0]
        seen.remove(first)
        nets.append(FlowNet(fluid, [first, *seen], group))
    return nets


def net_sections(nets: list[FlowNet], place: dict[str, int], flows: list[str], acts: list[str]) -> tuple[dict, dict]:
    """Return the integer and float sections of all networks; flows must start with these branches in order."""
    ints: dict[str, list[int]] = {
        key: []
        for key in (
            "net_j",
            "net_fluid",
            "net_node",
            "br_f",
            "br_t",
            "br_one",
            "el_ptr",
            "el_kind",
            "el_n",
            "el_w",
        )
    }
    ints.update(net_b=[0], net_e=[0], net_np=[0], el_wptr=[0])
    par: list[float] = []
    for net in nets:
        at = {name: k for k, name in enumerate(net.junctions)}
        ints["net_j"].append(len(net.junctions))
        ints["net_fluid"].append(0 if not net.driven else 1 if net.fluid == "coolant" else 2)
        ints["el_ptr"].append(0)
        local = 0
        nodes: set[int] = set()
        for b in net.branches:
            if flows[len(ints["br_f"])] != b.flow:
                raise AssertionError(f"flow order: {b.flow}")
            ints["br_f"].append(at[b.start])
            ints["br_t"].append(at[b.end])
            ints["br_one"].append(int(b.one_way))
            for e in b.elements:
                ints["el_kind"].append(e.kind)
                ints["el_n"].append(place[e.node])
                nodes.add(place[e.node])
                ints["el_w"] += [acts.index(a) for a in e.acts]
                ints["el_wptr"].append(len(ints["el_w"]))
                par += [*e.par, *[0.0] * (6 - len(e.par))]
            local += len(b.elements)
            ints["el_ptr"].append(local)
        ints["net_node"] += sorted(nodes)
        ints["net_np"].append(len(ints["net_node"]))
        ints["net_b"].append(len(ints["br_f"]))
        ints["net_e"].append(len(ints["el_kind"]))
    return ints, {"el_par": par}
