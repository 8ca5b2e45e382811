"""Titles of modes in plain words: what refrigerant does, what each coolant circuit does, heaters, air."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from heatwright.modes.model import ELECTRICITY, State
from heatwright.modes.nets import base, is_loss
from heatwright.modes.sides import Lifted, Loop, Sides

NOTHING = "everything off"
NO_MORE = "nothing more"
BETWEEN = "; "
CABIN = "cabin"


def titles_of(states: Iterable[Sides]) -> dict[State, str]:
    """A title for every state, no two alike.

    Where two would read alike, what only some of them have is named: first the exchangers at work, then everything
    link by link.
    """
    sides: dict[State, Sides] = {}
    phrases: dict[State, tuple[str, ...]] = {}
    for one in states:
        sides[one.state], phrases[one.state] = one, phrases_of(one)
    for more in (_extras, _spelled):
        for group in _alike(phrases):
            for state, phrase in more([sides[state] for state in group]).items():
                phrases[state] = (*phrases[state], phrase)
    return {state: BETWEEN.join(found)[:1].upper() + BETWEEN.join(found)[1:] for state, found in phrases.items()}


def short_titles(titles: Iterable[str]) -> list[str]:
    """Each title without what all of them say; NO_MORE where nothing is left."""
    parts = [(title[:1].lower() + title[1:]).split(BETWEEN) for title in titles]
    common = set.intersection(*map(set, parts)) if parts else set()
    return [BETWEEN.join(part for part in found if part not in common) or NO_MORE for found in parts]


def phrases_of(sides: Sides) -> tuple[str, ...]:
    """What a state does, a phrase a thing: refrigerant, coolant circuits, heaters, air."""
    found: list[str] = []
    for lifted in sides.lifts:
        found += _lifting(sides.nature.zones, lifted)
    found += [phrase for phrase in (_circulating(sides, loop) for loop in sides.loops) if phrase]
    heating = [one.part for one in sides.state.air if sides.nature.makes(one.part)]
    found += [f"{listed(names)} on" for names in (heating, sides.state.pads) if names]
    if sides.state.feed:
        found.append(_blowing(sides) + ("" if found else " only"))
    return tuple(found) or (NOTHING,)


def listed(names: Iterable[str]) -> str:
    """'a, b and c' in the order of the alphabet, underscores as spaces."""
    words = sorted(name.replace("_", " ") for name in names)
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def places(zones: frozenset[str], names: Iterable[str], twins: Mapping[str, str] | None = None) -> str:
    """Places listed; electricity is made heat, and all `zones` of a car with several are its cabin.

    With `twins`, a place named without its twin is either of the two: "left (or right)".
    """
    found = {"made heat" if name == ELECTRICITY else name for name in names}
    if len(zones) > 1 and zones <= found:
        found = found - zones | {_cabin(zones)}
    alone = {name: twin for name, twin in (twins or {}).items() if name in found and twin not in found}
    return listed(f"{name} (or {alone[name]})" if name in alone else name for name in found)


def flows(zones: frozenset[str], pairs: Iterable[tuple[str, str]], twins: Mapping[str, str] | None = None) -> str:
    """'from a and b to c, between d and e': pairs gathered by where they start and end, those both ways last."""
    every = _zones_as_one(zones, set(pairs))
    mutual = {(a, b) for a, b in every if a < b and (b, a) in every}
    ends: dict[str, set[str]] = {}
    for start, end in every - mutual - {(b, a) for a, b in mutual}:
        ends.setdefault(start, set()).add(end)
    starts: dict[frozenset[str], set[str]] = {}
    for start, found in ends.items():
        starts.setdefault(frozenset(found), set()).add(start)
    order = sorted(starts.items(), key=lambda item: sorted(item[1]))
    said = [f"from {places(zones, some, twins)} to {places(zones, others, twins)}" for others, some in order]
    both_ways = ", ".join(places(zones, pair, twins) for pair in sorted(mutual))
    return ", ".join([*said, *([f"between {both_ways}"] if both_ways else [])])


def _cabin(zones: frozenset[str]) -> str:
    """What all the zones together are called."""
    return f"whole {CABIN}" if CABIN in zones else CABIN


def _zones_as_one(zones: frozenset[str], pairs: set[tuple[str, str]]) -> set[tuple[str, str]]:
    """The pairs with the cabin in the place of its zones, where all of several zones stand in the same pairs."""
    whole = _cabin(zones)
    images = [
        {(whole if a == zone else a, whole if b == zone else b) for a, b in pairs if zone in (a, b)} for zone in zones
    ]
    if len(zones) < 2 or any(image != images[0] for image in images):
        return pairs
    return {pair for pair in pairs if not zones & set(pair)} | images[0]


def _lifting(zones: frozenset[str], lifted: Lifted) -> list[str]:
    """What one running refrigerant circuit does."""
    if lifted.pairs:
        first = f"heat lifted {flows(zones, lifted.pairs)}"
    elif lifted.gas or lifted.heated:
        what = "hot gas" if lifted.gas else "compressor's own work"
        first = f"{what} warms {places(zones, lifted.given)}"
    else:
        first = f"heat lifted from {places(zones, lifted.drawn)} to {places(zones, lifted.given)}"
    if not lifted.dried:
        return [first]
    every = lifted.dried == zones
    return [first, "air dried" if every else f"air to {listed(lifted.dried)} dried"]


def _circulating(sides: Sides, loop: Loop) -> str:
    """What one coolant circuit does, or nothing where the refrigerant's phrase has said it."""
    if len(loop) == 1:
        return f"{listed(loop)} coolant stirred"
    gives, takes, both, made = _in_loop(sides, loop)
    ends = places(sides.nature.zones, takes)
    if made:
        ends = places(sides.nature.zones, takes | both)
        losing = listed(base(link) for link in loop if is_loss(link))
        if losing:
            others = f"{listed(gives - {losing})} and " if gives - {losing} else ""
            return f"{others}{losing} making heat" + (f" for {ends}" if ends else "")
        verb = "warms" if len(gives) == 1 else "warm"
        return f"{listed(gives)} {verb} {ends}" if ends else f"{listed(gives)} on"
    if takes and (gives or both):
        return f"{places(sides.nature.zones, gives | both)} to {ends}"
    if gives and both and not any(link in sides.active for link in loop):
        return f"{places(sides.nature.zones, gives)} to {listed(both)}"
    return f"{places(sides.nature.zones, gives | both)} in one circuit" if len(gives | both) > 1 else ""


