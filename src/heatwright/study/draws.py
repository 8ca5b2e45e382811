"""Marches a plant through every draw of what is not known well, on all the cores there are."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.errors import RunError
from heatwright.plant.model import Plant
from heatwright.study.lean import lean_figures
from heatwright.study.service import Figures, Worth
from heatwright.study.unknowns import drawn


def march_draws(
    plant: Plant,
    program: Program,
    case: Any,
    factors: NDArray[np.float64],
    worth: Worth,
    each: Callable[[], Any] = lambda: None,
) -> list[Figures | None]:
    """March the plant once for every row of factors and return its figures in that order; None where it failed.

    program : the plant's own, compiled for the trip as driven; its driver rows are shared by all draws. case :
    what the service is measured against. each() is called after every march. Marches run beside each other on
    all the cores this process may use; every one gives the very numbers it would give alone.
    """

    def one(row: NDArray[np.float64]) -> Figures | None:
        try:
            return lean_figures(compile_program(drawn(plant, row.tolist()), case, like=program), case, worth)
        except RunError:
            return None

    out = []
    for result in side_by_side(one, factors):
        out.append(result)
        each()
    return out


def side_by_side(work: Callable[[Any], Any], items: Any) -> Iterator[Any]:
    """Yield work(item) in order; threads suffice, because the march lets go of the interpreter's lock."""
    pool = ThreadPoolExecutor(max_workers=cores())
    try:
        yield from pool.map(work, items)
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def cores() -> int:
    """Return how many cores this process may use."""
    allowed = getattr(os, "sched_getaffinity", None)
    return len(allowed(0)) if allowed else os.cpu_count() or 1
