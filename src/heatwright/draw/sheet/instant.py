"""A run at one instant as a sheet shows it: temperatures of every stretch, what flows which way, how valves rest."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.tables import RefrigerantTables, refrigerant_tables
from heatwright.draw.axes import clock
from heatwright.draw.sheet.graph import Graph, graph_of
from heatwright.draw.sheet.state import CONDENSING, DISCHARGE, LIQUID, MIXED, SUCTION, State
from heatwright.modes.facets import settle
from heatwright.modes.fragments import Refused
from heatwright.modes.nets import BLEND, ON_OFF
from heatwright.modes.read_nets import nets_of
from heatwright.outcome import slug
from heatwright.plant.circuits import circuits_of
from heatwright.plant.model import Part, Plant
from heatwright.run import Run

Series = NDArray[np.float64]
FLOWS_KG_PER_S = 1e-4
LEAKS = 0.03
"""Share of the medium's largest flow up to which a leg counts as standing."""
WORKED_OUT = (CONDENSING, LIQUID, SUCTION, MIXED)
MOVED = 0.02
"""Share of its way from which a position, or a pump's speed from which a pump, counts."""


def line_series(plant: Plant, run: Run) -> dict[str, Series]:
    """Temperatures of refrigerant lines [K] over the whole run, worked out from pressures, superheat and subcooling.

    `t_liquid_k` is the saturation temperature of the high pressure less the subcooling, `t_suction_k` that of the low
    pressure plus the superheat, `t_evaporating_k` that of the low pressure, `t_condensing_k` that of the high one. They
    are nan while a compressor stands, and those of the high side where it lies above the critical pressure. Circuits
    beyond the first bear their compressor's name.
    """
    found: dict[str, Series] = {}
    compressors = [part.name for part in plant.of_kind("compressor")]
    for number, name in enumerate(compressors[: len(circuits_of(plant))]):
        prefix = "" if number == 0 else f"{slug(name)}_"
        wanted = ("p_discharge_pa", "p_suction_pa", "superheat_k", "subcooling_k", "mdot_refrigerant_kg_per_s")
        if any(prefix + one not in run.series for one in wanted):
            continue
        high, low, superheat, subcooling, flow = (np.asarray(run.series[prefix + one], float) for one in wanted)
        tables = refrigerant_tables(plant.fluid_of(name)["refrigerant"])
        runs = flow > FLOWS_KG_PER_S
        evaporating = np.where(runs, _saturation(tables, low), math.nan)
        found[prefix + MIXED] = evaporating
        found[prefix + SUCTION] = evaporating + superheat
        found[prefix + CONDENSING] = np.where(runs, _saturation(tables, high), math.nan)
        found[prefix + LIQUID] = found[prefix + CONDENSING] - subcooling
    return found


def _saturation(tables: RefrigerantTables, p_pa: Series) -> Series:
    """Saturation temperature [K]; nan above the critical pressure."""
    below = p_pa < tables.p_critical_pa
    t_k = np.interp(np.log(np.maximum(p_pa, 1.0)), tables.ln_p_saturation, tables.t_saturation_k)
    return np.where(below, t_k, math.nan)


def state_of_run(plant: Plant, run: Run, t_s: float, lines: Mapping[str, Series] | None = None) -> State:
    """What the sheet shows of a run at the step edge nearest to `t_s` [s]; `lines` are those of `line_series`."""
    k = int(np.argmin(np.abs(np.asarray(run.t_s) - t_s)))
    every = {**run.series, **(line_series(plant, run) if lines is None else lines)}
    temperatures = {name: float(v[k]) for name, v in every.items() if name.startswith("t_") or f"_{DISCHARGE}" in name}
    temperatures |= {
        name: float(v[k]) for name, v in every.items() if name.endswith((CONDENSING, LIQUID, SUCTION, MIXED))
    }
    setting = {part.name: found for part in plant.parts.values() if (found := _resting(part, run, k))}
    flows, shares = _measured(graph_of(plant), run, k)
    flows |= _refrigerant(plant, setting)
    rule = run.mode_names[int(run.series["mode"][k])] if run.mode_names and "mode" in run.series else ""
    return State(flows, setting, temperatures, rule, clock(float(run.t_s[k])), shares)


def _resting(part: Part, run: Run, k: int) -> str:
    """State of an actuator at a step; "" for a part that is none."""
    if "positions" in part.values or "states" in part.values:
        names = part.values.get("positions") or part.values["states"]
        shares = {one: float(run.series.get(f"x_{slug(part.name)}_{slug(one)}", [0.0] * (k + 1))[k]) for one in names}
        opened = sorted((one for one in shares if shares[one] > MOVED), key=lambda one: -shares[one])[:2]
        if "states" in part.values:
            return opened[0] if opened else next(iter(names))
        return BLEND.join(one for one in names if one in opened) if opened else next(iter(names))
    series = run.series.get(f"x_{slug(part.name)}")
    return "" if series is None else ON_OFF[int(float(series[k]) > MOVED)]


def _measured(graph: Graph, run: Run, k: int) -> tuple[dict[str, int], dict[str, float]]:
    """Sign and share of every line of coolant and air that flows; what leaks past a shut valve does not count."""
    found: dict[str, int] = {}
    shares: dict[str, float] = {}
    for medium in ("coolant", "air"):
        pipes = [pipe for pipe in graph.pipes.values() if pipe.medium == medium]
        named = [(line, name) for pipe in pipes for line, name in zip(pipe.lines, pipe.flow, strict=False)]
        flows = {line: float(run.series[name][k]) for line, name in named if name in run.series}
        most = max([FLOWS_KG_PER_S, *(abs(flow) for flow in flows.values())])
        least = max(FLOWS_KG_PER_S, LEAKS * most)
        found |= {line: 1 if flow > 0 else -1 for line, flow in flows.items() if abs(flow) > least}
        shares |= {line: abs(flows[line]) / most for line in flows if line in found}
    return found, shares


def _refrigerant(plant: Plant, setting: Mapping[str, str]) -> dict[str, int]:
    """Which refrigerant lines flow, and which way, with valves and compressors as they stand."""
    flows: dict[str, int] = {}
    for net in nets_of(plant, setting):
        if net.fluid == "refrigerant":
            found = settle(net)
            if not isinstance(found, Refused):
                flows |= {f"refrigerant/{flow.edge.branch}": flow.sign for flow in found.flows}
    return flows
