"""Programs and runs that several tests look at: each is compiled and marched once a process."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.simulate import simulate
from heatwright.trip.load import build_case, load_trip, parse_trip

FILES = Path(__file__).parent / "files"
PLANTS = ("plain", "reversing")  # what the deep tests march; all shipped plants: test_shipped_plants.py


def trip_path(name: str) -> str:
    """The file of a test trip, or the name of a shipped one."""
    file = FILES / f"{name}.trip.toml"
    return str(file) if file.exists() else name


@lru_cache(maxsize=64)
def case_of(trip: str, dt_s: float | None = None) -> Any:
    """A trip on its own time step, or on another."""
    way = load_trip(trip_path(trip))
    return build_case(way if dt_s is None else replace(way, dt_s=dt_s))


@lru_cache(maxsize=64)
def program_of(plant: str, trip: str, dt_s: float | None = None) -> Program:
    return compile_program(load_plant(plant), case_of(trip, dt_s))


@lru_cache(maxsize=32)
def run_of(plant: str, trip: str, accuracy: str = "normal", dt_s: float | None = None) -> Run:
    return simulate(program_of(plant, trip, dt_s), case_of(trip, dt_s), accuracy)


@lru_cache(maxsize=64)
def written(weather: str, segments: str, start: str = "") -> Any:
    """A case made of a few lines of trip file: weather, sun and the like, then the segments."""
    text = f'format = "heatwright trip 1"\nname = "In a test"\n{start}\n[weather]\n{weather}\n{segments}'
    return build_case(parse_trip(text, FILES / "written.trip.toml"))
