"""Routes pipes between ports on the grid: cheapest right-angled ways, found again for each pipe in a few passes.

Symbols are walls. Bends, crossings, running close to another pipe or to a symbol cost; running on top of another
pipe costs so much that it only happens where nothing else is left, and is then refused.
"""

from __future__ import annotations

import heapq
from itertools import pairwise
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray

from heatwright.draw.sheet.shapes import Place
from heatwright.physics import jit as _cache  # noqa: F401  compiled code is kept in the user's cache

BEND, NEAR, STUB, OVER, CROSS = 9.0, 1.2, 14.0, 400.0, 30.0
NEXT_LANE, SECOND_LANE = 5.0, 1.0
PASSES = 4
CLEAR = 3
Ints = NDArray[np.int64]
Cell = tuple[int, int]


@numba.njit(cache=True)
def _lanes(x, y, along, level, upright, wide, high):  # type: ignore[no-untyped-def]
    """Cost of pipes that run beside a step."""
    cost = 0.0
    for off in (-2, -1, 1, 2):
        px, py = (x, y + off) if along == 0 else (x + off, y)
        if 0 <= px < wide and 0 <= py < high:
            others = level[px, py] if along == 0 else upright[px, py]
            if others:
                cost += NEXT_LANE if abs(off) == 1 else SECOND_LANE
    return cost


@numba.njit(cache=True)
def find_way(
    start: Any, goal: Any, wall: Any, near: Any, stub: Any, level: Any, upright: Any, pipe: int
) -> tuple[Any, float]:
    """Directions arrived by in every cell (-1: never), and the cost of the goal (negative: no way)."""
    wide, high = wall.shape
    steps = np.array([[1, 0], [0, 1], [-1, 0], [0, -1]])
    cost = np.full((wide, high, 4), np.inf)
    came = np.full((wide, high, 4), -1)
    cost[start[0], start[1], start[2]] = 0.0
    queue = [(0.0, start[0], start[1], start[2])]
    while len(queue) > 0:
        spent, x, y, way = heapq.heappop(queue)
        if spent > cost[x, y, way]:
            continue
        if x == goal[0] and y == goal[1] and way == goal[2]:
            return came, spent
        for turn in (0, 1, 3):
            to = (way + turn) % 4
            if turn != 0 and x == start[0] and y == start[1]:
                continue
            nx, ny = x + steps[to, 0], y + steps[to, 1]
            if nx < 0 or ny < 0 or nx >= wide or ny >= high:
                continue
            last = nx == goal[0] and ny == goal[1]
            if (wall[nx, ny] and not last) or (last and to != goal[2]):
                continue
            fare = 1.0 + (BEND if turn != 0 else 0.0) + (NEAR if near[nx, ny] else 0.0)
            if stub[nx, ny] >= 0 and stub[nx, ny] != pipe:
                fare += STUB
            same, other = (level, upright) if to % 2 == 0 else (upright, level)
            fare += OVER * same[nx, ny] + CROSS * other[nx, ny]
            fare += _lanes(nx, ny, to % 2, level, upright, wide, high)
            total = spent + fare
            if total < cost[nx, ny, to]:
                cost[nx, ny, to] = total
                came[nx, ny, to] = way
                heapq.heappush(queue, (total, nx, ny, to))
    return came, -1.0


class Router:
    """One sheet's grid with its walls, and the pipes laid so far."""

    def __init__(self, size: Cell, boxes: list[tuple[Cell, Cell]], ends: list[tuple[Place, Place]]) -> None:
        shape = (size[0] + 1, size[1] + 1)
        self.wall = np.zeros(shape, dtype=np.bool_)
        self.near = np.zeros(shape, dtype=np.bool_)
        self.stub = np.full(shape, -1, dtype=np.int64)
        self.level = np.zeros(shape, dtype=np.int64)
        self.upright = np.zeros(shape, dtype=np.int64)
        for (x0, y0), (x1, y1) in boxes:
            self.wall[x0 : x1 + 1, y0 : y1 + 1] = True
            self.near[max(x0 - 1, 0) : x1 + 2, max(y0 - 1, 0) : y1 + 4] = True
        self.ends = ends
        for k, both in enumerate(ends):
            for x, y, dx, dy in both:
                for far in range(CLEAR):
                    self.stub[x + dx * far, y + dy * far] = k

    def run(self) -> list[list[Cell]] | None:
        """The corners of every pipe, or None where one finds no way of its own."""
        order = sorted(range(len(self.ends)), key=lambda k: (self._span(k), k))
        found: dict[int, list[Cell]] = {}
        for _ in range(PASSES):
            for k in order:
                if k in found:
                    self._lay(found.pop(k), -1)
                way = self._way(k)
                if way is None:
                    return None
                found[k] = way
                self._lay(way, 1)
        if int(self.level.max()) > 1 or int(self.upright.max()) > 1:
            return None
        return [corners(found[k]) for k in range(len(self.ends))]

    def _span(self, k: int) -> int:
        (ax, ay, *_), (bx, by, *_) = self.ends[k]
        return abs(ax - bx) + abs(ay - by)

    def _way(self, k: int) -> list[Cell] | None:
        (ax, ay, adx, ady), (bx, by, bdx, bdy) = self.ends[k]
        start, goal = (ax, ay, heading(adx, ady)), (bx, by, heading(-bdx, -bdy))
        came, spent = find_way(start, goal, self.wall, self.near, self.stub, self.level, self.upright, k)
        return None if spent < 0 else _walked(came, start, goal)

    def _lay(self, way: list[Cell], number: int) -> None:
        """Note the steps of a pipe; its ends belong to their ports and count for nobody."""
        for (x0, y0), (x1, y1) in pairwise(way):
            grid = self.level if y0 == y1 else self.upright
            for x, y in {(x0, y0), (x1, y1)} - {way[0], way[-1]}:
                share = 1 if self._counts(way, (x, y), (x0, y0)) else 0
                grid[x, y] += number * share

    @staticmethod
    def _counts(way: list[Cell], cell: Cell, first: Cell) -> bool:
        """A cell inside a straight piece is noted once, by the step that leaves it; at a corner once for each way."""
        at = way.index(cell)
        before, after = way[at - 1], way[at + 1]
        straight = (before[0] == after[0]) or (before[1] == after[1])
        return not straight or first == cell


def heading(dx: int, dy: int) -> int:
    """Number of a direction: east 0, south 1, west 2, north 3."""
    return {(1, 0): 0, (0, 1): 1, (-1, 0): 2, (0, -1): 3}[dx, dy]


def _walked(came: Any, start: tuple[int, int, int], goal: tuple[int, int, int]) -> list[Cell]:
    steps = ((1, 0), (0, 1), (-1, 0), (0, -1))
    x, y, way = goal
    cells = [(x, y)]
    while (x, y, way) != start:
        before = int(came[x, y, way])
        x, y, way = x - steps[way][0], y - steps[way][1], before
        cells.append((x, y))
    return cells[::-1]


def corners(cells: list[Cell]) -> list[Cell]:
    """The cells at which a way begins, turns and ends."""
    kept = [cells[0]]
    for before, here, after in zip(cells, cells[1:], cells[2:], strict=False):
        if not (before[0] == after[0] or before[1] == after[1]):
            kept.append(here)
    return [*kept, cells[-1]]
