"""The five unknowns that weigh most on a result, and the same draws of them for every plant.

A draw moves every number of the table below at once. Half of all draws lie below what the plant file says, half
above; within each half they are spread evenly up to the end of the range. The draws form a Latin hypercube with a
fixed seed, so that a comparison comes out the same every time and on every machine.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.plant.model import Act, Part, Plant, Rated

COUNT = 64
SEED = 20311221


@dataclass(frozen=True)
class Unknown:
    """One number that is not known well: it multiplies what the plant declares by `low` to `high`."""

    name: str
    group: str
    kind: str
    keys: tuple[str, ...]
    low: float
    high: float


# Ranges: what is commonly found for a car of this kind, over the value commonly taken (docs/guide/comparing.md).
UNKNOWNS = (
    Unknown("cabin loss to the outside", "cabin loss and fresh air", "zone", ("ua_factor",), 0.77, 1.23),
    Unknown("fresh-air share", "cabin loss and fresh air", "door", (), 0.75, 1.25),
    Unknown("outdoor coil conductance", "outdoor coil", "outdoor_coil", ("ua", "ua_evaporating"), 0.75, 1.25),
    Unknown("compressor efficiency", "compressor", "compressor", ("efficiency_factor",), 0.85, 1.10),
    Unknown("pack resistance", "pack", "pack", ("resistance",), 0.75, 1.35),
    Unknown("rise of pack resistance in the cold", "pack", "pack", ("activation",), 0.72, 1.40),
    Unknown("charge limit of cold cells", "pack", "pack", ("charge_factor",), 0.60, 1.50),
    Unknown("pack loss to the outside, standing", "parked pack", "pack", ("to_outside",), 0.60, 1.80),
    Unknown("pack loss to the cabin floor", "parked pack", "pack", ("to_cabin",), 0.50, 2.00),
)


def latin_hypercube(count: int, width: int, seed: int = SEED) -> NDArray[np.float64]:
    """Return (count, width) numbers in 0..1: each column has one in every `count`-th part of the range."""
    rng = np.random.default_rng(seed)
    cells = np.array([rng.permutation(count) for _ in range(width)]).T
    return (cells + rng.random((count, width))) / count


def draw_factors(count: int = COUNT, seed: int = SEED) -> NDArray[np.float64]:
    """Return (count, unknowns) multipliers whose median is one, each within the range of its unknown."""
    share = latin_hypercube(count, len(UNKNOWNS), seed)
    low, high = (np.array([getattr(one, end) for one in UNKNOWNS]) for end in ("low", "high"))
    return np.where(share < 0.5, low + (1.0 - low) * 2.0 * share, 1.0 + (high - 1.0) * (2.0 * share - 1.0))


def drawn(plant: Plant, factors: Sequence[float]) -> Plant:
    """Return the plant with every unknown multiplied by its factor; what it does not have is left out."""
    parts = dict(plant.parts)
    control = plant.control
    for unknown, factor in zip(UNKNOWNS, factors, strict=True):
        if unknown.kind == "door":
            control = _with_fresh_air(plant, control, float(factor))
            continue
        for part in plant.of_kind(unknown.kind):
            parts[part.name] = _scaled(parts[part.name], unknown.keys, float(factor))
    return replace(plant, parts=parts, control=control)


def applies(plant: Plant, unknown: Unknown) -> bool:
    """Return whether a plant has what an unknown is about."""
    return bool(_fresh_positions(plant) if unknown.kind == "door" else plant.of_kind(unknown.kind))


def _scaled(part: Part, keys: tuple[str, ...], factor: float) -> Part:
    values = dict(part.values)
    for key in keys:
        value = values[key]
        values[key] = replace(value, value=value.value * factor) if isinstance(value, Rated) else value * factor
    return replace(part, values=values)


def _fresh_positions(plant: Plant) -> dict[str, frozenset[str]]:
    """Return the doors that let outside air in, and the positions in which they do."""
    ports = {line.end.name: line.end.port for line in plant.nets["air"].branches if line.start.kind == "outside"}
    found = {}
    for door in plant.of_kind("door"):
        if door.name in ports:
            ways = door.values["positions"]
            found[door.name] = frozenset(p for p, groups in ways.items() if any(ports[door.name] in g for g in groups))
    return found


def _with_fresh_air(plant: Plant, control: Any, factor: float) -> Any:
    """Return the decision table with every blend of fresh and cabin air moved; all fresh stays all fresh."""
    doors = _fresh_positions(plant)
    if control is None or not doors:
        return control
    acts = {
        rule: {name: _blended(act, doors[name], factor) if name in doors else act for name, act in own.items()}
        for rule, own in control.acts.items()
    }
    return replace(control, acts=acts)


def _blended(act: Act, fresh: frozenset[str], factor: float) -> Act:
    def moved(weights: Any) -> Any:
        if not isinstance(weights, tuple):
            return weights
        share = sum(weight for position, weight in weights if position in fresh)
        if not 0.0 < share < 1.0:
            return weights
        new = min(share * factor, 1.0)
        rest = (1.0 - new) / (1.0 - share)
        return tuple((p, weight * (new / share if p in fresh else rest)) for p, weight in weights)

    return replace(act, value=moved(act.value), from_=moved(act.from_), to=moved(act.to))


def ranks(values: Sequence[float]) -> NDArray[np.float64]:
    """Return the rank of every value, equal ones sharing their mean rank."""
    array = np.asarray(values, float)
    _, back, counts = np.unique(array, return_inverse=True, return_counts=True)
    last = np.cumsum(counts)
    return (last - (counts - 1) / 2.0)[back] - 1.0


def rank_correlation(a: Sequence[float], b: Sequence[float]) -> float:
    """Return the correlation of the ranks of two rows of numbers [-1..1]; 0 where one of them does not move.

    Source: Spearman, American Journal of Psychology 15, 1904.

    >>> rank_correlation([1, 2, 3, 4], [10, 20, 40, 30])
    0.8
    """
    x, y = ranks(a), ranks(b)
    x, y = x - x.mean(), y - y.mean()
    scale = float(np.sqrt(np.sum(x * x) * np.sum(y * y)))
    return float(np.sum(x * y)) / scale if scale > 0.0 else 0.0


def describe() -> list[Mapping[str, Any]]:
    """Return the unknowns as plain values, for those who want to know what was drawn."""
    return [
        {"name": u.name, "group": u.group, "kind": u.kind, "keys": list(u.keys), "low": u.low, "high": u.high}
        for u in UNKNOWNS
    ]
