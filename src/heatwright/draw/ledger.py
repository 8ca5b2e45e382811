"""The energy ledger as a stair: what went in leads up, what went out or was stored leads down to nothing."""

from __future__ import annotations

from collections.abc import Mapping

from heatwright.draw.palette import ink
from heatwright.draw.quantities import signed, words
from heatwright.draw.svg import LINE_PX, box, line, picture, text, wrapped

WIDTH = 960.0
NAME_WIDTH = 210.0
VALUE_WIDTH = 104.0
ROW = 20.0
J_PER_KWH = 3.6e6
SMALL_J = 1800.0


def in_order(terms_j: Mapping[str, float]) -> list[tuple[str, float]]:
    """Ledger terms, what went in first, each side from the largest down."""
    ins = sorted(((k, v) for k, v in terms_j.items() if v > 0), key=lambda row: -row[1])
    outs = sorted(((k, v) for k, v in terms_j.items() if v <= 0), key=lambda row: row[1])
    return [*ins, *outs]


def ledger_stair(terms_j: Mapping[str, float], *, title: str = "Where each joule went") -> str:
    """SVG stair of signed terms in kWh; the last row is what is left over, which should be nothing."""
    rows = _gathered(in_order(terms_j))
    most = max(sum(v for _, v in rows if v > 0), -sum(v for _, v in rows if v < 0), 1e-9)
    scale = (WIDTH - NAME_WIDTH - VALUE_WIDTH - 8) / most
    body = [text(4, 14, title, weight="650")]
    y, level = 26.0, 0.0
    start = y
    for name, value in rows:
        lines = wrapped(words(name), NAME_WIDTH - 14)
        height = max(ROW, len(lines) * LINE_PX + 4)
        for k, word in enumerate(lines):
            row = y + height / 2 - (len(lines) - 1) * LINE_PX / 2 + k * LINE_PX + 4.3
            body.append(text(NAME_WIDTH - 10, row, word, anchor="end"))
        x0 = NAME_WIDTH + min(level, level + value) * scale
        colour = ink("accent") if value > 0 else ink("trace-1")
        body.append(box(x0, y + 3, max(abs(value) * scale, 0.8), height - 6, colour, tip=_kwh(name, value)))
        level += value
        edge = NAME_WIDTH + level * scale
        body.append(line(edge, y + 3, edge, y + height + 3, ink("soft"), width=0.8))
        body.append(text(WIDTH - 4, y + height / 2 + 4.3, _number(value), anchor="end"))
        y += height
    body.append(line(NAME_WIDTH, start - 2, NAME_WIDTH, y + ROW, ink("soft")))
    body.append(line(4, y + 1, WIDTH - 4, y + 1, ink("rule")))
    body.append(text(NAME_WIDTH - 10, y + 17, "left over", anchor="end", weight="650"))
    body.append(text(WIDTH - 4, y + 17, _number(level), anchor="end", weight="650"))
    note = "; ".join(_kwh(name, value) for name, value in rows) + f"; left over {_number(level)}"
    return picture(WIDTH, y + 28, "".join(body), f"{title}, kWh", note)


def _gathered(rows: list[tuple[str, float]]) -> list[tuple[str, float]]:
    """Terms too small to show in Wh become one row, so that the stair still holds every joule."""
    small = [value for _, value in rows if abs(value) < SMALL_J]
    if len(small) < 2:
        return rows
    large = [row for row in rows if abs(row[1]) >= SMALL_J]
    return [*large, (f"{len(small)} terms under 0.5 Wh", sum(small))]


def _number(value_j: float) -> str:
    value = value_j / J_PER_KWH
    text_value = signed(value, 3)
    return f"{'+' if value >= 0.0005 else ''}{text_value} kWh"


def _kwh(name: str, value_j: float) -> str:
    return f"{words(name)} {_number(value_j)}"
