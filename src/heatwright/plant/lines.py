"""Reads [lines.*]: text such as "tank > pump > drive > radiator > tank" into the branches of each fluid."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from heatwright.plant.mistakes import NAMES, Mistakes, listed, near
from heatwright.plant.model import FLUIDS, Branch, End, Net, Part
from heatwright.plant.parts import kinds

ARROW = re.compile(r"\s*(>>|>)\s*")
OUTLETS = ("screen", "face", "foot")
TEE = re.compile(r"@[A-Za-z][A-Za-z0-9_]*")


@dataclass
class Plumbing:
    """The branches read so far, where each part and port is used, and which fluids had mistakes."""

    parts: Mapping[str, Part]
    mistakes: Mistakes
    branches: dict[str, list[Branch]] = field(default_factory=lambda: {fluid: [] for fluid in FLUIDS})
    used: dict[tuple[str, str], str] = field(default_factory=dict)
    ports: dict[str, str] = field(default_factory=dict)
    faulty: set[str] = field(default_factory=set)

    def fault(self, fluid: str, line: str, found: str, expected: str = "", hint: str = "") -> None:
        """Note a mistake in a line; the fluid's completeness is then not checked."""
        self.faulty.add(fluid)
        self.mistakes.add(("lines", fluid, line), found, expected, hint)

    def unblown(self) -> list[str]:
        """Zones that air only enters from outside or another zone in one piece, with no tee or door on the way."""
        inward = [branch for branch in self.branches["air"] if branch.end.kind == "zone"]
        blown = {branch.end.name for branch in inward if branch.start.kind in ("tee", "port")}
        return list(dict.fromkeys(one.end.name for one in inward if one.end.name not in blown))

    def nets(self) -> dict[str, Net]:
        """The branches of each fluid, frozen."""
        return {fluid: Net(tuple(self.branches[fluid])) for fluid in FLUIDS}


def read_lines(table: Any, parts: Mapping[str, Part], mistakes: Mistakes) -> Plumbing:
    """Read every line of every fluid; mistakes are noted, not raised."""
    plumbing = Plumbing(parts, mistakes)
    if not isinstance(table, dict):
        mistakes.add(
            ("lines",),
            "'lines' is a table",
            "tables [lines.coolant], [lines.refrigerant], [lines.air]",
            "put the lines below them",
        )
        return plumbing
    for fluid, lines in table.items():
        if fluid not in FLUIDS:
            plumbing.faulty.update(FLUIDS)
        elif not isinstance(lines, dict):
            mistakes.add(
                ("lines", fluid),
                f"[lines.{fluid}] is a table",
                'lines such as name = "a > b > c"',
                "give each line a name",
            )
            plumbing.faulty.add(fluid)
        else:
            for name, text in lines.items():
                mistakes.check_name(("lines", fluid, name), "line")
                _read_line(plumbing, fluid, name, text)
    return plumbing


def _read_line(plumbing: Plumbing, fluid: str, name: str, text: Any) -> None:
    if text is False:
        found = f"line '{name}' is taken away, but the base file has no such line"
        plumbing.fault(fluid, name, found, "a line of the file that is extended", "take it out")
        return
    if not isinstance(text, str):
        plumbing.fault(fluid, name, f"line '{name}' is no text", 'text such as "a > b > c"', "put it between quotes")
        return
    tokens = ARROW.split(text.strip())
    items, arrows = tokens[0::2], tokens[1::2]
    if len(items) < 2 or "" in items:
        found = f"line '{name}' leads nowhere: \"{text}\""
        plumbing.fault(fluid, name, found, 'at least "a > b"', "name what stands on both sides of each >")
        return
    known = [_known(plumbing, fluid, name, item) for item in items]
    if not all(known):
        return
    ring = items[0] == items[-1] and _end(plumbing, items[0]) is None
    if not ring:
        loose = next((item for item in (items[0], items[-1]) if _end(plumbing, item) is None), None)
        if loose is not None:
            plumbing.fault(
                fluid,
                name,
                f"line '{name}' stops at '{loose}', so nothing can flow through it",
                "a valve port, a tank, a tee (@name), a zone, or the first part again to close the ring",
                f"lead it on: {loose} > ..." if loose == items[-1] else f"begin before it: ... > {loose}",
            )
            return
    _cut(plumbing, fluid, name, items, arrows, ring)


