"""Layouts on disk: beside each shipped plant; refined ones beside a plant of the user's own, drafts in his cache.

A layout is found by the key of its graph.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from heatwright.cache import cache_home
from heatwright.draw.sheet.graph import Graph
from heatwright.draw.sheet.layout import Layout, Stand
from heatwright.draw.sheet.quality import blemish
from heatwright.plant.source import SUFFIX, shipped_folder

FORMAT = "heatwright sheet 1"
SHEET_SUFFIX = ".sheet.json"
OWN_FOLDER = "sheets"


def beside(source: str) -> Path | None:
    """Where the layout of a shipped plant stands; None for a plant from elsewhere."""
    folder = shipped_folder()
    name = Path(source).name.removesuffix(SUFFIX)
    plant = folder / (name + SUFFIX)
    named = source == name or Path(source).resolve() == plant
    return folder / (name + SHEET_SUFFIX) if named and plant.is_file() else None


def in_cache(graph: Graph) -> Path:
    """Where the layout of a graph stands in the user's cache."""
    return cache_home() / "sheets" / f"{graph.key}{SHEET_SUFFIX}"


def beside_own(graph: Graph, source: str) -> Path | None:
    """Where the layout of a plant file of the user's own stands: in a folder beside it, under the key of the graph."""
    plant = Path(source)
    if beside(source) is not None or not source.endswith(SUFFIX) or not plant.is_file():
        return None
    return plant.resolve().parent / OWN_FOLDER / f"{graph.key}{SHEET_SUFFIX}"


def stored(graph: Graph, source: str) -> Layout | None:
    """The layout kept for exactly this graph: the best of the shipped, the one beside the plant, and the cache's."""
    places = (beside(source), beside_own(graph, source), in_cache(graph))
    found = [layout for path in places if path is not None and (layout := read(path))]
    return min(
        (layout for layout in found if layout.graph == graph.key), key=lambda one: blemish(graph, one), default=None
    )


def read(path: Path) -> Layout | None:
    """The layout in a file; None for a file that is missing or cannot be read: it is then worked out again."""
    try:
        return from_json(json.loads(path.read_text(encoding="utf-8")))
    except (ValueError, KeyError, TypeError, OSError):
        return None


def keep_refined(graph: Graph, layout: Layout, source: str) -> Path:
    """Write a refined layout beside the plant where that can be, else into the user's cache; returns where."""
    own = beside_own(graph, source)
    if own is not None:
        try:
            keep(layout, own)
            return own
        except OSError:  # a folder that may not be written to
            pass
    keep(layout, in_cache(graph))
    return in_cache(graph)


def keep(layout: Layout, path: Path) -> None:
    """Write a layout whole or not at all."""
    path.parent.mkdir(parents=True, exist_ok=True)
    beside_it = path.with_name(path.name + ".part")
    beside_it.write_text(json.dumps(as_json(layout), separators=(",", ":")) + "\n", encoding="utf-8")
    beside_it.replace(path)


def as_json(layout: Layout) -> dict[str, Any]:
    """A layout in JSON types: symbols as [x, y, quarter turns, mirrored, places], pipes as lists of corners."""
    return {
        "format": FORMAT,
        "graph": layout.graph,
        "size": list(layout.size),
        "symbols": {n: [s.x, s.y, *s.turn, list(s.taken)] for n, s in layout.stands.items()},
        "pipes": {name: [list(point) for point in way] for name, way in layout.pipes.items()},
    }


def from_json(data: dict[str, Any]) -> Layout:
    """The layout that `as_json` wrote; KeyError, TypeError or ValueError for anything else."""
    if data["format"] != FORMAT:
        raise ValueError(f"format is {data['format']!r}, not {FORMAT!r}")
    stands = {
        name: Stand(int(x), int(y), (int(turn), int(mirror)), tuple(int(p) for p in taken))
        for name, (x, y, turn, mirror, taken) in data["symbols"].items()
    }
    pipes = {name: tuple((int(x), int(y)) for x, y in way) for name, way in data["pipes"].items()}
    return Layout(str(data["graph"]), (int(data["size"][0]), int(data["size"][1])), stands, pipes)
