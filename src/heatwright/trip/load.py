"""Read a trip file into a checked Trip; every mistake of the file is reported at once, with its line."""

from __future__ import annotations

import hashlib
import os
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from heatwright.dispatch_table import KEY as DISPATCH
from heatwright.dispatch_table import read_dispatch
from heatwright.errors import InputError, Problem
from heatwright.toml_lines import lines_of
from heatwright.trip import carried, segments, series
from heatwright.trip.build import build_case
from heatwright.trip.changes import Stated, put_changes, stated_of
from heatwright.trip.columns import TIME
from heatwright.trip.legs import LegReader
from heatwright.trip.model import Leg, Place, Series, Sun, Trip, Weather
from heatwright.trip.reading import Page, check_format, read_values
from heatwright.trip.schema import (
    FORMAT,
    PLACE,
    START,
    SUN,
    SUN_SOURCES,
    TABLES,
    TOP,
    WEATHER,
    WEATHER_SOURCES,
    Field,
)
from heatwright.trip.sun import SUN_COLUMNS
from heatwright.trip.weather import AIR_COLUMNS

__all__ = ["build_case", "load_trip", "parse_trip", "stated_trip"]

SHIPPED = Path(__file__).resolve().parent.parent / "data" / "trips"
ENDING = ".trip.toml"
TITLE = "trip file"


def load_trip(path: str | os.PathLike[str], changes: Mapping[str, str] | None = None) -> Trip:
    """Read a trip file, or a trip that comes with the package by its name; InputError lists every mistake.

    `changes` puts other values in place of those in the file, as text: {"segment.2.duration": "20 min"}.
    """
    return _read_file(path, changes or {})[0]


def stated_trip(path: str | os.PathLike[str]) -> tuple[Trip, tuple[Stated, ...]]:
    """Read a trip as `load_trip` does, and every number of it that may be changed."""
    trip, raw, page = _read_file(path, {})
    return trip, stated_of(raw, page, trip)


def _read_file(path: str | os.PathLike[str], changes: Mapping[str, str]) -> tuple[Trip, dict[str, Any], Page]:
    text = os.fspath(path)
    file = Path(text)
    shipped = SHIPPED / f"{text.removesuffix(ENDING)}{ENDING}"
    if not file.exists() and file.name == text and shipped.is_file():
        file, source = shipped, f"shipped trip {text.removesuffix(ENDING)}"
    else:
        source = str(file)
    try:
        content = file.read_bytes()
        return _parse(content.decode("utf-8-sig"), file, source, changes)
    except (OSError, UnicodeDecodeError) as failure:
        known = ", ".join(sorted(one.name.removesuffix(ENDING) for one in SHIPPED.glob("*" + ENDING)))
        found = f"the trip cannot be read ({getattr(failure, 'strerror', None) or failure})"
        expected = f"a trip file, or one of the trips that come with the package: {known}"
        raise InputError([Problem(text, found, expected)], TITLE) from failure


def parse_trip(text: str, file: Path, source: str = "") -> Trip:
    """Make a Trip of a file's text; paths inside it are taken from the folder of `file`."""
    return _parse(text, file, source, {})[0]


def _parse(text: str, file: Path, source: str, changes: Mapping[str, str]) -> tuple[Trip, dict[str, Any], Page]:
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as mistake:
        raise InputError([_syntax(str(file), str(mistake))], TITLE) from mistake
    page = Page(str(file), lines_of(text))
    put_changes(raw, changes, page)
    told = "".join(f"{key}={value!r}" for key, value in sorted(changes.items()))
    trip = _Reader(page, raw, text, file.parent, told).trip(source or str(file))
    if page.problems or trip is None:
        raise InputError(page.problems, TITLE)
    return trip, raw, page


