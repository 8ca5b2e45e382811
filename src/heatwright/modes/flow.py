"""What flows, and which way, in one block of branches with some of its movers running.

A plain ring is decided by its movers' directions. A mesh is solved as linear resistances and heads with ideal check
valves: once with all branches and all movers as good as alike, which decides, and under several draws of both. A
direction that changes between draws "depends on sizing".
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from heatwright.modes.graph import Edge, Edges, ring_order

SIZING = "direction depends on sizing"
DRAWS = 24
SPREAD = 30.0
HEADS = (0.7, 1.4)
ALIKE = 0.01
"""How far sizes differ in the first draw: a bridge circuit in perfect balance would have no direction."""
SHUT = 1e-9
STILL = 1e-5
LEAK = 1e-7
"""Flow that a shut check valve may let through where open branches and heads are about one: nothing moves."""
AT_ONCE = 20


class Flow(NamedTuple):
    """A branch that flows: +1 in the direction written, -1 against it."""

    edge: Edge
    sign: int


class Driven(NamedTuple):
    """What running movers make of a block: the branches that flow, and those whose direction depends on sizing."""

    flows: frozenset[Flow]
    unsure: frozenset[str]

    def sign(self, branch: str) -> int:
        """Direction of one branch; 0 where it stands still."""
        return next((flow.sign for flow in self.flows if flow.edge.branch == branch), 0)


STANDS = Driven(frozenset(), frozenset())


def drive(block: Edges, heads: Mapping[str, int]) -> Driven:
    """What flows in a block; `heads` says how many movers run in each branch, all pushing as written.

    A plain ring whose movers push both ways, or against a check valve, stands.
    """
    if not heads:
        return STANDS
    ring = ring_order(block)
    if ring is None:
        return _mesh(block, heads)
    ways = {way for edge, way in ring if edge.branch in heads}
    if len(ways) > 1:
        return STANDS
    way = ways.pop()
    if any(edge.check and along != way for edge, along in ring):
        return STANDS
    return Driven(frozenset(Flow(edge, along * way) for edge, along in ring), frozenset())


def _mesh(block: Edges, heads: Mapping[str, int]) -> Driven:
    edges = sorted(block)
    signs = _signs(edges, np.array([float(heads.get(edge.branch, 0)) for edge in edges]))
    flows, unsure = [], set()
    for number, edge in enumerate(edges):
        found = signs[:, number]
        if found.min() != found.max():
            unsure.add(edge.branch)
        if found[0]:
            flows.append(Flow(edge, int(found[0])))
    return Driven(frozenset(flows), frozenset(unsure))


def _signs(edges: list[Edge], heads: np.ndarray) -> np.ndarray:
    """Direction (-1, 0, 1) of each edge under each draw, shape (draws, edges); the first draw has sizes alike."""
    nodes = {name: number for number, name in enumerate(sorted({e.start for e in edges} | {e.end for e in edges}))}
    meets = np.zeros((len(nodes), len(edges)))
    for number, edge in enumerate(edges):
        meets[nodes[edge.start], number] += 1.0
        meets[nodes[edge.end], number] -= 1.0
    meets = meets[1:]  # the first node is the reference
    conductance, factor = _draws(len(edges))
    push = heads * factor
    checks = np.array([edge.check for edge in edges])
    shut = np.zeros(conductance.shape, dtype=bool)
    for attempt in range(AT_ONCE + 100 * len(edges)):
        g = np.where(shut, SHUT, 1.0) * conductance
        matrix = np.einsum("ne,de,me->dnm", meets, g, meets)
        right = -np.einsum("ne,de->dn", meets, g * push)
        height = np.linalg.solve(matrix, right[..., None])[..., 0]
        flow = g * (np.einsum("ne,dn->de", meets, height) + push)
        wrong = checks & (np.where(shut, flow > 0.0, flow < -SHUT))
        if not wrong.any():
            break
        if attempt >= AT_ONCE:  # one at a time, the lowest first: this always ends
            first = wrong.argmax(axis=1)
            only = np.zeros_like(wrong)
            only[np.arange(len(first)), first] = True
            wrong &= only
        shut ^= wrong
    else:
        raise ArithmeticError("the check valves of a mesh do not settle")
    flow = np.where(shut, 0.0, flow)
    most = np.abs(flow).max(axis=1, keepdims=True)
    return np.where(np.abs(flow) <= np.maximum(STILL * most, LEAK), 0, np.sign(flow)).astype(int)


@lru_cache(maxsize=64)
def _draws(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Conductances and head factors of so many edges, each of shape (draws, edges); the same every time."""
    random = np.random.default_rng(7)
    conductance = SPREAD ** random.uniform(-1.0, 1.0, (DRAWS, count))
    factor = random.uniform(*HEADS, (DRAWS, count))
    conductance[0], factor[0] = random.uniform(1.0 - ALIKE, 1.0 + ALIKE, (2, count))
    return conductance, factor
