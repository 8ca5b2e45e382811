"""Prices of a car that believes what does not come: the charge at another time, not at all, or in other air."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from heatwright.compiler.program import Program
from heatwright.dispatch.prices import FastCharge, Priced, Prices, derive_prices
from heatwright.dispatch.settings import Settings
from heatwright.kernel import names

NEVER_S = 1e9
"""When a charge that is not forecast is taken to begin [s]."""


@dataclass(frozen=True, eq=False)
class Believed(Prices):
    """Prices with a wrong forecast of the charges; once plugged in, the car knows.

    later_s : how much later than it comes a charge is believed to begin [s]; below zero: earlier, and then from that
    time on it is taken to begin at any moment. known : whether it is forecast at all.
    """

    later_s: float = 0.0
    known: bool = True

    def expected(self) -> tuple[FastCharge, ...]:
        """Return the charges as they are expected: up to the start of each what is believed of it, then itself."""
        alone = Prices(self.t_grid_k, (), self.rest, self.par, None, self.drive_path, self.cabin_path)
        never = np.array([[alone.at(0.0, float(t))[0] for t in self.t_grid_k]])
        out: list[FastCharge] = []
        for one in self.charges:
            if self.known:
                before = Priced(one.before.at + self.later_s, one.before.price)
                out.append(replace(one, start_s=one.start_s + self.later_s, end_s=one.start_s, before=before))
            else:
                out.append(replace(one, start_s=NEVER_S, end_s=one.start_s, before=Priced(np.zeros(1), never)))
            out.append(one)
        return tuple(out)


def believed(prices: Prices, later_s: float = 0.0, known: bool = True) -> Believed:
    """Return prices with a wrong forecast of when the charges begin, or with none of them."""
    return Believed(**{one.name: getattr(prices, one.name) for one in fields(Prices)}, later_s=later_s, known=known)


def other_air(program: Program, settings: Settings, warmer_k: float) -> Prices:
    """Return the prices derived for air that is warmer by so much [K] than the air that comes."""
    rows = program.rows.copy()
    rows[:, names.D_TAU] += warmer_k
    return derive_prices(replace(program, rows=rows), settings)