def _in_loop(sides: Sides, loop: Loop) -> tuple[set[str], set[str], set[str], bool]:
    """What a circuit holds by name: what only gives heat, what it ends in, packs, and whether heat is made."""
    gives: set[str] = set()
    takes: set[str] = set()
    both: set[str] = set()
    made = False
    for link in loop:
        kind = sides.nature.kind(link)
        if is_loss(link):
            made = True
        elif kind.sides:
            continue
        elif link in sides.aired and kind.takes:
            takes |= sides.met(link)
        elif link in sides.aired and kind.gives:
            gives |= sides.met(link)
        elif kind.gives and kind.takes:
            (both if kind.role == "body" else takes).add(link)
        elif kind.gives:
            made |= kind.role == "heater"
            gives.add(link)
    return gives, takes, both, made


def _blowing(sides: Sides) -> str:
    by_feed: dict[str, set[str]] = {}
    for zone, feed in sides.state.feed:
        by_feed.setdefault(feed, set()).add(zone)
    every = sides.nature.zones
    inner = "inner return, " if any(one.part in one.after for one in sides.state.air) else ""
    if list(by_feed.values()) == [every]:
        return f"{inner}{next(iter(by_feed))} air"
    return inner + ", ".join(f"{feed} air to {listed(zones)}" for feed, zones in sorted(by_feed.items()))


def _alike(phrases: Mapping[State, tuple[str, ...]]) -> list[list[State]]:
    groups: dict[tuple[str, ...], list[State]] = {}
    for state, found in phrases.items():
        groups.setdefault(found, []).append(state)
    return [group for group in groups.values() if len(group) > 1]


def _extras(group: list[Sides]) -> dict[State, str]:
    """For each state the exchangers at work in it that are not at work in all of the group."""
    at_work = [_at_work(one) for one in group]
    common = frozenset.intersection(*at_work)
    return {
        one.state: f"with {listed(found - common)}" for one, found in zip(group, at_work, strict=True) if found - common
    }


def _at_work(sides: Sides) -> frozenset[str]:
    in_loops = {link for loop in sides.loops for link in loop if sides.nature.kind(link).role == "exchanger"}
    return frozenset(in_loops | sides.active | set(sides.aired))


def _spelled(group: list[Sides]) -> dict[State, str]:
    """For each state everything in it, link by link."""
    found = {}
    for one in group:
        said = [" + ".join(sorted(link.replace("_", " ") for link in loop)) for loop in one.state.circuits]
        said += [f"{listed(s.hot) or 'none'} hot, {listed(s.cold) or 'none'} cold" for s in one.state.streams]
        said += [f"{listed([a.part])} to {listed(a.zones)} behind {listed(a.after) or 'none'}" for a in one.state.air]
        found[one.state] = f"in full: {' | '.join(sorted(said))}"
    return found
