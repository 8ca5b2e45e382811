"""Simulated annealing of the symbols' cells, turns and port places; the compiled half of the placer.

A cell is a column and a row; a symbol has a turn (0..7: quarter turns, then mirrored ones) and for each port the
number of the place it takes. The cost adds up pipe length, the fewest bends each pipe needs, pipes that would cross
or run through a symbol, and wishes for where a symbol stands. Moves are drawn from one seed, so that the same graph
gives the same sheet.
"""

from __future__ import annotations

import math
from typing import Any

import numba
import numpy as np

from heatwright.physics import jit as _cache  # noqa: F401  compiled code is kept in the user's cache

PITCH_X, PITCH_Y = 15.0, 11.0
BEND, CROSS, BLOCK, SKEW, UPRIGHT = 7.0, 16.0, 14.0, 4.0, 1.5
HOT, COLD = 60.0, 0.4
REACH = 2.5


@numba.njit(cache=True)
def bends(ax: float, ay: float, adx: float, ady: float, bx: float, by: float, bdx: float, bdy: float) -> float:
    """Fewest bends of a right-angled way that leaves a along its direction and enters b against its own."""
    dx, dy = bx - ax, by - ay
    forth = adx * dx + ady * dy
    aside = abs(adx * dy - ady * dx)
    back = -(bdx * dx + bdy * dy)
    facing = adx * bdx + ady * bdy
    if facing < -0.5:
        if aside < 0.01:
            return 0.0 if forth > 0 else 4.0
        return 2.0 if forth >= 2.0 else 4.0
    if facing > 0.5:
        return 2.0
    return 1.0 if forth > 0 and back > 0 else 3.0


@numba.njit(cache=True)
def _port(node, port, cell, turn, taken, places):  # type: ignore[no-untyped-def]
    """Where a port lies and looks: x, y, dx, dy in grid steps."""
    x, y, dx, dy = places[node, taken[node, port]]
    way = turn[node]
    if way >= 4:
        y, dy = -y, -dy
    for _ in range(way % 4):
        x, y, dx, dy = -y, x, -dy, dx
    return cell[node, 0] * PITCH_X + x, cell[node, 1] * PITCH_Y + y, dx, dy


@numba.njit(cache=True)
def _pipe_cost(k, pipes, cell, turn, taken, places, used):  # type: ignore[no-untyped-def]
    a, pa, b, pb = pipes[k]
    ax, ay, adx, ady = _port(a, pa, cell, turn, taken, places)
    bx, by, bdx, bdy = _port(b, pb, cell, turn, taken, places)
    cost = abs(ax - bx) + abs(ay - by) + BEND * bends(ax, ay, adx, ady, bx, by, bdx, bdy)
    ca, ra, cb, rb = cell[a, 0], cell[a, 1], cell[b, 0], cell[b, 1]
    if ra == rb:
        for q in range(min(ca, cb) + 1, max(ca, cb)):
            cost += BLOCK * (used[q, ra] >= 0)
    elif ca == cb:
        for q in range(min(ra, rb) + 1, max(ra, rb)):
            cost += BLOCK * (used[ca, q] >= 0)
    else:
        cost += SKEW
    return cost


@numba.njit(cache=True)
def _stub(k, pipes, cell, turn, taken, places, stubs):  # type: ignore[no-untyped-def]
    a, pa, b, pb = pipes[k]
    ax, ay, adx, ady = _port(a, pa, cell, turn, taken, places)
    bx, by, bdx, bdy = _port(b, pb, cell, turn, taken, places)
    stubs[k, 0], stubs[k, 1] = ax + REACH * adx, ay + REACH * ady
    stubs[k, 2], stubs[k, 3] = bx + REACH * bdx, by + REACH * bdy


@numba.njit(cache=True)
def _meet(s, t):  # type: ignore[no-untyped-def]
    dx, dy, ex, ey = s[2] - s[0], s[3] - s[1], t[2] - t[0], t[3] - t[1]
    one = (dx * (t[1] - s[1]) - dy * (t[0] - s[0])) * (dx * (t[3] - s[1]) - dy * (t[2] - s[0]))
    other = (ex * (s[1] - t[1]) - ey * (s[0] - t[0])) * (ex * (s[3] - t[1]) - ey * (s[2] - t[0]))
    return one < -1e-6 and other < -1e-6


@numba.njit(cache=True)
def _wish(i, cell, turn, wishes, columns, rows):  # type: ignore[no-untyped-def]
    cost = UPRIGHT if turn[i] % 2 else 0.0
    if wishes[i, 0] >= 0:
        cost += wishes[i, 1] * abs(cell[i, 0] / max(columns - 1, 1) - wishes[i, 0]) * columns * PITCH_X * 0.25
    if wishes[i, 2] >= 0:
        cost += wishes[i, 3] * abs(cell[i, 1] / max(rows - 1, 1) - wishes[i, 2]) * rows * PITCH_Y * 0.25
    return cost


