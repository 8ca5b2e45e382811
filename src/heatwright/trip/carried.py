"""What comes through the doors: how many stand open, and the water that people carry in, over the steps of a trip."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from heatwright.errors import Problem
from heatwright.trip.model import Array, Leg
from heatwright.trip.segments import Grid, Timeline


def carried_steps(timeline: Timeline, grid: Grid) -> dict[str, Array]:
    """Means over the steps: doors_open, drying_kg_per_s."""
    doors, drying = np.zeros(grid.n), np.zeros(grid.n)
    legs = [leg for leg, _ in timeline.legs]
    for k, (leg, segment) in enumerate(zip(legs, grid.segments, strict=True)):
        begins, ends = grid.t_s[segment.first], grid.t_s[segment.last_exclusive]
        for key, at_start in (("doors_at_start", True), ("doors_at_end", False)):
            if leg.values.get(key) is not None:
                number, open_s = leg.values[key]
                span = (begins, begins + open_s) if at_start else (ends - open_s, ends)
                doors += number * _share_open(grid, *span)
        for key, last in (("wet_clothes", _last_aboard(legs, k)), ("wet_floor", len(legs) - 1)):
            water = leg.values.get(key)
            if water:
                span_steps = slice(segment.first, grid.segments[last].last_exclusive)
                drying[span_steps] += _drying(grid.t_s[span_steps.start : span_steps.stop + 1], water, key)
    return {"doors_open": doors, "drying_kg_per_s": drying}


def _last_aboard(legs: list[Leg], first: int) -> int:
    """The last segment after `first`, itself included, before the first one in which nobody is aboard."""
    last = first
    while last + 1 < len(legs) and (legs[last + 1].values.get("occupants") or 0) > 0:
        last += 1
    return last


def _share_open(grid: Grid, opens_s: float, shuts_s: float) -> Array:
    """Share of each step between two times."""
    inside = np.clip(grid.t_s, opens_s, shuts_s)
    return np.diff(inside) / grid.dt_s


def _drying(edges_s: Array, water_kg: float, key: str) -> Array:
    """Mean rate of drying in each step after the water came in with the first edge."""
    from heatwright.physics import cabin

    tau_s = cabin.CLOTHES_S if key == "wet_clothes" else cabin.FLOOR_S
    since = (edges_s - edges_s[0]).tolist()
    return np.array([cabin.drying_kg_per_s(water_kg, tau_s, a, b) for a, b in pairwise(since)])


def check_carried(timeline: Timeline, problems: list[Problem]) -> None:
    """Note doors that stand open longer than their segment lasts, and wet clothes that nobody wears."""
    for leg, length in timeline.legs:
        open_s = sum(leg.values[key][1] for key in ("doors_at_start", "doors_at_end") if leg.values.get(key))
        if open_s > length + 1e-6:
            found = f"doors stand open for {open_s:g} s in {leg.name!r}, which lasts {length:g} s"
            problems.append(Problem(leg.where, found, "a time within the segment"))
        if leg.values.get("wet_clothes") and not leg.values.get("occupants"):
            found = f"wet clothes, but nobody is aboard in {leg.name!r}"
            problems.append(Problem(leg.where, found, "`occupants`, or `wet_floor` for water that stays"))
