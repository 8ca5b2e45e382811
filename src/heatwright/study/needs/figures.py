"""The figures that a sheet may set limits on, each worked out from one run."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from heatwright.outcome import first_time_s

if TYPE_CHECKING:
    from heatwright.run import Run
    from heatwright.study.needs.sheet import Need

J_PER_KWH = 3.6e6
LAST_S = 300.0


@dataclass(frozen=True)
class Window:
    """A figure of one run: its value (SI; None: never reached), and the step edges it was found between."""

    value: float | None
    first: int
    last: int


@dataclass(frozen=True)
class Figure:
    """How a figure is called, in which unit it is written, which further keys it needs, and how it is found."""

    key: str
    words: str
    unit: str
    digits: int
    needs: tuple[str, ...]
    find: Callable[[Run, Need], Window]
    may: tuple[str, ...] = ()
    glass: bool = False


def _edges(run: Run, stop: str) -> tuple[int, int]:
    """Return the first and last step edge of a segment; of the whole run without a name."""
    for leg in run.segments:
        if stop and leg.name == stop:
            return leg.first, leg.last_exclusive
    return 0, len(run.t_s) - 1


def _wanted_from(run: Run) -> int:
    wanted = np.flatnonzero(np.asarray(run.series["wanted"]) > 0)
    return int(wanted[0]) if wanted.size else 0


def _reached(run: Run, values: np.ndarray, mark: float) -> Window:
    since = _wanted_from(run)
    took = first_time_s(run.t_s, values, mark, since)
    last = len(run.t_s) - 1 if took is None else int(np.searchsorted(run.t_s, run.t_s[since] + took))
    return Window(took, since, last)


def _warm_up(run: Run, need: Need) -> Window:
    return _reached(run, np.asarray(run.series["t_zone_air_k"], float), need.mark_k or 0.0)


def _pull_down(run: Run, need: Need) -> Window:
    return _reached(run, -np.asarray(run.series["t_zone_air_k"], float), -(need.mark_k or 0.0))


def _most_of(key: str) -> Callable[[Run, Need], Window]:
    def find(run: Run, need: Need) -> Window:
        first, last = _edges(run, need.stop)
        return Window(float(np.max(run.series[key][first : last + 1])), first, last)

    return find


def _cabin_warmest(run: Run, need: Need) -> Window:
    """The warmest cabin of the last five minutes of a segment: what it ends at, not what it began with."""
    first, last = _edges(run, need.stop)
    from_edge = max(first, int(np.searchsorted(run.t_s, run.t_s[last] - LAST_S)))
    return Window(float(np.max(run.series["t_zone_air_k"][from_edge : last + 1])), first, last)


def _coldest_at_end(run: Run, need: Need) -> Window:
    first, last = _edges(run, need.stop)
    return Window(float(run.series["t_pack_coldest_k"][last]), first, last)


def _range(run: Run, need: Need) -> Window:
    value = run.summary.get("range_km")
    return Window(None if value is None else 1e3 * float(value), 0, len(run.t_s) - 1)


def _power_short(run: Run, need: Need) -> Window:
    return Window(float(run.summary["drive_power_short_j"]), 0, len(run.t_s) - 1)


def _held_back(run: Run, need: Need) -> Window:
    return Window(float(run.summary["drive_derated_s"]), 0, len(run.t_s) - 1)


def _glass_clear(run: Run, need: Need) -> Window:
    fogged, occupied = float(run.comfort["fogged_s"]), float(run.comfort["occupied_s"])
    return Window(1.0 - fogged / occupied if occupied > 0.0 else 1.0, 0, len(run.t_s) - 1)


def _charge(run: Run, need: Need) -> Window:
    """From the charge `share` (or what the car arrives with, if more) to the charge that the stop is for."""
    first, last = _edges(run, need.stop)
    found: Any = next((one for one in run.summary.get("charges", ()) if one["segment"] == need.stop), None)
    if found is None or not found["reached"]:
        return Window(None, first, last)
    end = first + round(60.0 * found["minutes"] / float(run.t_s[1] - run.t_s[0]))
    soc = np.asarray(run.series["soc"][first : end + 1], float)
    above = np.flatnonzero(soc >= min(need.share or 0.0, float(soc[-1])))
    begins = first + (int(above[0]) if above.size else 0)
    return Window(float(run.t_s[end] - run.t_s[begins]), begins, end)


FIGURES = {
    one.key: one
    for one in (
        Figure("warm_up", "until the cabin is as warm as `mark`, from the first wish", "min", 1, ("mark",), _warm_up),
        Figure(
            "pull_down", "until the cabin is as cool as `mark`, from the first wish", "min", 1, ("mark",), _pull_down
        ),
        Figure(
            "cabin_warmest", "warmest cabin in the last five minutes of `stop`", "degC", 1, (), _cabin_warmest,
            ("stop",),
        ),
        Figure("glass_clear", "share of the time with people aboard in which no glass is fogged", "%", 1, (),
               _glass_clear),
        Figure("range", "range on the whole pack, at the use of the trip", "km", 0, (), _range),
        Figure("power_short", "energy that the road asks and does not get", "kWh", 2, (), _power_short),
        Figure("charge", "from the charge `share` to the end of the charge `stop`", "min", 1, ("stop", "share"),
               _charge),
        Figure("pack_hottest", "hottest cells", "degC", 1, (), _most_of("t_pack_hottest_k"), ("stop",)),
        Figure("pack_coldest_at_end", "coldest cells at the end", "degC", 1, (), _coldest_at_end, ("stop",)),
        Figure("drive_held_back", "how long the drive unit is held back by a temperature", "min", 1, (), _held_back),
        Figure("area_clear", "until `share` of the vision area `area` is clear", "min", 1, ("area", "share"),
               lambda run, need: Window(None, 0, 0), glass=True),
    )
}  # fmt: skip
