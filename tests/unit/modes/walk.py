"""Every actuator combination of a plant, sorted by what it does: the atlas once more, from its definitions alone.

Nets are walked one by one, state by state (`walk_nets`); their distinct states are joined in full. It is slow and
plain on purpose and shares no code with `heatwright.modes` but the records of `model`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import product
from math import prod

from modes.walk_nets import Facet, Illegal, Through, walk_nets

from heatwright.modes.model import Aired, State, Stream
from heatwright.plant.model import Plant

GIVES = ("pack", "drive_unit", "electronics", "radiator", "coolant_heater", "cooler_core")
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


def walk(plant: Plant) -> Walk:
    """Visit every combination of every net of a plant and join the nets' distinct states in full."""
    nets = walk_nets(plant)
    pads = [part.name for part in plant.of_kind("pad")]
    states: Counter[State] = Counter()
    for facets in product(*(net.facets.items() for net in nets)):
        count = prod(number for _, number in facets)
        for on in product((False, True), repeat=len(pads)):
            state = _joined(plant, [facet for facet, _ in facets], dict(zip(pads, on, strict=True)))
            if state is not None:
                states[state] += count
    combinations = prod(net.size for net in nets) * 2 ** len(pads)
    return Walk(states, combinations, combinations - states.total(), sum(net.unsure for net in nets))


def _joined(plant: Plant, facets: list[Facet], pads: Mapping[str, bool]) -> State | None:
    """The state of all nets together without what is inert; None where it is illegal."""
    holds = {literal for facet in facets for literal in facet.holds}
    holds |= {(name, "on" if on else "off") for name, on in pads.items()}
    if any(holds.issuperset(rule) for _, rule in plant.never):
        return None
    joint = Joint(plant, facets)
    try:
        joint.check()
    except Illegal:
        return None
    return joint.state(frozenset(name for name, on in pads.items() if on))


class Joint:
    """All nets at once: who is active, and whether anything is wrong with it."""

    def __init__(self, plant: Plant, facets: Iterable[Facet]) -> None:
        self.kind = {name: part.kind for name, part in plant.parts.items()}
        together = list(facets)
        self.circuits = [circuit for facet in together for circuit in facet.circuits]
        self.streams = [facet.roles for facet in together if facet.roles is not None]
        self.air = {through.part: through for facet in together for through in facet.air}
        self.feed = frozenset(pair for facet in together for pair in facet.feed)
        self.role = {name: (number, role) for number, (hot, cold, _) in enumerate(self.streams)
                     for names, role in ((hot, "hot"), (cold, "cold")) for name in names}  # fmt: skip
        self.active = {name for name in self._exchangers() if self._is_active(name)}

    def _exchangers(self) -> Iterator[str]:
        yield from self.role
        yield from (name for name in self.air if self.kind[name] in CORES)
        yield from (name for circuit in self.circuits for name in circuit if self.kind.get(name) == "radiator")

    def _circuit(self, name: str) -> frozenset[str] | None:
        return next((circuit for circuit in self.circuits if name in circuit), None)

    def gives(self, link: str) -> bool:
        """Whether a link of a flowing circuit can be a source of heat for it."""
        if link.endswith(".loss") or self.role.get(link, (0, ""))[1] == "hot":
            return True
        return self.kind[link] in GIVES and (self.kind[link] not in CORES or link in self.air)

    def takes(self, link: str) -> bool:
        """Whether a link of a flowing circuit can be a sink for its heat."""
        if link.endswith(".loss") or self.role.get(link, (0, ""))[1] == "cold":
            return not link.endswith(".loss")
        return self.kind[link] in TAKES and (self.kind[link] not in CORES or link in self.air)

    def _is_active(self, name: str) -> bool:
        """Whether both sides flow and the coolant on the other side has somewhere to take heat from or bring it to."""
        kind = self.kind[name]
        if kind in ("evaporator", "cabin_condenser", "cabin_coil"):
            return name in self.air
        if kind in NEVER_STILL:
            return True
        circuit = self._circuit(name)
        if circuit is None:
            return False
        stream, role = self.role.get(name, (None, ""))
        others = [link for link in circuit - {name} if self.role.get(link, (-1, ""))[0] != stream]
        needs_source = kind == "heater_core" or role == "cold"
        needs_sink = kind == "cooler_core" or role == "hot"
        sourced, sunk = any(map(self.gives, others)), any(map(self.takes, others))
        if kind == "radiator":
            return any(self.gives(link) or self.takes(link) for link in others if self.kind.get(link) != "radiator")
        return (sourced or not needs_source) and (sunk or not needs_sink)

    def check(self) -> None:
        """Raise Illegal where a stream or a heater cannot get rid of heat or finds none."""
        for hot, cold, gas in self.streams:
            evaporates = bool(cold) and cold <= self.active
            if not hot & self.active or not (gas or evaporates):
                raise Illegal
        for circuit in self.circuits:
            made = any(link.endswith(".loss") or self.kind[link] == "coolant_heater" for link in circuit)
            sunk = any(self.takes(link) and (link in self.active or self.kind[link] == "pack") for link in circuit)
            if made and not sunk:
                raise Illegal

    def state(self, pads: frozenset[str]) -> State:
        """What is left when the inert is knocked out; hot gas beside a source only trims and is no mode of its own."""
        circuits = {frozenset(link for link in circuit if self._stays(link)) for circuit in self.circuits}
        streams = [
            Stream(hot & self.active, cold & self.active, gas and not cold & self.active)
            for hot, cold, gas in self.streams
        ]
        lively = {name for name in self.air if name in self.active or self.kind[name] == "air_heater"}
        air = [self._aired(through, lively) for name, through in self.air.items() if name in lively]
        return State(frozenset(circuits - {frozenset()}), frozenset(streams), frozenset(air), self.feed, pads)

    def _stays(self, link: str) -> bool:
        exchanger = self.kind.get(link) in ("radiator", "chiller", "liquid_condenser", *CORES)
        return link in self.active or not exchanger

    @staticmethod
    def _aired(through: Through, lively: set[str]) -> Aired:
        return Aired(through.part, through.zones, frozenset(through.after & lively))
