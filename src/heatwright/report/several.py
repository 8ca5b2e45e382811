"""One report of two to four runs: every section tells of each in turn, after what tells of all of them together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from html import escape

from heatwright.dispatch.why import Why
from heatwright.draw.axes import span_words
from heatwright.report import html
from heatwright.report.compare_page import energy, figures_table, question, temperatures, verdict_list
from heatwright.report.page import SECTIONS, chosen, render_run
from heatwright.run import Run
from heatwright.study.service import row_of

UNJUDGED = (
    "Differences are those of one march each. Whether they hold against what is not known well is told by"
    " heatwright compare, which marches draws."
)
NAMES = {"question": "The question", "plant": "Plants", "answer": "The answer in five lines"}
ONCE = ("question", "trip", "cautions")
"""Sections that are told once, the trip from the first run where all went on the same."""


def render_several(
    runs: Sequence[tuple[str, Run, Why | None]],
    keys: Sequence[str] | None = None,
    verdicts: Sequence[str] = (),
) -> str:
    """One HTML page of (name, run, why-record) with the sections wanted; of one run alone, its own report.

    `verdicts` : what draws said of the runs against the first, as sentences.
    """
    named = [(replace(run, plant_name=name), record) for name, run, record in runs]
    if len(named) == 1:
        return render_run(*named[0], keys)
    cars = [run for run, _ in named]
    together: dict[str, Callable[[], str]] = {
        "question": lambda: question(cars),
        "answer": lambda: _answer(cars, verdicts),
        "energy": lambda: energy(cars),
        "heat": lambda: temperatures(cars),
    }
    sections = []
    for key in chosen(keys):
        title, fill = SECTIONS[key]
        parts = [together[key]()] if key in together else []
        same = key in ONCE and not (key == "trip" and len({run.trip_name for run in cars}) > 1)
        if same:
            parts += [] if parts else [fill(*named[0])]
        else:
            parts += [f"<h3>{escape(run.plant_name)}</h3>{inner}" for run, why in named if (inner := fill(run, why))]
        sections.append((key, NAMES.get(key, title), "".join(parts)))
    return html.page(f"Report, {cars[0].trip_name}", _head(cars), sections)


def _head(runs: Sequence[Run]) -> str:
    first = runs[0]
    length = span_words(float(first.t_s[-1] - first.t_s[0])) if first.steps else ""
    cells = [
        ("Runs", str(len(runs))),
        ("Trip", "; ".join(dict.fromkeys(run.trip_name for run in runs))),
        ("Made", html.moment(first.provenance.get("made_at"))),
        ("Trip time", length),
    ]
    names = ", ".join(run.plant_name for run in runs)
    return html.title_block("Report", f"{len(runs)} runs on {first.trip_name}", cells, names)


def _answer(runs: Sequence[Run], verdicts: Sequence[str]) -> str:
    """The verdicts, or that nobody asked for them, and the figures side by side with signed differences."""
    rows = [row_of(run, strategy=str(run.provenance.get("strategy") or "table")) for run in runs]
    told = verdict_list(verdicts) if verdicts else f"<p>{escape(UNJUDGED)}</p>"
    return told + figures_table(rows)
