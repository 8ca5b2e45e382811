"""The report of one run: the answer first, then pictures, then everything needed to check it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

import numpy as np

from heatwright.draw.axes import span_words
from heatwright.draw.bars import use_bars
from heatwright.draw.ladder import thermometer_ladder
from heatwright.draw.ledger import J_PER_KWH, in_order, ledger_stair
from heatwright.draw.quantities import MISSING, shown, signed, words
from heatwright.draw.strip import mode_strip, time_in_modes
from heatwright.draw.traces import Trace, line_chart
from heatwright.report import html, pick
from heatwright.report.answer import answer_lines
from heatwright.report.modes_by_time import HEAD, modes_by_time
from heatwright.run import Run

TIMELESS = ("elapsed_s", "accuracy", "made_at", "versions", "plant_about", "trip_about", "assumed")


def render_run(run: Run) -> str:
    """One HTML page; every picture and style is inside it."""
    sections = [
        ("answer", "The answer", _answer(run)),
        ("energy", "Energy by use", _energy(run)),
        ("temperatures", "Temperatures", _temperatures(run)),
        ("modes", "Modes and road", _modes(run)),
        ("powers", "Powers", _powers(run)),
        (
            "refrigerant",
            "Refrigerant pressures",
            _chart(run, pick.of_kind(run, "p_", "_pa"), "Pressures", zero=True),
        ),
        ("service", "Comfort and service", _service(run)),
        ("ledger", "Energy ledger", _ledger(run)),
        ("more", "More temperatures", _more(run)),
        ("health", "Health of the solver", html.facts(run.health)),
        ("inputs", "Inputs and assumptions", _inputs(run)),
        ("cautions", "Cautions", html.cautions()),
    ]
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
    about = str(seen.get("plant_about") or "")
    return html.title_block("Run report", f"{run.plant_name}: {run.trip_name}", cells, about)


def _answer(run: Run) -> str:
    rows = "".join(
        f"<div><dt>{escape(name)}</dt><dd>{_big(value)}</dd><dd class=note>{escape(note)}</dd></div>"
        for name, value, note in answer_lines(run)
    )
    marks = [
        (name, float(run.series[key][0]), float(run.series[key][-1]))
        for name, key in pick.bodies(run)
        if name != "Vent air" and np.isfinite(run.series[key][[0, -1]]).all()
    ]
    ladder = html.drawing(thermometer_ladder(marks)) if marks else ""
    return f'<div class="answer"><dl>{rows}</dl>{ladder}</div>'


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
    traces = [
        pick.trace_of(run, key, f"{name}, hottest" if "hottest" in key else name) for name, key in pick.bodies(run)
    ]
    return _drawn(run, traces, "Cabin, pack, drive unit, outside", "°C", height=250)


def _modes(run: Run) -> str:
    parts = []
    if "speed_m_per_s" in run.series:
        speed = [pick.trace_of(run, "speed_m_per_s", "Road speed", 5)]
        parts.append(_drawn(run, speed, "Road speed", "km/h", height=90, zero=True))
    if "mode" in run.series and run.steps:
        mode = run.series["mode"]
        dispatched = bool(run.provenance.get("strategy"))
        title = "Candidates of the dispatch that ran" if dispatched else "Rules in force"
        parts.append(html.drawing(mode_strip(run.t_s, mode, run.mode_names, title=title, legs=run.segments)))
        whole = float(run.t_s[-1] - run.t_s[0])
        used = sorted(time_in_modes(run.t_s, mode, run.mode_names), key=lambda row: -row[2])
        rows = [(name, span_words(held), f"{100 * held / whole:.1f} %") for _, name, held in used]
        parts.append(html.table(("candidate" if dispatched else "rule", "time", "share"), rows))
    lasted = modes_by_time(run, 12)
    if lasted:
        parts.append(html.table(HEAD, lasted))
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
    glass = [name for name in ("fog_margin_k",) if name in run.series]
    damp = [name for name in ("rh_cabin",) if name in run.series]
    pictures = _chart(
        run, glass, "Glass above the dew point of the cabin air; below zero it fogs", zero=True, height=120
    )
    votes = [name for name in ("pmv",) if name in run.series]
    warmth = [name for name in ("t_operative_k", "t_felt_k", "t_zone_air_k") if name in run.series]
    pictures += _chart(run, warmth, "Cabin air, operative temperature and what is felt", height=150)
    pictures += _chart(run, votes, "Predicted mean vote: −3 cold, 0 neutral, 3 hot", zero=True, height=120)
    return html.facts(run.comfort) + pictures + _chart(run, damp, "Humidity of the cabin air", zero=True, height=90)


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


def _inputs(run: Run) -> str:
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
