"""Speed schedules: those that come with the package, and readers for the user's own files.

Two forms are read. A table of ours (`.csv`): comment lines, a heading with units, columns time and speed. A
column text (any other ending), the form in which speed schedules are commonly published: none, one or two
lines of heading, then two columns with tabs, blanks or commas between, seconds and miles an hour unless the
heading says otherwise.
"""

from __future__ import annotations

import hashlib
import os
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from heatwright.errors import InputError, Problem
from heatwright.trip.columns import (
    MANY,
    TIME,
    Column,
    check_times,
    is_number,
    read_columns,
    read_number,
    rows_of,
)
from heatwright.trip.quantities import unit_line

SHIPPED = Path(__file__).resolve().parent.parent / "data" / "schedules"
FASTEST_M_PER_S = 150.0
SPEED = Column("speed_m_per_s", ("v", "speed"), "km/h", 0.0, FASTEST_M_PER_S, required=True)

_UNIT_WORDS = {
    "mph": r"\bmph\b|\bmi/h\b|miles (per|an) hour",
    "km/h": r"\bkm/h\b|\bkmh\b|\bkph\b|km_per_h",
    "m/s": r"\bm/s\b|m_per_s",
}


@dataclass(frozen=True, eq=False)
class Schedule:
    """Speed over time, straight lines between the points; the first point is at time zero."""

    name: str
    title: str
    source: str
    digest: str
    t_s: np.ndarray
    speed_m_per_s: np.ndarray

    @property
    def duration_s(self) -> float:
        """Time from the first to the last point."""
        return float(self.t_s[-1])

    @property
    def distance_m(self) -> float:
        """Way driven once through."""
        mean = 0.5 * (self.speed_m_per_s[1:] + self.speed_m_per_s[:-1])
        return float(np.sum(mean * np.diff(self.t_s)))


def shipped_path(name: str) -> Path | None:
    """File of a shipped schedule, whose name may be written as `wltc_3b` or "WLTC 3b"."""
    path = SHIPPED / (re.sub(r"[\s-]+", "_", name.strip().lower()) + ".csv")
    return path if path.is_file() else None


def read_schedule(name: str | os.PathLike[str], folder: Path | None = None) -> Schedule:
    """Read a schedule by shipped name or by path (relative to `folder`); InputError names every mistake."""
    text = os.fspath(name)
    path = (folder or Path()) / text
    if not path.is_file():
        shipped = shipped_path(text)
        if shipped is None:
            known = ", ".join(file.stem for file in sorted(SHIPPED.glob("*.csv")))
            expected = f"a file, or one of the schedules that come with the package: {known}"
            raise InputError([Problem(str(path), "there is no such schedule", expected)], "speed schedule")
        path = shipped
    try:
        content = path.read_bytes()
        return parse_schedule(content.decode("utf-8-sig"), str(path), hashlib.sha256(content).hexdigest())
    except (OSError, UnicodeDecodeError) as failure:
        found = f"the file cannot be read ({failure})"
        raise InputError([Problem(str(path), found, "a text file in UTF-8")], "speed schedule") from failure


def parse_schedule(text: str, file: str, digest: str = "") -> Schedule:
    """Make a Schedule from a file's text; `file` is its name, which also tells the form."""
    problems: list[Problem] = []
    ours = Path(file).suffix.lower() == ".csv"
    read = _read_table(text, file, problems) if ours else _read_column_text(text, file, problems)
    if problems or read is None:
        raise InputError(problems, "speed schedule")
    t_s, speed_m_per_s = read
    stem = Path(file).stem
    return Schedule(stem, title_of(text) or stem, file, digest, t_s - t_s[0], speed_m_per_s)


def title_of(text: str) -> str:
    """The first comment line of a table of ours, as a title."""
    first = text.lstrip("\ufeff").split("\n", 1)[0].strip()
    return first.lstrip("# ").strip() if first.startswith("#") else ""


def _read_table(text: str, file: str, problems: list[Problem]) -> tuple[np.ndarray, np.ndarray] | None:
    read = read_columns(text, file, (TIME, SPEED), problems)
    return None if read is None else (read.values["t_s"], read.values["speed_m_per_s"])


def _read_column_text(text: str, file: str, problems: list[Problem]) -> tuple[np.ndarray, np.ndarray] | None:
    rows = rows_of(text)
    heading, body = _part_heading(rows)
    if not body:
        line = rows[-1][0] if rows else 1
        problems.append(Problem(f"{file}:{line}", "the schedule is empty", "rows of time and speed"))
        return None
    if len(heading) > 2:
        where = f"{file}:{heading[2][0]}"
        problems.append(Problem(where, f"{heading[2][1]!r} is not a row of numbers", "time and speed"))
    unit = _speed_unit(heading, file, problems)
    pairs = _pairs(body, file, problems)
    numbers = np.array([number for number, _ in body])
    t_s, speed = pairs[:, 0], pairs[:, 1] * unit_line(unit, "m/s")[1]
    check_times(t_s, numbers, file, problems)
    for row in np.flatnonzero((speed < 0.0) | (speed > FASTEST_M_PER_S))[:MANY]:
        found = f"speed {pairs[row, 1]:g} {unit} cannot be"
        expected = f"0 to {FASTEST_M_PER_S:g} m/s"
        problems.append(Problem(f"{file}:{numbers[row]}", found, expected))
    return None if problems else (t_s, speed)


def _part_heading(rows: list[tuple[int, str]]) -> tuple[list[tuple[int, str]], list[tuple[int, str]]]:
    """Part the lines before the first that begins with a number from the rest."""
    first = next((at for at, (_, line) in enumerate(rows) if is_number(_split(line)[0])), len(rows))
    return rows[:first], rows[first:]


def _split(line: str) -> list[str]:
    return [cell for cell in re.split(r"[,;\s]+", line) if cell] or [""]


def _speed_unit(heading: list[tuple[int, str]], file: str, problems: list[Problem]) -> str:
    """The unit of speed that the heading names; miles an hour when there is no heading."""
    words = " ".join(line for _, line in heading)
    if re.search(r"\bmin(ute)?s?\b|\bhours?\b", words, re.IGNORECASE):
        problems.append(Problem(f"{file}:{heading[-1][0]}", "times that are not in seconds", "seconds"))
    named = [unit for unit, pattern in _UNIT_WORDS.items() if re.search(pattern, words, re.IGNORECASE)]
    if len(named) == 1:
        return named[0]
    if named or heading:
        found = "the heading names " + (" and ".join(named) if named else "no known unit of speed")
        expected = "one of mph, km/h, m/s"
        problems.append(Problem(f"{file}:{heading[-1][0]}", found, expected))
    return "mph"


def _pairs(body: list[tuple[int, str]], file: str, problems: list[Problem]) -> np.ndarray:
    pairs = np.full((len(body), 2), np.nan)
    before = len(problems)
    for row, (number, line) in enumerate(body):
        where, cells = f"{file}:{number}", _split(line)
        if len(cells) < 2:
            problems.append(Problem(where, "one number in this row", "two: time and speed"))
        else:
            pairs[row] = [read_number(cell, where, problems) for cell in cells[:2]]
        if len(problems) - before >= MANY:
            problems.append(Problem(where, "reading stopped here: too many mistakes in this file"))
            break
    return pairs
