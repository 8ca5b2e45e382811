"""The ledger over time: what every term has come to at marks along a trip, so that any span of it closes."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.program import Program
from heatwright.kernel import plan

MARK_STEPS = 60
"""Most steps from one mark to the next."""


def pieces(steps: int, firsts: Iterable[int]) -> list[tuple[int, int]]:
    """Return first and one past the last step of every piece between marks; a segment begins at a mark."""
    edges = sorted({*range(0, steps, MARK_STEPS), steps, *(k for k in firsts if 0 < k < steps)})
    return list(pairwise(edges))


class Book:
    """Notes the kernel's sums, in the work array that it was begun with, while a trip is marched."""

    def __init__(self, program: Program, w: NDArray[np.float64]) -> None:
        self.program = program
        self.u, self.acc = plan.section(program.pi, w, "u"), plan.section(program.pi, w, "acc")
        self.u_start = self.u.copy()
        self.times: list[float] = []
        self.rows: list[NDArray[np.float64]] = []
        self.mark(0)

    def mark(self, step: int) -> None:
        """Note where every sum stands after so many steps."""
        self.times.append(step * self.program.dt_s)
        self.rows.append(np.concatenate((self.acc, self.u)))

    def closed(self) -> dict[str, NDArray[np.float64]]:
        """Return the times of the marks `t_s` [s] and what every term has come to by then [J].

        Terms are named and signed as in the ledger; a store's is minus what it gained since the start.
        """
        index, sums = self.program.index, np.array(self.rows)
        found = {"t_s": np.array(self.times)} | {name: sums[:, k] for k, name in enumerate(index.terms)}
        gained = sums[:, len(index.terms) :] - self.u_start
        return found | {f"stored_in_{name}": -gained[:, list(at)].sum(axis=1) for name, at in index.stores.items()}
