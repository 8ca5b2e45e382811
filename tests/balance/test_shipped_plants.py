"""Every shipped plant on the three shipped days, in both accuracies: books closed, solved, its people and pack served.

A plant that is added to the catalogue is taken in here without a word; what it must do in particular stands in BANDS.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.simulate import simulate
from heatwright.study.stops import settled_case
from heatwright.trip.load import load_trip, parse_trip
from tests.balance.marches import FILES
from tools.sources import ROOT

PLANTS = tuple(one.name for one in list_shipped())
DAYS = ("winter_day", "summer_charge_day", "rain_day")
ACCURACIES = ("normal", "high")
AIMS_C = {"winter_day": 21.0, "summer_charge_day": 23.0, "rain_day": 21.0}
MILD_K = {"winter_day": 2.0, "summer_charge_day": 2.0, "rain_day": 7.0}  # after short drives a cabin is not settled


class Bands(NamedTuple):
    """What a plant keeps to: coldest cells in winter and hottest in summer [degC], minutes to 20 degC in winter."""

    coldest_c: float = -10.0
    hottest_c: float = 50.0
    minutes: float = 25.0


BANDS = {  # any other plant: the wide ones
    "three_loops": Bands(hottest_c=36.5),
    "joined": Bands(hottest_c=36.5, minutes=18.0),
}


@cache
def ran(plant: str, day: str, accuracy: str) -> Run:
    """A shipped plant on a shipped day; a fast charge lasts as long as this plant needs."""
    car = load_plant(plant)
    case = settled_case([car], load_trip(day))
    return simulate(compile_program(car, case), case, accuracy)


def air_c(run: Run) -> np.ndarray:
    """Return the air of the first zone over the run [degC]."""
    return run.series["t_zone_air_k"].astype(float) - 273.15


@pytest.mark.parametrize("accuracy", ACCURACIES)
@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize("plant", PLANTS)
def test_the_books_close_and_every_step_is_solved(plant: str, day: str, accuracy: str) -> None:
    run = ran(plant, day, accuracy)
    assert run.ledger["throughput_j"] > 1e7
    assert abs(run.ledger["residual_relative"]) < 1e-12
    assert abs(run.ledger["water"]["residual_relative"]) < 1e-10
    for key in ("circuit_not_solved_steps", "flow_not_solved", "steps_redone", "coolant_outside_its_range_steps"):
        assert run.health[key] == 0, key


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize("plant", PLANTS)
def test_both_accuracies_tell_the_same(plant: str, day: str) -> None:
    normal, high = (ran(plant, day, accuracy) for accuracy in ACCURACIES)
    used = [run.summary["energy_kwh_per_100km"] for run in (normal, high)]
    assert used[0] == pytest.approx(used[1], rel=0.005)
    assert np.max(np.abs(air_c(normal)[-60:] - air_c(high)[-60:])) < 0.5


CAR = {  # part: what a thermal system may give it; all else belongs to the car
    "pack": {"plate", "cells_to_plate", "drop", "channel", "flow_area", "channel_length", "volume"},
    "drive": {"jacket", "deliberate_loss", "drop", "channel", "flow_area", "channel_length", "volume"},
}


@pytest.mark.parametrize("plant", PLANTS)
def test_every_plant_is_in_the_same_car(plant: str) -> None:
    """Body, glass, pack, drive unit and the cabin's air are those of `plain`, so that comparisons are fair."""
    ours, plain = load_plant(plant), load_plant("plain")
    assert ours.body == plain.body
    assert ours.glass == plain.glass
    for name, free in CAR.items():
        mine, theirs = (one.parts[name].values for one in (ours, plain))
        assert {k: v for k, v in mine.items() if k not in free} == {k: v for k, v in theirs.items() if k not in free}
    assert sum(zone.values["air"] for zone in ours.of_kind("zone")) == pytest.approx(3.0)


