"""Heat the drive unit makes on purpose, standing and driving: drawn, arrived, held back, and on the books."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.simulate import simulate
from heatwright.study.meter import meter
from tests.balance.marches import written

J_PER_KWH = 3.6e6
COLD = 'temperature = "-10 degC"\nhumidity = "80 %"'
STAND = '[[segment]]\nkind = "park"\nname = "stand"\nduration = "{} min"\n'
DRIVE = '[[segment]]\nkind = "drive"\nname = "drive"\nspeed = "50 km/h"\nduration = "6 min"\n'
NOT_WANTED = "conditioned = false\n"


@lru_cache(maxsize=16)
def ran(loss: str, segments: str, accuracy: str = "normal", **changes: str) -> tuple[Program, Run]:
    """March the plain plant whose table asks for a loss at all times, with other numbers where given."""
    told = {key.replace("__", "."): value for key, value in changes.items()}
    asked = {"drive.deliberate_loss": "6 kW", "control.act.always.drive.loss": loss, **told}
    plant = load_plant("plain", changes=asked)
    case = written(COLD, segments, '[start]\ncharge = "60 %"')
    program = compile_program(plant, case)
    return program, simulate(program, case, accuracy)


BOTH = STAND.format(6) + DRIVE + NOT_WANTED


@pytest.mark.parametrize("accuracy", ["normal", "high"])
def test_the_ledger_closes_standing_and_driving(accuracy: str) -> None:
    program, run = ran("3 kW", BOTH, accuracy)
    assert abs(run.ledger["residual_relative"]) <= 1e-12
    assert 0.9 * 0.6 < run.energy_kwh["drive_heat"] < 0.6  # a cold winding wastes less with the same current
    read = meter(program, run)
    assert read["missing"] == []
    assert read["worst_relative"] < 2e-3
    assert read["worst_use_relative"] < 2e-3
    assert read["bus_w"] < 0.02


def test_what_is_drawn_is_what_was_asked_and_it_comes_from_the_pack() -> None:
    """Against the same trip without: at the same torque and speed the pack gives that much more."""
    (_, without), (_, run) = ran("0 W", BOTH), ran("3 kW", BOTH)
    heat = run.series["p_drive_heat_w"][1:]
    assert np.all(heat <= 3000.5)
    for first, last in ((20, 200), (400, 600)):
        drawn = run.series["p_pack_w"][first:last] - without.series["p_pack_w"][first:last]
        low_voltage = run.series["p_low_voltage_w"][first:last] - without.series["p_low_voltage_w"][first:last]
        pump = run.series["p_drive_pump_w"][first:last] - without.series["p_drive_pump_w"][first:last]
        warmer = run.series["p_traction_w"][first:last] - without.series["p_traction_w"][first:last]
        assert heat[first - 1 : last - 1] == pytest.approx(drawn - low_voltage - pump - warmer, abs=0.1)
    assert np.all(without.series["p_drive_heat_w"] == 0.0)
    assert "drive_heat" not in without.energy_kwh


def test_the_heat_arrives_in_the_unit_but_for_its_cables() -> None:
    """Five per cent are lost in cables; the rest is in winding and inverter, none of it in the rotor."""
    (_, without), (_, run) = ran("0 W", STAND.format(6)), ran("3 kW", STAND.format(6))
    made = run.ledger["conversions_j"]["drive_losses"]
    assert made == pytest.approx(0.95 * run.energy_kwh["drive_heat"] * J_PER_KWH, rel=1e-9)
    assert run.ledger["terms_j"]["heater_loss"] == pytest.approx(-made / 0.95 * 0.05, rel=1e-9)
    for node, least in (("winding", 20.0), ("inverter", 10.0)):
        name = f"t_drive_{node}_k"
        assert run.series[name][-1] > without.series[name][-1] + least
    assert without.ledger["conversions_j"]["drive_losses"] == 0.0


def test_standing_the_inverter_wakes_for_it() -> None:
    """Its idle loss of 50 W is the least that can be drawn; nothing is drawn if nothing is asked."""
    _, run = ran("20 W", STAND.format(1))
    assert run.series["p_drive_heat_w"][1:] == pytest.approx(np.full(60, 50.0), abs=0.01)


@pytest.mark.parametrize(("segments", "most_w"), [(STAND.format(1), 5200.0), (DRIVE + NOT_WANTED, 3050.0)])
def test_more_than_the_machine_can_waste_is_not_there(segments: str, most_w: float) -> None:
    """Standing, the current for long limits it (450 A peak); turning, 3 kW over the least loss."""
    _, run = ran("6 kW", segments)
    heat = run.series["p_drive_heat_w"][30:55]
    assert heat.max() < most_w
    assert heat.max() > 0.8 * most_w


def test_heat_fades_before_torque_does() -> None:
    """A winding limit of 70 degC: heat fades from 45 degC and has ended where torque would be held back."""
    limit = {f"drive__{k}": "150 degC" for k in ("inverter_limit", "oil_limit", "rotor_limit", "limit")}
    limit |= {"drive__winding_limit": "70 degC", "drive__coolant_limit": "110 degC"}
    limit |= {"control__act__always__drive_pump": "on"}
    _, run = ran("3 kW", STAND.format(40), **limit)
    winding, iron = (run.series[f"t_drive_{k}_k"][:-1].astype(float) for k in ("winding", "iron"))
    heat = run.series["p_drive_heat_w"][1:].astype(float)
    hottest = 2.0 * winding - np.minimum(iron, winding)
    assert hottest.max() < 343.15
    assert heat[:300].min() > 2999.0
    held = (np.arange(heat.size) > 1200) & (hottest > 330.0)  # earlier the cold coolant makes the inverter the limit
    assert held.sum() > 600
    assert heat[held].max() < 2600.0
    share = (343.15 - hottest) / 25.0
    copper = 2430.0 * (1.0 + 0.00393 * (winding - 293.15))  # 450 A peak; the inverter wastes 1880 W over its idle 50
    assert heat[held] == pytest.approx((50.0 + share * (copper + 1880.0))[held], rel=2e-3)
    assert run.series["drive_share"].min() == 1.0


def test_a_hot_unit_is_short_of_power_and_says_so() -> None:
    """Coolant enters too hot for the torque asked: the road's work is short, the books close."""
    hot = written('temperature = "44 degC"\nhumidity = "20 %"', DRIVE + NOT_WANTED)
    plant = load_plant("plain", changes={"drive.coolant_limit": "34.5 degC"})
    full = simulate(compile_program(load_plant("plain"), hot), hot)
    short = simulate(compile_program(plant, hot), hot)
    assert full.summary["drive_power_short_j"] == 0.0
    assert short.summary["drive_derated_s"] == pytest.approx(360.0)
    assert short.health["drive_held_back_s"] == {"coolant entering the drive unit": short.summary["drive_derated_s"]}
    missing = short.health["drive_power_short_j"]
    assert missing > 1e5
    work = [run.ledger["terms_j"]["road_work"] for run in (full, short)]
    braked = [float(np.sum(run.series["p_friction_brake_w"][1:], dtype=float)) for run in (full, short)]
    assert braked[1] > braked[0] + 5e4  # braking gives less back as well
    assert work[1] - work[0] == pytest.approx(missing - (braked[1] - braked[0]), rel=1e-4)
    assert abs(short.ledger["residual_relative"]) <= 1e-12
    assert np.sum(short.series["p_drive_short_w"][1:], dtype=float) == pytest.approx(missing, rel=1e-5)


