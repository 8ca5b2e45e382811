"""Charging in a run: station and charger limits, how long it takes, where the energy goes, what waking costs."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.plant.load import load_plant
from heatwright.report.answer import answer_lines
from heatwright.run import Run
from heatwright.simulate import simulate
from heatwright.study.meter import meter
from heatwright.study.stops import settled_case
from heatwright.trip.load import load_trip, parse_trip
from heatwright.trip.model import Case, Trip
from tests.balance.marches import FILES, PLANTS

MILD = '[weather]\ntemperature = "20 degC"\n'
FAST = '[[segment]]\nkind = "fast_charge"\nname = "station"\nstation = "{}"\nto = "60 %"\nlongest = "{}"\n'
AFTER = '[[segment]]\nkind = "park"\nname = "after"\nduration = "5 min"\n'


def trip_of(segments: str, weather: str = MILD, start: str = 'charge = "30 %"') -> Trip:
    text = f'format = "heatwright trip 1"\nname = "In a test"\n[start]\n{start}\n{weather}{segments}'
    return parse_trip(text, FILES / "written.trip.toml")


@lru_cache(maxsize=32)
def ran(segments: str, weather: str = MILD, start: str = 'charge = "30 %"', accuracy: str = "normal") -> Run:
    return march(trip_of(segments, weather, start), accuracy)[1]


def march(trip: Trip, accuracy: str = "normal", plant: str | Path = "plain") -> tuple[Case, Run]:
    car = load_plant(plant)
    case = settled_case([car], trip, accuracy)
    return case, simulate(compile_program(car, case), case, accuracy)


def kwh(run: Run, name: str) -> float:
    return float(np.sum(run.series[name][1:], dtype=float)) * float(run.t_s[1]) / 3.6e6


@pytest.mark.parametrize("accuracy", ["normal", "high"])
@pytest.mark.parametrize("plant", PLANTS)
def test_the_shipped_summer_day_closes_on_both_plants(plant: str, accuracy: str) -> None:
    case, run = march(load_trip("summer_charge_day"), accuracy, plant)
    assert abs(run.ledger["residual_relative"]) <= 1e-12
    (charge,) = run.summary["charges"]
    assert 0.13 < charge["soc_start"] < 0.17
    assert charge["reached"]
    assert 0.80 <= charge["soc_end"] < 0.802
    assert 20.0 < charge["minutes"] < 45.0
    assert 250.0 < run.summary["range_km"] < 350.0  # on what the pack gave: what was charged does not lengthen it
    told = [(what, text) for what, text, _ in answer_lines(run) if what == "Charge"]
    assert told == [("Charge", f"{charge['minutes']:.1f} min")]
    assert run.health["circuit_not_solved_steps"] == run.health["flow_not_solved"] == 0
    read = meter(compile_program(load_plant(plant), case), run)
    assert read["missing"] == []
    assert read["worst_relative"] < 2e-3
    assert read["worst_use_relative"] < 2e-3


def test_the_stop_ends_when_the_charge_is_there_and_the_trip_goes_on() -> None:
    run = ran(FAST.format("60 kW", "2 h") + AFTER)
    stop, after = run.segments
    (charge,) = run.summary["charges"]
    assert (stop.last_exclusive - stop.first) / 60.0 == pytest.approx(charge["minutes"])
    soc = run.series["soc"]
    assert soc[stop.last_exclusive] >= np.float32(0.6) > soc[stop.last_exclusive - 1]
    assert after.last_exclusive - after.first == 300
    assert np.all(run.series["p_station_w"][after.first + 1 :] == 0.0)
    assert run.health["charges_not_reached"] == 0


def test_neither_station_nor_pack_limit_is_passed() -> None:
    for station_w, text in ((30e3, "30 kW"), (300e3, "300 kW")):
        run = ran(FAST.format(text, "2 h"))
        into, take = -run.series["p_pack_w"][1:], run.series["p_take_limit_w"][1:]
        assert run.series["p_station_w"].max() <= station_w + 1.0
        assert np.all(into <= take + 1.0)
        bound = np.minimum(take, station_w - run.series["p_low_voltage_w"][1:] - 4e3)
        assert np.all(into >= bound - 1.0)  # 4 kW: more than the cabin ever draws here


def test_what_the_station_gives_is_in_the_pack_or_was_used_beside() -> None:
    run = ran(FAST.format("60 kW", "2 h"))
    (charge,) = run.summary["charges"]
    assert charge["from_station_kwh"] == pytest.approx(charge["into_pack_kwh"] + charge["beside_kwh"])
    assert charge["into_pack_kwh"] == pytest.approx(run.ledger["charged_j"] / 3.6e6 + charge["pack_heat_kwh"], rel=1e-6)
    assert charge["from_station_kwh"] == pytest.approx(run.ledger["terms_j"]["station"] / 3.6e6, rel=1e-6)
    beside = sum(v for k, v in run.energy_kwh.items() if k not in ("pack_resistance", "pack_reversible"))
    assert charge["beside_kwh"] == pytest.approx(beside, rel=1e-5)
    chemical = -run.ledger["terms_j"]["pack_chemistry"] / 3.6e6
    assert charge["into_pack_kwh"] == pytest.approx(chemical + charge["pack_heat_kwh"], rel=1e-6)
    assert 0.01 < charge["pack_heat_kwh"] / charge["into_pack_kwh"] < 0.06
    assert run.energy_kwh["charger_loss"] == 0.0


def test_a_station_too_weak_is_flagged() -> None:
    run = ran(FAST.format("20 kW", "20 min") + AFTER)
    (charge,) = run.summary["charges"]
    assert not charge["reached"]
    assert run.health["charges_not_reached"] == 1
    assert charge["minutes"] == 20.0
    assert run.segments[0].last_exclusive == 1200


def test_a_cold_pack_takes_longer_and_a_full_one_nothing() -> None:
    cold = '[weather]\ntemperature = "-10 degC"\n'
    minutes = [ran(FAST.format("120 kW", "4 h"), weather).summary["charge_minutes"] for weather in (MILD, cold)]
    assert minutes[1] > 2.5 * minutes[0]
    (full,) = ran(FAST.format("120 kW", "2 h"), MILD, 'charge = "70 %"').summary["charges"]
    assert full["minutes"] == 0.0
    assert full["reached"]


PLUG = '[[segment]]\nkind = "park"\nname = "plug"\nduration = "2 h"\nplugged = true\nstation = "{}"\n{}'


def test_the_cars_charger_fills_slowly_and_loses() -> None:
    run = ran(PLUG.format("22 kW", 'charge_to = "45 %"'))
    (charge,) = run.summary["charges"]
    assert charge["reached"]
    assert charge["soc_end"] == pytest.approx(0.45, abs=1e-4)
    assert charge["minutes"] == pytest.approx(0.15 * 58.0 / 10.2 * 60.0, rel=0.05)
    assert run.series["p_station_w"].max() == pytest.approx(11e3, rel=0.005)  # the charger, not the station
    supply = 221.32 - run.series["p_pack_w"][600]  # 12 V side and pack
    loss = run.series["p_station_w"][600] - supply
    assert loss == pytest.approx(100.0 + 0.03 * supply + 2e-6 * supply**2, abs=1.0)
    assert 0.057 < run.energy_kwh["charger_loss"] / charge["from_station_kwh"] < 0.07  # idle in the end
    assert abs(run.ledger["residual_relative"]) <= 1e-12


def test_plugged_in_without_a_wish_does_not_charge() -> None:
    run = ran(PLUG.format("11 kW", ""))
    assert run.series["soc"][-1] == pytest.approx(run.series["soc"][0])
    assert "charges" not in run.summary


def test_the_slowest_plant_sets_the_stop_of_a_comparison(tmp_path: Path) -> None:
    slow = load_plant("plain", changes={"pack.charge_current": "60 A"})
    quick = load_plant("plain")
    trip = trip_of(FAST.format("120 kW", "4 h"))
    lengths = [settled_case(cars, trip).n for cars in ((quick,), (slow,), (quick, slow), (slow, quick))]
    assert lengths[0] < lengths[1]
    assert lengths[1] == lengths[2] == lengths[3]


MAT = """
format = "heatwright plant 1"
name = "Plain with a mat under its pack"
extends = "plain.plant.toml"
[pad.mat]
on = "pack"
power = "6 kW"
[control.act.always]
mat = { from = "0 W", to = "6 kW", by = "pack.charge_best - pack.coldest + 200 K * prepare", over = "200 K to 202 K" }
"""
COLD_WAY = (
    '[[segment]]\nkind = "drive"\nname = "there"\nspeed = "90 km/h"\nduration = "40 min"\n'
    '[[segment]]\nkind = "fast_charge"\nname = "station"\nstation = "120 kW"\nto = "60 %"\nlongest = "5 h"\n{}'
)


def test_preparing_the_pack_shortens_the_charge(tmp_path: Path) -> None:
    """The mat follows `pack.charge_best` in the half hour before the charge: it aims lower for a fuller pack."""
    (tmp_path / "mat.plant.toml").write_text(MAT)
    cold = '[weather]\ntemperature = "-5 degC"\n'
    runs = [
        march(trip_of(COLD_WAY.format(more), cold, 'charge = "60 %"'), plant=tmp_path / "mat.plant.toml")[1]
        for more in ("", 'prepare = "30 min"')
    ]
    minutes = [run.summary["charge_minutes"] for run in runs]
    assert minutes[1] < 0.7 * minutes[0]
    assert runs[0].energy_kwh["mat"] == 0.0
    assert runs[1].energy_kwh["mat"] == pytest.approx(3.0, rel=0.02)
    used = runs[1].series["p_mat_w"] > 0.0
    assert np.flatnonzero(used)[0] == 601
    assert np.flatnonzero(used)[-1] <= 2400
    assert all(abs(run.ledger["residual_relative"]) <= 1e-12 for run in runs)


def test_braking_may_pass_the_charge_limit_for_ten_seconds() -> None:
    """Down a slope with a cold pack: half as much again at first, the limit for long after ten seconds."""
    slope = (
        '[[segment]]\nkind = "drive"\nname = "down"\nspeed = "90 km/h"\nduration = "60 s"\nrolling = true\n'
        'climb = "-150 m"\nconditioned = false\n'
    )
    run = ran(slope, '[weather]\ntemperature = "-3 degC"\n', 'charge = "60 %"')
    ratio = -run.series["p_pack_w"][1:] / run.series["p_take_limit_w"][1:]
    assert ratio[:8] == pytest.approx(np.full(8, 1.5), rel=1e-3)
    assert np.all(ratio[12:] < 1.2)
    assert ratio[12:].mean() == pytest.approx(1.0, abs=0.06)
    assert np.all(np.diff(run.series["p_friction_brake_w"][2:12]) >= -50.0)
    assert run.series["p_friction_brake_w"][40] > run.series["p_friction_brake_w"][4]


def test_heat_in_the_pack_counts_from_the_reference_of_the_trip() -> None:
    """58 kWh pack of 355 kJ/K: 0.986 kWh for every 10 K; below the reference it is owed."""
    soak = 'charge = "30 %"\npack_temperature = "30 degC"'
    run = ran(PLUG.format("11 kW", ""), MILD, soak)
    assert run.summary["heat_reference_k"] == 293.15
    assert run.summary["heat_in_pack_start_kwh"] == pytest.approx(355e3 * 10.0 / 3.6e6, rel=1e-6)
    gained = run.summary["heat_in_pack_end_kwh"] - run.summary["heat_in_pack_start_kwh"]
    assert gained == pytest.approx(run.summary["pack_heat_gained_kwh"], rel=1e-4)
    assert run.summary["heat_in_pack_most_kwh"] == pytest.approx(run.summary["heat_in_pack_start_kwh"], rel=1e-3)
    text = f'format = "heatwright trip 1"\nname = "t"\nheat_reference = "35 degC"\n[start]\n{soak}\n{MILD}'
    _, cool = march(parse_trip(text + PLUG.format("11 kW", ""), FILES / "written.trip.toml"))
    assert cool.summary["heat_in_pack_start_kwh"] == pytest.approx(-355e3 * 5.0 / 3.6e6, rel=1e-5)


def test_work_while_parked_pays_for_being_awake() -> None:
    """Asleep 3 W; awake 200 W and the converter's loss, and 15 kJ for waking; a pump that runs on keeps it awake."""
    asleep = ran('[[segment]]\nkind = "park"\nname = "p"\nduration = "10 min"\n')
    awake = ran('[[segment]]\nkind = "park"\nname = "p"\nduration = "10 min"\nconditioned = true\n')
    assert kwh(asleep, "p_low_voltage_w") == pytest.approx(3.0 * 600 / 3.6e6, rel=1e-5)
    steady = 200.0 + 15.0 + 0.03 * 200.0 + 8e-6 * 200.0**2
    assert kwh(awake, "p_low_voltage_w") == pytest.approx((steady * 600 + 15e3) / 3.6e6, rel=1e-5)
    way = '[[segment]]\nkind = "drive"\nname = "d"\nspeed = "120 km/h"\nduration = "15 min"\n'
    run = ran(way + '[[segment]]\nkind = "park"\nname = "p"\nduration = "20 min"\n', MILD, 'charge = "80 %"')
    low = run.series["p_low_voltage_w"][901:]
    on = sum(run.series[f"p_{one}_w"][901:] for one in ("drive_pump", "fan", "blower")) > 1.0
    assert on.any()
    assert not on.all()
    assert low[on] == pytest.approx(np.full(on.sum(), steady), rel=1e-5)
    assert np.all(low[~on] == 3.0)


