"""What lies on the bench: the runs of a study, the plants and trips they can be run with, by name and never by path."""

from __future__ import annotations

import json
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from heatwright.errors import InputError, Problem
from heatwright.plant.catalogue import list_shipped as shipped_plants
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.plant.source import SUFFIX
from heatwright.run import Run, load_run
from heatwright.trip.catalogue import list_shipped as shipped_trips

TRIP_SUFFIX = ".trip.toml"
MADE = "made"
"""Folder beneath the study's in which runs made at the bench are kept."""


@dataclass(frozen=True, eq=False)
class Kept:
    """One run on the bench: its id, its folder, the words that tell it from the others, and what was changed for it.

    An id holds for one start of the server, `place` for as long as the folder stands.
    """

    id: str
    folder: Path
    name: str
    plant: str
    trip: str
    changes: Mapping[str, str] = field(default_factory=dict)
    trip_changes: Mapping[str, str] = field(default_factory=dict)
    source: str = ""
    _read: list[tuple[float, Plant]] = field(default_factory=list, repr=False)

    @property
    def car(self) -> Plant:
        """Its plant with its changes; while its file has mistakes, as it was when it last had none.

        InputError where its file is none of the study's, or had mistakes when it was first read.
        """
        if not self.source:
            raise InputError([Problem(self.name, "its plant file is not among those of this study")], "bench")
        file = Path(self.source)
        written_at = file.stat().st_mtime if file.is_file() else 0.0
        if not self._read or self._read[0][0] != written_at:
            try:
                self._read[:] = [(written_at, load_plant(self.source, dict(self.changes)))]
            except InputError:
                if not self._read:
                    raise
        return self._read[0][1]

    @property
    def place(self) -> str:
        """Where it lies beneath the study's folder: what it is called from one start to the next."""
        return f"{MADE}/{self.folder.name}" if self.folder.parent.name == MADE else self.folder.name

    @cached_property
    def run(self) -> Run:
        """The run itself, read when it is first asked for; InputError where it cannot be."""
        return load_run(self.folder)


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
        made = sorted(folder.glob(f"{MADE}/*/provenance.json"), key=lambda run: (len(run.parent.name), run.parent.name))
        for run in (*sorted(folder.glob("*/provenance.json")), *made):
            self.take(run.parent)

    @property
    def kept(self) -> tuple[Kept, ...]:
        """The runs, in the order they came."""
        with self._lock:
            return tuple(self._kept.values())

    def take(self, folder: Path) -> Kept:
        """Lay a saved run on the bench; InputError where its notes cannot be read."""
        try:
            made = json.loads((folder / "provenance.json").read_text(encoding="utf-8"))
            title = str(json.loads((folder / "summary.json").read_text(encoding="utf-8"))["plant"])
        except (OSError, ValueError, KeyError, TypeError) as failure:
            found = f"this is not a folder that a run was saved in ({failure})"
            raise InputError([Problem(str(folder), found, "", "take it out, or run it again")], "open") from failure
        told = made.get("bench") or {}
        plant, trip = self._source(made, "plant"), self._source(made, "trip")
        with self._lock:
            name = self._own_name(str(told.get("name") or title + driven_by(made.get("strategy"))))
            changed = told.get("changes") or {}, told.get("trip_changes") or {}
            one = Kept(f"r{len(self._kept)}", folder, name, plant, trip, *changed, self.plants.get(plant, ""))
            self._kept[one.id] = one
            self.version += 1
        return one

    def _own_name(self, name: str) -> str:
        """A name that no run on the bench has yet: with a number behind it, where one has it already."""
        taken = {one.name for one in self._kept.values()}
        return next(one for k in range(1, len(taken) + 2) if (one := name if k == 1 else f"{name} ({k})") not in taken)

    def changed(self) -> None:
        """Let whoever watches know that something in the folder is another."""
        with self._lock:
            self.version += 1

    def _source(self, made: Mapping[str, Any], kind: str) -> str:
        """The name among the study's files of the plant or trip a run was made with; "" where it is none of them."""
        told = made.get("bench") or {}
        said = str(told.get(kind) or made.get(f"{kind}_source") or "").removeprefix("shipped trip ")
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

    def at(self, place: str) -> Kept | None:
        """The run that lies at a place beneath the study's folder; None where none does."""
        return next((one for one in self.kept if one.place == place), None)

    def plant_source(self, name: Any) -> str:
        """What to load for the name of a plant."""
        return _named(self.plants, name, "plant")

    def trip_source(self, name: Any) -> str:
        """What to load for the name of a trip."""
        return _named(self.trips, name, "trip")

    def files_state(self) -> dict[str, float]:
        """When each plant and trip file of the folder last changed, by its name; for whoever watches."""
        found = {}
        named = [(name, name, source) for name, source in self.plants.items()]
        named += [(f"trip {name}", name, source) for name, source in self.trips.items()]
        for key, name, source in named:
            path = Path(source)
            if source != name:
                found[key] = path.stat().st_mtime if path.is_file() else 0.0
        return found


def driven_by(strategy: Any) -> str:
    """What the name of a run says of who drove it; of its decision table nothing."""
    if strategy in (None, "", "table"):
        return ""
    return " on its rules" if strategy == "rules" else f" under {strategy}"


def _named(known: Mapping[str, str], name: Any, kind: str) -> str:
    if isinstance(name, str) and name in known:
        return known[name]
    raise InputError([Problem(kind, f"there is no {kind} {str(name)[:60]!r}", "one of those listed")], "bench")
