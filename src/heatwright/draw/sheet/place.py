"""Places the symbols of a graph and routes its pipes: several seeds, the better ones routed, the best one kept."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from heatwright.draw.sheet.graph import OUTSIDE, Graph
from heatwright.draw.sheet.layout import Layout, Stand, crossings, extent, port_place
from heatwright.draw.sheet.quality import blemish
from heatwright.draw.sheet.shapes import Turn, shape_of, skins_of
from heatwright.errors import HeatwrightError

WISHES: dict[str, tuple[float, float, float, float]] = {
    "radiator": (0.1, 1.0, -1, 0),
    "outdoor_coil": (0.1, 1.0, -1, 0),
    "fan": (0.15, 0.5, -1, 0),
    "zone": (1.0, 1.5, 0.4, 0.3),
    "drive_unit": (-1, 0, 1.0, 0.6),
    "pack": (0.6, 0.4, 1.0, 1.0),
}
"""Where symbols like to stand: share of the width, how much so, share of the height, how much so; -1: anywhere."""
FRONT_WISH = (0.0, 2.0, 0.5, 0.4)
GAP, WIDER, TRIES = 6, 2, 6
MARGIN = 5
EDGE, RIM = 4, 3
Effort = tuple[int, int, int]
DRAFT: Effort = (3, 120_000, 0)
REFINED: Effort = (8, 400_000, 400)
"""Seeds, moves for each, and small changes tried on the best one."""
NUDGE = 6
POLISH_HOT, POLISH_COLD = 8.0, 0.3

Progress = Callable[[float, float], None]


class NoWay(HeatwrightError):
    """No way was found for the pipes of a sheet, however wide its gaps."""


@dataclass(frozen=True)
class _Problem:
    """The graph as arrays for the annealing."""

    names: tuple[str, ...]
    data: tuple[Any, Any, Any]
    turns: Any
    skins: Any
    counts: Any


def lay_out(graph: Graph, effort: Effort = REFINED, progress: Progress | None = None, seed: int = 1) -> Layout:
    """The best layout found with `effort` = (seeds, moves each, trials); the same graph and seed give the same layout.

    Raises NoWay where no seed leads to a sheet on which every pipe has a way of its own.
    """
    problem = _problem_of(graph)
    seeds, moves, trials = effort
    tell = progress or (lambda done, total: None)
    whole = seeds * (2 if trials else 1)
    found = []
    for k in range(seeds):
        found.append(_placed(graph, problem, seed * 1000 + k, moves))
        tell(k + 1, whole)
    found.sort(key=lambda one: one[0])
    routed = _all_routed(graph, found[: max(2, seeds // 2)]) or _all_routed(graph, found)
    if not routed:
        raise NoWay(f"no way was found for the pipes of this plant in {seeds} trials; try more moves, or other pins")
    layout, cells = min(routed, key=lambda one: blemish(graph, one[0]))
    return _polished(graph, layout, cells, seed, trials, lambda k: tell(seeds * (1 + (k + 1) / trials), whole))


def _all_routed(graph: Graph, found: list[tuple[float, Cells]]) -> list[tuple[Layout, Cells]]:
    return [(layout, cells) for _, cells in found if (layout := _routed(graph, cells)) is not None]


def _polished(
    graph: Graph, layout: Layout, cells: Cells, seed: int, trials: int, tell: Callable[[int], None]
) -> Layout:
    """Change cells, turns and places a little at a time, route each trial, and return the best sheet met.

    A worse one is kept as the next start by chance, less and less so. Half of the changes are made where pipes cross.
    """
    rng = np.random.default_rng(seed)
    best, best_flaw = layout, blemish(graph, layout)
    flaw, knots = best_flaw, _at_crossings(graph, layout)
    for k in range(trials):
        tell(k)
        other = _altered(graph, cells, rng, knots)
        found = _with_pipes(graph, _straightened(graph, _compact(graph, other, GAP)))
        if found is None:
            continue
        new = blemish(graph, found)
        heat = POLISH_HOT * (POLISH_COLD / POLISH_HOT) ** (k / trials)
        if new <= flaw or rng.random() < math.exp((flaw - new) / heat):
            flaw, cells, knots = new, other, _at_crossings(graph, found)
        if new < best_flaw:
            best, best_flaw = found, new
    return best


def _at_crossings(graph: Graph, layout: Layout) -> list[str]:
    """The symbols at the ends of pipes that cross another."""
    pipes = [graph.pipes[one] for level, upright, _ in crossings(layout) for one in (level, upright)]
    return list(dict.fromkeys(end for pipe in pipes for end in (pipe.start, pipe.end)))


def _altered(graph: Graph, cells: Cells, rng: Any, knots: list[str]) -> Cells:
    """The cells with one or two small changes at random, half of them to symbols among the `knots`."""
    cell, turn, taken = dict(cells[0]), dict(cells[1]), dict(cells[2])
    loose = [name for name in cell if name not in graph.pins]
    for _ in range(int(rng.integers(1, 3))):
        name = str(rng.choice(knots if knots and rng.random() < 0.5 else list(cell)))
        node = graph.nodes[name]
        shape = shape_of(node.symbol, len(node.ports))
        if name in loose and rng.random() < 0.5:
            to = (cell[name][0] + int(rng.integers(-2, 3)), cell[name][1] + int(rng.integers(-2, 3)))
            there = next((one for one, place in cell.items() if place == to), None)
            if there is None or there in loose:
                if there is not None:
                    cell[there] = cell[name]
                cell[name] = to
            continue
        ways = skins_of(shape, len(node.ports))
        if ways:
            taken[name] = tuple(ways[int(rng.integers(len(ways)))][: len(node.ports)])
        elif node.ports:
            places = [int(k) for k in rng.permutation(len(node.ports))[:2]]
            swapped = list(taken[name])
            swapped[places[0]], swapped[places[-1]] = swapped[places[-1]], swapped[places[0]]
            taken[name] = tuple(swapped)
        if shape.skins:
            turn[name] = (int(rng.choice(shape.turns)), int(rng.integers(2)))
    return cell, turn, taken


def _problem_of(graph: Graph) -> _Problem:
    names = tuple(graph.nodes)
    at = {name: k for k, name in enumerate(names)}
    shapes = [shape_of(node.symbol, len(node.ports)) for node in graph.nodes.values()]
    widest = max([len(node.ports) for node in graph.nodes.values()] + [1])
    places = np.zeros((len(names), max(len(shape.places) for shape in shapes), 4))
    skins = np.zeros((len(names), 400, widest), dtype=np.int64)
    turns = np.zeros((len(names), 8), dtype=np.int64)
    counts = np.zeros((len(names), 4), dtype=np.int64)
    wishes = np.tile(np.array([-1.0, 0.0, -1.0, 0.0]), (len(names), 1))
    for k, (node, shape) in enumerate(zip(graph.nodes.values(), shapes, strict=True)):
        places[k, : len(shape.places)] = shape.places
        ways = skins_of(shape, len(node.ports))
        for j, way in enumerate(ways):
            skins[k, j, : len(node.ports)] = way[: len(node.ports)]
        ours = [*shape.turns, *(4 + quarter for quarter in shape.turns)] if shape.skins else list(shape.turns[:1])
        turns[k, : len(ours)] = ours
        counts[k] = (len(node.ports), len(ours), len(ways), len(shape.places))
        wishes[k] = FRONT_WISH if node.id == OUTSIDE else WISHES.get(node.symbol, (-1, 0, -1, 0))
    pipes = [
        (at[p.start], graph.port(p, "start"), at[p.end], graph.port(p, "end")) for p in graph.pipes.values()
    ]  # fmt: skip
    array = np.array(pipes, dtype=np.int64).reshape(-1, 4)
    return _Problem(names, (array, places, wishes), turns, skins, counts)


Cells = tuple[dict[str, tuple[int, int]], dict[str, Turn], dict[str, tuple[int, ...]]]


def _placed(graph: Graph, problem: _Problem, seed: int, moves: int) -> tuple[float, Cells]:
    """One annealing: its cost, and cell, turn and taken places of every symbol."""
    from heatwright.draw.sheet.anneal import anneal

    n = len(problem.names)
    pins = graph.pins
    columns = max([math.ceil(math.sqrt(n * 1.9))] + [c + 1 for c, _ in pins.values()])
    rows = max([math.ceil(n * 1.25 / columns), 3] + [r + 1 for _, r in pins.values()])
    rng = np.random.default_rng(seed)
    free = [(c, r) for c in range(columns) for r in range(rows) if (c, r) not in pins.values()]
    order = rng.permutation(len(free))
    rest = iter([free[k] for k in order])
    cell = np.array([pins.get(name) or next(rest) for name in problem.names], dtype=np.int64)
    used = np.full((columns, rows), -1, dtype=np.int64)
    for k, (c, r) in enumerate(cell):
        used[c, r] = k
    pinned = np.array([name in pins for name in problem.names])
    turn = problem.turns[:, 0].copy()
    taken = np.zeros((n, problem.skins.shape[2]), dtype=np.int64)
    for k in range(n):
        count = problem.counts[k, 0]
        taken[k, :count] = problem.skins[k, 0, :count] if problem.counts[k, 2] else np.arange(count)
    cost, cell, turn, taken = anneal(
        np.random.default_rng(seed),
        moves,
        problem.data,
        cell,
        turn,
        taken,
        used,
        pinned,
        problem.turns,
        problem.skins,
        problem.counts,
    )
    return float(cost), (
        {name: (int(cell[k, 0]), int(cell[k, 1])) for k, name in enumerate(problem.names)},
        {name: (int(turn[k]) % 4, int(turn[k]) // 4) for k, name in enumerate(problem.names)},
        {name: tuple(int(p) for p in taken[k, : problem.counts[k, 0]]) for k, name in enumerate(problem.names)},
    )


def _routed(graph: Graph, cells: Cells) -> Layout | None:
    """Symbols on the grid and pipes between them; the gaps are widened until every pipe finds a way."""
    best = None
    for attempt in range(TRIES):
        stands = _straightened(graph, _compact(graph, cells, GAP + WIDER * attempt))
        layout = _with_pipes(graph, stands)
        if layout is not None and (best is None or blemish(graph, layout) < blemish(graph, best)):
            best = layout
        if best is not None and (attempt >= 1 or not crossings(best)):
            return best
    return best


def _compact(graph: Graph, cells: Cells, gap: int) -> dict[str, Stand]:
    """Give each used row and column the room its largest symbol needs, and a gap for pipes."""
    cell, turn, taken = cells
    loose = {name: Stand(0, 0, turn[name], taken[name]) for name in cell}
    centre: list[dict[int, int]] = [{}, {}]
    for axis in (0, 1):
        at = MARGIN
        for index in sorted({place[axis] for place in cell.values()}):
            room = max(extent(graph, name, loose[name])[axis] for name in cell if cell[name][axis] == index)
            centre[axis][index] = at + room // 2
            at += room + gap
    return {name: Stand(centre[0][cell[name][0]], centre[1][cell[name][1]], turn[name], taken[name]) for name in cell}


def _straightened(graph: Graph, stands: dict[str, Stand]) -> dict[str, Stand]:
    """Shift symbols a little inside their cells, the small ones first, so that ports that face each other line up."""
    home = dict(stands)
    order = sorted(stands, key=lambda name: (extent(graph, name, stands[name])[0], name))
    touching = {name: graph.at(name) for name in stands}
    for _ in range(6):
        for name in order:
            base = home[name]
            tries = [(0, 0)] + [move for k in range(1, NUDGE // 2 + 1) for move in ((k, 0), (-k, 0), (0, k), (0, -k))]

            def cost(move: tuple[int, int], name: str = name, base: Stand = base) -> float:
                moved = {**stands, name: Stand(base.x + move[0], base.y + move[1], base.turn, base.taken)}
                return 0.6 * (abs(move[0]) + abs(move[1])) + sum(_strain(graph, p.id, moved) for p in touching[name])

            x, y = min(tries, key=cost)
            stands[name] = Stand(base.x + x, base.y + y, base.turn, base.taken)
    return stands


def _strain(graph: Graph, pipe: str, stands: dict[str, Stand]) -> float:
    from heatwright.draw.sheet.anneal import BEND, bends

    a, b = _ends(graph, pipe, stands)
    return BEND * bends.py_func(*a, *b) + 0.05 * (abs(a[0] - b[0]) + abs(a[1] - b[1]))


def _ends(graph: Graph, pipe: str, stands: dict[str, Stand]) -> Any:
    one = graph.pipes[pipe]
    return (
        port_place(graph, one.start, stands[one.start], graph.port(one, "start")),
        port_place(graph, one.end, stands[one.end], graph.port(one, "end")),
    )


def _with_pipes(graph: Graph, stands: dict[str, Stand]) -> Layout | None:
    from heatwright.draw.sheet.route import Router

    boxes = []
    right = bottom = 0
    for name, stand in stands.items():
        wide, high = extent(graph, name, stand)
        boxes.append(((stand.x - wide // 2, stand.y - high // 2), (stand.x + wide // 2, stand.y + high // 2)))
        right, bottom = max(right, stand.x + wide // 2), max(bottom, stand.y + high // 2)
    size = (right + MARGIN, bottom + MARGIN)
    ways = Router(size, boxes, [_ends(graph, pipe, stands) for pipe in graph.pipes]).run()
    if ways is None:
        return None
    return _cropped(Layout(graph.key, size, stands, {n: tuple(w) for n, w in zip(graph.pipes, ways, strict=True)}))


def _cropped(layout: Layout) -> Layout:
    """The layout moved and cut so that an even rim of paper is left around it."""
    points = [point for way in layout.pipes.values() for point in way]
    xs = [x for x, _ in points] + [s.x + sign * EDGE for s in layout.stands.values() for sign in (-1, 1)]
    ys = [y for _, y in points] + [s.y + sign * EDGE for s in layout.stands.values() for sign in (-1, 1)]
    left, top = min(xs) - RIM, min(ys) - RIM
    stands = {n: Stand(s.x - left, s.y - top, s.turn, s.taken) for n, s in layout.stands.items()}
    pipes = {name: tuple((x - left, y - top) for x, y in way) for name, way in layout.pipes.items()}
    return Layout(layout.graph, (max(xs) + RIM - left, max(ys) + RIM - top), stands, pipes)
