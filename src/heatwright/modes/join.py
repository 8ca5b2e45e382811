"""Joins the facets of all nets into states: each joint state once, with the inert knocked out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from itertools import product
from math import prod

from heatwright.errors import InputError, Problem
from heatwright.modes.facets import faces_of, free_actuators
from heatwright.modes.found import Found, States
from heatwright.modes.fragments import Refused
from heatwright.modes.held import check_held, pads_of
from heatwright.modes.model import State
from heatwright.modes.normal import Nature
from heatwright.modes.outcomes import EMPTY
from heatwright.modes.read_nets import nets_of
from heatwright.modes.telling import Tell
from heatwright.modes.ways import Gathered, Group, Way, groups_of, judged, pad_groups
from heatwright.plant.model import Plant

MOST_JOINT_STATES = 200_000
STEPS = {"nets": 2, "join": 1, "readings": 3, "twins": 1}
"""What is done after each other, and about what share of the time it takes where there are many states."""

Progress = Callable[[float, float], object]
Legal = tuple[tuple[Group, ...], State]


def build_states(plant: Plant, frozen: Mapping[str, str] | None = None) -> States:
    """Every state of a plant with its counts; `frozen` holds actuators in one of their states.

    Raises InputError for an unknown actuator or state, and for a net or a join over its budget.
    """
    nets = JoinedNets(plant, frozen)
    if not nets.within_budget:
        found = f"its nets have {nets.size:,} joint states"
        raise InputError([Problem(plant.source, found, f"at most {MOST_JOINT_STATES:,}")], plant.name)
    return nets.states()


class JoinedNets:
    """All nets of a plant with their facets, ready to be joined.

    `combinations` counts every actuator setting, `size` the joint states that a join has to look at. `illegal` is
    what single nets refuse: a combination is counted for the first net that refuses it. `progress` is called with
    (done, total).
    """

    def __init__(self, plant: Plant, frozen: Mapping[str, str] | None = None, progress: Progress | None = None) -> None:
        check_held(plant, frozen or {})
        self.plant = plant
        self.nature = Nature(plant)
        self.nets = nets_of(plant, frozen)
        self.trim = {name: states for net in self.nets for name, states in net.trim.items()}
        self.groups: list[list[Group]] = []
        self.illegal: dict[str, int] = {}
        self.combinations = 1
        self._progress = progress
        legal = 1
        for number, net in enumerate(self.nets):
            groups, illegal = groups_of(faces_of(net, self.teller("nets", number, len(self.nets))), self.nature)
            total = net.size * net.times
            self.illegal = {reason: count * total for reason, count in self.illegal.items()}
            for reason, count in illegal.items():
                self.illegal[reason] = self.illegal.get(reason, 0) + count * legal
            legal *= sum(group.combinations for group in groups)
            self.combinations *= total
            self.groups.append(groups)
        pads = pads_of(plant, frozen or {})
        times = prod(map(len, pads.values()))
        self.illegal = {reason: count * times for reason, count in self.illegal.items()}
        self.combinations *= times
        self.groups.append(pad_groups(pads, self.nets[0].watched if self.nets else EMPTY))

    def teller(self, step: str, number: int = 0, of: int = 1) -> Tell | None:
        """Tells how far the `number`-th part `of` so many of a step is."""
        progress, names = self._progress, list(STEPS)
        done, every = sum(STEPS[one] for one in names[: names.index(step)]), sum(STEPS.values())
        return None if progress is None else lambda share: progress(done + STEPS[step] * (number + share) / of, every)

    @property
    def size(self) -> int:
        """How many joint states there may be."""
        return prod(sum(len(group.ways) for group in groups) for groups in self.groups)

    @property
    def within_budget(self) -> bool:
        """Whether the join is worth doing whole."""
        return self.size <= MOST_JOINT_STATES

    def legal(self, illegal: dict[str, int]) -> Iterator[Legal]:
        """Groups that are legal together, with their state; the others are counted into `illegal`."""
        tell, every = self.teller("join"), prod(map(len, self.groups))
        for number, groups in enumerate(product(*self.groups)):
            if tell is not None:
                tell(number / every)
            facts = EMPTY.union(*(group.facts for group in groups))
            broken = next((name for name, rule in self.plant.never if facts.issuperset(rule)), None)
            state = Refused(f"rule: {broken}") if broken is not None else judged(self.nature, groups)
            if isinstance(state, Refused):
                count = prod(group.combinations for group in groups)
                illegal[state.reason] = illegal.get(state.reason, 0) + count
            else:
                yield groups, state

    def states(self) -> States:
        """Every state."""
        illegal = dict(self.illegal)
        gathered: dict[State, Gathered] = {}
        joined = 0
        for groups, base in self.legal(illegal):
            for ways in product(*(group.ways for group in groups)):
                joined += 1
                gathered.setdefault(whole_state(base, ways), Gathered()).add(ways)
        states = States(self.combinations, self.found(gathered), illegal, joined, self.trim)
        if states.legal + sum(illegal.values()) != self.combinations:
            raise AssertionError(f"combinations of {self.plant.name} do not add up to {self.combinations}")
        return states

    def found(self, gathered: Mapping[State, Gathered]) -> dict[State, Found]:
        """What is known of each state."""
        free: dict[int, tuple[str, ...]] = {}
        return {state: self._found(one, free) for state, one in gathered.items()}

    def _found(self, gathered: Gathered, free: dict[int, tuple[str, ...]]) -> Found:
        facets = [way.facet for way in gathered.best]
        for net, facet in zip(self.nets, facets, strict=False):  # the pads come last and have no net
            if id(facet) not in free:
                free[id(facet)] = free_actuators(net, facet)
        return Found(
            combinations=gathered.combinations,
            setting={name: state for facet in facets for name, state in facet.setting},
            free=tuple(name for facet in facets for name in free.get(id(facet), ())),
            running=EMPTY.union(*(facet.running for facet in facets)),
            arrangements=gathered.arrangements(),
            flags=tuple(sorted(EMPTY.union(*(facet.flags for facet in facets)))),
        )


def whole_state(base: State, ways: tuple[Way, ...]) -> State:
    """The state of what nets have towards each other, with what each has for itself."""
    inward = [way.inward for way in ways if way.inward]
    pads = EMPTY.union(*(way.pads for way in ways))
    return replace(base, circuits=base.circuits.union(*inward), pads=pads) if inward or pads else base
