"""The best found on a reduced model of a plant by dynamic programming, and what the dispatch makes of the same model.

Both march the same steps, score and settings of the car; humidity and the cost of switching are left out on both sides.
It is no proven optimum of the plant: grids, levels and the model itself stand in between.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.dispatch.prices import derive_prices
from heatwright.dispatch.reduced import BRAKE_GRID_K, Menu, Reduced
from heatwright.kernel.induction import back_up, value_at
from heatwright.kernel.menu import N_EFFECT
from heatwright.study.reduced_march import (
    March,
    PriceOf,
    ThreePrices,
    constant,
    learn_knobs,
    march_dispatch,
    march_to,
    priced_goal,
    under,
)

Floats = NDArray[np.float64]
Grid = tuple[int, int, int]
REFERENCE = "best found on a reduced model by dynamic programming, not a proven optimum of the plant"
STEP_S = 60.0
GRID: Grid = (17, 7, 7)
"""Points of the grid of each step: pack, drive unit, cabin interior."""
PASSES = 2
"""The first grid spans what marches under far prices visit, each further one what is visited by the best found."""
KNOWN_AT = (3, 2, 2)
"""States of each step's box that menus are worked out at."""
MARGIN_K = np.array([1.5, 5.0, 3.0])
LEAST_WIDTH_K = np.array([4.0, 12.0, 8.0])
KNOB_SHARES = (0.2, 0.5, 0.9)
"""Flow knobs of a menu, as shares of their range."""
SPREAD = ((-0.5, 0.0, 0.0), (0.5, 0.0, 0.0), (1.5, 0.5, 0.5), (0.3, -0.5, -0.5))
"""Prices of heat in pack, drive unit and cabin [J/J] whose marches span the boxes of the first grid."""
CONSTANTS = (0.0, 0.2, 0.5, 0.8, 1.1)
"""Constant prices of heat in the pack that the dispatch is marched under [J/J]."""
OUTSIDE_PRICE = 6.0
"""Cost of heat that leads out of the boxes, either way [J/J]: above all prices of use."""


@dataclass(frozen=True, eq=False)
class Value:
    """The cost to go at every step and the end: values [J] and boxes (see `kernel.induction.value_at`)."""

    grid: Grid
    v: tuple[Floats, ...]
    boxes: tuple[Floats, ...]

    def at(self, k: int, t_k: Floats) -> float:
        """Return the cost to go [J] before step `k`."""
        return float(value_at(self.v[k], self.boxes[k], *self.grid, float(t_k[0]), float(t_k[1]), float(t_k[2])))

    def prices(self, k: int, t_k: Floats, caps: Floats) -> ThreePrices:
        """Return what a joule in each store saves from step `k` on [J/J]: the slope over one spacing of the grid."""
        low, spacing = self.boxes[k][0:6:2], self.boxes[k][1:6:2]
        inside = np.clip(t_k, low + 0.5 * spacing, low + (np.array(self.grid) - 1.5) * spacing)
        halves = np.diag(0.5 * spacing)
        slopes = [(self.at(k, inside - half) - self.at(k, inside + half)) for half in halves]
        pack, drive, cabin = (float(s) for s in np.array(slopes) / (spacing * caps))
        return pack, drive, cabin


@dataclass(frozen=True, eq=False)
class Reference:
    """What was found on the reduced model.

    best : the march of the dynamic programme. dispatch : under derived prices. same_terms : derived prices too, but
    chosen by the score itself. none_kwh, constant, constant_kwh : the dispatch without prices, and at the best of some
    constant prices of heat in the pack.
    """

    step_s: float
    grid: Grid
    best: March
    dispatch: March
    same_terms: March
    none_kwh: float
    constant: float
    constant_kwh: float

    @property
    def gap_percent(self) -> float:
        """Return how far the dispatch lies above the best found [%]."""
        return 100.0 * (self.dispatch.score_kwh / self.best.score_kwh - 1.0)

    @property
    def price_gap_percent(self) -> float:
        """Return the same of derived prices where the score itself chooses [%]."""
        return 100.0 * (self.same_terms.score_kwh / self.best.score_kwh - 1.0)

    def as_json(self) -> dict[str, Any]:
        """Return everything as plain JSON values."""
        keys = ("t_s", "pack", "drive", "cabin")
        path = [dict(zip(keys, (t, *row), strict=True)) for t, row in zip(self.best.t_s, self.best.prices, strict=True)]
        return {
            "dp_kwh": self.best.score_kwh, "dispatch_kwh": self.dispatch.score_kwh, "gap_percent": self.gap_percent,
            "same_terms_kwh": self.same_terms.score_kwh, "price_gap_percent": self.price_gap_percent,
            "no_prices_kwh": self.none_kwh, "constant_price": self.constant, "constant_kwh": self.constant_kwh,
            "step_s": self.step_s, "grid": list(self.grid), "dp_prices": path,
        }  # fmt: skip