def _cut(plumbing: Plumbing, fluid: str, name: str, items: list[str], arrows: list[str], ring: bool) -> None:
    """Cut a line at its junctions and note each piece as a branch."""
    if ring:
        start: End | None = End("tee", f"{name}.ring")
        ends: list[tuple[str, End | None]] = [(item, _end(plumbing, item)) for item in items[:-1]]
        ends.append(("", start))
        arrows = [">", *arrows]
    else:
        start = _end(plumbing, items[0])
        ends = [(item, _end(plumbing, item)) for item in items[1:]]
        _take_port(plumbing, fluid, name, items[0])
    pieces: list[tuple[End, tuple[str, ...], End, bool]] = []
    inside: list[str] = []
    check = False
    for number, ((item, end), arrow) in enumerate(zip(ends, arrows, strict=True)):
        check = check or arrow == ">>"
        if end is None:
            _take_part(plumbing, fluid, name, item)
            inside.append(item)
            continue
        if item:
            _take_port(plumbing, fluid, name, item)
        if end.kind == "port" and number < len(ends) - 1:
            plumbing.fault(
                fluid,
                name,
                f"line '{name}' runs on through the port '{item}'",
                "a line of its own on each side of a valve",
                f"end it at {item}, and begin a new line at another port",
            )
        assert start is not None
        pieces.append((start, tuple(inside), end, check))
        start, inside, check = end, [], False
    for number, (first, within, last, one_way) in enumerate(pieces, 1):
        label = name if len(pieces) == 1 else f"{name}/{number}"
        plumbing.branches[fluid].append(Branch(label, first, within, last, one_way, name))


def _end(plumbing: Plumbing, item: str) -> End | None:
    """The junction an item stands for, or None for a part in the line."""
    if item.startswith("@"):
        return End("tee", item[1:])
    if item == "outside":
        return End("outside", "outside")
    base, _, port = item.partition(".")
    part = plumbing.parts.get(base)
    if part is None:
        return None
    if kinds()[part.kind].role == "valve":
        return End("port", base, port)
    if part.kind == "zone":
        return End("zone", base, port)
    return End("tank", base) if part.kind == "tank" else None


def _known(plumbing: Plumbing, fluid: str, line: str, item: str) -> bool:
    """Whether an item of a line exists and has a side for this fluid."""
    if item.startswith("@"):
        if TEE.fullmatch(item):
            return True
        plumbing.fault(fluid, line, f"'{item}' cannot name a tee", f"@ and a name: {NAMES}", "write @mixed")
        return False
    if item == "outside":
        if fluid != "air":
            plumbing.fault(
                fluid,
                line,
                f"line '{line}' lets {fluid} out of the car",
                "outside in air lines only",
                "end it at a tank, a tee or a port",
            )
        return fluid == "air"
    base, _, port = item.partition(".")
    part = plumbing.parts.get(base)
    if part is None:
        return _undeclared(plumbing, fluid, line, base)
    kind = kinds()[part.kind]
    if fluid not in kind.fluids:
        sides = f"lines of {' and '.join(kind.fluids)}" if kind.fluids else "no line at all"
        plumbing.fault(fluid, line, f"'{base}' is a {part.kind}; it has no {fluid} side", sides, "take it out")
        return False
    if kind.role == "valve":
        return _has_port(plumbing, fluid, line, part, port)
    if kind.sides:
        return _has_side(plumbing, fluid, line, part, port, kind.sides)
    if port and part.kind == "zone":
        return _is_outlet(plumbing, fluid, line, item)
    if port:
        hint = "the order of the line says where it enters and leaves"
        if part.kind == "compressor":
            hint += "; a middle pressure, as for vapour injection, is not worked out"
        plumbing.fault(fluid, line, f"'{base}' is a {part.kind}; it has no ports", f"'{base}' alone", hint)
        return False
    return True


