"""What one circuit is: its links in coolant, its hot and cold side in refrigerant, its order in air."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from heatwright.modes.flow import Flow
from heatwright.modes.graph import connected
from heatwright.modes.model import OUTSIDE, Aired, Stream
from heatwright.modes.nets import ConnectedNet, base, is_loss, kind_of, role_of

UNTHROTTLED = "refrigerant runs round with nothing to throttle it"
HIGH, LOW, LOW_USED = "high", "low", "low, past an exchanger"


class AirPath(NamedTuple):
    """One stream of air: its active parts, and what it blows into each zone."""

    parts: frozenset[Aired]
    feed: frozenset[tuple[str, str]]


Fragment = frozenset[str] | Stream | AirPath


class Refused(NamedTuple):
    """A circuit that must not run, and why."""

    reason: str


@dataclass(frozen=True)
class Arc:
    """A flowing branch in the direction of its flow."""

    start: str
    end: str
    parts: tuple[str, ...]
    opened: frozenset[str]


def circuits(flows: Iterable[Flow]) -> Iterator[list[Flow]]:
    """Flows in groups that hang together."""
    by_edge = {flow.edge: flow for flow in flows}
    for group in connected(sorted(by_edge)):
        yield [by_edge[edge] for edge in group]


def fragment(net: ConnectedNet, circuit: list[Flow], heaters: frozenset[str]) -> Fragment | Refused | None:
    """What a circuit with some heaters on is; None where nothing in it matters."""
    if net.fluid == "coolant":
        return _links(net, circuit, heaters)
    arcs = [_arc(net, flow) for flow in circuit]
    return _stream(net, arcs) if net.fluid == "refrigerant" else _air_path(net, arcs, heaters)


def _arc(net: ConnectedNet, flow: Flow) -> Arc:
    edge, parts = flow.edge, net.parts[flow.edge.branch]
    if flow.sign > 0:
        return Arc(edge.start, edge.end, parts, edge.opened)
    return Arc(edge.end, edge.start, parts[::-1], edge.opened)


def _links(net: ConnectedNet, circuit: list[Flow], heaters: frozenset[str]) -> frozenset[str] | None:
    """Bodies, exchangers and heaters that are on; a lone exchanger has nobody to exchange with."""
    inside = [name for flow in circuit for name in net.parts[flow.edge.branch]]
    linking = {name for name in inside if role_of(net.plant, name) in ("body", "exchanger")}
    here = {name for flow in circuit for name in net.heaters_in.get(flow.edge.branch, ())}
    links = frozenset(linking | (heaters & here))
    lone = len(links) == 1 and all(role_of(net.plant, x) == "exchanger" and not is_loss(x) for x in links)
    return None if lone or not links else links


def _stream(net: ConnectedNet, arcs: list[Arc]) -> Stream | Refused:
    """Sides of the exchangers, by following the refrigerant from the compressor and back to it."""
    movers = [name for arc in arcs for name in arc.parts if role_of(net.plant, name) == "mover"]
    if len(movers) > 1:
        return Refused(f"{' and '.join(sorted(movers))} push in one circuit")
    paths = _Paths(net, movers[0], arcs)
    upstream, ends = paths.downwards()
    if HIGH in ends:
        return Refused(UNTHROTTLED)
    ahead = paths.upwards()
    hot = {name for name, before in upstream.items() if before == {HIGH}}
    cold = {name for name, before in upstream.items() if HIGH not in before and ahead[name] == {False}}
    between = sorted(upstream.keys() - hot - cold)
    if between:
        return Refused(f"{between[0]} sits between two pressures")
    return Stream(frozenset(hot), frozenset(cold), LOW in ends)


class _Paths:
    """The ways from a compressor's discharge to its suction, through exchangers and throttles."""

    def __init__(self, net: ConnectedNet, mover: str, arcs: list[Arc]) -> None:
        self.net = net
        self.arcs: list[Arc] = []
        for arc in arcs:
            if mover in arc.parts:
                cut = arc.parts.index(mover)
                self.arcs.append(Arc(arc.start, "", arc.parts[:cut], arc.opened))
                self.arcs.append(Arc("", arc.end, arc.parts[cut + 1 :], arc.opened))
            else:
                self.arcs.append(arc)

    def _throttles(self, arc: Arc, name: str) -> bool:
        return kind_of(self.net.plant, name) == "expansion" and name not in arc.opened

    def _exchanges(self, name: str) -> bool:
        return role_of(self.net.plant, name) == "exchanger"

    def downwards(self) -> tuple[dict[str, set[str]], set[str]]:
        """For each exchanger what may have happened before it; and what happened by the time of suction."""
        upstream: dict[str, set[str]] = {}
        ends: set[str] = set()
        seen: set[tuple[str, str]] = {("", HIGH)}
        todo = [("", HIGH)]
        while todo:
            place, state = todo.pop()
            for arc in self.arcs:
                if arc.start == place:
                    after = self._down(arc, state, upstream)
                    if arc.end == "":
                        ends.add(after)
                    elif (arc.end, after) not in seen:
                        seen.add((arc.end, after))
                        todo.append((arc.end, after))
        return upstream, ends

    def _down(self, arc: Arc, state: str, upstream: dict[str, set[str]]) -> str:
        for name in arc.parts:
            if self._throttles(arc, name):
                state = LOW if state == HIGH else state
            elif self._exchanges(name):
                upstream.setdefault(name, set()).add(HIGH if state == HIGH else LOW)
                state = state if state == HIGH else LOW_USED
        return state

    def upwards(self) -> dict[str, set[bool]]:
        """For each exchanger whether a throttle may lie ahead of it."""
        ahead: dict[str, set[bool]] = {}
        seen = {("", False)}
        todo = [("", False)]
        while todo:
            place, throttled = todo.pop()
            for arc in self.arcs:
                if arc.end == place:
                    before = throttled
                    for name in reversed(arc.parts):
                        if self._exchanges(name):
                            ahead.setdefault(name, set()).add(before)
                        before = before or self._throttles(arc, name)
                    if arc.start and (arc.start, before) not in seen:
                        seen.add((arc.start, before))
                        todo.append((arc.start, before))
        return ahead


