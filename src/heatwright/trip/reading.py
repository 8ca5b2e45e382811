"""Turn one table of a trip file into SI values by its declaration, noting every mistake with its line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from heatwright.errors import Problem
from heatwright.toml_lines import KeyPath, line_near
from heatwright.trip.quantities import calendar_day, clock_s
from heatwright.trip.schema import Field
from heatwright.units import UnitError, format_quantity, parse

MOST_DOORS = 8


@dataclass
class Page:
    """A file being read: its name, where its keys stand, and the mistakes found so far."""

    file: str
    lines: Mapping[KeyPath, int]
    problems: list[Problem] = field(default_factory=list)
    assumed: list[str] = field(default_factory=list)
    reported: set[KeyPath] = field(default_factory=set)
    changed: dict[KeyPath, str] = field(default_factory=dict)

    def where(self, *path: str | int) -> str:
        """File and line of a key, or of the nearest table that holds it; of a changed one, what was changed."""
        if path in self.changed:
            return self.changed[path]
        return f"{self.file}:{line_near(self.lines, path)}"

    def note(self, path: KeyPath, found: str, expected: str = "", hint: str = "") -> None:
        """Add a mistake, and remember its key: what hangs on it is not reported again."""
        self.reported.add(path)
        self.problems.append(Problem(self.where(*path), found, expected, hint))

    def table(self, raw: Mapping[str, Any], path: KeyPath) -> dict[str, Any]:
        """The table at a path; an empty one if it is left out or is no table."""
        value: Any = raw
        for name in path:
            value = value.get(name, {}) if isinstance(value, Mapping) else {}
        if isinstance(value, Mapping):
            return dict(value)
        self.note(path, f"{path[-1]!r} is not a table", f"[{path[-1]}] with keys below it")
        return {}


LANGUAGES = {"plant": "a plant file", "trip": "a trip file", "needs": "a sheet of needs"}


def check_format(page: Page, raw: Mapping[str, Any], wanted: str) -> bool:
    """Whether a file is of the wanted format, as "heatwright trip 1"; notes it if it says that it is of another."""
    said = raw.get("format")
    if said in (None, wanted) or not isinstance(said, str):
        return True
    this, other = wanted.split()[1], said.removeprefix("heatwright ").split(" ")[0]
    hint = f"this is {LANGUAGES[other]}; name {LANGUAGES[this]}" if other in LANGUAGES and other != this else ""
    page.note(("format",), f"format = {said!r}", f'"{wanted}"', hint)
    return False


def read_values(
    page: Page, raw: Mapping[str, Any], fields: Sequence[Field], path: KeyPath, also: Sequence[str] = ()
) -> dict[str, Any]:
    """Every declared key with its SI value: the one written, else the default, else None.

    `also` names keys that are read elsewhere; any other key is a mistake.
    """
    known = [one.name for one in fields]
    for name in raw:
        if name not in known and name not in also:
            near = get_close_matches(name, known, 1)
            expected = f"one of: {', '.join(known)}"
            page.note((*path, name), f"unknown key {name!r}", expected, f"write {near[0]!r}" if near else "")
    values: dict[str, Any] = {}
    for one in fields:
        if one.name in raw:
            values[one.name] = _read(page, one, raw[one.name], (*path, one.name))
        else:
            values[one.name] = default_of(one)
            if one.required:
                page.note(path, f"{one.name!r} is missing", one.meaning)
    return values


def default_of(one: Field) -> Any:
    """The SI value that stands in for a key left out."""
    if not one.default:
        return None
    if one.form == "quantity":
        return parse(one.default, one.unit)
    return int(one.default) if one.form == "count" else one.default == "true"


def _read(page: Page, one: Field, value: Any, path: KeyPath) -> Any:
    readers = {
        "quantity": _quantity,
        "count": _count,
        "flag": _flag,
        "words": _words,
        "clock": _clock,
        "date": _date,
        "openings": _openings,
    }
    return readers[one.form](page, one, value, path)


def _quantity(page: Page, one: Field, value: Any, path: KeyPath) -> float | None:
    if not isinstance(value, str) and one.unit != "1":
        hint = f'write it as text: {one.name} = "{value} {one.unit}"' if isinstance(value, (int, float)) else ""
        page.note(path, f"{one.name} = {value!r} has no unit", f"a quantity such as {_sample(one)}", hint)
        return default_of(one)
    try:
        number = parse(value, one.unit)
        low, high = (parse(f"{limit!r} {one.unit}".removesuffix(" 1"), one.unit) for limit in (one.low, one.high))
    except UnitError as mistake:
        page.note(path, f"{one.name}: {mistake.found}", mistake.expected or _sample(one), mistake.hint)
        return default_of(one)
    slack = 1e-9 * max(abs(low), abs(high))
    if not low - slack <= number <= high + slack:
        ends = " to ".join(format_quantity(limit, one.unit, 5) for limit in (low, high))
        page.note(path, f"{one.name} = {value!r} is out of range", ends)
    return number


def _sample(one: Field) -> str:
    return f'"{one.default or f"{one.low:g} {one.unit}"}"'


def _count(page: Page, one: Field, value: Any, path: KeyPath) -> int | None:
    whole = isinstance(value, int) and not isinstance(value, bool)
    if whole and one.low <= value <= one.high:
        return int(value)
    page.note(path, f"{one.name} = {value!r}", f"a whole number, {one.low:g} to {one.high:g}")
    return default_of(one)


def _flag(page: Page, one: Field, value: Any, path: KeyPath) -> bool:
    if isinstance(value, bool):
        return value
    page.note(path, f"{one.name} = {value!r}", "true or false, without quotes")
    return bool(default_of(one))


def _words(page: Page, one: Field, value: Any, path: KeyPath) -> str | None:
    if isinstance(value, str) and value.strip():
        return value
    page.note(path, f"{one.name} = {value!r}", f"text: {one.meaning}")
    return None


def _clock(page: Page, one: Field, value: Any, path: KeyPath) -> float | None:
    seconds = clock_s(value)
    if seconds is None:
        page.note(path, f"{one.name} = {value!r} is not a time of day", 'a time such as "06:40"')
    return seconds


def _openings(page: Page, one: Field, value: Any, path: KeyPath) -> tuple[int, float] | None:
    """How many doors stand open at once, and for how long."""
    number, _, length = value.partition("x") if isinstance(value, str) else ("", "", "")
    if number.strip().isdigit() and 1 <= int(number) <= MOST_DOORS:
        try:
            open_s = parse(length.strip(), "s")
        except UnitError as mistake:
            page.note(path, f"{one.name}: {mistake.found}", 'doors and a time, such as "2 x 20 s"', mistake.hint)
            return None
        if open_s > 0.0:
            return int(number), open_s
    page.note(path, f"{one.name} = {value!r}", f'1 to {MOST_DOORS} doors and a time above zero, such as "2 x 20 s"')
    return None


def _date(page: Page, one: Field, value: Any, path: KeyPath) -> Any:
    day = calendar_day(value)
    if day is None:
        page.note(path, f"{one.name} = {value!r} is not a date", 'year-month-day, such as "2031-12-21"')
    return day