def _syntax(file: str, message: str) -> Problem:
    reason, _, place = message.partition(" (at ")
    line = place.removeprefix("line ").split(",")[0] if place.startswith("line ") else "end"
    hint = "text stands between quotes, a table's name between [ and ]"
    return Problem(f"{file}:{line}", f"this is not TOML: {reason}", "valid TOML", hint)


class _Reader:
    """Reads one file; keeps the bytes of all files it touches, and what was changed, for the digest."""

    def __init__(self, page: Page, raw: Mapping[str, Any], text: str, folder: Path, changed: str = "") -> None:
        self.page, self.raw, self.text, self.folder = page, raw, text, folder
        self.digest = hashlib.sha256(text.encode() + changed.encode())

    def trip(self, source: str) -> Trip | None:
        page = self.page
        if not check_format(page, self.raw, FORMAT):
            return None
        top = read_values(page, self.raw, TOP, (), also=(*TABLES, DISPATCH, "profile", "segment"))
        start = self._plain("start", START)
        day, time_s = start.pop("date"), start.pop("time")
        place, weather, sun = self._place(), self._weather(), self._sun()
        reader = LegReader(page, self.raw, self.folder)
        legs = reader.legs(top["set_point"])
        self.digest.update("".join(reader.digests).encode())
        self._check_start(start, legs)
        self._note_defaults("", TOP, self.raw)
        trip = Trip(
            name=top["name"] or "",
            about=(top["about"] or "").strip(),
            source=source,
            digest=self.digest.hexdigest(),
            dt_s=top["step"],
            start={**start, "time_s": time_s},
            day=day,
            place=place,
            weather=weather,
            sun=sun,
            legs=legs,
            assumed=tuple(page.assumed),
            t_heat_reference_k=top["heat_reference"],
            clothing_clo=top["clothing"],
            dispatch=read_dispatch(self.raw.get(DISPATCH), page.note, page.where, base=False),
        )
        if reader.whole and not page.reported & {("step",), ("start", "time")}:
            self._check_laid_out(trip)
        return trip

    def _plain(self, name: str, fields: tuple[Field, ...], also: tuple[str, ...] = ()) -> dict[str, Any]:
        raw = self.page.table(self.raw, (name,))
        self._note_defaults(name, fields, raw)
        return read_values(self.page, raw, fields, (name,), also)

    def _note_defaults(self, table: str, fields: tuple[Field, ...], raw: Mapping[str, Any]) -> None:
        """Say which quantities were not written and what stands in for them."""
        for one in fields:
            if one.form == "quantity" and one.default and one.name not in raw and one.name != "step":
                name = f"{table}.{one.name}" if table else one.name
                self.page.assumed.append(f"{name} = {one.default}")

    def _place(self) -> Place:
        values = self._plain("place", PLACE)
        raw = self.page.table(self.raw, ("place",))
        altitude = values["altitude"] if "altitude" in raw else None
        names = ("latitude", "longitude")
        if any(name in raw for name in names) and not all(name in raw for name in names):
            self.page.note(("place",), "half a place", "both `latitude` and `longitude`")
        where = self.page.where("place")
        return Place(values["latitude"], values["longitude"], altitude, values["clock_offset"], where)

    def _weather(self) -> Weather:
        page, path = self.page, ("weather",)
        raw = page.table(self.raw, path)
        if "weather" not in self.raw:
            page.note((), "there is no [weather]", '[weather] with at least temperature = "-5 degC"')
        values = read_values(page, raw, WEATHER + WEATHER_SOURCES, path)
        table = self._table(values.pop("table"), ("weather", "table"), AIR_COLUMNS)
        file = values.pop("file")
        file_path = self._weather_file(file) if file else None
        told = {*raw, *(table.values if table else ())}
        if self.raw.get("weather") and "temperature" not in told and not {"file", "table"} & set(raw):
            page.note(path, "no air temperature", '`temperature`, such as "-5 degC", or `table`, or `file`')
        if table and "temperature" not in told and not file:
            page.note(("weather", "table"), "no air temperature", "a column for it, or `temperature` beside it")
        if file_path is None:
            unsaid = [one for one in WEATHER if one.name not in told]
            self._note_defaults("weather", tuple(unsaid), raw)
        return Weather(values, table, file_path, frozenset(raw), page.where("weather"))

    def _weather_file(self, name: str) -> Path | None:
        path = self.folder / name
        if not path.is_file():
            self.page.note(("weather", "file"), f"there is no weather file {name!r}", "a file beside the trip file")
            return None
        if path.suffix.lower() not in (".epw", ".csv"):
            found = f"the weather file {name!r} is of no known form"
            self.page.note(("weather", "file"), found, "a name that ends in .epw or .csv")
        self.digest.update(path.read_bytes())
        start = self.raw.get("start", {})
        if not (isinstance(start, Mapping) and "date" in start):
            self.page.note(("weather", "file"), "a weather file needs a day", "`date` and `time` in [start]")
        return path

    def _sun(self) -> Sun:
        page, raw = self.page, self.page.table(self.raw, ("sun",))
        values = read_values(page, raw, SUN + SUN_SOURCES, ("sun",))
        table = self._table(values.pop("table"), ("sun", "table"), SUN_COLUMNS)
        clear, turbidity = values.pop("clear_sky"), values.pop("turbidity")
        if clear and set(raw) & {"table", *(one.name for one in SUN)}:
            page.note(("sun", "clear_sky"), "a clear sky and a given sun", "one of them")
        if clear:
            need = {"place": ("latitude", "longitude", "clock_offset"), "start": ("date",)}
            for name, keys in need.items():
                lacking = [key for key in keys if key not in page.table(self.raw, (name,))]
                if lacking:
                    found = f"a clear sky needs {', '.join(lacking)} in [{name}]"
                    page.note(("sun", "clear_sky"), found)
        return Sun(values, table, clear, turbidity, page.where("sun"))

    def _table(self, text: str | None, path: tuple[str, ...], columns: tuple[Any, ...]) -> Series | None:
        if text is None:
            return None
        line = int(self.page.where(*path).rpartition(":")[2])
        opens = self.text.splitlines()[line - 1].rstrip()
        line += opens.endswith(('"""', "'''"))
        table, content = series.read_series(
            text, self.folder, self.page.file, line, (TIME, *columns), self.page.problems
        )
        self.digest.update(content)
        return table

    def _check_start(self, start: dict[str, Any], legs: tuple[Leg, ...]) -> None:
        """A soak that opens the trip may say the start temperature, if [start] does not."""
        if not legs or legs[0].kind != "soak" or legs[0].values["temperature"] is None:
            for number, leg in enumerate(legs):
                if leg.kind == "soak" and number and leg.values["temperature"] is not None:
                    found = "a soak during the trip is worked out step by step and takes no `temperature`"
                    self.page.problems.append(Problem(leg.where, found, "the weather's temperature"))
            return
        if start["temperature"] is not None:
            found = "both [start] and the first soak give the start temperature"
            self.page.note(("start", "temperature"), found, "one of them")
        start["temperature"] = legs[0].values["temperature"]

    def _check_laid_out(self, trip: Trip) -> None:
        """Put the trip on its grid once, for the mistakes that only show there."""
        problems = self.page.problems
        timeline = segments.lay_timeline(trip.legs, trip.start["time_s"], problems)
        if not timeline.legs:
            return
        segments.check_stops(timeline, problems)
        carried.check_carried(timeline, problems)
        grid = segments.lay_grid(trip, timeline, problems)
        for table in (trip.weather.table, trip.sun.table):
            if table is not None:
                series.check_covers(table, timeline.clock_s, grid.n * grid.dt_s, problems)
        needs_clock = trip.weather.file is not None or trip.sun.clear_sky
        if needs_clock and timeline.clock_s is None:
            self.page.note(("start",), "weather file and clear sky need a clock", "`time` in [start]")
