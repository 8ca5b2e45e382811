"""A trip of 25 min, the shipped plants, and one comparison of them, for every test of the studies."""

from pathlib import Path

import pytest
from short_trip import SHORT_TRIP

from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.study.compare import Comparison, compare
from heatwright.trip.load import build_case, parse_trip
from heatwright.trip.model import Case, Trip


@pytest.fixture(scope="session")
def trip() -> Trip:
    return parse_trip(SHORT_TRIP, Path("short.trip.toml"))


@pytest.fixture(scope="session")
def case(trip: Trip) -> Case:
    return build_case(trip)


@pytest.fixture(scope="session")
def plants() -> dict[str, Plant]:
    return {name: load_plant(name) for name in ("plain", "reversing")}


@pytest.fixture(scope="session")
def programs(plants: dict[str, Plant], case: Case) -> dict[str, Program]:
    return {name: compile_program(plant, case) for name, plant in plants.items()}


@pytest.fixture(scope="session")
def comparison(plants: dict[str, Plant], trip: Trip) -> Comparison:
    return compare(list(plants.values()), trip, draws=16)