def test_a_weak_pack_gives_up_heat_before_traction() -> None:
    """8 kW at most: heat on purpose goes first, traction is cut for what is still too much, loads are drawn."""
    _, run = ran("3 kW", BOTH, pack__discharge="8 kW")
    given = run.series["p_pack_w"][1:]
    assert given.max() <= 8000.5
    assert np.all(run.series["p_drive_heat_w"][1:361] > 2500.0)
    short = run.series["p_drive_short_w"][1:] > 0.0
    assert short.any()
    assert np.all(run.series["p_drive_heat_w"][1:][short] < 1e-3)
    assert run.health["pack_power_capped_steps"] == int(np.sum(short))
    assert abs(run.ledger["residual_relative"]) <= 1e-12


def test_the_map_says_where_the_most_goes() -> None:
    """Copper, iron and inverter parts of the rows add up to the most there is."""
    program, _ = ran("3 kW", BOTH)
    rows: Any = {name: program.rows[:, k] for k, name in enumerate(program.index.columns)}
    most = rows["extra_copper_w"] + rows["extra_iron_w"] + rows["extra_inverter_w"]
    assert most[100] == pytest.approx(4860.0, abs=60.0)
    turning = rows["motor_rad_per_s"] > 100.0
    assert turning.any()
    assert most[turning].max() <= 3001.0
    assert most[turning].min() > 2500.0
