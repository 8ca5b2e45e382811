"""Capacities against loads over the air outside: a panel a need, what falls short shaded, the best mode named."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from heatwright.draw.axes import round_ticks, tick_words
from heatwright.draw.palette import ink, trace
from heatwright.draw.svg import box, element, line, paint, picture, text, text_width, wrapped
from heatwright.study.capacity.tasks import TASKS, Task
from heatwright.study.capacity.text import best_modes, electricity, unit, verdict

if TYPE_CHECKING:
    from heatwright.study.capacity.cells import Cell
    from heatwright.study.capacity.sweep import Capacities

WIDTH = 960.0
COLUMNS, GAP = 2, 28.0
PANEL = (WIDTH - GAP) / COLUMNS
LEFT, RIGHT = 44.0, 8.0
TOP, PLOT = 26.0, 150.0
FOOT = 38.0
SMALL, SMALL_PX = 11.0, 14.5
MOST_LINES = 6
ZERO_K = 273.15
HEADROOM = 2.2
HUES = {"warm_cabin": 1, "cool_cabin": 0, "dry_cabin": 3, "warm_pack": 1, "cool_pack": 0, "warm_both": 1,
        "cool_both": 0, "cool_drive": 2}  # fmt: skip


def capacity_picture(found: Capacities) -> str:
    """SVG of every need: the load dashed, the capacity drawn through, what is short between them shaded."""
    panels = [_Panel(task, found.of(task.key), found.t_ambient_k) for task in TASKS]
    body = [text(4, 16, f"{found.plant}: what it can do at most, and what is asked", weight="650", size=15), _key()]
    y = 44.0
    for first in range(0, len(panels), COLUMNS):
        row = panels[first : first + COLUMNS]
        for k, panel in enumerate(row):
            body.append(element("g", panel.svg(), transform=f"translate({k * (PANEL + GAP):g} {y:g})"))
        y += max(panel.height for panel in row) + 18.0
    note = "; ".join(f"{task.words}: {verdict(found.of(task.key))}" for task in TASKS)
    return picture(WIDTH, y, "".join(body), f"Capacities of {found.plant}", note)


def _key() -> str:
    x = WIDTH - 330.0
    parts = [line(x, 12, x + 26, 12, ink("ink"), width=1.4, dash="5 3"), text(x + 32, 16, "asked", size=SMALL)]
    parts += [line(x + 84, 12, x + 110, 12, ink("ink"), width=2.2), text(x + 116, 16, "best mode can", size=SMALL)]
    parts += [box(x + 212, 5, 18, 13, _short()), text(x + 236, 16, "falls short", size=SMALL)]
    return "".join(parts)


def _short() -> str:
    return f"color-mix(in srgb,{ink('warn')} 28%,{ink('paper')})"


class _Panel:
    """One need: axes, the two lines, the shading and the words beneath."""

    def __init__(self, task: Task, cells: Sequence[Cell], t_k: Sequence[float]) -> None:
        self.task, self.cells = task, cells
        asked = [cell for cell in cells if cell.share is not None]
        self.both = len(task.serves) > 1
        self.unit = "% of both loads" if self.both else unit(task.sides[0][0])
        factor = {"g/h": 3.6e6, "kW": 1e-3}.get(self.unit, 100.0)
        self.t_c = np.array([cell.t_ambient_k - ZERO_K for cell in asked])
        if self.both:
            self.load = np.full(len(asked), 100.0)
            self.can = np.array([factor * max(cell.share or 0.0, 0.0) for cell in asked])
        else:
            self.load = np.array([factor * cell.amounts[0].load for cell in asked])
            self.can = np.array([factor * max(cell.amounts[0].capacity, 0.0) for cell in asked])
        self.met = np.array([cell.met for cell in asked], bool)
        self.ends = (t_k[0] - ZERO_K, t_k[-1] - ZERO_K)
        most = min(float(self.can.max(initial=0.0)), HEADROOM * float(self.load.max(initial=1.0)))
        self.ticks = round_ticks(0.0, max(most, float(self.load.max(initial=1.0))), 4)
        self.words = self._words()

    @property
    def height(self) -> float:
        """Height of the panel [px]."""
        return TOP + PLOT + FOOT + SMALL_PX * len(self.words)

    def _words(self) -> list[tuple[str, str]]:
        """The sentence and the best modes, as lines with their colour."""
        found = [(one, "warn" if not self.met.all() else "ink") for one in self._broken(verdict(self.cells))]
        found += [(one, "ink") for one in self._broken(electricity(self.cells))]
        for where, title in best_modes(self.cells):
            found += [(one, "soft") for one in self._broken(f"{where}: {title}")]
        if len(found) > MOST_LINES:
            found = [*found[: MOST_LINES - 1], ("… more modes in the table", "soft")]
        return found

    def _broken(self, words: str) -> list[str]:
        return wrapped(words, PANEL - LEFT - 2.0, SMALL)

    def x(self, t_c: float) -> float:
        """Column of an air outside."""
        low, high = self.ends
        return LEFT + (t_c - low) / max(high - low, 1e-9) * (PANEL - LEFT - RIGHT)

    def y(self, value: float) -> float:
        """Row of a value; one above the scale lies on its upper edge."""
        return TOP + PLOT - min(value / self.ticks[-1], 1.0) * PLOT

    def svg(self) -> str:
        """The panel, its upper left corner at the origin."""
        parts = [text(LEFT, 14, self.task.words, weight="650"), self._grid()]
        if self.t_c.size:
            parts += [self._shade(), self._line(self.load, ink("ink"), 1.4, "5 3"), self._capacity()]
        y = TOP + PLOT + FOOT + 6.0
        parts += [
            text(LEFT, y + SMALL_PX * k, one, fill=ink(colour), size=SMALL)
            for k, (one, colour) in enumerate(self.words)
        ]
        return "".join(parts)

    def _grid(self) -> str:
        parts = [text(PANEL - RIGHT, 14, self.unit, anchor="end", fill=ink("soft"), size=SMALL)]
        for value, words in zip(self.ticks, tick_words(self.ticks), strict=True):
            y = self.y(value)
            parts.append(line(LEFT, y, PANEL - RIGHT, y, ink("soft" if value == 0 else "rule"), width=0.8))
            parts.append(text(LEFT - 7, y + 4, words, anchor="end", fill=ink("soft"), size=SMALL))
        marks = [one for one in round_ticks(*self.ends, 5) if self.ends[0] <= one <= self.ends[1]]
        for value, words in zip(marks, tick_words(marks), strict=True):
            parts.append(line(self.x(value), TOP + PLOT, self.x(value), TOP + PLOT + 4, ink("soft")))
            parts.append(text(self.x(value), TOP + PLOT + 16, words, anchor="middle", fill=ink("soft"), size=SMALL))
        parts.append(
            text(PANEL - RIGHT, TOP + PLOT + 29, "air outside, °C", anchor="end", fill=ink("soft"), size=SMALL)
        )
        return "".join(parts)

    def _shade(self) -> str:
        """The area between load and capacity where the capacity is less, cut where the lines cross."""
        t, load, can = self._crossed()
        parts = []
        for k in range(len(t) - 1):
            if load[k] - can[k] + load[k + 1] - can[k + 1] <= 1e-9:
                continue
            corners = [(t[k], load[k]), (t[k + 1], load[k + 1]), (t[k + 1], can[k + 1]), (t[k], can[k])]
            points = " ".join(f"{self.x(a):.1f},{self.y(b):.1f}" for a, b in corners)
            parts.append(element("polygon", points=points, style=paint(_short(), _short(), 0.8)))
        return "".join(parts)

    def _crossed(self) -> tuple[list[float], list[float], list[float]]:
        """Both lines with the points at which they cross put in between."""
        t, load, can = ([float(v) for v in values[:1]] for values in (self.t_c, self.load, self.can))
        for k in range(len(self.t_c) - 1):
            gap, after = self.can[k] - self.load[k], self.can[k + 1] - self.load[k + 1]
            if gap * after < 0.0:
                part = gap / (gap - after)
                for found, values in ((t, self.t_c), (load, self.load), (can, self.load)):
                    found.append(float(values[k] + part * (values[k + 1] - values[k])))
            for found, values in ((t, self.t_c), (load, self.load), (can, self.can)):
                found.append(float(values[k + 1]))
        return t, load, can

    def _line(self, values: np.ndarray, colour: str, width: float, dash: str = "") -> str:
        """A line through values, left out above the scale."""
        style = paint(fill="none", stroke=colour, width=width, dash=dash)
        parts = []
        for piece in within(self.t_c, values, self.ticks[-1]):
            points = " ".join(f"{self.x(a):.1f},{self.y(b):.1f}" for a, b in piece)
            parts.append(element("polyline", points=points, style=style, stroke_linejoin="round"))
        return "".join(parts)

    def _capacity(self) -> str:
        colour = trace(HUES[self.task.key])
        parts = [self._line(self.can, colour, 2.2)]
        for t, value, met in zip(self.t_c, self.can, self.met, strict=True):
            if value <= self.ticks[-1]:
                fill = colour if met else ink("paper")
                style = paint(fill, colour, 1.4)
                parts.append(element("circle", cx=self.x(t), cy=self.y(value), r=2.6, style=style))
        above = np.flatnonzero(self.can > self.ticks[-1])
        if above.size > 2:
            low, high = (f"{end:,.0f}" for end in (self.can[above].min(), self.can[above].max()))
            span = low if low == high else f"{low} to {high}"
            words = f"above the scale: {span} {self.unit.partition(' ')[0]}"
            middle = self.x(float(np.mean(self.t_c[above])))
            at = min(max(middle, LEFT + text_width(words, SMALL) / 2), PANEL - RIGHT - text_width(words, SMALL) / 2)
            parts.append(text(at, TOP + 15, words, anchor="middle", fill=ink("soft"), size=SMALL))
        return "".join(parts)


def within(t: np.ndarray, values: np.ndarray, top: float) -> list[list[tuple[float, float]]]:
    """The pieces of a line through (t, value) that lie at or below `top`, cut where it crosses it."""
    pieces: list[list[tuple[float, float]]] = [[]]
    for k, (a, b) in enumerate(zip(t.tolist(), values.tolist(), strict=True)):
        if k and (b > top) != (values[k - 1] > top):
            part = (top - values[k - 1]) / (b - values[k - 1])
            pieces[-1].append((float(t[k - 1] + part * (a - t[k - 1])), top))
        if b <= top:
            pieces[-1].append((a, b))
        elif pieces[-1]:
            pieces.append([])
    return [piece for piece in pieces if len(piece) > 1]