def _air_path(net: ConnectedNet, arcs: list[Arc], heaters: frozenset[str]) -> AirPath:
    """Which zones each exchanger and heater feeds, what stands upstream of it, and what each zone is blown with."""

    def matters(name: str) -> bool:
        return role_of(net.plant, name) == "exchanger" or name in heaters

    zones = {name for name, part in net.plant.parts.items() if part.kind == "zone"}
    parts: set[Aired] = set()
    feed: dict[str, str] = {}
    for arc in arcs:
        above, sources = _sweep(arc.start, arcs, zones, forward=False)
        if arc.end in zones and feed.get(arc.end) != "fresh":
            feed[arc.end] = "fresh" if OUTSIDE in sources else "recirculated"
        if not any(matters(name) for name in arc.parts):
            continue
        fed = frozenset(_sweep(arc.end, arcs, zones, forward=True)[1] & zones)
        for place, name in enumerate(arc.parts):
            if matters(name):
                before = frozenset(base(x) for x in {*arc.parts[:place], *above} if matters(x))
                parts.add(Aired(base(name), fed, before))
    return AirPath(frozenset(parts), frozenset(feed.items()))


def _sweep(node: str, arcs: list[Arc], zones: set[str], forward: bool) -> tuple[set[str], set[str]]:
    """Parts passed and places reached from a node, with or against the flow; zones and outside end the way."""
    parts: set[str] = set()
    ends: set[str] = set()
    seen = {node}
    todo = [node]
    while todo:
        place = todo.pop()
        if place in zones or place == OUTSIDE:
            ends.add(place)
            continue
        for arc in arcs:
            near, far = (arc.start, arc.end) if forward else (arc.end, arc.start)
            if near == place:
                parts.update(arc.parts)
                if far not in seen:
                    seen.add(far)
                    todo.append(far)
    return parts, ends
