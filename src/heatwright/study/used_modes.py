"""What a run's actuators did in each mode that it used: a row a mode, a column an actuator or a valve."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from heatwright.run import Run
from heatwright.study import run_modes

HELD = 0.8
"""Share of the time in a mode that a valve must stand in one position to be told as standing there."""


@dataclass(frozen=True)
class Cell:
    """What one actuator did in one mode: words, and its mean share of the most it ever did (none for a valve)."""

    words: str
    share: float | None = None
    rests: bool = False


@dataclass(frozen=True)
class UsedMode:
    """One mode: its title, the time in it [s], and a cell for every column."""

    id: str
    title: str
    time_s: float
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class UsedModes:
    """All modes a run used, the longest first; `moving_s` is the time in none."""

    title: str
    columns: tuple[str, ...]
    modes: tuple[UsedMode, ...]
    without_s: float

    def as_json(self) -> dict[str, Any]:
        """Return everything as plain values."""
        return asdict(self)


def used_modes(run: Run) -> UsedModes:
    """Return the modes of a run with what each actuator did in them; without modes for a run nobody looked up."""
    known = run.summary.get("modes", ())
    track = np.asarray(run.series.get(run_modes.SERIES, np.full(len(run.t_s), -1)))
    lasts_s = np.append(np.diff(run.t_s), 0.0)
    groups = {name: series for name, series in _groups(run).items() if _differs(series)}
    units = {
        run.label(name).body or run.label(name).text: run.label(name).unit
        for name in run.series
        if name.startswith("x_")
    }
    rows = []
    for number, mode in enumerate(known):
        held = (track == number) & (lasts_s > 0.0)
        if held.any():
            cells = tuple(_cell(units[name], series, held) for name, series in groups.items())
            rows.append(UsedMode(mode["id"], mode["title"], float(lasts_s[held].sum()), cells))
    rows.sort(key=lambda one: -one.time_s)
    columns = tuple(name.replace("_", " ").replace(".", " ") for name in groups)
    return UsedModes(f"{run.plant_name}: modes used on {run.trip_name}", columns, tuple(rows),
                     float(lasts_s[track < 0].sum()))  # fmt: skip


def _groups(run: Run) -> dict[str, dict[str, np.ndarray]]:
    """Series of every actuator; positions of one valve stand together, each under its own name."""
    found: dict[str, dict[str, np.ndarray]] = {}
    for name in run.series:
        label = run.label(name)
        if label.group == "actuator" and name.startswith("x_"):
            owner = label.body or label.text
            position = label.text.removeprefix(owner.replace("_", " ").replace(".", " ")).strip()
            found.setdefault(owner, {})[position] = np.asarray(run.series[name], float)
    return found


def _differs(series: Mapping[str, np.ndarray]) -> bool:
    return any(float(values.max() - values.min()) > 0.02 for values in series.values())


def _cell(unit: str, series: Mapping[str, np.ndarray], held: np.ndarray) -> Cell:
    """A valve's position by name, or a device's mean in its own unit."""
    if list(series) == [""]:
        values = series[""]
        mean, most = float(values[held].mean()), float(np.abs(values).max())
        if abs(mean) < 0.005 * most:
            return Cell("off", 0.0, True)
        share = mean / most
        return Cell(_amount(mean, unit, most), share)
    shares = {position: float(values[held].mean()) for position, values in series.items()}
    standing = [position for position, share in shares.items() if share > HELD]
    if standing:
        return Cell(standing[0])
    parts = [f"{100.0 * share:.0f} % {position}" for position, share in shares.items() if share > 0.05]
    return Cell(", ".join(parts) or "shut", rests=not parts)


def _amount(mean: float, unit: str, most: float) -> str:
    """A share, a speed, or a power, by what the actuator is set in."""
    if unit == "1/s":
        return f"{60.0 * mean:,.0f} rpm"
    return f"{1e-3 * mean:.1f} kW" if most > 1.5 else f"{100.0 * mean:.0f} %"
