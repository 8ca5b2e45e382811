"""A sheet of needs: read from TOML, every mistake reported at once with its line."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from heatwright.errors import InputError, Problem
from heatwright.study.glass import DEFROST, DEMIST
from heatwright.study.needs.figures import FIGURES
from heatwright.study.needs.loads import LOADS
from heatwright.toml_lines import KeyPath, lines_of
from heatwright.trip.load import load_trip
from heatwright.trip.model import Trip
from heatwright.trip.reading import Page, check_format, read_values
from heatwright.trip.schema import quantity, table_shape, value_shape, words
from heatwright.units import UnitError, parse

FORMAT = "heatwright needs 1"
ENDING = ".needs.toml"
SHIPPED = Path(__file__).resolve().parent.parent.parent / "data" / "needs"
TITLE = "sheet of needs"
MOST_NEEDS = 200
TESTS = {"defrost": DEFROST, "demist": DEMIST}

TOP = (
    words("format", f'"{FORMAT}", the language of the file', required=True),
    words("name", "title of the sheet", required=True),
    words("about", "what the sheet is for"),
    words("extends", 'a sheet whose lines come first: "default", or a file beside this one'),
)
NEED = (
    words("asks", "the need in words", required=True),
    words("source", "where the limit comes from", required=True),
    words("trip", "the trip it is found on: a shipped one, or a file beside the sheet"),
    words("glass", "or the glass test it is found in: defrost or demist"),
    quantity("chamber", "chamber of a glass test", "degC", -50, 20),
    words("figure", f"what is found: {', '.join(FIGURES)}", required=True),
    quantity("mark", "temperature that counts as reached", "degC", -40, 80),
    words("area", "vision area of a glass test"),
    quantity("share", "share that must be clear, or the charge from which time counts", "%", 0, 100),
    words("stop", "segment of the trip that counts"),
    words("note", "free text, kept for the reader"),
)
ALSO = ("drop", "need", "capacity")


@dataclass(frozen=True)
class Need:
    """One line of a sheet, SI inside. One of `most` and `least` is None."""

    name: str
    asks: str
    source: str
    figure: str
    most: float | None
    least: float | None
    trip: str = ""
    glass: str = ""
    t_chamber_k: float | None = None
    mark_k: float | None = None
    area: str = ""
    share: float | None = None
    stop: str = ""
    where: str = ""

    @property
    def test(self) -> tuple[str, float]:
        """What must be marched for it: needs with the same test share one march."""
        return (self.trip or self.glass, self.t_chamber_k or 0.0)


@dataclass(frozen=True)
class Sheet:
    """A sheet of needs: its lines, the trips they name, and the loads that capacities are set against (SI)."""

    name: str
    about: str
    source: str
    needs: tuple[Need, ...]
    trips: Mapping[str, Trip] = field(default_factory=dict)
    loads: Mapping[str, float] = field(default_factory=dict)


class _Places(Page):
    """A page made of several files: each key stands where it was written last."""

    def __init__(self, file: str) -> None:
        super().__init__(file, {})
        self.places: dict[KeyPath, str] = {}

    def where(self, *path: str | int) -> str:
        """File and line of a key, or of the nearest table that holds it."""
        key: KeyPath = path
        while key and key not in self.places:
            key = key[:-1]
        return self.places.get(key, f"{self.file}:1")


def load_sheet(source: str | os.PathLike[str] = "default") -> Sheet:
    """Read a sheet from a file, or a shipped one by its name; InputError lists every mistake."""
    file = _locate(os.fspath(source))
    page = _Places(os.fspath(source))
    raw = _merged(page, file, ())
    if not check_format(page, raw, FORMAT):
        raise InputError(page.problems, TITLE)
    top = read_values(page, raw, TOP, (), also=ALSO)
    table = page.table(raw, ("need",))
    if not table or len(table) > MOST_NEEDS:
        page.note(("need",), f"{len(table)} needs", f"1 to {MOST_NEEDS} tables such as [need.warm_up]")
    needs = [_need(page, name, own) for name, own in table.items() if _is_table(page, name, own)]
    trips = _trips(page, [one for one in needs if one], file.parent)
    loads = read_values(page, page.table(raw, ("capacity",)), LOADS, ("capacity",))
    if loads["coldest"] > loads["hottest"]:
        page.note(("capacity", "hottest"), "hottest is colder than coldest", "the air outside from cold to hot")
    _stops(page, [one for one in needs if one], trips)
    if page.problems:
        raise InputError(page.problems, TITLE)
    return Sheet(top["name"], top["about"] or "", os.fspath(source), tuple(one for one in needs if one), trips, loads)


def sheet_schema() -> dict[str, Any]:
    """JSON Schema of a sheet, made from the declarations above; a line of an extending sheet may be incomplete."""
    limit = {"type": "string", "description": "the limit, in the unit of the figure", "examples": ["20 min"]}
    line = table_shape(NEED)
    line["properties"] |= {"most": limit, "least": limit}
    line["properties"]["figure"]["enum"] = list(FIGURES)
    line["properties"]["glass"]["enum"] = list(TESTS)
    line.pop("required")
    properties: dict[str, Any] = {one.name: value_shape(one) for one in TOP}
    properties["format"] = {"const": FORMAT}
    properties["drop"] = {"type": "array", "items": {"type": "string"}}
    properties["need"] = {"type": "object", "additionalProperties": line}
    properties["capacity"] = table_shape(LOADS)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": FORMAT,
        "type": "object",
        "properties": properties,
        "required": [one.name for one in TOP if one.required],
        "additionalProperties": False,
    }


def _locate(source: str) -> Path:
    shipped = SHIPPED / f"{source.removesuffix(ENDING)}{ENDING}"
    return shipped if not Path(source).exists() and "/" not in source and shipped.is_file() else Path(source)


def _merged(page: _Places, file: Path, above: tuple[Path, ...]) -> dict[str, Any]:
    """Return the keys of a file on top of those of the file it extends, and note where each is written."""
    shown = file.name if file.parent == SHIPPED else str(file)
    try:
        text = file.read_bytes().decode("utf-8-sig")
        own = tomllib.loads(text)
    except (OSError, UnicodeDecodeError) as failure:
        found = f"the sheet cannot be read ({getattr(failure, 'strerror', None) or 'not UTF-8 text'})"
        known = ", ".join(sorted(one.name.removesuffix(ENDING) for one in SHIPPED.glob("*" + ENDING)))
        raise InputError([Problem(shown, found, f"a file, or a shipped sheet: {known}")], TITLE) from failure
    except tomllib.TOMLDecodeError as mistake:
        reason, _, place = str(mistake).partition(" (at ")
        line = place.removeprefix("line ").split(",")[0] if place.startswith("line ") else "end"
        problem = Problem(f"{shown}:{line}", f"this is not TOML: {reason}", "valid TOML")
        raise InputError([problem], TITLE) from mistake
    places = {key: f"{shown}:{line}" for key, line in lines_of(text).items()}
    base: dict[str, Any] = {}
    name = own.get("extends")
    if isinstance(name, str):
        beside = file.parent / name
        under = beside if beside.is_file() else _locate(name)
        if under.resolve() in (*above, file.resolve()):
            page.problems.append(Problem(places["extends",], f"{name!r} extends this sheet in turn", "another sheet"))
        else:
            base = _merged(page, under, (*above, file.resolve()))
    _drop(page, base, own.pop("drop", []), places)
    page.places |= places
    return _over(base, own)


def _drop(page: _Places, base: dict[str, Any], names: Any, places: Mapping[KeyPath, str]) -> None:
    """Take lines of the base away."""
    known = base.get("need", {})
    for number, name in enumerate(names if isinstance(names, list) else [names]):
        if name in known:
            del known[name]
            continue
        where = places.get(("drop", number)) or places.get(("drop",), f"{page.file}:1")
        near = get_close_matches(str(name), known, 1)
        hint = f"write {near[0]!r}" if near else ""
        page.problems.append(Problem(where, f"drop names {name!r}", "a need of the sheet that it extends", hint))


def _over(base: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    for key, value in own.items():
        old = base.get(key)
        base[key] = _over(dict(old), value) if isinstance(value, dict) and isinstance(old, dict) else value
    return base


def _is_table(page: _Places, name: str, own: Any) -> bool:
    if not isinstance(own, dict):
        page.note(("need", name), f"{name} = {own!r}", f"a table [need.{name}] with keys below it")
    return isinstance(own, dict)


def _need(page: _Places, name: str, own: dict[str, Any]) -> Need | None:
    """Return one line of the sheet; None, with its mistakes noted, if it cannot be used."""
    path = ("need", name)
    before = len(page.problems)
    values = read_values(page, own, NEED, path, also=("most", "least"))
    figure = FIGURES.get(values["figure"] or "")
    if values["figure"] and figure is None:
        near = get_close_matches(values["figure"], FIGURES, 1)
        hint = f"write {near[0]!r}" if near else ""
        page.note((*path, "figure"), f"no figure {values['figure']!r}", f"one of {', '.join(FIGURES)}", hint)
    if (values["trip"] is None) == (values["glass"] is None):
        page.note(path, "neither or both of `trip` and `glass`", "one of them")
    if figure is None:
        return None
    limits = {key: _limit(page, own, (*path, key), figure.unit) for key in ("most", "least") if key in own}
    if len(limits) != 1:
        page.note(path, f"{len(limits)} limits", f'`most` or `least`, such as most = "10 {figure.unit}"')
    if (values["glass"] is not None) != figure.glass and (values["trip"] is None) != (values["glass"] is None):
        page.note((*path, "figure"), f"{figure.key} with {'glass' if values['glass'] else 'trip'}",
                  "area_clear with glass, every other figure with trip")  # fmt: skip
    _own_keys(page, path, values, figure.key)
    if len(page.problems) > before:
        return None
    return Need(
        name, values["asks"], values["source"], figure.key, limits.get("most"), limits.get("least"),
        values["trip"] or "", values["glass"] or "", values["chamber"], values["mark"], values["area"] or "",
        values["share"], values["stop"] or "", page.where(*path),
    )  # fmt: skip


def _limit(page: _Places, own: dict[str, Any], path: KeyPath, unit: str) -> float | None:
    value = own[str(path[-1])]
    if not isinstance(value, str):
        page.note(path, f"{path[-1]} = {value!r} has no unit", f'text such as "10 {unit}"')
        return None
    try:
        return parse(value, unit)
    except UnitError as mistake:
        page.note(path, f"{path[-1]}: {mistake.found}", mistake.expected, mistake.hint)
        return None


def _own_keys(page: _Places, path: KeyPath, values: Mapping[str, Any], key: str) -> None:
    """Note keys that the figure needs and that are not there, or that mean nothing to it."""
    figure = FIGURES[key]
    wanted = (*figure.needs, *(("chamber",) if figure.glass else ()))
    for name in wanted:
        if values[name] is None:
            page.note(path, f"{key} without `{name}`", f"`{name}`")
    for name in ("mark", "area", "share", "stop", "chamber"):
        if values[name] is not None and name not in (*wanted, *figure.may):
            page.note((*path, name), f"`{name}` says nothing to {key}", "no such key")
    if values["glass"] is not None and values["glass"] not in TESTS:
        page.note((*path, "glass"), f"no glass test {values['glass']!r}", f"one of {', '.join(TESTS)}")
    elif values["area"] is not None and values["glass"] is not None:
        areas = [one.key for one in TESTS[values["glass"]]]
        if values["area"] not in areas:
            page.note((*path, "area"), f"no area {values['area']!r}", f"one of {', '.join(areas)}")


def _trips(page: _Places, needs: list[Need], folder: Path) -> dict[str, Trip]:
    """Return every trip the sheet names, once; the mistakes of all of them are noted."""
    found: dict[str, Trip] = {}
    for need in needs:
        if not need.trip or need.trip in found:
            continue
        beside = folder / need.trip
        try:
            found[need.trip] = load_trip(beside if beside.is_file() else need.trip)
        except InputError as failure:
            unread = any(one.where == need.trip for one in failure.problems)
            where = page.where("need", need.name, "trip")
            page.problems += [Problem(where, p.found, p.expected) if unread else p for p in failure.problems]
            found[need.trip] = None  # type: ignore[assignment]
    return {name: trip for name, trip in found.items() if trip is not None}


def _stops(page: _Places, needs: list[Need], trips: Mapping[str, Trip]) -> None:
    """Note segments that a trip does not have."""
    for need in needs:
        if need.stop and need.trip in trips:
            names = [leg.name for leg in trips[need.trip].legs]
            if need.stop not in names:
                path = ("need", need.name, "stop")
                page.note(path, f"{need.trip} has no segment {need.stop!r}", f"one of {', '.join(names)}")
