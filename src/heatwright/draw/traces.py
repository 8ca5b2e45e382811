"""Line chart over time: thinned lines, a direct label for each at its end, legs of the trip behind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from heatwright.draw.axes import LegSpan, ValueAxis
from heatwright.draw.frame import RIGHT, WIDTH, Frame
from heatwright.draw.palette import dash, trace
from heatwright.draw.svg import LINE_PX, element, paint, picture, spread, text, wrapped
from heatwright.draw.thin import columns, path

LABEL_X = RIGHT + 26.0
LABEL_WIDTH = WIDTH - LABEL_X - 4.0


@dataclass(frozen=True)
class Trace:
    """One line: words, values in the chart's unit, and where it stands in the order of hues.

    `t_s` is given only where its times differ from those of the chart (runs compared with each other).
    """

    name: str
    values: np.ndarray
    hue: int | None = None
    t_s: np.ndarray | None = None
    width: float = 1.5


def line_chart(
    t_s: np.ndarray,
    traces: Sequence[Trace],
    *,
    title: str,
    unit: str,
    legs: Sequence[LegSpan] = (),
    height: float = 210.0,
    zero: bool = False,
    squeeze: bool = True,
) -> str:
    """SVG of the traces over time; grows taller if the labels need it."""
    names = [wrapped(one.name, LABEL_WIDTH) for one in traces]
    needed = sum(len(lines) * LINE_PX + 2 for lines in names)
    frame = Frame.over(t_s, legs, max(height, needed), squeeze=squeeze)
    axis = ValueAxis.over([one.values for one in traces], frame.top, frame.bottom, zero=zero)
    body = [frame.backdrop(title, unit), frame.grid(axis)]
    ends: list[tuple[float, float]] = []
    for k, one in enumerate(traces):
        x_px = frame.time.at(t_s if one.t_s is None else one.t_s)
        x, y = columns(x_px, np.asarray(one.values, dtype=float))
        y_px = axis.at(y)
        hue = k if one.hue is None else one.hue
        style = paint(fill="none", stroke=trace(hue), width=one.width, dash=dash(hue))
        body.append(element("path", d=path(x, y_px), style=style, stroke_linejoin="round"))
        finite = np.flatnonzero(np.isfinite(y_px))
        ends.append((float(x[finite[-1]]), float(y_px[finite[-1]])) if finite.size else (RIGHT, frame.bottom))
    body.append(_labels(traces, names, ends, frame))
    note = f"Lines over time in {unit}: " + ", ".join(one.name for one in traces)
    return picture(WIDTH, frame.height, "".join(body), title, note)


def _labels(traces: Sequence[Trace], names: list[list[str]], ends: list[tuple[float, float]], frame: Frame) -> str:
    wanted = [(end[1], len(lines) * LINE_PX + 2) for end, lines in zip(ends, names, strict=True)]
    parts: list[str] = []
    for k, centre in enumerate(spread(wanted, frame.top - 4, frame.bottom + 4)):
        hue = k if traces[k].hue is None else traces[k].hue or 0
        parts.append(_leader(ends[k], centre, hue))
        first = centre - (len(names[k]) - 1) * LINE_PX / 2 + 4.3
        for row, words in enumerate(names[k]):
            parts.append(text(LABEL_X, first + row * LINE_PX, words))
    return "".join(parts)


def _leader(end: tuple[float, float], centre: float, hue: int) -> str:
    """From the end of a line to its label, in the line's own colour and form."""
    x, y = end
    start = f"M{x + 1:.1f} {y:.1f}" if x > RIGHT - 2 else f"M{RIGHT + 4:.1f} {centre:.1f}"
    d = f"{start}L{RIGHT + 10:.1f} {centre:.1f}H{LABEL_X - 4:.1f}"
    return element("path", d=d, style=paint(fill="none", stroke=trace(hue), width=1.8, dash=dash(hue)))
