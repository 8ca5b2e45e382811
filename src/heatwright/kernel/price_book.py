"""Heat prices as the dispatch reads them once a control period; made by `heatwright.dispatch.prices`."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from heatwright.kernel.plan import Floats, Ints
from heatwright.physics.heat_price import (
    CENTRE_K,
    PLATEAU,
    SLOPE_K,
    STANDING,
    WANTED_K,
    along,
    between_rows,
    falls_to,
    pack_price,
    standing_price,
    table_price,
)
from heatwright.physics.jit import kernel_jit

Matrix = NDArray[np.float64]


class PriceBook(NamedTuple):
    """Prices over the even temperatures of `grid` [K], for a trip with any number of fast charges.

    `par` is that of `physics.heat_price`. Charge k runs from `begins_s[k]` to before `ends_s[k]`; rows from
    `before_first[k]` to before `before_first[k + 1]` of `before` hold at the times `before_at` on the way there,
    likewise `during` at charges of the pack. `rest` holds after the last. A path in `given_at` (times; may be empty)
    replaces all of them; those of drive unit and linings stand beside. `row` is room to work in.
    """

    grid: Floats
    par: Floats
    begins_s: Floats
    ends_s: Floats
    before_first: Ints
    before_at: Floats
    before: Matrix
    during_first: Ints
    during_at: Floats
    during: Matrix
    rest_at: Floats
    rest: Matrix
    given_at: Floats
    given: Floats
    drive_at: Floats
    drive: Floats
    cabin_at: Floats
    cabin: Floats
    row: Floats


@kernel_jit
def next_charge(p: PriceBook, t_s: float) -> int:
    """Return which fast charge comes next or runs; -1 without one."""
    for k in range(p.ends_s.shape[0]):
        if t_s < p.ends_s[k]:
            return k
    return -1


@kernel_jit
def charge_price(p: PriceBook, t_pack_k: float, k: int, t_to_charge_s: float, soc: float) -> float:
    """Return the price of heat in the pack so long before charge `k` [J/J]; at or after its start, at its charge."""
    if t_to_charge_s <= 0.0:
        between_rows(soc, p.during_at, p.during, p.during_first[k], p.during_first[k + 1], p.row)
    else:
        t_s = p.begins_s[k] - t_to_charge_s
        between_rows(t_s, p.before_at, p.before, p.before_first[k], p.before_first[k + 1], p.row)
        p.par[WANTED_K] = falls_to(p.par[PLATEAU], p.grid, p.row)
    return pack_price(t_pack_k, t_to_charge_s, p.grid, p.row, p.par)


@kernel_jit
def rest_price(p: PriceBook, t_pack_k: float, t_s: float) -> float:
    """Return the price once no charge is ahead [J/J]: what the rest of the trip makes of it, or the standing price.

    Of the two, the higher in a pack colder than where the standing price is zero, else the lower.
    """
    between_rows(t_s, p.rest_at, p.rest, 0, p.rest_at.shape[0], p.row)
    rest = table_price(t_pack_k, p.grid, p.row)
    stands = standing_price(t_pack_k, p.par[STANDING], p.par[CENTRE_K], p.par[SLOPE_K])
    return max(rest, stands) if t_pack_k < p.par[CENTRE_K] else min(rest, stands)


@kernel_jit
def price_pack(p: PriceBook, t_s: float, t_pack_k: float, soc: float) -> float:
    """Return what heat in the pack is worth at a time of the trip [J/J]."""
    if p.given_at.shape[0] > 0:
        return along(t_s, p.given_at, p.given)
    k = next_charge(p, t_s)
    if k < 0:
        return rest_price(p, t_pack_k, t_s)
    return charge_price(p, t_pack_k, k, max(p.begins_s[k] - t_s, 0.0), soc)


@kernel_jit
def price_all(p: PriceBook, t_s: float, t_pack_k: float, soc: float, out: Floats) -> None:
    """Fill what heat in pack, drive unit and linings is worth at a time of the trip [J/J]."""
    out[0] = price_pack(p, t_s, t_pack_k, soc)
    out[1] = along(t_s, p.drive_at, p.drive)
    out[2] = along(t_s, p.cabin_at, p.cabin)
