"""The plant sheet as one SVG: pipes, symbols, names, loop tags, the temperature ladder and the title block."""

from __future__ import annotations

from collections.abc import Mapping

from heatwright.draw.palette import KELVIN, ink
from heatwright.draw.quantities import signed
from heatwright.draw.sheet.colour import temperature_ink, tinted
from heatwright.draw.sheet.frame import FOOT, LEFT, TOP, ladder_at, title_block
from heatwright.draw.sheet.graph import BODIES, OUTSIDE, Graph, Node, graph_of
from heatwright.draw.sheet.labels import SIZE, Labels, place_labels
from heatwright.draw.sheet.layout import Layout, Stand
from heatwright.draw.sheet.pipes import draw_pipes
from heatwright.draw.sheet.shapes import STEP_PX
from heatwright.draw.sheet.state import (
    NOTHING_KNOWN,
    State,
    body_series,
    inside_series,
    is_live,
    known,
    open_ports,
    refrigerant_stretches,
    way_of,
)
from heatwright.draw.sheet.symbols import Look, symbol
from heatwright.draw.svg import element, num, paint, picture, text, text_width
from heatwright.plant.model import Plant

ELECTRIC = ("pad",)
RIGHT = 10.0


def plant_sheet(plant: Plant, layout: Layout, state: State = NOTHING_KNOWN) -> str:
    """SVG of a plant's plumbing in a layout of its graph.

    Parts have the id `part-NAME`, pipes `pipe-FLUID_LINE_NUMBER`. Attributes name the run series behind each:
    `data-series` (best first; `data-series-back` for flow against the writing) its temperature, `data-flow` its mass
    flow. A page can so recolour the sheet without asking again.
    """
    graph = graph_of(plant)
    labels = place_labels(graph, layout)
    wide, high = layout.size[0] * STEP_PX + RIGHT, layout.size[1] * STEP_PX
    stretches = refrigerant_stretches(plant, graph, state)
    body = [draw_pipes(graph, layout, state, stretches)]
    for node in graph.nodes.values():
        look = _look(plant, graph, node, layout.stands[node.id], state, stretches)
        body.append(_node(plant, node, layout.stands[node.id], state, look))
    body += [_names(labels), _tags(graph, labels)]
    drawing = element("g", "".join(body), transform=f"translate({num(LEFT)} {num(TOP)})")
    marks = _marks(plant, graph, state.temperatures)
    height = TOP + high + FOOT
    block = title_block(LEFT + wide, height, title_cells(plant, state, "plumbing"))
    told = [f"{pipe.start} to {pipe.end}" for pipe in graph.pipes.values() if way_of(pipe, state)]
    note = f"{len(graph.nodes)} symbols; flowing: {'; '.join(told)}"
    return picture(
        LEFT + wide, height, drawing + ladder_at(TOP + 8, height - 16, marks) + block, _title(plant, state), note
    )


def _title(plant: Plant, state: State) -> str:
    return f"{plant.name}: plumbing" + (f", {state.mode}" if state.mode else "")


def title_cells(plant: Plant, state: State, level: str) -> list[tuple[str, str]]:
    """Cells of the title block: sheet, and mode and time where they are known."""
    cells = [("Sheet", f"{plant.name}, {level}")]
    if state.mode:
        cells.append(("Mode", state.mode))
    return [*cells, ("Time", state.time)] if state.time else cells


def _marks(plant: Plant, graph: Graph, temperatures: Mapping[str, float]) -> list[tuple[str, float]]:
    """Names and temperatures of the bodies, for the ladder."""
    found = []
    for node in graph.nodes.values():
        t_k = known(body_series(plant, node), temperatures)
        if t_k is not None and (node.symbol in BODIES or node.id == OUTSIDE):
            found.append((node.label, t_k))
    return found


def _node(plant: Plant, node: Node, stand: Stand, state: State, look: Look) -> str:
    quarters, mirror = stand.turn
    turn = (f"rotate({90 * quarters})" if quarters else "") + (" scale(1 -1)" if mirror else "")
    drawn = symbol(node.symbol, len(node.ports), look)
    body = element("g", drawn, transform=turn.strip()) if turn else drawn
    series = body_series(plant, node)
    if node.symbol == "outside" and node.id != OUTSIDE:
        body += text(0, 4, node.label, anchor="middle", fill=ink("ink"), size=SIZE)
    elif node.symbol in BODIES or node.id == OUTSIDE:
        body += _words(plant, node, known(series, state.temperatures))
    tip = f"<title>{node.label}</title>" if node.label else ""
    return element(
        "g", tip + body, id=f"part-{node.id.replace('@', 'tee-')}", class_=f"part {node.symbol} {look.state}".strip(),
        transform=f"translate({num(stand.x * STEP_PX)} {num(stand.y * STEP_PX)})",
        **{"data-part": node.part, "data-series": " ".join(series)},
    )  # fmt: skip


