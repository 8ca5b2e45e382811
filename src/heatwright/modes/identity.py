"""The canonical text of a state, and the short id made of it: equal states have equal ids, in any plant."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from hashlib import blake2b

from heatwright.modes.model import Aired, State, Stream
from heatwright.plant.model import Plant

ALPHABET = "0123456789abcdefghjkmnpqrstvwxyz"
LENGTH = 6
LONGEST = 25


def id_names(plant: Plant) -> dict[str, str]:
    """Name -> the name ids are made of, for parts that say `was`."""
    former = {name: str(part.values.get("was") or "") for name, part in plant.parts.items()}
    return {name: was for name, was in former.items() if was}


def mirror_names(plant: Plant) -> dict[str, str]:
    """Name -> its twin, both ways."""
    return {a: b for one, other in plant.mirror for a, b in ((one, other), (other, one))}


def renamed(state: State, names: Mapping[str, str]) -> State:
    """The same state with other names; the part of `NAME.loss` before the dot is renamed too."""

    def new(name: str) -> str:
        base, dot, rest = name.partition(".")
        return names.get(base, base) + dot + rest

    def each(group: Iterable[str]) -> frozenset[str]:
        return frozenset(new(name) for name in group)

    return State(
        circuits=frozenset(each(circuit) for circuit in state.circuits),
        streams=frozenset(Stream(each(s.hot), each(s.cold), s.gas) for s in state.streams),
        air=frozenset(Aired(new(a.part), each(a.zones), each(a.after)) for a in state.air),
        feed=frozenset((new(zone), feed) for zone, feed in state.feed),
        pads=each(state.pads),
    )


def canonical_text(state: State, names: Mapping[str, str] | None = None) -> str:
    """One line that says the whole state, everything sorted; `names` as from `id_names`."""
    if names:
        state = renamed(state, names)
    circuits = sorted(_joined(circuit) for circuit in state.circuits)
    streams = sorted(f"hot {_joined(s.hot)} cold {_joined(s.cold)}{' gas' if s.gas else ''}" for s in state.streams)
    aired = sorted(f"{a.part}>{_joined(a.zones)}<{_joined(a.after)}" for a in state.air)
    feed = sorted(f"{zone}={kind}" for zone, kind in state.feed)
    pads = _joined(state.pads)
    return f"C:{';'.join(circuits)}|R:{';'.join(streams)}|A:{';'.join(aired)}/{';'.join(feed)}|P:{pads}"


def folded_text(state: State, twins: Mapping[str, str], names: Mapping[str, str] | None = None) -> str:
    """The canonical text that a state and its mirror image share."""
    own = canonical_text(state, names)
    return min(own, canonical_text(renamed(state, twins), names)) if twins else own


def short_id(text: str, length: int = LENGTH) -> str:
    """The first `length` base-32 characters of the text's digest."""
    number = int.from_bytes(blake2b(text.encode(), digest_size=16).digest(), "big")
    return "".join(ALPHABET[number >> 5 * place & 31] for place in range(length))


def ids_of(texts: Iterable[str]) -> dict[str, str]:
    """Text -> id. Texts whose short ids clash get longer ones, all of them."""
    ids: dict[str, str] = {}
    todo, length = set(texts), LENGTH
    while todo and length <= LONGEST:
        sharing: dict[str, list[str]] = {}
        for text in todo:
            sharing.setdefault(short_id(text, length), []).append(text)
        ids.update({found[0]: one for one, found in sharing.items() if len(found) == 1})
        todo = {text for found in sharing.values() if len(found) > 1 for text in found}
        length += 1
    return ids


def _joined(names: Iterable[str]) -> str:
    return ",".join(sorted(names))
