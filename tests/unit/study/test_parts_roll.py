"""The roll-up of a plant, against what is counted by hand in its file."""

from __future__ import annotations

from math import pi
from pathlib import Path

import pytest

from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant
from heatwright.study.parts_roll import Roll, cost_words, roll_up

FILES = Path(__file__).resolve().parents[1] / "plant" / "files"


@pytest.fixture(scope="module")
def plain() -> Roll:
    return roll_up(load_plant("plain"))


def test_parts_of_plain_are_those_counted_in_its_file(plain: Roll) -> None:
    # car: pack, drive, drive_pump, radiator, drive_tank, fan, blower, inlet, outlets; plain: core_pump, heater, core,
    # heat_tank, compressor, condenser, evaporator, cabin_txv, receiver, temper.
    assert plain.parts == 9 + 10
    assert (plain.kinds["pump"], plain.kinds["tank"], plain.kinds["door"]) == (2, 2, 3)
    assert (plain.valves, plain.check_valves, plain.doors) == (1, 0, 3)
    # drive_pump, core_pump, heater, compressor, blower, fan, inlet, outlets, temper; cabin_txv has one state only.
    assert plain.actuators == 9
    assert plain.loops == {"coolant": 2, "refrigerant": 1}


def test_joints_of_plain_are_those_counted_along_its_lines(plain: Roll) -> None:
    # drive_tank | drive_pump | drive | radiator | back: 3 parts and two ends at the tank; heat_tank likewise.
    # The refrigerant ring passes 5 parts and ends nowhere.
    assert plain.joints == {"coolant": 8 + 8, "refrigerant": 10}
    assert plain.leak_points == 26


def test_hose_and_coolant_of_plain_add_up(plain: Roll) -> None:
    assert plain.hose_m == pytest.approx(4.5 + 3.0)
    parts_l = 1.4 + 0.8 + 1.5 + 0.9 + 0.4 + 0.3  # tank, drive unit, radiator; tank, heater, core
    hoses_l = 7.5 * pi / 4 * 0.016**2 * 1e3
    assert plain.coolant_l == pytest.approx(parts_l + hoses_l)


def test_cost_and_mass_leave_out_the_bodies_and_the_band_is_half_to_double(plain: Roll) -> None:
    # pumps 2 x 0.7, radiator 3, tanks 2 x 0.6, fan 4, blower 2, doors 3 x 0.3, heater 2.3, core 0.9 = 15.7 kg;
    # compressor, coil 2.5, evaporator 1.5, expansion valve and receiver 0.8 are the rest.
    circuit = load_plant("plain")
    circuit_kg = sum(
        circuit.parts[name].values["mass"]
        for name in ("compressor", "condenser", "evaporator", "cabin_txv", "receiver")
    )
    assert plain.mass_kg == pytest.approx(15.7 + circuit_kg)
    assert plain.bodies_mass_kg == pytest.approx(370.0 + 90.0)
    assert plain.cost_band_usd == pytest.approx((0.5 * plain.cost_usd, 2.0 * plain.cost_usd))
    assert cost_words(100.0) == "50 to 200"


def test_a_given_charge_is_taken_and_a_missing_one_worked_out(plain: Roll) -> None:
    assert not plain.charge_given
    assert plain.refrigerant_kg is not None
    assert 0.2 < plain.refrigerant_kg < 1.5  # a passenger car's circuit: common practice
    given = roll_up(load_plant("plain", {"fluid.charge": "620 g"}))
    assert given.charge_given
    assert given.refrigerant_kg == pytest.approx(0.62)


def test_every_circuit_counts_with_its_own_charge(plain: Roll) -> None:
    # `plain` with a second circuit that its file fills with 150 g.
    file = Path(__file__).resolve().parents[2] / "balance" / "files" / "two_circuits.plant.toml"
    roll = roll_up(load_plant(file))
    assert roll.loops["refrigerant"] == 2
    assert not roll.charge_given
    assert roll.refrigerant_kg == pytest.approx((plain.refrigerant_kg or 0.0) + 0.15)
    given = roll_up(load_plant(file, {"fluid.charge": "500 g"}))
    assert given.charge_given
    assert given.refrigerant_kg == pytest.approx(0.65)


def test_hose_of_a_line_that_a_tank_cuts_in_two_counts_once() -> None:
    # joined: pack_leg 4 m, drive_leg 2.5 m with the tank in its middle, radiator 1 m, skip the default 1.5 m, home 1 m.
    assert roll_up(load_plant("joined")).hose_m == pytest.approx(4.0 + 2.5 + 1.0 + 1.5 + 1.0)


def test_tees_ports_and_check_valves_count_as_joints() -> None:
    # d_joined, coolant, parts and line ends by hand:
    # pack_leg 3 parts + 2 ends; drive_leg 2 parts, cut in two at the tank: 4 ends; radiator 1 + 2; skip 2; home 2.
    # refrigerant: ring 3 parts + 2 ends; cabin 2 + 2; pack 2 parts + check valve + 2 ends.
    roll = roll_up(load_plant(FILES / "d_joined.plant.toml"))
    assert roll.joints == {"coolant": 8 + 8 + 4 + 2 + 2, "refrigerant": 8 + 6 + 8}
    assert roll.check_valves == 1
    assert roll.loops == {"coolant": 1, "refrigerant": 1}


@pytest.mark.parametrize("name", [one.name for one in list_shipped()])
def test_every_shipped_plant_rolls_up(name: str) -> None:
    plant = load_plant(name)
    roll = roll_up(plant)
    assert roll.parts == len(plant.parts) - len(plant.of_kind("zone"))
    assert roll.loops["refrigerant"] == len(plant.of_kind("compressor"))
    assert roll.actuators >= 8
    assert min(roll.mass_kg, roll.cost_usd, roll.hose_m, roll.coolant_l) > 0.0
    assert roll.hose_m == pytest.approx(sum(plant.hoses["length"].values())), "a tank in a line makes it no longer"
    # A part has two joints in each of its lines, so no plant has fewer joints than twice its wet parts.
    wet = {place for fluid in ("coolant", "refrigerant") for b in plant.nets[fluid].branches for place in b.parts}
    assert roll.leak_points >= 2 * len(wet)
    if plant.fluid["refrigerant"] == "R744":
        assert roll.refrigerant_kg is None
    else:
        assert roll.refrigerant_kg is not None
        assert 0.1 < roll.refrigerant_kg < 2.0
