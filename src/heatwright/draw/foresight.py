"""Prices of pack heat over a trip: as run, the best found of a constant and of a path, and of the reduced model."""

from __future__ import annotations

import numpy as np

from heatwright.draw.curves import curves
from heatwright.study.foresee import Foresight
from heatwright.study.reference import Reference

POINTS = 241


def path_picture(found: Foresight) -> str:
    """SVG of the prices over time, from the start to the last decision."""
    t_s = np.linspace(0.0, found.run_path[-1][0], POINTS)
    paths = [("derived, as run", found.run_path)]
    paths += [(f"best found, {one.form}", one.path) for one in found.found if one.path is not None]
    if isinstance(found.reference, Reference):
        best = found.reference.best
        paths.append(
            ("dynamic programme, reduced model", tuple(zip(best.t_s.tolist(), best.prices[:, 0].tolist(), strict=True)))
        )
    lines = []
    for words, path in paths:
        lines.append((words, np.interp(t_s, [t for t, _ in path], [price for _, price in path]).tolist()))
    title = f"{found.plant}, {found.trip}: price of heat in the pack"
    return curves((t_s / 60.0).tolist(), lines, title=title, unit="J/J", x_title="time, min", height=320.0, dots=False)
