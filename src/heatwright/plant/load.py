"""Reads a plant file into a Plant, or says everything that is wrong with it at once."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from heatwright.dispatch_table import KEY as DISPATCH
from heatwright.dispatch_table import read_dispatch
from heatwright.plant.checks import (
    check_carbon_dioxide,
    check_comfort_heaters,
    check_fluids,
    check_laid,
    check_plumbing,
    check_required,
)
from heatwright.plant.control import read_control
from heatwright.plant.declare import read_parts
from heatwright.plant.fields import FieldReader
from heatwright.plant.front import read_front, read_mirror, read_never
from heatwright.plant.lines import read_lines
from heatwright.plant.mistakes import Mistakes
from heatwright.plant.model import Plant
from heatwright.plant.pins import read_pins
from heatwright.plant.rest import read_body, read_fluid, read_glass, read_hoses
from heatwright.plant.slips import find_slips
from heatwright.plant.source import FORMAT, HEAD, Source, locate, read_source


def load_plant(source: str | Path, changes: Mapping[str, Any] | None = None) -> Plant:
    """Read a plant from a path or the name of a shipped plant.

    `changes` puts other values in place of those in the file, as text: {"pack.heat_capacity": "500 kJ/K"}.
    Raises InputError with every mistake found.
    """
    mistakes = Mistakes(str(source))
    path = locate(source, mistakes)
    merged = read_source(path, mistakes, changes) if path is not None else None
    if merged is None:
        mistakes.check()
    assert merged is not None
    plant = _build(merged, str(source), mistakes)
    mistakes.check()
    return plant


def _build(merged: Source, source: str, mistakes: Mistakes) -> Plant:
    data = merged.data
    mistakes.dropped = merged.dropped
    _check_head(data, mistakes)
    reader = FieldReader(mistakes)
    fluid = read_fluid(data.get("fluid", {}), reader)
    parts = read_parts(data, reader)
    find_slips(data, parts, mistakes)
    if parts or "lines" in data or not mistakes.problems:
        check_required(parts, mistakes)
    plumbing = read_lines(data.get("lines", {}), parts, mistakes)
    check_plumbing(plumbing)
    check_laid(parts, mistakes)
    check_fluids(parts, fluid["circuits"], mistakes)
    check_carbon_dioxide(parts, fluid, mistakes)
    glass = read_glass(data.get("glass"), reader)
    check_comfort_heaters(parts, glass, mistakes)
    front, stack = read_front(data.get("front", {}), parts, reader)
    return Plant(
        name=str(data.get("name", "")),
        about=str(data.get("about", "")),
        source=source,
        digest=merged.digest,
        fluid=fluid,
        parts=parts,
        nets=plumbing.nets(),
        body=read_body(data.get("body", {}), reader),
        glass=glass,
        hoses=read_hoses(data.get("hoses", {}), data.get("lines", {}), reader),
        front=front,
        front_stack=stack,
        control=read_control(data.get("control"), parts, mistakes, plumbing.unblown()),
        mirror=read_mirror(data.get("mirror", {}), parts, mistakes),
        never=read_never(data.get("never", {}), parts, mistakes),
        pins=read_pins(data.get("sheet", {}), parts, mistakes),
        dispatch=read_dispatch(data.get(DISPATCH), mistakes.add, mistakes.where, base=True),
        assumed=tuple(reader.assumed),
        stated=tuple(reader.stated),
        files=tuple(merged.shown),
    )


def _check_head(data: Mapping[str, Any], mistakes: Mistakes) -> None:
    if data.get("format") != FORMAT:
        found = f"format is {data['format']!r}" if "format" in data else "the file does not say its format"
        mistakes.add(("format",), found, f'format = "{FORMAT}" at the head of the file', HEAD)
    for key in ("name", "about"):
        if key in data and not isinstance(data[key], str):
            mistakes.add((key,), f"{key} is no text", f'{key} = "..."', "put it between quotes")
    if not data.get("name"):
        mistakes.add(("name",), "the plant has no name", 'name = "..."', "name it: tables and pages call it so")
