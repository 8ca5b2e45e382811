"""Every example folder reads, and its runs give the figures it promises."""

import tomllib
from pathlib import Path

import pytest

from heatwright.compiler.build import compile_program
from heatwright.plant.load import load_plant
from heatwright.simulate import simulate
from heatwright.study.stops import settled_case
from heatwright.trip.load import load_trip
from tools.sources import PACKAGE, ROOT

STORIES = {path.name.removesuffix(".trip.toml") for path in (PACKAGE / "data" / "stories").glob("*.trip.toml")}
FOLDERS = sorted(path.parent for path in (ROOT / "examples").glob("*/README.md") if path.parent.name not in STORIES)


def expected() -> list[tuple[Path, str, str]]:
    return [
        (folder, plant, trip)
        for folder in FOLDERS
        for plant, trips in tomllib.loads((folder / "expected.toml").read_text(encoding="utf-8")).items()
        for trip in trips
    ]


def named(folder: Path, name: str, suffix: str) -> str | Path:
    """The folder's own file, or the name of a shipped plant or trip."""
    own = folder / f"{name}.{suffix}.toml"
    return own if own.exists() else name


def test_there_are_examples() -> None:
    assert FOLDERS


@pytest.mark.parametrize(("folder", "plant", "trip"), expected(), ids=lambda one: getattr(one, "name", one))
def test_an_example_gives_what_it_promises(folder: Path, plant: str, trip: str) -> None:
    """Each figure within 2 % of `expected.toml`, temperatures within 0.2 K; the ledger closed."""
    want = tomllib.loads((folder / "expected.toml").read_text(encoding="utf-8"))[plant][trip]
    car = load_plant(named(folder, plant, "plant"))
    case = settled_case([car], load_trip(named(folder, trip, "trip")))
    run = simulate(compile_program(car, case), case)
    assert abs(run.ledger["residual_relative"]) < 1e-12
    assert run.health["circuit_not_solved_steps"] == 0
    found = {**run.health, **run.summary, **run.comfort, **{f"{k}_kwh": v for k, v in run.energy_kwh.items()}}
    for name, value in want.items():
        near = pytest.approx(value, abs=0.2, rel=0) if name.endswith("_k") else pytest.approx(value, rel=0.02)
        assert found[name] == near, name
