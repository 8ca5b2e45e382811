"""The facets of each net as ways it can go, and everything that leads to one state."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product
from math import prod

from heatwright.modes.facets import Faces, Facet
from heatwright.modes.fragments import AirPath, Fragment, Refused
from heatwright.modes.model import State, Stream
from heatwright.modes.nets import Facts
from heatwright.modes.normal import Circuit, Joint, Nature
from heatwright.modes.outcomes import EMPTY


@dataclass(frozen=True)
class Way:
    """A facet of one net: its circuits that no other net can tell, knocked out already, and the pads that are on.

    `combinations` counts trim doors in.
    """

    facet: Facet
    combinations: int
    inward: frozenset[Circuit] = EMPTY
    pads: frozenset[str] = EMPTY


@dataclass
class Group:
    """Ways of one net that other nets cannot tell apart: their circuits with an outward side are the same."""

    outward: frozenset[Fragment]
    facts: Facts
    ways: list[Way] = field(default_factory=list)

    @cached_property
    def combinations(self) -> int:
        """All the combinations of the group."""
        return sum(way.combinations for way in self.ways)


def groups_of(faces: Faces, nature: Nature) -> tuple[list[Group], dict[str, int]]:
    """The ways of one net in groups; and what is illegal whatever the other nets do, by reason."""
    found: dict[tuple[frozenset[Fragment], Facts], Group] = {}
    illegal = {reason: count * faces.net.times for reason, count in faces.illegal.items()}
    for facet in faces.facets:
        combinations = facet.combinations * faces.net.times
        inner = inner_circuits(facet.circuits, nature)
        state = judged_circuits(nature, inner)
        if isinstance(state, Refused):
            illegal[state.reason] = illegal.get(state.reason, 0) + combinations
            continue
        outward = facet.circuits - inner
        group = found.setdefault((outward, facet.facts), Group(outward, facet.facts))
        group.ways.append(Way(facet, combinations, state.circuits))
    return list(found.values()), illegal


def inner_circuits(circuits: frozenset[Fragment], nature: Nature) -> frozenset[Fragment]:
    """The coolant circuits of a net that no other net can tell."""
    return frozenset(one for one in circuits if isinstance(one, frozenset) and not any(map(nature.outward, one)))


def pad_groups(pads: Mapping[str, tuple[str, ...]], watched: Facts) -> list[Group]:
    """Every choice of pads, in groups by the facts that hold."""
    found: dict[Facts, Group] = {}
    for states in product(*pads.values()):
        setting = tuple(zip(pads, states, strict=True))
        on = frozenset(name for name, state in setting if state == "on")
        facts = watched & set(setting)
        facet = Facet(EMPTY, facts, 1, frozenset({0}), setting, on, EMPTY)
        found.setdefault(facts, Group(EMPTY, facts)).ways.append(Way(facet, 1, pads=on))
    return list(found.values())


def judged(nature: Nature, groups: tuple[Group, ...]) -> State | Refused:
    """The normal form of what the groups have towards each other."""
    return judged_circuits(nature, [one for group in groups for one in group.outward])


def judged_circuits(nature: Nature, circuits: Iterable[Fragment]) -> State | Refused:
    """The normal form of circuits of all fluids at once."""
    every = list(circuits)
    return Joint(
        nature,
        [one for one in every if isinstance(one, frozenset)],
        [one for one in every if isinstance(one, Stream)],
        [one for one in every if isinstance(one, AirPath)],
    ).normal()


@dataclass
class Gathered:
    """Everything that leads to one state."""

    combinations: int = 0
    best: tuple[Way, ...] = ()
    every: list[tuple[Way, ...]] = field(default_factory=list)

    def add(self, ways: tuple[Way, ...]) -> None:
        """Count another joint state; the one with fewest flags, then fewest running devices, stands for all."""
        self.combinations += prod(way.combinations for way in ways)
        self.every.append(ways)
        if not self.best or _cost(ways) < _cost(self.best):
            self.best = ways

    def arrangements(self) -> int:
        """How many distinct plumbings lead here. Ways that differ only in a rule's facts may share some."""
        alike: dict[tuple[frozenset[Fragment], ...], list[tuple[Way, ...]]] = {}
        for ways in self.every:
            alike.setdefault(tuple(way.facet.circuits for way in ways), []).append(ways)
        return sum(_plumbings(found) for found in alike.values())


def _plumbings(every: list[tuple[Way, ...]]) -> int:
    if len(every) == 1:
        return prod(len(way.facet.plumbings) for way in every[0])
    return len({one for ways in every for one in product(*(way.facet.plumbings for way in ways))})


def _cost(ways: tuple[Way, ...]) -> tuple[int, int]:
    return sum(len(way.facet.flags) for way in ways), sum(len(way.facet.running) for way in ways)
