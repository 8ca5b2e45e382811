"""What was asked of a run: the question, the plant, the trip, and everything that went in, with its sources."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

import numpy as np

from heatwright.draw.axes import span_words
from heatwright.draw.quantities import MISSING
from heatwright.draw.traces import line_chart
from heatwright.report import html, pick
from heatwright.run import Run

TIMELESS = ("elapsed_s", "accuracy", "made_at", "versions", "plant_about", "trip_about", "assumed", "bodies")
KINDS = {"pack": "pack", "drive_unit": "drive unit", "zone": "cabin", "electronics": "electronics"}


def question(run: Run) -> str:
    """The question in words: this plant, this trip, and who chose the modes."""
    chose = "a control that weighs every mode" if run.provenance.get("strategy") else "the plant's own table of rules"
    if not run.provenance.get("controlled", True):
        chose = "nobody: the plant has no control"
    asked = f"What does {run.plant_name} use, how does it keep people, pack and drive unit, on {run.trip_name}?"
    return f'<p class="asked">{escape(asked)}</p><p>Modes were chosen by {escape(chose)}.</p>'


def plant(run: Run) -> str:
    """The plant as far as a run knows it."""
    seen = run.provenance
    about = str(seen.get("plant_about") or "")
    known: dict[str, Any] = {}
    if seen.get("refrigerants"):
        known["refrigerant"] = "; ".join(f"{name}: {fluid}" for name, fluid in seen["refrigerants"].items())
    if seen.get("bodies"):
        known["bodies"] = "; ".join(f"{name}: {KINDS.get(kind, kind)}" for name, kind in seen["bodies"].items())
    if seen.get("plant_source"):
        known["file"] = str(seen["plant_source"])
    return (f"<p>{escape(about)}</p>" if about else "") + html.facts(known)


def trip(run: Run) -> str:
    """The trip: what it is, its legs, the speed."""
    about = str(run.provenance.get("trip_about") or "")
    parts = [f"<p>{escape(about)}</p>"] if about else []
    if "speed_m_per_s" in run.series and run.steps:
        speed = [pick.trace_of(run, "speed_m_per_s", "Road speed", 5)]
        chart = line_chart(run.t_s, speed, title="Road speed", unit="km/h", legs=run.segments, height=90, zero=True)
        parts.append(html.drawing(chart))
    if run.segments:
        parts.append(_legs(run))
    return "".join(parts)


def _legs(run: Run) -> str:
    rows = []
    for number, leg in enumerate(run.segments, start=1):
        t0 = float(run.t_s[leg.first])
        t1 = float(run.t_s[min(leg.last_exclusive, run.steps)])
        way = MISSING
        if "speed_m_per_s" in run.series:
            span = slice(leg.first, min(leg.last_exclusive, run.steps) + 1)
            metres = float(np.trapezoid(run.series["speed_m_per_s"][span], run.t_s[span]))
            way = f"{metres / 1000:.1f} km" if metres >= 50 else MISSING
        rows.append((f"{number}. {leg.name}", leg.kind.replace("_", " "), span_words(t1 - t0), way))
    return html.table(("leg of the trip", "kind", "time", "way"), rows)


def inputs(run: Run) -> str:
    """Files and their hashes, versions, and what was taken where they say nothing, each with its source."""
    seen = run.provenance
    files = {k: v for k, v in seen.items() if k not in TIMELESS}
    parts = [html.facts(files, caption="What was read")]
    if isinstance(seen.get("versions"), Mapping):
        parts.append(html.facts(seen["versions"], caption="Versions"))
    parts.append(_assumed(seen.get("assumed") or ()))
    return "".join(parts)


def _assumed(items: Sequence[Any]) -> str:
    """Defaults taken where the files say nothing: sentences, or (owner, key, text, source) in a table."""
    rows, lines = [], []
    for one in items:
        entry = one if isinstance(one, Mapping) else getattr(one, "__dict__", None)
        if entry and "key" in entry:
            owner, key = entry.get("owner", ""), entry["key"]
            rows.append(
                (
                    f"{owner}.{key}" if owner else str(key),
                    str(entry.get("text", "")),
                    str(entry.get("source", "")),
                )
            )
        else:
            lines.append(str(one))
    if not (rows or lines):
        return ""
    table = html.table(("key", "taken", "source"), rows, words=True) if rows else ""
    return "<h3>Taken as given where the files say nothing</h3>" + html.sentences(lines) + table
