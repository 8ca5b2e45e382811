"""Modes of a run and why each ran: over time, in a table, and, under dispatch, at the moments that chose them."""

from __future__ import annotations

import numpy as np

from heatwright.dispatch.why import Why
from heatwright.draw.axes import span_words
from heatwright.draw.strip import time_in_modes
from heatwright.kernel.desk import ASLEEP
from heatwright.report import html, pictures
from heatwright.report.modes_by_time import HEAD, modes_by_time
from heatwright.run import Run
from heatwright.study.why_text import clock

MOST_CHANGES = 24
SHOWN = 3


def modes(run: Run, record: Why | None) -> str:
    """The section: strips, tables, and the decisions that began the longest modes."""
    if "mode" not in run.series or not run.steps:
        return ""
    dispatched = bool(run.provenance.get("strategy"))
    parts = [html.drawing(pictures.strip(run).svg)]
    whole = float(run.t_s[-1] - run.t_s[0])
    used = sorted(time_in_modes(run.t_s, run.series["mode"], run.mode_names), key=lambda row: -row[2])
    rows = [(name, span_words(held), f"{100 * held / whole:.1f} %") for _, name, held in used]
    parts.append(html.table(("candidate" if dispatched else "rule", "time", "share"), rows))
    lasted = modes_by_time(run, 12)
    if lasted:
        parts += [html.table(HEAD, lasted), html.drawing(pictures.modes(run).svg)]
    if record is not None:
        parts.append(_why(record))
    elif not dispatched:
        parts.append("<p>A rule runs because it is the first of the plant's table whose conditions hold.</p>")
    return "".join(parts)


def _why(record: Why) -> str:
    """Every change of mode with its reason, as many as fit, and the decisions behind the longest modes."""
    changes = record.changes()
    rows = [(clock(t_s), record.titles[after], record.at(t_s).reason) for t_s, _, after in changes[:MOST_CHANGES]]
    more = len(changes) - len(rows)
    told = [f"{more} more changes are told by heatwright why RUN."] if more > 0 else []
    table = html.table(("time", "mode", "why"), rows, caption="Changes of mode", words=True) if rows else ""
    drawn = "".join(html.drawing(pictures.why(record, t_s).svg) for t_s in decisive(record))
    head = "<h3>Why the longest modes began</h3>" if drawn else ""
    return table + html.sentences(told) + head + drawn


def decisive(record: Why) -> list[float]:
    """Times at which the modes that ran longest first began [s], in the order of time; sleep is none."""
    ran = record.chosen[record.chosen != ASLEEP]
    if not ran.size:
        return []
    numbers, counts = np.unique(ran, return_counts=True)
    longest = numbers[np.argsort(-counts)][:SHOWN]
    return sorted(float(record.t_s[int(np.argmax(record.chosen == number))]) for number in longest)
