"""Bars of energy by use: side by side for one run or several, and stacked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from heatwright.draw.palette import ink, on_use_colour, trace, use_colour
from heatwright.draw.quantities import MISSING, signed, words
from heatwright.draw.svg import LINE_PX, box, element, line, paint, picture, text, text_width, wrapped

WIDTH = 960.0
NAME_WIDTH = 176.0
VALUE_WIDTH = 92.0
STROKE = 4.0


def kwh(value: float) -> str:
    """Energy with the digits a reader can use."""
    return f"{signed(value, 2 if abs(value) < 99.95 else 1)} kWh"


def use_bars(
    columns: Sequence[tuple[str, Mapping[str, float]]],
    *,
    title: str = "Energy by use",
    unit: str = "kWh",
    beside: Sequence[Mapping[str, float]] = (),
) -> str:
    """Horizontal bars, a group for each use and a bar for each column, all from one zero on one scale.

    beside : what stands in pictures beside this one, which then have the same scale.
    """
    uses = _in_order(columns)
    values = [value for one in (*(one for _, one in columns), *beside) for value in one.values()]
    low, high = min([0.0, *values]), max([0.0, *values, 1e-9])
    left = NAME_WIDTH + (VALUE_WIDTH if low < 0 else 8)
    scale = (WIDTH - VALUE_WIDTH - left) / (high - low)
    zero = left - low * scale
    bar = 20.0 if len(columns) == 1 else 15.0
    body = [text(4, 14, title, weight="650")]
    y = 28.0
    if len(columns) > 1:
        key, y = _key([(name, trace(k)) for k, (name, _) in enumerate(columns)], y)
        body.append(key)
    start = y
    for use in uses:
        lines = wrapped(words(use), NAME_WIDTH - 12)
        height = max(len(columns) * (bar + 2), len(lines) * LINE_PX)
        for k, word in enumerate(lines):
            row = y + height / 2 - (len(lines) - 1) * LINE_PX / 2 + k * LINE_PX + 4.3
            body.append(text(NAME_WIDTH - 8, row, word, anchor="end"))
        for k, (name, one) in enumerate(columns):
            if use not in one:
                body.append(text(zero + 6, y + k * (bar + 2) + bar / 2 + 4.3, MISSING, fill=ink("soft")))
                continue
            value = one[use]
            colour = use_colour(use) if len(columns) == 1 else trace(k)
            body.append(_bar(zero, y + k * (bar + 2), value * scale, bar, colour, value, f"{name}, {words(use)}"))
        y += height + 7
    body.append(line(zero, start - 4, zero, y - 3, ink("soft")))
    note = "; ".join(f"{name}: " + ", ".join(f"{words(u)} {kwh(v)}" for u, v in one.items()) for name, one in columns)
    return picture(WIDTH, y + 4, "".join(body), f"{title}, {unit}", note)


def stacked_bars(columns: Sequence[tuple[str, Mapping[str, float]]], *, title: str = "Energy in all") -> str:
    """One bar a column, split by use; a part too narrow for its number is named in the key alone.

    Of uses that share a colour the second has strokes along its foot, a third along its top as well.
    """
    uses = [use for use in _in_order(columns) if any(one.get(use, 0.0) > 0 for _, one in columns)]
    totals = [sum(max(v, 0.0) for v in one.values()) for _, one in columns]
    scale = (WIDTH - NAME_WIDTH - VALUE_WIDTH) / max([*totals, 1e-9])
    same = {use: [use_colour(one) for one in uses[:k]].count(use_colour(use)) for k, use in enumerate(uses)}
    body = [text(4, 14, title, weight="650")]
    y = 28.0
    for (name, one), total in zip(columns, totals, strict=True):
        lines = wrapped(name, NAME_WIDTH - 12)
        height = max(26.0, len(lines) * LINE_PX)
        for k, word in enumerate(lines):
            row = y + height / 2 - (len(lines) - 1) * LINE_PX / 2 + k * LINE_PX + 4.3
            body.append(text(NAME_WIDTH - 8, row, word, anchor="end"))
        x = NAME_WIDTH
        for use in uses:
            value = max(one.get(use, 0.0), 0.0)
            wide = value * scale
            body.append(box(x, y, max(wide - 1, 0.4), height, use_colour(use), tip=f"{words(use)} {kwh(value)}"))
            body.append(_strokes(x, y, wide - 1, height, same[use]))
            if text_width(signed(value, 2)) + 8 <= wide:
                body.append(text(x + 5, y + height / 2 + 4.3, signed(value, 2), fill=on_use_colour(use)))
            x += wide
        body.append(text(x + 6, y + height / 2 + 4.3, kwh(total), weight="650"))
        y += height + 8
    key, y = _key([(words(use), use_colour(use)) for use in uses], y + 2, list(same.values()))
    note = "; ".join(f"{name} {kwh(total)}" for (name, _), total in zip(columns, totals, strict=True))
    return picture(WIDTH, y, "".join([*body, key]), title, note)


def _bar(zero: float, y: float, length: float, height: float, colour: str, value: float, tip: str) -> str:
    x = min(zero, zero + length)
    label_x, anchor = (zero + length + 6, "") if length >= 0 else (zero + length - 6, "end")
    label = text(label_x, y + height / 2 + 4.3, kwh(value), anchor=anchor)
    return box(x, y, max(abs(length), 0.8), height, colour, tip=f"{tip}: {kwh(value)}") + label


def _strokes(x: float, y: float, wide: float, height: float, edges: int) -> str:
    """Slanted strokes along the foot of a box, and along its top where two edges or more are asked for."""
    feet = (y + height, y + STROKE)[:edges]
    at = range(int(max(wide, 0.0) // (1.5 * STROKE)))
    d = "".join(f"M{x + 1.5 * STROKE * k + 1:.1f} {foot:.1f}l{STROKE:g} {-STROKE:g}" for foot in feet for k in at)
    return element("path", d=d, style=paint(fill="none", stroke=ink("paper"), width=1.2)) if d else ""


def _key(entries: Sequence[tuple[str, str]], y: float, edges: Sequence[int] = ()) -> tuple[str, float]:
    """Swatches with names, in as many rows as they need, with strokes along `edges`; returns the height reached."""
    parts: list[str] = []
    x = NAME_WIDTH
    for k, (name, colour) in enumerate(entries):
        wide = text_width(name) + 34
        if x > NAME_WIDTH and x + wide > WIDTH:
            x, y = NAME_WIDTH, y + 20
        parts.append(box(x, y, 12, 12, colour, radius=2) + text(x + 18, y + 10.5, name))
        parts.append(_strokes(x, y, 12, 12, edges[k] if edges else 0))
        x += wide
    return "".join(parts), y + 24


def _in_order(columns: Sequence[tuple[str, Mapping[str, float]]]) -> list[str]:
    """Every use named by any column, the largest first; one that is nothing everywhere is left out."""
    uses = dict.fromkeys(use for _, one in columns for use in one)
    size = {use: max(abs(one.get(use, 0.0)) for _, one in columns) for use in uses}
    return sorted((use for use in uses if size[use] >= 0.0005), key=lambda use: -size[use])
