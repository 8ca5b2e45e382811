"""Layouts of plant sheets: no pipe through a symbol, few crossings, loops that read as rings, names that stand free."""

import json
import random
from itertools import combinations, pairwise

import pytest

from heatwright.draw.sheet.graph import Graph, Node, Pipe, graph_of
from heatwright.draw.sheet.labels import overlap, place_labels
from heatwright.draw.sheet.layout import (
    Layout,
    box_of,
    crossings,
    on_top,
    pieces,
    port_place,
    through_symbols,
)
from heatwright.draw.sheet.place import lay_out
from heatwright.draw.sheet.store import as_json, beside, from_json, keep, stored
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant

SHIPPED = [one.name for one in list_shipped()]
MOST_CROSSINGS = 3
"""Crossings that a shipped sheet may have."""
RING_SHARE = 0.3
"""Least share of the rectangle around a loop that the loop encloses: a folded line encloses next to nothing."""


def sheet_of(name: str) -> tuple[Graph, Layout]:
    graph = graph_of(load_plant(name))
    path = beside(name)
    assert path is not None
    layout = from_json(json.loads(path.read_text(encoding="utf-8")))
    assert layout.graph == graph.key, f"the graph has changed: python -m tools.sheets {name}"
    return graph, layout


@pytest.mark.parametrize("name", SHIPPED)
def test_pipes_keep_off_symbols_and_off_each_other(name: str) -> None:
    graph, layout = sheet_of(name)
    assert through_symbols(graph, layout) == []
    assert on_top(layout) == []
    boxes = [box_of(graph, layout, node) for node in graph.nodes]
    assert not any(overlap(one, other) for one, other in combinations(boxes, 2))


@pytest.mark.parametrize("name", SHIPPED)
def test_few_pipes_cross(name: str) -> None:
    assert len(crossings(sheet_of(name)[1])) <= MOST_CROSSINGS


@pytest.mark.parametrize("name", SHIPPED)
def test_every_pipe_ends_at_its_ports(name: str) -> None:
    graph, layout = sheet_of(name)
    for pipe in graph.pipes.values():
        way = layout.pipes[pipe.id]
        for end, node, point, after in (
            ("start", pipe.start, way[0], way[1]),
            ("end", pipe.end, way[-1], way[-2]),
        ):
            x, y, dx, dy = port_place(graph, node, layout.stands[node], graph.port(pipe, end))
            assert (x, y) == point
            assert (after[0] - x) * dx + (after[1] - y) * dy > 0, "it leaves its port outwards"
        assert all((a[0] == b[0]) != (a[1] == b[1]) for a, b in pairwise(way))


@pytest.mark.parametrize("name", SHIPPED)
def test_each_plain_coolant_loop_reads_as_a_ring(name: str) -> None:
    graph, layout = sheet_of(name)
    loops = {pipe.loop for pipe in graph.pipes.values() if pipe.medium == "coolant"}
    for loop in sorted(loops):
        ring = _ring(graph, layout, loop)
        if ring is None:
            continue
        own = {pipe.id for pipe in graph.pipes.values() if pipe.loop == loop}
        assert not [one for one in crossings(layout) if one[0] in own and one[1] in own]
        xs, ys = zip(*ring, strict=True)
        around = (max(xs) - min(xs)) * (max(ys) - min(ys))
        twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*ring, ring[0]]))
        assert abs(twice) / 2 >= RING_SHARE * around, loop


def _ring(graph: Graph, layout: Layout, loop: str) -> list[tuple[int, int]] | None:
    """Corners of a loop in the order of its flow; None where it branches."""
    pipes = [pipe for pipe in graph.pipes.values() if pipe.loop == loop]
    after = {pipe.start: pipe for pipe in pipes}
    if len(after) < len(pipes) or len({pipe.end for pipe in pipes}) < len(pipes):
        return None
    corners: list[tuple[int, int]] = []
    pipe = pipes[0]
    for _ in pipes:
        corners += layout.pipes[pipe.id]
        pipe = after[pipe.end]
    assert pipe is pipes[0], "the loop closes"
    return corners


