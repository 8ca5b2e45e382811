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
from heatwright.study.draws import side_by_side
from heatwright.study.reduced_forms import CONSTANT_MARCHES, Constants, Form, along, form, named, same_terms
from heatwright.study.reduced_march import (
    March,
    PriceOf,
    ThreePrices,
    constant,
    learn_knobs,
    march_dispatch,
    march_to,
    under,
)
from heatwright.study.reduced_tables import Counts, Tables, ever_best, slopes, worth_keeping

Floats = NDArray[np.float64]
Grid = Counts
REFERENCE = "best found on a reduced model by dynamic programming, not a proven optimum of the plant"
STEP_S = 60.0
GRID: Grid = (17, 7, 7)
"""Points of the grid of each step: pack, drive unit, cabin interior."""
PASSES = 2
"""The first grid spans what marches under far prices visit, each further one what is visited by the best found."""
KNOWN_AT = (3, 2, 2)
"""States of each step's box that menus are worked out at."""
NEAR = 1.03
"""Score of a march over the lowest, up to which the grid of the next pass spans what it visits."""
MARGIN_K = np.array([1.5, 5.0, 3.0])
LEAST_WIDTH_K = np.array([4.0, 12.0, 8.0])
KNOB_SHARES = (0.2, 0.5, 0.9)
"""Flow knobs of a menu, as shares of their range."""
SPREAD = ((-0.5, 0.0, 0.0), (0.5, 0.0, 0.0), (1.5, 0.5, 0.5), (0.3, -0.5, -0.5))
"""Prices of heat in pack, drive unit and cabin [J/J] whose marches span the boxes of the first grid."""
SLOPES = 48
"""Prices met in the step after, under which a menu is looked through for lines that are best anywhere."""
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

    best : the march of the dynamic programme. forms : derived prices, the best found constant ones, the programme's own
    along its march ("path"), and its own wherever the march goes ("local"). none_kwh, pack_price, pack_kwh : the
    dispatch without prices, and at the best of some constant prices of heat in the pack alone.
    """

    step_s: float
    grid: Grid
    best: March
    forms: tuple[Form, ...]
    none_kwh: float
    pack_price: float
    pack_kwh: float

    def form(self, name: str) -> Form:
        """Return one form of prices by its name."""
        return next(one for one in self.forms if one.name == name)

    @property
    def dispatch(self) -> March:
        """Return the march of the dispatch under derived prices."""
        return self.form("derived").dispatch

    @property
    def same_terms(self) -> March:
        """Return the march under derived prices of which every step is chosen by the score itself."""
        return self.form("derived").same_terms

    def above_percent(self, march: March) -> float:
        """Return how far a march lies above the best found [%]."""
        return 100.0 * (march.score_kwh / self.best.score_kwh - 1.0)

    @property
    def gap_percent(self) -> float:
        """Return how far the dispatch lies above the best found [%]."""
        return self.above_percent(self.dispatch)

    @property
    def price_gap_percent(self) -> float:
        """Return the same of derived prices where the score itself chooses [%]."""
        return self.above_percent(self.same_terms)

    def as_json(self) -> dict[str, Any]:
        """Return everything as plain JSON values."""
        path = [{"t_s": t, **named(row)} for t, row in zip(self.best.t_s, self.best.prices, strict=True)]
        return {
            "dp_kwh": self.best.score_kwh, "dispatch_kwh": self.dispatch.score_kwh, "gap_percent": self.gap_percent,
            "same_terms_kwh": self.same_terms.score_kwh, "price_gap_percent": self.price_gap_percent,
            "forms": [self._form_json(one) for one in self.forms],
            "no_prices_kwh": self.none_kwh, "constant_price": self.pack_price, "constant_kwh": self.pack_kwh,
            "step_s": self.step_s, "grid": list(self.grid), "dp_prices": path,
        }  # fmt: skip

    def _form_json(self, one: Form) -> dict[str, Any]:
        return {
            "form": one.name, "dispatch_kwh": one.dispatch.score_kwh, "gap_percent": self.above_percent(one.dispatch),
            "same_terms_kwh": one.same_terms.score_kwh, "same_terms_gap_percent": self.above_percent(one.same_terms),
            "levels": None if one.levels is None else named(one.levels), "marches": one.marches,
        }  # fmt: skip


def reference(
    model: Reduced,
    grid: Grid = GRID,
    passes: int = PASSES,
    each: Callable[[], Any] = lambda: None,
    evaluations: int = CONSTANT_MARCHES,
) -> Reference:
    """Return the best found on a reduced model by dynamic programming, and the dispatch beside it.

    grid : points of each step's grid along pack, drive unit and cabin interior, each two or more. each() is called
    after every step of an induction, `passes` times the steps of the model. evaluations : marches that the search for
    the best constant prices may take.
    """
    prices = derive_prices(model.program, model.settings)
    derived = under(model, prices)
    own = march_dispatch(model, derived)
    levels = Constants(model, prices, evaluations)
    spread = list(side_by_side(lambda one: march_dispatch(model, constant(model, prices, one)), SPREAD))
    plain = plain_knobs(model)
    offered, found = plain, []
    marches = [own, *levels.marches(), *spread]
    boxes = boxes_around(model, marches, grid)
    used = ever_best(Tables(model, plain[::2], None, (2, 2, 2)), boxes, grid)
    menu = Menu(model, plain, used)
    same = same_terms(model, menu, derived)
    for _ in range(passes):
        value, used = induce(Tables(model, offered, used, KNOWN_AT), boxes, grid, each)
        march, knobs = _towards(model, menu, value, derived)
        found.append((march, value))
        boxes = boxes_around(model, _good([own, same, march]), grid)
        offered = np.concatenate([plain, [learn_knobs(model, own, derived), knobs]])
        menu = Menu(model, offered, used)
    best, value = min(found, key=lambda one: one[0].score_kwh)
    forms = (
        Form("derived", own, same),
        levels.best(menu),
        form(model, menu, "path", along(model, prices, best)),
        form(model, menu, "local", lambda k, t_k: value.prices(k + 1, t_k, model.caps)),
    )
    return Reference(model.step_s, grid, best, forms, *levels.of_pack())


def _towards(model: Reduced, menu: Menu, value: Value, derived: PriceOf) -> tuple[March, Floats]:
    size = np.array(value.grid, float)
    return march_to(
        model, menu, lambda k, _: (value.v[k + 1], value.boxes[k + 1], size),
        lambda k, t_k: value.prices(k + 1, t_k, model.caps), [derived],
    )  # fmt: skip


def _good(marches: list[March]) -> list[March]:
    """Return the marches whose score is near the lowest of them: the narrower the boxes, the finer the grid."""
    least = min(one.score_kwh for one in marches)
    return [one for one in marches if one.score_kwh <= NEAR * least]


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
    tables: Tables, boxes: tuple[Floats, ...], grid: Grid, each: Callable[[], Any] = lambda: None
) -> tuple[Value, NDArray[np.bool_]]:
    """Return the cost to go and which candidates are best anywhere; each() is called after every step."""
    model, n = tables.model, len(tables.model.steps)
    v: list[Floats] = [np.zeros(int(np.prod(grid)))] * (n + 1)
    size, known = np.array(grid, float), np.array(tables.known_at, float)
    best = np.zeros(tables.candidates, bool)
    for k, whole in tables.walk(range(n - 1, -1, -1), boxes, grid):
        step, after, box = model.steps[k], v[k + 1], boxes[k + 1]
        kept = worth_keeping(whole, step, model.caps, slopes(after, box, grid, model.caps, SLOPES, OUTSIDE_PRICE))
        table, owner = np.ascontiguousarray(whole[:, kept]), tables.owner[kept]
        here, t, own = np.zeros(owner.size * N_EFFECT), np.zeros(3), np.zeros(after.size)
        used = np.zeros(owner.size, np.uint32)
        back_up(
            table.ravel(), owner.size, known, boxes[k], size, after, box, step.stage, BRAKE_GRID_K, step.brake_w,
            here, t, own, used,
        )  # fmt: skip
        v[k] = own
        best[owner[used > 0]] = True
        each()
    return Value(grid, tuple(v), boxes), best
