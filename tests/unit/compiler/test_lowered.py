"""A plant lowered once gives on every trip the very Program that compiling it anew gives."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import numpy as np
import pytest

from heatwright.compiler.build import compile_program, lower_plant
from heatwright.compiler.drivers import side_by_side
from heatwright.compiler.tables import refrigerant_tables, run_tables
from heatwright.dispatch.days import day
from heatwright.plant.load import load_plant
from heatwright.sensors import load_sensors
from heatwright.trip.load import build_case

ARRAYS = ("pi", "pf", "rows", "tau0", "ext0", "act0")


def alike(one: Any, other: Any) -> None:
    for name in ARRAYS:
        assert np.array_equal(getattr(one, name), getattr(other, name)), name
    for name in {field.name for field in fields(one)} - {*ARRAYS}:
        assert getattr(one, name) == getattr(other, name) or name == "index", name
    assert vars(one.index) == vars(other.index)


@pytest.mark.parametrize("name", ["plain", "secondary", "carbon_dioxide"])
def test_lowering_once_changes_nothing(name: str) -> None:
    plant = load_plant(name)
    lowered = lower_plant(plant)
    for seed in (1, 2):
        case = build_case(day(seed))
        alike(lowered.on(case), compile_program(plant, case))


def test_sensors_and_signals_are_lowered_too() -> None:
    plant, case, seen = load_plant("plain"), build_case(day(1)), load_sensors(3)
    alike(lower_plant(plant, seen, all_signals=True).on(case), compile_program(plant, case, None, seen, True))


def test_programs_of_one_lowered_plant_share_nothing_to_write_to() -> None:
    lowered, case = lower_plant(load_plant("plain")), build_case(day(1))
    first, second = lowered.on(case), lowered.on(case)
    first.pf[:] = 0.0
    assert np.array_equal(second.pf, lowered.pf)
    assert second.pf.any()


def test_tables_are_read_once_and_given_out_as_copies() -> None:
    refrigerant_tables("R134a")  # built here where no run has needed it yet
    tables = refrigerant_tables("R134a")
    assert refrigerant_tables("R134a") is tables
    first = run_tables(tables, 5.0, 8.0)
    kept = first.copy()
    first[:] = 0.0
    assert np.array_equal(run_tables(tables, 5.0, 8.0), kept)


def test_columns_and_numbers_lie_side_by_side() -> None:
    """More rows than fit in a block, and not a whole number of blocks."""
    ramp = np.arange(1300.0)
    rows = side_by_side([ramp, 2.5, -ramp], 1300)
    assert np.array_equal(rows, np.stack([ramp, np.full(1300, 2.5), -ramp], axis=1))
    assert rows.flags.c_contiguous
