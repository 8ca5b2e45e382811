"""Read a table of numbers over time: comment lines, a heading with units, one row a moment.

A heading names its unit in one of four ways: `speed_km_per_h`, `speed [km/h]`, `speed (km/h)`, or in a row of
units under the headings. The time column is `t` or `time` with a unit, or `clock` with times such as 06:40.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from heatwright.errors import Problem
from heatwright.trip.quantities import clock_s, unit_line
from heatwright.units import UnitError

DAY_S = 86400.0
MANY = 20
_BRACKETS = re.compile(r"^(?P<stem>.*?)\s*[\[(](?P<unit>[^\])]*)[\])]$")
_SPELLING = {"pct": "%", "percent": "%", "degc": "degC", "k": "K", "pa": "Pa", "hpa": "hPa", "kpa": "kPa"}


@dataclass(frozen=True)
class Column:
    """A column that may stand in a table: its name inside, the headings that mean it, a sample of its unit,
    and the range of values (in SI) that can be."""

    name: str
    headings: tuple[str, ...]
    unit: str
    low: float = -math.inf
    high: float = math.inf
    required: bool = False


@dataclass(frozen=True)
class Columns:
    """What was read: SI values by column name, the line of each row, and whether times are clock times."""

    values: Mapping[str, np.ndarray]
    lines: np.ndarray
    clock: bool


@dataclass(frozen=True)
class _Heading:
    column: Column
    place: int
    offset: float = 0.0
    factor: float = 1.0
    clock: bool = False


TIME = Column("t_s", ("t", "time"), "s", required=True)


def rows_of(text: str, first_line: int = 1) -> list[tuple[int, str]]:
    """The lines that are neither blank nor comment, each with its number."""
    numbered = enumerate(text.splitlines(), start=first_line)
    return [(number, line.strip()) for number, line in numbered if line.strip() and line.strip()[0] != "#"]


def is_number(cell: str) -> bool:
    """Whether a cell reads as a number; "nan" and "inf" do."""
    try:
        float(cell)
    except ValueError:
        return False
    return True


def read_columns(
    text: str, file: str, columns: Sequence[Column], problems: list[Problem], first_line: int = 1
) -> Columns | None:
    """Read the named columns; every mistake goes into `problems`, and then None is returned."""
    before = len(problems)
    rows = rows_of(text, first_line)
    if not rows:
        expected = "a heading and rows of numbers"
        problems.append(Problem(f"{file}:{first_line}", "the table is empty", expected))
        return None
    split = _splitter(rows[0][1])
    names = split(rows[0][1])
    body = rows[1:]
    units = [""] * len(names)
    if body and not _starts_data(split(body[0][1])[0]):
        units = (split(body[0][1]) + units)[: len(names)]
        body = body[1:]
    headings = _headings(names, units, f"{file}:{rows[0][0]}", columns, problems)
    if len(problems) > before:
        return None
    values = _cells(body, split, headings, len(names), file, problems)
    lines = np.array([number for number, _ in body])
    clock = any(heading.clock for heading in headings)
    check_times(values["t_s"], lines[: len(values["t_s"])], file, problems)
    return Columns(values, lines, clock) if len(problems) == before else None


def check_times(t_s: np.ndarray, lines: np.ndarray, file: str, problems: list[Problem]) -> None:
    """Note a table with fewer than two rows, and every row whose time does not follow the one before."""
    if len(t_s) < 2:
        line = lines[0] if len(lines) else 1
        found = f"the table has {'one row' if len(t_s) else 'no rows'} of numbers"
        problems.append(Problem(f"{file}:{line}", found, "at least two rows"))
        return
    for row in np.flatnonzero(np.diff(t_s) <= 0)[:MANY] + 1:
        found = f"time {t_s[row]:g} s does not follow {t_s[row - 1]:g} s"
        problems.append(Problem(f"{file}:{lines[row]}", found, "times that increase from row to row"))


def read_number(cell: str, where: str, problems: list[Problem]) -> float:
    """A finite number out of a cell; anything else is noted and comes back as NaN."""
    if not is_number(cell):
        found = f"{cell!r} is not a number" if cell else "a cell is empty"
        problems.append(Problem(where, found, "a number"))
        return math.nan
    value = float(cell)
    if not math.isfinite(value):
        hint = "fill the gap in the data; no value is made up here"
        problems.append(Problem(where, f"{cell!r} is not a usable value", "a finite number", hint))
        return math.nan
    return value


def _starts_data(cell: str) -> bool:
    return is_number(cell) or clock_s(cell) is not None


def _splitter(heading: str) -> Callable[[str], list[str]]:
    mark = "\t" if "\t" in heading else ";" if ";" in heading else ","
    return lambda line: [cell.strip().strip('"') for cell in line.split(mark)]


def _headings(
    names: Sequence[str], units: Sequence[str], where: str, columns: Sequence[Column], problems: list[Problem]
) -> list[_Heading]:
    found: list[_Heading] = []
    for place, (name, unit) in enumerate(zip(names, units, strict=True)):
        heading = _heading(name, unit, place, where, columns, problems)
        if heading and any(heading.column is one.column for one in found):
            problems.append(Problem(where, f"two columns say {heading.column.headings[0]!r}", "one of them"))
        elif heading:
            found.append(heading)
    present = {heading.column.name for heading in found}
    for column in columns:
        if column.required and column.name not in present and not problems:
            expected = f"a heading such as {column.headings[0]} [{column.unit}]"
            problems.append(Problem(where, f"no column for {column.headings[-1]}", expected))
    return found


def _heading(
    name: str, unit: str, place: int, where: str, columns: Sequence[Column], problems: list[Problem]
) -> _Heading | None:
    if name.lower() == "clock":
        return _Heading(TIME, place, clock=True)
    column, written = _match(name, columns)
    if column is None:
        known = ", ".join(f"{one.headings[0]} [{one.unit}]" for one in columns)
        problems.append(Problem(where, f"unknown column {name!r}", f"some of: {known}"))
        return None
    written = written or unit
    if not written and column.unit != "1":
        expected = f"{column.headings[0]} [{column.unit}], or a row of units under the headings"
        problems.append(Problem(where, f"column {name!r} has no unit", expected))
        return None
    try:
        offset, factor = unit_line(written or "1", column.unit)
    except UnitError as mistake:
        found = f"column {name!r}: {mistake.found}"
        problems.append(Problem(where, found, f"a unit like {column.unit}", mistake.hint))
        return None
    return _Heading(column, place, offset, factor)


def _match(name: str, columns: Sequence[Column]) -> tuple[Column | None, str]:
    """The column a heading means, and the unit it names ("" when it names none)."""
    bracketed = _BRACKETS.match(name)
    stem = (bracketed["stem"] if bracketed else name).strip().replace(" ", "_")
    fits = [
        (len(word), column, stem[len(word) + 1 :])
        for column in columns
        for word in column.headings
        if stem.lower() == word or (not bracketed and stem.lower().startswith(word + "_"))
    ]
    if not fits:
        return None, ""
    _, column, suffix = max(fits, key=lambda fit: fit[0])
    return column, bracketed["unit"] if bracketed else unit_of_suffix(suffix)


def unit_of_suffix(suffix: str) -> str:
    """The unit that the end of a name stands for: km_per_h is km/h."""
    unit = suffix.replace("_per_", "/")
    unit = _SPELLING.get(unit.lower(), unit)
    return re.sub(r"^w/", "W/", unit)


def _cells(
    body: Sequence[tuple[int, str]],
    split: Callable[[str], list[str]],
    headings: Sequence[_Heading],
    width: int,
    file: str,
    problems: list[Problem],
) -> dict[str, np.ndarray]:
    values: dict[str, list[float]] = {heading.column.name: [] for heading in headings}
    before = len(problems)
    for number, line in body:
        where, cells = f"{file}:{number}", split(line)
        if len(cells) != width:
            count = f"{len(cells)} cell{'s' if len(cells) != 1 else ''} in this row"
            problems.append(Problem(where, count, f"{width}, as in the heading"))
        for heading in headings:
            whole = len(cells) == width
            value = _cell(heading, cells[heading.place], where, problems) if whole else math.nan
            values[heading.column.name].append(value)
        if len(problems) - before >= MANY:
            problems.append(Problem(where, "reading stopped here: too many mistakes in this file"))
            break
    arrays = {name: np.array(column, dtype=float) for name, column in values.items()}
    if any(heading.clock for heading in headings):
        arrays["t_s"] = _past_midnight(arrays["t_s"])
    return arrays


def _cell(heading: _Heading, cell: str, where: str, problems: list[Problem]) -> float:
    """The SI value of a cell, or NaN once its mistake is noted."""
    column = heading.column
    if heading.clock:
        seconds = clock_s(cell)
        if seconds is None:
            problems.append(Problem(where, f"{cell!r} is not a time of day", "a time such as 06:40"))
        return math.nan if seconds is None else seconds
    value = heading.offset + heading.factor * read_number(cell, where, problems)
    if not math.isnan(value) and not column.low <= value <= column.high:
        low, high = ((limit - heading.offset) / heading.factor for limit in (column.low, column.high))
        found = f"{column.headings[-1]} cannot be {cell}"
        problems.append(Problem(where, found, f"{low:g} to {high:g} in the unit of this column"))
    return value


def _past_midnight(t_s: np.ndarray) -> np.ndarray:
    """Clock times that fall back by more than half a day belong to the next day."""
    turns = np.diff(t_s, prepend=t_s[:1]) < -0.5 * DAY_S
    return t_s + DAY_S * np.cumsum(turns)
