"""Runs under dispatch: the ledger, points that did not settle, switches, stretched steps, masks."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.dispatch.days import day
from heatwright.dispatch.march import Dispatched, run_dispatch
from heatwright.dispatch.score import score
from heatwright.dispatch.settings import load_settings
from heatwright.kernel import dispatch_names as dn
from heatwright.kernel.desk import ASLEEP
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant
from heatwright.sensors import load_sensors
from heatwright.study.stops import settled_case
from heatwright.trip.load import build_case, load_trip

PLANTS = [one.name for one in list_shipped()]
TRIPS = ["winter_day", "summer_charge_day", "rain_day"]
MOST_SWITCHES_PER_H = {"summer_charge_day": 20.0}


@cache
def found(plant: str, trip: str, stretch: bool = True) -> tuple[Dispatched, Any]:
    car, case = load_plant(plant), build_case(load_trip(trip))
    return run_dispatch(car, compile_program(car, case), case, stretch=stretch), case


@pytest.mark.parametrize("trip", TRIPS)
@pytest.mark.parametrize("plant", PLANTS)
def test_the_ledger_closes_and_only_what_can_be_done_runs(plant: str, trip: str) -> None:
    one, _ = found(plant, trip)
    assert abs(one.run.ledger["residual_relative"]) < 1e-12
    assert abs(one.run.ledger["water"]["residual_relative"]) < 1e-10
    assert one.run.health["flow_not_solved"] == 0
    ran = one.why.lines[:, 3, dn.R_SCORE]
    assert np.all(ran < dn.IMPOSSIBLE_W)


HARD = [
    (plant, trip)
    for plant in ("joined", "router", "secondary", "three_loops")
    for trip in ("arctic_night", "deep_frost", "heat_test", "towing")
]


@pytest.mark.parametrize(("plant", "trip"), [(plant, trip) for plant in PLANTS for trip in TRIPS] + HARD)
def test_it_does_not_chatter(plant: str, trip: str) -> None:
    """Changes from one mode to another with people aboard; waking from sleep at the start of a drive is none."""
    one, case = found(plant, trip)
    mode = one.run.series["mode"]
    moved = (mode[1:] != mode[:-1]) & (mode[:-1] != ASLEEP) & (mode[1:] != ASLEEP)
    moved[0] = False  # the first sample shows the car before anything was decided
    assert len(one.why.switches()) == np.sum(moved)
    assert score(one.run, case).switches_per_h <= MOST_SWITCHES_PER_H.get(trip, 10.0)


@pytest.mark.parametrize("plant", PLANTS)
def test_a_sleeping_car_in_long_steps_uses_the_same_energy(plant: str) -> None:
    long, _ = found(plant, "winter_day")
    short, _ = found(plant, "winter_day", stretch=False)
    assert sum(long.run.energy_kwh.values()) == pytest.approx(sum(short.run.energy_kwh.values()), rel=5e-3)


@pytest.mark.parametrize("plant", PLANTS)
def test_a_sleeping_car_in_long_steps_wakes_as_warm(plant: str) -> None:
    """What the next drive begins with: heat in the pack, air in the cabin, charge."""
    long, case = found(plant, "winter_day")
    short, _ = found(plant, "winter_day", stretch=False)
    stands = (np.asarray(case.steps["driving"]) == 0.0) & (np.asarray(case.steps["wanted"]) == 0.0)
    wakes = int(np.flatnonzero(stands[:-1] & ~stands[1:])[-1])
    for name in ("heat_in_pack_j", "t_zone_air_k", "soc"):
        a, b = (float(one.run.series[name][wakes]) for one in (long, short))
        assert a == pytest.approx(b, rel=1e-3), name


def test_a_car_left_in_the_sun_is_cooled_from_the_first_decision() -> None:
    """Its fan was left at rest on the road, where wind was enough; without it no speed of the compressor will do."""
    car = load_plant("reversing_two_coils")
    case = settled_case([car], day(303))
    run = run_dispatch(car, compile_program(car, case, sensors=load_sensors(303)), case).run
    aboard = np.asarray(case.steps["occupied"]) > 0.0
    leaves = np.flatnonzero(aboard[1:] & ~aboard[:-1])[-1] + 1
    assert run.series["t_zone_air_k"][leaves] > 310.0
    assert np.max(run.series["x_compressor"][leaves : leaves + 30]) > 20.0
    assert run.series["t_zone_air_k"][leaves + 240] < 305.0


def test_in_deep_cold_without_a_heater_a_far_look_warms_the_cabin_more() -> None:
    """Heat that is made and lifted builds up over minutes: two minutes ahead it is not worth its electricity."""
    car, case = load_plant("router"), build_case(load_trip("arctic_night"))
    program, usual = compile_program(car, case), load_settings(car.dispatch, case.dispatch)
    far = run_dispatch(car, program, case, settings=usual).run
    near = run_dispatch(car, program, case, settings=replace(usual, far_horizon_s=0.0)).run
    assert score(far, case).discomfort_kh < 0.9 * score(near, case).discomfort_kh
    assert score(far, case).score_kwh < 0.95 * score(near, case).score_kwh


def test_what_is_masked_does_not_run() -> None:
    car, case = load_plant("reversing"), build_case(load_trip("cold_test"))
    program = compile_program(car, case)
    one = run_dispatch(car, program, case, masked={"air_heater"})
    assert one.run.energy_kwh.get("air_heater", 0.0) == 0.0
    two = run_dispatch(car, program, case, masked={"compressor"})
    assert two.run.energy_kwh["compressor"] == 0.0
    assert two.run.energy_kwh["air_heater"] > 1.0


def test_the_score_of_every_line_is_the_sum_of_its_terms() -> None:
    one, _ = found("router", "rain_day")
    lines = one.why.lines.astype(float)
    able = (lines[:, :, dn.R_SCORE] < dn.IMPOSSIBLE_W) & (lines[:, :, dn.R_REASON] == 0.0)
    terms = lines[:, :, dn.R_ELECTRIC : dn.R_START + 1].sum(axis=2)
    assert np.allclose(terms[able], lines[:, :, dn.R_SCORE][able], rtol=1e-5, atol=0.5)
