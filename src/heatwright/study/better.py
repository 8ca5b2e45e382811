"""Which of two plants is better, and by how much against the spread of the draws: one sentence a pair."""

from __future__ import annotations

from typing import TYPE_CHECKING

from heatwright.study.table import number, shown_verdict
from heatwright.study.verdict import DEPENDS, HOLDS, Difference, quantity_of

if TYPE_CHECKING:
    from heatwright.study.compare import Pair

KEY = "energy_kwh_per_100km"


def better_sentence(pair: Pair) -> str:
    """Return which plant of a pair needs less energy, by how much, and whether that is beyond the spread.

    Told at equal service where service is unlike and equal service was found; where it was not, that is said first.
    """
    first, second = pair.plants
    if pair.service.alike:
        return _told(first, second, pair.named(KEY), "")
    if pair.equal is not None and pair.equal.reached:
        one = next(d for d in pair.equal.differences if d.quantity == KEY)
        return _told(first, second, one, "At equal service ")
    told = _told(first, second, pair.named(KEY), "")
    return f"{first} and {second} do not serve alike, so that energy alone does not say which is better. {told}"


def _told(first: str, second: str, one: Difference, lead: str) -> str:
    if one.difference is None or one.difference == 0.0:
        return f"{lead or 'As driven '}{first} and {second} need the same energy."
    how = quantity_of(one.quantity)
    less, more = (second, first) if one.difference < 0.0 else (first, second)
    amount = f"{number(abs(one.difference), how.digits)} {how.unit}"
    share = f" ({number(100.0 * abs(one.relative), 0)} % of {first})" if one.relative is not None else ""
    spread = _spread(one)
    if one.verdict == HOLDS:
        return f"{lead}{less} is better: it needs {amount} less than {more}{share}. That holds: {one.why}{spread}."
    if one.verdict == DEPENDS:
        return f"{lead}{less} needs {amount} less than {more}{share}, but that depends: {one.why}{spread}."
    return (
        f"{lead}{first} and {second} cannot be told apart: {less} needs {amount} less{share}, which is"
        f" {shown_verdict(one)}: {one.why}{spread}."
    )


def _spread(one: Difference) -> str:
    """Nine in ten of the draws as signed differences of the second from the first."""
    if one.low is None or one.high is None or one.low == one.high:
        return ""
    how = quantity_of(one.quantity)
    low, high = (number(end * how.factor, how.digits, plus=True) for end in (one.low, one.high))
    return f", nine in ten lie between {low} and {high} {how.unit}"