@numba.njit(cache=True)
def _around(one, two, data, cell, turn, taken, used, stubs, mark):  # type: ignore[no-untyped-def]
    """Cost of everything that touches one or two symbols; their stubs are brought up to date."""
    pipes, places, wishes = data
    columns, rows = used.shape
    cost = _wish(one, cell, turn, wishes, columns, rows)
    if two >= 0:
        cost += _wish(two, cell, turn, wishes, columns, rows)
    for k in range(len(pipes)):
        a, b = pipes[k, 0], pipes[k, 2]
        mark[k] = a == one or b == one or (two >= 0 and (a == two or b == two))
        if mark[k]:
            _stub(k, pipes, cell, turn, taken, places, stubs)
    for k in range(len(pipes)):
        if mark[k]:
            cost += _pipe_cost(k, pipes, cell, turn, taken, places, used)
            for j in range(len(pipes)):
                if j != k and not (mark[j] and j < k) and _meet(stubs[k], stubs[j]):
                    cost += CROSS
    return cost


@numba.njit(cache=True)
def _total(data, cell, turn, taken, used, stubs):  # type: ignore[no-untyped-def]
    pipes, places, wishes = data
    cost = 0.0
    for i in range(len(cell)):
        cost += _wish(i, cell, turn, wishes, used.shape[0], used.shape[1])
    for k in range(len(pipes)):
        _stub(k, pipes, cell, turn, taken, places, stubs)
        cost += _pipe_cost(k, pipes, cell, turn, taken, places, used)
    for k in range(len(pipes)):
        for j in range(k):
            if _meet(stubs[k], stubs[j]):
                cost += CROSS
    return cost


@numba.njit(cache=True)
def _dress(rng, i, turn, taken, turns, skins, counts):  # type: ignore[no-untyped-def]
    """Another turn and another way of taking places for one symbol."""
    turn[i] = turns[i, rng.integers(0, counts[i, 1])]
    if counts[i, 2] > 0:
        pick = rng.integers(0, counts[i, 2])
        for p in range(counts[i, 0]):
            taken[i, p] = skins[i, pick, p]
    elif counts[i, 0] > 0:
        p, to = rng.integers(0, counts[i, 0]), rng.integers(0, counts[i, 3])
        for q in range(counts[i, 0]):
            if taken[i, q] == to:
                taken[i, q] = taken[i, p]
        taken[i, p] = to


@numba.njit(cache=True)
def _target(rng, cell, i, columns, rows, luck):  # type: ignore[no-untyped-def]
    """A cell to move to: a neighbour, or any; its own where only the turn changes."""
    if luck < 0.35:
        return cell[i, 0], cell[i, 1]
    if luck < 0.75:
        to_c = min(columns - 1, max(0, cell[i, 0] + rng.integers(-1, 2)))
        return to_c, min(rows - 1, max(0, cell[i, 1] + rng.integers(-1, 2)))
    return rng.integers(0, columns), rng.integers(0, rows)


@numba.njit(cache=True)
def _swap(i, j, to_c, to_r, cell, used):  # type: ignore[no-untyped-def]
    """Put symbol i into a cell, and symbol j, if there is one in it, where i was."""
    c, r = cell[i, 0], cell[i, 1]
    cell[i, 0], cell[i, 1] = to_c, to_r
    used[to_c, to_r] = i
    used[c, r] = j
    if j >= 0:
        cell[j, 0], cell[j, 1] = c, r


@numba.njit(cache=True)
def anneal(
    rng: Any, steps: int, data: Any, cell: Any, turn: Any, taken: Any, used: Any, pinned: Any, turns: Any, skins: Any,
    counts: Any,
) -> Any:  # fmt: skip
    """Best (cost, cells, turns, places) met on the way; the arrays given are used up."""
    n, columns, rows = len(cell), used.shape[0], used.shape[1]
    stubs = np.zeros((len(data[0]), 4))
    mark = np.zeros(len(data[0]), dtype=np.bool_)
    total = _total(data, cell, turn, taken, used, stubs)
    best, best_cell, best_turn, best_taken = total, cell.copy(), turn.copy(), taken.copy()
    for step in range(steps):
        heat = HOT * (COLD / HOT) ** (step / steps)
        i = rng.integers(0, n)
        c, r = cell[i, 0], cell[i, 1]
        to_c, to_r = _target(rng, cell, i, columns, rows, 0.0 if pinned[i] else rng.random())
        moved = to_c != c or to_r != r
        j = used[to_c, to_r] if moved else -1
        if j >= 0 and pinned[j]:
            continue
        before = _around(i, j, data, cell, turn, taken, used, stubs, mark)
        old_turn, old_taken = turn[i], taken[i].copy()
        if moved:
            _swap(i, j, to_c, to_r, cell, used)
        if not moved or rng.random() < 0.5:
            _dress(rng, i, turn, taken, turns, skins, counts)
        gain = _around(i, j, data, cell, turn, taken, used, stubs, mark) - before
        if gain > 0 and rng.random() >= math.exp(-gain / heat):
            turn[i] = old_turn
            taken[i] = old_taken
            if moved:
                _swap(i, j, c, r, cell, used)
            _around(i, j, data, cell, turn, taken, used, stubs, mark)
            continue
        total += gain
        if total < best - 1e-9:
            best = total
            best_cell[:], best_turn[:], best_taken[:] = cell, turn, taken
    return best, best_cell, best_turn, best_taken
