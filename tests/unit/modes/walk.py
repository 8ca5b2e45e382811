"""Every actuator combination of a plant, sorted by what it does: the atlas once more, from its definitions alone.

Nets are walked one by one, state by state (`walk_nets`); their distinct states are joined in full. It is slow and
plain on purpose and shares no code with `heatwright.modes` but the records of `model`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import product
from math import prod

from modes.walk_nets import BODIES, Facet, Illegal, walk_nets

from heatwright.modes.model import Aired, State, Stream
from heatwright.plant.model import Plant

GIVES = ("pack", "drive_unit", "electronics", "radiator", "coolant_heater", "cooler_core", "loss")
MAKES = ("coolant_heater", "loss")
TAKES = ("pack", "radiator", "heater_core")
CORES = ("heater_core", "cooler_core")
NEVER_STILL = ("outdoor_coil", "refrigerant_plate")
"""Exchangers whose other side is always there: outside air, or a body they lie on."""


@dataclass(frozen=True)
class Walk:
    """How often each state occurs, how many combinations are illegal, in how many net states sizes decide."""

    states: Mapping[State, int]
    combinations: int
    illegal: int
    unsure: int


def walk(plant: Plant, frozen: Mapping[str, str] | None = None) -> Walk:
    """Visit every combination of every net of a plant and join the nets' distinct states in full.

    `frozen` holds actuators in one state each.
    """
    nets = walk_nets(plant, frozen)
    held = frozen or {}
    pads = {pad.name: (held[pad.name],) if pad.name in held else ("off", "on") for pad in plant.of_kind("pad")}
    states: Counter[State] = Counter()
    for facets in product(*(net.facets.items() for net in nets)):
        count = prod(number for _, number in facets)
        for told in product(*pads.values()):
            state = _joined(plant, [facet for facet, _ in facets], dict(zip(pads, told, strict=True)))
            if state is not None:
                states[state] += count
    combinations = prod(net.size for net in nets) * prod(len(choices) for choices in pads.values())
    return Walk(states, combinations, combinations - states.total(), sum(net.unsure for net in nets))


def _joined(plant: Plant, facets: list[Facet], pads: Mapping[str, str]) -> State | None:
    """The state of all nets together without what is inert; None where it is illegal."""
    holds = {literal for facet in facets for literal in facet.holds}
    holds |= set(pads.items())
    if any(holds.issuperset(rule) for _, rule in plant.never):
        return None
    joint = Joint(plant, facets)
    try:
        joint.check()
    except Illegal:
        return None
    return joint.state(frozenset(name for name, told in pads.items() if told == "on"))


class Joint:
    """All nets at once: who is active, and whether anything is wrong with it."""

    def __init__(self, plant: Plant, facets: Iterable[Facet]) -> None:
        self.plant = plant
        together = list(facets)
        self.circuits = [circuit for facet in together for circuit in facet.circuits]
        self.streams = [facet.roles for facet in together if facet.roles is not None]
        self.air = {through.part: through for facet in together for through in facet.air}
        self.feed = frozenset(pair for facet in together for pair in facet.feed)
        self.role = {name: (number, role) for number, (hot, cold, _) in enumerate(self.streams)
                     for names, role in ((hot, "hot"), (cold, "cold")) for name in names}  # fmt: skip
        links = {link for circuit in self.circuits for link in circuit}
        self.active = {name for name in links.union(self.role, self.air) if self._is_active(name)}

    def kind(self, link: str) -> str:
        """The kind of a link's part, or "loss" for heat made on purpose."""
        return "loss" if link.endswith(".loss") else self.plant.part_at(link).kind

    def gives(self, link: str) -> bool:
        """Whether a link of a flowing circuit can be a source of heat for it."""
        if self.kind(link) == "cooler_core":
            return link in self.air and self._warm_air(link)
        return self._is_hot(link) or self.kind(link) in GIVES

    def _is_hot(self, link: str) -> bool:
        return self.role.get(link, (0, ""))[1] == "hot"

    def _warm_air(self, part: str) -> bool:
        """Whether air has heat for a part: it comes from a zone or outside, or passes something warm going round."""
        one = self.air[part]
        goes_round = not one.zones and part in one.after
        return not goes_round or any(map(self._warms, one.after))

    def _warms(self, part: str) -> bool:
        """Whether a part warms the air that passes it: a heater, a hot coil, a core in coolant that is warmed."""
        circuit = next((one for one in self.circuits if part in one), frozenset())
        near = self._near(circuit)
        warm = any(self._is_hot(one) or (self.kind(one) in GIVES and self.kind(one) not in CORES) for one in near)
        return self.kind(part) == "air_heater" or self._is_hot(part) or (self.kind(part) == "heater_core" and warm)

    def takes(self, link: str) -> bool:
        """Whether a link of a flowing circuit can be a sink for its heat."""
        cold = self.role.get(link, (0, ""))[1] == "cold"
        return cold or (self.kind(link) in TAKES and (self.kind(link) not in CORES or link in self.air))

    def _is_active(self, link: str) -> bool:
        """Whether a link exchanges heat: bodies and heaters do, an exchanger where both sides flow and have a use."""
        kind = self.kind(link)
        if kind in ("evaporator", "cabin_condenser", "cabin_coil"):
            return link in self.air and link in self.role and (self._is_hot(link) or self._warm_air(link))
        if kind in NEVER_STILL or kind in (*MAKES, *BODIES, "air_heater"):
            return True
        circuit = next((one for one in self.circuits if link in one), None)
        if circuit is None or (kind in CORES and link not in self.air):
            return False
        if kind == "cooler_core" and not self._warm_air(link):
            return False
        if kind == "coolant_exchanger":
            return self._passes(link, circuit)
        stream, role = self.role.get(link, (None, ""))
        others = [one for one in self._near(circuit) - {link} if self.role.get(one, (-1, ""))[0] != stream]
        if kind == "radiator":
            return any(self.gives(one) or self.takes(one) for one in others if self.kind(one) != "radiator")
        if kind == "heater_core" or role == "cold":
            return any(map(self.gives, others))
        return (kind == "cooler_core" or role == "hot") and any(map(self.takes, others))

    def _near(self, circuit: frozenset[str], without: str = "") -> frozenset[str]:
        """The links of a circuit and of those it meets through coolant exchangers other than one."""
        across = {_far_side(one) for one in circuit if self.kind(one) == "coolant_exchanger"}
        across = {one for one in across if one.partition(".")[0] != without}
        more = circuit.union(*(one for one in self.circuits if one & across))
        return circuit if more == circuit else self._near(more, without)

    def _passes(self, side: str, circuit: frozenset[str]) -> bool:
        """Whether a coolant exchanger stands between two circuits, one of which gives what the other takes."""
        far = next((one for one in self.circuits if _far_side(side) in one), circuit)
        if far is circuit:
            return False
        here, there = (self._near(one, side.partition(".")[0]) for one in (circuit, far))
        return self._flows(here, there) or self._flows(there, here)

    def _flows(self, one: frozenset[str], other: frozenset[str]) -> bool:
        """Whether something in one set gives what something in the other takes; a stream does not feed itself."""
        return any(
            self.role.get(source, (-1, ""))[0] != self.role.get(sink, (-2, ""))[0]
            for source in filter(self.gives, one)
            for sink in filter(self.takes, other)
        )

    def check(self) -> None:
        """Raise Illegal where a stream or a heater cannot get rid of heat or finds none."""
        for hot, cold, gas in self.streams:
            evaporates = bool(cold) and cold <= self.active
            if not hot & self.active or not (gas or evaporates):
                raise Illegal
        for circuit in self.circuits:
            sunk = any(self.takes(link) and link in self.active for link in self._near(circuit))
            if not sunk and any(self.kind(link) in MAKES for link in circuit):
                raise Illegal

    def state(self, pads: frozenset[str]) -> State:
        """What is left when the inert is knocked out; hot gas beside a source only trims and is no mode of its own."""
        circuits = {
            frozenset(link if self.kind(link) == "loss" else link.partition(".")[0] for link in circuit & self.active)
            for circuit in self.circuits
        }
        streams = [
            Stream(hot & self.active, cold & self.active, gas and not cold & self.active)
            for hot, cold, gas in self.streams
        ]
        air = [
            Aired(one.part, one.zones, one.after & self.active) for one in self.air.values() if one.part in self.active
        ]
        return State(frozenset(circuits - {frozenset()}), frozenset(streams), frozenset(air), self.feed, pads)


def _far_side(side: str) -> str:
    """`plate.b` for `plate.a`, and the other way round."""
    name, _, end = side.partition(".")
    return f"{name}.{'b' if end == 'a' else 'a'}"
