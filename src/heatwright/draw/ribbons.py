"""Heat ribbons: what brought heat on the left, what took it on the right, each as wide as the heat it moved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heatwright.draw.axes import clock
from heatwright.draw.palette import ink, trace
from heatwright.draw.quantities import signed
from heatwright.draw.svg import LINE_PX, box, element, num, paint, picture, spread, text, text_width, wrapped
from heatwright.study.heats import Heat, Heats

WIDTH = 960.0
LEFT, RIGHT = 274.0, 686.0
BAR = 10.0
TRUNK = (462.0, 498.0)
HEAD = 46.0
TALL = 330.0
GAP = 9.0
FOOT = 34.0
LEAST = 0.008
"""Share of all heat below which rows of one side are put together."""
J_PER_KWH = 3.6e6
HUES = {"made": 1, "stored": 3, "outside": 0, "sun": 4, "people": 4}
KINDS = (("made", "made of electricity"), ("sun", "sun and people"), ("outside", "outside air"), ("stored", "stores"))
VERBS = {"stored": ("given up by", "kept by"), "outside": ("from", "out by"), "made": ("", "")}


@dataclass(frozen=True)
class _Row:
    """One end of a ribbon: words, heat [J], hue, and where it lies on the trunk."""

    words: str
    joules: float
    hue: int


def heat_ribbons(heats: Heats, *, title: str = "Heat of the car", most_j: float = 0.0) -> str:
    """SVG of the heat of a span; the corner says by how much the sum of all heat misses nothing.

    most_j : the most heat [J] of any picture beside this one, which then have the same scale.
    """
    total = max(heats.throughput_j, 1e-9)
    sides = [_gathered(rows, total, k) for k, rows in enumerate((heats.sources, heats.sinks))]
    most = max((len(rows) for rows in sides), default=1)
    scale = TALL / max(total, most_j)
    tall = TALL + GAP * max(most - 1, 0)
    middle = HEAD + tall / 2
    ends = [_labels(rows, k, scale, middle) for k, rows in enumerate(sides)]
    body = [_side(rows, k, scale, middle) for k, rows in enumerate(sides)]
    body += [_trunk(heats, middle, scale), *(words for words, _ in ends)]
    span = f"{clock(heats.from_s)} to {clock(heats.to_s)} h:min"
    head = [text(4, 14, f"{title}, {span}", weight="650"), _key()]
    low = max(HEAD + tall + GAP, *(lowest for _, lowest in ends))
    head.append(text(4, low + 22, closure(heats), fill=ink("soft"), size=11))
    note = "; ".join(f"{_words(one)} {signed(one.joules / J_PER_KWH, 3)} kWh" for one in (*heats.sources, *heats.sinks))
    return picture(WIDTH, low + FOOT, "".join([*head, *body]), f"{title}, kWh", f"{note}; {closure(heats)}")


def closure(heats: Heats) -> str:
    """The sentence on what is left over."""
    left, through = heats.left_over_j, heats.throughput_j
    share = abs(left) / through if through else 0.0
    own = signed(heats.ledger_left_over_j, 3)
    return f"left over: {signed(left, 3)} J, {share:.1e} of all heat; the ledger's own: {own} J"


def _words(one: Heat) -> str:
    verb = VERBS[one.kind][one.joules < 0.0]
    if one.key in ("sun", "people"):
        verb = ""
    return f"{verb} {one.words}".strip()


def _gathered(rows: Sequence[Heat], total: float, side: int) -> list[_Row]:
    """Rows with their hue; those too thin to see become one."""
    thin = [one for one in rows if abs(one.joules) < LEAST * total]
    kept = rows if len(thin) < 2 else [one for one in rows if one not in thin]
    found = [_Row(_words(one), abs(one.joules), HUES.get(one.key, HUES[one.kind])) for one in kept]
    if len(thin) > 1:
        found.append(_Row(f"{len(thin)} others", sum(abs(one.joules) for one in thin), 5))
    return found


def _outer(rows: Sequence[_Row], scale: float, middle: float) -> list[float]:
    """Upper edges of the bars of one side."""
    edges = [middle - (sum(row.joules for row in rows) * scale + GAP * (len(rows) - 1)) / 2]
    for row in rows:
        edges.append(edges[-1] + row.joules * scale + GAP)
    return edges[:-1]


def _side(rows: Sequence[_Row], side: int, scale: float, middle: float) -> str:
    """The bars of one side and their ribbons to the trunk."""
    inner = middle - sum(row.joules for row in rows) * scale / 2
    x_bar = LEFT - BAR if side == 0 else RIGHT
    ends = (LEFT, TRUNK[0]) if side == 0 else (RIGHT, TRUNK[1])
    parts = []
    for row, outer in zip(rows, _outer(rows, scale, middle), strict=True):
        thick = row.joules * scale
        parts.append(_ribbon(ends[0], outer, ends[1], inner, thick, row.hue))
        parts.append(box(x_bar, outer, BAR, max(thick, 1.0), trace(row.hue), tip=f"{row.words}: {_kwh(row.joules)}"))
        inner += thick
    return "".join(parts)


def _labels(rows: Sequence[_Row], side: int, scale: float, middle: float) -> tuple[str, float]:
    """The words of one side, none over another, and how low they reach."""
    wide = LEFT - BAR - 30 if side == 0 else WIDTH - RIGHT - BAR - 30
    told = [_told(row, wide) for row in rows]
    wanted = [
        (edge + row.joules * scale / 2, len(lines) * LINE_PX + 1)
        for row, edge, lines in zip(rows, _outer(rows, scale, middle), told, strict=True)
    ]
    centres = spread(wanted, 24.0, 1e9)
    parts = [_label(lines, side, at, y) for lines, (at, _), y in zip(told, wanted, centres, strict=True)]
    return "".join(parts), max((y + high / 2 for y, (_, high) in zip(centres, wanted, strict=True)), default=0.0)


def _told(row: _Row, wide: float) -> list[str]:
    """The words of a row in lines; its number stays whole."""
    lines = wrapped(row.words, wide)
    number = _kwh(row.joules)
    if text_width(f"{lines[-1]}  {number}") <= wide:
        return [*lines[:-1], f"{lines[-1]}  {number}"]
    return [*lines, number]


def _label(told: Sequence[str], side: int, at: float, centre: float) -> str:
    """Words beside a bar, with a leader where they had to move."""
    x, anchor = (LEFT - BAR - 22, "end") if side == 0 else (RIGHT + BAR + 22, "")
    near, far = (LEFT - BAR - 2, LEFT - BAR - 18) if side == 0 else (RIGHT + BAR + 2, RIGHT + BAR + 18)
    d = f"M{num(near)} {num(at)}L{num(far)} {num(centre)}"
    first = centre - (len(told) - 1) * LINE_PX / 2 + 4.3
    words = [text(x, first + k * LINE_PX, one, anchor=anchor) for k, one in enumerate(told)]
    return element("path", d=d, style=paint("none", ink("soft"), 0.8)) + "".join(words)


def _ribbon(x0: float, y0: float, x1: float, y1: float, thick: float, hue: int) -> str:
    """A band between two upright edges, in the hue of its outer end, mixed with the paper."""
    bend = (x0 + x1) / 2
    d = (
        f"M{num(x0)} {num(y0)}C{num(bend)} {num(y0)} {num(bend)} {num(y1)} {num(x1)} {num(y1)}"
        f"L{num(x1)} {num(y1 + thick)}C{num(bend)} {num(y1 + thick)} {num(bend)} {num(y0 + thick)}"
        f" {num(x0)} {num(y0 + thick)}Z"
    )
    fill = f"color-mix(in srgb,{trace(hue)} 38%,{ink('paper')})"
    return element("path", d=d, style=paint(fill, ink("paper"), 0.6))


def _trunk(heats: Heats, middle: float, scale: float) -> str:
    """The car, as tall as all heat, with the sum on it in words that keep a halo."""
    tall = max(heats.throughput_j * scale, 1.0)
    x = (TRUNK[0] + TRUNK[1]) / 2
    halo = f"{paint(ink('ink'))};paint-order:stroke;stroke:{ink('paper')};stroke-width:4px;stroke-linejoin:round"
    fill = f"color-mix(in srgb,{ink('soft')} 30%,{ink('paper')})"
    parts = [box(TRUNK[0], middle - tall / 2, TRUNK[1] - TRUNK[0], tall, fill)]
    for k, words in enumerate(("the car", _kwh(heats.throughput_j))):
        at = middle - 3 + k * LINE_PX
        parts.append(element("text", words, x=x, y=at, text_anchor="middle", font_weight="650", style=halo))
    return "".join(parts)


def _key() -> str:
    parts, x = [], WIDTH - 4.0
    for kind, words in reversed(KINDS):
        x -= text_width(words, 11) + 22
        parts.append(box(x, 5, 11, 11, trace(HUES[kind]), radius=2) + text(x + 16, 14, words, size=11))
    return "".join(parts)


def _kwh(joules: float) -> str:
    return f"{signed(joules / J_PER_KWH, 2)} kWh"
