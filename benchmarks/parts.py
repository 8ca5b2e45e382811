"""Where a step's time goes: every part of the march called over and over on one state of the driving hour.

A part alone, its data at hand, runs faster than among the others; the parts add up to less than the step.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from benchmarks import cases
from benchmarks.readings import Reading, best_of, timed
from heatwright.kernel import control, flows, heat, march, moisture, names, plan, ports, power
from heatwright.physics.jit import _NJIT, kernel_jit

CALLS = 20_000
W_TAU, W_EDRIVE = plan.W["tau"], plan.W["edrive"]
I_WALL = plan.I["rp_wall"]
MOVE_K = 0.02  # between two steps the walls move about so much, and the circuit takes two evaluations or three


@kernel_jit
def wobble(pi: Any, w: Any, k: int) -> None:
    """Move the exchanger walls to and fro."""
    tau = plan.work_view(pi, w, W_TAU)
    wall = plan.int_view(pi, I_WALL)
    for j in range(np.uint64(wall.shape[0])):
        tau[wall[j]] += MOVE_K if k % 2 == 0 else -MOVE_K


def looped(call: Callable[..., Any]) -> Callable[..., None]:
    """Return a compiled loop over a call of (pi, pf, w, row, k)."""
    once = _NJIT(_nrt=False, error_model="numpy")(call)

    def loop(pi: Any, pf: Any, w: Any, row: Any, n: int) -> None:
        for k in range(n):
            once(pi, pf, w, row, k)

    return _NJIT(_nrt=False, error_model="numpy")(loop)


def _circuit(pi, pf, w, row, k):  # type: ignore[no-untyped-def]
    wobble(pi, w, k)
    ports.open_ports(pi, pf, w)
    ports.run_circuit(pi, pf, w, 1.0)


def _assembly(pi, pf, w, row, k):  # type: ignore[no-untyped-def]
    heat.capacities(pi, pf, w, 1.0)
    heat.conductances(pi, w)
    heat.streams(pi, w)
    heat.sources(pi, pf, w, row)


def _solved_flows(pi, pf, w, row, k):  # type: ignore[no-untyped-def]
    drive = plan.work_view(pi, w, W_EDRIVE)
    for j in range(np.uint64(drive.shape[0])):
        drive[j] = -1.0
    flows.update_flows(pi, pf, w, row)


PARTS: dict[str, Callable[..., Any]] = {
    "signals and control": lambda pi, pf, w, row, k: (
        control.read_signals(pi, pf, w, row, 1.0),
        control.aim(pi, pf, w, 1.0),
        control.move_actuators(pi, pf, w, 1.0),
    ),
    "flows and conductances (none to solve)": lambda pi, pf, w, row, k: flows.update_flows(pi, pf, w, row),
    "refrigerant circuit, valves": _circuit,
    "electric side": lambda pi, pf, w, row, k: power.fill_power(pi, pf, w, row),
    "moisture": lambda pi, pf, w, row, k: moisture.step_moisture(pi, pf, w, row, 1.0),
    "heat network: assemble and eliminate": lambda pi, pf, w, row, k: heat.solve_heat(pi, pf, w, row, 1.0),
    "ledger": lambda pi, pf, w, row, k: heat.account(pi, pf, w, row, 1.0),
    "temperatures from energies": lambda pi, pf, w, row, k: heat.restore_temperatures(pi, pf, w),
    "electric bookkeeping": lambda pi, pf, w, row, k: power.book_power(pi, pf, w, row, 0.0, 1.0),
    "derived signals": lambda pi, pf, w, row, k: march.derive(pi, w, row),
}

WITHIN: dict[str, Callable[..., Any]] = {
    "of the heat network: assembly alone": _assembly,
    "flows where every network is solved anew": _solved_flows,
}
"""Not added up: a part of a part, and what only some steps need."""


def part_times(plant: str, repeats: int) -> list[Reading]:
    """Return microseconds of every part, half way through the driving hour."""
    stretch = cases.driving_hour(plant)
    half = cases.Stretch(stretch.program, stretch.rows[:1800], stretch.w, stretch.dt_s)
    w = cases.march(half).w
    row = stretch.rows[1800]
    p = stretch.program
    out = []
    for name, call in (PARTS | WITHIN).items():
        loop = looped(call)

        def once(loop: Callable[..., None] = loop) -> float:
            work = w.copy()
            return timed(lambda: loop(p.pi, p.pf, work, row, CALLS))

        once()
        best, median = best_of(repeats, once)
        us = 1e6 / CALLS
        out.append(Reading(f"{plant}: {name}", best * us, "us", None, "most", repeats, median * us))
    out.append(Reading(f"{plant}: sum of parts", sum(r.value for r in out[: len(PARTS)]), "us"))
    whole = cases.march(stretch).w
    counted = dict(zip(names.COUNTERS, plan.section(p.pi, whole, "misc"), strict=True))
    n = stretch.rows.shape[0]
    out.append(Reading(f"{plant}: flow networks solved a step, in the hour", counted["flow_solves"] / n, ""))
    out.append(Reading(f"{plant}: circuit evaluations a step, in the hour", counted["newton_iterations"] / n, ""))
    return out
