"""The page of needs: clocks and ranges with their reasons, capacities as a picture and tables, the sheet's sources."""

from __future__ import annotations

from typing import TYPE_CHECKING

from heatwright.report import html
from heatwright.study.capacity.tasks import TASKS, Task
from heatwright.study.capacity.text import best_modes, least_modes, shown, unit, verdict
from heatwright.study.needs.figures import FIGURES
from heatwright.study.needs.text import BASIS, limit_words
from heatwright.study.needs.text import shown as figure_words
from heatwright.study.point_table import celsius
from heatwright.study.table import DASH, number

if TYPE_CHECKING:
    from heatwright.study.capacity.sweep import Capacities
    from heatwright.study.needs.clocks import Clocks


def render_needs(plant: str, sheet: str, clocks: Clocks | None, found: Capacities | None) -> str:
    """One HTML page that needs nothing else; either part may be missing."""
    cells = [("Plant", plant), ("Sheet", sheet)]
    sections: list[tuple[str, str, str]] = []
    if clocks is not None:
        cells.append(("Needs met", f"{clocks.passed} of {len(clocks.answers)}"))
        sections.append(("clocks", "Clocks and ranges", _answers(clocks)))
    if found is not None:
        from heatwright.draw.capacity import capacity_picture

        short = sum(any(not cell.met for cell in found.of(task.key)) for task in TASKS)
        cells.append(("Capacities short somewhere", f"{short} of {len(TASKS)}"))
        sections.append(("capacities", "Capacities", html.drawing(capacity_picture(found))))
        sections += [(task.key, task.words.capitalize(), _table(task, found)) for task in TASKS]
    if clocks is not None:
        sections.append(("sources", "Where the limits come from", _sources(clocks)))
    sections.append(("cautions", "Cautions", html.cautions()))
    return html.page(f"Needs, {plant}", html.title_block("Needs", plant, cells), sections)


def _answers(clocks: Clocks) -> str:
    """Every line of the sheet: limit, found, margin, and why."""
    head = ("Need", "Limit", "Found", "Margin", "Verdict", "Why")
    rows = []
    for one in clocks.answers:
        figure = FIGURES[one.need.figure]
        margin = "" if one.margin is None else figure_words(figure, one.margin, difference=True)
        verdict_word = "met" if one.passed else "missed"
        rows.append(
            (one.need.asks, limit_words(one), figure_words(figure, one.found), margin, verdict_word, one.why)
        )  # fmt: skip
    return html.table(head, rows, words=True) + html.sentences([BASIS])


def _sources(clocks: Clocks) -> str:
    rows = [(one.need.asks, one.need.trip or one.need.glass, one.need.source) for one in clocks.answers]
    return html.table(("Need", "Test", "Source of the limit"), rows, words=True)


def _table(task: Task, found: Capacities) -> str:
    """One need over the air outside where it is asked, with its sentence and its best modes."""
    cells = found.of(task.key)
    head = ["Air outside, °C"]
    for side, _ in task.sides:
        name = f"{side.capitalize()} " if len(task.sides) > 1 else ""
        head += [f"{name}{words}, {unit(side)}" for words in (("load", "capacity") if name else ("Load", "Capacity"))]
    head += ["Share", "Electric then, kW", "Mode", "Least that serves it, kW", "In mode"]
    rows = []
    for cell in cells:
        if cell.share is None:  # nothing is asked
            continue
        row = [celsius(cell.t_ambient_k, 1)]
        for one in cell.amounts:
            row += [shown(one.side, value) for value in (one.load, one.capacity)]
        share = f"{number(100.0 * cell.share, 0)} %"
        full = number(cell.p_electric_w / 1e3, 2) if cell.mode else DASH
        least = DASH if cell.p_least_w is None else number(cell.p_least_w / 1e3, 2)
        rows.append([*row, share, full, cell.mode or DASH, least, cell.least_mode or DASH])
    told = [verdict(cells), *(f"Most {where}: {title}" for where, title in best_modes(cells))]
    told += [f"Least power {where}: {title}" for where, title in least_modes(cells)]
    moving = [celsius(cell.t_ambient_k, 1) for cell in cells if not cell.steady]
    told += [f"Still moving when read: at {', '.join(moving)} °C"] if moving else []
    return html.sentences(told) + (html.table(head, rows) if rows else "")
