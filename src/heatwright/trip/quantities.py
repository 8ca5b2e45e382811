"""Small readers of the rim: units of columns, times of day, dates."""

from __future__ import annotations

import re
from datetime import date, time

from heatwright.units import UnitError, unit_of

_CLOCK = re.compile(r"([01]?\d|2[0-4]):([0-5]\d)(?::([0-5]\d))?")
_MORE_UNITS = {"secs": "s", "sec": "s"}
"""Spellings met in published schedules."""


def unit_line(written: str, sample: str) -> tuple[float, float]:
    """Offset and factor that turn a number in a unit into SI; UnitError if it does not measure `sample`.

    >>> unit_line("km/h", "m/s")[1] == 1 / 3.6
    True
    """
    have, want = unit_of(_MORE_UNITS.get(written, written)), unit_of(sample)
    if have.dimension != want.dimension or (have.offset and not want.offset):
        raise UnitError(f"the unit {written!r} does not fit", f"one like {sample!r}")
    return have.offset, have.factor


def clock_s(value: object) -> float | None:
    """Seconds after midnight of a time of day such as "06:40", or None when it is none."""
    if isinstance(value, time):
        return value.hour * 3600.0 + value.minute * 60.0 + value.second
    match = _CLOCK.fullmatch(value.strip()) if isinstance(value, str) else None
    if not match:
        return None
    seconds = int(match[1]) * 3600.0 + int(match[2]) * 60.0 + int(match[3] or 0)
    return seconds if seconds <= 86400.0 else None


def calendar_day(value: object) -> date | None:
    """A date such as 2031-12-21, written as text or bare, or None when it is none."""
    if isinstance(value, date):
        return date(value.year, value.month, value.day)
    try:
        return date.fromisoformat(value.strip()) if isinstance(value, str) else None
    except ValueError:
        return None


def clock_text(seconds: float) -> str:
    """Write seconds after midnight as a time of day: 24000 is 06:40."""
    minutes = round(seconds / 60.0) % 1440
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
