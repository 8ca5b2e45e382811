"""Cut a long series down to what the eye can see: the least and the greatest value of each pixel column."""

from __future__ import annotations

import numpy as np

from heatwright.draw.svg import num


def columns(x_px: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Points with at most four values a pixel column: first, least, greatest, last. No extreme is lost.

    `x_px` must not fall. A column that holds no finite value becomes one NaN, which breaks the line.
    """
    if len(x_px) <= 2 * (abs(x_px[-1] - x_px[0]) + 1):
        return x_px.astype(float), y.astype(float)
    cell = np.floor(x_px).astype(np.int64)
    starts = np.flatnonzero(np.diff(cell, prepend=cell[0] - 1))
    ends = np.append(starts[1:], len(cell)) - 1
    finite = np.isfinite(y)
    low = np.minimum.reduceat(np.where(finite, y, np.inf), starts)
    high = np.maximum.reduceat(np.where(finite, y, -np.inf), starts)
    first, last = y[starts], y[ends]
    rising = last >= first
    near, far = np.where(rising, low, high), np.where(rising, high, low)
    packed = np.stack([first, near, far, last], axis=1).astype(float)
    packed[~np.isfinite(low)] = np.nan
    return np.repeat(cell[starts], 4).astype(float), packed.ravel()


def path(x_px: np.ndarray, y_px: np.ndarray) -> str:
    """SVG path through the points; runs of equal height are joined, NaN breaks the line."""
    x, y = np.round(x_px, 1), np.round(y_px, 1)
    whole = np.isfinite(y)
    keep = np.ones(len(x), dtype=bool)
    flat = (y[1:-1] == y[:-2]) & (y[1:-1] == y[2:])
    upright = (x[1:-1] == x[:-2]) & (x[1:-1] == x[2:]) & ((y[1:-1] - y[:-2]) * (y[2:] - y[1:-1]) > 0)
    keep[1:-1] = ~(flat | upright)
    parts: list[str] = []
    pen_down = False
    for k in np.flatnonzero(keep | ~whole):
        if not whole[k]:
            pen_down = False
            continue
        parts.append(f"{'L' if pen_down else 'M'}{num(float(x[k]))} {num(float(y[k]))}")
        pen_down = True
    return "".join(parts)
