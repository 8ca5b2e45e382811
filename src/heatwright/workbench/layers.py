"""Layers that open beneath the standing frame: each a question, a picture, and the table that tells the same.

A layer that a run cannot answer says why in a sentence.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from heatwright.draw.axes import clock
from heatwright.draw.quantities import MISSING, signed
from heatwright.errors import HeatwrightError, InputError, Problem
from heatwright.report import pictures
from heatwright.run import plain
from heatwright.study.cycle import busiest_s
from heatwright.study.heats import heats
from heatwright.study.margins import margins
from heatwright.workbench.opened import Asked, Layer, Picture, Table, title_of
from heatwright.workbench.study import Kept

J_PER_KWH = 3.6e6

Build = Callable[[Asked, Kept], Picture]


def kwh(joules: float) -> str:
    """Joules as kWh with a sign."""
    return signed(joules / J_PER_KWH, 3)


def _needs(_: Asked, one: Kept) -> Picture:
    found = margins(one.run)
    rows = tuple(
        (m.words, m.means, m.unit, clock(m.asked_s), clock(m.missed_s),
         MISSING if m.as_json()["least"] is None else signed(m.as_json()["least"], 2))
        for m in found
    )  # fmt: skip
    head = ("need", "margin", "unit", "asked, h:min", "missed, h:min", "least")
    return Picture(one.name, pictures.needs(one.run).svg, Table(f"Needs of {one.name}", head, rows))


def _heat(asked: Asked, one: Kept) -> Picture:
    first, last = asked.span or (None, None)
    drawn = pictures.ribbons(one.run, first, last, beside=[other.run for other in asked.runs])
    found = heats(one.run, first, last)
    rows = tuple((h.words, h.body, h.kind, kwh(h.joules)) for h in (*found.sources, *found.sinks))
    caption = f"Heat of {one.name}, {clock(found.from_s)} to {clock(found.to_s)}; left over {found.left_over_j:.3g} J"
    return Picture(one.name, drawn.svg, Table(caption, ("heat", "of", "kind", "into the car, kWh"), rows))


def _sheet(asked: Asked, one: Kept) -> Picture:
    """The plant's sheet at a level with its parts' figures; its bodies where its plant file is not known."""
    if one.plant:
        from heatwright.workbench.plumbing import sheet_at

        found = sheet_at(one, asked.level, asked.at_s)
        return Picture(f"{one.name}: {asked.level}", found.svg, Table(*found.table), found.parts, one.id)
    drawn = pictures.bodies(one.run, asked.at_s)
    return Picture(one.name, drawn.svg, Table(f"Bodies of {one.name} at {clock(asked.at_s)}", *_flat(drawn.twin)))


def _cycle(asked: Asked, one: Kept) -> Picture:
    on = one.run.series.get("compressor_on")
    row = int(np.searchsorted(one.run.t_s, asked.at_s))
    still = on is not None and not on[min(row, len(on) - 1)] > 0.5
    at_s = busiest_s(one.run) if still else asked.at_s
    drawn = pictures.cycle(one.run, at_s)
    note = clock(at_s)
    if on is not None and still:
        busiest = f"the compressor stands at this instant; its busiest, {clock(at_s)}, is drawn"
        note = busiest if (on > 0.5).any() else "the compressor runs nowhere on this trip"
    return Picture(f"{one.name}: {note}", drawn.svg, Table(f"Cycle of {one.name}", *_flat(drawn.twin)))


def _modes(_: Asked, one: Kept) -> Picture:
    drawn = pictures.modes(one.run)
    whole = float(one.run.t_s[-1]) or 1.0
    told = one.run.summary.get("modes", ())
    rows = tuple((m["title"], clock(m["time_s"]), f"{100 * m['time_s'] / whole:.1f} %") for m in told)
    return Picture(one.name, drawn.svg, Table(f"Modes of {one.name}", ("mode", "time, h:min", "share"), rows))


def _reach(asked: Asked, one: Kept) -> Picture:
    from heatwright.draw.modes import mode_picture
    from heatwright.modes.atlas import build_atlas
    from heatwright.modes.needs import coverage

    plant = one.car
    atlas = build_atlas(plant)
    if not atlas.whole:
        raise InputError([Problem(one.name, "too many joint states to draw every mode")], "modes")
    rows = tuple((str(need), str(count)) for need, count in dict(coverage(atlas.useful)).items())
    caption = f"{one.name}: {atlas.distinct} modes, {len(atlas.useful)} of use"
    return Picture(one.name, mode_picture(plant, atlas), Table(caption, ("need", "modes that serve it"), rows))


def _energy(asked: Asked, one: Kept) -> Picture:
    uses = sorted(one.run.energy_kwh.items(), key=lambda item: -item[1])
    rows = tuple((name.replace("_", " "), signed(value, 3)) for name, value in uses)
    drawn = pictures.bars([one.run], beside=[other.run for other in asked.runs])
    return Picture(one.name, drawn.svg, Table(f"Energy of {one.name}", ("use", "kWh"), rows))


def _why(asked: Asked, one: Kept) -> Picture:
    if one.run.provenance.get("strategy") != "dispatch":
        raise InputError([Problem(one.name, "its decision table drove: no modes competed", "",
                                  "run it under dispatch from the set-up")], "why")  # fmt: skip
    from heatwright.dispatch.why import from_folder

    drawn = pictures.why(from_folder(one.folder), asked.at_s)
    rows = tuple((c["mode"], "ran" if c["ran"] else "", signed(c["score_w"], 0)) for c in drawn.twin["candidates"])
    table = Table(f"{one.name}: {drawn.twin['reason']}", ("mode", "", "score, W"), rows)
    return Picture(one.name, drawn.svg, table)


def _flat(twin: Any) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Rows of (name, value) out of a twin: its plain numbers and texts."""
    rows = []

    def walk(name: str, value: Any) -> None:
        if isinstance(value, Mapping):
            for key, inner in value.items():
                walk(f"{name} {key}".strip().replace("_", " "), inner)
        elif isinstance(value, (int, float, str)) and not isinstance(value, bool):
            rows.append((name, f"{value:.6g}" if isinstance(value, (int, float)) else value))
        elif isinstance(value, Sequence) and len(value) <= 8:
            for number, inner in enumerate(value, 1):
                walk(f"{name} {number}", inner)

    walk("", plain(twin))
    return ("figure", "value"), tuple(rows[:200])


