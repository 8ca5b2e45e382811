"""What lies behind the links of a state: the places heat comes from and goes to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from heatwright.modes.model import AIR_BOX, ELECTRICITY, OUTSIDE, State, Stream
from heatwright.modes.nets import base, is_loss
from heatwright.modes.normal import Nature

Loop = frozenset[str]
Reached = frozenset[tuple[str, str]]
"""(place, the part in the air through which it is met, or "")."""


@dataclass(frozen=True)
class Lifted:
    """What one running refrigerant circuit does.

    `pairs` are (from, to) that it lifts heat between, `dried` the zones whose air it cools and warms again,
    `drawn` the places it takes heat from and `given` those it gives heat to. `self_fed` says that it draws on
    nothing but what it heats; `cancelled` holds (cold, hot) exchangers whose lifts cancel because both meet the
    same coolant, or the same body.
    """

    gas: bool
    pairs: frozenset[tuple[str, str]]
    dried: frozenset[str]
    drawn: frozenset[str]
    given: frozenset[str]
    self_fed: bool
    cancelled: frozenset[tuple[str, str]]

    @property
    def heated(self) -> frozenset[str]:
        """The places inside the car that get the compressor's work."""
        return self.given - {OUTSIDE}


class Sides:
    """A state with the questions that moves, needs and titles ask of it."""

    def __init__(self, nature: Nature, state: State) -> None:
        self.nature, self.state = nature, state
        self.aired = {one.part: one for one in state.air}
        self.loops = joined_loops(nature, state.circuits)
        self.loop_of = {base(link): loop for loop in self.loops for link in loop}
        self.active = frozenset(name for stream in state.streams for name in stream.hot | stream.cold)

    def met(self, part: str) -> frozenset[str]:
        """The places that a part in moving air meets: the zones it feeds, else the air box or what is outside."""
        one = self.aired[part]
        return one.zones or frozenset({AIR_BOX if part in one.after else OUTSIDE})

    def gives(self, link: str) -> bool:
        """Whether a link of a coolant circuit can bring heat into it."""
        return self.nature.makes(link) or (self.nature.kind(link).gives and not self.nature.bridges(link))

    def takes(self, link: str) -> bool:
        """Whether a link of a coolant circuit can take heat out of it."""
        return not is_loss(link) and self.nature.kind(link).takes and not self.nature.bridges(link)

    def sources(self, loop: Loop, skip: frozenset[Stream] = frozenset()) -> Reached:
        """The places a coolant loop can take heat from; condensers of other circuits count with what they draw on."""
        found = {one for link in loop if self.gives(link) for one in self._places(link)}
        for stream in self.state.streams - skip:
            if stream.hot & loop:
                found |= self.behind(stream, stream.cold, True, skip | {stream})
        return frozenset(found)

    def sinks(self, loop: Loop, skip: frozenset[Stream] = frozenset()) -> Reached:
        """The places a coolant loop can give heat to; chillers of other circuits count with what they warm."""
        found = {one for link in loop if self.takes(link) for one in self._places(link)}
        for stream in self.state.streams - skip:
            if stream.cold & loop:
                found |= self.behind(stream, stream.hot, False, skip | {stream})
        return frozenset(found)

    def behind(
        self, stream: Stream, exchangers: Iterable[str], cold: bool, skip: frozenset[Stream] = frozenset()
    ) -> set[tuple[str, str]]:
        """The places that some of a refrigerant circuit's exchangers take heat from (`cold`) or give it to."""
        found: set[tuple[str, str]] = set()
        for name in exchangers:
            loop = self.loop_of.get(name)
            if loop is None:
                found |= self._places(name)
            else:
                found |= (self.sources if cold else self.sinks)(loop, skip | {stream})
        return found

    @cached_property
    def lifts(self) -> tuple[Lifted, ...]:
        """What each running refrigerant circuit does, in a fixed order."""
        order = sorted(self.state.streams, key=lambda one: (sorted(one.hot), sorted(one.cold)))
        return tuple(self._lifted(stream) for stream in order)

    def _lifted(self, stream: Stream) -> Lifted:
        cold = {one: self.behind(stream, [one], True) for one in stream.cold}
        hot = {one: self.behind(stream, [one], False) for one in stream.hot}
        pairs, dried, cancelled = set(), set(), set()
        for c, below in cold.items():
            for h, above in hot.items():
                if c in self.loop_of and self.loop_of[c] is self.loop_of.get(h):
                    cancelled.add((c, h))
                    continue
                for start, end in ((a, b) for a in below for b in above):
                    if start[0] != end[0] and not self._one_stream_of_air(start[1], end[1]):
                        pairs.add((start[0], end[0]))
                    elif start[0] == end[0] in self.nature.zones and start[1] and end[1]:
                        dried.add(start[0])
                    elif start[0] == end[0] not in (OUTSIDE, AIR_BOX):
                        cancelled.add((c, h))
        drawn = frozenset(place for below in cold.values() for place, _ in below)
        given = frozenset(place for above in hot.values() for place, _ in above)
        ringed = bool(cancelled) or any(c in self.aired and c in self.aired[c].after for c in stream.cold)
        self_fed = ringed or drawn - {ELECTRICITY} <= given - {OUTSIDE}
        return Lifted(stream.gas, frozenset(pairs), frozenset(dried), drawn, given, self_fed, frozenset(cancelled))

    def _one_stream_of_air(self, one: str, other: str) -> bool:
        """Whether one of two parts stands upstream of the other in the same air."""
        if not one or not other:
            return False
        return one in self.aired[other].after or other in self.aired[one].after

    def _places(self, link: str) -> set[tuple[str, str]]:
        """The places behind one link that is no exchanger between refrigerant and coolant."""
        if self.nature.makes(link):
            return {(ELECTRICITY, "")}
        if link in self.aired:
            return {(place, link) for place in self.met(link)}
        if self.nature.body(link):
            return {(link, "")}
        body = self.nature.plant.parts[link].values.get("on")
        return {(body, "")} if body else {(OUTSIDE, "")}


def joined_loops(nature: Nature, circuits: Iterable[Loop]) -> tuple[Loop, ...]:
    """The coolant circuits, those that exchange heat through a coolant exchanger taken as one."""
    loops: list[Loop] = []
    for circuit in sorted(circuits, key=sorted):
        loop = circuit
        meets = {base(link) for link in circuit if nature.bridges(link)}
        for other in [one for one in loops if meets and meets & {base(link) for link in one}]:
            loops.remove(other)
            loop |= other
        loops.append(loop)
    return tuple(loops)
