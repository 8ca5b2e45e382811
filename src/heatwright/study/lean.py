"""A march that keeps only what a study's figures need: for many marches in a row, or side by side in threads."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright import outcome
from heatwright.compiler.program import Program
from heatwright.errors import RunError
from heatwright.kernel import march as kernel
from heatwright.kernel import names, plan
from heatwright.study.service import Figures, Worth, figures

_KEPT = {"fog_margin_k": False, "soc": False, "t_pack_coldest_k": False, "t_zone_air_k": True, "t_vent_k": True}
"""Series kept, and whether they are stored in degC inside the march."""


def lean_figures(program: Program, case: Any, worth: Worth) -> Figures:
    """March a program and return its figures: the very numbers that the whole Run would give.

    `case` holds the wishes that the service is measured against; it may differ from the one the program was
    compiled with. Raises RunError if a temperature is lost.
    """
    w, u_start, series = lean_march(program)
    for key in ("t_setpoint_k", "occupied", "wanted"):
        values = np.asarray(case.steps[key], float)
        series[key] = np.concatenate((values[:1], values))
    books = outcome.ledger(program, w, u_start)
    summary = outcome.summary(program, case, series, books)
    return figures(summary, outcome.comfort(series, case), outcome.energies_kwh(program, w), worth)


def lean_march(program: Program) -> tuple[NDArray[np.float64], NDArray[np.float64], dict[str, NDArray[Any]]]:
    """March a program from its start; return the work array, the energies at the start and the series kept."""
    cols = np.array([_place(program, name) for name in _KEPT], np.uint32)
    n = program.rows.shape[0]
    record = np.zeros((n + 1, cols.size), np.float32)
    w = program.start()
    kernel.prepare(program.pi, program.pf, w, program.rows[0])
    u_start = plan.section(program.pi, w, "u").copy()
    record[0] = w[cols]
    kernel.march(
        program.pi, program.pf, w, program.rows, program.dt_s, False, False, np.zeros((1, 1)), cols, record[1:]
    )  # fmt: skip
    if not np.all(np.isfinite(plan.section(program.pi, w, "u"))):
        raise RunError("a temperature was lost; the plant is outside what the models can bear", n * program.dt_s)
    record[:, [k for k, celsius in enumerate(_KEPT.values()) if celsius]] += np.float32(273.15)
    return w, u_start, {name: record[:, k] for k, name in enumerate(_KEPT)}


def _place(program: Program, name: str) -> int:
    """Return the place in the work array of a series."""
    at = program.index.node_place
    if name == "t_zone_air_k":
        return program.place("tau", at[f"{program.zone}.air"])
    if name == "t_vent_k":
        return program.place("tau", at[program.vent_node])
    return program.place("z", names.DERIVED.index(name))
