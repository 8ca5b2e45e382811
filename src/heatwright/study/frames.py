"""Bodies of a car and the heat between them, at instants of a run: what the picture of bodies and the film show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from heatwright.run import Run
from heatwright.study.heats import BODIES, Heats, heats, marks

OUTSIDE = "outside"
TEMPERATURES = {
    "cabin": ("t_zone_air_k",), "pack": ("t_pack_coldest_k", "t_pack_hottest_k"), "drive": ("t_drive_housing_k",),
    OUTSIDE: ("t_ambient_k",),
}  # fmt: skip


@dataclass(frozen=True)
class BodyNow:
    """A body: its temperature [K], heat it gets from the loops, makes or lets in itself, and loses to outside [W]."""

    t_k: float | None
    from_loops_w: float
    own_w: float
    to_outside_w: float


@dataclass(frozen=True)
class Moment:
    """An instant: when it is [s], the span over which its heat is a mean [s], and every body.

    `made_w` : heat that electricity becomes in the loops. `from_outside_w` : heat the loops take from the outside air.
    """

    t_s: float
    from_s: float
    to_s: float
    bodies: dict[str, BodyNow]
    t_outside_k: float | None
    made_w: float
    from_outside_w: float

    @property
    def kept_w(self) -> float:
        """Heat that coolant, air box and exchangers keep [W]."""
        return self.made_w + self.from_outside_w - sum(one.from_loops_w for one in self.bodies.values())

    def as_json(self) -> dict[str, Any]:
        """Return everything as plain values."""
        return {**asdict(self), "kept_w": self.kept_w}


def moment_at(run: Run, t_s: float) -> Moment:
    """Return the bodies at a time [s], with the heat of the marks around it; InputError for a run without books."""
    times = marks(run)
    last = min(max(int(np.searchsorted(times, t_s, side="right")), 1), len(times) - 1)
    return _moment(run, heats(run, float(times[last - 1]), float(times[last])), t_s)


def moments(run: Run, instants_s: Sequence[float]) -> tuple[Moment, ...]:
    """Return the bodies at rising times [s], each with the mean heat since the one before it."""
    times = marks(run)
    found, before = [], 0
    for t_s in instants_s:
        last = int(np.abs(times - t_s).argmin())
        first = min(before, last - 1) if last else 0
        last = max(last, first + 1)
        found.append(_moment(run, heats(run, float(times[first]), float(times[last])), t_s))
        before = last
    return tuple(found)


def _moment(run: Run, found: Heats, t_s: float) -> Moment:
    span = found.to_s - found.from_s
    row = max(int(np.searchsorted(run.t_s, t_s + 1e-6, side="right")) - 1, 0)
    bodies = {}
    for body in BODIES:
        let_in = _let_in(found, body)
        own, lost = found.of(body, "made") + let_in, let_in - found.of(body, "outside")
        bodies[body] = BodyNow(_temperature(run, body, row), found.into(body) / span, own / span, lost / span)
    made, outside = found.of("loops", "made") / span, found.of("loops", "outside") / span
    return Moment(t_s, found.from_s, found.to_s, bodies, _temperature(run, OUTSIDE, row), made, outside)


def _let_in(found: Heats, body: str) -> float:
    """Sun and people [J]."""
    return sum(one.joules for one in found.rows if one.body == body and one.key in ("sun", "people"))


def _temperature(run: Run, body: str, row: int) -> float | None:
    values = [float(run.series[name][row]) for name in TEMPERATURES[body] if name in run.series]
    if not values and body == "drive":
        names = [name for name in run.series if name.startswith("t_") and name.endswith("_housing_k")]
        values = [float(run.series[name][row]) for name in names]
    return sum(values) / len(values) if values else None
