"""The march of a fast charge: closed forms it must meet, and its order in the step."""

import math

import numpy as np
import pytest

from heatwright.physics import fast_charge as fc
from heatwright.physics import heat_price as hp
from heatwright.physics.pack import NMC, ocv_v


def par_with(**changes: float) -> np.ndarray:
    par = fc.example_par()
    for name, value in changes.items():
        par[getattr(fc, name)] = value
    return par


def test_a_weak_station_gives_energy_over_power() -> None:
    """Far below every limit and without resistance: the energy put in over the power that the loads leave."""
    par = par_with(STATION_W=5400.0, R_25_OHM=1e-9, COOL_W=0.0, WAITING_W=0.0, LOSS_W_PER_K=0.0, AGEING_W=0.0)
    t_s, cost_j, _ = fc.fast_charge(293.15, 0.3, 0.35, par, NMC)
    soc = np.linspace(0.3, 0.35, 201)
    energy_j = par[fc.CAPACITY_C] * np.trapezoid([ocv_v(s, NMC, 96.0) for s in soc], soc)
    assert t_s == pytest.approx(energy_j / 5000.0, rel=1e-5)
    assert cost_j < 1.0


def test_energy_of_the_pack_is_kept() -> None:
    """What is lost as I^2 R warms the pack, nothing else: reversible heat, loss and cooling are left out."""
    cell = NMC.copy()
    cell[1, 1] = 0.0
    par = par_with(COOL_W=0.0, WAITING_W=0.0, LOSS_W_PER_K=0.0, AGEING_W=0.0)
    _, cost_j, t_end_k = fc.fast_charge(283.15, 0.1, 0.6, par, cell)
    assert par[fc.HEAT_J_PER_K] * (t_end_k - 283.15) == pytest.approx(cost_j, rel=1e-9)


def test_waiting_costs_its_price() -> None:
    free, paid = (fc.fast_charge(280.0, 0.1, 0.8, par_with(WAITING_W=w), NMC) for w in (0.0, 6e3))
    assert paid[1] - free[1] == pytest.approx(6e3 * paid[0])


def test_a_charge_that_is_there_takes_no_time() -> None:
    assert fc.fast_charge(280.0, 0.8, 0.8, par_with(), NMC) == (0.0, 0.0, 280.0)


def test_a_frozen_pack_never_ends() -> None:
    t_s, cost_j, _ = fc.fast_charge(235.0, 0.1, 0.8, par_with(OUTSIDE_K=235.0), NMC)
    assert math.isinf(t_s)
    assert math.isinf(cost_j)


def test_cost_is_continuous_in_the_temperature() -> None:
    """No jump where the number of steps changes: neighbours 0.01 K apart differ by their slope alone."""
    t_k = np.arange(278.0, 280.0, 0.01)
    cost = np.array([fc.fast_charge(t, 0.1, 0.8, par_with(), NMC)[1] for t in t_k])
    steps = np.diff(cost)
    assert (steps < 0.0).all()
    assert np.abs(np.diff(steps)).max() < 0.2 * np.abs(steps).mean()


def test_ageing_doubles() -> None:
    more = [fc.ageing_cost_w(298.15 + t, 250.0, 298.15, 10.0) + 250.0 for t in (0.0, 10.0, 20.0)]
    assert more == pytest.approx([250.0, 500.0, 1000.0])


def test_the_price_has_no_jump_in_time_or_temperature() -> None:
    par = np.array([0.2, 293.15, 10.0, 0.8, 5e3, 1.3, 445e3, 282.0])
    grid, values = np.array([262.0, 282.0, 302.0]), np.array([4.8, 0.8, -0.2])
    for t_k in (263.0, 272.0, 281.0):
        over_time = [hp.pack_price(t_k, t_s, grid, values, par) for t_s in np.arange(1.0, 4000.0, 1.0)]
        assert np.abs(np.diff(over_time)).max() < 0.04
    over_heat = [hp.pack_price(t_k, 600.0, grid, values, par) for t_k in np.arange(262.0, 300.0, 0.01)]
    assert np.abs(np.diff(over_heat)).max() < 0.05
