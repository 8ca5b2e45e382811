"""Heat prices of a shipped car's pack: their signs, how they fall with temperature and rise with time."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from heatwright.dispatch.prices import Prices, derive_prices, falling_price
from heatwright.dispatch.settings import load_settings
from heatwright.kernel import price_book as kp
from heatwright.physics import heat_price as hp
from tests.balance.marches import program_of

GRID_C = np.arange(-30.0, 58.0, 1.0)
TIMES_S = (np.inf, 6 * 3600.0, 3600.0, 1800.0, 900.0, 300.0, 60.0, 0.0)


@pytest.fixture(scope="module")
def cold() -> Prices:
    return derive_prices(program_of("plain", "charge_cold"), replace(load_settings(), heating_power_w=0.0))


def line(prices: Prices, t_s: float) -> np.ndarray:
    which = -1 if np.isinf(t_s) else 0
    return np.array([prices.pack(t + 273.15, which, t_s) for t in GRID_C])


def test_heat_is_worth_something_when_cold_and_a_burden_when_hot(cold: Prices) -> None:
    for t_s in TIMES_S:
        values = line(cold, t_s)
        assert (values[GRID_C <= 10.0] > 0.0).all()
        assert (values[GRID_C >= 46.0] < 0.0).all()


@pytest.mark.parametrize("t_s", TIMES_S)
def test_the_price_never_rises_with_temperature(cold: Prices, t_s: float) -> None:
    assert (np.diff(line(cold, t_s)) <= 1e-12).all()


def test_long_before_the_charge_the_price_stays_at_the_plateau(cold: Prices) -> None:
    values = line(cold, 6 * 3600.0)
    assert values.max() == pytest.approx(0.8)
    assert values[GRID_C < 5.0] == pytest.approx(0.8)


def test_the_price_rises_to_the_terminal_curve_as_time_runs_out(cold: Prices) -> None:
    lines, scarce = [line(cold, t_s) for t_s in TIMES_S[1:]], GRID_C < 0.0
    for early, late in pairwise(lines):
        assert (late[scarce] >= early[scarce] - 0.02).all()
    terminal = np.interp(GRID_C + 273.15, cold.t_grid_k, cold.charges[0].price)
    assert lines[-1] == pytest.approx(terminal)
    assert lines[-1].max() > 3.0 * lines[0].max()


def test_a_cold_pack_costs_more_and_charges_longer(cold: Prices) -> None:
    one = cold.charges[0]
    below = cold.t_grid_k < 290.0
    ends = np.isfinite(one.cost_j)
    assert (np.diff(one.cost_j[below & ends]) < 0.0).all()
    assert (np.diff(one.time_s[below & ends]) < 0.0).all()


def test_the_price_is_the_slope_of_the_cost(cold: Prices) -> None:
    """Where nothing is capped or pooled the prices of a stretch add up to the cost saved between its smoothed ends."""
    one = cold.charges[0]
    first, last = (int(np.argmin(np.abs(cold.t_grid_k - 273.15 - t))) for t in (3.0, 13.0))
    heat_j = cold.par[hp.HEAT_J_PER_K]
    saved = one.cost_j[first - 2 : first + 2].mean() - one.cost_j[last - 1 : last + 3].mean()
    assert heat_j * one.price[first : last + 1].sum() == pytest.approx(saved, rel=1e-9)


def test_charges_are_found_in_the_trip() -> None:
    prices = derive_prices(program_of("plain", "charge_repeated"), replace(load_settings(), heating_power_w=0.0))
    assert len(prices.charges) == 3
    first, second = prices.charges[:2]
    assert first.end_s < second.start_s
    times = (0.0, first.start_s + 1.0, first.end_s, 1e9)
    assert [kp.next_charge(prices.book, t_s) for t_s in times] == [0, 0, 1, -1]
    assert prices.at(first.end_s, 270.0)[0] == prices.pack(270.0, 1, second.start_s - first.end_s)
    assert first.soc_to == pytest.approx(0.8)
    assert 0.05 < first.soc_from < 0.3


def test_without_a_charge_the_standing_price_holds_unless_the_rest_of_the_trip_makes_more_of_it() -> None:
    prices = derive_prices(program_of("plain", "winter_day"), load_settings())
    assert prices.charges == ()
    end_s = prices.rest.at[-1]
    assert prices.at(end_s, 263.15) == (pytest.approx(0.2), 0.0, 0.0)
    assert prices.at(end_s, 313.15)[0] == pytest.approx(-0.2)
    assert prices.at(0.0, 263.15)[0] >= 0.2
    assert prices.at(0.0, 318.15)[0] < -0.3


def test_wear_makes_heat_in_a_hot_pack_a_burden_for_as_long_as_the_trip_lasts() -> None:
    """Held at one temperature, heat costs the slope of the wear times the time left over the heat capacity."""
    program, settings = program_of("plain", "winter_day"), load_settings()
    prices = derive_prices(program, settings)
    end_s, t_k = float(prices.rest.at[-1]), 318.15
    left_s = 600.0
    slope = math.log(2.0) / settings.ageing_double_k * settings.ageing_w * 2.0 ** ((t_k - 298.15) / 10.0)
    known = -slope * left_s / program.facts["pack_heat_j_per_k"]
    at = int(np.argmin(np.abs(prices.t_grid_k - t_k)))
    rest = float(np.interp(end_s - left_s, prices.rest.at, prices.rest.price[:, at]))
    assert rest == pytest.approx(known, rel=0.25)


def test_while_charging_the_price_falls_to_what_the_rest_of_the_trip_makes_of_it(cold: Prices) -> None:
    one = cold.charges[0]
    charges = np.linspace(one.soc_from, one.soc_to, 5)
    prices = [cold.at(one.start_s, 273.15, float(soc))[0] for soc in charges]
    assert prices[0] == pytest.approx(cold.pack(273.15, 0, 0.0))
    assert all(late < early for early, late in pairwise(prices))
    assert prices[-1] == pytest.approx(float(np.interp(273.15, cold.t_grid_k, cold.rest.price[0])), abs=1e-9)


def test_linings_are_worth_their_heat_in_the_cold_and_their_cold_in_the_heat() -> None:
    winter = derive_prices(program_of("plain", "charge_cold"), load_settings()).cabin_path
    summer = derive_prices(program_of("plain", "summer_charge_day"), load_settings()).cabin_path
    assert 0.5 < winter[0][1] <= 0.8
    assert -0.8 <= summer[0][1] < -0.5
    assert winter[-1][1] == summer[-1][1] == 0.0
    assert all(late <= early + 1e-12 for (_, early), (_, late) in pairwise(winter))


def test_a_given_price_replaces_the_derived_one() -> None:
    given = replace(load_settings(), pack_price=((0.0, 0.3), (600.0, 0.9)), drive_price=((0.0, 0.05),))
    prices = derive_prices(program_of("plain", "charge_cold"), given)
    assert prices.at(300.0, 250.0)[:2] == (pytest.approx(0.6), 0.05)
    assert prices.at(1e5, 250.0)[0] == pytest.approx(0.9)


def test_heat_at_the_charger_bounds_the_price() -> None:
    """With 5 kW of heat from the station a cold pack costs at most the waiting and the electricity of that heat."""
    warm = derive_prices(program_of("plain", "charge_cold"), replace(load_settings(), heating_power_w=5e3))
    one = warm.charges[0]
    assert one.price.max() < 1.05 * (6e3 + 5e3) / 5e3
    assert np.isfinite(one.cost_j).all()


def test_a_hollow_in_the_slope_is_pooled_and_keeps_the_cost() -> None:
    slope = np.array([3.0, 1.0, 2.0, 1.5, 0.5])
    fine = np.repeat(slope, 9)  # wide pieces: the smoothing touches only their ends
    cost = np.concatenate([[0.0], -np.cumsum(fine)])
    price = falling_price(cost, 1.0, 10.0)
    assert (np.diff(price) <= 1e-12).all()
    assert price[4] == pytest.approx(3.0)
    assert price[22] == pytest.approx(1.5, abs=0.1)
    assert price[-1] == pytest.approx(0.5)


def test_a_charge_that_never_ends_has_the_highest_price() -> None:
    cost = np.array([np.inf, np.inf, np.inf, 30.0, 20.0, 10.0, 5.0, 2.0, 8.0, 20.0, np.inf, np.inf])
    price = falling_price(cost, 1.0, 5.0)
    assert price[0] == 5.0
    assert price[-1] == -5.0
    assert (falling_price(np.full(7, np.inf), 1.0, 5.0) == 5.0).all()


def test_the_kernel_reads_the_prices_as_straight_lines_between_what_was_worked_out(cold: Prices) -> None:
    """Held against numpy's own interpolation, at times before the charge, during it and after it."""
    one, grid = cold.charges[0], cold.t_grid_k
    for t_s in np.linspace(0.0, one.start_s, 7)[:-1]:
        row = np.array([np.interp(t_s, one.before.at, one.before.price[:, k]) for k in range(grid.size)])
        full = float(np.interp(268.4, grid, row))
        got = cold.at(float(t_s), 268.4)[0]
        assert (
            got == pytest.approx(full) if full <= cold.par[hp.PLATEAU] else cold.par[hp.PLATEAU] <= got <= full + 1e-9
        )
    for soc in np.linspace(one.soc_from, one.soc_to, 5):
        row = np.array([np.interp(soc, one.during.at, one.during.price[:, k]) for k in range(grid.size)])
        assert cold.at(one.start_s + 1.0, 268.4, float(soc))[0] == pytest.approx(float(np.interp(268.4, grid, row)))
    t_s = 0.5 * (one.end_s + cold.rest.at[-1])
    row = np.array([np.interp(t_s, cold.rest.at, cold.rest.price[:, k]) for k in range(grid.size)])
    stands = hp.standing_price(268.4, *cold.par[[hp.STANDING, hp.CENTRE_K, hp.SLOPE_K]])
    assert cold.at(float(t_s), 268.4)[0] == pytest.approx(max(stands, float(np.interp(268.4, grid, row))))
