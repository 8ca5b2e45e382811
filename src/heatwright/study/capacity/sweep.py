"""Capacities of a plant: for every need and air outside the best of its modes against the load."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from heatwright.kernel.status import LIMIT_NONE, LIMIT_SENTENCES
from heatwright.modes.model import Atlas
from heatwright.plant.model import Plant
from heatwright.run import plain
from heatwright.study.capacity.bench import Bench, Settled, Situation
from heatwright.study.capacity.candidates import Candidate, candidates, resting, turned_down
from heatwright.study.capacity.tasks import TASKS, Loads, Task, gained, load
from heatwright.study.draws import side_by_side
from heatwright.study.needs.why import conditioned
from heatwright.study.point_setting import mixed

Progress = Callable[[float, float], Any]
ALIKE = 0.01
LEAST_W, LEAST_KG_PER_S = 100.0, 1e-5
SCREEN, KEPT = 3, 4
PROMISING, ROUNDS, TURNS = 3, 3, (0.6, 0.3, 0.12)
STEPS = tuple(16.0 * 2.0 ** (-k / 2) for k in range(13))
HALVINGS = 4
PACK_SHORT = "the pack gives no more power"
HELD_OFF = "the compressor cannot run here"


@dataclass(frozen=True)
class Amount:
    """One side of a need: what is wanted and what the mode can do, both above zero [W, or kg/s of water]."""

    side: str
    load: float
    capacity: float


@dataclass(frozen=True)
class Cell:
    """One need at one air outside, in the best mode. `share` of the load that is served, 1 and more: met.

    Without a load there is nothing to do and `share` is None; without a mode `mode` is empty and `share` 0.
    """

    task: str
    t_ambient_k: float
    amounts: tuple[Amount, ...]
    share: float | None
    mode: str = ""
    title: str = ""
    p_electric_w: float = 0.0
    bound: str = ""
    steady: bool = True
    devices: int = 0

    @property
    def met(self) -> bool:
        """Whether the load is served, or there is none."""
        return self.share is None or self.share >= 1.0 - 1e-9


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
        return _drive_cell(plant, task, t_k, bench, modes)
    blown = {part.name: loads["blower"] for part in plant.of_kind("blower") if task.fresh}
    rest = bench.settle({**resting(plant, {}, _fresh(plant, task, loads)), **blown})
    wanted = [load(task, side, sign, rest, bench, loads) for side, sign in task.sides]
    if not _asked(task, wanted, bench.situation):
        return Cell(task.key, t_k, tuple(Amount(s, 0.0, 0.0) for s, _ in task.sides), None), ()
    if not modes:
        amounts = tuple(Amount(side, max(w, 0.0), 0.0) for (side, _), w in zip(task.sides, wanted, strict=True))
        return Cell(task.key, t_k, amounts, 0.0, bound=_no_mode(plant, task)), ()
    trial = Trial(task, t_k, bench, loads)
    found = [(trial.of(one), one) for one in modes]
    best, good = _ranked([cell for cell, _ in found])
    if not best.met and len(task.serves) > 1:
        best, more = _shared(plant, trial, found)
        good = (*good, *more)
    return best, good


def _ranked(found: Sequence[Cell]) -> tuple[Cell, tuple[str, ...]]:
    """Return the best cell, and the ids of the modes that serve the most."""
    order = sorted(found, key=lambda cell: -(cell.share or 0.0))
    return _best(found), tuple(cell.mode for cell in order[:KEPT])


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


def _best(found: Sequence[Cell]) -> Cell:
    """Return the cell that serves the greatest share; of those alike the one with the fewest devices, then power."""
    most = max(cell.share or 0.0 for cell in found)
    near = [cell for cell in found if (cell.share or 0.0) >= most - ALIKE * abs(most)]
    return min(near, key=lambda cell: (cell.devices, cell.p_electric_w, cell.mode))


def _shared(plant: Plant, trial: Trial, found: Sequence[tuple[Cell, Candidate]]) -> tuple[Cell, tuple[str, ...]]:
    """Return the best that the most promising modes do with pumps or expansion valves turned down, and their ids."""

    def served(cell: Cell) -> float:
        return sum(min(one.capacity / one.load, 1.0) for one in cell.amounts if one.load > 0.0)

    promising = sorted(found, key=lambda one: -served(one[0]))[:PROMISING]
    best = _best([cell for cell, _ in found])
    for cell, mode in promising:
        for _ in range(ROUNDS):
            others = [(trial.of(one), one) for one in turned_down(plant, mode, TURNS)]
            better, own = max(others, key=lambda one: one[0].share or 0.0, default=(cell, mode))
            if (better.share or 0.0) <= (cell.share or 0.0):
                break
            cell, mode = better, own
        best = _best([best, cell])
    return best, tuple(mode.id for _, mode in promising)


class Trial:
    """One need at one air outside, in which mode after mode is tried."""

    def __init__(self, task: Task, t_k: float, bench: Bench, loads: Loads) -> None:
        self.task, self.t_k, self.bench, self.loads = task, t_k, bench, loads
        self.idles: dict[object, Settled] = {}

    def of(self, mode: Candidate) -> Cell:
        """Return a mode's answer: what it adds to the same car with only its air moving."""
        key = tuple(sorted((name, value) for name, value in mode.idle.items() if value))
        if key not in self.idles:
            self.idles[key] = self.bench.settle(mode.idle)
        idle, full = self.idles[key], self.bench.settle(mode.acts)
        amounts = tuple(self._amount(side, sign, idle, full) for side, sign in self.task.sides)
        share = min((one.capacity / one.load for one in amounts if one.load > 0.0), default=1.0)
        return Cell(
            self.task.key, self.t_k, amounts, share, mode.id, mode.title, full.p_electric_w, _bound(mode, full),
            full.steady, mode.devices,
        )  # fmt: skip

    def _amount(self, side: str, sign: float, idle: Settled, full: Settled) -> Amount:
        wanted = load(self.task, side, sign, idle, self.bench, self.loads)
        return Amount(side, max(wanted, 0.0), sign * (gained(full, side) - gained(idle, side)))


