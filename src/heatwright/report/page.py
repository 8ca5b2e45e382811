"""The report of one run: the answer first, then pictures, then everything needed to check it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from html import escape
from typing import Any

import numpy as np

from heatwright.dispatch.why import Why
from heatwright.draw.axes import span_words
from heatwright.draw.bars import use_bars
from heatwright.draw.ledger import J_PER_KWH, in_order, ledger_stair
from heatwright.draw.margins import margins_over_time
from heatwright.draw.ph import pressure_enthalpy
from heatwright.draw.quantities import MISSING, shown, signed, words
from heatwright.draw.ribbons import heat_ribbons
from heatwright.draw.traces import Trace, line_chart
from heatwright.report import asked, html, modes_part, pick, pictures
from heatwright.report.answer import answer_lines
from heatwright.report.sentences import answer_sentences
from heatwright.run import Run
from heatwright.study.cycle import busiest_s, circuits_of, cycle_at
from heatwright.study.heats import heats
from heatwright.study.margins import margins

SECTIONS: dict[str, tuple[str, Callable[[Run, Why | None], str]]] = {
    "question": ("The question", lambda run, _: asked.question(run)),
    "plant": ("Plant", lambda run, _: asked.plant(run)),
    "trip": ("Trip", lambda run, _: asked.trip(run)),
    "answer": ("The answer in five lines", lambda run, _: _answer(run)),
    "energy": ("Energy by use", lambda run, _: _energy(run)),
    "heat": ("Heat", lambda run, _: _heat(run)),
    "comfort": ("Comfort and service", lambda run, _: _service(run)),
    "modes": ("Modes and why", modes_part.modes),
    "cycle": ("Refrigerant cycle", lambda run, _: _cycle(run)),
    "ledger": (
        "Ledger and health",
        lambda run, _: _ledger(run) + html.facts(run.health, caption="Health of the solver"),
    ),
    "more": ("Powers and more temperatures", lambda run, _: _powers(run) + _more(run)),
    "inputs": ("Inputs and their sources", lambda run, _: asked.inputs(run)),
    "cautions": ("Cautions", lambda _, __: html.cautions()),
}
"""Every section in its order: anchor, heading and what fills it."""
ALWAYS = ("cautions",)
"""Sections that no report goes without."""


def chosen(keys: Sequence[str] | None) -> tuple[str, ...]:
    """The sections asked for, in their order, with those that no report goes without; None asks for all of them."""
    return tuple(key for key in SECTIONS if keys is None or key in keys or key in ALWAYS)


def render_run(run: Run, record: Why | None = None, keys: Sequence[str] | None = None) -> str:
    """One HTML page; every picture and style is inside it.

    `record` : why its modes ran, of a run under dispatch. `keys` : the sections wanted; left out, all of them.
    """
    sections = [(key, SECTIONS[key][0], SECTIONS[key][1](run, record)) for key in chosen(keys)]
    return html.page(f"{run.plant_name}, {run.trip_name}", _head(run), sections)


def _head(run: Run) -> str:
    seen = run.provenance
    versions = seen.get("versions")
    version = versions.get("heatwright", "") if isinstance(versions, Mapping) else ""
    cells = [
        ("Plant", run.plant_name),
        ("Trip", run.trip_name),
        ("Made", html.moment(seen.get("made_at"))),
        ("Heatwright", str(version or seen.get("version") or "")),
        ("Trip time", span_words(float(run.t_s[-1] - run.t_s[0])) if run.steps else ""),
        ("Steps", f"{run.steps:,}"),
        ("Accuracy", str(seen.get("accuracy") or "")),
        ("Strategy", str(seen.get("strategy") or "")),
        ("Worked out in", f"{seen['elapsed_s']:.2f} s" if seen.get("elapsed_s") else ""),
    ]
    return html.title_block("Run report", f"{run.plant_name}: {run.trip_name}", cells)


def _answer(run: Run) -> str:
    rows = "".join(
        f"<div><dt>{escape(name)}</dt><dd>{_big(value)}</dd><dd class=note>{escape(note)}</dd></div>"
        for name, value, note in answer_lines(run)
    )
    told = answer_sentences(run)
    lines = f'<ol class="told">{"".join(f"<li>{escape(one)}</li>" for one in told)}</ol>' if told else ""
    svg = pictures.ladder(run).svg if run.steps else ""
    ladder = html.drawing(svg) if svg else ""
    return f'{lines}<div class="answer"><dl>{rows}</dl>{ladder}</div>'


def _big(value: str) -> str:
    number, _, unit = value.partition(" ")
    if unit and any(letter.isdigit() for letter in number):
        return f"<b>{escape(number)}</b> {escape(unit)}"
    return f"<b>{escape(value)}</b>"


def _energy(run: Run) -> str:
    if not run.energy_kwh:
        return ""
    total = sum(run.energy_kwh.values())
    distance = run.summary.get("distance_km")
    rows = []
    for use, value in sorted(run.energy_kwh.items(), key=lambda row: -row[1]):
        share = f"{signed(100 * value / total, 1)} %" if total else MISSING
        per = signed(value / distance * 100, 2) if distance else MISSING
        rows.append((words(use), signed(value, 3), share, per))
    foot = ("in all", signed(total, 3), "", signed(total / distance * 100, 2) if distance else MISSING)
    head = ("use", "kWh", "share", "kWh/100 km")
    return html.drawing(use_bars([(run.plant_name, run.energy_kwh)], title="Over the whole trip")) + html.table(
        head, rows, foot=foot
    )


def _temperatures(run: Run) -> str:
    return _drawn(run, pictures.body_traces(run), "Cabin, pack, drive unit, outside", "°C", height=250)


def _heat(run: Run) -> str:
    """Temperatures of the bodies, and the ribbons of the whole trip with their table."""
    parts = [_temperatures(run)]
    if run.books:
        found = heats(run)
        parts.append(html.drawing(heat_ribbons(found, title="Heat of the car")))
        rows = [(one.words, one.kind, _plus(one.joules / J_PER_KWH, 3)) for one in (*found.sources, *found.sinks)]
        foot = ("left over", "", _plus(found.left_over_j / J_PER_KWH, 3))
        parts.append(html.table(("heat", "kind", "kWh"), rows, foot=foot))
    return "".join(parts)


def _cycle(run: Run) -> str:
    """Pressures over the trip, and the loop of each circuit where it takes most power."""
    parts = [_chart(run, pick.of_kind(run, "p_", "_pa"), "Pressures", zero=True)]
    for name in circuits_of(run):
        found = cycle_at(run, busiest_s(run, name), name)
        if found.states:
            parts.append(html.drawing(pressure_enthalpy(found, tag=name)))
    return "".join(parts)


def _powers(run: Run) -> str:
    road, rest = pick.powers(run)
    parts = [_chart(run, road, "Traction, pack and charging", zero=True, height=150)]
    rest.sort(key=lambda name: -float(np.nanmax(np.abs(run.series[name]))))
    for k in range(0, len(rest), pick.PER_CHART):
        title = "Electric powers" if k == 0 else "Electric powers, the smaller ones"
        parts.append(_chart(run, rest[k : k + pick.PER_CHART], title, zero=True))
    parts.append(_chart(run, pick.pack_limits(run), "What the pack may give and take", zero=True, height=90))
    charge = [pick.trace_of(run, "soc", "State of charge", 3)] if "soc" in run.series else []
    parts.append(_drawn(run, charge, "Charge of the pack", "%", height=90))
    return "".join(parts)


def _more(run: Run) -> str:
    drawn = [key for _, key in pick.bodies(run)]
    parts = []
    for body, names in pick.other_temperatures(run, drawn):
        parts.append(_chart(run, names, f"Temperatures: {body}"))
    return "".join(parts)


def _chart(run: Run, names: list[str], title: str, *, zero: bool = False, height: float = 190) -> str:
    if not names:
        return ""
    traces = [pick.trace_of(run, name) for name in names]
    return _drawn(run, traces, title, shown(names[0]).unit, zero=zero, height=height)


def _drawn(run: Run, traces: list[Trace], title: str, unit: str, *, zero: bool = False, height: float = 190) -> str:
    if not traces or not run.steps:
        return ""
    return html.drawing(
        line_chart(run.t_s, traces, title=title, unit=unit, legs=run.segments, height=height, zero=zero)
    )


def _service(run: Run) -> str:
    kept = margins(run) if run.steps else ()
    needs = html.drawing(margins_over_time(run.t_s, kept, legs=run.segments)) if kept else ""
    glass = [name for name in ("fog_margin_k",) if name in run.series]
    damp = [name for name in ("rh_cabin",) if name in run.series]
    charts = _chart(run, glass, "Glass above the dew point of the cabin air; below zero it fogs", zero=True, height=120)
    votes = [name for name in ("pmv",) if name in run.series]
    warmth = [name for name in ("t_operative_k", "t_felt_k", "t_zone_air_k") if name in run.series]
    charts += _chart(run, warmth, "Cabin air, operative temperature and what is felt", height=150)
    charts += _chart(run, votes, "Predicted mean vote: −3 cold, 0 neutral, 3 hot", zero=True, height=120)
    return (
        needs + html.facts(run.comfort) + charts + _chart(run, damp, "Humidity of the cabin air", zero=True, height=90)
    )


def _ledger(run: Run) -> str:
    terms: Mapping[str, Any] = run.ledger.get("terms_j") or {}
    others = {k: v for k, v in run.ledger.items() if k not in ("terms_j", "water")}
    if not terms:
        return html.facts(others)
    rows = [(words(name), _plus(value / J_PER_KWH, 4), _plus(value, 0)) for name, value in in_order(terms)]
    total = sum(terms.values())
    foot = ("sum, left over", _plus(total / J_PER_KWH, 4), _plus(total, 1))
    picture = html.drawing(ledger_stair(terms), "Into the car is plus; out of it, or stored in it, is minus.")
    return picture + html.table(("term", "kWh", "J"), rows, foot=foot) + html.facts(others) + _water(run)


def _water(run: Run) -> str:
    """The water ledger as a table [g]."""
    books = run.ledger.get("water")
    if not books:
        return ""
    rows = [(words(name), _plus(1e3 * value, 3)) for name, value in in_order(books["terms_kg"])]
    return html.table(("water", "g"), rows, foot=("sum, left over", _plus(1e3 * books["residual_kg"], 3)))


def _plus(value: float, digits: int) -> str:
    text = signed(value, digits)
    return text if text.startswith("−") or not text.strip("0.,") else f"+{text}"