def reference(
    model: Reduced, grid: Grid = GRID, passes: int = PASSES, each: Callable[[], Any] = lambda: None
) -> Reference:
    """Return the best found on a reduced model by dynamic programming, and the dispatch beside it.

    grid : points of each step's grid along pack, drive unit and cabin interior, each two or more. each() is called
    after every step of an induction, `passes` times the steps of the model.
    """
    prices = derive_prices(model.program, model.settings)
    derived = under(model, prices)
    own = march_dispatch(model, derived)
    levels = {level: march_dispatch(model, constant(model, prices, (level, 0.0, 0.0))) for level in CONSTANTS}
    marches = [own, *levels.values()]
    marches += [march_dispatch(model, constant(model, prices, one)) for one in SPREAD]
    plain = plain_knobs(model)
    learnt = learn_knobs(model, own, derived)
    menu = Menu(model, plain)
    same, _ = march_to(model, menu, priced_goal(model, derived), derived)
    found: list[March] = [same]
    used = None
    for _ in range(passes):
        value, used = induce(model, menu, boxes_around(model, marches, grid), grid, each)
        march, knobs = _towards(model, menu, value, derived)
        found.append(march)
        marches = [own, same, march]
        menu = Menu(model, np.concatenate([plain, [learnt, knobs]]), used)
    level = min(levels, key=lambda one: levels[one].score_kwh)
    best = min(found[1:], key=lambda one: one.score_kwh)
    return Reference(
        model.step_s, grid, best, own, same, levels[0.0].score_kwh, level, levels[level].score_kwh
    )  # fmt: skip


def _towards(model: Reduced, menu: Menu, value: Value, derived: PriceOf) -> tuple[March, Floats]:
    size = np.array(value.grid, float)
    return march_to(
        model, menu, lambda k, _: (value.v[k + 1], value.boxes[k + 1], size),
        lambda k, t_k: value.prices(k + 1, t_k, model.caps), [derived],
    )  # fmt: skip


def plain_knobs(model: Reduced) -> Floats:
    """Return knobs at shares of their ranges, the same for all steps and candidates."""
    desk = model.desk()
    presets = desk.knob_least + np.array(KNOB_SHARES)[:, None] * (desk.knob_most - desk.knob_least)
    shape = (len(KNOB_SHARES), len(model.steps), *desk.knob.shape)
    return np.broadcast_to(presets[:, None, None, :], shape).copy()


def boxes_around(model: Reduced, marches: Iterable[March], grid: Grid) -> tuple[Floats, ...]:
    """Return a box for every step and the end that holds what some marches visit, with a margin."""
    visited = np.array([one.stores_k for one in marches])
    low, high = visited.min(axis=0) - MARGIN_K, visited.max(axis=0) + MARGIN_K
    more = np.maximum(LEAST_WIDTH_K - (high - low), 0.0)
    low, high = low - 0.5 * more, high + 0.5 * more
    spacing = (high - low) / (np.array(grid) - 1.0)
    cost = OUTSIDE_PRICE * model.caps
    return tuple(np.concatenate([np.stack([a, b], axis=1).ravel(), cost]) for a, b in zip(low, spacing, strict=True))


def induce(
    model: Reduced, menu: Menu, boxes: tuple[Floats, ...], grid: Grid, each: Callable[[], Any] = lambda: None
) -> tuple[Value, NDArray[np.bool_]]:
    """Return the cost to go and which candidates are best anywhere; each() is called after every step."""
    n = len(model.steps)
    v: list[Floats] = [np.zeros(int(np.prod(grid)))] * (n + 1)
    size, known = np.array(grid, float), np.array(KNOWN_AT, float)
    w, best = model.fresh(), np.zeros(menu.desk.rows.shape[0], bool)
    for k in range(n - 1, -1, -1):
        step, box = model.steps[k], boxes[k]
        table, owner = _menus(model, menu, w, k, box, grid)
        here, t, own = np.zeros(owner.size * N_EFFECT), np.zeros(3), np.zeros(v[0].size)
        used = np.zeros(owner.size, np.uint32)
        back_up(
            table.ravel(), owner.size, known, box, size, v[k + 1], boxes[k + 1], step.stage, BRAKE_GRID_K,
            step.brake_w, here, t, own, used,
        )  # fmt: skip
        v[k] = own
        best[owner[used > 0]] = True
        each()
    return Value(grid, tuple(v), boxes), best


def _menus(
    model: Reduced, menu: Menu, w: Floats, k: int, box: Floats, grid: Grid
) -> tuple[Floats, NDArray[np.int64]]:  # fmt: skip
    """Return the menus at the states of a box where they are known, less lines that none can do, and their owners."""
    axes = [
        box[2 * s] + box[2 * s + 1] * (grid[s] - 1) * np.arange(KNOWN_AT[s]) / (KNOWN_AT[s] - 1) for s in range(3)
    ]  # fmt: skip
    table = np.zeros((int(np.prod(KNOWN_AT)), menu.lines, N_EFFECT))
    for i, t_k in enumerate(np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)):
        model.put(w, model.steps[k], t_k)
        menu.fill(w, k, table[i].reshape(-1))
    able = np.isfinite(table[:, :, 0]).any(axis=0)
    return np.ascontiguousarray(table[:, able]), menu.owner[able]