@pytest.mark.parametrize("plant", PLANTS)
def test_the_page_tells_what_the_runs_give(plant: str) -> None:
    """docs/guide/shipped-plants.md within 5 %; if not: `make docs`, or python -m tools.shipped_page."""
    lines = (ROOT / "docs" / "guide" / "shipped-plants.md").read_text(encoding="utf-8").splitlines()
    row = next(line for line in lines if line.startswith(f"| `{plant}`"))
    told = [float(cell.replace("−", "-")) for cell in row.strip("| ").split(" | ")[1:]]
    winter, summer, rain = (ran(plant, day, "normal").summary for day in DAYS)
    used = [day["energy_kwh_per_100km"] for day in (winter, summer, rain)]
    assert [told[0], told[3], told[6]] == pytest.approx(used, rel=0.05)
    assert told[4] == pytest.approx(summer["charge_minutes"], rel=0.05)


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize("plant", PLANTS)
def test_the_cabin_and_the_pack_are_served(plant: str, day: str) -> None:
    run, bands = ran(plant, day, "normal"), BANDS.get(plant, Bands())
    assert np.abs(air_c(run)[-60:] - AIMS_C[day]).max() < MILD_K[day]
    assert run.health["drive_power_short_j"] < 1.0
    assert all(charge["reached"] for charge in run.summary.get("charges", ()))
    coldest, hottest = (run.series[f"t_pack_{end}_k"].astype(float) - 273.15 for end in ("coldest", "hottest"))
    assert bands.coldest_c < coldest.min()
    assert hottest.max() < bands.hottest_c
    if day == "winter_day":
        assert run.comfort["time_to_20c_s"] < 60.0 * bands.minutes


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize("plant", PLANTS)
def test_nothing_hunts(plant: str, day: str) -> None:
    """No rule is left within seconds again and again, and the compressor is not switched on and off."""
    run = ran(plant, day, "normal")
    hours = float(np.sum(run.series["mode"] != len(run.mode_names) - 1)) * float(run.t_s[1]) / 3600.0
    assert run.health["rule_changes"] < 12.0 * hours + 10.0
    assert run.health["compressor_starts"] < 6.0 * hours + 4.0


def test_the_pad_keeps_the_pack_and_rests_on_the_plug() -> None:
    """In deep cold the cells stay about the mat's thresholds, -15 to -12 degC; plugged in it never comes on."""
    trip = (
        'format = "heatwright trip 1"\nname = "Cold"\nstep = "10 s"\n[start]\ntemperature = "-25 degC"\n'
        'charge = "60 %"\n[weather]\ntemperature = "-25 degC"\n[[segment]]\nkind = "park"\nname = "a day"\n'
        'duration = "24 h"\n'
    )
    found = {}
    for plugged in ("", 'plugged = true\nstation = "11 kW"\n'):
        case = settled_case([], parse_trip(trip + plugged, FILES / "written.trip.toml"))
        found[plugged] = simulate(compile_program(load_plant("pad_beneath"), case), case)
    free, bound = found.values()
    coldest, hottest = (free.series[f"t_pack_{end}_k"].astype(float) - 273.15 for end in ("coldest", "hottest"))
    assert np.max(hottest - coldest) < 0.01
    assert -15.2 < coldest[-3000:].min() < coldest[-3000:].max() < -11.8
    assert free.energy_kwh["mat"] > 2.0
    assert bound.energy_kwh["mat"] == 0.0
    assert float(bound.series["t_pack_coldest_k"][-1]) < 248.5


def test_a_pack_loop_of_its_own_warms_on_the_plug_and_cools_at_the_station() -> None:
    winter = ran("three_loops", "winter_day", "normal")
    away = next(leg.first for leg in winter.segments if leg.kind == "drive")
    assert float(winter.series["t_pack_coldest_k"][away]) - 273.15 > 5.0
    with_it, without = (ran(plant, "summer_charge_day", "normal").summary for plant in ("three_loops", "plain"))
    assert with_it["charge_minutes"] < 0.85 * without["charge_minutes"]


def test_the_drive_unit_warms_the_pack_of_joined_and_is_apart_from_it_when_hot() -> None:
    winter, summer = ran("joined", "winter_day", "normal"), ran("joined", "summer_charge_day", "normal")
    first = next(leg for leg in winter.segments if leg.kind == "drive")
    between = winter.series["mdot_coolant_join_drive_out_pack_in_kg_per_s"].astype(float)
    assert between[first.first + 60 : first.last_exclusive].min() > 0.05
    assert winter.energy_kwh["drive_heat"] > 1.0
    hot = summer.series["t_pack_hottest_k"] > 305.0
    assert np.abs(summer.series["mdot_coolant_join_drive_out_pack_in_kg_per_s"][hot]).max() < 0.01
    assert max(summer.series["t_drive_coolant_k"]) - 273.15 < 65.0
