"""Equal service: when one plant serves better than the other, change one of them until both serve alike."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.errors import RunError
from heatwright.plant.model import Plant
from heatwright.study.lean import lean_figures
from heatwright.study.service import ALIKE, LEAST_MISS_K, Figures, Worth, miss_key, service_gap

AIM = 0.01
TRIES = (1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0)
MOST_MARCHES = 14
ENOUGH_K = 15.0


@dataclass(frozen=True)
class Served:
    """What was changed so that both plants serve alike: `changed` is 0 for the first of the pair, 1 for the second."""

    changed: int
    knob: str
    amount: float
    words: str
    miss_k_min: tuple[float, float]
    gap: float
    figures: Figures
    program: Program


@dataclass(frozen=True)
class Knob:
    """One thing to turn: `apply(case, x)` for x from 0 up to `most`; `worse` says whether turning worsens service."""

    name: str
    most: float
    worse: bool
    apply: Callable[[Any, float], Any]
    words: Callable[[float], str]


def equal_service(
    plants: tuple[Plant, Plant],
    case: Any,
    nominal: tuple[Figures, Figures],
    worth: Worth,
    each: Callable[[], Any] = lambda: None,
) -> Served | None:
    """Return the change that makes both plants miss the wishes of the trip alike, or None if none was found.

    Tried in turn: the better-served plant with its set-point moved towards the outside air, then with its preheat begun
    later, then the worse-served one with its set-point moved away. The miss is always measured against the trip's own
    set-point.
    """
    key = miss_key(case)
    miss = tuple(float(own[key] or 0.0) for own in nominal)
    better = 0 if miss[0] < miss[1] else 1
    for knob in _knobs(case, cold=key == "short_k_min"):
        changed = better if knob.worse else 1 - better
        found = _search(plants[changed], case, knob, key, miss[changed], miss[1 - changed], worth, each)
        if found is None:
            continue
        amount, own, program = found
        both = [miss[0], miss[1]]
        both[changed] = float(own[key] or 0.0)
        gap = service_gap(both[0], both[1], occupied_s(case))
        if gap <= ALIKE:
            return Served(changed, knob.name, amount, knob.words(amount), (both[0], both[1]), gap, own, program)
    return None


def occupied_s(case: Any) -> float:
    """Return how long people are aboard [s]."""
    return float(np.sum(case.steps["occupied"] > 0) * case.dt_s)


def _search(
    plant: Plant, case: Any, knob: Knob, key: str, start: float, target: float, worth: Worth, each: Callable[[], Any]
) -> tuple[float, Figures, Program] | None:
    """Turn a knob until the miss meets the target: widen until it is bracketed, then close in (Illinois)."""
    sign = 1.0 if knob.worse else -1.0
    scale = max(target, LEAST_MISS_K * occupied_s(case) / 60.0, 1e-9)
    best: tuple[float, float, Figures, Program] | None = None

    def off(x: float) -> float:
        nonlocal best
        changed = knob.apply(case, x)
        program = compile_program(plant, changed)
        own = lean_figures(program, case, worth)
        each()
        value = sign * (float(own[key] or 0.0) - target) / scale
        if best is None or abs(value) < abs(best[0]):
            best = (value, x, own, program)
        return value

    try:
        _close_in(off, knob.most, sign * (start - target) / scale)
    except RunError:
        return None
    return None if best is None else best[1:]


def _close_in(off: Callable[[float], float], most: float, at_zero: float) -> None:
    """Find where a growing function, negative at zero, comes to nothing; stops within AIM of it."""
    low, f_low, high, f_high = 0.0, at_zero, 0.0, at_zero
    marches = 0
    for share in TRIES:
        low, f_low, high = high, f_high, share * most
        f_high = off(high)
        marches += 1
        if f_high >= 0.0:
            break
    while abs(f_high) > AIM and f_low < 0.0 < f_high and marches < MOST_MARCHES:
        x = high - f_high * (high - low) / (f_high - f_low)
        x = min(max(x, low + 0.02 * (high - low)), high - 0.02 * (high - low))
        value = off(x)
        marches += 1
        if abs(value) <= AIM:
            return
        if value < 0.0:
            low, f_low, f_high = x, value, f_high * 0.5
        else:
            high, f_high, f_low = x, value, f_low * 0.5


def _knobs(case: Any, cold: bool) -> list[Knob]:
    towards = -1.0 if cold else 1.0
    down, up = ("lowered", "raised") if cold else ("raised", "lowered")
    knobs = [
        Knob(
            "set-point", ENOUGH_K, True, lambda c, x: _moved(c, towards * x), lambda x: f"set-point {down} by {x:.2f} K"
        )
    ]
    starts, longest_s = _preheats(case)
    if longest_s > 0.0:
        knobs.append(
            Knob(
                "preheat",
                longest_s,
                True,
                lambda c, x: _later(c, starts, x),
                lambda x: f"preheat begun {x / 60:.1f} min later",
            )
        )
    knobs.append(
        Knob(
            "set-point",
            ENOUGH_K / 2,
            False,
            lambda c, x: _moved(c, -towards * x),
            lambda x: f"set-point {up} by {x:.2f} K",
        )
    )
    return knobs


def _moved(case: Any, by_k: float) -> Any:
    steps = dict(case.steps)
    steps["t_setpoint_k"] = steps["t_setpoint_k"] + by_k
    return replace(case, steps=steps)


def _preheats(case: Any) -> tuple[list[tuple[int, int]], float]:
    """Return the stretches in which the cabin is wanted with nobody aboard, and the longest of them [s]."""
    alone = (case.steps["wanted"] > 0) & ~(case.steps["occupied"] > 0)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], alone, [False])).astype(int)))
    found = [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    return found, max((b - a for a, b in found), default=0) * float(case.dt_s)


def _later(case: Any, stretches: list[tuple[int, int]], by_s: float) -> Any:
    steps = dict(case.steps)
    wanted = np.array(steps["wanted"])
    late = round(by_s / case.dt_s)
    for first, last in stretches:
        wanted[first : min(first + late, last)] = 0.0
    steps["wanted"] = wanted
    return replace(case, steps=steps)
