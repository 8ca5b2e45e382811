"""Capacities of a plant: for every need and air outside the best of its modes against the load."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from heatwright.compiler.held import resting
from heatwright.modes.model import Atlas
from heatwright.plant.model import Plant
from heatwright.run import plain
from heatwright.study.capacity.bench import Bench, Situation
from heatwright.study.capacity.candidates import Candidate, candidates
from heatwright.study.capacity.cells import Amount, Cell, best_of, no_mode
from heatwright.study.capacity.drive import drive_cell
from heatwright.study.capacity.tasks import TASKS, Loads, Task, loads_of
from heatwright.study.capacity.trial import Found, Trial, shared, with_least
from heatwright.study.draws import side_by_side
from heatwright.study.point_setting import mixed

Progress = Callable[[float, float], Any]
LEAST_W, LEAST_KG_PER_S = 100.0, 1e-5
SCREEN, KEPT = 3, 4
AMPLE = 1.5  # share from which two sides need not be evened out


@dataclass(frozen=True)
class Capacities:
    """Every need of a plant over the air outside."""

    plant: str
    t_ambient_k: tuple[float, ...]
    cells: tuple[Cell, ...]
    loads: Loads

    def of(self, task: str) -> tuple[Cell, ...]:
        """Return the cells of one need, from cold to hot."""
        return tuple(one for one in self.cells if one.task == task)

    def as_json(self) -> dict[str, Any]:
        """Return everything as plain JSON values, SI."""
        words = {one.key: one.words for one in TASKS}
        cells = [{**plain(one), "words": words[one.task], "met": one.met} for one in self.cells]
        return {"t_ambient_k": list(self.t_ambient_k), "loads": plain(self.loads), "cells": cells}


def capacities(plant: Plant, atlas: Atlas, loads: Loads, progress: Progress | None = None) -> Capacities:
    """Return the capacity of the best mode for every need and air outside.

    loads : the sheet's [capacity] (study.needs.loads). At every third air outside all modes are tried, between them
    those that came near there. A need that no mode serves is a result. Raises InputError as
    `compile_program` does. progress(done, total) counts needs at one air outside.
    """
    outside = tuple(float(t) for t in np.arange(loads["coldest"], loads["hottest"] + 1e-6, loads["step"]))
    every = {task.key: _candidates(plant, atlas, task, loads) for task in TASKS}
    first = [(task, t_k, every[task.key]) for task in TASKS for t_k in outside[::SCREEN]]
    others = [(task, t_k) for task in TASKS for t_k in outside if t_k not in outside[::SCREEN]]
    cells: dict[tuple[str, float], Cell] = {}
    kept: dict[str, set[str]] = {task.key: set() for task in TASKS}

    def work(jobs: Sequence[tuple[Task, float, Sequence[Candidate]]]) -> None:
        for cell, good in side_by_side(lambda job: _cell(plant, job[0], job[1], job[2], loads), jobs):
            cells[cell.task, cell.t_ambient_k] = cell
            kept[cell.task] |= set(good)
            if progress is not None:
                progress(len(cells), len(first) + len(others))

    work(first)
    some = {key: tuple(one for one in own if one.id in kept[key]) or own for key, own in every.items()}
    work([(task, t_k, some[task.key]) for task, t_k in others])
    return Capacities(
        plant.name, outside, tuple(cells[task.key, t_k] for task in TASKS for t_k in outside), loads
    )  # fmt: skip


def _candidates(plant: Plant, atlas: Atlas, task: Task, loads: Loads) -> tuple[Candidate, ...]:
    standing = task.situation(293.15, loads).speed_m_per_s == 0.0
    fresh = _fresh(plant, task, loads)
    return candidates(plant, atlas, task.serves, task.begins, loads["blower"], fresh, standing, task.heating)


def _fresh(plant: Plant, task: Task, loads: Loads) -> Mapping[str, float]:
    return mixed(plant, loads[task.fresh]) if task.fresh else {}


def _cell(
    plant: Plant, task: Task, t_k: float, modes: Sequence[Candidate], loads: Loads
) -> tuple[Cell, tuple[str, ...]]:  # fmt: skip
    """Return one need at one air outside in the best mode, and the ids of the modes that come near it."""
    bench = Bench(plant, task.situation(t_k, loads))
    if task.key == "cool_drive":
        return drive_cell(plant, task, t_k, bench, modes)
    blown = {part.name: loads["blower"] for part in plant.of_kind("blower") if task.fresh}
    rest = bench.settle({**resting(plant, {}, _fresh(plant, task, loads)), **blown})
    wanted = [sum(loads_of(side, sign, rest, bench, loads)) for side, sign in task.sides]
    if not _asked(task, wanted, bench.situation):
        return Cell(task.key, t_k, tuple(Amount(s, 0.0, 0.0) for s, _ in task.sides), None), ()
    if not modes:
        amounts = tuple(Amount(side, max(w, 0.0), 0.0) for (side, _), w in zip(task.sides, wanted, strict=True))
        return Cell(task.key, t_k, amounts, 0.0, bound=no_mode(plant, task)), ()
    trial = Trial(task, t_k, bench, loads)
    found = [(trial.of(one), one) for one in modes]
    best, good = _ranked([cell for cell, _ in found])
    evened: Found = ()
    if len(task.serves) > 1 and (best.share or 0.0) < AMPLE:
        evened = shared(plant, trial, found)
        best, good = best_of([best, *(cell for cell, _ in evened)]), (*good, *(mode.id for _, mode in evened))
    frugal = sorted(found, key=lambda one: (not one[0].met, one[0].devices))[:KEPT]
    return with_least(trial, best, found, evened), (*good, *(mode.id for _, mode in frugal))


def _ranked(found: Sequence[Cell]) -> tuple[Cell, tuple[str, ...]]:
    """Return the best cell, and the ids of the modes that serve the most."""
    order = sorted(found, key=lambda cell: -(cell.share or 0.0))
    return best_of(found), tuple(cell.mode for cell in order[:KEPT])


def _asked(task: Task, wanted: Sequence[float], s: Situation) -> bool:
    """Return whether there is anything to do: the first side of a need asks, or both where both are wanted.

    A pack is warmed only where it is colder outside than it, a cabin dried only where it need not be cooled.
    """
    least = LEAST_KG_PER_S if task.sides[0][0] == "water" else LEAST_W
    if task.key == "dry_cabin" and s.t_ambient_k > s.t_cabin_k:
        return False
    if task.heating and task.sides[-1][0] == "pack" and s.t_ambient_k >= s.t_pack_k:
        return False
    both = task.sides if len(task.serves) > 1 else task.sides[:1]
    return all(one > least for one, _ in zip(wanted, both, strict=False))
