"""The modes a run used as a table: a row a mode, a column an actuator, a bar for how much and words for what."""

from __future__ import annotations

import re
from collections.abc import Sequence

from heatwright.draw.axes import span_words
from heatwright.draw.palette import ink, trace
from heatwright.draw.svg import box, line, picture, text, text_width, wrapped
from heatwright.study.used_modes import Cell, UsedMode, UsedModes

WIDTH = 960.0
"""Least width; a table of many actuators is wider."""
NAME = 236.0
TIME = 74.0
SMALL, STEP = 11.0, 13.5
BAR = 5.0
PAD = 6.0
MOST_ROWS = 12


def mode_table(used: UsedModes) -> str:
    """SVG of the modes in order of the time spent in them; what never moved has no column."""
    shown = used.modes[:MOST_ROWS]
    left, widths = _columns(used)
    right = max(WIDTH, NAME + sum(widths) + TIME)
    head = [wrapped(name, wide - 2 * PAD, SMALL) for name, wide in zip(used.columns, widths, strict=True)]
    y = 30.0
    body = [text(4, 14, used.title, weight="650"), text(4, y + 10, "mode", fill=ink("soft"), size=SMALL)]
    for k, lines in enumerate(head):
        body += _lines(lines, left[k] + PAD, y + 10, ink("soft"))
    body.append(text(right - 4, y + 10, "time", anchor="end", fill=ink("soft"), size=SMALL))
    y += 4 + STEP * max([1, *(len(lines) for lines in head)])
    for one in shown:
        body.append(line(4, y, right - 4, y, ink("rule"), width=0.8))
        drawn, high = _row(one, left, widths, y, right)
        body.append(drawn)
        y += high
    body.append(line(4, y, right - 4, y, ink("ink"), width=0.8))
    for words in _rest(used, shown):
        y += STEP + 2
        body.append(text(4, y, words, fill=ink("soft"), size=SMALL))
    note = "; ".join(f"{one.title} {span_words(one.time_s)}" for one in used.modes)
    return picture(right, y + 8, "".join(body), used.title, note)


def _columns(used: UsedModes) -> tuple[list[float], list[float]]:
    """Left edges and widths of the columns: as much as the longest word of each needs, what is left shared out."""
    words = [(name, *(one.cells[k].words for one in used.modes)) for k, name in enumerate(used.columns)]
    needs = [max(text_width(w, SMALL) for told in of for w in _whole(told).split(" ")) + 2 * PAD + 1 for of in words]
    spare = max(WIDTH - NAME - TIME - sum(needs), 0.0) / max(len(needs), 1)
    widths = [need + spare for need in needs]
    return [NAME + sum(widths[:k]) for k in range(len(widths))], widths


def _whole(words: str) -> str:
    """Words in which no number stands apart from its unit."""
    return re.sub(r"(\d) (%|kW|rpm)", "\\1\u00a0\\2", words)


def _row(one: UsedMode, left: Sequence[float], widths: Sequence[float], y: float, right: float) -> tuple[str, float]:
    """One mode; returns the height of its row."""
    titles = wrapped(one.title, NAME - 12, SMALL)
    cells = [wrapped(_whole(cell.words), wide - 2 * PAD, SMALL) for cell, wide in zip(one.cells, widths, strict=True)]
    high = 2 * PAD + STEP * max([len(titles), *(len(lines) + (cell.share is not None and not cell.rests) * 0.8
                                                for lines, cell in zip(cells, one.cells, strict=True))])  # fmt: skip
    parts = _lines(titles, 4, y + PAD + 9, "")
    for k, (lines, cell) in enumerate(zip(cells, one.cells, strict=True)):
        x, wide = left[k] + PAD, widths[k]
        parts += _lines(lines, x, y + PAD + 9, ink("soft") if cell.rests else "")
        parts.append(_bar(cell, x, y + PAD + len(lines) * STEP + 1, wide - 2 * PAD))
    parts.append(text(right - 4, y + PAD + 9, span_words(one.time_s), anchor="end", weight="650", size=SMALL))
    return "".join(parts), high


def _bar(cell: Cell, x: float, y: float, wide: float) -> str:
    """How much of the most it ever did."""
    if cell.share is None or cell.rests:
        return ""
    ground = box(x, y, wide, BAR, ink("leg-park"), radius=1)
    return ground + box(x, y, max(abs(cell.share) * wide, 1.0), BAR, trace(3), radius=1)


def _lines(lines: Sequence[str], x: float, y: float, fill: str) -> list[str]:
    return [text(x, y + k * STEP, words, fill=fill, size=SMALL) for k, words in enumerate(lines)]


def _rest(used: UsedModes, shown: Sequence[UsedMode]) -> list[str]:
    """What the table leaves out."""
    more = used.modes[len(shown) :]
    found = [f"{len(more)} more modes, {span_words(sum(one.time_s for one in more))}"] if more else []
    if used.without_s > 0.5:
        found.append(f"in no mode, while something was on its way: {span_words(used.without_s)}")
    return [*found, "Means over the time in the mode; a bar is the share of the most that the actuator ever did."]
