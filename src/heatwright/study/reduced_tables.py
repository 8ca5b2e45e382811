"""Menus of a reduced model at the states of each step's box: filled beside each other, less what is best nowhere."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from heatwright.dispatch.reduced import Menu, Reduced, Step
from heatwright.kernel.induction import S_ABOARD, S_BAND, S_COMFORT_W, S_SET, S_WAITING_W
from heatwright.kernel.menu import E_AIR, E_CABIN, E_J, E_PACK, E_S, N_EFFECT
from heatwright.study.draws import cores, side_by_side

Floats = NDArray[np.float64]
Counts = tuple[int, int, int]
BEST_LINES = 3
"""Lines of a menu kept for each price and state."""
COARSE = 6
"""Of so many steps, one is looked through with every candidate, to find those that are best anywhere."""
WIDE = np.array(
    [(p, d, c) for p in (-1.0, -0.3, 0.0, 0.2, 0.5, 0.8, 1.1, 2.0) for d in (-0.3, 0.0, 0.5) for c in (-1.5, 0.0, 1.5)]
)
"""Prices of heat in pack, drive unit and cabin under which such a step is looked through [J/J]."""


class Tables:
    """Menus of steps at `known_at` states of their boxes (see `kernel.induction.between`)."""

    def __init__(self, model: Reduced, knobs: Floats, only: NDArray[np.bool_] | None, known_at: Counts) -> None:
        """knobs, only : as of `Menu`."""
        self.model, self.known_at = model, known_at
        self._desks = [(Menu(model, knobs, only), model.fresh()) for _ in range(cores())]
        self.owner, self.candidates = self._desks[0][0].owner, self._desks[0][0].desk.rows.shape[0]

    def walk(self, steps: Sequence[int], boxes: Sequence[Floats], grid: Counts) -> Iterator[tuple[int, Floats]]:
        """Yield (step, table of states, lines and effects) in the order of `steps`, some filled ahead."""
        ahead = 2 * cores()
        for first in range(0, len(steps), ahead):
            some = steps[first : first + ahead]
            yield from zip(some, side_by_side(lambda k: self._table(k, boxes[k], grid), some), strict=True)

    def _table(self, k: int, box: Floats, grid: Counts) -> Floats:
        n = self.known_at
        axes = [box[2 * s] + box[2 * s + 1] * (grid[s] - 1) * np.arange(n[s]) / (n[s] - 1) for s in range(3)]
        menu, w = self._desks.pop()
        table = np.zeros((int(np.prod(n)), menu.lines, N_EFFECT))
        for i, t_k in enumerate(np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)):
            self.model.put(w, self.model.steps[k], t_k)
            menu.fill(w, k, table[i].reshape(-1))
        self._desks.append((menu, w))
        return table


def ever_best(tables: Tables, boxes: Sequence[Floats], grid: Counts) -> NDArray[np.bool_]:
    """Return which candidates are among the best at one state of some steps under one of many prices."""
    model, out = tables.model, np.zeros(tables.candidates, bool)
    for k, table in tables.walk(range(0, len(model.steps), COARSE), boxes, grid):
        out[tables.owner[worth_keeping(table, model.steps[k], model.caps, WIDE)]] = True
    return out


def worth_keeping(table: Floats, step: Step, caps: Floats, prices: Floats) -> NDArray[np.int64]:
    """Return the lines of a table that are among the best at one of its states, or on the mean, under one price."""
    off_k = np.maximum(np.abs(table[:, :, E_AIR] - step.stage[S_SET]) - step.stage[S_BAND], 0.0)
    watts = step.stage[S_WAITING_W] + step.stage[S_ABOARD] * step.stage[S_COMFORT_W] * off_k
    cost = table[:, :, E_J] + watts * table[:, :, E_S]
    worth = (caps * prices).T
    kept = [np.zeros(0, np.int64)]
    for one, rise in zip([*cost, cost.mean(axis=0)], [*table, table.mean(axis=0)], strict=True):
        able = np.flatnonzero(np.isfinite(one))
        if able.size > 0:
            total = one[able, None] - rise[able, E_PACK : E_CABIN + 1] @ worth
            n = min(BEST_LINES, able.size)
            kept.append(able[np.argpartition(total, n - 1, axis=0)[:n]].ravel())
    return np.unique(np.concatenate(kept))


def slopes(v: Floats, box: Floats, grid: Counts, caps: Floats, most: int, outside: float) -> Floats:
    """Return prices met on a grid [J/J]: the slopes in `most` of its cells, and those that lead back into it."""
    values = v.reshape(grid)
    rises = [np.diff(values, axis=0)[:, :-1, :-1], np.diff(values, axis=1)[:-1, :, :-1], np.diff(values, axis=2)]
    rises[2] = rises[2][:-1, :-1]
    met = np.stack([-one.ravel() / (box[2 * s + 1] * caps[s]) for s, one in enumerate(rises)], axis=1)
    met = met[np.isfinite(met).all(axis=1)]
    some = met[np.unique(np.linspace(0, met.shape[0] - 1, most).astype(int))] if met.size else np.zeros((1, 3))
    back = outside * np.concatenate([np.eye(3), -np.eye(3)])
    return np.concatenate([some, some.mean(axis=0) + back])
