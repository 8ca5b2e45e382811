"""Reads the lines of a plant into connected nets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product

from heatwright.modes.graph import Edge, Edges
from heatwright.modes.nets import (
    BLEND,
    ON_OFF,
    Choice,
    ConnectedNet,
    Facts,
    Literal,
    base,
    is_gate,
    redrawn,
    role_of,
    states_of,
)
from heatwright.plant.circuits import connected
from heatwright.plant.groups import Groups
from heatwright.plant.model import FLUIDS, Branch, End, Plant


def nets_of(plant: Plant, held: Mapping[str, str] | None = None) -> list[ConnectedNet]:
    """The nets of a plant, coolant first, then refrigerant, then air; `held` actuators keep their state."""
    watched = frozenset(literal for _, rule in plant.never for literal in rule)
    return [
        _Reader(plant, fluid, group, held or {}, watched).net()
        for fluid in FLUIDS
        for group in connected(plant.nets[fluid].branches)
    ]


def node(end: End) -> str:
    """The node a branch ends at while every valve is apart; all outlets of a zone are the zone."""
    if end.kind == "port":
        return f"{end.name}.{end.port}"
    return f"@{end.name}" if end.kind == "tee" else end.name


@dataclass(frozen=True)
class _Reader:
    """Reads one group of branches into a net."""

    plant: Plant
    fluid: str
    branches: list[Branch]
    held: Mapping[str, str]
    watched: Facts

    def net(self) -> ConnectedNet:
        edges = [Edge(b.name, node(b.start), node(b.end), b.check) for b in self.branches]
        named = dict.fromkeys(e.name for b in self.branches for e in (b.start, b.end) if e.kind == "port")
        trim = [name for name in named if self._only_trims(name)]
        joins = {port: merged for name in trim for port, merged in self._joins(name, self._allowed(name)[0]).items()}
        edges = [redrawn(edge, joins) for edge in edges]
        valves = {name: self._valve(name) for name in named if name not in trim}
        inside = {name: b.name for b in self.branches for name in b.parts}
        inline = [name for name in inside if is_gate(self.plant.parts[base(name)])]
        movers = {name: branch for name, branch in inside.items() if role_of(self.plant, name) == "mover"}
        heaters = self._heaters()
        counted = dict.fromkeys([*valves, *inline, *movers, *heaters])
        return ConnectedNet(
            fluid=self.fluid,
            plant=self.plant,
            edges=frozenset(edges),
            parts={b.name: b.parts for b in self.branches},
            valves=valves,
            gates=self._gates(edges, inline, inside),
            movers=movers,
            heaters=heaters,
            states={name: self._allowed(name) for name in counted},
            trim={name: self._allowed(name) for name in trim},
            watched=self.watched,
        )

    def _allowed(self, name: str) -> tuple[str, ...]:
        """The states an actuator may take: all, or the one it is held in."""
        if name in self.held:
            return (self.held[name],)
        return ON_OFF if "." in name else states_of(self.plant.parts[name])

    def _heaters(self) -> dict[str, str]:
        found = {}
        for branch in self.branches:
            for name in branch.parts:
                part = self.plant.parts[base(name)]
                if role_of(self.plant, name) == "heater":
                    found[name] = branch.name
                elif part.kind == "drive_unit" and part.values.get("deliberate_loss") is not None:
                    found[f"{name}.loss"] = branch.name
        return found

    def _gates(self, edges: list[Edge], inline: list[str], inside: Mapping[str, str]) -> dict[str, tuple[Choice, ...]]:
        """Choices of each branch that its in-line parts can shut."""
        by_branch: dict[str, list[str]] = {}
        for name in inline:
            by_branch.setdefault(inside[name], []).append(name)
        return {edge.branch: self._gate(edge, by_branch[edge.branch]) for edge in edges if edge.branch in by_branch}

    def _gate(self, edge: Edge, inline: list[str]) -> tuple[Choice, ...]:
        tally: dict[tuple[Edges, Facts, tuple[Literal, ...]], list[tuple[Literal, ...]]] = {}
        for states in product(*(self._allowed(name) for name in inline)):
            setting = tuple(zip(inline, states, strict=True))
            shut = any(state in ("shut", "off") for state in states)
            opened = frozenset(n for n, s in setting if s == "open" and self.plant.parts[n].kind == "expansion")
            stands: Edges = frozenset() if shut else frozenset({edge._replace(opened=opened)})
            running = tuple(one for one in setting if one[1] in ON_OFF)
            tally.setdefault((stands, self.watched & set(setting), running), []).append(setting)
        return tuple(
            Choice(settings[0], len(settings), facts, branch=edge.branch, edges=stands)
            for (stands, facts, _), settings in tally.items()
        )

    def _valve(self, name: str) -> tuple[Choice, ...]:
        """Choices of a valve: positions that join the same ports are one."""
        tally: dict[tuple[tuple[Literal, ...], Facts], list[str]] = {}
        for state in self._allowed(name):
            joins = tuple(sorted(self._joins(name, state).items()))
            tally.setdefault((joins, self.watched & {(name, state)}), []).append(state)
        return tuple(
            Choice(((name, states[0]),), len(states), facts, joins=dict(joins))
            for (joins, facts), states in tally.items()
        )

    def _joins(self, name: str, state: str) -> dict[str, str]:
        """Port node -> the node it becomes; groups of a blend's two positions that share a port merge."""
        positions = self.plant.parts[name].values["positions"]
        groups: Groups[str] = Groups()
        ports: set[str] = set()
        for position in state.split(BLEND):
            for group in positions[position]:
                ports.update(group)
                for port in group[1:]:
                    groups.merge(group[0], port)
        members: dict[str, list[str]] = {}
        for port in sorted(ports):
            members.setdefault(groups.head(port), []).append(port)
        return {f"{name}.{port}": f"{name}:{'-'.join(found)}" for found in members.values() for port in found}

    def _only_trims(self, name: str) -> bool:
        """Whether every state of a door leads to the same zone by bare ducts, and no rule names it."""
        states = states_of(self.plant.parts[name])
        if len(states) < 2 or any(name == one for one, _ in self.watched):
            return False
        bare = self._bare_ducts(name)
        forms = set()
        for state in states:
            members: dict[str, set[str]] = {}
            for port, merged in self._joins(name, state).items():
                members.setdefault(merged, set()).add(bare.get(port, port))
            forms.add(frozenset(frozenset(group) for group in members.values()))
        return len(forms) == 1

    def _bare_ducts(self, name: str) -> dict[str, str]:
        """Ports of a valve from which a line without parts or check leads to a zone or outside: port -> where."""
        found = {}
        for branch in self.branches:
            if branch.parts or branch.check:
                continue
            for near, far in ((branch.start, branch.end), (branch.end, branch.start)):
                if near.kind == "port" and near.name == name and far.kind in ("zone", "outside"):
                    found[node(near)] = node(far)
        return found
