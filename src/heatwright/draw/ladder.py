"""The thermometer ladder: the temperature scale with a mark where each body began and one where it ended."""

from __future__ import annotations

from collections.abc import Sequence

from heatwright.draw.palette import KELVIN, RAMP_AT_C, RAMP_DAY, ink
from heatwright.draw.quantities import signed
from heatwright.draw.svg import box, element, line, paint, picture, spread, text, text_width

WIDTH = 330.0
HEIGHT = 300.0
TOP, BOTTOM = 34.0, 284.0
SCALE_X, SCALE_W = 52.0, 12.0
LABEL_X = 128.0


def thermometer_ladder(
    marks: Sequence[tuple[str, float, float]],
    *,
    title: str = "Temperatures, start to end",
    tag: str = "ladder",
) -> str:
    """SVG of the scale from -20 to 90 degC, with a mark for each (body, start [K], end [K])."""
    body = [text(4, 14, title, weight="650"), scale(f"hw-{tag}", SCALE_X, SCALE_W, TOP, BOTTOM)]
    ends = [(_row(end), 31.0) for _, _, end in marks]
    for (name, start_k, end_k), centre in zip(marks, spread(ends, TOP - 14, BOTTOM + 14), strict=True):
        y0, y1 = _row(start_k), _row(end_k)
        x = SCALE_X + SCALE_W
        body.append(element("circle", cx=x + 10, cy=y0, r=3, style=paint(ink("paper"), ink("ink"), 1.2)))
        d = f"M{SCALE_X - 4:.1f} {y1:.1f}H{x + 22:.1f}L{LABEL_X - 16:.1f} {centre:.1f}H{LABEL_X - 5:.1f}"
        body.append(element("path", d=d, style=paint("none", ink("ink"), 1.2)))
        number = f"{signed(end_k - KELVIN, 1)} °C"
        body.append(text(LABEL_X, centre - 2, name, weight="650"))
        body.append(text(LABEL_X, centre + 12, f"{signed(start_k - KELVIN, 1)} → {number}", fill=ink("soft")))
    start = text_width(title, bold=True) + 12
    body.append(element("circle", cx=start, cy=10, r=3, style=paint(ink("paper"), ink("ink"), 1.2)))
    body.append(text(start + 7, 14, "start", fill=ink("soft"), size=11))
    note = "; ".join(f"{n} {signed(a - KELVIN, 1)} to {signed(b - KELVIN, 1)} °C" for n, a, b in marks)
    return picture(WIDTH, HEIGHT, "".join(body), title, note)


def _row(t_k: float) -> float:
    return row(t_k, TOP, BOTTOM)


def row(t_k: float, top: float, bottom: float) -> float:
    """Height on the page of a temperature [K] on a scale between two heights, clamped to its ends."""
    t_c = min(max(t_k - KELVIN, RAMP_AT_C[0]), RAMP_AT_C[-1])
    return bottom - (t_c - RAMP_AT_C[0]) / (RAMP_AT_C[-1] - RAMP_AT_C[0]) * (bottom - top)


def scale(tag: str, left: float, wide: float, top: float, bottom: float) -> str:
    """The coloured scale with its numbers at the left; `tag` is the id of its colours and stands once on a page."""
    stops = []
    for k, t_c in enumerate(RAMP_AT_C):
        share = (RAMP_AT_C[-1] - t_c) / (RAMP_AT_C[-1] - RAMP_AT_C[0])
        style = f"stop-color:var(--hw-ramp-{k},{RAMP_DAY[k]})"
        stops.append((share, f'<stop offset="{share:.4f}" style="{style}"/>'))
    inner = "".join(stop for _, stop in sorted(stops))
    fill = element("linearGradient", inner, id=tag, x1="0", y1="0", x2="0", y2="1")
    parts = [element("defs", fill), box(left, top, wide, bottom - top, f"url(#{tag})", radius=wide / 2)]
    for t_c in (-20, 0, 25, 50, 75, 90):
        y = row(t_c + KELVIN, top, bottom)
        parts.append(line(left - 3, y, left, y, ink("soft")))
        unit = " °C" if t_c == RAMP_AT_C[-1] else ""
        parts.append(text(left - 6, y + 4, signed(t_c, 0) + unit, anchor="end", fill=ink("soft"), size=11))
    return "".join(parts)
