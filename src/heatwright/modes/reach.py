"""What heat can move at all in a plant: from where to where, by which ways, and in how many modes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from heatwright.modes.model import Mode
from heatwright.modes.moves import WAYS

Reach = Mapping[tuple[str, str], Mapping[str, int]]
"""(from, to) -> way -> how many of the modes move heat so; ways in the order of WAYS."""


def reach_of(modes: Iterable[Mode]) -> Reach:
    """Every pair of places between which some mode moves heat. Stirring moves none."""
    counts: dict[tuple[str, str], dict[str, int]] = {}
    for mode in modes:
        for move in mode.moves:
            if move.way != "stir":
                ways = counts.setdefault((move.start, move.end), {})
                ways[move.way] = ways.get(move.way, 0) + 1
    order = list(WAYS)
    return {
        pair: dict(sorted(ways.items(), key=lambda item: order.index(item[0]))) for pair, ways in sorted(counts.items())
    }
