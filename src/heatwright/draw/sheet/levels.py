"""The two plainer levels of a sheet, in fixed layouts: the idea (bodies, hot side, cold side), and the loops."""

from __future__ import annotations

from heatwright.draw.palette import KELVIN, ink
from heatwright.draw.quantities import signed
from heatwright.draw.sheet.colour import temperature_ink, tinted
from heatwright.draw.sheet.frame import FOOT, LEFT, TOP, ladder_at, title_block
from heatwright.draw.sheet.graph import BODIES, OUTSIDE, Graph, Node, graph_of
from heatwright.draw.sheet.state import State, body_series, known, way_of
from heatwright.draw.svg import element, num, paint, picture, text, text_width
from heatwright.plant.circuits import circuits_of, connected
from heatwright.plant.model import Branch, Plant

WIDTH = 960.0
BODY_WIDE, BODY_HIGH = 180.0, 86.0
SIDE_WIDE, SIDE_HIGH = 330.0, 44.0
SIDE_X = (LEFT + 200.0, LEFT + 642.0)
SIDES = (("hot side gives heat", "t_discharge_k"), ("cold side takes heat", "t_evaporating_k"))
LANE = 14.0
PILL_HIGH, PILL_GAP, ROW = 34.0, 26.0, 62.0


def idea_sheet(plant: Plant, state: State, cells: list[tuple[str, str]]) -> str:
    """SVG of the bodies with the hot and the cold side of the refrigerant between them.

    A body is joined to a side by a line where an exchanger of that side can reach it: its air, its coolant loop, or a
    plate on it. Which of these a mode uses, the sheet of the mode shows.
    """
    graph = graph_of(plant)
    bodies = [node for node in graph.nodes.values() if node.symbol in BODIES or node.id == OUTSIDE]
    upper, lower = bodies[: (len(bodies) + 1) // 2], bodies[(len(bodies) + 1) // 2 :]
    reach = _reach(plant, graph)
    above, below = (sum(node.id in side for node in row for side in reach) for row in (upper, lower))
    side_y = TOP + 6 + BODY_HIGH + 24 + LANE * above
    low_y = side_y + SIDE_HIGH + 24 + LANE * below
    height = low_y + BODY_HIGH + 16 + FOOT
    parts = [_row_of_bodies(plant, upper, TOP + 6, side_y, reach, state)]
    parts.append(_row_of_bodies(plant, lower, low_y, side_y, reach, state))
    parts += [_side(words, SIDE_X[k], side_y, series, state) for k, (words, series) in enumerate(SIDES)]
    parts.append(text(sum(SIDE_X) / 2, side_y + 27, "←", anchor="middle", size=18))
    marks = [(n.label, t) for n in bodies if (t := known(body_series(plant, n), state.temperatures)) is not None]
    body = "".join([*parts, ladder_at(TOP + 8, height - 16, marks), title_block(WIDTH, height, cells)])
    names = [[side for side, found in zip(("hot", "cold"), reach, strict=True) if n.id in found] for n in bodies]
    told = "; ".join(f"{n.label}: {' and '.join(one) or 'neither'}" for n, one in zip(bodies, names, strict=True))
    return picture(
        WIDTH, height, body, f"{plant.name}: the idea", f"Which side of the circuit reaches which body. {told}"
    )


def _reach(plant: Plant, graph: Graph) -> tuple[frozenset[str], frozenset[str]]:
    """Bodies that the hot and the cold side can reach by an exchanger's other stream, whatever the valves."""
    found: tuple[set[str], set[str]] = (set(), set())
    for side, exchangers in enumerate(_sides(plant)):
        for name in exchangers:
            found[side].update(_bodies_at(graph, name))
    return frozenset(found[0]), frozenset(found[1])


def _sides(plant: Plant) -> tuple[set[str], set[str]]:
    """Exchangers that some kind of circuit may have on its hot and on its cold side."""
    both = {"outdoor_coil", "cabin_coil", "refrigerant_plate"}
    reverses = any(
        end.kind == "port" for circuit in circuits_of(plant) for branch in circuit for end in (branch.start, branch.end)
    )
    hot, cold = set(), set()
    for part in plant.parts.values():
        swings = part.kind in both and reverses
        if part.kind in ("liquid_condenser", "cabin_condenser") or swings or part.kind == "outdoor_coil":
            hot.add(part.name)
        if part.kind in ("evaporator", "chiller") or swings:
            cold.add(part.name)
        if part.kind == "refrigerant_plate" and not reverses:
            cold.add(part.name)
    return hot, cold


def _bodies_at(graph: Graph, exchanger: str) -> set[str]:
    """Bodies on the air and coolant that pass an exchanger, or on the air of a core in that coolant; a plate's body."""
    found: set[str] = set()
    if exchanger not in graph.nodes:
        return {node.id for node in graph.nodes.values() if node.symbol == "pack"}
    queue = [(pipe, exchanger) for pipe in graph.at(exchanger) if pipe.medium != "refrigerant"]
    seen = {pipe.id for pipe, _ in queue}
    while queue:
        pipe, origin = queue.pop()
        far = pipe.end if pipe.start == origin else pipe.start
        node = graph.nodes[far]
        if node.symbol in BODIES or far == OUTSIDE:
            found.add(far)
        if node.symbol == "radiator" and pipe.medium == "coolant":
            found.add(OUTSIDE)
        if node.symbol in ("zone", "outside"):
            continue
        hands_on = node.symbol == "coil" and pipe.medium == "coolant"
        for onward in graph.at(far):
            if onward.id not in seen and (onward.medium == pipe.medium or (hands_on and onward.medium == "air")):
                seen.add(onward.id)
                queue.append((onward, far))
    return found


def _body(plant: Plant, node: Node, x: float, y: float, state: State) -> str:
    t_k = known(body_series(plant, node), state.temperatures)
    fill = ink("paper") if t_k is None else tinted(temperature_ink(t_k))
    dash = "2 4" if node.id == OUTSIDE else ""
    frame = element("rect", x=x - BODY_WIDE / 2, y=y, width=BODY_WIDE, height=BODY_HIGH,
                    rx=22 if node.symbol == "zone" else 7, style=paint(fill, ink("ink"), 1.8, dash))  # fmt: skip
    shown = "–" if t_k is None else f"{signed(t_k - KELVIN, 1)} °C"
    words = text(x, y + 26, node.label, anchor="middle", fill=ink("ink"), size=13)
    value = text(x, y + 62, shown, anchor="middle", weight="650", size=27)
    series = " ".join(body_series(plant, node))
    return element("g", frame + words + value, id=f"body-{node.id}", **{"data-part": node.part, "data-series": series})


def _side(words: str, x: float, y: float, series: str, state: State) -> str:
    t_k = known((series,), state.temperatures)
    fill = ink("paper") if t_k is None else tinted(temperature_ink(t_k), 55)
    frame = element("rect", x=x - SIDE_WIDE / 2, y=y, width=SIDE_WIDE, height=SIDE_HIGH, rx=SIDE_HIGH / 2,
                    style=paint(fill, ink("ink"), 1.8))  # fmt: skip
    said = words if t_k is None else f"{words}, {signed(t_k - KELVIN, 1)} °C"
    return element(
        "g", frame + text(x, y + 27, said, anchor="middle", weight="650", size=14), **{"data-series": series}
    )


def _row_of_bodies(
    plant: Plant, row: list[Node], y: float, side_y: float, reach: tuple[frozenset[str], frozenset[str]], state: State
) -> str:
    """A row of bodies above or below the two sides, with a tie on a lane of its own for each side that reaches one."""
    step = (WIDTH - LEFT) / max(len(row), 1)
    middles = [LEFT + step * (k + 0.5) for k in range(len(row))]
    ties = [(x, side) for x, node in zip(middles, row, strict=True) for side in (0, 1) if node.id in reach[side]]
    down = 1 if y < side_y else -1
    start, end = (y + BODY_HIGH, side_y) if down > 0 else (y, side_y + SIDE_HIGH)
    counts = [sum(side == one for _, side in ties) for one in (0, 1)]
    parts, met = [], [0, 0]
    for lane, (x, side) in enumerate(ties):
        met[side] += 1
        foot = SIDE_X[side] + SIDE_WIDE * (met[side] / (counts[side] + 1) - 0.5)
        parts.append(_tie(x + (-24 if side == 0 else 24), start, start + down * (14 + LANE * lane), foot, end, side))
    return "".join([*parts, *(_body(plant, node, x, y, state) for x, node in zip(middles, row, strict=True))])


def _tie(x: float, start: float, lane: float, foot: float, end: float, side: int) -> str:
    """A line from a body to a side: the hot side's solid, the cold side's dashed; what it crosses breaks."""
    d = f"M{num(x)} {num(start)}V{num(lane)}H{num(foot)}V{num(end)}"
    halo = element("path", d=d, style=paint("none", ink("paper"), 8))
    dash = "" if side == 0 else "6 4"
    return halo + element("path", d=d, style=paint("none", ink("ink"), 2.4, dash) + ";stroke-linejoin:round")


def loops_sheet(plant: Plant, state: State, cells: list[tuple[str, str]]) -> str:
    """SVG of one line for each loop: its tag, and what hangs on it in the order of the file."""
    graph = graph_of(plant)
    rows = []
    groups = [("coolant", group) for group in connected(plant.nets["coolant"].branches)]
    groups += [("refrigerant", list(circuit)) for circuit in circuits_of(plant)]
    groups += [("air", group) for group in connected(plant.nets["air"].branches)]
    y = TOP + 26
    for fluid, group in groups:
        drawn, y = _loop(plant, graph, fluid, group, state, y)
        rows.append(drawn)
    height = y + 10 + FOOT
    marks = [
        (n.label, t) for n in graph.nodes.values()
        if n.symbol in BODIES and (t := known(body_series(plant, n), state.temperatures)) is not None
    ]  # fmt: skip
    frame = ladder_at(TOP + 8, height - 16, marks) + title_block(WIDTH, height, cells)
    return picture(WIDTH, height, "".join(rows) + frame, f"{plant.name}: the loops", f"{len(groups)} loops")


def _loop(plant: Plant, graph: Graph, fluid: str, group: list[Branch], state: State, y: float) -> tuple[str, float]:
    """One loop as a line with its parts on it, broken into rows where it is long; and where the next one begins."""
    names = list(dict.fromkeys(n for branch in group for n in _stops(plant, branch)))
    lines = {f"{fluid}/{branch.name}" for branch in group}
    pipes = [pipe for pipe in graph.pipes.values() if lines & set(pipe.lines)]
    lives = any(way_of(pipe, state) for pipe in pipes)
    tag = next((pipe.loop for pipe in pipes if pipe.loop), "air")
    rows: list[list[str]] = [[]]
    room = WIDTH - LEFT - 90
    used = 0.0
    for name in names:
        wide = text_width(name.replace("_", " ")) + 24 + PILL_GAP
        if used + wide > room and rows[-1]:
            rows.append([])
            used = 0.0
        rows[-1].append(name)
        used += wide
    parts = []
    for number, row in enumerate(rows):
        parts.append(_row(plant, graph, row, fluid, lives, state, y + number * (PILL_HIGH + 14)))
    disc = element("circle", cx=LEFT + 22, cy=y + PILL_HIGH / 2, r=15, style=paint(ink("paper"), ink("ink"), 1.6))
    parts.append(disc + text(LEFT + 22, y + PILL_HIGH / 2 + 4.5, tag, anchor="middle", weight="650"))
    return "".join(parts), y + (len(rows) - 1) * (PILL_HIGH + 14) + ROW


def _stops(plant: Plant, branch: Branch) -> list[str]:
    ends = [end.name for end in (branch.start, branch.end) if end.kind in ("port", "tank", "zone")]
    return [*ends[:1], *(place.partition(".")[0] for place in branch.parts), *ends[1:]]


def _row(plant: Plant, graph: Graph, names: list[str], fluid: str, lives: bool, state: State, y: float) -> str:
    """Parts of one row, strung on a line in the form of their medium."""
    x, centre = LEFT + 62, y + PILL_HIGH / 2
    width, dash = {"coolant": (6.0, ""), "refrigerant": (4.0, "1 7"), "air": (12.0, "")}[fluid]
    colour = ink("soft") if fluid != "air" else ink("rule")
    if not lives:
        colour = ink("rule")
    ends = x + sum(text_width(n.replace("_", " ")) + 24 + PILL_GAP for n in names) - PILL_GAP - 12
    style = paint("none", colour, width, dash) + ";stroke-linecap:round"
    parts = [element("path", d=f"M{num(LEFT + 38)} {num(centre)}H{num(ends)}", style=style)]
    for name in names:
        shown = name.replace("_", " ")
        wide = text_width(shown) + 24
        node = graph.nodes.get(name)
        t_k = known(body_series(plant, node), state.temperatures) if node else None
        fill = ink("paper") if t_k is None else tinted(temperature_ink(t_k))
        strong = 1.8 if node is not None and node.symbol in BODIES else 1.1
        pill = element("rect", x=x, y=y, width=wide, height=PILL_HIGH, rx=6, style=paint(fill, ink("ink"), strong))
        parts.append(pill + text(x + wide / 2, centre + 4.3, shown, anchor="middle"))
        x += wide + PILL_GAP
    return "".join(parts)
