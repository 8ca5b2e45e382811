"""The layers that scripts of the page work with (traces, compare, set-up, scenes, report) as plain pages."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import quote

import numpy as np

from heatwright.draw.axes import clock
from heatwright.draw.quantities import signed
from heatwright.errors import HeatwrightError
from heatwright.report import pictures
from heatwright.workbench.compare import Line, side_by_side
from heatwright.workbench.forms import SetUp, set_up, trip_set_up
from heatwright.workbench.handed import address, section_titles
from heatwright.workbench.layers import KINDS, layer, sentence_of
from heatwright.workbench.opened import Asked, Layer, Picture, Table, title_of
from heatwright.workbench.scenes import scene_list

Build = Callable[[Asked], Layer]
SHOW = "Show the runs of this scene at its instant"


def _traces(asked: Asked) -> Layer:
    shown = []
    for one in asked.runs:
        lines = pictures.body_traces(one.run)
        rows = tuple(
            (line.name, *(signed(float(x), 1) for x in (v[0], v[-1], np.nanmin(v), np.nanmax(v))))
            for line in lines if len(v := np.asarray(line.values)) and np.isfinite(v).any()
        )  # fmt: skip
        head = ("temperature, °C", "at the start", "at the end", "least", "greatest")
        shown.append(Picture(one.name, pictures.traces(one.run).svg, Table(f"Temperatures of {one.name}", head, rows)))
    return Layer("traces", *title_of("traces"), asked.at_s, tuple(shown), follows=False)


def _compare(asked: Asked) -> Layer:
    if len(asked.runs) < 2:
        sorry = "One run is shown; choose two to four beneath the time band."
        return Layer("compare", *title_of("compare"), asked.at_s, sorry=sorry)
    found = side_by_side(asked.study, asked.runs, asked.at_s)
    tables = [_lines(f"At {clock(found.at_s)}", found.names, found.now)]
    tables.append(_lines("Over the whole trip", found.names, found.whole))
    lines = [found.unasked] if found.unasked else []
    for one in found.verdicts.against if found.verdicts else ():
        lines.append(one.better)
        head = ("figure", *one.names, "difference", "nine in ten from", "verdict")
        tables.append(Table(f"What holds: {one.names[1]} against {one.names[0]}", head, one.rows))
    return Layer(
        "compare",
        *title_of("compare"),
        asked.at_s,
        (Picture("Energy by use", found.bars),),
        tuple(lines),
        tables=tuple(tables),
    )


def _lines(caption: str, names: tuple[str, ...], lines: tuple[Line, ...]) -> Table:
    return Table(caption, ("figure", "unit", *names), tuple(line.cells() for line in lines))


def _set_up(asked: Asked) -> Layer:
    first, study, forms = asked.runs[0], asked.study, []
    if first.plant:
        forms.append(set_up(first.plant, study.plant_source(first.plant)))
    if first.trip:
        forms.append(trip_set_up(first.trip, study.trip_source(first.trip)))
    said = [f"{one['where']}: {one['found']}" for form in forms for one in form.problems]
    tables = tuple(_form(one) for one in forms if one.rows)
    notes = tuple(one.note for one in forms if one.note)
    return Layer("setup", *title_of("setup"), asked.at_s, (), notes, "; ".join(said), False, tables)


def _form(form: SetUp) -> Table:
    rows = tuple((one.key, one.words, one.text, one.span or one.unit, one.grade, one.source) for one in form.rows)
    return Table(f"{form.title}, {form.kind}", ("number", "what it is", "value", "range", "grade", "source"), rows)


def _scenes(asked: Asked) -> Layer:
    found = scene_list(asked.study)
    lines = tuple(f"{one.scene.title}. {one.caption}" for one in found.scenes)
    links = tuple(
        (f"/layers/{one.scene.layer or 'traces'}?runs={','.join(one.ids)}&at={one.scene.at_s:g}",
         f"{SHOW}: {one.scene.title}")
        for one in found.scenes if one.ids
    )  # fmt: skip
    return Layer("scenes", *title_of("scenes"), asked.at_s, (), lines, follows=False, links=links)


def _report(asked: Asked) -> Layer:
    lines = tuple(title for _, title in section_titles())
    ids = tuple(one.id for one in asked.runs)
    links = tuple((f"/runs/{quote(one.id)}/report.html", f"Report of {one.name}") for one in asked.runs)
    if len(ids) > 1:
        links = ((address("html", ids), "Report of all runs shown"), *links)
    return Layer("report", *title_of("report"), asked.at_s, (), lines, follows=False, links=links)


OWN: dict[str, Build] = {
    "traces": _traces, "compare": _compare, "setup": _set_up, "scenes": _scenes, "report": _report,
}  # fmt: skip


def any_layer(key: str, asked: Asked) -> Layer:
    """Open any layer; InputError where there is none of that name."""
    title_of(key)
    if key in KINDS:
        return layer(key, asked)
    try:
        return OWN[key](asked)
    except HeatwrightError as failure:
        return Layer(key, *title_of(key), asked.at_s, sorry=sentence_of(asked.runs[0], failure), follows=False)
