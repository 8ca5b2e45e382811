"""Every picture that a run gives, with its table twin: one function a kind, for the page and the command line alike."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

import numpy as np

from heatwright.dispatch.why import Why
from heatwright.draw.bars import stacked_bars, use_bars
from heatwright.draw.bodies import bodies_picture
from heatwright.draw.decision import decision_picture
from heatwright.draw.film import film, instants
from heatwright.draw.ladder import thermometer_ladder
from heatwright.draw.ledger import ledger_stair
from heatwright.draw.margins import margins_at, margins_over_time
from heatwright.draw.mode_table import mode_table
from heatwright.draw.ph import pressure_enthalpy
from heatwright.draw.quantities import shown
from heatwright.draw.ribbons import heat_ribbons
from heatwright.draw.strip import mode_strip, time_in_modes
from heatwright.draw.svg import stacked
from heatwright.draw.traces import Trace, line_chart
from heatwright.errors import InputError, Problem
from heatwright.plant.model import Plant
from heatwright.report import pick
from heatwright.run import Run
from heatwright.study.cycle import busiest_s, cycle_at
from heatwright.study.frames import moment_at, moments
from heatwright.study.heats import heats
from heatwright.study.margins import margins
from heatwright.study.used_modes import used_modes
from heatwright.study.why_text import decision_as_json

GAP = 8.0
MOST_POINTS = 600


@dataclass(frozen=True)
class Drawn:
    """A picture and the numbers it shows, as plain values."""

    svg: str
    twin: Any


def traces(run: Run, names: Sequence[str] = (), *, height: float = 250) -> Drawn:
    """Lines over the trip: of the series named, which share a unit, or of the bodies' temperatures."""
    if names:
        _check_series(run, names)
        lines, unit = [pick.trace_of(run, name) for name in names], shown(names[0]).unit
    else:
        lines, unit = body_traces(run), "°C"
    title = f"{run.plant_name}: {run.trip_name}"
    svg = line_chart(run.t_s, lines, title=title, unit=unit, legs=run.segments, height=height)
    step = max(1, len(run.t_s) // MOST_POINTS)
    thinned = {one.name: np.asarray(one.values)[::step].tolist() for one in lines}
    return Drawn(svg, {"unit": unit, "t_s": run.t_s[::step].tolist(), "lines": thinned})


def body_traces(run: Run) -> list[Trace]:
    """Lines of the temperatures that a reader asks for first."""
    return [pick.trace_of(run, key, f"{name}, hottest" if "hottest" in key else name) for name, key in pick.bodies(run)]


def ribbons(run: Run, from_s: float | None = None, to_s: float | None = None, *, beside: Sequence[Run] = ()) -> Drawn:
    """Where the heat of a span came from and went, on the scale of the runs beside it."""
    found = heats(run, from_s, to_s)
    most_j = max((heats(one, from_s, to_s).throughput_j for one in beside if one.books), default=0.0)
    return Drawn(heat_ribbons(found, title=f"Heat of the car, {run.plant_name}", most_j=most_j), found.as_json())


def bodies(run: Run, at_s: float) -> Drawn:
    """The bodies and the heat between them at an instant."""
    found = moment_at(run, at_s)
    return Drawn(bodies_picture([found], title=f"{run.plant_name}: {run.trip_name}"), found.as_json())


def cycle(run: Run, at_s: float | None = None, circuit: str = "") -> Drawn:
    """The refrigerant's loop at an instant, left out the busiest."""
    found = cycle_at(run, busiest_s(run, circuit) if at_s is None else at_s, circuit)
    return Drawn(pressure_enthalpy(found), found.as_json())


def strip(run: Run, title: str = "") -> Drawn:
    """Rules of the table, or candidates of the dispatch, over time."""
    names = run.mode_names
    told = title or ("Candidates of the dispatch that ran" if run.provenance.get("strategy") else "Rules in force")
    svg = mode_strip(run.t_s, run.series["mode"], names, title=told, legs=run.segments)
    rows = time_in_modes(run.t_s, run.series["mode"], names)
    return Drawn(svg, [{"name": name, "time_s": held} for _, name, held in rows])


def modes(run: Run) -> Drawn:
    """The modes a run used, and what its actuators did in them."""
    found = used_modes(run)
    return Drawn(mode_table(found), found.as_json())


def needs(run: Run, at_s: float | None = None) -> Drawn:
    """Needs and margins over the trip, or at an instant."""
    found = margins(run)
    if at_s is None:
        svg = margins_over_time(run.t_s, found, legs=run.segments, title=f"Needs and margins, {run.plant_name}")
        return Drawn(svg, [one.as_json() for one in found])
    row = max(int(np.searchsorted(run.t_s, at_s + 1e-6, side="right")) - 1, 0)
    svg = margins_at(run.t_s, found, at_s, title=f"Needs of {run.plant_name}")
    return Drawn(svg, [{"key": one.key, "unit": one.unit, "margin": one.at(row)} for one in found])


def why(record: Why, at_s: float) -> Drawn:
    """Why the mode of an instant ran."""
    found = record.at(at_s)
    return Drawn(decision_picture(found), decision_as_json(found))


def bars(runs: Sequence[Run], beside: Sequence[Run] = ()) -> Drawn:
    """Energy by use, side by side, and in all; on the scale of the runs in pictures beside this one."""
    columns = [(run.plant_name, run.energy_kwh) for run in runs]
    of = f", {runs[0].plant_name}" if len(runs) == 1 else ""
    title = f"Energy by use{of}: {runs[0].trip_name}"
    parts = [use_bars(columns, title=title, beside=[run.energy_kwh for run in beside])]
    parts += [stacked_bars(columns)] if len(runs) > 1 else []
    note = "; ".join(f"{name} {sum(uses.values()):.2f} kWh" for name, uses in columns)
    svg = stacked(parts, GAP, "Energy by use, kWh", note)
    return Drawn(svg, [{"plant": name, "energy_kwh": dict(uses)} for name, uses in columns])


def ledger(run: Run) -> Drawn:
    """The ledger as a stair."""
    terms = run.ledger.get("terms_j") or {}
    return Drawn(ledger_stair(terms), dict(run.ledger))


def ladder(run: Run) -> Drawn:
    """Where each body began and ended on the scale of temperatures."""
    marks = [
        (name, float(run.series[key][0]), float(run.series[key][-1]))
        for name, key in pick.bodies(run)
        if name != "Vent air" and np.isfinite(run.series[key][[0, -1]]).all()
    ]
    twin = [{"body": name, "start_k": start, "end_k": end} for name, start, end in marks]
    return Drawn(thermometer_ladder(marks) if marks else "", twin)


def film_of(run: Run) -> Drawn:
    """The trip as an animated drawing."""
    found = moments(run, instants(run.t_s, run.segments))
    lines = [one for one in body_traces(run) if not one.name.startswith("Vent")]
    title = f"{run.plant_name}: {run.trip_name}"
    return Drawn(film(found, run.t_s, lines, run.segments, title=title), [one.as_json() for one in found])


def _check_series(run: Run, names: Sequence[str]) -> None:
    problems = []
    for name in names:
        if name not in run.series:
            close = get_close_matches(name, list(run.series), 1, 0.5)
            hint = f"did you mean {close[0]}?" if close else "the columns of series.parquet"
            problems.append(Problem("--series", f"the run has no series {name!r}", hint=hint))
    units = {shown(name).unit for name in names}
    if len(units) > 1 and not problems:
        problems.append(Problem("--series", f"units {', '.join(sorted(units))}", "series of one unit in one picture"))
    if problems:
        raise InputError(problems, "traces")


def sheet(
    plant: Plant, level: str, *, mode: str = "", run: Run | None = None, at_s: float = 0.0, refine: bool = False,
    progress: Callable[[float, float], Any] | None = None,
) -> Drawn:  # fmt: skip
    """The sheet of a plant at a level, as planned, in one of its modes or at an instant of a run."""
    from heatwright.draw.sheet import draw_sheet, layout_of
    from heatwright.draw.sheet.layout import bend_count, crossings

    twin: dict[str, Any] = {"plant": plant.name, "level": level, "mode": mode or None, "at_s": at_s if run else None}
    layout = layout_of(plant, refine=refine, progress=progress) if level == "plumbing" or refine else None
    if layout is not None:
        places = {name: [stand.x, stand.y] for name, stand in layout.stands.items()}
        twin |= {"places": places, "crossings": len(crossings(layout)), "bends": bend_count(layout)}
    return Drawn(draw_sheet(plant, level, mode=mode, run=run, t_s=at_s, layout=layout), twin)