def _bound(mode: Candidate, full: Settled) -> str:
    """Return what keeps a mode from more: pack, circuit, devices at their most, or nothing but temperatures."""
    if full.capped:
        return PACK_SHORT
    told = list(mode.at_most)
    if "compressor" in mode.acts and not full.runs:
        told.append(HELD_OFF + (f": {LIMIT_SENTENCES[full.limit]}" if full.limit != LIMIT_NONE else ""))
    elif "compressor" in mode.acts:
        told.append(LIMIT_SENTENCES[full.limit] if full.limit != LIMIT_NONE else mode.compressor)
    return " and ".join(told) or "nothing but flow and temperature difference"


def _no_mode(plant: Plant, task: Task) -> str:
    """Return why no mode serves a need."""
    told = "no mode does both at once" if task.key.endswith("_both") else "no mode of this plant does it"
    return f"{told} ({conditioned(plant)})" if "pack" in task.key or task.key.endswith("_both") else told


def _drive_cell(
    plant: Plant, task: Task, t_k: float, bench: Bench, modes: Sequence[Candidate]
) -> tuple[Cell, tuple[str, ...]]:  # fmt: skip
    """Return the mode that carries the most of the drive unit's loss away; those with few devices are asked first.

    Another is only looked at where it bears a little more than the best so far.
    """
    best = Cell(task.key, t_k, (Amount("drive", bench.loss_w(), 0.0),), 0.0, bound=_no_mode(plant, task))
    good: tuple[str, ...] = ()
    for mode in sorted(modes, key=lambda one: (one.devices, one.id)):
        over = (1.0 + ALIKE) * (best.share or 0.0)
        if over > STEPS[0]:
            break
        if not good or bench.settle(mode.acts, over).drive_share >= 1.0:
            best = _most_loss(task, t_k, bench, mode)
            good = (mode.id, *good)
    return best, good


def _most_loss(task: Task, t_k: float, bench: Bench, mode: Candidate) -> Cell:
    """Return the greatest loss that a mode keeps within the drive unit's limits: from above, then by halving.

    All losses are scaled alike, up to sixteen times those of the point of driving.

    From above, because cold coolant may cool worse than warm: a smaller loss can then be worse than a greater one.
    """
    wanted = bench.loss_w()
    low, over, under = 0.0, None, None
    for times in STEPS:
        found = bench.settle(mode.acts, times)
        if found.drive_share >= 1.0:
            low, under = times, found
            break
        high, over = times, found
    if under is not None and over is not None:
        for _ in range(HALVINGS):
            middle = (low * high) ** 0.5
            found = bench.settle(mode.acts, middle)
            if found.drive_share >= 1.0:
                low, under = middle, found
            else:
                high, over = middle, found
    bound = f"{over.drive_limit} at its limit" if over else f"no limit up to {STEPS[0]:.0f} times the loss"
    power, steady = (under.p_electric_w, under.steady) if under else (0.0, True)
    amount = Amount("drive", wanted, low * wanted)
    return Cell(task.key, t_k, (amount,), low, mode.id, mode.title, power, bound, steady, mode.devices)
