"""What frames every sheet: the temperature ladder at the left edge and the title block in the corner."""

from __future__ import annotations

from collections.abc import Sequence

from heatwright.draw.ladder import row, scale
from heatwright.draw.palette import ink
from heatwright.draw.svg import box, element, line, num, paint, spread, text, text_width, wrapped

LEFT, TOP, FOOT = 118.0, 8.0, 58.0
SCALE_X, SCALE_WIDTH = 40.0, 10.0
CELL_HEIGHT = 42.0
WIDEST_CELL = 420.0


def ladder_at(top: float, bottom: float, marks: Sequence[tuple[str, float]]) -> str:
    """The scale from -20 to 90 degC along the left edge, with a tick for each (body, temperature [K])."""
    parts = [scale("hw-sheet-ladder", SCALE_X, SCALE_WIDTH, top, bottom)]
    rows = [(row(t_k, top, bottom), 15.0) for _, t_k in marks]
    for (name, _), (y, _), centre in zip(marks, rows, spread(rows, top, bottom), strict=True):
        x = SCALE_X + SCALE_WIDTH
        d = f"M{num(SCALE_X - 4)} {num(y)}H{num(x + 5)}L{num(x + 10)} {num(centre)}"
        parts.append(element("path", d=d, style=paint("none", ink("ink"), 1.6)))
        parts.append(text(x + 12, centre + 4, _short(name), size=10.5))
    return "".join(parts)


def _short(name: str) -> str:
    room = LEFT - SCALE_X - SCALE_WIDTH - 12
    while text_width(name, 10.5) > room and len(name) > 3:
        name = name.rstrip("…")[:-1] + "…"
    return name


def _two(lines: list[str]) -> list[str]:
    """Two lines at most; dots where words are left out."""
    return lines if len(lines) <= 2 else [lines[0], lines[1].rpartition(" ")[0].rstrip(";,") + " …"]


def title_block(right: float, bottom: float, cells: Sequence[tuple[str, str]]) -> str:
    """Cells of (heading, words) side by side in the lower right corner."""
    wides = [min(max(text_width(words, 12, True), text_width(head, 10)) + 22, WIDEST_CELL) for head, words in cells]
    x, top = right - sum(wides) - 4, bottom - CELL_HEIGHT - 4
    parts = []
    for (head, words), wide in zip(cells, wides, strict=True):
        parts.append(box(x, top, wide, CELL_HEIGHT, ink("paper")))
        parts.append(line(x, top, x, top + CELL_HEIGHT, ink("soft")))
        parts.append(text(x + 9, top + 14, head, fill=ink("soft"), size=10))
        size = 12 if len(wrapped(words, wide - 18, 12)) == 1 else 10.5
        lines = _two(wrapped(words, (wide - 18) / 1.08, size))
        for k, one in enumerate(lines):
            parts.append(text(x + 9, top + (31 if len(lines) == 1 else 26 + 12 * k), one, weight="650", size=size))
        x += wide
    parts.append(line(right - sum(wides) - 4, top, right - 4, top, ink("soft")))
    return "".join(parts)
