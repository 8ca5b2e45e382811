"""The page that sets several plants beside each other on one trip: same scales, differences signed."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from html import escape
from typing import TYPE_CHECKING, Any

import numpy as np

from heatwright.draw.bars import stacked_bars, use_bars
from heatwright.draw.quantities import MISSING, figure, plain_number, shown, signed, words
from heatwright.draw.ribbons import heat_ribbons
from heatwright.draw.strip import mode_strip
from heatwright.draw.traces import Trace, line_chart
from heatwright.report import html, pick
from heatwright.run import Run
from heatwright.study.heats import heats
from heatwright.study.table import NO_EQUAL, TOLD_EQUAL, number, shown_change, shown_value, shown_verdict
from heatwright.study.verdict import QUANTITIES, Difference, Quantity, quantity_of

if TYPE_CHECKING:
    from heatwright.study.compare import Pair

KNOWN = {one.key: one.words for one in QUANTITIES}
NAMES = ("plant", "plant_name", "name")
LEFT_OUT = (*NAMES, "trip")


def render_comparison(
    rows: Sequence[Mapping[str, Any]],
    runs: Sequence[Run],
    verdicts: Sequence[str] = (),
    pairs: Sequence[Pair] = (),
) -> str:
    """One HTML page. `rows`: one mapping a plant, its name under "plant" and figures under suffixed names.

    `pairs`: each plant against the first, with the verdict on every difference.
    """
    trip = runs[0].trip_name if runs else ""
    sections = [
        ("question", "The question", question(runs)),
        ("verdict", "The answer", verdict_list(verdicts)),
        ("equal", "At equal service", "".join(_equal(one) for one in pairs)),
        ("figures", "Side by side", figures_table(rows)),
        ("holds", "What holds", "".join(_judged(one) for one in pairs)),
        ("energy", "Energy by use", energy(runs)),
        ("heat", "Heat", _heat(runs)),
        ("temperatures", "Temperatures", temperatures(runs)),
        ("power", "Power for heat", _power(runs)),
        ("modes", "Modes", _modes(runs)),
        ("ledger", "Do the ledgers close?", _ledgers(runs)),
        ("inputs", "Inputs", _inputs(runs)),
        ("cautions", "Cautions", html.cautions()),
    ]
    kind = "Runs" if len({row.get("strategy") for row in rows}) > 1 else "Plants"
    cells = [("Trip", trip), (kind, str(len(runs) or len(rows)))]
    if runs:
        made = html.moment(runs[0].provenance.get("made_at"))
        cells += [("Made", made), ("Steps", f"{runs[0].steps:,}")]
    names = ", ".join(run.plant_name for run in runs)
    head = html.title_block("Comparison", f"Plants on {trip}" if trip else "Plants compared", cells, names)
    return html.page(f"Comparison, {trip}" if trip else "Comparison", head, sections)


def question(runs: Sequence[Run]) -> str:
    """The question in words, and what the trip is."""
    if len(runs) < 2:
        return ""
    names = f"{', '.join(run.plant_name for run in runs[:-1])} and {runs[-1].plant_name}"
    asked = f"How do {names} differ on {runs[0].trip_name}: in energy, in how they keep people, pack and drive unit?"
    about = str(runs[0].provenance.get("trip_about") or "")
    return f'<p class="asked">{escape(asked)}</p>' + (f"<p>{escape(about)}</p>" if about else "")


def _heat(runs: Sequence[Run]) -> str:
    """The ribbons of each run that kept its books, one below the other."""
    known = [(run.plant_name, heats(run)) for run in runs if run.books]
    most_j = max((found.throughput_j for _, found in known), default=0.0)
    drawn = [heat_ribbons(found, title=f"Heat of the car, {name}", most_j=most_j) for name, found in known]
    return "".join(html.drawing(one) for one in drawn)


def verdict_list(verdicts: Sequence[str]) -> str:
    """The findings as a list; nothing where there are none."""
    lines = "".join(f"<li>{escape(one)}</li>" for one in verdicts)
    return f'<ul class="verdicts">{lines}</ul>' if lines else ""


def _equal(pair: Pair) -> str:
    """The pair after the change that makes both serve alike; nothing where they do so anyway."""
    if pair.equal is None:
        return ""
    if not pair.equal.reached:
        return f"<p>{escape(NO_EQUAL.format(*pair.plants))}</p>"
    keys = (*TOLD_EQUAL, pair.service.figure)
    kept = [next(d for d in pair.equal.differences if d.quantity == key) for key in keys]
    return _differences(pair, kept, f"{pair.equal.changed}: {pair.equal.how}")


def _judged(pair: Pair) -> str:
    """Every difference of a pair with its verdict; uses that come to nothing in both plants are left out."""
    kept = [one for one in pair.differences if not one.quantity.startswith("use:") or _speaks(one)]
    return _differences(pair, kept, f"{pair.plants[1]} against {pair.plants[0]}")


def _speaks(one: Difference) -> bool:
    return max(abs(one.first or 0.0), abs(one.second or 0.0)) >= 0.005


def _differences(pair: Pair, kept: Sequence[Difference], caption: str) -> str:
    head = ("figure", *pair.plants, "difference", "verdict", "draws that agree", "nine in ten from", "moved most by")
    lines = []
    for one in kept:
        how = quantity_of(one.quantity)
        spread = MISSING if one.low is None or one.low == one.high else " to ".join(_ends(how, one))
        mover = MISSING if one.moved_by is None else f"{one.moved_by} ({signed(one.rank_correlation or 0.0, 2)})"
        lines.append(
            (f"{how.words}, {how.unit}", shown_value(how, one.first), shown_value(how, one.second),
             shown_change(how, one), shown_verdict(one), f"{one.agree_draws} of {one.draws}", spread, mover)
        )  # fmt: skip
    return html.table(head, lines, caption=caption)


def _ends(how: Quantity, one: Difference) -> tuple[str, str]:
    low, high = (number((end or 0.0) * how.factor, how.digits, plus=True) for end in (one.low, one.high))
    return low, high


def figures_table(rows: Sequence[Mapping[str, Any]]) -> str:
    """A row for each figure, a column for each plant; all but the first show their difference from it."""
    if not rows:
        return ""
    keys = dict.fromkeys(key for row in rows for key in row if key not in LEFT_OUT)
    top = "".join(f'<th scope="col">{escape(_plant(row))}</th>' for row in rows)
    lines = []
    for key in keys:
        if any(isinstance(row.get(key), (Mapping, list, tuple)) for row in rows):
            continue
        cells = "".join(_cell(key, row.get(key), rows[0].get(key), k > 0) for k, row in enumerate(rows))
        lines.append(f'<tr><th scope="row">{escape(KNOWN.get(key) or words(key))}</th>{cells}</tr>')
    head = f'<thead><tr><th scope="col">figure</th>{top}</tr></thead>'
    note = "<figcaption>Small figures: difference from the first plant.</figcaption>" if len(rows) > 1 else ""
    return f'<div class="{html.wide(len(lines))}"><table>{head}<tbody>{"".join(lines)}</tbody></table>{note}</div>'


def _cell(key: str, value: Any, first: Any, compared: bool) -> str:
    extra = ""
    if compared and _is_number(value) and _is_number(first):
        how = shown(key)
        change = (value - first) * how.factor
        unit = "K" if how.unit == "°C" else how.unit
        number = plain_number(change) if not unit else signed(change, how.digits)
        sign = "" if number.startswith("−") or not number.strip("0.,") else "+"
        extra = f"<small>{escape(f'{sign}{number} {unit}'.rstrip())}</small>"
    return f"<td>{escape(figure(key, value))}{extra}</td>"


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def _plant(row: Mapping[str, Any]) -> str:
    return next((str(row[name]) for name in NAMES if name in row), "")


def energy(runs: Sequence[Run]) -> str:
    """Energy by use of all runs on one scale."""
    columns = [(run.plant_name, run.energy_kwh) for run in runs if run.energy_kwh]
    if not columns:
        return ""
    return html.drawing(stacked_bars(columns)) + html.drawing(use_bars(columns, title="Use by use"))


def temperatures(runs: Sequence[Run]) -> str:
    """One chart a body with a line for each plant, so that all of them share its scale."""
    parts = []
    for body in ("Cabin air", "Pack", "Drive unit"):
        traces = []
        for k, run in enumerate(runs):
            key = dict(pick.bodies(run)).get(body)
            if key:
                traces.append(pick.trace_of(run, key, run.plant_name, k))
        parts.append(_chart(runs, traces, body, "°C"))
    return "".join(parts)


def _power(runs: Sequence[Run]) -> str:
    traces = []
    for k, run in enumerate(runs):
        _, rest = pick.powers(run)
        if rest:
            total = np.sum([np.asarray(run.series[name], dtype=float) for name in rest], axis=0) / 1000
            traces.append(Trace(run.plant_name, total, k, run.t_s))
    return _chart(runs, traces, "All electric power but traction and charging", "kW", zero=True)


def _chart(runs: Sequence[Run], traces: list[Trace], title: str, unit: str, *, zero: bool = False) -> str:
    if not traces:
        return ""
    # Earlier lines are drawn wider beneath later ones, so that equal ones all stay in sight.
    last = len(traces) - 1
    traces = [replace(one, width=1.5 + 1.7 * (last - k)) for k, one in enumerate(traces)]
    longest = max(runs, key=lambda run: float(run.t_s[-1]))
    return html.drawing(line_chart(longest.t_s, traces, title=title, unit=unit, legs=longest.segments, zero=zero))


def _modes(runs: Sequence[Run]) -> str:
    parts = []
    for run in runs:
        if "mode" in run.series and run.steps:
            strip = mode_strip(run.t_s, run.series["mode"], run.mode_names, title=run.plant_name, legs=run.segments)
            parts.append(html.drawing(strip))
    return "".join(parts)


def _ledgers(runs: Sequence[Run]) -> str:
    rows = []
    for run in runs:
        ledger = run.ledger
        through = figure("throughput_kwh", _in_kwh(ledger.get("throughput_j")))
        relative = figure("residual_relative", ledger.get("residual_relative"))
        rows.append((run.plant_name, figure("residual_j", ledger.get("residual_j")), through, relative))
    return html.table(("plant", "left over", "throughput", "relative"), rows) if rows else ""


def _in_kwh(value_j: Any) -> float | None:
    return None if value_j is None else float(value_j) / 3.6e6


def _inputs(runs: Sequence[Run]) -> str:
    keep = ("plant_source", "plant_digest", "trip_source", "trip_digest")
    parts = []
    for run in runs:
        known = {key: run.provenance[key] for key in keep if run.provenance.get(key)}
        parts.append(html.facts(known, caption=run.plant_name))
    return "".join(parts)
