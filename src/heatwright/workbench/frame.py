"""Numbers of the standing frame: five needs and four bodies with the heat between them, at every sample of a run."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.draw.axes import span_words
from heatwright.draw.quantities import shown
from heatwright.errors import InputError, Problem
from heatwright.plant.model import Plant
from heatwright.run import Run
from heatwright.study.frames import TEMPERATURES, moments
from heatwright.study.margins import margins
from heatwright.study.room import DRIVE_NODES, drive_room, pack_room
from heatwright.workbench.study import Kept

BODIES = (("outside", "Outside"), ("pack", "Pack"), ("drive", "Drive unit"), ("cabin", "Cabin"))
NEEDS = (
    (
        "drive",
        "Drive unit cooled",
        "K",
        "nearest temperature below where torque is held back; held back: torque left",
    ),
    ("pack", "Pack able", "kW", "power the pack may still give or take"),
    ("cabin", "Cabin comfortable", "K", "air inside a band of 1 K about what is wished, while wished"),
    ("glass", "Glass clear", "K", "glass above the dew point of the air, people aboard"),
)
Floats = NDArray[np.float32]


@dataclass(frozen=True)
class Column:
    """One row of numbers on the wire: its key, how many, and the scale it is read on."""

    key: str
    count: int


@dataclass(frozen=True)
class SeriesName:
    """A series that can be drawn: words, unit as shown, and shown = stored * factor + offset."""

    name: str
    words: str
    group: str
    unit: str
    factor: float
    offset: float


@dataclass(frozen=True, eq=False)
class Frame:
    """What the page must know of a run beside its numbers."""

    id: str
    name: str
    plant: str
    trip: str
    trip_title: str
    strategy: str
    changes: dict[str, str]
    trip_changes: dict[str, str]
    place: str
    end_s: float
    columns: tuple[Column, ...]
    modes: tuple[str, ...]
    mode_starts: tuple[tuple[float, int], ...]
    legs: tuple[tuple[str, str, float, float], ...]
    series: tuple[SeriesName, ...]
    answers: tuple[tuple[str, str], ...]
    drive_nodes: tuple[str, ...] = tuple(words for *_, words in DRIVE_NODES)

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return asdict(self)


def numbers(run: Run, plant: Plant | None = None) -> dict[str, Floats]:
    """Every row of numbers of the frame: `t` samples and those on it; `heat_t` marks of the books and those on it.

    Temperatures in K, heat in W, needs in their units, speed in m/s; nan where there is none. Without the plant it is
    not known how far the drive unit is from its limits.
    """
    found = {"t": run.t_s, "speed": run.series.get("speed_m_per_s", np.zeros(len(run.t_s)))}
    found |= {f"t_{body}": _temperature(run, body) for body, _ in BODIES}
    found |= {f"need_{key}": values for key, values in _needs(run).items()}
    found |= {**pack_room(run), **drive_room(plant, run)}
    found |= _heat(run)
    return {key: np.ascontiguousarray(values, np.float32) for key, values in found.items()}


def _temperature(run: Run, body: str) -> NDArray[Any]:
    rows = [run.series[name] for name in TEMPERATURES[body] if name in run.series]
    if not rows and body == "drive":
        rows = [values for name, values in run.series.items() if name.startswith("t_") and name.endswith("_housing_k")]
    return np.mean(rows, axis=0) if rows else np.full(len(run.t_s), np.nan)


def _needs(run: Run) -> dict[str, NDArray[Any]]:
    known = {one.key: one.values for one in margins(run)}
    none = np.full(len(run.t_s), np.nan)
    return {
        "drive": known.get("drive", none),
        "pack": known.get("pack", none),
        "cabin": np.fmin(known.get("warm", none), known.get("cool", none)),
        "glass": known.get("clear", none),
    }


def _heat(run: Run) -> dict[str, NDArray[Any]]:
    """Mean heat of each span between marks, told at the end of the span [W]."""
    if not run.books:
        return {"heat_t": np.zeros(0)}
    times = run.books["t_s"]
    found = moments(run, [float(t) for t in times[1:]])
    rows = {
        "heat_t": np.asarray(times[1:]),
        "made": [one.made_w for one in found],
        "kept": [one.kept_w for one in found],
    }
    rows["heat_outside"] = [-one.from_outside_w for one in found]
    for body in ("pack", "drive", "cabin"):
        rows[f"heat_{body}"] = [one.bodies[body].from_loops_w for one in found]
        rows[f"own_{body}"] = [one.bodies[body].own_w for one in found]
    return {key: np.asarray(values) for key, values in rows.items()}


@lru_cache(maxsize=32)
def numbers_of(kept: Kept) -> dict[str, Floats]:
    """The numbers of a run on the bench, worked out once."""
    try:
        plant = kept.car
    except InputError:
        plant = None
    return numbers(kept.run, plant)


def frame_bytes(kept: Kept) -> bytes:
    """The numbers of a run as raw little-endian float32, row after row as `Frame.columns` lists them."""
    return b"".join(row.astype("<f4").tobytes() for row in numbers_of(kept).values())


def series_bytes(kept: Kept, names: list[str]) -> bytes:
    """Series by name as raw float32, one after the other; InputError for one that the run has not."""
    missing = [name for name in names if name not in kept.run.series]
    if missing or not names or len(names) > 64:
        found = f"no series {missing[0][:60]!r}" if missing else f"{len(names)} names"
        raise InputError([Problem("series", found, "1 to 64 series of the run")], "bench")
    return b"".join(np.asarray(kept.run.series[name]).astype("<f4").tobytes() for name in names)


def frame_of(kept: Kept) -> Frame:
    """Everything of a run but its numbers."""
    run = kept.run
    names, track = modes_of(run)
    turns = np.flatnonzero(np.diff(track, prepend=track[:1] - 1))
    rows = numbers_of(kept)
    return Frame(
        kept.id, kept.name, kept.plant, kept.trip, run.trip_name, str(run.provenance.get("strategy") or "table"),
        dict(kept.changes), dict(kept.trip_changes), kept.place,
        float(run.t_s[-1]), tuple(Column(key, len(row)) for key, row in rows.items()), names,
        tuple((float(run.t_s[k]), int(track[k])) for k in turns),
        tuple((leg.name, leg.kind, float(run.t_s[leg.first]), float(run.t_s[min(leg.last_exclusive, run.steps)]))
              for leg in run.segments),
        tuple(_series(run, name) for name in run.series if run.series[name].dtype.kind == "f"),
        _answers(run),
    )  # fmt: skip


def modes_of(run: Run) -> tuple[tuple[str, ...], NDArray[Any]]:
    """Titles of the modes and the number of the one in force at every sample (-1: on its way)."""
    if "atlas_mode" in run.series:
        return tuple(one["title"] for one in run.summary["modes"]), run.series["atlas_mode"].astype(int)
    return run.mode_names, run.series.get("mode", np.zeros(len(run.t_s))).astype(int)


def _series(run: Run, name: str) -> SeriesName:
    label, how = run.label(name), shown(name)
    return SeriesName(name, label.text, label.group, how.unit, how.factor, how.offset)


def _answers(run: Run) -> tuple[tuple[str, str], ...]:
    """What a run came to, in a few figures; every one read from the run."""
    told = run.summary
    reached = run.comfort.get("time_to_20c_s")
    return (
        ("electricity", f"{told['energy_kwh_per_100km']:.1f} kWh/100 km" if told.get("energy_kwh_per_100km") else "–"),
        ("range", f"{told['range_km']:.0f} km" if told.get("range_km") else "–"),
        ("cabin at 20 °C after", span_words(reached) if reached is not None else "never"),
    )
