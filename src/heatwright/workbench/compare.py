"""Two to four runs side by side at one instant and over the whole trip: values, and signed differences from the first.

Whether a difference is more than the doubt in the numbers is told by `heatwright compare`, which marches draws.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from heatwright.draw.quantities import MISSING, signed
from heatwright.errors import InputError, Problem
from heatwright.workbench.frame import numbers
from heatwright.workbench.study import Kept

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

    def cells(self) -> tuple[str, ...]:
        """The line as texts, a signed difference behind every value but the first."""
        out = [self.words, self.unit]
        for k, value in enumerate(self.values):
            text = MISSING if value is None else signed(value, self.digits)
            difference = self.differences[k]
            if k and difference is not None:
                number = signed(difference, self.digits)
                plain = number.startswith("−") or not number.strip("0.")
                text += f"  ({number if plain else '+' + number})"
            out.append(text)
        return tuple(out)


@dataclass(frozen=True)
class SideBySide:
    """A comparison at one instant."""

    at_s: float
    names: tuple[str, ...]
    now: tuple[Line, ...]
    whole: tuple[Line, ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values, the cells of its table among them."""
        found = asdict(self)
        for part in ("now", "whole"):
            for row, line in zip(found[part], getattr(self, part), strict=True):
                row["cells"] = line.cells()
        return found


def side_by_side(runs: Sequence[Kept], at_s: float) -> SideBySide:
    """Set runs side by side at a time [s]; InputError for fewer than two or more than four."""
    if not 2 <= len(runs) <= MOST:
        raise InputError([Problem("runs", f"{len(runs)} runs", f"two to {MOST}")], "compare")
    rows = [numbers(one.run) for one in runs]
    at = [min(int(np.searchsorted(row["t"], at_s)), len(row["t"]) - 1) for row in rows]
    now = []
    for key, words, unit, factor, offset, digits in NOW:
        values = [float(row[key][k]) * factor + offset for row, k in zip(rows, at, strict=True)]
        now.append(_line(words, unit, values, digits))
    whole = [_line(words, unit, [_figure(one, key) for one in runs], digits) for key, words, unit, digits in WHOLE]
    return SideBySide(at_s, tuple(one.name for one in runs), tuple(now), tuple(whole))


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