def _look(plant: Plant, graph: Graph, node: Node, stand: Stand, state: State, stretches: Mapping[str, str]) -> Look:
    """Colours of a symbol's streams, its shut ways, and whether it lives."""
    streams: list[str] = []
    seen: list[str] = []
    for pipe in graph.at(node.id):
        if pipe.medium not in seen:
            seen.append(pipe.medium)
    if state.temperatures and not node.symbol.startswith(("zone", "pack", "drive")):
        for medium in seen:
            inlet = [p for p in graph.at(node.id) if p.medium == medium and way_of(p, state)]
            values = [known(p.ahead if way_of(p, state) >= 0 else p.back, state.temperatures) for p in inlet]
            if medium == "refrigerant" and inlet:
                values = [known(inside_series(graph, node.id, stretches), state.temperatures)]
            some = [value for value in values if value is not None]
            streams.append(temperature_ink(sum(some) / len(some)) if some else "")
    shut: frozenset[int] = frozenset()
    if node.symbol in ("valve", "door"):
        joined = open_ports(plant.parts[node.part], state)
        shut = frozenset() if joined is None else _shut(graph, node, stand, joined)
    lives = (
        "" if state.flows is None or node.symbol in BODIES or node.symbol == "outside" else _lives(graph, node, state)
    )
    t_k = known(body_series(plant, node), state.temperatures)
    tint = tinted(temperature_ink(t_k)) if t_k is not None else ""
    return Look(tuple(streams), stand.taken, shut, lives, tint)


def _lives(graph: Graph, node: Node, state: State) -> str:
    """Whether a symbol is at work; of a fan its switch says so, since the wind blows through it in any case."""
    if node.symbol == "fan":
        return {"on": "live", "off": "idle"}.get((state.setting or {}).get(node.part, ""), "")
    return "live" if is_live(node, graph, state) else "idle"


def _shut(graph: Graph, node: Node, stand: Stand, joined: frozenset[str]) -> frozenset[int]:
    """Places of a valve whose ports its position joins to nothing."""
    found = set()
    for number, name in enumerate(node.ports):
        pipe_id, _, end = name.partition(":")
        pipe = graph.pipes[pipe_id]
        ports = pipe.start_ports if end == "start" else pipe.end_ports
        if not joined & set(ports):
            found.add(stand.taken[number])
    return frozenset(found)


def _words(plant: Plant, node: Node, t_k: float | None) -> str:
    """Name and temperature inside a body, and the zigzag of an electric mat that lies on it."""
    size = SIZE if text_width(node.label, SIZE) < 130 else 9.5
    small = node.symbol == "outside"
    shown = "–" if t_k is None else f"{signed(t_k - KELVIN, 1)} °C"
    words = text(0, -5 if small else -12, node.label, anchor="middle", fill=ink("ink"), size=size)
    value = element(
        "text", shown, class_="value", x=0, y=12 if small else 13, text_anchor="middle", font_weight="650",
        font_size=num(12.5 if small else 20), style=paint(ink("ink")),
    )  # fmt: skip
    mats = [one.name for one in plant.parts.values() if one.kind in ELECTRIC and one.values["on"] == node.part]
    return words + value + "".join(_mat(k, name) for k, name in enumerate(mats))


def _mat(k: int, name: str) -> str:
    """An electric mat: the zigzag tick and its name along the foot of the body."""
    y = 29 - 12 * k
    wide = text_width(name, 10)
    tick = element("path", d=f"M{num(-wide / 2 - 22)} {y - 4}l3 -4l4 8l4 -8l3 4", style=paint("none", ink("ink"), 1.4))
    return element("g", tick + text(4, y, name, anchor="middle", fill=ink("ink"), size=10), id=f"part-{name}")


def _names(labels: Labels) -> str:
    parts = []
    for name in labels.names.values():
        for k, words in enumerate(name.lines):
            anchor = "" if name.anchor == "start" else name.anchor
            x, y = name.x * STEP_PX, (name.y + 1.1 * k) * STEP_PX
            parts.append(text(x, y, words, anchor=anchor, fill=ink("ink"), size=SIZE))
    return "".join(parts)


def _tags(graph: Graph, labels: Labels) -> str:
    """The letter of each loop in a circle on its longest pipe."""
    parts = []
    for tag, (x, y) in labels.tags.items():
        disc = element("circle", r=9, style=paint(ink("paper"), ink("ink"), 1.3))
        word = text(0, 4, tag, anchor="middle", weight="650", size=11)
        parts.append(element("g", disc + word, transform=f"translate({num(x * STEP_PX)} {num(y * STEP_PX)})"))
    return "".join(parts)
