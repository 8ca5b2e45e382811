"""The bodies of a car and the heat between them, at one instant or, moving, over a whole trip."""

from __future__ import annotations

from collections.abc import Sequence

from heatwright.draw.axes import clock
from heatwright.draw.palette import KELVIN, ink, temperature_ink
from heatwright.draw.quantities import MISSING, signed
from heatwright.draw.svg import SIZE_PX, element, num, paint, picture, text, text_width
from heatwright.study.frames import Moment

WIDTH, HEIGHT = 960.0, 456.0
HUB = (390.0, 170.0, 180.0, 100.0)
PLACES = {
    "outside": (24.0, 184.0, 190.0, 72.0),
    "drive": (375.0, 26.0, 210.0, 94.0),
    "cabin": (726.0, 165.0, 210.0, 110.0),
    "pack": (345.0, 328.0, 270.0, 98.0),
}
NAMES = {"outside": "outside", "drive": "drive unit", "cabin": "cabin", "pack": "pack"}
LINKS = {
    "outside": ((214.0, 220.0), (390.0, 220.0)),
    "drive": ((480.0, 170.0), (480.0, 120.0)),
    "cabin": ((570.0, 220.0), (726.0, 220.0)),
    "pack": ((480.0, 270.0), (480.0, 328.0)),
}
"""Where heat flows when its sign is plus: from the outside to the loops, from the loops to a body."""
PX_PER_KW = 5.0
MOST_PX = 40.0
LEAST_W = 15.0
BIG = 26.0


class Stage:
    """Writes values that change: as they are where there is one moment, else as an animation in CSS."""

    def __init__(self, moments: Sequence[Moment], lasts_s: float) -> None:
        self.moments, self.lasts_s = moments, lasts_s
        self.rules: list[str] = []
        self.parts: list[str] = []

    @property
    def moving(self) -> bool:
        return len(self.moments) > 1

    def _rule(self, name: str, values: Sequence[str]) -> str:
        """Key frames of one property; returns the style that plays them, its first value standing before."""
        kept = [(k, v) for k, v in enumerate(values) if k == 0 or v != values[k - 1] or k == len(values) - 1]
        label = f"hw-m{len(self.rules)}"
        stops = "".join(f"{100 * k / len(values):.2f}%{{{name}:{v}}}" for k, v in kept)
        self.rules.append(f"@keyframes {label}{{{stops}100%{{{name}:{values[-1]}}}}}")
        return f"{name}:{values[0]};animation:{label} {num(self.lasts_s)}s step-end infinite"

    def style(self, name: str, values: Sequence[str]) -> str:
        """A style attribute in which one property takes its value of each moment."""
        return self._rule(name, values) if self.moving and len(set(values)) > 1 else f"{name}:{values[0]}"

    def words(self, x: float, y: float, said: Sequence[str], *, anchor: str = "", size: float = SIZE_PX,
              weight: str = "", fill: str = "") -> str:  # fmt: skip
        """Words that change: a reel of all of them behind a window one line high."""
        if len(set(said)) == 1:
            return text(x, y, said[0], anchor=anchor, size=size, weight=weight, fill=fill)
        high = size * 1.5
        reel = "".join(
            text(x, y + k * high, one, anchor=anchor, size=size, weight=weight, fill=fill) for k, one in enumerate(said)
        )
        wide = max(text_width(one, size, bool(weight)) for one in said) + 4
        left = x - {"end": wide, "middle": wide / 2}.get(anchor, 2.0)
        name = f"hw-w{len(self.rules)}"
        moves = self.style("transform", [f"translateY({num(-k * high)}px)" for k in range(len(said))])
        window = element("rect", x=left, y=y - size * 1.1, width=wide, height=high)
        clip = element("clipPath", window, id=name)
        return clip + element("g", element("g", reel, style=moves), clip_path=f"url(#{name})")

    def css(self) -> str:
        """The style sheet of all that moves; it stands still for those who ask for less motion, and in print."""
        if not self.rules:
            return ""
        calm = "@media print,(prefers-reduced-motion:reduce){svg.hw *{animation:none!important}}"
        return f"<style>{''.join(self.rules)}{calm}</style>"


def bodies_picture(moments: Sequence[Moment], *, title: str = "Bodies and heat", lasts_s: float = 20.0) -> str:
    """SVG of pack, drive unit, cabin and outside with the heat between them; of several moments it is animated.

    A band is as wide as the heat it moves, its arrow points the way the heat goes; a box has the colour of its
    temperature, with the number on it.
    """
    stage = Stage(moments, lasts_s)
    body = [text(4, 14, title, weight="650")]
    body.append(
        stage.words(WIDTH - 8, 16, [f"{clock(m.t_s)} h:min" for m in moments], anchor="end", size=15, weight="650")
    )
    for name in LINKS:
        body.append(_link(stage, name, [_flow(m, name) for m in moments]))
    body.append(_hub(stage))
    body += [_box(stage, name) for name in PLACES]
    told = "bands: kW between the bodies and the loops of coolant, refrigerant and air; means between marks"
    body.append(text(4, HEIGHT - 8, told, fill=ink("soft"), size=11))
    first = moments[0]
    note = "; ".join(f"{NAMES[n]} {_celsius(_t(first, n))}, from the loops {_kw(_flow(first, n))}" for n in PLACES)
    return picture(WIDTH, HEIGHT, stage.css() + "".join(body), title, note)


