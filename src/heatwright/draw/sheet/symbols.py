"""The symbols, drawn afresh after the families of ISO 14617 and ISO 10628-2: outlines in pixels around the centre.

Pump: circle with a triangle (ISO 14617-9). Compressor: circle with lines that draw together. Fan: circle with blades.
Valve: triangles that meet, one for each way (ISO 14617-8); a shut way is filled. Exchanger: box with a zigzag for each
stream. Vessel: capsule with a level. The texts of the standards were not at hand for this drawing; the families are
theirs, the outlines ours, and no conformity is claimed.
"""

from __future__ import annotations

from dataclasses import dataclass

from heatwright.draw.palette import ink
from heatwright.draw.sheet.shapes import STEP_PX, Shape, shape_of
from heatwright.draw.svg import element, num, paint

LINE = 1.7


@dataclass(frozen=True)
class Look:
    """How one symbol is drawn: colours of its streams, which of its places are ways, which of those are shut.

    `state` is "live", "idle" or "" where nothing is known; `tint` is the colour of a body.
    """

    streams: tuple[str, ...] = ()
    places: tuple[int, ...] = ()
    shut: frozenset[int] = frozenset()
    state: str = ""
    tint: str = ""


def symbol(name: str, ports: int, look: Look) -> str:
    """SVG of a symbol in its unturned frame."""
    shape = shape_of(name, ports)
    wide, high = shape.width * STEP_PX, shape.height * STEP_PX
    drawers = {
        "pump": _pump, "compressor": _compressor, "blower": _fan, "fan": _fan, "expansion": _expansion,
        "shutoff": _shutoff, "filter": _filter, "heater": _heater, "tank": _vessel, "vessel": _vessel,
        "outside": _outside, "zone": _zone,
    }  # fmt: skip
    if name == "tee":
        return _tee(look)
    if name in ("valve", "door"):
        return _ways(shape, look, name)
    if name in ("coil", "radiator", "outdoor_coil"):
        return _coil(wide, high, look, ports)
    if name == "plate_exchanger":
        return _plates(wide, high, look, ports)
    return drawers.get(name, _body)(wide, high, look)


def _soft(look: Look) -> str:
    return ink("soft") if look.state == "idle" else ink("ink")


def _shape(d: str, look: Look, fill: str = "", width: float = LINE, dash: str = "") -> str:
    return element("path", d=d, style=paint(fill or ink("paper"), _soft(look), width, dash) + ";stroke-linejoin:round")


def _stroke(d: str, look: Look, width: float = LINE, dash: str = "", colour: str = "") -> str:
    style = paint("none", colour or _soft(look), width, dash)
    return element("path", d=d, style=style + ";stroke-linejoin:round;stroke-linecap:round")


def _ring(look: Look) -> str:
    return element("circle", r=23.5, style=paint(ink("paper"), _soft(look), LINE))


def _box(wide: float, high: float, look: Look, radius: float = 5, fill: str = "", dash: str = "") -> str:
    return element(
        "rect", x=-wide / 2, y=-high / 2, width=wide, height=high, rx=radius,
        style=paint(fill or ink("paper"), _soft(look), LINE, dash),
    )  # fmt: skip


def _pump(wide: float, high: float, look: Look) -> str:
    fill = ink("paper") if look.state == "idle" else ink("ink")
    return f"{_ring(look)}{_shape('M-9 -13L15 0L-9 13Z', look, fill)}"


def _compressor(wide: float, high: float, look: Look) -> str:
    return f"{_ring(look)}{_stroke('M-16 -17L22 -8M-16 17L22 8', look)}{_tick(0, 0, look)}"


def _fan(wide: float, high: float, look: Look) -> str:
    blade = "M0 0C-3 -8 -2 -15 4 -15C10 -14 9 -5 0 0Z"
    fill = ink("paper") if look.state == "idle" else ink("ink")
    style = paint(fill, _soft(look), 1)
    blades = "".join(element("path", d=blade, transform=f"rotate({turn})", style=style) for turn in (0, 120, 240))
    return f"{_ring(look)}{blades}"


def _tick(x: float, y: float, look: Look) -> str:
    """The zigzag tick of electric power."""
    return _stroke(f"M{num(x - 6)} {num(y)}l3 -5l4 10l4 -10l3 5", look, 1.4)


def _expansion(wide: float, high: float, look: Look) -> str:
    fill = ink("ink") if look.state == "idle" else ink("paper")
    bow = f"M{num(-wide / 2)} -11L{num(wide / 2)} 11V-11L{num(-wide / 2)} 11Z"
    return _shape(bow, look, fill) + _stroke("M0 0V-12M-6 -12H6", look)


