"""Prices of a car that believes what does not come: the charge at another time, not at all, or in other air."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace

from heatwright.compiler.program import Program
from heatwright.dispatch.prices import Prices, derive_prices
from heatwright.dispatch.settings import Settings
from heatwright.kernel import names


@dataclass(frozen=True, eq=False)
class Believed(Prices):
    """Prices with a wrong forecast of the charges; once plugged in, the car knows.

    later_s : how much later than it comes a charge is believed to begin [s]; below zero: earlier, and then from that
    time on it is taken to begin at any moment. known : whether it is forecast at all.
    """

    later_s: float = 0.0
    known: bool = True

    def ahead(self, t_s: float) -> tuple[int, float]:
        """Return (which charge is believed to come next, time until it begins [s])."""
        for k, one in enumerate(self.charges):
            if t_s < one.end_s:
                if t_s >= one.start_s:
                    return k, 0.0
                return (k, max(one.start_s + self.later_s - t_s, 0.0)) if self.known else (-1, math.inf)
        return -1, math.inf


def believed(prices: Prices, later_s: float = 0.0, known: bool = True) -> Believed:
    """Return prices with a wrong forecast of when the charges begin, or with none of them."""
    return Believed(**{one.name: getattr(prices, one.name) for one in fields(Prices)}, later_s=later_s, known=known)


def other_air(program: Program, settings: Settings, warmer_k: float) -> Prices:
    """Return the prices derived for air that is warmer by so much [K] than the air that comes."""
    rows = program.rows.copy()
    rows[:, names.D_TAU] += warmer_k
    return derive_prices(replace(program, rows=rows), settings)
