"""A compressor's measured map, given as values at even knots, to the spline block that the kernel reads."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.tables import RefrigerantTables, at_column, spline_cells
from heatwright.kernel import circuit_names as cn
from heatwright.physics import compressor_map as layout
from heatwright.plant.compressor_map import CompressorMap

Floats = NDArray[np.float64]
LEAST_SHARE = 0.05
ZERO_C_K = 273.15


def map_block(found: CompressorMap, tables: RefrigerantTables, efficiency_factor: float = 1.0) -> Floats:
    """Return the flat map of a compressor (layout: physics/compressor_map.py), its power over efficiency_factor.

    A cubic polynomial in the two temperatures is kept exactly. Flow and power are stored for one revolution.
    """
    speeds = np.array(found.speeds_hz)
    t_evap_k, t_cond_k, superheat_k = found.t_evap_k, found.t_cond_k, found.superheat_k
    flow = np.array(found.mdot_kg_per_s) / speeds[:, None, None]
    work = np.array(found.power_w) / (speeds[:, None, None] * efficiency_factor)
    _, n_evap, n_cond = flow.shape
    head = np.zeros(layout.MAP_HEAD)
    head[layout.MAP_T_EVAP], head[layout.MAP_T_COND] = t_evap_k[0], t_cond_k[0]
    head[layout.MAP_PER_STEP_EVAP] = (n_evap - 1) / (t_evap_k[1] - t_evap_k[0])
    head[layout.MAP_PER_STEP_COND] = (n_cond - 1) / (t_cond_k[1] - t_cond_k[0])
    head[layout.MAP_N_EVAP], head[layout.MAP_N_COND] = n_evap - 1, n_cond - 1
    head[layout.MAP_N_SPEED], head[layout.MAP_ELECTRIC] = speeds.size, float(found.electric)
    head[layout.MAP_FLOW_LEAST] = LEAST_SHARE * flow.min()
    head[layout.MAP_POWER_LEAST] = LEAST_SHARE * work.min()
    rho = spline_cells(_rated_density(np.linspace(*t_evap_k, n_evap), superheat_k, tables)).ravel()
    patches = [_patches(values) for one in zip(flow, work, strict=True) for values in one]
    return np.concatenate([head, rho, speeds, *patches])


def _rated_density(t_k: Floats, superheat_k: float, tables: RefrigerantTables) -> Floats:
    """Return ln of the suction density at evaporating temperatures."""
    known = tables.t_saturation_k
    column = at_column(tables.superheat_k, tables.ln_rho_suction, superheat_k)
    cells = spline_cells(column)
    x = (t_k - known[0]) / (known[1] - known[0])
    cell = np.clip(np.floor(x), 0, cells.shape[0] - 1).astype(int)
    powers = np.vander(x - cell, 4, increasing=True)
    found: Floats = np.sum(powers * cells[cell], axis=1)
    return found


def _patches(values: Floats) -> Floats:
    """Return 16 coefficients a cell: (evaporating cell, condensing cell, power of the one, power of the other)."""
    along_evap = spline_cells(values)
    along_cond = spline_cells(along_evap.transpose(2, 0, 1))
    flat: Floats = along_cond.transpose(2, 0, 3, 1).ravel()
    return flat


def map_range(par: Floats) -> str:
    """Return the range of the map behind a compressor's numbers in words; empty without a map."""
    at = int(par[cn.PAR_MAP])
    if at == 0:
        return ""
    spans = []
    for origin, per_step, cells in (
        (layout.MAP_T_EVAP, layout.MAP_PER_STEP_EVAP, layout.MAP_N_EVAP),
        (layout.MAP_T_COND, layout.MAP_PER_STEP_COND, layout.MAP_N_COND),
    ):
        first = float(par[at + origin]) - ZERO_C_K
        spans.append(f"{first:.0f} to {first + par[at + cells] / par[at + per_step]:.0f} °C")
    first_speed = at + layout.MAP_HEAD + 4 * int(par[at + layout.MAP_N_EVAP])
    speeds = 60.0 * par[first_speed : first_speed + int(par[at + layout.MAP_N_SPEED])]
    return f"{spans[0]} evaporating, {spans[1]} condensing, {speeds[0]:.0f} to {speeds[-1]:.0f} rpm"
