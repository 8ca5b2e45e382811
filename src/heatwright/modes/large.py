"""Plants with too many joint states to list: their families at once, the modes of one family when asked for.

What a net's own circuits move does not depend on the other nets, so the distinct sets of moves of each net are enough
to find every family; states are made for one family alone.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import prod
from typing import NamedTuple

from heatwright.errors import InputError, Problem
from heatwright.modes.families import Member, families_of
from heatwright.modes.join import JoinedNets, Progress, whole_state
from heatwright.modes.model import Family, Mode, Move, State
from heatwright.modes.moves import WASTED_HEAT, moves_of
from heatwright.modes.readings import read_states
from heatwright.modes.sides import Sides
from heatwright.modes.ways import Gathered, Group, Way
from heatwright.plant.mistakes import near
from heatwright.plant.model import Plant

MOST_GROUPS = 2_000_000

WayLists = tuple[list[Way], ...]


class Doing(NamedTuple):
    """What part of a state does, as far as families tell: its moves, and whether made heat goes outside only."""

    moves: frozenset[Move]
    wastes: bool


class LargePlant:
    """The families of a plant, found without listing its joint states. Raises InputError above MOST_GROUPS."""

    def __init__(self, plant: Plant, nets: JoinedNets) -> None:
        groups = prod(map(len, nets.groups))
        if groups > MOST_GROUPS:
            found = f"what its nets can be towards each other makes {groups:,} joint states"
            raise InputError([Problem(plant.source, found, f"at most {MOST_GROUPS:,}")], plant.name)
        self.plant, self.nets = plant, nets
        self.illegal = dict(nets.illegal)
        self.legal = 0
        self.joined = 0
        self._doings: dict[Doing, list[tuple[State, WayLists]]] = {}
        self._sorted: dict[int, dict[Doing, list[Way]]] = {}
        for together, base in nets.legal(self.illegal):
            self.legal += prod(group.combinations for group in together)
            self._take(together, base)
        members = [Member(str(number), doing.moves, _flags(doing)) for number, doing in enumerate(self._doings)]
        self._families = families_of(plant, members)

    @property
    def families(self) -> tuple[Family, ...]:
        """Every family, those that do least first; their modes are not listed."""
        families = sorted(self._families, key=lambda one: (len(one.title), one.title))
        return tuple(replace(family, modes=()) for family in families)

    def _take(self, together: tuple[Group, ...], base: State) -> None:
        """Note what a legal joint state of groups does, with every choice of what each net does besides."""
        own = self._doing(base)
        for choice in product(*(self._by_doing(group).items() for group in together)):
            self.joined += 1
            doings = [own, *(doing for doing, _ in choice)]
            whole = Doing(frozenset().union(*(one.moves for one in doings)), any(one.wastes for one in doings))
            self._doings.setdefault(whole, []).append((base, tuple(ways for _, ways in choice)))

    def _by_doing(self, group: Group) -> dict[Doing, list[Way]]:
        """The ways of a group by what they do for themselves."""
        if id(group) not in self._sorted:
            found: dict[Doing, list[Way]] = {}
            for way in group.ways:
                found.setdefault(self._doing(State(circuits=way.inward, pads=way.pads)), []).append(way)
            self._sorted[id(group)] = found
        return self._sorted[id(group)]

    def _doing(self, state: State) -> Doing:
        moves, flags = moves_of(Sides(self.nets.nature, state))
        return Doing(moves, WASTED_HEAT in flags)

    def modes_of(self, family: str) -> tuple[Mode, ...]:
        """Every mode of one family, by its id. Raises InputError for an unknown one."""
        known = {one.id: one for one in self._families}
        if family not in known:
            problem = Problem(self.plant.source, f"there is no family '{family}'", "", near(family, known))
            raise InputError([problem], self.plant.name)
        places = list(self._doings.values())
        gathered: dict[State, Gathered] = {}
        for number in known[family].modes:
            for base, lists in places[int(number)]:
                for ways in product(*lists):
                    gathered.setdefault(whole_state(base, ways), Gathered()).add(ways)
        return read_states(self.plant, self.nets.found(gathered), self.nets.teller("readings"))[0]


def _flags(doing: Doing) -> tuple[str, ...]:
    return (WASTED_HEAT,) if doing.wastes else ()


def modes_of_family(plant: Plant, family: str, progress: Progress | None = None) -> tuple[Mode, ...]:
    """The modes of one family, for a plant whose atlas is not whole. Raises InputError for an unknown family."""
    return LargePlant(plant, JoinedNets(plant, progress=progress)).modes_of(family)
