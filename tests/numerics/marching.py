"""Marches bare programs for the tests of numerics."""

from __future__ import annotations

import numpy as np

from heatwright.compiler.program import Program
from heatwright.kernel import march, plan
from heatwright.outcome import ledger


def march_bare(program: Program, high: bool = False) -> tuple[np.ndarray, dict]:
    """Return temperatures [degC] at every step edge (steps + 1, nodes) and the ledger."""
    n = program.rows.shape[0]
    size = len(program.index.nodes)
    cols = np.array([program.place("tau", k) for k in range(size)], np.uint32)
    record = np.zeros((n, size), np.float32)
    w = program.start()
    march.prepare(program.pi, program.pf, w, program.rows[0])
    u0 = plan.section(program.pi, w, "u").copy()
    end = np.zeros((n + 1, size))
    end[0] = plan.section(program.pi, w, "tau")
    for k in range(n):
        march.march(
            program.pi,
            program.pf,
            w,
            program.rows[k : k + 1],
            program.dt_s,
            high,
            False,
            np.zeros((1, 1)),
            cols,
            record[:1],
        )
        end[k + 1] = plan.section(program.pi, w, "tau")
    return end, ledger(program, w, u0)
