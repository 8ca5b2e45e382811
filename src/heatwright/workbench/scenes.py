"""A scene list for talks: pictures in a fixed order, each with a caption whose numbers are read from the runs shown."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from heatwright.draw.axes import clock, span_words
from heatwright.study.heats import heats
from heatwright.workbench.study import Kept, Study


@dataclass(frozen=True)
class Scene:
    """One picture of a talk: the layer to open, its runs, the instant, and what to say."""

    title: str
    caption: str
    layer: str
    runs: tuple[str, ...]
    at_s: float

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return asdict(self)


def scenes(study: Study) -> tuple[Scene, ...]:
    """The scenes of a study, out of its first runs; none where it has no run."""
    kept = study.kept[:2]
    if not kept:
        return ()
    ids = tuple(one.id for one in kept)
    coldest = _coldest(kept[0])
    return (
        Scene("The start", _start(kept), "", ids, 0.0),
        Scene("The worst minute of the cabin", _cabin(kept, coldest), "", ids, coldest),
        Scene("Where the heat came from", _heat(kept), "heat", ids, coldest),
        Scene("What it cost", _cost(kept), "energy", ids, float(kept[0].run.t_s[-1])),
    )


def _first(one: Kept, key: str, row: int = 0) -> str:
    return f"{float(one.run.series[key][row]) - 273.15:.1f} °C".replace("-", "−")


def _start(kept: tuple[Kept, ...]) -> str:
    one = kept[0]
    outside, cabin = _first(one, "t_ambient_k"), _first(one, "t_zone_air_k")
    return f"{one.run.trip_name}: it is {outside} outside and the cabin has {cabin}."


def _coldest(one: Kept) -> float:
    """The time at which the cabin lies farthest below what is wished while people are aboard [s]."""
    s = one.run.series
    if not {"t_setpoint_k", "t_zone_air_k", "occupied"} <= set(s):
        return 0.0
    short = np.where(s["occupied"] > 0.0, s["t_setpoint_k"] - s["t_zone_air_k"], -np.inf)
    return float(one.run.t_s[int(np.argmax(short))])


def _cabin(kept: tuple[Kept, ...], at_s: float) -> str:
    parts = []
    for one in kept:
        row = min(int(np.searchsorted(one.run.t_s, at_s)), one.run.steps)
        parts.append(f"{one.name} {_first(one, 't_zone_air_k', row)}")
    return f"At {clock(at_s)} the cabin has: {'; '.join(parts)}."


def _heat(kept: tuple[Kept, ...]) -> str:
    parts = []
    for one in kept:
        if one.run.books:
            most = heats(one.run).sources[0]
            parts.append(f"{one.name}: {most.words}, {most.joules / 3.6e6:.2f} kWh")
    return f"The greatest source of heat. {'; '.join(parts)}."


def _cost(kept: tuple[Kept, ...]) -> str:
    parts = [f"{one.name} {one.run.summary.get('energy_kwh_per_100km', float('nan')):.1f} kWh/100 km" for one in kept]
    reached = [one.run.comfort.get("time_to_20c_s") for one in kept]
    told = [span_words(t) if t is not None else "never" for t in reached]
    return f"{'; '.join(parts)}. The cabin reaches 20 °C after: {'; '.join(told)}."
