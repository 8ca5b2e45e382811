"""Where everything on a sheet stands: symbols with turns, pipes with corners; and how good such a layout is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations, pairwise

from heatwright.draw.sheet.graph import Graph
from heatwright.draw.sheet.shapes import Place, Turn, shape_of, turned

Point = tuple[int, int]
Box = tuple[float, float, float, float]
"""Left, top, right, bottom, in grid steps."""


@dataclass(frozen=True)
class Stand:
    """One symbol: its centre in grid steps, its turn, and which place each of its ports takes."""

    x: int
    y: int
    turn: Turn
    taken: tuple[int, ...]


@dataclass(frozen=True)
class Layout:
    """A laid-out graph; `graph` is the key of the graph it belongs to, `size` its extent in grid steps."""

    graph: str
    size: Point
    stands: Mapping[str, Stand]
    pipes: Mapping[str, tuple[Point, ...]]


def port_place(graph: Graph, name: str, stand: Stand, port: int) -> Place:
    """Where a port of a symbol lies and which way it looks."""
    node = graph.nodes[name]
    place = shape_of(node.symbol, len(node.ports)).places[stand.taken[port]]
    x, y, dx, dy = turned(place, stand.turn)
    return stand.x + x, stand.y + y, dx, dy


def extent(graph: Graph, name: str, stand: Stand) -> Point:
    """Width and height of a symbol as it stands."""
    node = graph.nodes[name]
    shape = shape_of(node.symbol, len(node.ports))
    return (shape.width, shape.height) if stand.turn[0] % 2 == 0 else (shape.height, shape.width)


def box_of(graph: Graph, layout: Layout, name: str) -> Box:
    """The room a symbol takes."""
    stand = layout.stands[name]
    wide, high = extent(graph, name, stand)
    return stand.x - wide / 2, stand.y - high / 2, stand.x + wide / 2, stand.y + high / 2


def pieces(layout: Layout) -> Iterator[tuple[str, Point, Point]]:
    """Every straight piece of every pipe: name of the pipe, from, to."""
    for name, way in layout.pipes.items():
        for one, other in pairwise(way):
            yield name, one, other


def crossings(layout: Layout) -> list[tuple[str, str, Point]]:
    """Where two pipes cross: the level one, the upright one, and the point."""
    found = []
    for (one, a, b), (other, c, d) in combinations(pieces(layout), 2):
        if one == other or (a[1] == b[1]) == (c[1] == d[1]):
            continue
        level, upright = ((one, a, b), (other, c, d)) if a[1] == b[1] else ((other, c, d), (one, a, b))
        x, y = upright[1][0], level[1][1]
        inside_x = min(level[1][0], level[2][0]) < x < max(level[1][0], level[2][0])
        if inside_x and min(upright[1][1], upright[2][1]) < y < max(upright[1][1], upright[2][1]):
            found.append((level[0], upright[0], (x, y)))
    return found


def through_symbols(graph: Graph, layout: Layout) -> list[tuple[str, str]]:
    """Pipes that run through the inside or along the rim of a symbol: (pipe, symbol)."""
    boxes = {name: box_of(graph, layout, name) for name in layout.stands}
    return [
        (pipe, name)
        for pipe, (ax, ay), (bx, by) in pieces(layout)
        for name, box in boxes.items()
        if min(ax, bx) < box[2] and max(ax, bx) > box[0] and min(ay, by) < box[3] and max(ay, by) > box[1]
    ]


def on_top(layout: Layout) -> list[tuple[str, str]]:
    """Pairs of pipes that share a stretch."""
    found = []
    for (one, a, b), (other, c, d) in combinations(pieces(layout), 2):
        for axis in (0, 1):
            if one != other and a[axis] == b[axis] == c[axis] == d[axis]:
                along = 1 - axis
                low = max(min(a[along], b[along]), min(c[along], d[along]))
                if low < min(max(a[along], b[along]), max(c[along], d[along])):
                    found.append((one, other))
    return found


def bend_count(layout: Layout) -> int:
    """Corners of all pipes."""
    return sum(len(way) - 2 for way in layout.pipes.values())


def pipe_length(layout: Layout) -> int:
    """Length of all pipes in grid steps."""
    return sum(abs(a[0] - b[0]) + abs(a[1] - b[1]) for _, a, b in pieces(layout))
