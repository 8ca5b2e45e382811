"""Small tools for a drawing of branches between nodes: what hangs together, and what lies in a ring."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from heatwright.plant.groups import joined


class Edge(NamedTuple):
    """A branch between two nodes of a net whose valves stand.

    `check` forbids flow from end to start; `opened` names expansion valves in it that stand open and so do not
    throttle.
    """

    branch: str
    start: str
    end: str
    check: bool = False
    opened: frozenset[str] = frozenset()


Edges = frozenset[Edge]


def connected(edges: Iterable[Edge]) -> list[list[Edge]]:
    """The edges in groups that hang together by their nodes, in the order first met."""
    return joined(edges, lambda edge: (edge.start, edge.end))


def blocks(edges: Iterable[Edge]) -> list[Edges]:
    """The rings and meshes: largest sets of edges any two of which lie on a common ring.

    Dead legs and bridges are in none of them. Two blocks share at most one node, so what a pump drives in one
    block does not depend on the others.
    """
    edges = list(edges)
    touching: dict[str, list[tuple[int, str]]] = {}
    found = [frozenset({edge}) for edge in edges if edge.start == edge.end]
    for number, edge in enumerate(edges):
        if edge.start != edge.end:
            touching.setdefault(edge.start, []).append((number, edge.end))
            touching.setdefault(edge.end, []).append((number, edge.start))
    depth: dict[str, int] = {}
    for root in touching:
        if root not in depth:
            found += [
                frozenset(edges[number] for number in members)
                for members in _blocks_from(root, touching, depth)
                if len(members) > 1
            ]
    return found


def _blocks_from(root: str, touching: dict[str, list[tuple[int, str]]], depth: dict[str, int]) -> list[list[int]]:
    """Blocks of the part that hangs on `root`, each as edge numbers (depth-first search with low points)."""
    found: list[list[int]] = []
    low = {root: len(depth)}
    depth[root] = len(depth)
    taken: set[int] = set()
    open_edges: list[int] = []
    stack = [(root, -1, iter(touching[root]))]
    while stack:
        node, came_by, rest = stack[-1]
        for number, other in rest:
            if number in taken:
                continue
            taken.add(number)
            open_edges.append(number)
            if other in depth:
                low[node] = min(low[node], depth[other])
                continue
            low[other] = depth[other] = len(depth)
            stack.append((other, number, iter(touching[other])))
            break
        else:
            stack.pop()
            if stack:
                above = stack[-1][0]
                low[above] = min(low[above], low[node])
                if low[node] >= depth[above]:
                    cut = open_edges.index(came_by)
                    found.append(open_edges[cut:])
                    del open_edges[cut:]
    return found


def ring_order(block: Edges) -> list[tuple[Edge, int]] | None:
    """The block as a walk of (edge, +1 along its writing or -1 against it), or None if it is no plain ring."""
    touching: dict[str, list[Edge]] = {}
    for edge in sorted(block):
        touching.setdefault(edge.start, []).append(edge)
        touching.setdefault(edge.end, []).append(edge)
    if any(len(found) != 2 for found in touching.values()):
        return None
    edge = min(block)
    walk = [(edge, 1)]
    at = edge.end
    while at != walk[0][0].start:
        first, second = touching[at]
        edge = second if first == edge else first
        along = edge.start == at
        walk.append((edge, 1 if along else -1))
        at = edge.end if along else edge.start
    return walk
