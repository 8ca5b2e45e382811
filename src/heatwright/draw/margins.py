"""Needs and margins: a row a need, its margin over the trip and at one instant; below zero the need is missed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from heatwright.draw.axes import LegSpan, ValueAxis, clock, tick_words
from heatwright.draw.frame import LEFT, RIGHT, WIDTH, Frame
from heatwright.draw.palette import ink, trace
from heatwright.draw.quantities import MISSING, signed
from heatwright.draw.svg import box, element, line, paint, picture, text, wrapped
from heatwright.draw.thin import columns, path
from heatwright.study.margins import Margin

ROW = 62.0
PAD = 9.0
SIDE_X = RIGHT + 12.0
SIDE = WIDTH - SIDE_X - 2.0
SMALL = 11.0
INSTANT_ROW = 52.0
NAME = 206.0
BAR_FROM, BAR_TO = NAME + 70.0, WIDTH - 196.0


def margins_over_time(
    t_s: np.ndarray,
    needs: Sequence[Margin],
    *,
    legs: Sequence[LegSpan] = (),
    title: str = "Needs and margins",
    at_s: float | None = None,
) -> str:
    """SVG with a row for each need; the line is its margin, filled below zero, and broken where nobody asks.

    `at_s` draws one upright line through all rows.
    """
    frame = Frame.over(t_s, legs, max(ROW * len(needs), 20.0))
    body = [frame.backdrop(title)]
    for k, need in enumerate(needs):
        top = frame.top + k * ROW
        body.append(_row(frame, t_s, need, top))
        body.append(line(LEFT, top + ROW, WIDTH - 4, top + ROW, ink("rule"), width=0.8))
    if at_s is not None:
        x = float(frame.time.at(at_s))
        body.append(line(x, frame.top, x, frame.bottom, ink("accent"), width=1.4))
    note = "; ".join(f"{one.words}: {_told(one)}" for one in needs)
    return picture(WIDTH, frame.height, "".join(body), title, note)


def _row(frame: Frame, t_s: np.ndarray, need: Margin, top: float) -> str:
    """One need: its zero line, its line, what lies below zero, words beside."""
    axis = ValueAxis.over([need.values], top + PAD, top + ROW - PAD, zero=True)
    zero = float(axis.at(np.array(0.0)))
    x, y = columns(frame.time.at(t_s), need.values)
    parts = [line(LEFT, zero, RIGHT, zero, ink("soft"), width=0.8)]
    low, high = axis.ticks[0], axis.ticks[-1]
    for value in {low, 0.0, high}:
        (words,) = tick_words([value]) if value != int(value) else (signed(value, 0),)
        at = float(axis.at(np.array(value)))
        if value == 0.0 or abs(at - zero) >= 11.0:
            parts.append(text(LEFT - 8, at + 4, words, anchor="end", fill=ink("soft"), size=SMALL))
    parts.append(_missed(x, axis.at(y), zero))
    style = paint("none", ink("ink"), 1.3)
    parts.append(element("path", d=path(x, axis.at(y)), style=style, stroke_linejoin="round"))
    for k, (words, fill, weight) in enumerate(_side_words(need)):
        parts.append(text(SIDE_X, top + 15 + k * 14.5, words, fill=fill, weight=weight, size=SMALL if k else 12.5))
    return "".join(parts)


def _side_words(need: Margin) -> list[tuple[str, str, str]]:
    """(words, fill, weight) of the lines beside a row."""
    means = wrapped(f"{need.means}, {need.unit}", SIDE, SMALL)[:2]
    told = (_told(need), ink("warn" if need.missed_s else "soft"), "")
    return [(need.words, "", "650"), *((one, ink("soft"), "") for one in means), told]


def _told(need: Margin) -> str:
    if not need.asked_s:
        return "never asked"
    minutes = need.missed_s / 60.0
    missed = f"{minutes:.1f}" if minutes < 9.95 else f"{minutes:,.0f}"
    return f"missed {missed} of {need.asked_s / 60.0:,.0f} min" if need.missed_s else "always met"


def _missed(x: np.ndarray, y: np.ndarray, zero: float) -> str:
    """The area between zero and what lies below it."""
    down = np.where(np.isfinite(y), np.maximum(y, zero), zero)
    if not np.any(down > zero + 0.05):
        return ""
    d = f"M{x[0]:.1f} {zero:.1f}{path(x, down).replace('M', 'L', 1)}L{x[-1]:.1f} {zero:.1f}Z"
    return element("path", d=d, style=paint(f"color-mix(in srgb,{ink('warn')} 45%,{ink('paper')})"))


def margins_at(run_t_s: np.ndarray, needs: Sequence[Margin], at_s: float, *, title: str = "Needs") -> str:
    """SVG of the margins at one instant: a bar a need from zero, to the right where it is met, else to the left."""
    k = max(int(np.searchsorted(run_t_s, at_s + 1e-6, side="right")) - 1, 0)
    body = [text(4, 14, f"{title} at {clock(float(run_t_s[k]))} h:min", weight="650")]
    y, told = 28.0, []
    for need in needs:
        body.append(_instant(need, need.at(k), y))
        told.append(f"{need.words} {_value(need, need.at(k))}")
        y += INSTANT_ROW
        body.append(line(4, y - 4, WIDTH - 4, y - 4, ink("rule"), width=0.8))
    return picture(WIDTH, y + 4, "".join(body), title, "; ".join(told))


def _value(need: Margin, value: float | None) -> str:
    return "not asked" if value is None else f"{'+' if value > 0.0 else ''}{signed(value, 1)} {need.unit}"


def _instant(need: Margin, value: float | None, y: float) -> str:
    """A need at one instant, its bar within the least and greatest of its run."""
    finite = need.values[np.isfinite(need.values)]
    low, high = (min(float(finite.min()), 0.0), max(float(finite.max()), 0.0)) if finite.size else (0.0, 1.0)
    scale = (BAR_TO - BAR_FROM) / max(high - low, 1e-9)
    zero = BAR_FROM - low * scale
    parts = [text(4, y + 14, need.words, weight="650")]
    for k, one in enumerate(wrapped(need.means, NAME, SMALL)[:2]):
        parts.append(text(4, y + 28 + k * 12, one, fill=ink("soft"), size=SMALL))
    parts += [box(BAR_FROM, y + 8, BAR_TO - BAR_FROM, 14, ink("leg-park"), radius=2)]
    if value is not None:
        x0, x1 = sorted((zero, zero + value * scale))
        parts.append(box(x0, y + 8, max(x1 - x0, 1.0), 14, trace(3) if value >= 0.0 else ink("warn"), radius=1))
    parts.append(line(zero, y + 4, zero, y + 26, ink("ink"), width=1.2))
    for at, anchor, words in ((BAR_FROM - 6, "end", low), (BAR_TO + 6, "", high)):
        parts.append(text(at, y + 19, signed(words, 0), anchor=anchor, fill=ink("soft"), size=SMALL))
    verdict = MISSING if value is None else "met" if value >= 0.0 else "missed"
    fill = ink("warn") if verdict == "missed" else ""
    parts.append(text(WIDTH - 132, y + 19, f"{_value(need, value)}  {verdict}".rstrip(f" {MISSING}"), fill=fill))
    return "".join(parts)