def test_a_pack_parked_for_twelve_hours_keeps_to_its_one_loss_path() -> None:
    """25 degC at 0 degC: 9 W/K to the outside alone leaves 8.4 degC, with 5 W/K to a cold floor 4.5 degC.

    The floor of the cabin is warmed by it, so the end lies between, near the second.
    """
    night = '[[segment]]\nkind = "park"\nname = "night"\nduration = "12 h"\n'
    run = ran(night, '[weather]\ntemperature = "0 degC"\n', 'charge = "50 %"\npack_temperature = "25 degC"')
    end_c = float(run.series["t_pack_coldest_k"][-1]) - 273.15
    assert 25.0 * np.exp(-14.0 * 43200.0 / 355e3) < end_c < 25.0 * np.exp(-12.0 * 43200.0 / 355e3)
    lost = run.ledger["terms_j"]["pack_to_outside"]
    assert lost == pytest.approx(-9.0 * float(np.mean(run.series["t_pack_coldest_k"][1:] - 273.15)) * 43200.0, rel=1e-3)


BOXED = """
format = "heatwright plant 1"
name = "Plain with its charger in the coolant"
extends = "plain.plant.toml"
[electronics.box]
limit = "{}"
[lines.coolant]
drive = "drive_tank > drive_pump > box > drive > radiator > drive_tank"
[control.act.always]
drive_pump = "{}"
"""


