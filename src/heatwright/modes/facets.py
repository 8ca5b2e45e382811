"""All the distinct states of one net: valves first, what falls apart is worked out apart, each part once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from heatwright.errors import InputError, Problem
from heatwright.modes.flow import Flow
from heatwright.modes.fragments import Fragment, Refused
from heatwright.modes.graph import Edges
from heatwright.modes.memory import collector_paused
from heatwright.modes.nets import Choice, ConnectedNet, Facts, Literal, redrawn
from heatwright.modes.outcomes import EMPTY, Key, Outcomes, Tally, together
from heatwright.modes.pieces import Pieces
from heatwright.modes.telling import Tell
from heatwright.plant.groups import Groups

MOST_COMBINATIONS = 20_000_000


@dataclass(frozen=True)
class Facet:
    """A distinct state of a net: its circuits, and the rules' states that hold.

    `combinations` counts the settings that give it, trim doors aside; `plumbings` are the distinct flows among them,
    as numbers. `setting` has every actuator of the net in the best of them, `running` the devices that run there,
    `flags` what the flow tells.
    """

    circuits: frozenset[Fragment]
    facts: Facts
    combinations: int
    plumbings: frozenset[int]
    setting: tuple[Literal, ...]
    running: frozenset[str]
    flags: frozenset[str]


@dataclass(frozen=True)
class Faces:
    """What a net can be: its facets, and what is illegal inside it by reason."""

    net: ConnectedNet
    facets: tuple[Facet, ...]
    illegal: dict[str, int]


class Settled(NamedTuple):
    """One setting of a net: what flows, the circuits it makes, and what the flow tells."""

    flows: frozenset[Flow]
    circuits: frozenset[Fragment]
    flags: frozenset[str]


class Undecided(NamedTuple):
    """A part of a net that hangs together: branches, and the valves and in-line valves not yet set."""

    edges: Edges
    valves: frozenset[str]
    gates: frozenset[str]

    def leaves(self, choice: Choice) -> bool:
        """Whether what a choice sets is still open."""
        return choice.branch in self.gates if choice.branch else choice.valve in self.valves


@collector_paused()
def faces_of(net: ConnectedNet, tell: Tell | None = None) -> Faces:
    """Every distinct state of a net, with counts that add up to its size. Raises InputError above the budget.

    `tell` is called with the share of the settings looked at so far.
    """
    if net.size > MOST_COMBINATIONS:
        raise InputError([_too_large(net)], net.plant.name)
    walk = _Walk(net, tell)
    outcomes = walk.outcomes()
    if outcomes.legal_count + sum(outcomes.illegal.values()) != net.size:
        raise AssertionError(f"combinations of {net.name} do not add up to {net.size}")
    return Faces(net, tuple(walk.facets(outcomes)), outcomes.illegal)


def settle(net: ConnectedNet) -> Settled | Refused:
    """What one net does whose actuators are all held in a state."""
    walk = _Walk(net)
    outcomes = walk.outcomes()
    if outcomes.illegal:
        return Refused(next(iter(outcomes.illegal)))
    (key,) = outcomes.legal
    return Settled(EMPTY.union(*walk.pieces.flows), key.what, outcomes.legal[key].flags)


def _too_large(net: ConnectedNet) -> Problem:
    return Problem(
        net.plant.source,
        f"the net {net.name} has {net.size:,} combinations that cannot be taken apart",
        f"at most {MOST_COMBINATIONS:,}",
        "leave out blends or positions that do not matter here, or make two nets of it",
    )


class _Walk:
    def __init__(self, net: ConnectedNet, tell: Tell | None = None) -> None:
        self.net = net
        self.pieces = Pieces(net)
        self._tell = tell
        self._done = 0.0
        self._known: dict[Undecided, Outcomes] = {}
        self._choices = [*net.valves.values(), *net.gates.values()]

    def outcomes(self) -> Outcomes:
        """Outcomes of the whole net; keys hold circuits. Valves with but one choice are set at once."""
        net = self.net
        left = Undecided(net.edges, frozenset(net.valves), frozenset(net.gates))
        rest: list[Outcomes] = []
        for choices in self._choices:
            if len(choices) == 1:
                left, shut = self._set(left, choices[0])
                rest += [_any_of(choices), *shut]
        return self._all(self._apart(left), 1.0, rest)

    def _all(self, parts: list[Undecided], share: float, rest: list[Outcomes]) -> Outcomes:
        """Parts at once, and what else is known; `share` is what they are of the whole work."""
        return together([*rest, *(self._expand(part, share / len(parts)) for part in parts)])

    def _expand(self, part: Undecided, share: float) -> Outcomes:
        found = self._known.get(part)
        if found is not None:
            self._note(share)
        else:
            found = self._known[part] = self._decide(part, share)
        return found

    def _note(self, share: float) -> None:
        self._done += share
        if self._tell is not None:
            self._tell(min(self._done, 1.0))

    def _decide(self, part: Undecided, share: float) -> Outcomes:
        """Set the next valve each way, and look at what the rest then falls into."""
        moved = any(edge.branch in self.net.movers_in for edge in part.edges)
        open_choices = [choices for choices in self._choices if part.leaves(choices[0])]
        if not open_choices or not moved:
            self._note(share)
            return self.pieces.piece(part.edges) if moved else self._idle(part, open_choices)
        found = Outcomes()
        for choice in open_choices[0]:
            self._choose(found, part, choice, share / len(open_choices[0]))
        return found

    def _choose(self, found: Outcomes, part: Undecided, choice: Choice, share: float) -> None:
        """Add the outcomes of a part with one valve set, or one branch open or shut."""
        left, shut = self._set(part, choice)
        inside = self._all(self._apart(left), share, shut)
        found.total += inside.total * choice.count
        for reason, count in inside.illegal.items():
            found.refuse(reason, count * choice.count)
        own = Tally(choice.count, EMPTY, choice.running, choice.setting)
        for key, tally in inside.legal.items():
            found.add(Key(key.what, key.facts | choice.facts), own.times(tally), inside.plumbings[key])

    def _set(self, part: Undecided, choice: Choice) -> tuple[Undecided, list[Outcomes]]:
        """What is left of a part once one valve is set, and the devices in a branch that this shuts."""
        if not choice.branch:
            edges = frozenset(redrawn(edge, choice.joins) for edge in part.edges)
            return part._replace(edges=edges, valves=part.valves - {choice.valve}), []
        edge = next(edge for edge in part.edges if edge.branch == choice.branch)
        stands = {one._replace(start=edge.start, end=edge.end) for one in choice.edges}
        left = part._replace(edges=(part.edges - {edge}) | stands, gates=part.gates - {choice.branch})
        return left, [] if stands else self._shut(choice)

    def _shut(self, choice: Choice) -> list[Outcomes]:
        """Devices in a branch that is shut: none may run."""
        net, pieces, branch = self.net, self.pieces, choice.branch
        movers = [m for m in net.movers_in.get(branch, ()) if m not in net.gated or m in choice.running]
        return [*map(pieces.dead, movers), *map(pieces.cold, net.heaters_in.get(branch, ()))]

    def _idle(self, part: Undecided, choices: list[tuple[Choice, ...]]) -> Outcomes:
        """A part that nothing can move: its valves may stand as they like, its heaters must be off."""
        heaters = [h for h, branch in self.net.heaters.items() if any(branch == e.branch for e in part.edges)]
        return together([*map(_any_of, choices), *map(self.pieces.cold, heaters)])

    def _apart(self, part: Undecided) -> list[Undecided]:
        """The parts that a part falls into; a valve not yet set holds all its ports together."""
        at = self.net.valve_at
        groups: Groups[str] = Groups()

        def place(node: str) -> str:
            valve = at.get(node, "")
            return valve if valve in part.valves else node

        for edge in part.edges:
            groups.merge(place(edge.start), place(edge.end))
        edges: dict[str, set] = {groups.head(valve): set() for valve in sorted(part.valves)}
        for edge in sorted(part.edges):
            edges.setdefault(groups.head(place(edge.start)), set()).add(edge)
        valves: dict[str, set[str]] = {}
        for valve in part.valves:
            valves.setdefault(groups.head(valve), set()).add(valve)
        return [
            Undecided(
                frozenset(found),
                frozenset(valves.get(head, ())),
                part.gates & {edge.branch for edge in found},
            )
            for head, found in edges.items()
        ]

    def facets(self, outcomes: Outcomes) -> Iterable[Facet]:
        """The outcomes as facets."""
        for key, tally in outcomes.legal.items():
            plumbings = frozenset(outcomes.plumbings[key])
            whole = self._whole(tally)
            yield Facet(key.what, key.facts, tally.number, plumbings, whole, tally.running, tally.flags)

    def _whole(self, tally: Tally) -> tuple[Literal, ...]:
        """The setting of every actuator of the net, in the order of the net."""
        decided = dict(tally.setting)
        return tuple(
            (name, decided.get(name) or ("on" if name in tally.running else self._rest(name)))
            for name in self.net.states
        )

    def _rest(self, name: str) -> str:
        states = self.net.states[name]
        return "off" if "off" in states else states[0]


def _any_of(choices: Iterable[Choice]) -> Outcomes:
    """A valve whose state does not matter."""
    found = Outcomes()
    for choice in choices:
        found.total += choice.count
        found.add(Key(EMPTY, choice.facts), Tally(choice.count, running=choice.running, setting=choice.setting))
    return found


def free_actuators(net: ConnectedNet, facet: Facet) -> tuple[str, ...]:
    """Valves and in-line valves that may stand anywhere, all at once: nothing that runs can reach them.

    Those that a rule names are never free.
    """
    setting = dict(facet.setting)
    joins: dict[str, str] = {}
    for valve, choices in net.valves.items():
        joins |= next(choice.joins for choice in choices if choice.setting == ((valve, setting[valve]),))
    shut = {
        branch
        for branch, choices in net.gates.items()
        if any(not one.edges and all(setting[name] == state for name, state in one.setting) for one in choices)
    }
    edges = [redrawn(edge, joins) for edge in net.edges]
    groups: Groups[str] = Groups()
    for edge in edges:
        if edge.branch not in shut:
            groups.merge(edge.start, edge.end)
    driven = {net.movers[m] for m in facet.running if m in net.movers}
    reached = {groups.head(edge.start) for edge in edges if edge.branch in driven}
    bound = {net.valve_at[port] for port in net.valve_at if groups.head(joins.get(port, port)) in reached}
    for edge in edges:
        if edge.branch in net.gates and not reached.isdisjoint({groups.head(edge.start), groups.head(edge.end)}):
            bound.update(name for name, _ in net.gates[edge.branch][0].setting)
    doors = [*net.valves, *(name for choices in net.gates.values() for name, _ in choices[0].setting)]
    return tuple(n for n in doors if n not in bound and n not in net.movers and not net.watches(n))
