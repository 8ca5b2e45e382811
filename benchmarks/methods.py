"""Ours, an engineer's script and CVODE side by side: one plant, one hour, one record, time beside error."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from benchmarks import cases
from benchmarks.cases import Floats, Record, Stretch
from benchmarks.compiled import CompiledModel, march_given, solve_cvode, solve_each_step
from benchmarks.engineer import Engineer, solve
from benchmarks.readings import Reading, best_of, timed

ATOL = 1e-6
MAX_STEP_S = 1.0  # the schedule has a point a second: a longer step walks over it
START_S = 60


@dataclass(frozen=True)
class Row:
    """One method: seconds for the stretch, errors against the converged solution of the same inputs."""

    name: str
    elapsed_s: float
    median_s: float
    repeats: int
    max_k: float
    where: str
    settled_k: float
    rms_k: float
    stored_kj: float
    calls: int = 0


class Bench:
    """A stretch, its record, and a converged solution for either shape of the inputs."""

    def __init__(self, stretch: Stretch, repeats: int, engineer_s: int, say: Callable[[str], Any]) -> None:
        self.stretch, self.repeats, self.say = stretch, repeats, say
        self.engineer_s = min(engineer_s, stretch.rows.shape[0])
        self.record: Record = cases.record_of(stretch)
        self.x0 = cases.start_state(stretch)
        say("converged solutions (CVODE, rtol 1e-9)")
        each = solve_each_step(CompiledModel(stretch, self.record), self.x0, 1e-9, 1e-9)
        lines = solve_cvode(CompiledModel(stretch, self.record, "lines"), self.x0, 1e-9, 1e-9, MAX_STEP_S)
        self.exact = {s: cases.temperatures(stretch, y) for s, y in (("steps", each), ("lines", lines))}

    def row(self, name: str, times: tuple[float, float], repeats: int, tau: Floats, shape: str, calls: int = 0) -> Row:
        """Return a row with the errors of node temperatures (an edge a row, from the first step on)."""
        exact = self.exact[shape][: len(tau)]
        off = np.abs(tau - exact)
        _, node = np.unravel_index(np.argmax(off), off.shape)
        stored = cases.stored_j(self.stretch, tau[-1]) - cases.stored_j(self.stretch, exact[-1])
        return Row(
            name, *times, repeats, float(off.max()), self.stretch.program.index.nodes[node],
            float(off[START_S:].max()), float(np.sqrt(np.mean(off**2))), float(stored) / 1e3, calls,
        )  # fmt: skip

    def ours(self, high: bool) -> Row:
        """The march as `simulate` calls it, actuators replayed, ledger and record kept."""
        columns = cases.all_columns(self.stretch.program)
        times = best_of(
            self.repeats, lambda: cases.march(self.stretch, high, self.record.act, columns).elapsed_s
        )  # fmt: skip
        tau = march_given(self.stretch, self.record, high)
        return self.row(f"march, {'high' if high else 'normal'}", times, self.repeats, tau, "steps")

    def cvode(self, rtol: float) -> Row:
        """CVODE with the compiled right-hand side."""
        model = CompiledModel(self.stretch, self.record, "lines")
        found: list[Floats] = []
        times = best_of(
            self.repeats, lambda: timed(lambda: found.append(solve_cvode(model, self.x0, rtol, ATOL, MAX_STEP_S)))
        )  # fmt: skip
        tau = cases.temperatures(self.stretch, found[-1])
        return self.row(
            f"CVODE, compiled, rtol {rtol:g}", times, self.repeats, tau, "lines", model.calls // self.repeats
        )

    def engineer(self, method: str, rtol: float) -> Row:
        """One of solve_ivp's methods with the engineer's script; part of a stretch is scaled up, and says so."""
        model = Engineer(self.stretch, self.record, "lines")
        found: list[Floats] = []
        seconds = timed(lambda: found.append(solve(model, self.x0, method, rtol, ATOL, MAX_STEP_S, self.engineer_s)))
        whole = self.stretch.rows.shape[0]
        seconds *= whole / self.engineer_s
        name = f"engineer, {method}, rtol {rtol:g}"
        if self.engineer_s < whole:
            name += f" (scaled from {self.engineer_s} s)"
        return self.row(name, (seconds, seconds), 1, cases.temperatures(self.stretch, found[-1]), "lines", model.calls)


def side_by_side(bench: Bench) -> dict[str, Row]:
    """Return all rows by a short key: ours, CVODE, engineer."""
    jobs: dict[str, Callable[[], Row]] = {"normal": lambda: bench.ours(False), "high": lambda: bench.ours(True)}
    for rtol in (1e-4, 1e-5, 1e-6):
        jobs[f"CVODE {rtol:g}"] = partial(bench.cvode, rtol)
    for method, rtol in (("LSODA", 1e-4), ("LSODA", 1e-5), ("BDF", 1e-5), ("Radau", 1e-4)):
        jobs[f"{method} {rtol:g}"] = partial(bench.engineer, method, rtol)
    rows = {}
    for key, job in jobs.items():
        try:
            rows[key] = job()
        except (ArithmeticError, ValueError, RuntimeError) as failure:
            bench.say(f"{key} gave up, no row: {failure}")
            continue
        bench.say(f"{rows[key].name}: {rows[key].elapsed_s:.4g} s")
    return rows


def input_shape(bench: Bench) -> dict[str, float]:
    """Return what the shape of the inputs alone changes: the two converged solutions beside each other."""
    off = np.abs(bench.exact["lines"] - bench.exact["steps"])
    return {
        "max_k": float(off.max()),
        "settled_k": float(off[START_S:].max()),
        "rms_k": float(np.sqrt(np.mean(off**2))),
    }


# ours, other, least ratio wanted; every pair has about equal error, and the table prints both
PAIRS = (
    ("normal", "LSODA 0.0001", None),
    ("normal", "BDF 1e-05", None),
    ("normal", "CVODE 0.0001", 3.0),
    ("normal", "CVODE 1e-05", 3.0),
    ("high", "LSODA 1e-05", 600.0),
    ("high", "Radau 0.0001", 600.0),
    ("high", "CVODE 1e-06", 3.0),
)


def ratios(rows: dict[str, Row]) -> list[Reading]:
    """Return how many times longer another method takes than ours at about the same error."""
    out = []
    for ours, other, target in PAIRS:
        if ours not in rows or other not in rows:
            gave_up = ours if ours not in rows else other
            out.append(Reading(f"{other} over {ours}", math.nan, "x", target, "least", note=f"{gave_up} gave up"))
            continue
        a, b = rows[ours], rows[other]
        note = f"rms error {a.rms_k:.1e} K ours, {b.rms_k:.1e} K theirs"
        out.append(
            Reading(f"{other} over {ours}", b.elapsed_s / a.elapsed_s, "x", target, "least", a.repeats, note=note)
        )
    return out


def table(rows: Iterable[Row]) -> str:
    """Return the rows as text."""
    head = (
        f"  {'method':<44} {'best s':>9} {'median':>9} {'max K':>9} {'after 60 s':>10} {'rms K':>9} {'stored kJ':>9} "
        f"{'calls':>7}  worst node"
    )
    lines = [head]
    for r in rows:
        lines.append(
            f"  {r.name:<44} {r.elapsed_s:>9.4g} {r.median_s:>9.4g} {r.max_k:>9.2g} {r.settled_k:>10.2g} "
            f"{r.rms_k:>9.2g} {r.stored_kj:>9.2g} {r.calls or '':>7}  {r.where}"
        )
    return "\n".join(lines)