def boxed(folder: Path, limit: str, pump: str) -> Run:
    (folder / "boxed.plant.toml").write_text(BOXED.format(limit, pump))
    trip = trip_of(PLUG.format("11 kW", 'charge_to = "90 %"'))
    case, run = march(trip, plant=folder / "boxed.plant.toml")
    read = meter(compile_program(load_plant(folder / "boxed.plant.toml"), case), run)
    assert read["missing"] == []
    assert read["worst_relative"] < 2e-3
    assert abs(run.ledger["residual_relative"]) <= 1e-12
    return run


def test_the_charger_warms_what_holds_it_and_holds_back_when_hot(tmp_path: Path) -> None:
    free, held = boxed(tmp_path, "110 degC", "20 %"), boxed(tmp_path, "35 degC", "off")
    assert free.ledger["terms_j"]["charger_loss"] == 0.0
    loss = free.energy_kwh["charger_loss"]
    assert free.ledger["conversions_j"]["charger_heat"] == pytest.approx(loss * 3.6e6)
    assert loss / free.summary["charges"][0]["from_station_kwh"] == pytest.approx(0.0572, abs=0.002)
    assert free.series["t_box_body_k"][-1] > 293.15 + 5.0
    late = slice(600, None)
    hot = held.series["t_box_body_k"][late][:-1].astype(float)
    assert hot.max() < 318.15
    least = 11e3 * (318.15 - hot) / 10.0
    station = held.series["p_station_w"][late][1:]
    assert np.all(station <= np.clip(least, 0.0, 11e3) * 1.001 + 1.0)
    assert station[-1] < 0.9 * 11e3
    assert held.series["soc"][-1] < free.series["soc"][-1]
