"""A fast charge from start to end with the pack as one lump: how long it lasts, what it costs, how warm it ends.

`par` in the functions below is one array in the order of the constants here, `cell` a chemistry as in `physics.pack`.
"""

from __future__ import annotations

import math

import numpy as np

from heatwright.physics.jit import kernel_jit
from heatwright.physics.pack import charge_limit_w, charge_window_k, current_a, entropy_v_per_k, heat_w, ocv_v
from heatwright.physics.pack import resistance_ohm as pack_resistance_ohm

(
    SERIES, R_25_OHM, AGE, EA_J_PER_MOL, ENERGY_J, I_MAX_A, CAPACITY_C, HEAT_J_PER_K, STATION_W, LOADS_W, COOL_FROM_K,
    COOL_WIDTH_K, COOL_W, COOL_COP, HEATER_W, WAITING_W, AGEING_W, AGEING_FROM_K, AGEING_DOUBLE_K,
    LOSS_W_PER_K, OUTSIDE_K,
) = (np.uint64(k) for k in range(21))  # fmt: skip
N_PAR = 21
"""Pack: cells in series, resistance [ohm], age, activation [J/mol], energy [J], most current [A], capacity [C], heat
capacity [J/K]; station and the car's own loads [W]; cooling: from, over, most, COP; heating [W]; what waiting costs
[W]; ageing: cost, from where, doubling; loss to the air outside [W/K], its temperature [K]."""

STEP_S = 10.0
LONGEST_S = 86400.0


@kernel_jit
def ageing_cost_w(t_k: float, cost_w: float, t_from_k: float, double_k: float) -> float:
    """Return what ageing of a warm pack is charged [W], cost (2^((T - T_from)/double) - 1), nothing below T_from.

    Parameters: `t_k` : pack [K]; `cost_w` : at one doubling above `t_from_k` [W]; `t_from_k` [K]; `double_k` [K], > 0.
    Source: doubling each 10 K is common practice; the level is a judgement.

    >>> round(ageing_cost_w(318.15, 250.0, 298.15, 10.0), 6), ageing_cost_w(280.0, 250.0, 298.15, 10.0)
    (750.0, 0.0)
    """
    return cost_w * (2.0 ** (max(t_k - t_from_k, 0.0) / double_k) - 1.0)


@kernel_jit
def charge_rates(t_k: float, soc: float, par: np.ndarray, cell: np.ndarray) -> tuple[float, float, float]:
    """Return (rise of the charge [1/s], rise of the pack's temperature [K/s], cost of the losses and of heat [W]).

    The pack takes the least of its own limit and what the station has left; I from P = U I - R I^2;
    C dT/dt = I^2 R - I T dU/dT - Q_cool + Q_heat - G (T - T_out), Q_cool = Q_most clip((T - T_from)/width, 0, 1),
    Q_heat below the temperature of the full rate.  Loads, Q_cool / COP and Q_heat come from the station.
    Cost: I^2 R + Q_cool / COP + Q_heat.
    Parameters: `t_k` : pack [K]; `soc` [-]; `par` : see above; `cell` : chemistry.
    Outside: what `physics.pack` does.
    Source: energy balance; limits as `physics.pack`.

    >>> from heatwright.physics.pack import NMC
    >>> par = example_par()
    >>> rise, warming, cost = charge_rates(293.15, 0.3, par, NMC)
    >>> round(rise * 3600.0, 2), round(warming * 60.0, 2), round(cost / 1e3, 2)
    (1.38, 0.87, 7.09)
    """
    cool = par[COOL_W] * min(max((t_k - par[COOL_FROM_K]) / par[COOL_WIDTH_K], 0.0), 1.0)
    lost = par[LOSS_W_PER_K] * (t_k - par[OUTSIDE_K])
    heater = 0.0
    if par[HEATER_W] > 0.0 and t_k < charge_window_k(soc, cell)[0]:
        heater = par[HEATER_W]
    u = ocv_v(soc, cell, par[SERIES])
    r = pack_resistance_ohm(t_k, soc, par[R_25_OHM], par[AGE], par[EA_J_PER_MOL], 0.0, 4e4)
    take = charge_limit_w(t_k, t_k, soc, par[ENERGY_J], u, par[I_MAX_A], 1.0, cell)
    spent = cool / par[COOL_COP] + heater
    power = min(take, max(par[STATION_W] - par[LOADS_W] - spent, 0.0))
    i, _ = current_a(-power, u, r)
    made = heat_w(i, r, t_k, entropy_v_per_k(soc, cell, par[SERIES]))
    return -i / par[CAPACITY_C], (made - cool + heater - lost) / par[HEAT_J_PER_K], i * i * r + spent


@kernel_jit
def fast_charge(
    t_k: float, soc_from: float, soc_to: float, par: np.ndarray, cell: np.ndarray
) -> tuple[float, float, float]:
    """Return (time [s], cost [J], temperature at the end [K]) of a charge, marched by midpoint steps of 10 s.

    J = integral of (waiting + ageing(T) + losses) dt until the charge is reached; the last step is cut short, so that J
    is continuous in the temperature at the start.
    Parameters: `t_k` : pack at the start [K]; `soc_from`, `soc_to` : charge [-], 0-1; `par` : see above;
    `cell` : chemistry.
    Outside: a charge not reached within a day ends there, with an infinite time and cost.
    Source: integration of `charge_rates`.

    >>> from heatwright.physics.pack import NMC
    >>> [round(fast_charge(t, 0.1, 0.8, example_par(), NMC)[0] / 60.0, 1) for t in (273.15, 298.15)]
    [64.7, 30.3]
    """
    soc = soc_from
    t_s = 0.0
    cost = 0.0
    while soc < soc_to:
        if t_s >= LONGEST_S:
            return math.inf, math.inf, t_k
        rise, warming, _ = charge_rates(t_k, soc, par, cell)
        t_mid = t_k + 0.5 * STEP_S * warming
        rise, warming, spent = charge_rates(t_mid, soc + 0.5 * STEP_S * rise, par, cell)
        dt = STEP_S
        if soc + rise * dt > soc_to:
            dt = (soc_to - soc) / rise
        spent += par[WAITING_W] + ageing_cost_w(t_mid, par[AGEING_W], par[AGEING_FROM_K], par[AGEING_DOUBLE_K])
        cost += spent * dt
        t_s += dt
        t_k += warming * dt
        soc = soc_to if dt < STEP_S else soc + rise * dt
    return t_s, cost, t_k


def example_par() -> np.ndarray:
    """Return `par` of an invented 75 kWh pack at a station of 150 kW, for examples and tests; no unit is mixed [SI].

    Source: values of the examples in `physics.pack`.

    >>> example_par().shape
    (21,)
    """
    return np.array([
        96.0, 0.07, 0.0, 25e3, 75 * 3.6e6, 500.0, 75 * 3.6e6 / 355.2, 445e3, 150e3, 400.0, 299.15, 4.0, 4e3, 2.5, 0.0,
        6e3, 250.0, 298.15, 10.0, 10.0, 273.15,
    ])  # fmt: skip
