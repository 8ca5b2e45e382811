"""The elimination's flat programme: against a library's dense solver, and read with suspicion before it is used."""

import numpy as np
import pytest

from heatwright.compiler.elimination import plan_elimination
from heatwright.kernel import plan
from heatwright.kernel.heat import eliminate

RNG = np.random.default_rng(7)
SIZES = (1, 2, 5, 17, 40)


def packed(n: int, pairs: list[tuple[int, int]]) -> tuple[np.ndarray, dict[tuple[int, int], int]]:
    found = plan_elimination(n, pairs)
    pi, _, _ = plan.pack({"dim": [n, 0, len(found.slot)], "elim": found.programme}, {}, {})
    return pi, found.slot


@pytest.mark.parametrize("n", SIZES)
def test_solves_as_a_dense_solver_does(n: int) -> None:
    """An M-matrix on a random pattern, coupled strongly and one-sidedly; numpy.linalg.solve is the judge."""
    pairs = [(int(a), int(b)) for a, b in RNG.integers(0, n, (3 * n, 2)) if a != b]
    pi, slot = packed(n, pairs)
    dense = np.zeros((n, n))
    for a, b in pairs:
        dense[a, b] = -RNG.exponential(10.0)
    dense += np.diag(0.1 - dense.sum(axis=1))
    right = RNG.normal(size=n)
    entries = np.zeros(len(slot))
    for (i, j), k in slot.items():
        entries[k] = dense[i, j]
    solution = right.copy()
    eliminate(plan.section(pi, pi, "elim"), entries, solution)
    assert solution == pytest.approx(np.linalg.solve(dense, right), rel=1e-10, abs=1e-12)


def test_a_programme_that_does_not_hold_together_is_refused() -> None:
    """Every number of a whole programme, made too great, is noticed before compiled code reads it."""
    pi, _ = packed(5, [(0, 1), (1, 2), (2, 3), (3, 4), (4, 0)])
    first = int(pi[plan.I["elim"]])
    last = int(pi[plan.I["elim"] + 1])
    assert last - first > 40
    for place in range(first, last):
        broken = pi.copy()
        broken[place] = 1000
        with pytest.raises(IndexError, match="elim"):
            plan.validate(broken, np.zeros(0))
