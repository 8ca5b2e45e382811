"""Order of elimination, worked out once: minimum degree on the pattern of the heat matrix, as flat index lists."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Elimination:
    """Flat programme of a pivot-free elimination; `slot[(i, j)]` is the place of entry (i, j) of the matrix.

    `programme` holds for every pivot, in order: its node and the number c of nodes it couples to; then for each of
    these its (slot below the pivot, node) and c pairs (slot changed, slot beside the pivot). After the last pivot the
    way back: for every pivot, last first, its node, c, and c pairs (slot beside the pivot, node).
    """

    slot: dict[tuple[int, int], int]
    programme: list[int]


def plan_elimination(n: int, pairs: Iterable[tuple[int, int]]) -> Elimination:
    """Return the elimination of an n x n matrix whose off-diagonal pattern is `pairs` made symmetric.

    The order is sorted by height in the elimination tree: the fill is the same, and neighbouring pivots do not
    depend on each other, so that a processor works on several at a time instead of waiting for each.
    Slots 0..n-1 are the diagonal in node order, so that compiled code reads a[i] for it.
    """
    graph: list[set[int]] = [set() for _ in range(n)]
    for i, j in pairs:
        if i != j:
            graph[i].add(j)
            graph[j].add(i)
    alive = set(range(n))
    height = [0] * n
    order: list[int] = []
    while alive:
        pivot = min(alive, key=lambda k: (len(graph[k]), height[k], k))
        order.append(pivot)
        alive.discard(pivot)
        around = graph[pivot]
        for a in around:
            height[a] = max(height[a], height[pivot] + 1)
            graph[a] |= around
            graph[a].discard(a)
            graph[a].discard(pivot)
        graph[pivot] = set(around)
    order.sort(key=height.__getitem__)
    place = {node: k for k, node in enumerate(order)}
    slot: dict[tuple[int, int], int] = {(i, i): i for i in range(n)}

    def at(i: int, j: int) -> int:
        return slot.setdefault((i, j), len(slot))

    programme: list[int] = []
    back: list[int] = []
    for pivot in order:
        around_sorted = sorted(graph[pivot], key=place.__getitem__)
        programme += [pivot, len(around_sorted)]
        for a in around_sorted:
            programme += [at(a, pivot), a]
            for b in around_sorted:
                programme += [at(a, b), at(pivot, b)]
        back[:0] = [pivot, len(around_sorted), *(k for a in around_sorted for k in (at(pivot, a), a))]
    return Elimination(slot, programme + back)
