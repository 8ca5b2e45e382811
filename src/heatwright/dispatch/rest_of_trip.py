"""What heat in pack and linings is worth for the rest of a trip: losses, wear and fast charges, from its end back.

The pack is one lump that nobody heats or cools on purpose on the road; at a charger it is as `physics.fast_charge` has
it. What making the heat costs is not asked here (see `physics.heat_price`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from heatwright.compiler.program import Program
from heatwright.dispatch.settings import PricePath, Settings
from heatwright.kernel import names
from heatwright.physics import fast_charge as fc
from heatwright.physics.pack import ocv_v, resistance_ohm

if TYPE_CHECKING:
    from heatwright.dispatch.prices import Stop

Floats = np.ndarray
ROAD_S, PARKED_S = 120.0, 1200.0
"""Steps back in time, driving and not [s]."""
CHARGES = 6
"""Steps of the charge that prices while charging are worked out for."""
MIDDLE = 0.5
"""Charge at which the pack's voltage and resistance on the road are taken."""
GAINS_K, MILD_K, LINING_WIDTH_K = 5.0, 5.0, 5.0
"""People and sun warm a cabin as if it were so much warmer outside; so near the set-point neither heat nor cold in the
linings counts; over so many kelvin more it comes to count in full."""
TRACTION = [getattr(names, f"D_{key}") for key in "WHEEL CU FE ROT INV GV GC GM LV".split()]


@dataclass(frozen=True, eq=False)
class Stretch:
    """A way without a fast charge: times of the trip [s], rising, and the cost of the rest over the grid [J]."""

    t_s: Floats
    cost_j: Floats


def stretches(
    program: Program, settings: Settings, grid: Floats, stops: list[Stop], pars: list[tuple[Floats, Floats]],
    any_par: tuple[Floats, Floats],
) -> tuple[list[Stretch], list[Floats]]:  # fmt: skip
    """Return the stretch before each stop and the last, and the cost over (charge, grid) of each stop [J].

    pars : (`par`, chemistry) of `physics.fast_charge` at each stop; any_par : of the pack anywhere.
    """
    dt, end = program.dt_s, program.rows.shape[0]
    firsts = [0, *(round(stop.end_s / dt) for stop in stops)]
    lasts = [*(round(stop.start_s / dt) for stop in stops), end]
    after = np.zeros(grid.size)
    roads: list[Stretch] = []
    charges: list[Floats] = []
    for k in range(len(stops), -1, -1):
        if k < len(stops):
            charges.insert(0, charging_cost(grid, stops[k].soc_from, stops[k].soc_to, *pars[k], after, settings))
            after = charges[0][0]
        roads.insert(0, _road(program, settings, grid, firsts[k], lasts[k], any_par, after))
        after = roads[0].cost_j[0]
    return roads, charges


def charging_cost(
    grid: Floats, soc_from: float, soc_to: float, par: Floats, cell: Floats, after: Floats, settings: Settings
) -> Floats:
    """Return the cost from each of CHARGES + 1 even steps of charge on, over the grid [J]; the last is `after`."""
    out = [after]
    for soc in np.linspace(soc_from, soc_to, CHARGES + 1)[-2::-1]:
        found = np.array([fc.fast_charge(float(t), float(soc), soc_to, par, cell) for t in grid])
        out.insert(0, bounded(found[:, 1], settings.price_most * par[fc.HEAT_J_PER_K] * (grid[1] - grid[0])))
        out[0] = out[0] + np.interp(found[:, 2], grid, after)
    return np.array(out)


def bounded(cost_j: Floats, step_j: float) -> Floats:
    """Return costs of which those that are infinite lie `step_j` higher for every step beyond the last finite one."""
    known = np.flatnonzero(np.isfinite(cost_j))
    if known.size == 0:
        return -step_j * np.arange(cost_j.size)
    k = np.arange(cost_j.size)
    near = np.clip(k, known[0], known[-1])
    return np.asarray(cost_j[near] + step_j * np.abs(k - near))


def _road(
    program: Program, settings: Settings, grid: Floats, first: int, last: int, pack: tuple[Floats, Floats],
    after: Floats,
) -> Stretch:  # fmt: skip
    par, cell = pack
    r_ohm = np.array([resistance_ohm(float(t), MIDDLE, par[fc.R_25_OHM], par[fc.AGE], par[fc.EA_J_PER_MOL], 0.0, 4e4)
                      for t in grid])  # fmt: skip
    wear_w = np.array([
        fc.ageing_cost_w(float(t), settings.ageing_w, settings.ageing_centre_k, settings.ageing_double_k) for t in grid
    ])  # fmt: skip
    volts, dt, rows = ocv_v(MIDDLE, cell, par[fc.SERIES]), program.dt_s, program.rows
    t_s, costs, at = [last * dt], [after], last
    while at > first:
        busy = rows[at - 1, names.D_DRIVING] > 0.5
        begun = max(first, at - max(round((ROAD_S if busy else PARKED_S) / dt), 1))
        some, seconds = rows[begun:at], (at - begun) * dt
        loss_w = r_ohm * float(np.mean((some[:, TRACTION].sum(axis=1) / volts) ** 2))
        out_w = par[fc.LOSS_W_PER_K] * (grid - 273.15 - float(some[:, names.D_TAU].mean()))
        end_k = grid + (loss_w - out_w) * seconds / par[fc.HEAT_J_PER_K]
        costs.append((loss_w + wear_w) * seconds + np.interp(end_k, grid, costs[-1]))
        t_s.append(begun * dt)
        at = begun
    return Stretch(np.array(t_s[::-1]), np.array(costs[::-1]))


def lining_path(program: Program, settings: Settings) -> PricePath:
    """Return what heat in the cabin's linings is worth over the trip [J/J]: for a cabin to be cooled, below zero.

    Each joule goes into the air, or is not taken from it, by and by; while the cabin is wanted it then saves
    `lining_price`, less where it is nearly as warm outside as it should be inside.
    """
    dt, rows = program.dt_s, program.rows
    tau_s = program.facts["lining_j_per_k"] / program.facts["lining_to_air_w_per_k"]
    at, price = rows.shape[0], 0.0
    path = [(at * dt, price)]
    while at > 0:
        busy = rows[at - 1, names.D_WANTED] > 0.5
        begun = max(0, at - max(round((ROAD_S if busy else PARKED_S) / dt), 1))
        some = rows[begun:at]
        colder_k = some[:, names.D_SETPOINT] - 273.15 - some[:, names.D_TAU] - GAINS_K
        much = np.clip((np.abs(colder_k) - MILD_K) / LINING_WIDTH_K, 0.0, 1.0)
        share = np.sign(colder_k) * much * np.maximum(some[:, names.D_WANTED], some[:, names.D_OCCUPIED])
        kept = math.exp(-(at - begun) * dt / tau_s)
        price = kept * price + (1.0 - kept) * settings.lining_price * float(share.mean())
        at = begun
        path.append((at * dt, price))
    return tuple(reversed(path))