def _is_outlet(plumbing: Plumbing, fluid: str, line: str, item: str) -> bool:
    """An outlet may be called anything, but a slip of the pen in the usual names would lose the jet on the screen."""
    zone, _, port = item.partition(".")
    meant = "" if port in OUTLETS else near(port, OUTLETS, "")
    if meant:
        plumbing.fault(fluid, line, f"'{zone}' has no outlet '{port}'", f"one of {listed(OUTLETS)}", meant)
    return not meant


def _undeclared(plumbing: Plumbing, fluid: str, line: str, base: str) -> bool:
    if base in plumbing.mistakes.broken or (plumbing.mistakes.nameless and not near(base, plumbing.parts, "")):
        plumbing.faulty.add(fluid)
        return False
    if base in plumbing.mistakes.dropped:
        expected = f"the line written anew, or {line} = false"
        plumbing.fault(
            fluid,
            line,
            f"line '{line}' goes through '{base}', dropped at {plumbing.mistakes.dropped[base]}",
            expected,
            "write it in the file that drops",
        )
        return False
    hint = near(base, [*plumbing.parts, "outside"], "")
    if not hint:
        plumbing.mistakes.broken.add(base)  # said once: a missing declaration, not a slip of the pen in each line
        hint = f"declare it, or write @{base} for a plain tee"
    plumbing.fault(
        fluid, line, f"line '{line}' goes through '{base}', which is not declared", "a part of this plant", hint
    )
    return False


def _has_port(plumbing: Plumbing, fluid: str, line: str, part: Part, port: str) -> bool:
    ports = part.values["ports"]
    if part.name in plumbing.mistakes.broken:
        plumbing.faulty.add(fluid)
        return False
    if port in ports:
        return True
    found = f"'{part.name}' has no port '{port}'" if port else f"'{part.name}' stands in a line without a port"
    plumbing.fault(
        fluid,
        line,
        found,
        f"one of {listed(ports)}",
        near(port, ports, f"write {part.name}.{ports[0]}, or the port that is meant"),
    )
    return False


def _has_side(plumbing: Plumbing, fluid: str, line: str, part: Part, side: str, sides: tuple[str, ...]) -> bool:
    if side in sides:
        return True
    found = f"'{part.name}' has no side '{side}'" if side else f"'{part.name}' stands in a line without its side"
    plumbing.fault(
        fluid, line, found, f"one of {listed(f'{part.name}.{one}' for one in sides)}", f"write {part.name}.{sides[0]}"
    )
    return False


def _take_part(plumbing: Plumbing, fluid: str, line: str, item: str) -> None:
    if (fluid, item) in plumbing.used:
        before = plumbing.used[fluid, item]
        found = (
            f"'{item}' is already in line '{before}'" if before != line else f"'{item}' stands twice in line '{line}'"
        )
        plumbing.fault(
            fluid,
            line,
            found,
            "one place for each part; lines meet at a tee (@name)",
            "declare a second one if there are two",
        )
    plumbing.used[fluid, item] = line


def _take_port(plumbing: Plumbing, fluid: str, line: str, item: str) -> None:
    end = _end(plumbing, item)
    if end is None or end.kind != "port":
        return
    if item in plumbing.ports:
        found = f"port '{item}' is already on line '{plumbing.ports[item]}'"
        plumbing.fault(
            fluid,
            line,
            found,
            "one line on each port; lines meet at a tee (@name)",
            f"put a tee before it: {item} > @name",
        )
    plumbing.ports[item] = line
