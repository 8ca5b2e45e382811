"""Places the names of symbols and the tags of loops where they touch nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from heatwright.draw.sheet.graph import BODIES, OUTSIDE, Graph
from heatwright.draw.sheet.layout import Box, Layout, box_of, crossings, pieces
from heatwright.draw.sheet.shapes import STEP_PX
from heatwright.draw.svg import text_width, wrapped

SIZE = 11.5
LINE_STEPS = 1.1
CLEARANCE = 0.25
HALF_PIPE = {"air": 0.6, "wind": 0.6}
TAG_STEPS = 0.85
FURTHEST = 9


@dataclass(frozen=True)
class Name:
    """A placed name: its lines, the anchor point of the first baseline in grid steps, and the room it takes.

    `away` tells how far it stands from where it belongs, `hits` how many things it touches.
    """

    lines: tuple[str, ...]
    x: float
    y: float
    anchor: str
    box: Box
    away: float
    hits: int = 0


@dataclass(frozen=True)
class Labels:
    """Names by symbol, and tags of loops by letter with the centre of their circle."""

    names: dict[str, Name]
    tags: dict[str, tuple[float, float]]


def place_labels(graph: Graph, layout: Layout) -> Labels:
    """Names beside every symbol that does not carry its name inside, tags on the longest pipe of each loop."""
    taken = [box_of(graph, layout, name) for name in layout.stands]
    taken += [_pipe_box(graph, pipe, one, other) for pipe, one, other in pieces(layout)]
    tags = _tags(graph, layout)
    taken += [(x - TAG_STEPS, y - TAG_STEPS, x + TAG_STEPS, y + TAG_STEPS) for x, y in tags.values()]
    names: dict[str, Name] = {}
    for name, node in graph.nodes.items():
        if not node.label or names_itself(node.symbol):
            continue
        names[name] = _placed(node.label, box_of(graph, layout, name), taken, layout.size)
        taken.append(names[name].box)
    return Labels(names, tags)


def names_itself(symbol: str) -> bool:
    """Whether a symbol carries its name inside."""
    return symbol in BODIES or symbol == OUTSIDE


def _pipe_box(graph: Graph, pipe: str, one: tuple[int, int], other: tuple[int, int]) -> Box:
    half = HALF_PIPE.get(graph.pipes[pipe].medium, 0.45)
    return (
        min(one[0], other[0]) - half, min(one[1], other[1]) - half,
        max(one[0], other[0]) + half, max(one[1], other[1]) + half,
    )  # fmt: skip


def overlap(one: Box, other: Box) -> bool:
    """Whether two boxes share room."""
    return one[0] < other[2] and one[2] > other[0] and one[1] < other[3] and one[3] > other[1]


def _placed(words: str, home: Box, taken: list[Box], size: tuple[int, int]) -> Name:
    """The nearest free place for a name; where none is free, the one that touches least."""
    best: Name | None = None
    for name in sorted(_candidates(words, home), key=lambda one: one.away):
        box = name.box
        if box[0] < 0 or box[1] < 0 or box[2] > size[0] or box[3] > size[1]:
            continue
        padded = (box[0] - CLEARANCE, box[1] - CLEARANCE / 2, box[2] + CLEARANCE, box[3] + CLEARANCE / 2)
        hits = sum(overlap(padded, one) for one in taken)
        if hits == 0:
            return name
        if best is None or hits < best.hits:
            best = replace(name, hits=hits)
    assert best is not None
    return best


def _candidates(words: str, home: Box) -> Iterator[Name]:
    left, top, right, bottom = home
    middle, centre = (left + right) / 2, (top + bottom) / 2
    for broken in _breaks(words):
        wide = max(text_width(line, SIZE) for line in broken) / STEP_PX
        high = LINE_STEPS * len(broken)
        cost = 0.6 * (len(broken) - 1)
        for far in range(FURTHEST):
            gap = 0.3 + 0.5 * far
            for slide in (0.0, 1.0, -1.0, 2.0, -2.0, 3.5, -3.5, 5.0, -5.0):
                price = cost + 1.2 * gap + 0.5 * abs(slide)
                yield _name(price, broken, middle + slide, bottom + gap, "middle", wide, high)
                yield _name(price + 0.3, broken, middle + slide, top - gap - high, "middle", wide, high)
                if abs(slide) <= 3.5:
                    y = centre + slide - high / 2
                    yield _name(price + 0.6, broken, right + gap, y, "start", wide, high)
                    yield _name(price + 0.8, broken, left - gap, y, "end", wide, high)


def _breaks(words: str) -> list[tuple[str, ...]]:
    """The words in one line, and in two or three where they can be broken."""
    found: list[tuple[str, ...]] = [(words,)]
    for share in (0.6, 0.45):
        lines = tuple(wrapped(words, text_width(words, SIZE) * share + 4, SIZE))
        if 1 < len(lines) <= 3 and not any(line.endswith("-") for line in lines):
            found.append(lines)
    return found


def _name(away: float, lines: tuple[str, ...], x: float, top: float, anchor: str, wide: float, high: float) -> Name:
    left = x - wide / 2 if anchor == "middle" else x if anchor == "start" else x - wide
    return Name(lines, x, top + 0.85, anchor, (left, top, left + wide, top + high), away)


def _tags(graph: Graph, layout: Layout) -> dict[str, tuple[float, float]]:
    """The middle of the longest piece of each loop that has room for its tag clear of crossings."""
    knots = [point for _, _, point in crossings(layout)]
    best: dict[str, tuple[float, tuple[float, float]]] = {}
    for pipe, one, other in pieces(layout):
        loop = graph.pipes[pipe].loop
        long = abs(one[0] - other[0]) + abs(one[1] - other[1])
        if not loop or long < 3:
            continue
        for share in (0.5, 0.35, 0.65):
            x, y = one[0] + (other[0] - one[0]) * share, one[1] + (other[1] - one[1]) * share
            room = min([abs(x - a) + abs(y - b) for a, b in knots] + [long])
            score = min(long, 12) + (0 if room > 2 else -20)
            if loop not in best or score > best[loop][0]:
                best[loop] = (score, (x, y))
    return {loop: at for loop, (_, at) in best.items()}