KINDS: dict[str, tuple[Build, bool]] = {
    "needs": (_needs, False),
    "sheet": (_sheet, True),
    "heat": (_heat, True),
    "energy": (_energy, False),
    "modes": (_modes, False),
    "reach": (_reach, False),
    "cycle": (_cycle, True),
    "why": (_why, True),
}
"""How a layer is drawn of one run, and whether it follows the instant."""


def layer(key: str, asked: Asked) -> Layer:
    """Open a layer; InputError where there is none of that name."""
    if key not in KINDS:
        raise InputError([Problem("layer", f"there is no layer {key[:40]!r}", ", ".join(KINDS))], "bench")
    build, follows = KINDS[key]
    shown, said = [], []
    for one in asked.runs:
        try:
            shown.append(build(asked, one))
        except HeatwrightError as failure:
            said.append(sentence_of(one, failure))
    return Layer(key, *title_of(key), asked.at_s, tuple(shown), (), "; ".join(said), follows)


def sentence_of(one: Kept, failure: HeatwrightError) -> str:
    """Why a run cannot be shown, as a sentence."""
    if isinstance(failure, InputError):
        first = failure.problems[0]
        return f"{one.name}: {first.found}" + (f"; {first.hint}" if first.hint else "")
    return f"{one.name}: {failure}"
