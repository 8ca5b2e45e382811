"""What lies on the bench: the runs of a study, the plants and trips they can be run with, by name and never by path."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from heatwright.errors import InputError, Problem
from heatwright.plant.catalogue import list_shipped as shipped_plants
from heatwright.plant.source import SUFFIX
from heatwright.run import Run, load_run
from heatwright.trip.catalogue import list_shipped as shipped_trips

TRIP_SUFFIX = ".trip.toml"
MADE = "made"
"""Folder beneath the study's in which runs made at the bench are kept."""


@dataclass(frozen=True, eq=False)
class Kept:
    """One run on the bench: its id, its folder, the words that tell it from the others, and what was changed for it."""

    id: str
    folder: Path
    name: str
    run: Run
    plant: str
    trip: str
    changes: Mapping[str, str] = field(default_factory=dict)


class Study:
    """The runs and files of one folder; safe to ask from several threads."""

    def __init__(self, folder: Path, title: str) -> None:
        self.folder, self.title = folder, title
        self.version = 0
        self._lock = threading.Lock()
        self._kept: dict[str, Kept] = {}
        self.plants = {one.name: one.name for one in shipped_plants()}
        self.plants |= {one.name.removesuffix(SUFFIX): str(one) for one in sorted(folder.glob(f"*{SUFFIX}"))}
        self.trips = {one.name: one.name for one in shipped_trips() if one.kind == "trip"}
        self.trips |= {one.name.removesuffix(TRIP_SUFFIX): str(one) for one in sorted(folder.glob(f"*{TRIP_SUFFIX}"))}
        for run in sorted([*folder.glob("*/provenance.json"), *folder.glob(f"{MADE}/*/provenance.json")]):
            self.take(run.parent)

    @property
    def kept(self) -> tuple[Kept, ...]:
        """The runs, in the order they came."""
        with self._lock:
            return tuple(self._kept.values())

    def take(self, folder: Path) -> Kept:
        """Read a saved run and lay it on the bench."""
        run = load_run(folder)
        told = run.provenance.get("bench") or {}
        plant, trip = self._source(run, "plant"), self._source(run, "trip")
        with self._lock:
            name = str(told.get("name") or run.plant_name)
            one = Kept(f"r{len(self._kept)}", folder, name, run, plant, trip, told.get("changes") or {})
            self._kept[one.id] = one
            self.version += 1
        return one

    def _source(self, run: Run, kind: str) -> str:
        """The name among the study's files of the plant or trip a run was made with; "" where it is none of them."""
        told = run.provenance.get("bench") or {}
        said = str(told.get(kind) or run.provenance.get(f"{kind}_source") or "").removeprefix("shipped trip ")
        known = self.plants if kind == "plant" else self.trips
        return next((name for name, source in known.items() if said in (name, source)), "")

    def run(self, key: str) -> Kept:
        """The run of an id; the first one for an empty id. InputError where there is none."""
        with self._lock:
            if not key and self._kept:
                return next(iter(self._kept.values()))
            if key in self._kept:
                return self._kept[key]
        raise InputError([Problem("run", f"there is no run {key!r} on the bench", "one of the runs shown")], "bench")

    def plant_source(self, name: Any) -> str:
        """What to load for the name of a plant."""
        return _named(self.plants, name, "plant")

    def trip_source(self, name: Any) -> str:
        """What to load for the name of a trip."""
        return _named(self.trips, name, "trip")

    def files_state(self) -> dict[str, float]:
        """When each plant file of the folder last changed, by its name; for whoever watches."""
        found = {}
        for name, source in self.plants.items():
            path = Path(source)
            if source != name:
                found[name] = path.stat().st_mtime if path.is_file() else 0.0
        return found


def _named(known: Mapping[str, str], name: Any, kind: str) -> str:
    if isinstance(name, str) and name in known:
        return known[name]
    raise InputError([Problem(kind, f"there is no {kind} {str(name)[:60]!r}", "one of those listed")], "bench")
