"""A car that believes a charge at another time, or knows of none: what it then takes the time until it to be."""

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.dispatch.prices import derive_prices
from heatwright.dispatch.settings import load_settings
from heatwright.plant.load import load_plant
from heatwright.study.belief import believed, other_air
from heatwright.trip.load import build_case, load_trip

COLD_K = 263.15


@pytest.fixture(scope="module")
def program():
    return compile_program(load_plant("plain"), build_case(load_trip("charge_cold")))


def test_a_late_belief_puts_the_charge_off_until_the_plug_says_otherwise(program) -> None:
    right = derive_prices(program, load_settings())
    late = believed(right, 900.0)
    (charge,) = right.charges
    for t_s in (900.0, 0.5 * charge.start_s, charge.start_s - 1.0):
        assert late.at(t_s, COLD_K)[0] == pytest.approx(right.at(t_s - 900.0, COLD_K)[0])
    for t_s in (charge.start_s, charge.end_s - 1.0, charge.end_s):
        assert late.at(t_s, COLD_K) == right.at(t_s, COLD_K)
    assert late.at(0.0, COLD_K)[0] < right.at(0.0, COLD_K)[0]


def test_an_early_belief_waits_at_the_moment(program) -> None:
    right = derive_prices(program, load_settings())
    early = believed(right, -900.0)
    start = right.charges[0].start_s
    assert early.at(start - 1200.0, COLD_K)[0] == pytest.approx(right.at(start - 300.0, COLD_K)[0])
    assert early.at(start - 600.0, COLD_K)[0] == right.at(start, COLD_K)[0]
    assert early.at(0.0, COLD_K)[0] >= right.at(0.0, COLD_K)[0]


def test_a_charge_not_forecast_leaves_the_standing_price_until_it_begins(program) -> None:
    right = derive_prices(program, load_settings())
    blind = believed(right, known=False)
    start = right.charges[0].start_s
    assert blind.at(start - 1.0, COLD_K)[0] == pytest.approx(right.standing(COLD_K))
    assert blind.at(start, COLD_K) == right.at(start, COLD_K)


def test_other_air_moves_the_cost_of_the_charge_and_leaves_the_trip_alone(program) -> None:
    before = program.rows.copy()
    settings = load_settings()
    right, warmer = derive_prices(program, settings), other_air(program, settings, 10.0)
    cold = int(np.argmin(np.abs(right.t_grid_k - COLD_K)))
    assert warmer.charges[0].cost_j[cold] < right.charges[0].cost_j[cold]
    assert np.array_equal(program.rows, before)
    assert np.array_equal(other_air(program, settings, 0.0).charges[0].cost_j, right.charges[0].cost_j)
