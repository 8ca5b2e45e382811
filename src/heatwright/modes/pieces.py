"""One piece of a net whose valves all stand: what its movers and heaters can make of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from hashlib import blake2b
from math import prod

from heatwright.modes.flow import SIZING, Driven, Flow, drive
from heatwright.modes.fragments import Refused, circuits, fragment
from heatwright.modes.graph import Edges, blocks, ring_order
from heatwright.modes.nets import NONE, ConnectedNet, Facts, is_loss, kind_of
from heatwright.modes.outcomes import EMPTY, Key, Outcomes, Tally, switch, together

DEAD = {
    "pump": "{} runs and nothing moves",
    "blower": "{} runs with no way through",
    "compressor": "{} runs against a shut circuit",
}
BACKWARDS = "{} is pushed backwards while it runs"
OPPOSED = "{} and {} push against each other"
IDLES = "{} idles backwards"


class Pieces:
    """The pieces of one net, each worked out once."""

    def __init__(self, net: ConnectedNet) -> None:
        self.net = net
        self.flows: dict[frozenset[Flow], int] = {EMPTY: 0}
        self._joints: dict[frozenset[frozenset[tuple[str, int]]], int] = {EMPTY: 0}
        self._pieces: dict[Edges, Outcomes] = {}
        self._blocks: dict[Edges, Outcomes] = {}

    def piece(self, edges: Edges) -> Outcomes:
        """Outcomes of a connected piece; keys hold its circuits, or nothing where all stands."""
        found = self._pieces.get(edges)
        if found is None:
            found = self._pieces[edges] = self._work_out(edges)
        return found

    def dead(self, mover: str) -> Outcomes:
        """A mover that cannot move anything may only be off."""
        reason = DEAD.get(kind_of(self.net.plant, mover), DEAD["pump"])
        return switch(mover, self._facts(mover), reason.format(mover))

    def cold(self, heater: str) -> Outcomes:
        """A heater that nothing flows past may only be off."""
        name = heater.removesuffix(".loss")
        says = f"{name} makes heat on purpose" if is_loss(heater) else f"{name} is on"
        return switch(heater, self._facts(heater), f"{says} with no flow through it")

    def _facts(self, name: str) -> dict[str, Facts]:
        """The states a device may take here; a pump that blocks when it stands has been decided before."""
        states = ("on",) if name in self.net.gated else self.net.states[name]
        return {state: NONE if name in self.net.gated else self.net.facts(name, state) for state in states}

    def _ways(self, names: Iterable[str]) -> int:
        return prod(len(self._facts(name)) for name in names)

    def _work_out(self, edges: Edges) -> Outcomes:
        net = self.net
        movers = [m for m, branch in net.movers.items() if any(branch == edge.branch for edge in edges)]
        heaters = [h for h, branch in net.heaters.items() if any(branch == edge.branch for edge in edges)]
        driven = [b for b in blocks(edges) if any(net.movers[m] == edge.branch for m in movers for edge in b)]
        in_ring = {edge.branch for block in driven for edge in block}
        flows = together(
            [
                *(self.dead(m) for m in movers if net.movers[m] not in in_ring),
                *(self._block(block) for block in sorted(driven, key=sorted)),
            ]
        )
        heat = {key: self._heaters(heaters, {flow.edge.branch for flow in key.what}) for key in flows.legal}
        times = self._ways(heaters)
        found = Outcomes(total=flows.total * times)
        for reason, count in flows.illegal.items():
            found.refuse(reason, count * times)
        for key, tally in flows.legal.items():
            self._with_heaters(found, key, tally, heat[key])
        return found

    def _heaters(self, heaters: list[str], flowing: set[str]) -> Outcomes:
        """Heaters of a piece, given the branches that flow."""
        live = [h for h in heaters if self.net.heaters[h] in flowing]
        return together([*(self.cold(h) for h in heaters if h not in live), *(switch(h, self._facts(h)) for h in live)])

    def _with_heaters(self, found: Outcomes, flows: Key, tally: Tally, heat: Outcomes) -> None:
        """Make circuits of the flows with every choice of heaters, and count them."""
        for reason, count in heat.illegal.items():
            found.refuse(reason, count * tally.number)
        for on, heated in heat.legal.items():
            both = tally.times(heated)
            made = [fragment(self.net, circuit, on.what) for circuit in circuits(flows.what)]
            refused = next((one for one in made if isinstance(one, Refused)), None)
            if refused is not None:
                found.refuse(refused.reason, both.number)
                continue
            circuits_made = frozenset(one for one in made if one is not None)
            found.add(Key(circuits_made, flows.facts | on.facts), both, (self._number(flows.what),))

    def _number(self, flows: frozenset[Flow]) -> int:
        """A number for what flows in a piece and how it is joined; sums of a few hardly ever agree by chance."""
        if flows not in self.flows:
            joints = _joints(flows)
            if joints not in self._joints:
                digest = blake2b(len(self._joints).to_bytes(8, "big"), digest_size=12).digest()
                self._joints[joints] = int.from_bytes(digest, "big")
            self.flows[flows] = self._joints[joints]
        return self.flows[flows]

    def _block(self, block: Edges) -> Outcomes:
        """Outcomes of one ring or mesh; keys hold its flows."""
        found = self._blocks.get(block)
        if found is None:
            movers = {m: b for m, b in self.net.movers.items() if any(b == edge.branch for edge in block)}
            ring = ring_order(block)
            along = {edge.branch: way for edge, way in ring} if ring else {}
            found = self._blocks[block] = self._ring(block, movers, along) if ring else self._mesh(block, movers)
        return found

    def _ring(self, block: Edges, movers: Mapping[str, str], along: Mapping[str, int]) -> Outcomes:
        """A plain ring: only the directions in which its movers push matter, not which of them run."""
        sides = [self._some([m for m, b in movers.items() if along[b] == way]) for way in (1, -1)]
        found = Outcomes(total=sides[0].total * sides[1].total)
        for one, first in sides[0].legal.items():
            for other, second in sides[1].legal.items():
                tally, facts = first.times(second), one.facts | other.facts
                if one.what and other.what:
                    found.refuse(OPPOSED.format(min(first.running), min(second.running)), tally.number)
                else:
                    self._count(found, block, movers, tally, facts)
        return found

    def _some(self, movers: list[str]) -> Outcomes:
        """None or some of several movers; one that a rule names, or that is held, is looked at by itself."""
        alone = [m for m in movers if self.net.watches(m) or len(self._facts(m)) == 1]
        rest = [m for m in movers if m not in alone]
        either = Outcomes(total=2 ** len(rest))
        either.add(Key(EMPTY, NONE), Tally(1))
        if rest:
            first = frozenset(rest[:1])
            either.add(Key(first, NONE), Tally(either.total - 1, running=first))
        return together([*(switch(m, self._facts(m)) for m in alone), either])

    def _mesh(self, block: Edges, movers: Mapping[str, str]) -> Outcomes:
        """A mesh: every choice of running movers is solved."""
        found = Outcomes(total=self._ways(movers))
        for one, tally in together(switch(m, self._facts(m)) for m in movers).legal.items():
            self._count(found, block, movers, tally, one.facts)
        return found

    def _count(self, found: Outcomes, block: Edges, movers: Mapping[str, str], tally: Tally, facts: Facts) -> None:
        """Solve a block with the movers of `tally` running and count what comes of it."""
        heads: dict[str, int] = {}
        for mover in tally.running:
            heads[movers[mover]] = heads.get(movers[mover], 0) + 1
        driven = drive(block, heads)
        reason = self._reason(driven, movers, tally.running)
        if reason:
            found.refuse(reason, tally.number)
            return
        flags = {SIZING} if driven.unsure else set()
        idle = (m for m, branch in movers.items() if m not in tally.running and driven.sign(branch) < 0)
        flags.update(IDLES.format(mover) for mover in idle)
        found.add(Key(driven.flows, facts), tally._replace(flags=frozenset(flags)))

    def _reason(self, driven: Driven, movers: Mapping[str, str], running: frozenset[str]) -> str:
        """Why running movers must not run like this, or nothing."""
        for mover in sorted(running):
            sign = driven.sign(movers[mover])
            if sign == 0:
                return DEAD.get(kind_of(self.net.plant, mover), DEAD["pump"]).format(mover)
            if sign < 0 and movers[mover] not in driven.unsure:
                return BACKWARDS.format(mover)
        return ""


def _joints(flows: frozenset[Flow]) -> frozenset[frozenset[tuple[str, int]]]:
    """Which ends of flowing branches meet; an end is a branch with the direction of flow away from it."""
    meets: dict[str, set[tuple[str, int]]] = {}
    for edge, sign in flows:
        meets.setdefault(edge.start, set()).add((edge.branch, sign))
        meets.setdefault(edge.end, set()).add((edge.branch, -sign))
    return frozenset(map(frozenset, meets.values()))
