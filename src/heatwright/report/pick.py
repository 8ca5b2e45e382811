"""Which series of a run go into which picture, and in which unit they are drawn."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from heatwright.draw.quantities import shown
from heatwright.draw.traces import Trace
from heatwright.run import Run

# What a reader asks for first: (words, series names or parts of names, the likeliest first).
BODIES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Cabin air", ("t_cabin_air_k", "t_cabin_k", "t_zone_air_k", "cabin")),
    ("Vent air", ("t_cabin_vent_k", "t_vent_k", "vent")),
    ("Pack", ("t_pack_mean_k", "t_pack_k", "t_pack_hottest_k", "pack_cell", "pack")),
    ("Drive unit", ("t_drive_winding_k", "t_drive_k", "winding", "drive")),
    ("Outside air", ("t_ambient_k", "t_outside_k", "ambient", "outside")),
)
ROAD = ("p_traction_w", "p_drive_short_w", "p_station_w", "p_pack_w")
PER_CHART = 6


def bodies(run: Run) -> list[tuple[str, str]]:
    """(words, series name) of cabin, vent, pack, drive unit and outside, as far as the run has them."""
    temperatures = [name for name in run.series if _is_temperature(name)]
    found: list[tuple[str, str]] = []
    for label, likely in BODIES:
        name = _first(temperatures, likely, taken=[taken for _, taken in found])
        if name:
            found.append((label, name))
    return found


def of_kind(run: Run, prefix: str, suffix: str) -> list[str]:
    """Names of the series that begin and end so."""
    return [name for name in run.series if name.startswith(prefix) and name.endswith(suffix)]


def powers(run: Run) -> tuple[list[str], list[str]]:
    """(traction, pack and charging, every other use) among the electric powers that are not always nothing."""
    names = [name for name in run.series if run.label(name).group == "power" and _acts(run, name)]
    return [name for name in names if name in ROAD], [name for name in names if name not in ROAD]


def pack_limits(run: Run) -> list[str]:
    """Names of the series of the most that the pack may give and take, as far as the run has them."""
    return [name for name in ("p_give_limit_w", "p_take_limit_w") if name in run.series and _acts(run, name)]


def _acts(run: Run, name: str) -> bool:
    return bool(np.any(np.abs(run.series[name]) > 0.5))


def other_temperatures(run: Run, drawn: Sequence[str]) -> list[tuple[str, list[str]]]:
    """(title, series) of the temperatures not yet drawn, those of one body together, a handful to a chart."""
    by_body: dict[str, list[str]] = {}
    for name in run.series:
        if _is_temperature(name) and name not in drawn:
            by_body.setdefault(run.label(name).body.replace("_", " "), []).append(name)
    lone = [name for names in by_body.values() if len(names) < 3 for name in names]
    groups = {body: names for body, names in by_body.items() if len(names) >= 3}
    if lone:
        groups["the rest"] = lone
    charts: list[tuple[str, list[str]]] = []
    for body, names in groups.items():
        parts = -(-len(names) // PER_CHART)
        size = -(-len(names) // parts)
        for k in range(parts):
            count = f", {k + 1} of {parts}" if parts > 1 else ""
            charts.append((f"{body or 'the rest'}{count}", names[k * size : (k + 1) * size]))
    return charts


def trace_of(run: Run, name: str, words: str = "", hue: int | None = None) -> Trace:
    """The series as a line in the unit in which it is shown."""
    how = shown(name)
    values = np.asarray(run.series[name], dtype=float) * how.factor + how.offset
    text = words or run.label(name).text
    return Trace(text[:1].upper() + text[1:], values, hue, run.t_s)


def _is_temperature(name: str) -> bool:
    return name.startswith("t_") and name.endswith("_k")


def _first(names: Sequence[str], likely: Sequence[str], taken: Sequence[str]) -> str:
    for part in likely:
        for name in names:
            if name not in taken and (name == part or (not part.endswith("_k") and part in name)):
                return name
    return ""
