"""Pipes and ducts as SVG: casing, core, flow marks, arrows, and the gaps where one passes under another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from itertools import pairwise

from heatwright.draw.palette import KELVIN, ink
from heatwright.draw.quantities import signed
from heatwright.draw.sheet.colour import temperature_ink
from heatwright.draw.sheet.graph import WIND, Graph, Pipe
from heatwright.draw.sheet.layout import Layout, Point, crossings
from heatwright.draw.sheet.shapes import STEP_PX
from heatwright.draw.sheet.state import DISCHARGE, LIQUID, State, known, way_of
from heatwright.draw.svg import element, num, paint

ROUND = 7.0
CASING = {"coolant": 7.6, "refrigerant": 6.0, "air": 0.0, WIND: 0.0}
CORE = {"coolant": 5.0, "refrigerant": 3.4, "air": 11.0, WIND: 11.0}
MARKS = {"coolant": ("4 11", 1.6), "refrigerant": ("0.1 6", 1.9), "air": ("13 13", 1.1), WIND: ("13 13", 1.1)}
OUTER = 11.0
FASTEST_S, SLOWEST_S = 0.6, 3.0
ORDER = (WIND, "air", "refrigerant", "coolant")


def draw_pipes(graph: Graph, layout: Layout, state: State, stretches: Mapping[str, str]) -> str:
    """Every pipe, the wide ribbons lowest; where a later one crosses, the earlier one breaks."""
    order = sorted(graph.pipes.values(), key=lambda pipe: ORDER.index(pipe.medium))
    knots = crossings(layout)
    drawn: set[str] = set()
    parts = []
    for pipe in order:
        gaps = [
            _gap(pipe.id == level, at, graph.pipes[upright if pipe.id == level else level], pipe)
            for level, upright, at in knots
            if pipe.id in (level, upright) and (upright if pipe.id == level else level) in drawn
        ]
        parts += gaps
        tip = _tip(graph, pipe, state, stretches.get(pipe.id, ""))
        parts.append(_pipe(pipe, _to_dots(graph, layout, pipe), state, stretches.get(pipe.id, ""), tip))
        drawn.add(pipe.id)
    return "".join(parts)


def _to_dots(graph: Graph, layout: Layout, pipe: Pipe) -> list[Point]:
    """The corners of a pipe, with an end at a tee led on to its dot."""
    way = list(layout.pipes[pipe.id])
    for end, at in ((pipe.start, 0), (pipe.end, -1)):
        if graph.nodes[end].symbol == "tee":
            way[at] = (layout.stands[end].x, layout.stands[end].y)
    return way


def _gap(level: bool, at: Point, under: Pipe, over: Pipe) -> str:
    """A patch of paper around a crossing, as long as the lower pipe is wide and wider than the upper one."""
    x, y = at[0] * STEP_PX, at[1] * STEP_PX
    half = max(CASING[under.medium], CORE[under.medium]) / 2 + 1.5
    wide = max(CASING[over.medium], CORE[over.medium]) + 7
    d = f"M{num(x - half)} {num(y)}H{num(x + half)}" if level else f"M{num(x)} {num(y - half)}V{num(y + half)}"
    return element("path", d=d, style=paint("none", ink("paper"), wide))


def _tip(graph: Graph, pipe: Pipe, state: State, stretch: str) -> str:
    """What a pointer that rests on a pipe is told: from where to where it flows, and how warm it is."""
    sense = way_of(pipe, state)
    ends = [graph.nodes[one].label or "a joint" for one in (pipe.start, pipe.end)]
    told = " to ".join(ends if sense >= 0 else ends[::-1])
    t_k = known(series_of(pipe, state, stretch), state.temperatures)
    warm = "" if t_k is None else f", {signed(t_k - KELVIN, 1)} °C"
    return f"<title>{escape(told + ('' if sense else ', standing') + warm)}</title>"


def series_of(pipe: Pipe, state: State, stretch: str) -> tuple[str, ...]:
    """Series of a pipe's temperature as it flows, best first."""
    return (stretch,) if stretch else (pipe.ahead if way_of(pipe, state) >= 0 else pipe.back)


