"""Switches: changes of mode that people aboard may notice. Score, why-record, health and comparison count alike."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.run import Run

ASLEEP = "asleep"
"""Title of the candidate that is no mode: the car asleep."""


def switched(modes: NDArray[Any], minded: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Return at which places another mode runs than one place before, both of them minded.

    >>> switched(np.array([1, 2, 2, 3, 4]), np.array([True, True, True, True, False])).tolist()
    [1, 3]
    """
    return np.flatnonzero((modes[1:] != modes[:-1]) & minded[1:] & minded[:-1]) + 1


def switches_of(run: Run, aboard: NDArray[np.bool_]) -> int:
    """Return how often a run changed its mode from one step with people aboard to the next, waking not counted.

    aboard : whether people are, a value a step. A car that falls asleep or wakes, under dispatch or rules, does not
    switch. The state before the first step is no mode.
    """
    modes = np.asarray(run.series["mode"])[1:]
    awake = modes != 0.0 if run.mode_names[:1] == (ASLEEP,) else np.ones(modes.size, bool)
    return int(switched(modes, aboard & awake).size)


def per_hour(count: int, aboard: NDArray[np.bool_], dt_s: float) -> float | None:
    """Return a count an hour with people aboard; None if nobody was."""
    hours = float(np.sum(aboard)) * dt_s / 3600.0
    return count / hours if hours > 0.0 else None
