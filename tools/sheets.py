"""Lays out shipped plants anew and keeps what is better than the stored sheet: `python -m tools.sheets [NAME ...]`.

One to five minutes a plant on one core. Run it after a change of a shipped plant's lines; a test says when it is due.
"""

from __future__ import annotations

import sys

from heatwright.draw.sheet.graph import graph_of
from heatwright.draw.sheet.layout import bend_count, crossings
from heatwright.draw.sheet.place import REFINED, Effort, lay_out
from heatwright.draw.sheet.quality import blemish
from heatwright.draw.sheet.store import beside, keep, read
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant


def lay_again(name: str, effort: Effort = REFINED, seed: int = 1) -> str:
    """Lay out one shipped plant anew, keep the better layout, and say what came of it."""
    graph = graph_of(load_plant(name))
    path = beside(name)
    assert path is not None, f"{name} is not shipped"
    found, before = lay_out(graph, effort, seed=seed), read(path)
    told = f"{name}: {len(crossings(found))} crossings, {bend_count(found)} bends"
    if before is not None and before.graph == graph.key and blemish(graph, before) <= blemish(graph, found):
        return f"{told}; the stored one stays: {len(crossings(before))} crossings, {bend_count(before)} bends"
    keep(found, path)
    return f"{told}; kept"


if __name__ == "__main__":
    for one in sys.argv[1:] or [shipped.name for shipped in list_shipped()]:
        print(lay_again(one), flush=True)
