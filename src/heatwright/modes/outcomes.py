"""Bookkeeping of combinations: what independent parts of a net come to, and how they multiply.

Nothing is lost: in every Outcomes `sum of the legal counts + sum of the illegal counts == total`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from heatwright.modes.nets import NONE, Facts, Literal

EMPTY: frozenset[Any] = frozenset()


class Key(NamedTuple):
    """What a part comes to (flows, heaters that are on or circuits, as the case may be), and the facts that hold."""

    what: frozenset[Any]
    facts: Facts


class Tally(NamedTuple):
    """How many combinations come to the same, and the best of them.

    `flags` and `running` belong to the best: fewest flags, then fewest running devices, then the earliest.
    `setting` holds the valves and doors decided so far.
    """

    number: int
    flags: frozenset[str] = EMPTY
    running: frozenset[str] = EMPTY
    setting: tuple[Literal, ...] = ()

    def plus(self, other: Tally) -> Tally:
        """Both together; the better of the two stands for them."""
        number = self.number + other.number
        best = other if _cost(other) < _cost(self) else self
        return best._replace(number=number)

    def times(self, other: Tally) -> Tally:
        """Both at once, in independent parts."""
        return Tally(
            self.number * other.number,
            self.flags | other.flags,
            self.running | other.running,
            self.setting + other.setting,
        )


def _cost(tally: Tally) -> tuple[int, int]:
    return len(tally.flags), len(tally.running)


@dataclass
class Outcomes:
    """All the combinations of one part: legal ones by what they come to, illegal ones by reason.

    `plumbings` has the distinct flows behind each legal key, each as a number; numbers of parts add up.
    """

    legal: dict[Key, Tally] = field(default_factory=dict)
    illegal: dict[str, int] = field(default_factory=dict)
    plumbings: dict[Key, set[int]] = field(default_factory=dict)
    total: int = 0

    def add(self, key: Key, tally: Tally, plumbings: Iterable[int] = (0,)) -> None:
        """Count legal combinations."""
        known = self.legal.get(key)
        self.legal[key] = tally if known is None else known.plus(tally)
        self.plumbings.setdefault(key, set()).update(plumbings)

    def refuse(self, reason: str, count: int) -> None:
        """Count illegal combinations."""
        if count:
            self.illegal[reason] = self.illegal.get(reason, 0) + count

    @property
    def legal_count(self) -> int:
        """How many combinations are legal."""
        return sum(tally.number for tally in self.legal.values())


ONE = Outcomes({Key(EMPTY, NONE): Tally(1)}, plumbings={Key(EMPTY, NONE): {0}}, total=1)


def together(parts: Iterable[Outcomes]) -> Outcomes:
    """What independent parts come to at once; a combination is refused for the first part that refuses it."""
    found = ONE
    for part in parts:
        found = _product(found, part)
    return found


def _product(one: Outcomes, other: Outcomes) -> Outcomes:
    if one is ONE:
        return other
    found = Outcomes(total=one.total * other.total)
    for reason, count in one.illegal.items():
        found.refuse(reason, count * other.total)
    legal = one.legal_count
    for reason, count in other.illegal.items():
        found.refuse(reason, count * legal)
    for key, tally in one.legal.items():
        for with_key, with_tally in other.legal.items():
            sums = {a + b for a in one.plumbings[key] for b in other.plumbings[with_key]}
            found.add(Key(key.what | with_key.what, key.facts | with_key.facts), tally.times(with_tally), sums)
    return found


def switch(name: str, facts: Mapping[str, Facts], reason: str = "") -> Outcomes:
    """A device that is off or on, as far as `facts` has the state; with a reason it may only be off."""
    found = Outcomes(total=len(facts))
    if "off" in facts:
        found.add(Key(EMPTY, facts["off"]), Tally(1))
    if "on" in facts and reason:
        found.refuse(reason, 1)
    elif "on" in facts:
        found.add(Key(frozenset({name}), facts["on"]), Tally(1, running=frozenset({name})))
    return found
