"""Axes: round ticks, a value axis, and a time axis on which long stops may be drawn shorter."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

import numpy as np

LONG_STOP_S = 1800.0
SQUEEZE = 0.1
STOP_KINDS = frozenset({"park", "soak"})
CLOCK_STEPS_S = (60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 21600, 43200, 86400)
TICK_GAP_PX = 46.0


class LegSpan(Protocol):
    @property
    def name(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def first(self) -> int: ...
    @property
    def last_exclusive(self) -> int: ...


def clock(t_s: float) -> str:
    """Time since the start as h:mm."""
    minutes = round(t_s / 60)
    return f"{minutes // 60}:{minutes % 60:02d}"


def span_words(t_s: float) -> str:
    """A duration in words: 45 s, 12 min, 3 h 05 min."""
    if t_s < 99.5:
        return f"{t_s:.0f} s"
    minutes = round(t_s / 60)
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d} min"


def round_ticks(low: float, high: float, about: int = 5) -> list[float]:
    """Ticks at 1, 2, 2.5 or 5 times a power of ten, from at or below `low` to at or above `high`."""
    if not (math.isfinite(low) and math.isfinite(high)):
        low, high = 0.0, 1.0
    if high - low < 1e-9 * max(1.0, abs(low), abs(high)):
        pad = max(abs(low) * 0.1, 1.0)
        low, high = low - pad, high + pad
    raw = (high - low) / about
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(m * power for m in (1, 2, 2.5, 5, 10) if m * power >= raw * 0.999)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [k * step for k in range(first, last + 1)]


def tick_words(ticks: Sequence[float]) -> list[str]:
    """Tick labels with just the decimals that the step needs, and a true minus sign."""
    step = abs(ticks[1] - ticks[0]) if len(ticks) > 1 else 1.0
    digits = next((d for d in range(4) if abs(step * 10**d - round(step * 10**d)) < 1e-6), 4)
    return [f"{0.0 if abs(v) < step * 1e-6 else v:,.{digits}f}".replace("-", "−") for v in ticks]


@dataclass(frozen=True)
class ValueAxis:
    """Values to pixels from `bottom` up to `top`."""

    ticks: tuple[float, ...]
    top: float
    bottom: float

    @classmethod
    def over(cls, values: Iterable[np.ndarray], top: float, bottom: float, *, zero: bool) -> ValueAxis:
        """Axis that holds every finite value, and zero if asked."""
        finite = [part[np.isfinite(part)] for part in values]
        lows = [float(part.min()) for part in finite if part.size] or [0.0]
        highs = [float(part.max()) for part in finite if part.size] or [1.0]
        low, high = min(lows), max(highs)
        if zero:
            low, high = min(low, 0.0), max(high, 0.0)
        return cls(tuple(round_ticks(low, high, max(3, round((bottom - top) / 44)))), top, bottom)

    def at(self, values: np.ndarray) -> np.ndarray:
        """Pixel rows of the values."""
        low, high = self.ticks[0], self.ticks[-1]
        return self.bottom - (values - low) / (high - low) * (self.bottom - self.top)


@dataclass(frozen=True)
class TimeAxis:
    """Time to pixels, straight within each leg; `squeezed` tells which legs are drawn shorter."""

    knots_s: tuple[float, ...]
    knots_px: tuple[float, ...]
    squeezed: tuple[bool, ...]

    @classmethod
    def over(
        cls, t_s: np.ndarray, legs: Sequence[LegSpan], left: float, right: float, *, squeeze: bool = True
    ) -> TimeAxis:
        """Axis over a whole run; stops over half an hour shrink once they fill two fifths of it."""
        edges = sorted({float(t_s[0]), float(t_s[-1]), *(float(t_s[leg.first]) for leg in legs)})
        stops = {float(t_s[leg.first]) for leg in legs if leg.kind in STOP_KINDS}
        spans = [b - a for a, b in pairwise(edges)] or [1.0]
        long = [a in stops and d > LONG_STOP_S for a, d in zip(edges, spans, strict=False)]
        share = sum(d for d, is_long in zip(spans, long, strict=False) if is_long) / sum(spans)
        if not squeeze or share < 0.4 or share > 0.999:
            long = [False] * len(spans)
        weights = [
            LONG_STOP_S + (d - LONG_STOP_S) * SQUEEZE if is_long else d for d, is_long in zip(spans, long, strict=False)
        ]
        total = sum(weights)
        places = [left]
        for weight in weights:
            places.append(places[-1] + weight / total * (right - left))
        knots = tuple(edges) if len(edges) > 1 else (edges[0], edges[0] + 1.0)
        return cls(knots, tuple(places), tuple(long))

    @property
    def left(self) -> float:
        return self.knots_px[0]

    @property
    def right(self) -> float:
        return self.knots_px[-1]

    def at(self, t_s: np.ndarray | float) -> np.ndarray:
        """Pixel columns of the times."""
        return np.asarray(np.interp(t_s, self.knots_s, self.knots_px))

    def ticks(self) -> list[tuple[float, str]]:
        """(pixel, h:mm) of round times, never nearer to each other than their words are wide."""
        found: list[tuple[float, str]] = []
        for k in range(len(self.knots_px) - 1):
            t0, t1 = self.knots_s[k], self.knots_s[k + 1]
            px_per_s = (self.knots_px[k + 1] - self.knots_px[k]) / (t1 - t0)
            step = next((s for s in CLOCK_STEPS_S if s * px_per_s >= 1.2 * TICK_GAP_PX), CLOCK_STEPS_S[-1])
            for n in range(math.ceil(t0 / step - 1e-9), math.floor(t1 / step + 1e-9) + 1):
                x = float(self.at(n * step))
                if not found or x - found[-1][0] >= TICK_GAP_PX:
                    found.append((x, clock(n * step)))
        return found
