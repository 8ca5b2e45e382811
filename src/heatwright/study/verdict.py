"""Does a difference between two plants hold? The same draws of what is not known well are asked, one by one."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heatwright.plant.model import Plant
from heatwright.study.service import LEAST_MISS_K, Figures
from heatwright.study.unknowns import UNKNOWNS, applies, rank_correlation

HOLDS, DEPENDS, WITHIN_DOUBT = "holds", "depends", "within doubt"
AGREE = 0.95
"""A difference holds when at least this share of the draws has its sign."""
SCATTER = 2.0 / 3.0
"""Below this share the draws scatter around zero."""
SMALL = 0.02
"""A difference below this share of the quantity is too small to tell."""
FELT = 0.25
"""A rank correlation below this is chance in so few draws."""


@dataclass(frozen=True)
class Quantity:
    """How a figure is named, shown (value x factor, digits, unit) and how small a difference of it says nothing."""

    key: str
    words: str
    unit: str
    digits: int
    least: float = 0.0
    factor: float = 1.0
    relative: bool = True


QUANTITIES = (
    Quantity("energy_kwh_per_100km", "energy from pack and station", "kWh/100 km", 2),
    Quantity("net_kwh_per_100km", "energy less what is left in the car", "kWh/100 km", 2),
    Quantity("range_km", "range", "km", 0),
    Quantity("from_station_kwh", "from the station", "kWh", 2, 0.02),
    Quantity("from_pack_kwh", "from the pack", "kWh", 2, 0.02),
    Quantity("pack_heat_kwh", "heat stored in the pack", "kWh", 2, 0.02),
    Quantity("pack_end_c", "coldest cells at the end", "°C", 1, 0.3, relative=False),
    Quantity("short_k_min", "too cold while occupied", "K min", 0),
    Quantity("over_k_min", "too warm while occupied", "K min", 0),
    Quantity("vent_time_to_40c_s", "until 40 °C at the vent", "min", 1, 30.0, 1 / 60),
    Quantity("time_to_10c_s", "until 10 °C in the cabin", "min", 1, 30.0, 1 / 60),
    Quantity("time_to_15c_s", "until 15 °C in the cabin", "min", 1, 30.0, 1 / 60),
    Quantity("time_to_20c_s", "until 20 °C in the cabin", "min", 1, 30.0, 1 / 60),
    Quantity("fogged_s", "fogged glass while occupied", "min", 1, 30.0, 1 / 60),
)
LEAST_USE = 0.05


@dataclass(frozen=True)
class Difference:
    """Second plant less first, in the figure's own unit, and what the draws say of it."""

    quantity: str
    first: float | None
    second: float | None
    difference: float | None
    relative: float | None
    verdict: str
    why: str
    agree_draws: int
    draws: int
    low: float | None
    high: float | None
    moved_by: str | None
    rank_correlation: float | None


def quantity_of(key: str) -> Quantity:
    """Return how a figure is shown; a use of energy is known by its prefix."""
    if key.startswith("use:"):
        return Quantity(key, key.removeprefix("use:").replace("_", " "), "kWh/100 km", 2, LEAST_USE)
    return next(one for one in QUANTITIES if one.key == key)


def differences(
    plants: tuple[Plant, Plant],
    nominal: tuple[Figures, Figures],
    drawn: tuple[Sequence[Figures | None], Sequence[Figures | None]],
    factors: NDArray[np.float64],
    occupied_s: float,
) -> tuple[Difference, ...]:
    """Return a verdict for every figure of two plants; `drawn` are both plants' figures in the same draws."""
    both = [k for k, (a, b) in enumerate(zip(*drawn, strict=True)) if a is not None and b is not None]
    known = [one.key for one in QUANTITIES]
    uses = [key for key in dict.fromkeys((*nominal[0], *nominal[1])) if key.startswith("use:")]
    columns = [k for k, one in enumerate(UNKNOWNS) if any(applies(plant, one) for plant in plants)]
    out = []
    for key in (*known, *uses):
        pairs = [_ends(key, drawn[0][k], drawn[1][k]) for k in both]  # type: ignore[arg-type]
        moved = [_gap(*pair) for pair in pairs]
        out.append(_judge(key, _ends(key, *nominal), moved, factors[both][:, columns], columns, occupied_s))
    return tuple(out)


def _ends(key: str, first: Mapping[str, float | None], second: Mapping[str, float | None]) -> tuple[float, float]:
    """Return both values: a use that a plant does not have is nothing, a mark that is never reached is infinite."""
    missing = 0.0 if key.startswith("use:") else math.inf if key.endswith("_s") else math.nan

    def value(own: Mapping[str, float | None]) -> float:
        found = own.get(key)
        return missing if found is None else float(found)

    return value(first), value(second)


def _gap(first: float, second: float) -> float:
    """Return second - first; two that are both infinite do not differ."""
    return 0.0 if first == second else second - first


def _judge(
    key: str,
    ends: tuple[float, float],
    moved: Sequence[float],
    factors: NDArray[np.float64],
    columns: Sequence[int],
    occupied_s: float,
) -> Difference:
    gap = _gap(*ends)
    agree = sum(np.sign(one) == np.sign(gap) for one in moved)
    verdict, why = _verdict(quantity_of(key), ends, gap, int(agree), len(moved), occupied_s)
    finite = [k for k, one in enumerate(moved) if math.isfinite(one)]
    values = np.array([moved[k] for k in finite])
    low, high = np.percentile(values, [5, 95]) if values.size else (None, None)
    name, rho = _mover(values, factors[finite], columns)
    base = abs(ends[0])
    return Difference(
        key, _number(ends[0]), _number(ends[1]), _number(gap), _number(gap / base) if base > 0 else None, verdict,
        why, int(agree), len(moved), _number(low), _number(high), name, rho,
    )  # fmt: skip


def _verdict(
    quantity: Quantity, ends: tuple[float, float], gap: float, agree: int, count: int, occupied_s: float
) -> tuple[str, str]:
    least = quantity.least
    if quantity.key in ("short_k_min", "over_k_min"):
        least = SMALL * LEAST_MISS_K * occupied_s / 60.0
    finite = [abs(one) for one in ends if math.isfinite(one)]
    least = max(least, SMALL * max(finite, default=0.0)) if quantity.relative else least
    if not abs(gap) > 0.0:
        return WITHIN_DOUBT, "no difference"
    if abs(gap) < least:
        return WITHIN_DOUBT, "too small to tell"
    share = agree / count if count else 0.0
    if share >= AGREE:
        return HOLDS, f"{agree} of {count} draws agree in sign"
    if share < SCATTER:
        return WITHIN_DOUBT, f"the draws scatter around zero: {agree} of {count} agree in sign"
    return DEPENDS, f"{agree} of {count} draws agree in sign"


def _mover(
    values: NDArray[np.float64], factors: NDArray[np.float64], columns: Sequence[int]
) -> tuple[str | None, float | None]:
    """Return the unknown whose rank goes most with the difference; None where none stands out."""
    if values.size < 8 or float(np.ptp(values)) == 0.0:
        return None, None
    found = [(rank_correlation(factors[:, k], values), column) for k, column in enumerate(columns)]  # type: ignore[arg-type]
    rho, column = max(found, key=lambda one: abs(one[0]))
    return (UNKNOWNS[column].name, rho) if abs(rho) >= FELT else (None, None)


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(value)