def _shutoff(wide: float, high: float, look: Look) -> str:
    fill = ink("ink") if look.state == "idle" else ink("paper")
    return _shape(f"M{num(-wide / 2)} -11L{num(wide / 2)} 11V-11L{num(-wide / 2)} 11Z", look, fill)


def _filter(wide: float, high: float, look: Look) -> str:
    return _shape("M-24 0L0 -12L24 0L0 12Z", look) + _stroke("M0 -12V12", look, 1.2, "3 3")


def _heater(wide: float, high: float, look: Look) -> str:
    return _box(wide, high, look) + _stroke("M-36 0H-22l5 -10l9 20l9 -20l9 20l9 -20l5 10H36", look)


def _vessel(wide: float, high: float, look: Look) -> str:
    return _box(wide, high, look, wide / 2) + _stroke("M-19 4q9.5 -7 19 0t19 0", look)


def _outside(wide: float, high: float, look: Look) -> str:
    return _box(wide, high, look, 3, look.tint, "2 4")


def _body(wide: float, high: float, look: Look) -> str:
    return _box(wide, high, look, 6, look.tint)


def _zone(wide: float, high: float, look: Look) -> str:
    return _box(wide, high, look, 20, look.tint)


def _coil(wide: float, high: float, look: Look, ports: int) -> str:
    """Two streams that cross: a zigzag from side to side, fins for the air from top to bottom."""
    colours = [*look.streams, "", ""]
    fins = "".join(f"M{x} -28V28" for x in range(-27, 28, 9))
    box = _box(wide, high, look) + _stroke(fins, look, 3.2 if colours[1] else 1, colour=colours[1] or ink("rule"))
    return box + _zigzag(wide, 0, look, colours[0])


def _plates(wide: float, high: float, look: Look, ports: int) -> str:
    """Two streams side by side with a wall between, or the one stream that is drawn of an inner exchanger."""
    colours = [*look.streams, "", ""]
    if ports <= 2:
        return _box(wide, high, look) + _zigzag(wide, 0, look, colours[0]) + _stroke("M-30 18H30", look, 1, "3 3")
    wall = _stroke(f"M{num(-wide / 2 + 8)} 0H{num(wide / 2 - 8)}", look, 1, "3 3")
    return _box(wide, high, look) + _zigzag(wide, -24, look, colours[0]) + _zigzag(wide, 24, look, colours[1]) + wall


def _zigzag(wide: float, y: float, look: Look, colour: str) -> str:
    """A stream through an exchanger, with a casing where it has a colour of its own."""
    half = wide / 2
    d = f"M{num(-half)} {num(y)}H-24l4 -8l8 16l8 -16l8 16l8 -16l8 16l4 -8H{num(half)}"
    if not colour:
        return _stroke(d, look)
    return _stroke(d, look, 5) + _stroke(d, look, 2.8, colour=colour)


def _tee(look: Look) -> str:
    """A dot where pipes join; the pipes themselves run up to it."""
    return element("circle", r=4.5, style=paint(_soft(look)))


def _ways(shape: Shape, look: Look, name: str) -> str:
    """A triangle for each way; a valve of many ways is a box with a triangle at each port."""
    if max(shape.width, shape.height) > 4:
        body = _box(shape.width * STEP_PX, shape.height * STEP_PX, look, 4)
        return body + "".join(_mouth(shape, look, place) for place in look.places)
    parts = []
    for place in look.places:
        x, y, dx, dy = shape.places[place]
        px, py = x * STEP_PX, y * STEP_PX
        d = f"M0 0L{num(px + 11 * dy)} {num(py + 11 * dx)}L{num(px - 11 * dy)} {num(py - 11 * dx)}Z"
        parts.append(_shape(d, look, ink("ink") if place in look.shut else ink("paper")))
    flap = element("circle", r=4, style=paint(_soft(look))) if name == "valve" else _flap(look)
    return "".join(parts) + flap


def _flap(look: Look) -> str:
    return element("rect", x=-4, y=-4, width=8, height=8, style=paint(_soft(look)))


def _mouth(shape: Shape, look: Look, place: int) -> str:
    x, y, dx, dy = shape.places[place]
    px, py = x * STEP_PX, y * STEP_PX
    d = (
        f"M{num(px - 12 * dx)} {num(py - 12 * dy)}L{num(px + 8 * dy)} {num(py + 8 * dx)}"
        f"L{num(px - 8 * dy)} {num(py - 8 * dx)}Z"
    )
    return _shape(d, look, ink("ink") if place in look.shut else ink("paper"), 1.3)
