"""Every temperature of an instant on one ladder: bodies, loops, refrigerant and air side by side on one scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heatwright.draw.ladder import row, scale
from heatwright.draw.palette import KELVIN, RAMP_AT_C, ink
from heatwright.draw.quantities import signed, words
from heatwright.draw.sheet.colour import temperature_ink
from heatwright.draw.sheet.frame import FOOT, title_block
from heatwright.draw.sheet.graph import BODIES, OUTSIDE, REFRIGERANT_TAG, Graph, Node, graph_of
from heatwright.draw.sheet.pipes import series_of
from heatwright.draw.sheet.state import (
    CONDENSING,
    DISCHARGE,
    LIQUID,
    MIXED,
    SUCTION,
    State,
    body_series,
    known,
    refrigerant_stretches,
    way_of,
)
from heatwright.draw.svg import element, line, paint, picture, spread, text, text_width
from heatwright.outcome import slug
from heatwright.plant.model import Plant

LEFT, TOP, HEIGHT = 58.0, 52.0, 560.0
SCALE_WIDE, COLUMN = 12.0, 172.0
LABEL, LABEL_HIGH, STEM = 10.5, 13.5, 20.0
ALIKE_K = 0.5
STRETCHES = {
    DISCHARGE: "discharge gas",
    CONDENSING: "condensing",
    LIQUID: "liquid",
    MIXED: "evaporating",
    SUCTION: "suction gas",
}
AIR = "Air"
LINE_NAMES = ("_coolant_k", "_air_k", "_hose_k", "_wind_k")
EXTREMES = ("_hottest_k", "_coldest_k")


@dataclass(frozen=True)
class Mark:
    """One temperature [K]: the column it stands in, what has it, and whether what has it flows."""

    group: str
    words: str
    t_k: float
    flows: bool = True


def marks_of(plant: Plant, graph: Graph, state: State) -> tuple[Mark, ...]:
    """Every temperature that an instant knows, column by column; places of one loop that are alike are one mark."""
    found = [one for node in graph.nodes.values() for one in _body(plant, node, state)]
    stretches = refrigerant_stretches(plant, graph, state)
    for pipe in graph.pipes.values():
        if pipe.medium == "refrigerant":
            continue
        t_k = known(series_of(pipe, state, ""), state.temperatures)
        if t_k is not None:
            place = graph.nodes[pipe.start if way_of(pipe, state) >= 0 else pipe.end].label or "joint"
            group = f"Coolant {pipe.loop}" if pipe.medium == "coolant" else AIR
            found.append(Mark(group, place, t_k, bool(way_of(pipe, state))))
    found += _refrigerant(stretches, state)
    order = list(dict.fromkeys(one.group for one in found))
    order.sort(key=_place)
    return tuple(one for group in order for one in _joined([mark for mark in found if mark.group == group]))


def _place(group: str) -> int:
    """Outside first, then the bodies, then coolant, refrigerant and air."""
    firsts = (OUTSIDE.capitalize(), "", "Coolant", "Refrigerant", AIR)
    word = group.partition(" ")[0]
    return firsts.index(word) if word in firsts else 1


def _body(plant: Plant, node: Node, state: State) -> list[Mark]:
    """The temperatures of a body; a column for each body, and one for the outside."""
    if node.id == OUTSIDE or node.symbol not in BODIES:
        t_k = known(body_series(plant, node), state.temperatures) if node.id == OUTSIDE else None
        return [] if t_k is None else [Mark("Outside", "air", t_k)]
    stem = f"t_{slug(node.part)}_"
    group = node.label[:1].upper() + node.label[1:]
    own = {name: t for name, t in state.temperatures.items() if _owns(plant, node.part, name) and t == t}
    return [Mark(group, words("t_" + name.removeprefix(stem)), t_k) for name, t_k in own.items()]


def _owns(plant: Plant, part: str, name: str) -> bool:
    """Whether a series is a temperature inside this body and not in a line or in a part with a longer name."""
    stem = f"t_{slug(part)}_"
    longer = [one for one in plant.parts if one != part and slug(one).startswith(f"{slug(part)}_")]
    lines = LINE_NAMES if plant.parts[part].kind != "zone" else ("_hose_k",)
    inside = name.startswith(stem) and not name.endswith((*lines, *EXTREMES))
    return inside and not any(name.startswith(f"t_{slug(one)}_") for one in longer)


def _refrigerant(stretches: dict[str, str], state: State) -> list[Mark]:
    """One mark a stretch of every circuit that runs, and one for the condensing temperature."""
    series = list(dict.fromkeys(stretches.values()))
    series += [one.removesuffix(LIQUID) + CONDENSING for one in series if one.endswith(LIQUID)]
    found = []
    for name in series:
        stretch = next(one for one in STRETCHES if name.endswith(one))
        circuit = words(name.removesuffix(stretch)) if name != stretch else ""
        t_k = state.temperatures.get(name, float("nan"))
        if t_k == t_k:
            found.append(Mark(f"Refrigerant {circuit or REFRIGERANT_TAG}", STRETCHES[stretch], t_k))
    return found


def _joined(marks: Sequence[Mark]) -> list[Mark]:
    """Marks of one column from the hottest down, those within half a kelvin of the first of them as one."""
    found: list[list[Mark]] = []
    for one in sorted(marks, key=lambda mark: (not mark.flows, -mark.t_k)):
        if found and found[-1][0].flows == one.flows and found[-1][0].t_k - one.t_k < ALIKE_K:
            found[-1].append(one)
        else:
            found.append([one])
    return [
        Mark(some[0].group, ", ".join(dict.fromkeys(one.words for one in some)),
             sum(one.t_k for one in some) / len(some), some[0].flows)
        for some in found
    ]  # fmt: skip


def temperatures_sheet(plant: Plant, state: State, cells: list[tuple[str, str]]) -> str:
    """SVG of the ladder: one scale, a column for each body, each loop, the refrigerant and the air."""
    marks = marks_of(plant, graph_of(plant), state)
    groups = list(dict.fromkeys(one.group for one in marks))
    wide = max(LEFT + SCALE_WIDE + 20 + COLUMN * len(groups), 640.0)
    bottom = TOP + HEIGHT
    parts = [text(4, 14, f"{plant.name}: every temperature", weight="650")]
    for t_c in (-20, 0, 25, 50, 75, 90):
        y = row(t_c + KELVIN, TOP, bottom)
        parts.append(line(LEFT + SCALE_WIDE, y, wide - 6, y, ink("rule"), width=0.8))
    parts.append(scale("hw-sheet-temperatures", LEFT, SCALE_WIDE, TOP, bottom))
    for number, group in enumerate(groups):
        own = [one for one in marks if one.group == group]
        parts.append(_column(group, own, LEFT + SCALE_WIDE + 20 + COLUMN * number, bottom))
    low = bottom + 22 + (14 if any(not one.flows for one in marks) else 0)
    if low > bottom + 22:
        parts.append(text(LEFT, bottom + 26, "a hollow mark stands still", fill=ink("soft"), size=LABEL))
    note = "; ".join(f"{one.group}, {one.words}: {signed(one.t_k - KELVIN, 1)} °C" for one in marks)
    body = "".join(parts) + title_block(wide, low + FOOT, cells)
    return picture(wide, low + FOOT, body, f"{plant.name}: every temperature", note)


def _column(group: str, marks: Sequence[Mark], x: float, bottom: float) -> str:
    """One column: its name, its upright line, a mark at each temperature and a label that keeps clear of the others."""
    parts = [text(x, TOP - 14, group, weight="650", size=12), line(x, TOP, x, bottom, ink("rule"), width=1.2)]
    rows = [(row(one.t_k, TOP, bottom), LABEL_HIGH) for one in marks]
    for one, (y, _), centre in zip(marks, rows, spread(rows, TOP - 4, bottom + 8), strict=True):
        colour = temperature_ink(one.t_k)
        parts.append(line(x + 5, y, x + STEM - 4, centre, ink("soft"), width=0.9))
        fill, stroke = (colour, ink("ink")) if one.flows else (ink("paper"), colour)
        parts.append(element("circle", cx=x, cy=y, r=5, style=paint(fill, stroke, 1.2 if one.flows else 2.2)))
        number = signed(one.t_k - KELVIN, 1) + _beyond(one.t_k)
        parts.append(text(x + STEM, centre + 3.8, number, weight="650", size=LABEL))
        start = x + STEM + text_width(number, LABEL, True) + 6
        parts.append(text(start, centre + 3.8, _short(one.words, x + COLUMN - 10 - start), size=LABEL))
    return "".join(parts)


def _beyond(t_k: float) -> str:
    """An arrow where a temperature lies beyond the ends of the scale."""
    t_c = t_k - KELVIN
    return " ↑" if t_c > RAMP_AT_C[-1] else " ↓" if t_c < RAMP_AT_C[0] else ""


def _short(said: str, room: float) -> str:
    """As many of the names as there is room for, and how many more there are."""
    names = said.split(", ")
    for kept in range(len(names), 0, -1):
        shown = ", ".join(names[:kept]) + (f" +{len(names) - kept}" if kept < len(names) else "")
        if text_width(shown, LABEL) <= room:
            return shown
    while text_width(shown, LABEL) > room and len(shown) > 3:
        shown = shown.rstrip("…")[:-1] + "…"
    return shown
