"""Heaters of seat, wheel, panel and screen in whole marches: their heat enters the right nodes, the books close."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.errors import InputError
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.run import Run
from heatwright.simulate import simulate
from heatwright.study.meter import meter
from tests.balance.marches import written

PLANT = """
format = "heatwright plant 1"
name = "Plain with heaters at the body"
extends = "plain.plant.toml"
[seat_heater.seat]
[wheel_heater.wheel]
[radiant_panel.panel]
[screen_heater.film]
[control.act.always]
seat = { from = "0 W", to = "70 W", by = "200 K * occupied", over = "0 K to 200 K" }
"""
HEATERS = {"seat": 70.0, "wheel": 50.0, "panel": 200.0, "film": 800.0}
EFFICIENCY = {"seat": 0.91, "wheel": 0.91, "panel": 0.98, "film": 0.98}
STAND = '[[segment]]\nkind = "park"\nduration = "10 min"\noccupants = 1\n'
COLD = 'temperature = "0 degC"\n'


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> Plant:
    path = tmp_path_factory.mktemp("plants") / "seated.plant.toml"
    path.write_text(PLANT)
    return load_plant(path)


_RUNS: dict[str, Run] = {}


def held(plant: Plant, name: str) -> Run:
    """Ten minutes standing with one heater at full power and all else off; marched once."""
    if name not in _RUNS:
        _RUNS[name] = _marched(plant, name)
    return _RUNS[name]


def _marched(plant: Plant, name: str) -> Run:
    case = written(COLD, STAND)
    program = compile_program(plant, case)
    row = np.array([HEATERS[a] if a == name else 0.0 for a in program.index.actuators])
    return simulate(program, case, replay=np.tile(row, (case.n, 1)))


def gained(run: Run, without: Run, node: str) -> float:
    """How much warmer a node is after one minute than without the heater [K]."""
    return float(run.series[f"t_cabin_{node}_k"][60] - without.series[f"t_cabin_{node}_k"][60])


@pytest.mark.parametrize("name", HEATERS)
def test_power_and_heat_are_booked(plant: Plant, name: str) -> None:
    run = held(plant, name)
    assert abs(run.ledger["residual_j"]) < max(1e-12 * run.ledger["throughput_j"], 1e-5)
    assert run.energy_kwh[name] == pytest.approx(HEATERS[name] * 600.0 / 3.6e6, rel=1e-6)
    assert run.ledger["conversions_j"][f"heat:{name}"] == pytest.approx(EFFICIENCY[name] * HEATERS[name] * 600.0)
    lost = run.ledger["terms_j"]["heater_loss"]
    assert lost == pytest.approx(-(1.0 - EFFICIENCY[name]) * HEATERS[name] * 600.0)


def test_meter_agrees(plant: Plant) -> None:
    case = written(COLD, STAND)
    program = compile_program(plant, case)
    row = np.array([HEATERS.get(a, 0.0) for a in program.index.actuators])
    run = simulate(program, case, replay=np.tile(row, (case.n, 1)))
    read = meter(program, run)
    assert read["terms"]["heater_loss"]["relative"] < 1e-5
    assert abs(read["bus_w"]) < 1.0


@pytest.mark.parametrize(
    ("name", "near", "capacity"),
    [("seat", "trim", 113e3), ("wheel", "trim", 113e3), ("panel", "skin", 10e3)],
)
def test_what_misses_the_body_warms_its_surface(plant: Plant, name: str, near: str, capacity: float) -> None:
    """In the first minute little has flowed on: the rest of the heat is in the surface, the body's share is not."""
    share = {"seat": 0.5, "wheel": 0.25, "panel": 0.35}[name]
    heat = 60.0 * EFFICIENCY[name] * HEATERS[name] * (1.0 - share)
    rise = gained(held(plant, name), held(plant, ""), near)
    assert 0.75 * heat / capacity < rise < 1.05 * heat / capacity
    assert gained(held(plant, name), held(plant, ""), "air") > 0.02


def test_film_warms_its_pane_alone(plant: Plant) -> None:
    warm, without = held(plant, "film"), held(plant, "")
    pane = gained(warm, without, "glass_screen")
    assert pane > 1.0
    assert pane > 20.0 * gained(warm, without, "glass_rear")
    assert float(np.min(warm.series["fog_margin_k"][-60:])) >= float(np.min(without.series["fog_margin_k"][-60:]))


def test_decision_table_moves_a_heater(plant: Plant) -> None:
    case = written(COLD, STAND)
    run = simulate(compile_program(plant, case), case)
    assert run.energy_kwh["seat"] == pytest.approx(70.0 * 600.0 / 3.6e6, rel=0.01)
    assert run.energy_kwh["wheel"] == 0.0


def test_a_pane_or_zone_that_does_not_exist_is_named(tmp_path: Path) -> None:
    path = tmp_path / "wrong.plant.toml"
    wrong = PLANT.replace("[screen_heater.film]", '[screen_heater.film]\npane = "scren"')
    path.write_text(wrong.replace("[seat_heater.seat]", '[seat_heater.seat]\nzone = "boot"'))
    with pytest.raises(InputError) as caught:
        load_plant(path)
    text = str(caught.value)
    assert "names the pane 'scren'" in text
    assert "names the zone 'boot'" in text
    assert "wrong.plant.toml:6" in text


def test_a_seat_makes_a_warmer_vote_than_its_heat_in_the_air(plant: Plant) -> None:
    """The room is hardly warmer, the person is: 70 W at the seat are worth kelvins of the whole cabin."""
    warm, without = held(plant, "seat"), held(plant, "")
    room = float(warm.series["t_operative_k"][-1] - without.series["t_operative_k"][-1])
    felt = float(warm.series["t_felt_k"][-1] - without.series["t_felt_k"][-1])
    assert 0.0 < room < 1.0
    assert felt > room + 3.0
    assert warm.series["pmv"][-1] > without.series["pmv"][-1]
    assert warm.comfort["outside_comfort_limits_steps"] == 600
    assert warm.comfort["time_to_comfort_s"] is None
