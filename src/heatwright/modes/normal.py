"""Knocks out of a joint state what exchanges no heat, and says why a joint state must not be.

An exchanger between two fluids is active when both move and its coolant circuit is grounded: it holds something else
that can give the heat it takes, or take the heat it gives. Moving air takes heat always: what goes round in the air
box alone warms the box until it is let out. It gives heat unless it goes round with nothing warm in it. An inert
exchanger on the hot side is harmless, the heat goes on to the next one; on the cold side it sends liquid back to the
compressor, unless hot gas goes round as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property

from heatwright.modes.fragments import AirPath, Refused
from heatwright.modes.model import Aired, State, Stream
from heatwright.modes.nets import base, is_loss
from heatwright.modes.outcomes import EMPTY
from heatwright.plant.circuits import circuits_of
from heatwright.plant.groups import Groups
from heatwright.plant.model import Plant
from heatwright.plant.parts import Kind, kinds

Circuit = frozenset[str]

MADE_WARM = ("drive_unit", "electronics")

NO_SINK = "the compressor runs with nothing to give its heat to"
NO_SOURCE = "the compressor runs with nothing to take heat from"
DRY = "{} evaporates with nothing flowing past it"
UNGROUNDED = "{} evaporates in coolant that has nothing to take heat from"
CIRCLED = "{} evaporates in air that goes round with nothing to take heat from"
STRANDED = "heat is made with nowhere to go"


class Nature:
    """What the parts of a plant are, as far as heat is concerned; asked very often, so kept."""

    def __init__(self, plant: Plant) -> None:
        self.plant = plant
        self.zones = frozenset(part.name for part in plant.of_kind("zone"))
        self._kinds: dict[str, Kind] = {name: kinds()[part.kind] for name, part in plant.parts.items()}

    def kind(self, link: str) -> Kind:
        """Kind of the part a link belongs to."""
        found = self._kinds.get(link)
        if found is None:
            found = self._kinds[link] = self._kinds[base(link)]
        return found

    @cached_property
    def cooled(self) -> frozenset[str]:
        """Drive units and electronics that stand in a coolant line."""
        lines = {name for branch in self.plant.nets["coolant"].branches for name in branch.parts}
        return frozenset(part.name for part in self.plant.of_kind(*MADE_WARM) if part.name in lines)

    @cached_property
    def compressors(self) -> Mapping[str, str]:
        """Part of a refrigerant circuit -> its compressor."""
        named = {part.name for part in self.plant.of_kind("compressor")}
        found: dict[str, str] = {}
        for circuit in circuits_of(self.plant):
            inside = {name for branch in circuit for name in branch.parts}
            found |= dict.fromkeys(inside, next(iter(inside & named)))
        return found

    def told_apart(self, reason: str, stream: Stream) -> str:
        """A reason that names the compressor where the plant has several."""
        own = {self.compressors[base(link)] for link in stream.hot | stream.cold if base(link) in self.compressors}
        several = len(set(self.compressors.values())) > 1
        return reason.replace("the compressor", own.pop(), 1) if several and own else reason

    def bridges(self, link: str) -> bool:
        """Whether it is one side of an exchanger between two coolant circuits."""
        return bool(self.kind(link).sides) and not is_loss(link)

    def body(self, link: str) -> bool:
        """Whether it stores heat: it then matters even alone in a circuit."""
        return self.kind(link).role == "body" and not is_loss(link)

    def makes(self, link: str) -> bool:
        """Whether it makes heat of electricity."""
        return is_loss(link) or self.kind(link).role == "heater"

    def wet_and(self, link: str, fluid: str) -> bool:
        """Whether it is an exchanger between coolant and another fluid."""
        kind = self.kind(link)
        return kind.role == "exchanger" and "coolant" in kind.fluids and fluid in kind.fluids

    def outward(self, link: str) -> bool:
        """Whether what it does depends on another net."""
        kind = self.kind(link)
        return kind.role == "exchanger" and (len(kind.fluids) > 1 or bool(kind.sides))


class Joint:
    """One joint state of all nets on its way to its normal form."""

    def __init__(self, nature: Nature, circuits: Iterable[Circuit], streams: Iterable[Stream], air: Iterable[AirPath]):
        self.nature = nature
        self.circuits = list(circuits)
        self.streams = list(streams)
        paths = list(air)
        self.aired: Mapping[str, Aired] = {one.part: one for path in paths for one in path.parts}
        self.feed = frozenset(feed for path in paths for feed in path.feed)
        self.where = {link: number for number, circuit in enumerate(self.circuits) for link in circuit}
        self.cluster = self._clusters()

    def _clusters(self, without: str = "") -> list[list[int]]:
        """For each circuit those it exchanges heat with through coolant exchangers (but one), itself among them."""
        groups: Groups[str] = Groups()
        for name, number, other in self._bridged():
            if name != without:
                groups.merge(str(number), str(other))
        heads = [groups.head(str(number)) for number in range(len(self.circuits))]
        return [[other for other, head in enumerate(heads) if head == own] for own in heads]

    def _bridged(self) -> Iterator[tuple[str, int, int]]:
        """Coolant exchangers with the two different circuits that each of them joins."""
        for link, number in self.where.items():
            if self.nature.bridges(link):
                for other, far in self.where.items():
                    if far > number and base(other) == base(link):
                        yield base(link), number, far

    def _links(self, link: str) -> Iterator[str]:
        """Every link that shares heat with the circuit a link is in."""
        number = self.where.get(link)
        for other in self.cluster[number] if number is not None else ():
            yield from self.circuits[other]

    def _air_gives(self, link: str) -> bool:
        """Whether the air past a part has heat: it comes from a zone or outside, or goes round by something warm."""
        one = self.aired.get(link)
        if one is None:
            return False
        return bool(one.zones) or link not in one.after or any(map(self._warms_air, one.after))

    def _warms_air(self, part: str) -> bool:
        """Whether a part in moving air is a heater, is hot, or has something in its coolant that gives heat."""
        if self.nature.makes(part) or any(part in stream.hot for stream in self.streams):
            return True
        links = self._links(part) if self.nature.kind(part).takes else ()
        return any(self._brings(x) or any(x in stream.hot for stream in self.streams) for x in links)

    def _brings(self, link: str) -> bool:
        """Whether a link that meets no cabin air brings heat into its circuit."""
        if self.nature.makes(link):
            return True
        kind = self.nature.kind(link)
        return kind.gives and not self.nature.bridges(link) and not self.nature.wet_and(link, "air")

    def gives(self, link: str) -> bool:
        """Whether a link brings heat into its circuit."""
        if self.nature.wet_and(link, "air"):
            return self.nature.kind(link).gives and self._air_gives(link)
        return self._brings(link)

    def takes(self, link: str) -> bool:
        """Whether a link takes heat out of its circuit."""
        if self.nature.makes(link) or (self.nature.wet_and(link, "air") and link not in self.aired):
            return False
        return self.nature.kind(link).takes and not self.nature.bridges(link)

    def active(self, cold: bool) -> list[frozenset[str]]:
        """Active exchangers of each stream on one side.

        One in coolant is grounded by what its circuit holds, or by an exchanger of another stream there that is
        itself active on its far side, or that hot gas feeds.
        """
        found: list[frozenset[str]] = [frozenset()] * len(self.streams)
        while True:
            now = [
                frozenset(x for x in (stream.cold if cold else stream.hot) if self._meets(x, number, cold, found))
                for number, stream in enumerate(self.streams)
            ]
            if now == found:
                return found
            found = now

    def _meets(self, link: str, own: int, cold: bool, found: list[frozenset[str]]) -> bool:
        """Whether an exchanger of stream `own` meets something it can take heat from (`cold`) or give it to."""
        fluids = self.nature.kind(link).fluids
        if "air" in fluids:
            return self._air_gives(link) if cold else link in self.aired
        if "coolant" not in fluids:
            return True
        passed_on = {
            x
            for number, stream in enumerate(self.streams)
            if number != own and (found[number] or (cold and stream.gas))
            for x in (stream.hot if cold else stream.cold)
        }
        can = self.gives if cold else self.takes
        return any(can(other) or other in passed_on for other in self._links(link))

    def normal(self) -> State | Refused:
        """The state with the inert knocked out, or why it must not be."""
        hot, cold = self.active(False), self.active(True)
        for number, stream in enumerate(self.streams):
            refused = self._refused(stream, hot[number], cold[number])
            if refused is not None:
                return refused
        heating, cooling = EMPTY.union(*hot), EMPTY.union(*cold)
        if self._stranded(cooling):
            return Refused(STRANDED)
        circuits = self._kept(heating, cooling)
        live = {base(link) for circuit in circuits for link in circuit} | heating | cooling
        kept = {part for part in self.aired if part in live or self.nature.makes(part)}
        return State(
            circuits=circuits,
            streams=frozenset(
                Stream(hot[number], cold[number], stream.gas and not cold[number])
                for number, stream in enumerate(self.streams)
            ),
            air=frozenset(Aired(part, self.aired[part].zones, self.aired[part].after & kept) for part in kept),
            feed=self.feed,
        )

    def _refused(self, stream: Stream, hot: frozenset[str], cold: frozenset[str]) -> Refused | None:
        if not hot:
            return Refused(self.nature.told_apart(NO_SINK, stream))
        if stream.gas or (cold and cold == stream.cold):
            return None
        if not stream.cold:
            return Refused(self.nature.told_apart(NO_SOURCE, stream))
        dry = min(stream.cold - cold)
        return Refused((UNGROUNDED if dry in self.where else CIRCLED if dry in self.aired else DRY).format(dry))

    def _stranded(self, cooling: frozenset[str]) -> bool:
        """Whether some circuit makes heat that nothing takes."""
        return any(
            self.nature.makes(link) and not any(self.takes(x) or x in cooling for x in self._links(link))
            for link in self.where
        )

    def _matters(self, link: str, heating: frozenset[str], cooling: frozenset[str]) -> bool:
        """Whether a link of a coolant circuit exchanges heat with anything else in it.

        Bodies and heaters always matter, refrigerant exchangers where they are active. What is left meets cabin air
        or the wind: it matters where something else of another kind gives what it takes, or takes what it gives.
        """
        if self.nature.body(link) or self.nature.makes(link) or link in heating or link in cooling:
            return True
        kind = self.nature.kind(link)
        others = [x for x in self._links(link) if self.nature.kind(x) is not kind]
        given = self.takes(link) and any(self.gives(x) or x in heating for x in others)
        return given or (self.gives(link) and any(self.takes(x) or x in cooling for x in others))

    def _kept(self, heating: frozenset[str], cooling: frozenset[str]) -> frozenset[Circuit]:
        """The circuits with their active links; one that is left with a lone link that stores nothing is gone."""
        own = [frozenset(x for x in circuit if self._matters(x, heating, cooling)) for circuit in self.circuits]
        bridges = self._live_bridges(heating, cooling)
        kept = [
            links | {base(x) for x in circuit if base(x) in bridges and self.nature.bridges(x)}
            for links, circuit in zip(own, self.circuits, strict=True)
        ]
        return frozenset(links for links in kept if len(links) > 1 or any(self.nature.body(link) for link in links))

    def _live_bridges(self, heating: frozenset[str], cooling: frozenset[str]) -> set[str]:
        """Coolant exchangers with something that gives heat on one side and something that takes it on the other."""
        live = set()
        for name, *ends in self._bridged():
            clusters = self._clusters(without=name)
            sides = [[link for number in clusters[end] for link in self.circuits[number]] for end in ends]
            giving = [any(self.gives(link) or link in heating for link in side) for side in sides]
            taking = [any(self.takes(link) or link in cooling for link in side) for side in sides]
            if (giving[0] and taking[1]) or (giving[1] and taking[0]):
                live.add(name)
        return live
