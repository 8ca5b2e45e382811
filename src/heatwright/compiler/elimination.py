"""Order of elimination, worked out once: minimum degree on the pattern of the heat matrix, as flat index lists."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Elimination:
    """Flat programme of a pivot-free elimination; `slot[(i, j)]` is the place of entry (i, j)."""

    slot: dict[tuple[int, int], int]
    order: list[int]
    diag: list[int]
    lptr: list[int]
    lrow: list[int]
    lslot: list[int]
    uslot: list[int]
    ucol: list[int]
    dst: list[int]


def plan_elimination(n: int, pairs: Iterable[tuple[int, int]]) -> Elimination:
    """Return the elimination of an n x n matrix whose off-diagonal pattern is `pairs` made symmetric.

    Slots 0..n-1 are the diagonal in node order, so that compiled code reads a[i] for it.
    """
    graph: list[set[int]] = [set() for _ in range(n)]
    for i, j in pairs:
        if i != j:
            graph[i].add(j)
            graph[j].add(i)
    alive = set(range(n))
    order: list[int] = []
    while alive:
        pivot = min(alive, key=lambda k: (len(graph[k]), k))
        order.append(pivot)
        alive.discard(pivot)
        around = graph[pivot]
        for a in around:
            graph[a] |= around
            graph[a].discard(a)
            graph[a].discard(pivot)
        graph[pivot] = set(around)
    place = {node: k for k, node in enumerate(order)}
    slot: dict[tuple[int, int], int] = {(i, i): i for i in range(n)}

    def at(i: int, j: int) -> int:
        return slot.setdefault((i, j), len(slot))

    out = Elimination(slot, order, [], [0], [], [], [], [], [])
    for pivot in order:
        around_sorted = sorted(graph[pivot], key=place.__getitem__)
        out.diag.append(pivot)
        for a in around_sorted:
            out.lrow.append(a)
            out.lslot.append(at(a, pivot))
            out.ucol.append(a)
            out.uslot.append(at(pivot, a))
        out.lptr.append(len(out.lrow))
        out.dst.extend(at(a, b) for a in around_sorted for b in around_sorted)
    return out