@pytest.mark.parametrize("name", SHIPPED)
def test_names_touch_nothing(name: str) -> None:
    graph, layout = sheet_of(name)
    labels = place_labels(graph, layout)
    boxes = {node: box_of(graph, layout, node) for node in graph.nodes}
    lines = [(p, (min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1]))) for p, a, b in pieces(layout)]
    for node, label in labels.names.items():
        assert not [one for one, box in boxes.items() if overlap(label.box, box)], node
        assert not [pipe for pipe, box in lines if overlap(label.box, box)], node
        assert 0 <= label.box[0] < label.box[2] <= layout.size[0], node
    every = [label.box for label in labels.names.values()]
    assert not [pair for pair in combinations(every, 2) if overlap(*pair)]
    assert set(labels.tags) == {pipe.loop for pipe in graph.pipes.values() if pipe.loop}


def test_values_and_positions_do_not_change_the_key_but_lines_do() -> None:
    graph = graph_of(load_plant("three_loops"))
    assert graph_of(load_plant("three_loops", {"pack.heat_capacity": "500 kJ/K"})).key == graph.key
    assert graph_of(load_plant("plain")).key != graph.key


def _random(seed: int) -> Graph:
    """A few symbols in a ring, and chords between tees on it."""
    rng = random.Random(seed)
    chords = rng.randint(0, 2)
    kinds = ["tee"] * (2 * chords) + rng.choices(
        ["pump", "heater", "tank", "pack", "plate_exchanger"], k=rng.randint(3, 7)
    )
    rng.shuffle(kinds)
    names = [f"n{k}" for k in range(len(kinds))]
    ends = list(zip(names, names[1:] + names[:1], strict=True))
    tees = [name for name, kind in zip(names, kinds, strict=True) if kind == "tee"]
    ends += [(tees[2 * k], tees[2 * k + 1]) for k in range(chords)]
    pipes = {f"p{k}": Pipe(f"p{k}", "coolant", a, b, (f"coolant/{k}",), loop="A") for k, (a, b) in enumerate(ends)}
    ports: dict[str, list[str]] = {name: [] for name in names}
    for pipe in pipes.values():
        ports[pipe.start].append(f"{pipe.id}:start")
        ports[pipe.end].append(f"{pipe.id}:end")
    nodes = {n: Node(n, kind, n, n, tuple(ports[n])) for n, kind in zip(names, kinds, strict=True)}
    return Graph(nodes, pipes)


@pytest.mark.parametrize("seed", range(12))
def test_any_small_plant_finds_its_ways(seed: int) -> None:
    graph = _random(seed)
    layout = lay_out(graph, (2, 4000, 2))
    assert through_symbols(graph, layout) == []
    assert on_top(layout) == []


def test_the_same_seed_gives_the_same_sheet_and_pins_hold() -> None:
    graph = _random(3)
    one, other = (lay_out(graph, (2, 3000, 2)) for _ in range(2))
    assert one == other
    pinned = Graph(graph.nodes, graph.pipes, {"n0": (0, 0), "n1": (3, 2)})
    stands = lay_out(pinned, (2, 3000, 2)).stands
    assert stands["n0"].x < stands["n1"].x
    assert stands["n0"].y < stands["n1"].y
    assert pinned.key != graph.key


def test_a_layout_is_kept_whole_and_a_broken_one_is_passed_over(tmp_path, monkeypatch) -> None:
    monkeypatch.setenv("HEATWRIGHT_CACHE", str(tmp_path))
    graph, layout = sheet_of("plain")
    assert from_json(json.loads(json.dumps(as_json(layout)))) == layout
    assert stored(graph, "elsewhere.plant.toml") is None
    path = tmp_path / "sheets" / f"{graph.key}.sheet.json"
    keep(layout, path)
    assert stored(graph, "elsewhere.plant.toml") == layout
    path.write_text("{")
    assert stored(graph, "elsewhere.plant.toml") is None
    assert stored(graph, "plain") == layout
