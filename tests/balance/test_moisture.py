"""Water in a run: what coils and panes take is what the air loses, and nothing gives more than it holds."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.kernel.moisture import CO2_OUTSIDE_PPM, CO2_PPM_KG_PER_S
from heatwright.physics.moist_air import H_FUSION_J_PER_KG, H_VAPOUR_J_PER_KG, saturation_humidity_ratio
from heatwright.physics.screen_ice import ICE_J_PER_KG_K, clearing_energy_j_per_m2
from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.simulate import simulate
from tests.balance.marches import run_of, written

COLD = 'temperature = "-3 degC"\nhumidity = "80 %"'
DAMP = '[[segment]]\nkind = "park"\nduration = "600 s"\noccupants = 5\n'
CLEAR = '[[segment]]\nkind = "park"\nduration = "1800 s"\nconditioned = true\noccupants = 1\n'


@cache
def marched(weather: str, segments: str, start: str = "", accuracy: str = "normal") -> Run:
    case = written(weather, segments, start)
    return simulate(compile_program(load_plant("plain"), case), case, accuracy)


def leak_kg_per_s(run: Run) -> float:
    """The plain car's leak, standing: 0.3 changes an hour of 3 m3."""
    density = 101325.0 / (287.05 * float(run.series["t_ambient_k"][-1]))
    return density * 3.0 * 0.3 / 3600.0


def test_carbon_dioxide_settles_where_breath_meets_fresh_air() -> None:
    """c = 420 ppm + people x source / (fresh + leak), in the zone that both leave from."""
    run = marched('temperature = "-10 degC"\nhumidity = "60 %"', CLEAR.replace("1800", "5400").replace("= 1", "= 4"))
    fresh = float(run.series["mdot_air_fresh_kg_per_s"][-1])
    expected = CO2_OUTSIDE_PPM + 4.0 * CO2_PPM_KG_PER_S / (fresh + leak_kg_per_s(run))
    assert expected > 430.0
    assert run.series["co2_cabin_ppm"][-1] == pytest.approx(expected, rel=1e-2)


def test_a_shut_car_gathers_breath_alone() -> None:
    """Nobody drives, nothing blows: the first minute's rise is source over the cabin's air."""
    run = marched(COLD, DAMP)
    rise = float(run.series["co2_cabin_ppm"][60] - run.series["co2_cabin_ppm"][0])
    assert rise == pytest.approx(5.0 * CO2_PPM_KG_PER_S * 60.0 / 3.6, rel=2e-2)


@pytest.mark.parametrize("accuracy", ["normal", "high"])
def test_breath_fogs_the_panes_and_the_blower_clears_them(accuracy: str) -> None:
    run = marched(COLD, DAMP + CLEAR, accuracy=accuracy)
    film = run.series["film_cabin_screen_kg"]
    assert film[600] > 3e-4
    assert film[-1] == pytest.approx(0.0, abs=1e-9)
    assert film.min() > -1e-7
    assert abs(run.ledger["water"]["residual_relative"]) < 1e-10
    assert abs(run.ledger["residual_relative"]) < 1e-12
    saturated = saturation_humidity_ratio(float(run.series["t_cabin_glass_screen_k"][600]), 101325.0)
    assert run.series["w_cabin"][600] > saturated  # still settling: the air is over what the glass would leave


def test_latent_heat_is_the_water_that_was_kept_and_drained() -> None:
    """2501 kJ for every kilogram that coils and panes took, less what dried off again."""
    run = run_of("plain", "hot_day")
    terms = run.ledger["water"]["terms_kg"]
    kept = -(terms["coil_drain"] + terms["stored_on_coils"] + terms["stored_on_glass"])
    assert kept > 0.5
    assert run.ledger["terms_j"]["latent"] == pytest.approx(kept * H_VAPOUR_J_PER_KG, rel=1e-9)


def test_a_wet_coil_keeps_what_its_fins_hold_and_dries_later() -> None:
    """`holds` is 200 g; a day later, the coil off and air passing, there is less."""
    water = run_of("reversing", "day24").series["held_cabin_coil_kg"]
    assert water.min() >= 0.0
    assert run_of("plain", "hot_day").series["held_evaporator_kg"].max() == pytest.approx(0.2, rel=1e-6)
    most = int(np.argmax(water))
    assert water[most] > 1e-4
    assert water[-1] < water[most]


@pytest.mark.parametrize("accuracy", ["normal", "high"])
def test_ice_takes_the_heat_that_frees_it(accuracy: str) -> None:
    """0.44 kg/m2 from -5 degC: warming and melting, no more and no less; the pane waits at 0 degC meanwhile."""
    run = marched(
        'temperature = "-5 degC"', CLEAR.replace("1800", "2400"), '[start]\nice_on_screen = "0.44 kg/m2"\n', accuracy
    )
    ice = run.series["ice_cabin_screen_kg"].astype(float)
    each = H_FUSION_J_PER_KG + 5.0 * ICE_J_PER_KG_K
    assert ice[-1] < 0.5 * ice[0]
    assert run.ledger["terms_j"]["ice_on_glass"] == pytest.approx((ice[-1] - ice[0]) * each, rel=1e-5)
    assert each * 0.44 == pytest.approx(clearing_energy_j_per_m2(0.44, 268.15, 0.0), rel=1e-12)
    melting = np.flatnonzero((np.diff(ice) < 0.0) & (ice[1:] > 1e-3))
    assert melting.size > 60
    pane = run.series["t_cabin_glass_screen_k"][1 + melting[30:]]
    assert np.all(np.abs(pane - 273.15) < 0.1)
    assert abs(run.ledger["water"]["residual_relative"]) < 1e-10
    assert abs(run.ledger["residual_relative"]) < 1e-12
    share = run.series["screen_clear_share"]
    assert np.all(np.diff(share) > -1e-6)
    assert 0.0 <= share.min() <= share.max() <= 1.0