def _pipe(pipe: Pipe, way: Sequence[Point], state: State, stretch: str, tip: str) -> str:
    sense = way_of(pipe, state)
    series = series_of(pipe, state, stretch)
    d = rounded(way)
    attributes = {
        "id": f"pipe-{pipe.id}",
        "class_": f"pipe {pipe.medium} {'idle' if sense == 0 else 'live'}",
        "data-lines": " ".join(pipe.lines),
        "data-loop": pipe.loop,
        "data-series": " ".join((stretch,) if stretch else pipe.ahead),
        "data-series-back": " ".join((stretch,) if stretch else pipe.back),
        "data-flow": " ".join(pipe.flow),
        "data-way": str(sense),
        "style": f"--hw-pace:{_pace(pipe, state):.2f}s" if sense and state.shares else "",
    }
    if sense == 0:
        return element("g", tip + _casing(pipe, d, idle=True), **attributes)
    colour = temperature_ink(known(series, state.temperatures))
    ribbon = pipe.medium in ("air", WIND)
    high = stretch.endswith((DISCHARGE, LIQUID))
    body = _double(d) if high else ""
    body += _casing(pipe, d) + _line(d, colour, CORE[pipe.medium], class_="core", opacity=0.5 if ribbon else 1.0)
    dashes, wide = MARKS[pipe.medium]
    marks = ink("soft") if ribbon else ink("paper")
    shown = d if sense > 0 else rounded(way[::-1])
    body += _line(shown, marks, wide, dashes, class_="flow", opacity=0.7 if ribbon else 1.0)
    return element("g", tip + body + _arrow(way if sense > 0 else way[::-1], ribbon), **attributes)


def _pace(pipe: Pipe, state: State) -> float:
    """Seconds in which a flow mark moves on by one, where a page moves them: fewer where more flows."""
    share = max((state.shares.get(one, 0.0) for one in pipe.lines), default=0.0) or 1.0
    return float(min(max(FASTEST_S / share, FASTEST_S), SLOWEST_S))


def _double(d: str) -> str:
    return _line(d, ink("ink"), OUTER) + _line(d, ink("paper"), OUTER - 2.2)


def _casing(pipe: Pipe, d: str, idle: bool = False) -> str:
    """The casing alone; of an idle leg its hollow too."""
    wide = CASING[pipe.medium]
    if not idle:
        return _line(d, ink("ink"), wide) if wide else ""
    wide = wide or CORE[pipe.medium]
    return _line(d, ink("soft" if CASING[pipe.medium] else "rule"), wide) + _line(d, ink("paper"), wide - 1.8)


def _line(d: str, colour: str, wide: float, dash: str = "", class_: str = "", opacity: float = 1.0) -> str:
    style = paint("none", colour, wide, dash) + (";stroke-linecap:round" if dash else "")
    return element("path", d=d, class_=class_, style=style + (f";opacity:{opacity:g}" if opacity < 1 else ""))


def _arrow(way: Sequence[Point], ribbon: bool) -> str:
    """An arrowhead on the longest straight piece, a third along it."""
    a, b = max(pairwise(way), key=lambda ab: abs(ab[0][0] - ab[1][0]) + abs(ab[0][1] - ab[1][1]))
    long = abs(a[0] - b[0]) + abs(a[1] - b[1])
    if long < 3:
        return ""
    dx, dy = (b[0] > a[0]) - (b[0] < a[0]), (b[1] > a[1]) - (b[1] < a[1])
    x, y = (a[0] + dx * long * 0.3) * STEP_PX, (a[1] + dy * long * 0.3) * STEP_PX
    d = f"M{num(x - 4 * dx - 4.5 * dy)} {num(y - 4 * dy - 4.5 * dx)}L{num(x + 4.5 * dx)} {num(y + 4.5 * dy)}"
    d += f"L{num(x - 4 * dx + 4.5 * dy)} {num(y - 4 * dy + 4.5 * dx)}Z"
    style = paint(ink("soft") if ribbon else ink("ink"), ink("paper"), 0.8)
    return element("path", d=d, class_="arrow", style=style)


def rounded(way: Sequence[Point]) -> str:
    """Path data of a way with rounded corners, in pixels."""
    points = [(x * STEP_PX, y * STEP_PX) for x, y in way]
    d = f"M{num(points[0][0])} {num(points[0][1])}"
    for before, here, after in zip(points, points[1:], points[2:], strict=False):
        ax, ay = _towards(here, before)
        bx, by = _towards(here, after)
        d += f"L{num(ax)} {num(ay)}Q{num(here[0])} {num(here[1])} {num(bx)} {num(by)}"
    return d + f"L{num(points[-1][0])} {num(points[-1][1])}"


def _towards(here: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
    far = abs(here[0] - other[0]) + abs(here[1] - other[1])
    share = min(ROUND, far / 2) / far
    return here[0] + (other[0] - here[0]) * share, here[1] + (other[1] - here[1]) * share
