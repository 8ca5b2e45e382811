"""What a refrigerant circuit must have between the outlet of its compressor and its inlet."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

from heatwright.plant.groups import joined
from heatwright.plant.mistakes import Mistakes, listed
from heatwright.plant.model import Branch, End, Part, Plant
from heatwright.plant.parts import kinds

Junction = tuple[str, str]
ORDER = "the order is compressor > warm side > expansion > cold side > compressor"


def circuits_of(plant: Plant) -> tuple[tuple[Branch, ...], ...]:
    """The branches of every refrigerant circuit that has a compressor, in the order the compressors are declared."""
    groups = [tuple(group) for group in connected(plant.nets["refrigerant"].branches)]
    compressors = [part.name for part in plant.of_kind("compressor")]
    return tuple(group for name in compressors for group in groups if any(name in branch.parts for branch in group))


def connected(branches: list[Branch] | tuple[Branch, ...]) -> list[list[Branch]]:
    """Groups of branches that hang together when every valve is taken as open."""
    return joined(branches, lambda branch: (_junction(branch.start), _junction(branch.end)))


def _junction(end: End) -> Junction:
    """All ports of a valve, and all outlets of a zone, count as one place."""
    return (end.kind, end.name)


def check_compressors(branches: list[Branch], parts: Mapping[str, Part], mistakes: Mistakes) -> bool:
    """One compressor to a circuit, and no exchanger at a pressure between the two of it; whether one had a mistake."""
    before = len(mistakes.problems)
    for group in connected(branches):
        named = [name for branch in group for name in branch.parts if parts[name].kind == "compressor"]
        if len(named) > 1:
            found = f"{listed(map(repr, named))} are compressors of one circuit"
            hint = "a second circuit has lines of its own that meet no line of the first"
            mistakes.add(("compressor", named[1]), found, "one compressor to a circuit", hint)
    for branch in branches:
        _check_middle(branch, parts, mistakes)
        _check_inner(branch, parts, mistakes)
    return len(mistakes.problems) > before


def _check_middle(branch: Branch, parts: Mapping[str, Part], mistakes: Mistakes) -> None:
    """No exchanger between two throttles of one branch that never stand open."""
    throttles = [
        k for k, name in enumerate(branch.parts)
        if parts[name].kind == "expansion" and "open" not in parts[name].values["states"]
    ]  # fmt: skip
    for first, last in pairwise(throttles):
        between = [name for name in branch.parts[first:last] if kinds()[parts[name].kind].role == "exchanger"]
        if between:
            found = f"'{between[0]}' lies between two throttles, at a middle pressure"
            expected = "two pressures in a circuit: a middle one, as for vapour injection, is not worked out"
            hint = 'take one throttle out, or let it stand open: states = ["throttle", "open"]'
            mistakes.add(("lines", "refrigerant", branch.line), found, expected, hint)


def _check_inner(branch: Branch, parts: Mapping[str, Part], mistakes: Mistakes) -> None:
    """An internal exchanger takes the place of the whole circuit's, so all of the suction gas must pass it."""
    if any(parts[name].kind == "compressor" for name in branch.parts):
        return
    for name in branch.parts:
        if parts[name].kind == "internal_exchanger":
            found = (
                f"internal exchanger '{name}' stands where only a part of the refrigerant passes, or not at all times"
            )
            hint = f"between the last junction and the compressor: ... > {name} > compressor"
            mistakes.add(("lines", "refrigerant", branch.line), found, "a place in the compressor's own line", hint)


def check_circuit(branches: list[Branch], parts: Mapping[str, Part], mistakes: Mistakes) -> None:
    """Every compressor meets an exchanger and then a throttle, forwards, and the same backwards.

    Valves count as open all ways at once, so a plant is refused only where no position at all would do.
    """
    for branch in branches:
        for place, name in enumerate(branch.parts):
            if parts[name].kind == "compressor":
                forwards = _until_throttle(branch, place + 1, 1, branches, parts)
                backwards = _until_throttle(branch, place - 1, -1, branches, parts)
                _check_ways(branch, name, forwards, backwards, mistakes)


def _check_ways(branch: Branch, name: str, forwards: set[str], backwards: set[str], mistakes: Mistakes) -> None:
    path = ("lines", "refrigerant", branch.line)
    if "throttle" not in forwards | backwards:
        found = f"the circuit of '{name}' has no expansion valve"
        mistakes.add(
            path,
            found,
            "an expansion valve between its hot and its cold exchangers",
            "write [expansion.name] and put it between them",
        )
    elif not forwards - {"throttle"}:
        found = f"no exchanger stands between '{name}' and the throttle behind it, so nothing takes its heat"
        mistakes.add(path, found, "an exchanger before the expansion valve", ORDER)
    elif not backwards - {"throttle"}:
        found = f"no exchanger stands between the throttle and '{name}', so nothing gives it heat"
        mistakes.add(path, found, "an exchanger behind the expansion valve", ORDER)


def _until_throttle(
    branch: Branch, place: int, step: int, branches: list[Branch], parts: Mapping[str, Part]
) -> set[str]:
    """The exchangers met before a throttle, in a walk from one place of a branch; "throttle" if one is met."""
    met: set[str] = set()
    seen: set[Junction] = set()
    walks: list[tuple[Branch, int, int]] = [(branch, place, step)]
    while walks:
        along, at, by = walks.pop()
        if not _walk(along, at, by, parts, met):
            continue
        end = along.end if by > 0 else along.start
        junction = (end.kind, end.name)
        if junction not in seen:
            seen.add(junction)
            walks += [(one, 0, 1) for one in branches if (one.start.kind, one.start.name) == junction]
            walks += [(one, len(one.parts) - 1, -1) for one in branches if (one.end.kind, one.end.name) == junction]
    return met


def _walk(branch: Branch, at: int, step: int, parts: Mapping[str, Part], met: set[str]) -> bool:
    """Walk along a branch and note what is met; whether its end is reached."""
    while 0 <= at < len(branch.parts):
        part = parts[branch.parts[at]]
        if part.kind == "expansion":
            met.add("throttle")
            return False
        if part.kind == "compressor":
            return False
        if kinds()[part.kind].role == "exchanger":
            met.add(part.name)
        at += step
    return True
