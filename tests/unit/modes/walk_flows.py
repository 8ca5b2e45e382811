"""Which pipes of a small network carry flow, and which way: a nodal solve under several draws of sizes.

It shares no code with the atlas. A pipe whose removal parts its two ends is a bridge and never flows. The rest is
solved as a network of linear resistances with pumps as heads; every pattern of open and shut check valves is tried
until one agrees with itself. Draws that disagree about a direction make the answer unsure.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from functools import cache
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

DRAWS = 8
SPREAD = 0.05
SHUT = 1e-9
STILL = 1e-6
"""Conductance of a shut check valve, and the flow that counts as none, where open pipes and heads are about one."""
SEED = 4711

Floats = NDArray[np.float64]


class Pipe(NamedTuple):
    """A branch between two nodes; `push` counts its running movers, `check` lets nothing back."""

    name: str
    start: Hashable
    end: Hashable
    push: int
    check: bool


class Flow(NamedTuple):
    """The sign of the flow of each pipe that flows, and whether sizes could change it."""

    signs: dict[str, int]
    sure: bool


def solve_signs(pipes: Iterable[Pipe]) -> Flow:
    """Which pipes flow, and which way (1 as written, -1 against it)."""
    return _solved(frozenset(pipes))


@cache
def _solved(pipes: frozenset[Pipe]) -> Flow:
    live = sorted((pipe for pipe in pipes if _on_a_cycle(pipe, pipes)), key=lambda pipe: pipe.name)
    if not any(pipe.push for pipe in live):
        return Flow({}, True)
    signs = _signs(live)
    sure = bool((signs == signs[0]).all())
    return Flow({pipe.name: int(sign) for pipe, sign in zip(live, signs[0], strict=True) if sign}, sure)


def _on_a_cycle(pipe: Pipe, pipes: frozenset[Pipe]) -> bool:
    """Whether the pipe's end still hangs together with its start once the pipe itself is taken out."""
    return pipe.end in reached(pipe.start, [other for other in pipes if other != pipe])


def reached(start: Hashable, pipes: Iterable[Pipe]) -> set[Hashable]:
    """All nodes that hang together with `start`."""
    left = list(pipes)
    found = {start}
    grown = True
    while grown:
        near = [pipe for pipe in left if pipe.start in found or pipe.end in found]
        left = [pipe for pipe in left if pipe not in near]
        grown = bool(near)
        found.update(end for pipe in near for end in (pipe.start, pipe.end))
    return found


def _signs(pipes: Sequence[Pipe]) -> NDArray[np.int64]:
    """Signs of the flows, a row a draw: all pipes alike and all pumps alike, but for a spread of a twentieth."""
    rng = np.random.default_rng(SEED)
    g_open = rng.uniform(1.0 - SPREAD, 1.0 + SPREAD, (DRAWS, len(pipes)))
    head = rng.uniform(1.0 - SPREAD, 1.0 + SPREAD, (DRAWS, len(pipes))) * [pipe.push for pipe in pipes]
    checks = np.array([pipe.check for pipe in pipes])
    signs = np.full((DRAWS, len(pipes)), 9)
    for pattern in product((False, True), repeat=int(checks.sum())):
        shut = np.zeros(len(pipes), bool)
        shut[checks] = pattern
        q = _flows(pipes, np.where(shut, SHUT * g_open, g_open), head)
        agrees = np.where(shut, q <= SHUT * STILL, ~checks | (q >= -STILL)).all(axis=1)
        found = np.where(shut | (np.abs(q) <= STILL), 0, np.sign(q)).astype(int)
        fresh = agrees & (signs[:, 0] == 9)
        signs[fresh] = found[fresh]
        if (signs[:, 0] != 9).all():
            return signs
    raise AssertionError(f"no pattern of check valves agrees with itself: {pipes}")


def _flows(pipes: Sequence[Pipe], g: Floats, head: Floats) -> Floats:
    """Flow of each pipe, a row a draw: g times (pressure at its start - pressure at its end + head)."""
    nodes = list(dict.fromkeys(node for pipe in pipes for node in (pipe.start, pipe.end)))
    along = np.zeros((len(pipes), len(nodes)))
    for i, pipe in enumerate(pipes):
        along[i, nodes.index(pipe.start)] += 1.0
        along[i, nodes.index(pipe.end)] -= 1.0
    matrix = along.T @ (g[:, :, None] * along)
    for piece in {frozenset(reached(node, pipes)) for node in nodes}:
        here = np.array([node in piece for node in nodes], float)
        matrix += np.outer(here, here)  # the mean pressure of each piece is zero
    pressure = np.linalg.solve(matrix, -((g * head) @ along)[:, :, None])[:, :, 0]
    return g * (pressure @ along.T + head)
