"""Reading small tables and fading between two marks, for compiled code."""

from __future__ import annotations

import numpy as np

from heatwright.physics.jit import kernel_jit


@kernel_jit
def fade(x: float, x_full: float, x_none: float) -> float:
    """Return 1 up to `x_full`, 0 from `x_none` on, straight between [-].

    f = clip((x_none - x) / (x_none - x_full), 0, 1); works for x_full > x_none as well (a rising limit).
    Parameters: `x`, `x_full`, `x_none` : float, one unit, x_full != x_none.
    Source: common practice.

    >>> fade(55.0, 50.0, 60.0), fade(-5.0, 0.0, -20.0)
    (0.5, 0.75)
    """
    return min(max((x_none - x) / (x_none - x_full), 0.0), 1.0)


@kernel_jit
def read_table(tables: np.ndarray, which: int, x: float) -> float:
    """Return table `which` at `x`, straight between its knots and level beyond its ends.

    Parameters: `tables` : array (table, 2, knot), [.., 0, :] rising knots, [.., 1, :] values; a short table
    repeats its last knot to fill its row; `which` : int; `x` : float.
    Source: common practice.

    >>> import numpy as np
    >>> read_table(np.array([[[0.0, 1.0, 1.0], [2.0, 6.0, 6.0]]]), 0, 0.25)
    3.0
    """
    last = tables.shape[2] - 1
    if x <= tables[which, 0, 0]:
        return tables[which, 1, 0]
    if x >= tables[which, 0, last]:
        return tables[which, 1, last]
    k = 1
    while tables[which, 0, k] < x:
        k += 1
    low, high = tables[which, 0, k - 1], tables[which, 0, k]
    return tables[which, 1, k - 1] + (tables[which, 1, k] - tables[which, 1, k - 1]) * (x - low) / (high - low)
