"""How far a sheet is from a good one: the measure by which layouts are chosen."""

from __future__ import annotations

from heatwright.draw.sheet.graph import Graph
from heatwright.draw.sheet.labels import place_labels
from heatwright.draw.sheet.layout import Layout, bend_count, crossings, pipe_length

CROSSING, BEND, LENGTH, ROOM = 25.0, 1.0, 0.04, 0.004
NEAR, FAR_NAME, TOUCHING_NAME = 2.0, 2.0, 30.0


def blemish(graph: Graph, layout: Layout) -> float:
    """Crossings count most, then bends, names that stand far off, length and size; names that touch are worst."""
    names = place_labels(graph, layout).names.values()
    off = sum(FAR_NAME * max(name.away - NEAR, 0.0) + TOUCHING_NAME * (name.hits > 0) for name in names)
    pipes = CROSSING * len(crossings(layout)) + BEND * bend_count(layout) + LENGTH * pipe_length(layout)
    return pipes + off + ROOM * layout.size[0] * layout.size[1]
