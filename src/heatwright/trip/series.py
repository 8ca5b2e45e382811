"""Tables over time inside a trip: where they stand on the trip's clock, and their means over the steps."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from heatwright.errors import Problem
from heatwright.trip.columns import Column, read_columns
from heatwright.trip.model import Array, Series
from heatwright.trip.quantities import clock_text

DAY_S = 86400.0


def read_series(
    text: str, folder: Path, file: str, line: int, columns: Sequence[Column], problems: list[Problem]
) -> tuple[Series | None, bytes]:
    """Read a table given as text of several lines (which begins at `line` of `file`) or as a file's name.

    Returns the table and the bytes of its file (none for text in the trip itself).
    """
    content = b""
    if "\n" not in text:
        path = folder / text
        try:
            content = path.read_bytes()
            text, file, line = content.decode("utf-8-sig"), str(path), 1
        except (OSError, UnicodeDecodeError) as failure:
            found = f"the table {text!r} cannot be read ({_reason(failure)})"
            hint = "a path is taken from the folder of the trip file"
            problems.append(Problem(f"{file}:{line}", found, "a file, or the table itself as text", hint))
            return None, content
    read = read_columns(text, file, columns, problems, line)
    if read is None:
        return None, content
    values = {name: column for name, column in read.values.items() if name != "t_s"}
    return Series(read.values["t_s"], values, read.clock, f"{file}:{read.lines[0]}"), content


def _reason(failure: Exception) -> str:
    return getattr(failure, "strerror", None) or str(failure)


def times_s(series: Series, clock_s: float | None) -> Array | None:
    """The table's times counted from the first step; None if it goes by a clock and the trip has none.

    A table by the clock is moved by whole days until its first row lies at or before the first step.
    """
    if not series.clock:
        return series.t_s
    if clock_s is None:
        return None
    days = np.floor((clock_s - series.t_s[0]) / DAY_S)
    return series.t_s + days * DAY_S - clock_s


def check_covers(series: Series, clock_s: float | None, end_s: float, problems: list[Problem]) -> None:
    """Note a table that does not reach from the first step to the last."""
    times = times_s(series, clock_s)
    if times is None:
        expected = '`time` in [start], such as "06:00"'
        problems.append(Problem(series.where, "the table goes by the clock, the trip has none", expected))
    elif times[0] > 0.5 or times[-1] < end_s - 0.5:
        found = f"the table covers {_moment(times[0], clock_s)} to {_moment(times[-1], clock_s)}"
        expected = f"all of the trip: {_moment(0.0, clock_s)} to {_moment(end_s, clock_s)}"
        problems.append(Problem(series.where, found, expected))


def _moment(t_s: float, clock_s: float | None) -> str:
    return f"{t_s:g} s" if clock_s is None else clock_text(clock_s + t_s)


def step_means(times: Array, values: Array, edges_s: Array) -> Array:
    """Exact means over the steps of straight lines between points; the end values hold outside them."""
    inner = np.clip(edges_s, times[0], times[-1])
    area = np.concatenate([[0.0], np.cumsum(0.5 * (values[1:] + values[:-1]) * np.diff(times))])
    left = np.clip(np.searchsorted(times, inner, side="right") - 1, 0, len(times) - 2)
    along = inner - times[left]
    slope = (values[left + 1] - values[left]) / (times[left + 1] - times[left])
    upto = area[left] + along * (values[left] + 0.5 * slope * along)
    held = values[0] * np.minimum(edges_s - times[0], 0.0) + values[-1] * np.maximum(edges_s - times[-1], 0.0)
    return np.diff(upto + held) / np.diff(edges_s)
