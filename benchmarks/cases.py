"""What the benchmarks march: a stretch of a trip with the state it begins in, and the record all methods follow.

A stretch keeps the whole work array of the march at its first step (controls, flows and guesses included), so
that it can be marched again from there any number of times. A `Record` holds, for every step, what the march's
own controls and flow solutions did: every other method takes actuators, mass flows and conductances from it, and
so solves the same equations with the same inputs.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.kernel import march as kernel
from heatwright.kernel import names, plan
from heatwright.outcome import energies_kwh
from heatwright.plant.load import load_plant
from heatwright.simulate import Recorder
from heatwright.study.settled import dry_front
from heatwright.trip.load import build_case, load_trip

Floats = NDArray[np.float64]

HERE = Path(__file__).resolve().parent
HOUR = HERE / "driving_hour.trip.toml"
ZERO_C = 273.15
NO_COLUMNS = np.zeros(0, np.uint32)
NO_RECORD = np.zeros((0, 0), np.float32)
NO_ACTS = np.zeros((1, 1))


@dataclass(frozen=True, eq=False)
class Stretch:
    """Some steps of a trip, and the work array of the march when they begin."""

    program: Program
    rows: Floats
    w: Floats
    dt_s: float

    def section(self, name: str) -> NDArray:
        """Return a named section of the plan (integers or coefficients) or of the first work array."""
        p = self.program
        owner = plan.COLUMNS.get(name, (name,))[0]
        if owner in plan.I:
            return plan.section(p.pi, p.pi, name)
        return plan.section(p.pi, p.pf if owner in plan.F else self.w, name)

    def columns(self, *sections: str) -> NDArray[np.uint32]:
        """Return the places of whole sections of the work array."""
        pi = self.program.pi
        ends = [(int(pi[k]), int(pi[k + 1])) for k in (plan.W_BASE + plan.W[s] for s in sections)]
        return np.concatenate([np.arange(a, b) for a, b in ends]).astype(np.uint32)

    def finer(self, parts: int) -> Stretch:
        """Return the same inputs on steps `parts` times shorter."""
        return replace(self, rows=np.repeat(self.rows, parts, axis=0), dt_s=self.dt_s / parts)


@dataclass(frozen=True, eq=False)
class Record:
    """Inputs of every step: actuators, mass flows [kg/s], conductances [W/K], electric powers of devices [W]."""

    act: Floats
    mdot: Floats
    g: Floats
    pdev: Floats


@dataclass(frozen=True, eq=False)
class Outcome:
    """One march: seconds it took, the recorded columns (a row a step), and the work array at its end."""

    elapsed_s: float
    record: NDArray[np.float32]
    w: Floats


def march(
    stretch: Stretch,
    high: bool = False,
    act: Floats | None = None,
    columns: NDArray[np.uint32] = NO_COLUMNS,
) -> Outcome:
    """March a stretch, by its own controls or with given actuators (a row a step); the ledger is always kept."""
    p = stretch.program
    n = stretch.rows.shape[0]
    w = stretch.w.copy()
    record = np.zeros((n, columns.size), np.float32) if columns.size else NO_RECORD
    acts = NO_ACTS if act is None else act
    begun = time.perf_counter()
    kernel.march(p.pi, p.pf, w, stretch.rows, stretch.dt_s, high, act is not None, acts, columns, record)
    return Outcome(time.perf_counter() - begun, record, w)


def all_columns(program: Program) -> NDArray[np.uint32]:
    """Return the places that a Run keeps."""
    return np.array(Recorder(program).cols, np.uint32)


def with_nodes(plant: Any, total: int, case: Any) -> Any:
    """Return a plant whose pack is cut into so many groups of cells that the program has `total` nodes."""
    pack = plant.of_kind("pack")[0]
    have = len(compile_program(plant, case).index.nodes)
    groups = int(pack.values["nodes"]) + total - have
    cut = replace(pack, values={**pack.values, "nodes": groups})
    return replace(plant, parts={**plant.parts, pack.name: cut})


def stretch_of(
    plant: str,
    trip: str | Path,
    first: int = 0,
    last: int | None = None,
    dt_s: float | None = None,
    nodes: int = 0,
    lumps: bool = False,
) -> Stretch:
    """Return steps first..last-1 of a shipped plant on a trip, marched up to `first` by its own controls.

    nodes : cut the pack so that the plant has so many temperatures (0: as shipped). lumps : refrigerant exchangers of
    one temperature each and no frost, as the engineer's script has it.
    """
    way = load_trip(str(trip))
    case = build_case(way if dt_s is None else replace(way, dt_s=dt_s))
    model = load_plant(plant, {"compressor.compressor.exchangers": "lumps"} if lumps else None)
    if nodes:
        model = with_nodes(model, nodes, case)
    program = compile_program(model, case)
    if lumps:
        dry_front(program)
    w = program.start()
    kernel.prepare(program.pi, program.pf, w, program.rows[0])
    whole = Stretch(program, program.rows[:first], w, program.dt_s)
    w = march(whole).w
    plan.section(program.pi, w, "acc")[:] = 0.0
    plan.section(program.pi, w, "misc")[:] = 0.0
    return Stretch(program, np.ascontiguousarray(program.rows[first:last]), w, program.dt_s)


def driving_hour(plant: str, dt_s: float = 1.0, nodes: int = 0, lumps: bool = False) -> Stretch:
    """Return the first driving hour of the winter day: what follows the 25 minutes at the plug."""
    return stretch_of(plant, HOUR, round(1500 / dt_s), round(5100 / dt_s), dt_s, nodes, lumps)


def record_of(stretch: Stretch) -> Record:
    """Return what the march's own controls and flow solutions do in every step of a stretch.

    The actuators are read once and marched again, so that flows and conductances are those that the rounded
    (single precision) actuators give.
    """
    act = march(stretch, columns=stretch.columns("act")).record.astype(float)
    sections = ("mdot", "g", "pdev")
    out = march(stretch, act=act, columns=stretch.columns(*sections)).record.astype(float)
    ends = np.cumsum([stretch.section(s).size for s in sections])[:-1]
    mdot, g, pdev = np.split(out, ends, axis=1)
    return Record(act, *(np.ascontiguousarray(x) for x in (mdot, g, pdev)))


def stacked(stretch: Stretch, record: Record) -> Floats:
    """Return all inputs as one array, a line a step: driver row, actuators, mass flows, conductances, powers."""
    return np.hstack([stretch.rows, record.act, record.mdot, record.g, record.pdev])


def line_at(steps: float, last: int, shape: str) -> tuple[int, float]:
    """Return the line of the inputs in force and the share of the next, after so many steps of time.

    shape : "steps", constant over each step as in the march, or "lines", straight from mid-step to mid-step: kinks
    in place of jumps, which ODE solvers take much better.
    """
    if shape == "steps":
        return min(int(steps), last), 0.0
    x = min(max(steps - 0.5, 0.0), float(last))
    k = min(int(x), last)
    return k, x - k


def start_state(stretch: Stretch) -> Floats:
    """Return the state an ODE solver starts from: node temperatures [K], charge, humidity of every air node."""
    airs = stretch.section("mo_kg").size
    charge = stretch.section("ext")[names.X_SOC]
    return np.concatenate([stretch.section("tau") + ZERO_C, [charge], stretch.section("wet")[:airs]])


def temperatures(stretch: Stretch, states: NDArray) -> Floats:
    """Return the node temperatures [degC] in states of an ODE solver (a row an edge)."""
    return states[:, : stretch.section("tau").size] - ZERO_C


def stored_j(stretch: Stretch, tau: Floats) -> Floats:
    """Return the heat stored in all nodes over 0 degC [J] for node temperatures in the last axis [degC]."""
    mass, c1, c2, c3, c4 = (stretch.section(s) for s in ("mass", "c1", "c2", "c3", "c4"))
    return np.sum(mass * tau * (c1 + tau * (c2 / 2 + tau * (c3 / 3 + tau * c4 / 4))), axis=-1)


def energies(stretch: Stretch, outcome: Outcome) -> dict[str, float]:
    """Return the energies by use of a march [kWh]."""
    return energies_kwh(stretch.program, outcome.w)
