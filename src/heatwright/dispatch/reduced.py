"""A reduced model of a plant on a trip: three stores of heat, long steps, everything else at rest within a step.

It is the plant's own program with small masses but for the stores, and is looked at by the kernel of the dispatch.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.program import Program
from heatwright.dispatch.desk import make_desk
from heatwright.dispatch.march import is_busy, stops_of
from heatwright.dispatch.prices import fast_stops
from heatwright.dispatch.score import (
    AGEING_DOUBLES_K,
    AGEING_FROM_C,
    AGEING_W,
    COMFORT_BAND_K,
    DISCOMFORT_W_PER_K,
    FULL_CHARGE,
    WAITING_W,
)
from heatwright.dispatch.settings import Settings
from heatwright.errors import InputError, Problem
from heatwright.kernel import desk as kd
from heatwright.kernel import dispatch_names as dn
from heatwright.kernel import march as kernel
from heatwright.kernel import names, plan
from heatwright.kernel.menu import charge_rate, cold_brake_w, fill_menu, lines_of
from heatwright.kernel.period import set_limits
from heatwright.modes.atlas import build_atlas
from heatwright.modes.model import Atlas
from heatwright.plant.model import Plant

Floats = NDArray[np.float64]
ZERO_K = 273.15
FAST_SHARE = 0.05
"""Share of their mass that all but the stores keep."""
SHELL_SHARE = 0.5
"""Share of the shell's heat capacity that the cabin's interior takes over: the shell lies half way to outside."""
PARKED_S = 600.0
CHARGE_STEP = 0.02
"""Charge gained in a step of a fast charge."""
SLOWEST_STEP_S = 1800.0
BRAKE_GRID_K = 233.15 + 5.0 * np.arange(22)
ROAD = [getattr(names, f"D_{key}") for key in "WHEEL CU FE ROT INV GV GC GM".split()]
OUTSIDE, PACK, DRIVE, INTERIOR, AIR, HALF = range(6)


@dataclass(frozen=True, eq=False)
class Step:
    """One step: its means of weather and driving, when it begins, how long it is, and what it is scored by.

    gained : charge gained in a step of a fast charge, whose time then follows from the pack; else 0. brake_w : cost of
    braking with cold cells over BRAKE_GRID_K [W].
    """

    t_s: float
    length_s: float
    row: Floats
    charge: float
    gained: float
    stage: Floats
    brake_w: Floats

    @property
    def driving(self) -> bool:
        """Whether the car drives or its air is wanted."""
        return bool(self.row[names.D_DRIVING] > 0.5 or self.row[names.D_WANTED] > 0.5)


@dataclass(frozen=True, eq=False)
class Reduced:
    """The reduced model. caps : heat capacity of the three stores [J/K]; start : their temperatures at first [K].

    places : what each node begins a step at. desk() gives a fresh desk for its marches.
    """

    plant: Plant
    atlas: Atlas
    settings: Settings
    program: Program
    step_s: float
    steps: tuple[Step, ...]
    caps: Floats
    start: Floats
    places: NDArray[np.int64]

    def desk(self) -> kd.Desk:
        """Return a desk whose stores are those of the model."""
        desk, _, _ = make_desk(self.plant, self.program, self.settings, self.atlas)
        group = desk.group.copy()
        group[np.isin(group, (kd.GROUP_PACK, kd.GROUP_DRIVE, kd.GROUP_CABIN))] = 0
        for place, code in ((PACK, kd.GROUP_PACK), (DRIVE, kd.GROUP_DRIVE), (INTERIOR, kd.GROUP_CABIN)):
            group[(self.places == place) & (np.arange(group.size) >= _coolants(self.program))] = code
        desk.work[:] = self.fresh()
        return desk._replace(group=group)

    def fresh(self) -> Floats:
        """Return a work array made ready."""
        w = self.program.start()
        kernel.prepare(self.program.pi, self.program.pf, w, self.steps[0].row)
        return w

    def put(self, w: Floats, step: Step, t_k: Floats, air_k: float | None = None) -> None:
        """Put the stores at temperatures [K] into a work array; the rest is guessed, and hardly matters."""
        row, tau = step.row, plan.section(self.program.pi, w, "tau")
        out, inside = row[names.D_TAU], t_k[2] - ZERO_K
        if air_k is None:
            air = inside
            if row[names.D_WANTED] > 0.5:
                air += float(np.clip(row[names.D_SETPOINT] - ZERO_K - inside, -5.0, 5.0))
        else:
            air = air_k - ZERO_K
        levels = np.array([0.5 * (out + air), t_k[0] - ZERO_K, t_k[1] - ZERO_K, inside, air, 0.5 * (air + out)])
        tau[:] = levels[self.places]
        plan.section(self.program.pi, w, "ext")[names.X_SOC] = step.charge
        plan.section(self.program.pi, w, "z")[names.Z_SOC] = step.charge

    def length_s(self, w: Floats, step: Step) -> tuple[float, float]:
        """Return (length of a step from the state in `w` [s], rate of its charge [1/s]; 0: its time is fixed)."""
        if step.gained <= 0.0:
            return step.length_s, 0.0
        plan.section(self.program.pi, w, "act")[:] = 0.0
        rate = max(float(charge_rate(self.program.pi, self.program.pf, w, step.row)), step.gained / SLOWEST_STEP_S)
        return step.gained / rate, rate

    def ready(self, desk: kd.Desk, w: Floats, step: Step) -> float:
        """Make a desk ready to look at a step from the state in `w`; return the rate of its charge [1/s].

        The air, at rest within a step, is to come as near to the set-point by its end as it is by the end of a horizon.
        """
        length_s, rate = self.length_s(w, step)
        desk.settings[dn.K_H] = desk.settings[dn.K_PERIOD] = length_s
        desk.settings[dn.K_APPROACH] = self.settings.air_time_s * length_s / self.settings.horizon_s
        set_limits(desk, step.row)
        return rate


class Menu:
    """Fills menus of a reduced model.

    knobs : settings of the flow knobs to offer, (preset, step, candidate, knob). only : candidates to offer; all if
    left out. owner : candidate of every line.
    """

    def __init__(self, model: Reduced, knobs: Floats, only: NDArray[np.bool_] | None = None) -> None:
        self.model, self.desk, self.knobs = model, model.desk(), knobs
        if only is not None:
            self.desk.allow[:] = only
        each = [knobs.shape[0] * lines_of(self.desk, c) * int(a) for c, a in enumerate(self.desk.allow)]
        self.owner = np.repeat(np.arange(len(each)), each)
        self.lines = self.owner.size
        self.heats = np.zeros(max(self.desk.heater_act.size, 1))

    def fill(self, w: Floats, k: int, out: Floats) -> None:
        """Fill the menu of step `k` from the state in `w`; out : lines times N_EFFECT numbers."""
        model, row = self.model, self.model.steps[k].row
        rate = model.ready(self.desk, w, model.steps[k])
        presets = np.ascontiguousarray(self.knobs[:, k]).ravel()
        fill_menu(model.program.pi, model.program.pf, w, row, self.desk, presets, model.caps, rate, self.heats, out)


def _coolants(program: Program) -> int:
    return int(plan.section(program.pi, program.pi, "dim")[1])


def reduce_plant(
    plant: Plant, program: Program, case: Any, settings: Settings, step_s: float, atlas: Atlas | None = None
) -> Reduced:
    """Return the reduced model of a compiled plant on a trip, with steps of `step_s` while driving.

    InputError where the model has no words for the trip or the plant.
    """
    problems = _missing(plant, program)
    if problems:
        raise InputError(problems, "reduced model")
    places = _places(plant, program)
    pf, caps = _with_small_masses(program, places)
    still = replace(
        settings, regret_j=0.0, dwell_s=0.0, bias_gain=0.0, far_rest_s=0.0, far_rest_most_s=0.0, near_rest_s=0.0,
        asleep_rest=0.0, pulse_above_k=1e9, dry_weight_w=0.0, fog_weight_w=0.0, flash_weight=0.0, flash_switch=0.0,
        frost_price_j_per_kg=0.0, far_gap_w=dn.IMPOSSIBLE_W,
    )  # fmt: skip
    small = replace(program, pf=pf)
    tau, own = program.tau0 + ZERO_K, _stores(program, places)
    start = np.array([float(np.average(tau[nodes])) for nodes in own])
    steps = tuple(_steps(small, case, still, step_s))
    return Reduced(plant, atlas or build_atlas(plant), still, small, step_s, steps, caps, start, places)


def _missing(plant: Plant, program: Program) -> list[Problem]:
    problems = []
    for kind, words in (("pack", "a pack"), ("drive_unit", "a drive unit"), ("zone", "a cabin")):
        if not plant.of_kind(kind):
            problems.append(Problem(plant.name, f"no {words[2:]}", words, "leave the reference out: --no-reference"))
    rows = program.rows
    slow = (rows[:, names.D_CHARGETO] > 0.0) & (rows[:, names.D_PLUGGED] > 0.0) & (rows[:, names.D_FAST] <= 0.0)
    if slow.any():
        problems.append(
            Problem(
                program.trip_name,
                "a charge through the car's own charger",
                "fast charges alone",
                "leave the reference out: --no-reference",
            )
        )
    return problems


def _places(plant: Plant, program: Program) -> NDArray[np.int64]:
    """Return what each node begins a step at."""
    places = np.zeros(len(program.index.nodes), np.int64)
    kinds = {name: part.kind for name, part in plant.parts.items()}
    for k, node in enumerate(program.index.nodes):
        part, _, piece = node.partition(".")
        kind = kinds.get(part)
        if kind == "pack":
            places[k] = PACK
        elif kind == "drive_unit":
            places[k] = DRIVE
        elif kind == "zone":
            places[k] = INTERIOR if piece == "trim" else AIR if piece in ("air", "skin") else HALF
        elif piece == "air":
            places[k] = AIR
    return places


def _stores(program: Program, places: NDArray[np.int64]) -> list[NDArray[np.int64]]:
    solid = np.arange(places.size) >= _coolants(program)
    return [np.flatnonzero((places == place) & solid) for place in (PACK, DRIVE, INTERIOR)]


def _with_small_masses(program: Program, places: NDArray[np.int64]) -> tuple[Floats, Floats]:
    """Return (coefficients with small masses but for the stores, heat capacity of the stores [J/K])."""
    pf = program.pf.copy()
    mass, c1 = (plan.section(program.pi, pf, key) for key in ("mass", "c1"))
    heat = mass * c1
    kept = np.full(places.size, FAST_SHARE)
    own = _stores(program, places)
    for nodes in own:
        kept[nodes] = 1.0
    shell = [k for k, node in enumerate(program.index.nodes) if places[k] == HALF and node.endswith(".shell")]
    kept[own[2]] += SHELL_SHARE * heat[shell].sum() / heat[own[2]].sum()
    mass *= kept
    return pf, np.array([float((mass * c1)[nodes].sum()) for nodes in own])


def _steps(program: Program, case: Any, settings: Settings, step_s: float) -> Iterator[Step]:
    rows, dt = program.rows, program.dt_s
    charge = _charge(program, settings)
    brake = _brake(program, charge)
    fast = (rows[:, names.D_FAST] > 0.0) & (rows[:, names.D_PLUGGED] > 0.0)
    at, stops = 0, stops_of(rows)
    while at < rows.shape[0]:
        row = rows[at]
        last = min(at + max(round((step_s if is_busy(row) else PARKED_S) / dt), 1), int(stops[at]))
        if fast[at]:
            last = at + int(np.argmin(fast[at:])) if not fast[at:].all() else rows.shape[0]
            first, to = float(charge[at]), float(row[names.D_CHARGETO])
            n = max(int(np.ceil((to - first) / CHARGE_STEP)), 1)
            for k in range(n if to > first else 0):
                soc = first + (to - first) * k / n
                yield Step(
                    at * dt, 0.0, row.copy(), soc, (to - first) / n, _stage(row, True), np.zeros(BRAKE_GRID_K.size)
                )
        else:
            mean = _mean(rows[at:last])
            yield Step(
                at * dt, (last - at) * dt, mean, float(charge[at]), 0.0, _stage(mean, False),
                brake[:, at:last].mean(axis=1),
            )  # fmt: skip
        at = last


def _mean(rows: Floats) -> Floats:
    """Return the mean of rows, in which the road asks what makes the pack as much heat as the rows do."""
    mean = rows.mean(axis=0)
    road = rows[:, ROAD].sum(axis=1)
    mean[names.D_WHEEL] += float(np.sqrt(np.mean(road**2)) - road.mean())
    return mean


def _stage(row: Floats, waiting: bool) -> Floats:
    """Return what a step is scored by; where the trip wants the cabin made ready, that counts as people aboard."""
    return np.array(
        [
            max(row[names.D_OCCUPIED], row[names.D_WANTED]), row[names.D_SETPOINT], WAITING_W if waiting else 0.0,
            DISCOMFORT_W_PER_K, COMFORT_BAND_K, AGEING_W, AGEING_FROM_C + ZERO_K, AGEING_DOUBLES_K,
        ]
    )  # fmt: skip


def _charge(program: Program, settings: Settings) -> Floats:
    """Return the charge at the begin of every row, as the prices take it: heat and cold take nothing."""
    rows, dt = program.rows, program.dt_s
    taken = rows[:, [*ROAD, names.D_LV]].sum(axis=1) * dt / program.facts["pack_j"]
    charge = np.empty(rows.shape[0])
    soc, begun = float(program.ext0[names.X_SOC]), 0
    for stop in fast_stops(program, settings):
        first, last = round(stop.start_s / dt), round(stop.end_s / dt)
        used = np.concatenate([[0.0], np.cumsum(taken[begun:first])])
        scale = (soc - stop.soc_from) / used[-1] if used[-1] > 0.0 else 1.0
        charge[begun:first] = soc - scale * used[:-1]
        charge[first:last] = stop.soc_from
        soc, begun = max(stop.soc_to, stop.soc_from), last
    charge[begun:] = soc - np.concatenate([[0.0], np.cumsum(taken[begun:-1])])[: rows.shape[0] - begun]
    return np.clip(charge, 0.01, 1.0)


def _brake(program: Program, charge: Floats) -> Floats:
    """Return what cold brakes cost, temperature of the pack by row [W]."""
    out = np.zeros((BRAKE_GRID_K.size, program.rows.shape[0]))
    w = program.start()
    kernel.prepare(program.pi, program.pf, w, program.rows[0])
    cells = plan.section(program.pi, program.pi, "pk_n").astype(int)
    for k, t_k in enumerate(BRAKE_GRID_K):
        plan.section(program.pi, w, "tau")[cells] = t_k - ZERO_K
        cold_brake_w(program.pi, program.pf, w, program.rows, charge, FULL_CHARGE, program.dt_s, out[k])
    return out
