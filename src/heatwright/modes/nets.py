"""The connected nets of a plant: their branches, and what each actuator in them can do.

A net is what hangs together in one fluid under all valve positions at once. Nets share no actuator; they meet only in
exchangers with two sides. Fans and the heaters at body and glass make no mode and stand in no net; a `deliberate_loss`
is an actuator for drive units in a coolant line: that of a blower or compressor only adds to what it does anyway.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from math import prod

from heatwright.modes.graph import Edge, Edges
from heatwright.plant.model import Part, Plant
from heatwright.plant.parts import kinds

Literal = tuple[str, str]
Facts = frozenset[Literal]
NONE: Facts = frozenset()
ON_OFF = ("off", "on")
BLEND = " ~ "


@dataclass(frozen=True)
class Choice:
    """One thing an actuator, or the in-line valves of a branch together, can do.

    `setting` is the first of the `count` settings that do it; `facts` are the states among them that a `never` rule
    names. `joins` maps the ports of a valve to the nodes they become. For in-line valves `branch` is where they stand
    and `edges` the branch as it then is, empty where it is shut.
    """

    setting: tuple[Literal, ...]
    count: int
    facts: Facts = NONE
    joins: Mapping[str, str] = field(default_factory=dict)
    branch: str = ""
    edges: Edges = frozenset()

    @property
    def valve(self) -> str:
        """The valve it sets."""
        return self.setting[0][0]

    @cached_property
    def running(self) -> frozenset[str]:
        """Pumps that run: those that would shut the branch if they stood."""
        return frozenset(name for name, state in self.setting if state == "on")


@dataclass(frozen=True)
class ConnectedNet:
    """One net: `edges` are its branches while every valve is apart, `parts` what stands in each.

    `valves`, and `gates` (branches with in-line valves, or pumps that block when they stand), map to choices;
    `movers` and `heaters` map to their branch. `states` has every actuator that is counted, `trim` the doors that
    only choose an outlet; `watched` are the states that a `never` rule names.
    """

    fluid: str
    plant: Plant
    edges: Edges
    parts: Mapping[str, tuple[str, ...]]
    valves: Mapping[str, tuple[Choice, ...]]
    gates: Mapping[str, tuple[Choice, ...]]
    movers: Mapping[str, str]
    heaters: Mapping[str, str]
    states: Mapping[str, tuple[str, ...]]
    trim: Mapping[str, tuple[str, ...]]
    watched: Facts

    @cached_property
    def size(self) -> int:
        """Combinations of the actuators that are counted, trim doors aside."""
        return prod(len(states) for states in self.states.values())

    @cached_property
    def times(self) -> int:
        """How often each combination comes up again with another position of the trim doors."""
        return prod(len(states) for states in self.trim.values())

    @property
    def name(self) -> str:
        """The fluid, and what moves it."""
        return f"{self.fluid} ({', '.join(self.movers)})" if self.movers else self.fluid

    @cached_property
    def gated(self) -> frozenset[str]:
        """Pumps whose branch is shut while they stand."""
        return frozenset(m for m in self.movers if is_gate(self.plant.parts[m]))

    @cached_property
    def valve_at(self) -> dict[str, str]:
        """Node of a port -> its valve."""
        ends = {end for edge in self.edges for end in (edge.start, edge.end)}
        return {end: base(end) for end in ends if base(end) in self.valves}

    @cached_property
    def movers_in(self) -> dict[str, tuple[str, ...]]:
        """Branch -> the movers in it."""
        return _by_branch(self.movers)

    @cached_property
    def heaters_in(self) -> dict[str, tuple[str, ...]]:
        """Branch -> the heaters in it, deliberate losses among them."""
        return _by_branch(self.heaters)

    def facts(self, name: str, state: str) -> Facts:
        """The state as a fact, if a rule names it."""
        literal = (name, state)
        return frozenset({literal}) if literal in self.watched else NONE

    def watches(self, name: str) -> bool:
        """Whether a rule names the actuator."""
        return any(name == one for one, _ in self.watched)


def _by_branch(places: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for name, branch in places.items():
        found[branch] = (*found.get(branch, ()), name)
    return found


def base(name: str) -> str:
    """The part a port, a side or a loss belongs to: "plate" of "plate.a"."""
    return name.partition(".")[0]


def is_loss(name: str) -> bool:
    """Whether a name means the deliberate loss of a part."""
    return name.endswith(".loss")


def kind_of(plant: Plant, name: str) -> str:
    """Kind of a part; "loss" for `NAME.loss`."""
    return "loss" if is_loss(name) else plant.parts[base(name)].kind


def role_of(plant: Plant, name: str) -> str:
    """Role of a part's kind."""
    return kinds()[plant.parts[base(name)].kind].role


def is_gate(part: Part) -> bool:
    """Whether a part in a line can shut it: an in-line valve, or a pump that blocks when it stands."""
    return "states" in part.values or (part.kind == "pump" and part.values["off"] == "blocks")


def states_of(part: Part) -> tuple[str, ...]:
    """Every state of an actuator, the resting one first; a blend is one state."""
    if "states" in part.values:
        return tuple(part.values["states"])
    if "positions" not in part.values:
        return ON_OFF
    return (*part.values["positions"], *(BLEND.join(pair) for pair in part.values["blend"]))


def redrawn(edge: Edge, joins: Mapping[str, str]) -> Edge:
    """The edge between the nodes that its ends have become."""
    start, end = joins.get(edge.start, edge.start), joins.get(edge.end, edge.end)
    return edge if (start, end) == (edge.start, edge.end) else edge._replace(start=start, end=end)
