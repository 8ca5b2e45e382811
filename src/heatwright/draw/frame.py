"""What every picture over time shares: gutters, the band of trip legs, shading, grid, the clock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from heatwright.draw.axes import LegSpan, TimeAxis, ValueAxis, span_words, tick_words
from heatwright.draw.palette import ink
from heatwright.draw.svg import SIZE_PX, box, element, line, paint, text, text_width

WIDTH = 960.0
LEFT = 54.0
RIGHT = WIDTH - 178.0
HEAD = 24.0
BAND = 18.0
FOOT = 40.0

LEG_SHADES = {
    "drive": "leg-drive",
    "park": "leg-park",
    "soak": "leg-park",
    "preheat": "leg-preheat",
    "precondition": "leg-preheat",
    "charge": "leg-charge",
    "fast_charge": "leg-charge",
}


@dataclass(frozen=True)
class Frame:
    """The plot area of one picture over time."""

    time: TimeAxis
    legs: Sequence[LegSpan]
    t_s: np.ndarray
    top: float
    bottom: float

    @classmethod
    def over(cls, t_s: np.ndarray, legs: Sequence[LegSpan], height: float, *, squeeze: bool = True) -> Frame:
        """Frame with the gutters that all pictures share: one column is one instant in all of them."""
        top = HEAD + (BAND + 4 if legs else 0)
        return cls(TimeAxis.over(t_s, legs, LEFT, RIGHT, squeeze=squeeze), legs, t_s, top, top + height)

    @property
    def height(self) -> float:
        return self.bottom + FOOT

    def backdrop(self, title: str, unit: str = "") -> str:
        """Title, shading and band of legs, clock."""
        parts = [text(LEFT, 14, title, weight="650")]
        if unit:
            parts.append(text(LEFT - 8, 14, unit, anchor="end", fill=ink("soft")))
        for number, leg in enumerate(self.legs, start=1):
            parts.append(self._leg(number, leg))
        for x, words in self.time.ticks():
            parts.append(line(x, self.bottom, x, self.bottom + 4, ink("soft")))
            parts.append(text(x, self.bottom + 17, words, anchor="middle", fill=ink("soft")))
        parts.append(line(LEFT, self.bottom, RIGHT, self.bottom, ink("soft")))
        note = "time since the start, h:min"
        if any(self.time.squeezed):
            note += "; hatched stops are drawn shorter than they last"
        parts.append(text(LEFT, self.bottom + 33, note, fill=ink("soft"), size=11))
        return "".join(parts)

    def grid(self, axis: ValueAxis) -> str:
        """Value lines with their numbers in the left gutter; zero is drawn stronger."""
        parts = []
        for value, words in zip(axis.ticks, tick_words(axis.ticks), strict=True):
            y = float(axis.at(np.array(value)))
            parts.append(line(LEFT, y, RIGHT, y, ink("soft" if value == 0 else "rule"), width=0.8))
            parts.append(text(LEFT - 8, y + 4, words, anchor="end", fill=ink("soft")))
        return "".join(parts)

    def _leg(self, number: int, leg: LegSpan) -> str:
        t0, t1 = float(self.t_s[leg.first]), float(self.t_s[min(leg.last_exclusive, len(self.t_s) - 1)])
        x0, x1 = float(self.time.at(t0)), float(self.time.at(t1))
        shade = ink(LEG_SHADES.get(leg.kind, "leg-park"))
        tip = f"{number}. {leg.name} ({leg.kind}), {span_words(t1 - t0)}"
        parts = [box(x0, HEAD, x1 - x0, self.bottom - HEAD, shade, tip=tip)]
        if self._is_squeezed(t0):
            parts.append(self._hatch(x0, x1))
        parts.append(line(x0, HEAD, x0, self.bottom, ink("rule"), width=0.8))
        parts.append(line(x0, HEAD + BAND, x1, HEAD + BAND, ink("rule"), width=0.8))
        for words in (f"{number} {leg.name}", str(number)):
            if text_width(words, 11) + 8 <= x1 - x0:
                parts.append(text(x0 + 5, HEAD + 13, words, fill=ink("soft"), size=11))
                break
        return "".join(parts)

    def _is_squeezed(self, t0: float) -> bool:
        return any(is_short and abs(self.time.knots_s[k] - t0) < 1e-06 for k, is_short in enumerate(self.time.squeezed))

    def _hatch(self, x0: float, x1: float) -> str:
        """Slanted strokes along the foot of a leg that is drawn shorter."""
        strokes = []
        x = x0 + 3
        while x + 6 <= x1:
            strokes.append(f"M{x:.1f} {self.bottom:.1f}l6 -6")
            x += 8
        return element("path", d="".join(strokes), style=paint(fill="none", stroke=ink("soft"), width=0.8))


def plate(words: str, x: float, y: float, size: float = SIZE_PX) -> str:
    """Text on a patch of paper, for words that must stand on top of lines."""
    wide = text_width(words, size)
    return box(x - 3, y - size, wide + 6, size + 5, ink("paper"), radius=2) + text(x, y, words, size=size)
