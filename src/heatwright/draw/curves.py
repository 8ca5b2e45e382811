"""Curves of one quantity over another that is not time: named lines, each with a label at its end."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from heatwright.draw.axes import ValueAxis, round_ticks, tick_words
from heatwright.draw.frame import HEAD, LEFT, RIGHT, WIDTH
from heatwright.draw.palette import dash, ink, trace
from heatwright.draw.svg import LINE_PX, element, line, paint, picture, spread, text, wrapped

FOOT = 40.0
LABEL_X = RIGHT + 26.0
LABEL_WIDTH = WIDTH - LABEL_X - 4.0
LABEL_GAP = 7.0


def curves(
    x: Sequence[float],
    lines: Sequence[tuple[str, Sequence[float]]],
    *,
    title: str,
    unit: str,
    x_title: str,
    height: float = 230.0,
    dots: bool = True,
    anew: Sequence[float] = (),
) -> str:
    """SVG of named lines over `x`, from zero up; a dot at every point worked out if `dots`, none at a NaN.

    Lines begin anew at the values of `x` in `anew`: nothing is drawn from the point before.
    """
    names = [wrapped(name, LABEL_WIDTH) for name, _ in lines]
    top = HEAD
    bottom = top + max(height, sum(len(words) * LINE_PX + LABEL_GAP for words in names))
    values = [np.asarray(own, dtype=float) for _, own in lines]
    axis = ValueAxis.over(values, top, bottom, zero=True)
    ticks = round_ticks(min(x), max(x), 6)
    px = LEFT + (np.asarray(x, dtype=float) - ticks[0]) / (ticks[-1] - ticks[0]) * (RIGHT - LEFT)
    body = [_grid(axis, ticks, title, unit, x_title)]
    lasts = [_last(px, own) for own in values]
    wanted = [
        (float(axis.at(own[last])), len(words) * LINE_PX + LABEL_GAP)
        for own, last, words in zip(values, lasts, names, strict=True)
    ]
    centres = spread(wanted, top - 4, bottom + 4)
    starts = {k for k, one in enumerate(x) if one in anew}
    for k, own in enumerate(values):
        body.append(_line(px, axis.at(own), k, float(px[lasts[k]]), centres[k], names[k], dots, starts))
    note = f"Lines over {x_title} in {unit}: " + ", ".join(name for name, _ in lines)
    return picture(WIDTH, bottom + FOOT, "".join(body), title, note)


def _last(px: np.ndarray, own: np.ndarray) -> int:
    """Return the place of a line's point furthest to the right."""
    return int(np.argmax(np.where(np.isfinite(own), px, -np.inf)))


def _grid(axis: ValueAxis, ticks: list[float], title: str, unit: str, x_title: str) -> str:
    parts = [text(LEFT, 14, title, weight="650"), text(LEFT - 8, 14, unit, anchor="end", fill=ink("soft"))]
    for value, words in zip(axis.ticks, tick_words(axis.ticks), strict=True):
        y = float(axis.at(np.array(value)))
        parts.append(line(LEFT, y, RIGHT, y, ink("soft" if value == 0 else "rule"), width=0.8))
        parts.append(text(LEFT - 8, y + 4, words, anchor="end", fill=ink("soft")))
    for value, words in zip(ticks, tick_words(ticks), strict=True):
        x = LEFT + (value - ticks[0]) / (ticks[-1] - ticks[0]) * (RIGHT - LEFT)
        parts.append(line(x, axis.bottom, x, axis.bottom + 4, ink("soft")))
        parts.append(text(x, axis.bottom + 17, words, anchor="middle", fill=ink("soft")))
    parts.append(text(LEFT, axis.bottom + 33, x_title, fill=ink("soft"), size=11))
    return "".join(parts)


def _line(
    px: np.ndarray, py: np.ndarray, k: int, end_px: float, centre: float, words: list[str], dots: bool, starts: set[int]
) -> str:
    order = [i for i in np.argsort(px) if np.isfinite(py[i])]
    pieces: list[list[str]] = [[]]
    for i in order:
        if int(i) in starts and pieces[-1]:
            pieces.append([])
        pieces[-1].append(f"{px[i]:.1f},{py[i]:.1f}")
    style = paint(fill="none", stroke=trace(k), width=1.8, dash=dash(k))
    parts = [element("polyline", points=" ".join(one), style=style, stroke_linejoin="round") for one in pieces]
    parts += [element("circle", cx=float(px[i]), cy=float(py[i]), r=2.2, style=paint(trace(k))) for i in order if dots]
    end_py = float(py[order[-1]])
    d = f"M{end_px + 4:.1f} {end_py:.1f}L{RIGHT + 12:.1f} {centre:.1f}H{LABEL_X - 4:.1f}"
    parts.append(element("path", d=d, style=paint(fill="none", stroke=trace(k), width=1.2, dash=dash(k))))
    first = centre - (len(words) - 1) * LINE_PX / 2 + 4.3
    parts += [text(LABEL_X, first + row * LINE_PX, one) for row, one in enumerate(words)]
    return "".join(parts)
