"""Parts, cost, and energy or joints of several plants: a row a plant, a bar a figure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heatwright.draw.palette import ink, trace
from heatwright.draw.quantities import MISSING, signed
from heatwright.draw.svg import LINE_PX, box, line, picture, text, wrapped
from heatwright.study.parts import PartsAnswer
from heatwright.study.parts_roll import cost_words

WIDTH = 960.0
NAME_WIDTH = 190.0
GAP = 36.0
NUMBER_WIDTH = 96.0
BAR = 16.0
ROW = 34.0
HEAD = 58.0


@dataclass(frozen=True)
class _Panel:
    """One figure of all plants: words, unit, digits, values, and how far each may lie off."""

    words: str
    unit: str
    digits: int
    values: Sequence[float | None]
    bands: Sequence[tuple[float, float]] = ()


def parts_picture(found: PartsAnswer) -> str:
    """SVG of the plants' parts and cost, and of their energy on the trip, or their joints without one."""
    rolls = found.rolls
    panels = [
        _Panel("parts", "", 0, [float(roll.parts) for roll in rolls]),
        _Panel("cost of parts", "USD, half to double", 0, [roll.cost_usd for roll in rolls],
               [roll.cost_band_usd for roll in rolls]),
    ]  # fmt: skip
    if found.comparison is None:
        panels.append(_Panel("joints that can leak", "", 0, [float(roll.leak_points) for roll in rolls]))
        title = "Parts, their cost, and their joints"
    else:
        energies = [row["energy_kwh_per_100km"] for row in found.comparison.rows]
        panels.append(_Panel("energy", "kWh/100 km", 1, energies))
        title = f"Parts beside energy on: {found.comparison.trip}"
    body = [text(4, 16, title, weight="650")]
    for k, roll in enumerate(rolls):
        lines = wrapped(roll.plant, NAME_WIDTH - 12)[:2]
        for j, words in enumerate(lines):
            y = HEAD + k * ROW + BAR / 2 + 4.3 - (len(lines) - 1) * LINE_PX / 2 + j * LINE_PX
            body.append(text(NAME_WIDTH - 8, y, words, anchor="end"))
    wide = (WIDTH - NAME_WIDTH - GAP * (len(panels) - 1)) / len(panels)
    body += [_panel(one, NAME_WIDTH + k * (wide + GAP), wide, k) for k, one in enumerate(panels)]
    note = "; ".join(_told(roll.plant, panels, k) for k, roll in enumerate(rolls))
    return picture(WIDTH, HEAD + len(rolls) * ROW + 4, "".join(body), title, note)


def _panel(one: _Panel, x: float, wide: float, colour: int) -> str:
    """Bars from a common zero; a thin line over a bar spans what the figure may be."""
    most = max([value or 0.0 for value in one.values] + [high for _, high in one.bands] + [1e-9])
    scale = (wide - NUMBER_WIDTH) / most
    unit = f", {one.unit}" if one.unit else ""
    parts = [text(x, HEAD - 16, f"{one.words}{unit}", fill=ink("soft"))]
    for k, value in enumerate(one.values):
        y = HEAD + k * ROW
        shown = _shown(one, k)
        if value is None:
            parts.append(text(x + 6, y + BAR / 2 + 4.3, shown, fill=ink("soft")))
            continue
        parts.append(box(x, y, max(value * scale, 0.8), BAR, trace(colour), tip=f"{one.words} {shown} {one.unit}"))
        end = value
        if one.bands:
            low, end = one.bands[k]
            parts.append(_span(x + low * scale, x + end * scale, y + BAR / 2))
            shown = cost_words(value)
        parts.append(text(x + end * scale + 6, y + BAR / 2 + 4.3, shown))
    bottom = HEAD + len(one.values) * ROW - (ROW - BAR) + 5
    parts.append(line(x, HEAD - 6, x, bottom, ink("soft")))
    return "".join(parts)


def _span(x0: float, x1: float, y: float) -> str:
    return "".join(
        [
            line(x0, y, x1, y, ink("ink"), width=1.2),
            *(line(x, y - 4, x, y + 4, ink("ink"), width=1.2) for x in (x0, x1)),
        ]
    )


def _told(plant: str, panels: Sequence[_Panel], k: int) -> str:
    """The figures of one plant in words."""
    return f"{plant}: " + ", ".join(f"{one.words} {_shown(one, k)} {one.unit}".strip() for one in panels)


def _shown(one: _Panel, k: int) -> str:
    value = one.values[k]
    return MISSING if value is None else signed(value, one.digits)
