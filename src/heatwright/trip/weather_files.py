"""Weather files: hours of an EPW or TMY3 file around a trip. The only reader that needs pvlib and pandas."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from heatwright.errors import InputError, Problem
from heatwright.trip.columns import MANY
from heatwright.trip.weather import FileWeather

HOUR_S = 3600.0
HourKey = tuple[int, int, int]

# name inside: (column, factor, offset, value from which on it means "missing"); so do impossible low values
_EPW = {
    "temperature": ("temp_air", 1.0, 273.15, 99.9),
    "humidity": ("relative_humidity", 0.01, 0.0, 999.0),
    "pressure": ("atmospheric_pressure", 1.0, 0.0, 999999.0),
    "cloud": ("opaque_sky_cover", 0.1, 0.0, 99.0),
    "direct": ("dni", 1.0, 0.0, 9999.0),
    "diffuse": ("dhi", 1.0, 0.0, 9999.0),
    "infrared": ("ghi_infrared", 1.0, 0.0, 9999.0),
}
_TMY3 = {
    "temperature": ("temp_air", 1.0, 273.15, 99.9),
    "humidity": ("relative_humidity", 0.01, 0.0, 999.0),
    "pressure": ("pressure", 100.0, 0.0, 9999.0),
    "cloud": ("OpqCld (tenths)", 0.1, 0.0, 99.0),
    "direct": ("dni", 1.0, 0.0, 9900.0),
    "diffuse": ("dhi", 1.0, 0.0, 9900.0),
}
_MEANS = ("direct", "diffuse", "infrared")
_EPW_HEAD, _TMY3_HEAD = 8, 2


def read_weather_file(path: Path, day: date, clock_s: float, length_s: float) -> FileWeather:
    """The hours of a file from before the trip's first step to after its last; InputError names every gap.

    Temperature, humidity, pressure and cloud hold at the end of the file's hour; radiation is the mean over
    the hour that ends then. The file's years do not matter; the 29th of February takes the day before.
    """
    data, meta = _read(path)
    epw = path.suffix.lower() == ".epw"
    values = _columns(data, _EPW if epw else _TMY3, path, _EPW_HEAD if epw else _TMY3_HEAD)
    rows = _rows(data, epw)
    first, last = math.floor(clock_s / HOUR_S) - 1, math.ceil((clock_s + length_s) / HOUR_S) + 1
    hours = range(first, last + 1)
    chosen = [_row(rows, day, hour, path) for hour in hours]
    t_s = np.array(hours) * HOUR_S - clock_s
    picked = {name: column[chosen] for name, column in values.items()}
    return FileWeather(
        t_s=t_s,
        moments={name: column for name, column in picked.items() if name not in _MEANS},
        means={name: column for name, column in picked.items() if name in _MEANS},
        latitude_rad=math.radians(meta["latitude"]),
        longitude_rad=math.radians(meta["longitude"]),
        altitude_m=meta["altitude"],
        utc_offset_s=meta["TZ"] * HOUR_S,
    )


def _read(path: Path) -> tuple[Any, Mapping[str, Any]]:
    from pvlib import iotools

    try:
        if path.suffix.lower() == ".epw":
            return iotools.read_epw(path)
        return iotools.read_tmy3(path, map_variables=True)
    except (ValueError, KeyError, IndexError, OSError) as failure:
        found = f"the weather file cannot be read ({failure})"
        raise InputError([Problem(str(path), found, "a whole EPW or TMY3 file")], "weather file") from failure


def _columns(data: Any, wanted: Mapping[str, Any], path: Path, head: int) -> dict[str, np.ndarray]:
    """SI columns; a value that is no number or the file's mark for a missing one is a mistake."""
    problems: list[Problem] = []
    values: dict[str, np.ndarray] = {}
    for name, (column, factor, offset, missing) in wanted.items():
        if column not in data:
            problems.append(Problem(str(path), f"there is no column for {name}", "a whole file"))
            continue
        raw = _numbers(data[column])
        lowest = -90.0 if name == "temperature" else 0.0
        for row in np.flatnonzero(~np.isfinite(raw) | (raw >= missing) | (raw < lowest))[:MANY]:
            where, found = f"{path}:{row + head + 1}", f"{name} is missing ({raw[row]:g})"
            problems.append(Problem(where, found, "a number", "fill the gap; no value is made up here"))
        values[name] = raw * factor + offset
    if problems:
        raise InputError(problems, "weather file")
    return values


def _numbers(column: Any) -> np.ndarray:
    import pandas

    return pandas.to_numeric(column, errors="coerce").to_numpy(dtype=float)


def _rows(data: Any, epw: bool) -> dict[HourKey, int]:
    """Row of each (month, day, hour 1-24) of the file."""
    if epw:
        keys = zip(data["month"], data["day"], data["hour"], strict=True)
        return {(int(month), int(day), int(hour)): row for row, (month, day, hour) in enumerate(keys)}
    stamps = data.index - timedelta(hours=1)
    return {(stamp.month, stamp.day, stamp.hour + 1): row for row, stamp in enumerate(stamps)}


def _row(rows: Mapping[HourKey, int], day: date, hour: int, path: Path) -> int:
    """Row whose hour ends `hour` hours after midnight of the day."""
    that = day + timedelta(days=(hour - 1) // 24)
    number = (that.month, 28 if (that.month, that.day) == (2, 29) else that.day, (hour - 1) % 24 + 1)
    if number not in rows:
        found = f"there is no hour for {that.month:02d}-{that.day:02d} {number[2]:02d}:00"
        raise InputError(
            [Problem(str(path), found, "every hour of the trip, one before and one after")], "weather file"
        )
    return rows[number]
