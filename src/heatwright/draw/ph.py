"""Pressure over enthalpy: the dome, a few isotherms, the loop of a point or an instant, and loops past."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.tables import RefrigerantTables, refrigerant_tables
from heatwright.draw.axes import clock, round_ticks, tick_words
from heatwright.draw.frame import HEAD, LEFT, RIGHT, WIDTH, plate
from heatwright.draw.palette import ink, trace
from heatwright.draw.svg import LINE_PX, element, line, paint, picture, text, text_width, wrapped
from heatwright.study.cycle import Cycle, PastLoop
from heatwright.study.point_state import CycleState
from heatwright.study.table import number

if TYPE_CHECKING:
    from heatwright.study.point import Point

Floats = NDArray[np.float64]
Loop: TypeAlias = "Point | Cycle"
ZERO_C_K = 273.15
HEIGHT = 470.0
TOP = HEAD
BOTTOM = TOP + HEIGHT
FOOT = 44.0
SIDE_X = RIGHT + 22.0
SIDE_WIDTH = WIDTH - SIDE_X - 4.0
BARS = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
ISOTHERMS_C = (-40.0, -20.0, 0.0, 20.0, 40.0, 60.0, 80.0, 100.0)
HOT, COLD = 1, 0  # hues of the sides that give and take up heat
SIDES = ("compressed", "gives heat", "throttled", "takes up heat")


@dataclass(frozen=True)
class Plane:
    """Enthalpy [kJ/kg] and pressure [bar] to pixels; pressure goes by its logarithm."""

    ticks_kj: tuple[float, ...]
    low_bar: float
    high_bar: float

    def x(self, h_j_per_kg: Floats | float) -> Floats:
        """Pixel columns of enthalpies [J/kg]."""
        low, high = self.ticks_kj[0], self.ticks_kj[-1]
        return np.asarray(LEFT + (np.asarray(h_j_per_kg) * 1e-3 - low) / (high - low) * (RIGHT - LEFT))

    def y(self, p_pa: Floats | float) -> Floats:
        """Pixel rows of pressures [Pa]."""
        share = np.log(np.asarray(p_pa) * 1e-5 / self.low_bar) / math.log(self.high_bar / self.low_bar)
        return np.asarray(BOTTOM - share * HEIGHT)


def pressure_enthalpy(point: Loop, *, tag: str = "ph") -> str:
    """SVG of a loop over its refrigerant's dome; of the dome alone where the compressor does not run.

    Loops of the minutes before an instant of a run lie behind it, the older the fainter. `tag` tells one picture from
    another on a page.
    """
    tables = refrigerant_tables(point.refrigerant)
    plane = _plane(tables, point)
    trail = point.trail if isinstance(point, Cycle) else ()
    title = f"{point.title}, at {clock(point.t_s)} h:min" if isinstance(point, Cycle) else point.title
    past = _trail(plane, trail)
    body = [_grid(plane, title), _clipped("".join([_isotherms(plane, tables), past, _dome(plane, tables)]), tag)]
    body += [_loop(plane, point) if point.states else "", _isotherm_words(plane, tables, point), _side(point)]
    if point.states:
        body.append(_numbers(plane, point))
    note = "Pressure in bar, by its logarithm, over enthalpy in kJ/kg. " + "; ".join(map(_told, point.states))
    return picture(WIDTH, BOTTOM + FOOT, "".join(body), title, note)


def _told(state: CycleState) -> str:
    return f"state {state.number}, {state.words}: {_where(state)}, {number(state.h_j_per_kg * 1e-3, 1)} kJ/kg"


def _where(state: CycleState) -> str:
    return f"{number(state.p_pa * 1e-5, 2)} bar, {number(state.t_k - ZERO_C_K, 1)} °C"


def _plane(tables: RefrigerantTables, point: Loop) -> Plane:
    """Return axes that hold the dome from its foot up, and the loop."""
    trail = point.trail if isinstance(point, Cycle) else ()
    pressures = [*(s.p_pa for s in point.states), *(p for one in trail for p in one.p_pa)]
    low = min([6.5e5 if tables.transcritical else 1.0e5, *(0.8 * p for p in pressures)])
    foot = float(np.interp(math.log(low), tables.ln_p_saturation, tables.h_liquid_j_per_kg))
    right = max(
        [
            float(tables.h_vapour_j_per_kg.max()),
            *(s.h_j_per_kg for s in point.states),
            *(h for one in trail for h in one.h_j_per_kg),
        ]
    )
    ticks = round_ticks(foot * 1e-3 - 8.0, right * 1e-3 + 12.0, 8)
    high = max([1.35 * tables.p_critical_pa, *((1.5 if tables.transcritical else 1.2) * p for p in pressures)])
    return Plane(tuple(ticks), low * 1e-5, high * 1e-5)


def _grid(plane: Plane, title: str) -> str:
    parts = [text(LEFT, 14, title, weight="650"), text(LEFT - 8, 14, "bar", anchor="end", fill=ink("soft"))]
    for bar in (b for b in BARS if plane.low_bar <= b <= plane.high_bar):
        y = float(plane.y(bar * 1e5))
        parts.append(line(LEFT, y, RIGHT, y, ink("rule"), width=0.8))
        parts.append(text(LEFT - 8, y + 4, f"{bar:g}", anchor="end", fill=ink("soft")))
    for value, words in zip(plane.ticks_kj, tick_words(plane.ticks_kj), strict=True):
        x = float(plane.x(value * 1e3))
        parts.append(line(x, TOP, x, BOTTOM, ink("rule"), width=0.5))
        parts.append(line(x, BOTTOM, x, BOTTOM + 4, ink("soft")))
        parts.append(text(x, BOTTOM + 17, words, anchor="middle", fill=ink("soft")))
    parts.append(line(LEFT, BOTTOM, RIGHT, BOTTOM, ink("soft")))
    parts.append(line(LEFT, TOP, LEFT, BOTTOM, ink("soft")))
    words = "enthalpy, kJ/kg (200 for boiling liquid at 0 °C); isotherms dashed, as far as the tables go"
    parts.append(text(LEFT, BOTTOM + 35, words, fill=ink("soft"), size=11))
    return "".join(parts)


def _clipped(content: str, tag: str) -> str:
    """Content that ends where the plot does."""
    frame = element("rect", x=LEFT, y=TOP, width=RIGHT - LEFT, height=HEIGHT)
    return element("clipPath", frame, id=f"hw-{tag}") + element("g", content, clip_path=f"url(#hw-{tag})")


def _path(plane: Plane, h: Floats | Sequence[float], p: Floats | Sequence[float], style: str) -> str:
    pairs = zip(plane.x(np.asarray(h, float)), plane.y(np.asarray(p, float)), strict=True)
    d = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in pairs)
    return element("path", d=d, style=style, stroke_linejoin="round")


def _dome(plane: Plane, tables: RefrigerantTables) -> str:
    """The line of boiling liquid, the cap above the tables, and dry vapour."""
    h_cap, p_cap = dome_cap(tables)
    p = np.exp(tables.ln_p_saturation)
    h = np.concatenate((tables.h_liquid_j_per_kg, h_cap, tables.h_vapour_j_per_kg[::-1]))
    return _path(plane, h, np.concatenate((p, p_cap, p[::-1])), paint(fill="none", stroke=ink("ink"), width=1.6))


def dome_cap(tables: RefrigerantTables) -> tuple[Floats, Floats]:
    """Return enthalpy [J/kg] and pressure [Pa] of the dome from the tables' end over the critical point and back.

    For the eye only: the sides close by the power 0.325 of the distance to the critical temperature while their
    middle goes on straight (common practice for densities near a critical point).
    """
    t, liquid, vapour = tables.t_saturation_k, tables.h_liquid_j_per_kg, tables.h_vapour_j_per_kg
    rest = np.linspace(1.0, 0.0, 25)[1:] ** 3
    middle = 0.5 * (liquid + vapour)
    gap_k = tables.t_critical_k - float(t[-1])
    rise = (middle[-1] - middle[-2]) / (t[-1] - t[-2]) * gap_k * (1.0 - rest)
    half = 0.5 * (vapour[-1] - liquid[-1]) * rest**0.325
    low = float(tables.ln_p_saturation[-1])
    p = np.exp(low + (math.log(tables.p_critical_pa) - low) * (1.0 - rest))
    h_low, h_high = middle[-1] + rise - half, middle[-1] + rise + half
    return np.concatenate((h_low, h_high[-2::-1])), np.concatenate((p, p[-2::-1]))


def isotherm(tables: RefrigerantTables, t_k: float) -> tuple[Floats, Floats]:
    """Return enthalpy [J/kg] and pressure [Pa] along a temperature: liquid, across the dome, gas."""
    if tables.transcritical:
        return _isotherm_over(tables, t_k)
    t, p = tables.t_saturation_k, np.exp(tables.ln_p_saturation)
    rows: list[tuple[float, float]] = []
    for k in np.flatnonzero((t > t_k) & (t - t_k <= tables.subcooling_k[-1]))[::-1]:
        rows.append((float(np.interp(t[k] - t_k, tables.subcooling_k, tables.h_subcooled_j_per_kg[k])), float(p[k])))
    if t[0] <= t_k <= t[-1]:
        pressure = float(np.exp(np.interp(t_k, t, tables.ln_p_saturation)))
        rows += [
            (float(np.interp(t_k, t, side)), pressure) for side in (tables.h_liquid_j_per_kg, tables.h_vapour_j_per_kg)
        ]
    for k in np.flatnonzero((t < t_k) & (t_k - t <= tables.superheat_k[-1]))[::-1]:
        rows.append((float(np.interp(t_k - t[k], tables.superheat_k, tables.h_suction_j_per_kg[k])), float(p[k])))
    return np.array([h for h, _ in rows]), np.array([pressure for _, pressure in rows])


def _isotherm_over(tables: RefrigerantTables, t_k: float) -> tuple[Floats, Floats]:
    """Return an isotherm of R744, from its own table: above the critical temperature in one piece."""
    t, p = tables.t_saturation_k, tables.p_isobar_pa
    h = tables.h_isotherm_j_per_kg[int(np.argmin(np.abs(tables.t_isotherm_k - t_k)))]
    if t_k > t[-1]:
        return h[::-1], p[::-1]
    pressure = float(np.exp(np.interp(t_k, t, tables.ln_p_saturation)))
    sides = [float(np.interp(t_k, t, side)) for side in (tables.h_liquid_j_per_kg, tables.h_vapour_j_per_kg)]
    liquid, gas = p > pressure, p < pressure
    return (
        np.concatenate((h[liquid][::-1], sides, h[gas][::-1])),
        np.concatenate((p[liquid][::-1], [pressure, pressure], p[gas][::-1])),
    )


def _isotherms(plane: Plane, tables: RefrigerantTables) -> str:
    style = paint(fill="none", stroke=ink("soft"), width=0.7, dash="4 3")
    return "".join(_path(plane, *isotherm(tables, t + ZERO_C_K), style) for t in ISOTHERMS_C)


def _isotherm_words(plane: Plane, tables: RefrigerantTables, point: Loop) -> str:
    """The temperature of each isotherm, inside the dome near its liquid side, below the line or else above it."""
    parts = []
    sides = [float(plane.y(s.p_pa)) for s in point.states[1::2]]
    for t_c in ISOTHERMS_C:
        t_k = t_c + ZERO_C_K
        if tables.transcritical and t_k > tables.t_critical_k:
            h, p = isotherm(tables, t_k)
            top = 0.94 * plane.high_bar * 1e5
            x = float(plane.x(float(np.interp(top, p[::-1], h[::-1]))))
            parts.append(text(x + 4, float(plane.y(top)) + 4, f"{number(t_c, 0)} °C", fill=ink("soft"), size=11))
            continue
        if not tables.t_saturation_k[0] <= t_k <= tables.t_saturation_k[-1]:
            continue
        y = float(plane.y(math.exp(float(np.interp(t_k, tables.t_saturation_k, tables.ln_p_saturation)))))
        if TOP + 10 < y < BOTTOM - 8:
            x = float(plane.x(float(np.interp(t_k, tables.t_saturation_k, tables.h_liquid_j_per_kg)))) + 8
            free = not any(y - 1 < side < y + 18 for side in sides)
            place = (x, y + 12) if free else (x + 30, y - 4)
            words = f"{number(t_c, 0)} °C"
            parts.append(
                text(_beside(plane, point, place, text_width(words, 11)), place[1], words, fill=ink("soft"), size=11)
            )
    return "".join(parts)


def _beside(plane: Plane, point: Loop, place: tuple[float, float], wide: float) -> float:
    """Where words begin that would stand on the upright stroke of the throttling: just right of it."""
    if len(point.states) < 4:
        return place[0]
    x, ends = float(plane.x(point.states[2].h_j_per_kg)), [float(plane.y(s.p_pa)) for s in point.states[2:4]]
    return x + 6 if place[0] - 3 < x < place[0] + wide + 3 and ends[0] < place[1] < ends[1] else place[0]


def _loop(plane: Plane, point: Loop) -> str:
    """The loop in four strokes; throttling, which gives no work, is dashed."""
    h = [s.h_j_per_kg for s in point.states]
    p = [s.p_pa for s in point.states]
    plain = paint(fill="none", stroke=ink("ink"), width=2.4)
    return "".join(
        [
            _path(plane, [h[0], h[1]], [p[0], p[1]], plain),
            _path(plane, [h[1], h[2]], [p[1], p[2]], paint(fill="none", stroke=trace(HOT), width=3)),
            _path(plane, [h[2], h[3]], [p[2], p[3]], paint(fill="none", stroke=ink("ink"), width=2.4, dash="7 4")),
            _path(plane, [h[3], h[0]], [p[3], p[0]], paint(fill="none", stroke=trace(COLD), width=3)),
        ]
    )


def _trail(plane: Plane, trail: Sequence[PastLoop]) -> str:
    """Loops past, the older the fainter."""
    parts = []
    for k, one in enumerate(trail):
        share = round(8 + 34 * (k + 1) / len(trail))
        style = paint("none", f"color-mix(in srgb,{ink('soft')} {share}%,{ink('paper')})", 1.2)
        h, p = (*one.h_j_per_kg, one.h_j_per_kg[0]), (*one.p_pa, one.p_pa[0])
        parts.append(_path(plane, h, p, style))
    return "".join(parts)


def _numbers(plane: Plane, point: Loop) -> str:
    """Numbered dots, and beside the middle of each side what happens there."""
    parts = []
    xy = [(float(plane.x(s.h_j_per_kg)), float(plane.y(s.p_pa))) for s in point.states]
    for k, ((x, y), state) in enumerate(zip(xy, point.states, strict=True)):
        parts.append(element("circle", cx=x, cy=y, r=9, style=paint(ink("paper"), ink("ink"), 1.6)))
        parts.append(text(x, y + 4.3, str(state.number), anchor="middle", weight="650"))
        if k in (1, 3):
            x_mid, y_mid = 0.5 * (x + xy[(k + 1) % 4][0]), y
            words = SIDES[k]
            parts.append(plate(words, x_mid - 0.5 * text_width(words), y_mid + (20 if k == 3 else -9)))
    return "".join(parts)


def _side(point: Loop) -> str:
    """The states in words and numbers, then what the point gives."""
    parts: list[str] = []
    y = TOP + 10.0

    def say(words: str, weight: str = "", fill: str = "", gap: float = 0.0) -> None:
        nonlocal y
        y += gap
        for one in wrapped(words, SIDE_WIDTH / (1.08 if weight else 1.0)):
            parts.append(text(SIDE_X, y, one, weight=weight, fill=fill))
            y += LINE_PX

    for s in point.states:
        say(f"{s.number} {s.words}", weight="650", gap=0.0 if s.number == 1 else 7.0)
        say(_where(s))
        say(f"{number(s.h_j_per_kg * 1e-3, 1)} kJ/kg")
    if point.states:
        say(f"gives {point.q_hot_w * 1e-3:.2f} kW", gap=16.0, fill=trace(HOT), weight="650")
        say(f"takes up {point.q_cold_w * 1e-3:.2f} kW", fill=trace(COLD), weight="650")
        say(f"compressor {point.p_electric_w * 1e-3:.2f} kW at {60.0 * point.speed_hz:,.0f} rpm")
        say(f"{point.mdot_kg_per_s * 1e3:.1f} g/s")
        say(f"COP heating {number(point.cop_heating, 2)}")
        say(f"COP cooling {number(point.cop_cooling, 2)}")
    else:
        say(point.status, weight="650")
    if isinstance(point, Cycle) and point.trail:
        say(f"grey: loops since {clock(point.trail[0].t_s)}", gap=12.0, fill=ink("soft"))
    if point.limit:
        say(point.limit, gap=12.0, fill=ink("warn"))
    if not point.settled:
        say("not settled after an hour: the last state", gap=12.0, fill=ink("warn"))
    return "".join(parts)
