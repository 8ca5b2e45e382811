"""The march alone: microseconds a step, and what a shorter step changes."""

from __future__ import annotations

import math

import numpy as np

from benchmarks import cases
from benchmarks.cases import Stretch
from benchmarks.compiled import march_given
from benchmarks.methods import Bench
from benchmarks.readings import Reading, best_of

SYNTHETIC_NODES = 40
TARGET_US = 2.5
PLANTS = (("plain", 0), ("reversing", 0), ("plain", SYNTHETIC_NODES), ("reversing", SYNTHETIC_NODES))


def step_times(repeats: int) -> list[Reading]:
    """Return microseconds a step of the driving hour: own controls, ledger kept, record off and on."""
    out = []
    for plant, nodes in PLANTS:
        stretch = cases.driving_hour(plant, nodes=nodes)
        n = stretch.rows.shape[0]
        size = len(stretch.program.index.nodes)
        columns = cases.all_columns(stretch.program)
        for high, kept in ((False, cases.NO_COLUMNS), (False, columns), (True, columns)):
            once = _one(stretch, high, kept)
            once()
            best, median = best_of(repeats, once)
            name = f"{plant}, {size} nodes, {'high' if high else 'normal'}, record {'on' if kept.size else 'off'}"
            target = TARGET_US if nodes and not high else None
            us = 1e6 / n
            out.append(Reading(f"step: {name}", best * us, "us", target, "most", repeats, median * us))
    return out


def _one(stretch: Stretch, high: bool, columns: np.ndarray):  # type: ignore[no-untyped-def]
    return lambda: cases.march(stretch, high, None, columns).elapsed_s


def observed_order(bench: Bench) -> list[Reading]:
    """Return the rms error's order in the step, on the hour's own inputs (jumps every second and all)."""
    exact = bench.exact["steps"]
    out = []
    for high, name in ((False, "normal"), (True, "high")):
        rms = []
        for parts in (1, 2, 4):
            off = march_given(bench.stretch, bench.record, high, parts) - exact
            rms.append(float(np.sqrt(np.mean(off**2))))
            out.append(Reading(f"rms error at {1 / parts:g} s, {name}", rms[-1], "K"))
        out.append(Reading(f"order from 0.5 to 0.25 s, {name}", math.log2(rms[1] / rms[2]), ""))
    return out


def step_size(plant: str = "reversing") -> list[Reading]:
    """Return how energies by use of the driving hour change when the step (and the control's period) is cut."""
    found = {}
    for dt_s in (1.0, 0.5, 0.25):
        stretch = cases.driving_hour(plant, dt_s)
        found[dt_s] = cases.energies(stretch, cases.march(stretch))
    fine = found[0.25]
    total = sum(fine.values())
    out = []
    for dt_s in (1.0, 0.5):
        change = 100.0 * (sum(found[dt_s].values()) / total - 1.0)
        out.append(Reading(f"total energy of the hour, {dt_s:g} s against 0.25 s", abs(change), "%", 0.1))
        worst = max(fine, key=lambda k: abs(found[dt_s][k] - fine[k]))
        share = 100.0 * (found[dt_s][worst] - fine[worst]) / fine[worst]
        note = f"{worst}: {found[dt_s][worst]:.4f} kWh for {fine[worst]:.4f}"
        out.append(Reading(f"largest change of one use, {dt_s:g} s against 0.25 s", abs(share), "%", note=note))
    return out
