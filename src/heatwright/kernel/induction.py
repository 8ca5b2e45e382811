"""Backward induction over three stores of heat: the least cost to go, from the last step to the first.

What can be done is a menu (kernel.menu) known at a few states of each step; its effects run straight between them, and
so does the cost to go between the points of its grid.  All grids are even, each step's over a box of its own.
"""

from __future__ import annotations

import math

from heatwright.kernel.menu import E_AIR, E_CABIN, E_DRIVE, E_J, E_PACK, E_S, N_EFFECT
from heatwright.kernel.plan import Floats, Ints
from heatwright.physics.fast_charge import ageing_cost_w
from heatwright.physics.heat_price import table_price
from heatwright.physics.jit import kernel_jit

(S_ABOARD, S_SET, S_WAITING_W, S_COMFORT_W, S_BAND, S_AGEING_W, S_AGEING_FROM, S_AGEING_DOUBLE) = range(8)
N_STAGE = 8
"""What a step is scored by: people aboard [0-1], set-point [K], cost of waiting [W]; comfort [W/K] beyond a band [K];
ageing [W], from [K], doubling [K]."""


@kernel_jit
def value_at(v: Floats, box: Floats, n0: int, n1: int, n2: int, a: float, b: float, c: float) -> float:
    """Return the cost to go [J] at stores of a, b and c [K].

    box : low and spacing of each store [K], then what a kelvin outside the grid costs [J/K]: it is to be stayed in.
    """
    x = (a - box[0]) / box[1]
    y = (b - box[2]) / box[3]
    z = (c - box[4]) / box[5]
    x_in = min(max(x, 0.0), n0 - 1.0)
    y_in = min(max(y, 0.0), n1 - 1.0)
    z_in = min(max(z, 0.0), n2 - 1.0)
    outside = abs(x - x_in) * box[1] * box[6] + abs(y - y_in) * box[3] * box[7] + abs(z - z_in) * box[5] * box[8]
    x = x_in
    y = y_in
    z = z_in
    i = min(max(int(x), 0), n0 - 2)
    j = min(max(int(y), 0), n1 - 2)
    k = min(max(int(z), 0), n2 - 2)
    x -= i
    y -= j
    z -= k
    o = (i * n1 + j) * n2 + k
    p = o + n1 * n2
    near = (v[o] * (1.0 - z) + v[o + 1] * z) * (1.0 - y) + (v[o + n2] * (1.0 - z) + v[o + n2 + 1] * z) * y
    far = (v[p] * (1.0 - z) + v[p + 1] * z) * (1.0 - y) + (v[p + n2] * (1.0 - z) + v[p + n2 + 1] * z) * y
    return near * (1.0 - x) + far * x + outside


@kernel_jit
def stage_j(e: Floats, t_pack_k: float, stage: Floats, grid: Floats, brake_w: Floats) -> float:
    """Return what a step costs [J]: what it draws, and what people, their wait, cells and cold brakes come to."""
    watts = stage[S_WAITING_W] + table_price(t_pack_k, grid, brake_w)
    if stage[S_ABOARD] > 0.0:
        off = abs(e[E_AIR] - stage[S_SET]) - stage[S_BAND]
        watts += stage[S_ABOARD] * stage[S_COMFORT_W] * max(off, 0.0)
    end_k = t_pack_k + e[E_PACK]
    if end_k > stage[S_AGEING_FROM]:
        watts += ageing_cost_w(end_k, stage[S_AGEING_W], stage[S_AGEING_FROM], stage[S_AGEING_DOUBLE])
    return e[E_J] + watts * e[E_S]


@kernel_jit
def best_line(
    menu: Floats, lines: int, t: Floats, v: Floats, box: Floats, n: Floats, stage: Floats, grid: Floats, brake_w: Floats
) -> tuple[int, float]:
    """Return (line of a menu with the least cost of step and way onward, that cost [J]); (-1, infinite) of none."""
    best = math.inf
    found = -1
    n0, n1, n2 = int(n[0]), int(n[1]), int(n[2])
    for o in range(lines):
        e = menu[N_EFFECT * o : N_EFFECT * (o + 1)]
        if e[E_J] == math.inf:
            continue
        cost = stage_j(e, t[0], stage, grid, brake_w)
        cost += value_at(v, box, n0, n1, n2, t[0] + e[E_PACK], t[1] + e[E_DRIVE], t[2] + e[E_CABIN])
        if cost < best:
            best = cost
            found = o
    return found, best


@kernel_jit
def between(menu: Floats, lines: int, s: Floats, x: float, y: float, z: float, out: Floats) -> None:
    """Fill the menu at a place among the states it is known at, s along each store; x, y, z count from the first.

    A line that cannot be done at one of the states around it cannot be done.
    """
    s1, s2 = int(s[1]), int(s[2])
    i = min(int(x), int(s[0]) - 2)
    j = min(int(y), s1 - 2)
    k = min(int(z), s2 - 2)
    size = lines * N_EFFECT
    for o in range(size):
        out[o] = 0.0
    for corner in range(8):
        di = corner // 4
        dj = (corner // 2) % 2
        dk = corner % 2
        weight = (x - i if di == 1 else 1.0 - x + i) * (y - j if dj == 1 else 1.0 - y + j)
        weight *= z - k if dk == 1 else 1.0 - z + k
        if weight < 1e-9:
            continue
        first = (((i + di) * s1 + j + dj) * s2 + k + dk) * size
        for o in range(size):
            out[o] += weight * menu[first + o]


@kernel_jit
def back_up(
    menu: Floats, lines: int, s: Floats, box: Floats, n: Floats, v_next: Floats, box_next: Floats, stage: Floats,
    grid: Floats, brake_w: Floats, here: Floats, t: Floats, v: Floats, used: Ints,
) -> None:  # fmt: skip
    """Fill the cost to go of a step's grid from that of the next, and mark in `used` the lines that are best somewhere.

    here, t : room for one menu and one state.
    """
    n0, n1, n2 = int(n[0]), int(n[1]), int(n[2])
    for i in range(n0):
        for j in range(n1):
            for k in range(n2):
                x = i / (n0 - 1.0) * (s[0] - 1.0)
                y = j / (n1 - 1.0) * (s[1] - 1.0)
                z = k / (n2 - 1.0) * (s[2] - 1.0)
                between(menu, lines, s, x, y, z, here)
                t[0] = box[0] + i * box[1]
                t[1] = box[2] + j * box[3]
                t[2] = box[4] + k * box[5]
                found, best = best_line(here, lines, t, v_next, box_next, n, stage, grid, brake_w)
                v[(i * n1 + j) * n2 + k] = best
                if found >= 0:
                    used[found] = 1
