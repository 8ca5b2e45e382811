"""Numbers of a trip by name: those that may be changed, and other values put in the place of those in the file.

A number is called as it stands in the file: `set_point`, `weather.temperature`, `segment.3.duration` (the third).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from heatwright.errors import Problem
from heatwright.toml_lines import KeyPath
from heatwright.trip.model import Trip
from heatwright.trip.reading import Page
from heatwright.trip.schema import KINDS, TABLES, TOP, Field

SEGMENT = "segment"
MODEST = ("quantity", "count", "flag", "clock", "date", "openings")
"""Forms of keys that a change may put another value to; names, texts and files stay as the file has them."""


@dataclass(frozen=True)
class Stated:
    """One key of a trip: its dotted name, the group it stands in, how it is declared, and what the file says.

    `text` is "" for a key that is neither written nor has a default; `where` is file and line where it is written.
    """

    key: str
    owner: str
    field: Field
    text: str
    where: str
    given: bool


def put_changes(raw: dict[str, Any], changes: Mapping[str, str], page: Page) -> None:
    """Put other values, as text, into the table of a trip file; what cannot be is noted."""
    known = dict(_fields(raw))
    for dotted, text in changes.items():
        if dotted not in known:
            near = get_close_matches(dotted, known, 1)
            hint = f"write {near[0]!r}" if near else "set_point, weather.temperature or segment.2.duration"
            page.problems.append(Problem(f"change {dotted}", "there is no such number in the trip", "", hint))
            continue
        path, one = known[dotted]
        table: Any = raw
        for name in path[:-1]:
            table = table.setdefault(name, {}) if isinstance(table, dict) else table[name]
        if not isinstance(table, dict):
            page.problems.append(Problem(f"change {dotted}", f"{path[-2]!r} is not a table"))
            continue
        table[path[-1]] = _value(one, text.strip())
        page.changed[path] = f"change {dotted}"


def stated_of(raw: Mapping[str, Any], lines: Page, trip: Trip) -> tuple[Stated, ...]:
    """Every number of a trip that may be changed; those that a table or a weather file tells are left out."""
    taken = {("weather", name) for name in (trip.weather.table.values if trip.weather.table else ())}
    taken |= {("sun", name) for name in (trip.sun.table.values if trip.sun.table else ())}
    if trip.weather.file is not None:
        taken |= {("weather", one.name) for one in TABLES["weather"] if one.name not in trip.weather.given}
    found = []
    for dotted, (path, one) in _fields(raw):
        if path in taken:
            continue
        written = _at(raw, path)
        text = one.default if written is None else _text(written)
        where = lines.where(*path) if written is not None else ""
        found.append(Stated(dotted, _owner(path, trip), one, text, where, written is not None))
    return tuple(found)


def _fields(raw: Mapping[str, Any]) -> list[tuple[str, tuple[KeyPath, Field]]]:
    """(dotted name, (path, declaration)) of every number that a trip of these segments may have."""
    found: list[tuple[KeyPath, Field]] = [((one.name,), one) for one in TOP]
    found += [((name, one.name), one) for name, fields in TABLES.items() for one in fields]
    legs = raw.get(SEGMENT)
    for number, leg in enumerate(legs if isinstance(legs, list) else ()):
        kind = leg.get("kind") if isinstance(leg, Mapping) else None
        if isinstance(kind, str) and kind in KINDS:
            found += [((SEGMENT, number, one.name), one) for one in KINDS[kind][1]]
    return [(_dotted(path), (path, one)) for path, one in found if one.form in MODEST]


def _dotted(path: KeyPath) -> str:
    """The name of a key; segments are counted from one."""
    return ".".join(str(name + 1) if isinstance(name, int) else name for name in path)


def _owner(path: KeyPath, trip: Trip) -> str:
    if path[0] == SEGMENT and isinstance(path[1], int):
        return f"{path[1] + 1}. {trip.legs[path[1]].name}"
    return str(path[0]) if len(path) > 1 else "trip"


def _at(raw: Any, path: KeyPath) -> Any:
    for name in path:
        raw = raw.get(name) if isinstance(raw, Mapping) else raw[name] if isinstance(raw, list) else None  # type: ignore[index]
    return raw


def _text(written: Any) -> str:
    return str(written).lower() if isinstance(written, bool) else str(written)


def _value(one: Field, text: str) -> Any:
    """A text as the reader of a file takes it: flags and counts are no texts there."""
    if one.form == "flag":
        return {"true": True, "false": False}.get(text.lower(), text)
    return int(text) if one.form == "count" and text.lstrip("-").isdigit() else text