def _flow(moment: Moment, name: str) -> float:
    return moment.from_outside_w if name == "outside" else moment.bodies[name].from_loops_w


def _t(moment: Moment, name: str) -> float | None:
    return moment.t_outside_k if name == "outside" else moment.bodies[name].t_k


def _kw(watts: float) -> str:
    return f"{signed(watts / 1e3, 2)} kW"


def _celsius(t_k: float | None) -> str:
    return MISSING if t_k is None else f"{signed(t_k - KELVIN, 1)} °C"


def _link(stage: Stage, name: str, flows: Sequence[float]) -> str:
    """One band with an arrow for each way, of which that of the flow is seen, and its number."""
    (x0, y0), (x1, y1) = LINKS[name]
    wide = [f"{min(max(abs(w) / 1e3 * PX_PER_KW, 0.6), MOST_PX):.1f}px" for w in flows]
    d = f"M{num(x0)} {num(y0)}L{num(x1)} {num(y1)}"
    colour = f"color-mix(in srgb,{ink('soft')} 55%,{ink('paper')})"
    parts = [element("path", d=d, style=f"fill:none;stroke:{colour};{stage.style('stroke-width', wide)}")]
    for forward in (True, False):
        shown = ["1" if (w > LEAST_W if forward else w < -LEAST_W) else "0" for w in flows]
        parts.append(_arrow(stage, (x0, y0), (x1, y1), forward, shown))
    upright = x0 == x1
    x, y = (x0 + 26, (y0 + y1) / 2 + 5) if upright else ((x0 + x1) / 2, y0 - 26)
    said = [_kw(abs(w)) for w in flows]
    parts.append(stage.words(x, y, said, anchor="" if upright else "middle", weight="650"))
    return "".join(parts)


def _arrow(stage: Stage, start: tuple[float, float], end: tuple[float, float], forward: bool, shown: list[str]) -> str:
    """A chevron in the middle of a band."""
    (x0, y0), (x1, y1) = (start, end) if forward else (end, start)
    length = abs(x1 - x0) + abs(y1 - y0)
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    x, y = (x0 + x1) / 2 + 8 * ux, (y0 + y1) / 2 + 8 * uy
    wing = [(x - 16 * ux + 9 * s * uy, y - 16 * uy + 9 * s * ux) for s in (-1, 1)]
    d = f"M{num(wing[0][0])} {num(wing[0][1])}L{num(x)} {num(y)}L{num(wing[1][0])} {num(wing[1][1])}"
    look = f"fill:none;stroke:{ink('ink')};stroke-width:3px;{stage.style('opacity', shown)}"
    return element("path", d=d, style=look, stroke_linecap="round", stroke_linejoin="round")


def _hub(stage: Stage) -> str:
    """The loops between the bodies, with the heat that electricity becomes in them."""
    x, y, wide, high = HUB
    style = paint(ink("paper"), ink("ink"), 1.6)
    parts = [element("rect", x=x, y=y, width=wide, height=high, rx="50", style=style)]
    parts.append(text(x + wide / 2, y + 24, "loops", anchor="middle", weight="650"))
    parts.append(text(x + wide / 2, y + 42, "made of electricity", anchor="middle", size=11, fill=ink("soft")))
    said = [_kw(m.made_w) for m in stage.moments]
    parts.append(stage.words(x + wide / 2, y + 64, said, anchor="middle", size=17, weight="650"))
    kept = [f"kept {_kw(m.kept_w)}" for m in stage.moments]
    parts.append(stage.words(x + wide / 2, y + 84, kept, anchor="middle", size=11, fill=ink("soft")))
    return "".join(parts)


def _box(stage: Stage, name: str) -> str:
    """A body: tinted by its temperature, with name, number, and what it makes and loses itself."""
    x, y, wide, high = PLACES[name]
    temperatures = [_t(m, name) for m in stage.moments]
    tints = [f"color-mix(in srgb,{_tint(t)} 34%,{ink('paper')})" for t in temperatures]
    dash = "5 4" if name == "outside" else ""
    line = f"stroke:{ink('ink')};stroke-width:1.6px" + (f";stroke-dasharray:{dash}" if dash else "")
    look = f"{stage.style('fill', tints)};{line}"
    parts = [element("rect", x=x, y=y, width=wide, height=high, rx="16" if name == "cabin" else "5", style=look)]
    middle = x + wide / 2
    parts.append(text(middle, y + 22, NAMES[name], anchor="middle", weight="650"))
    parts.append(
        stage.words(middle, y + 52, [_celsius(t) for t in temperatures], anchor="middle", size=BIG, weight="650")
    )
    if name != "outside":
        word = "sun and people" if name == "cabin" else "own losses"
        bodies = [m.bodies[name] for m in stage.moments]
        told = [f"{word} {_kw(one.own_w)}" for one in bodies], [f"to outside {_kw(one.to_outside_w)}" for one in bodies]
        parts += [stage.words(middle, y + 67 + 15 * k, said, anchor="middle", size=11) for k, said in enumerate(told)]
    return "".join(parts)


def _tint(t_k: float | None) -> str:
    return ink("rule") if t_k is None else temperature_ink(t_k)
