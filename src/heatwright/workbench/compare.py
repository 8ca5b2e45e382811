"""Two to four runs side by side at one instant and over the whole trip: values, signed differences, verdicts.

Differences are from the first run. Whether one is more than the doubt in the numbers is told by the verdicts, which
march draws: they are here as soon as somebody has asked for them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np

from heatwright.draw.quantities import MISSING, signed
from heatwright.errors import InputError, Problem
from heatwright.report import pictures
from heatwright.workbench import verdicts
from heatwright.workbench.frame import numbers_of
from heatwright.workbench.study import Kept, Study
from heatwright.workbench.verdicts import Verdicts

MOST = 4
NOW = (
    ("t_pack", "Pack", "°C", 1.0, -273.15, 1),
    ("t_drive", "Drive unit", "°C", 1.0, -273.15, 1),
    ("t_cabin", "Cabin", "°C", 1.0, -273.15, 1),
    ("need_cabin", "Cabin, margin", "K", 1.0, 0.0, 1),
    ("need_glass", "Glass, margin", "K", 1.0, 0.0, 1),
    ("need_pack", "Pack, margin", "kW", 1.0, 0.0, 1),
)
WHOLE = (
    ("energy_kwh_per_100km", "Electricity", "kWh/100 km", 2),
    ("range_km", "Range", "km", 0),
    ("soc_end", "Charge left", "%", 1),
    ("heater", "Made by heaters", "kWh", 2),
)


@dataclass(frozen=True)
class Line:
    """One figure of every run; differences are from the first, None where a value is missing."""

    words: str
    unit: str
    values: tuple[float | None, ...]
    differences: tuple[float | None, ...]
    digits: int

    def told(self) -> tuple[str, ...]:
        """The values as texts."""
        return tuple(MISSING if value is None else signed(value, self.digits) for value in self.values)

    def moved(self) -> tuple[str, ...]:
        """The differences as texts with a sign; "" for the first and where there is none."""
        out = [""]
        for difference in self.differences[1:]:
            number = "" if difference is None else signed(difference, self.digits)
            plain = not number or number.startswith("−") or not number.strip("0.")
            out.append(number if plain else f"+{number}")
        return tuple(out)

    def cells(self) -> tuple[str, ...]:
        """The line as texts, a signed difference behind every value but the first."""
        both = zip(self.told(), self.moved(), strict=True)
        return (self.words, self.unit, *(f"{text}  ({moved})" if moved else text for text, moved in both))


@dataclass(frozen=True)
class SideBySide:
    """A comparison at one instant; `bars` draws energy by use.

    `verdicts` is None until they were asked for; `unasked` says why they cannot be.
    """

    at_s: float
    names: tuple[str, ...]
    now: tuple[Line, ...]
    whole: tuple[Line, ...]
    bars: str = ""
    verdicts: Verdicts | None = None
    unasked: str = ""

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values, the texts of its tables among them."""
        found = asdict(self)
        for part in ("now", "whole"):
            for row, line in zip(found[part], getattr(self, part), strict=True):
                row |= {"cells": line.cells(), "told": line.told(), "moved": line.moved()}
        return found


def side_by_side(study: Study, runs: Sequence[Kept], at_s: float) -> SideBySide:
    """Set runs side by side at a time [s]; InputError for fewer than two or more than four."""
    if not 2 <= len(runs) <= MOST:
        raise InputError([Problem("runs", f"{len(runs)} runs", f"two to {MOST}")], "compare")
    rows = [numbers_of(one) for one in runs]
    at = [min(int(np.searchsorted(row["t"], at_s)), len(row["t"]) - 1) for row in rows]
    now = []
    for key, words, unit, factor, offset, digits in NOW:
        values = [float(row[key][k]) * factor + offset for row, k in zip(rows, at, strict=True)]
        now.append(_line(words, unit, values, digits))
    whole = [_line(words, unit, [_figure(one, key) for one in runs], digits) for key, words, unit, digits in WHOLE]
    reason = verdicts.why_not(study, runs)
    judged = None if reason else verdicts.kept(study, runs)
    names = tuple(verdicts.told_apart([one.name for one in runs]))
    bars = pictures.bars([replace(one.run, plant_name=name) for one, name in zip(runs, names, strict=True)]).svg
    return SideBySide(at_s, names, tuple(now), tuple(whole), bars, judged, reason)


def _figure(one: Kept, key: str) -> float | None:
    if key == "heater":
        return sum(value for name, value in one.run.energy_kwh.items() if "heater" in name)
    value = one.run.summary.get(key)
    return None if value is None else float(value) * (100.0 if key == "soc_end" else 1.0)


def _line(words: str, unit: str, values: Sequence[float | None], digits: int) -> Line:
    kept = [None if v is None or not np.isfinite(v) else v for v in values]
    first = kept[0]
    differences = [None if v is None or first is None else v - first for v in kept]
    return Line(words, unit, tuple(kept), tuple(differences), digits)
