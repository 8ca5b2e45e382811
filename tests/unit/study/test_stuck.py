"""What one stuck part takes down, against what is found by hand along the lines of the plain plant."""

from __future__ import annotations

import pytest

from heatwright.plant.load import load_plant
from heatwright.study.stuck import StuckParts, stuck_parts

WARMING = {"cabin warmed", "cabin dried and rewarmed", "cabin warmed when all is cold"}
COOLING = {"cabin cooled", "cabin dried", "cabin dried and rewarmed"}


@pytest.fixture(scope="module")
def plain() -> StuckParts:
    return stuck_parts(load_plant("plain"))


def test_stuck_parts_of_plain_are_those_found_by_hand(plain: StuckParts) -> None:
    # Without blower no cabin need is left. The only heat for the cabin comes by core pump, heater and the hot door, the
    # only cold by the compressor. Heat gets outside from the drive unit or from the condenser: it takes two to lose it.
    assert {(row.actuator, row.state): set(row.lost) for row in plain.losing} == {
        ("blower", "off"): WARMING | COOLING,
        ("core_pump", "off"): WARMING,
        ("heater", "off"): WARMING,
        ("temper", "cold"): WARMING,
        ("compressor", "off"): COOLING,
        ("drive_pump", "off"): {"drive unit cooled"},
    }
    assert set(plain.needs) == WARMING | COOLING | {"drive unit cooled", "heat put outside"}
    assert plain.rows[0].actuator == "blower"


def test_a_part_that_can_be_lived_without_is_no_single_point(plain: StuckParts) -> None:
    points = plain.single_points
    assert points["heat put outside"] == ()
    assert set(points["cabin cooled"]) == {"blower", "compressor"}
    assert set(points["cabin dried and rewarmed"]) == {"blower", "core_pump", "heater", "temper", "compressor"}


def test_a_reversing_valve_stuck_either_way_costs_something() -> None:
    found = stuck_parts(load_plant("reversing"))
    lost = {row.state: set(row.lost) for row in found.rows if row.actuator == "reverser"}
    assert lost == {"heat": COOLING, "cool": {"heat taken from outside"}}


def test_progress_counts_every_frozen_state() -> None:
    told: list[tuple[float, float]] = []
    found = stuck_parts(load_plant("reversing"), lambda done, total: told.append((done, total)))
    assert told[-1] == (len(found.rows), len(found.rows))


def test_a_plant_with_too_many_modes_is_told_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("heatwright.modes.join.MOST_JOINT_STATES", 10)
    found = stuck_parts(load_plant("plain"))
    assert (found.needs, found.rows) == ((), ())
    assert found.left_out == "too many joint states to list every mode"
