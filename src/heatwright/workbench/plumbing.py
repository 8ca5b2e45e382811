"""The sheet layer: a run's plant at an instant, with the figures of every part, and what is known of its layout."""

from __future__ import annotations

from dataclasses import dataclass

from heatwright.draw.axes import clock
from heatwright.draw.quantities import signed
from heatwright.draw.sheet import draw_sheet, layout_of
from heatwright.draw.sheet.figures import Figures, figures_of
from heatwright.draw.sheet.graph import graph_of
from heatwright.draw.sheet.instant import state_of_run
from heatwright.draw.sheet.layout import bend_count, crossings
from heatwright.draw.sheet.sheet import LEVELS
from heatwright.draw.sheet.temperatures import marks_of
from heatwright.errors import InputError, Problem
from heatwright.plant.model import Plant
from heatwright.workbench.study import Kept

KELVIN = 273.15
PARTS_HEAD = ("part", "figure", "value")
MARKS_HEAD = ("where", "what", "°C", "")


@dataclass(frozen=True)
class SheetNow:
    """A sheet at an instant: the drawing, its table as (caption, head, rows), and the figures of every part on it."""

    svg: str
    table: tuple[str, tuple[str, ...], tuple[tuple[str, ...], ...]]
    parts: tuple[Figures, ...]


def sheet_at(one: Kept, level: str, at_s: float) -> SheetNow:
    """The sheet of a run at a level and a time [s]; InputError for an unknown level or plant."""
    plant = one.car
    if level not in LEVELS:
        raise InputError([Problem("level", f"no level {level[:40]!r}", ", ".join(LEVELS))], "sheet")
    svg = draw_sheet(plant, level, run=one.run, t_s=at_s)
    if level == "temperatures":
        marks = marks_of(plant, graph_of(plant), state_of_run(plant, one.run, at_s))
        rows = tuple((m.group, m.words, signed(m.t_k - KELVIN, 1), "" if m.flows else "stands") for m in marks)
        return SheetNow(svg, (f"Temperatures of {one.name} at {clock(at_s)}", MARKS_HEAD, rows), ())
    parts = figures_of(plant, one.run, at_s)
    told = tuple((part.words, what, value) for part in parts for what, value in part.rows)
    table = (f"Parts of {one.name} at {clock(at_s)}", PARTS_HEAD, told)
    return SheetNow(svg, table, parts if level == "plumbing" else ())


def layout_facts(plant: Plant) -> dict[str, int]:
    """Crossings and bends of the layout that a plant has now; a plant without one gets a draft."""
    layout = layout_of(plant)
    return {"crossings": len(crossings(layout)), "bends": bend_count(layout)}
