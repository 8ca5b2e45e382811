"""Forms of prices on a reduced model: what the dispatch makes of each, and what the score itself would."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from heatwright.dispatch.prices import Prices
from heatwright.dispatch.reduced import Menu, Reduced
from heatwright.study.draws import side_by_side
from heatwright.study.pattern import Pattern
from heatwright.study.reduced_march import (
    March,
    PriceOf,
    ThreePrices,
    constant,
    march_dispatch,
    march_to,
    priced_goal,
    under,
)

CONSTANT_MARCHES = 48
"""Marches that the search for the best constant prices of all three stores may take."""
PACK_STARTS = (0.0, 0.2, 0.5, 0.8, 1.1, -0.5)
"""Constant prices of heat in the pack alone that are marched first [J/J]."""
OTHER_STARTS = ((0.0, 0.0, -0.5), (0.2, 0.0, 0.5), (0.8, 0.3, 0.5), (-0.5, 0.0, -0.5))
"""Constant prices of heat in pack, drive unit and cabin marched next [J/J]."""
LOWEST, HIGHEST = -3.0, 5.0
STEP, LEAST_STEP = 0.3, 0.05


@dataclass(frozen=True, eq=False)
class Form:
    """One form of prices on the reduced model.

    dispatch : its march under them. same_terms : the same prices, the score itself choosing among the candidates.
    levels : where prices are constant, of pack, drive unit and cabin [J/J]. marches : how many were made to find them.
    """

    name: str
    dispatch: March
    same_terms: March
    levels: ThreePrices | None = None
    marches: int = 1


class Constants:
    """The best found constant prices: first of heat in the pack alone, then of pack, drive unit and cabin."""

    def __init__(self, model: Reduced, prices: Prices, evaluations: int = CONSTANT_MARCHES) -> None:
        """prices : whose form is kept where a constant stands in its place. evaluations : marches at most."""
        self._model, self._prices = model, prices
        self._marches: dict[tuple[float, ...], March] = {}
        self._search = Pattern(self._score, LOWEST, HIGHEST, evaluations, side_by_side)
        self._search.look((level, 0.0, 0.0) for level in PACK_STARTS)
        self._alone = dict(self._search.seen)
        self._search.look(OTHER_STARTS)
        self._search.walk(STEP, LEAST_STEP)

    def _score(self, levels: tuple[float, ...]) -> float:
        march = march_dispatch(self._model, self._under(levels))
        self._marches[levels] = march
        return march.score_kwh

    def _under(self, levels: tuple[float, ...]) -> PriceOf:
        pack, drive, cabin = levels
        return constant(self._model, self._prices, (pack, drive, cabin))

    def marches(self) -> list[March]:
        """Return the marches under prices of the pack alone."""
        return [self._marches[levels] for levels in self._alone]

    def of_pack(self) -> tuple[float, float, float]:
        """Return (score without prices [kWh], best price of the pack alone [J/J], score under it [kWh])."""
        level, kwh = min(self._alone.items(), key=lambda one: one[1])
        return self._alone[0.0, 0.0, 0.0], level[0], kwh

    def best(self, menu: Menu) -> Form:
        """Return the best found."""
        levels, _ = self._search.best()
        pack, drive, cabin = levels
        same = same_terms(self._model, menu, self._under(levels))
        return Form("constant", self._marches[levels], same, (pack, drive, cabin), self._search.spent)


def form(model: Reduced, menu: Menu, name: str, price_of: PriceOf) -> Form:
    """Return what both make of some prices."""
    return Form(name, march_dispatch(model, price_of), same_terms(model, menu, price_of))


def same_terms(model: Reduced, menu: Menu, price_of: PriceOf) -> March:
    """March with every step chosen by the score itself, heat valued at the prices."""
    march, _ = march_to(model, menu, priced_goal(model, price_of), price_of)
    return march


def along(model: Reduced, prices: Prices, march: March) -> PriceOf:
    """Return the prices of a march as paths over time: wherever the stores are, what they were there."""
    paths = (tuple(zip(march.t_s.tolist(), march.prices[:, s].tolist(), strict=True)) for s in range(3))
    pack, drive, cabin = paths
    return under(model, replace(prices, pack_path=pack, drive_path=drive, cabin_path=cabin))


def named(prices: Iterable[float]) -> dict[str, float]:
    """Return prices by store."""
    return dict(zip(("pack", "drive", "cabin"), (float(price) for price in prices), strict=True))
