"""Many plants under actuators thrown at random: energy and water are kept, and no bad solve is used."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant
from heatwright.plant.signals import most_of
from heatwright.simulate import simulate
from heatwright.study.run_modes import with_modes
from heatwright.trip.load import build_case, load_trip

FILES = Path(__file__).parents[1] / "unit" / "plant" / "files"
PLANTS = ["plain", "reversing", *sorted(str(f) for f in FILES.glob("*.plant.toml"))]
TWO_CIRCUITS = str(Path(__file__).parent / "files" / "two_circuits.plant.toml")
HOLD_STEPS = 120


@cache
def winter_case() -> Any:
    """Return the shipped winter day on its grid."""
    return build_case(load_trip("winter_day"))


def thrown_actuators(program: Any, plant: Any, seed: int) -> np.ndarray:
    """Return actuator values that jump every two minutes; each valve rests in one of its positions."""
    rng = np.random.default_rng(seed)
    names = program.index.actuators
    steps = program.rows.shape[0]
    out = np.zeros((steps, len(names)))
    valves: dict[str, list[int]] = {}
    for k, name in enumerate(names):
        if ":" in name:
            valves.setdefault(name.split(":")[0], []).append(k)
    for s in range(0, steps, HOLD_STEPS):
        for k, name in enumerate(names):
            if ":" in name:
                continue
            share = 0.0 if rng.random() < 0.2 else rng.uniform()
            most = most_of(plant.parts, name) if name.partition(".")[0] in plant.parts else 0.0
            out[s : s + HOLD_STEPS, k] = share * most
        for places in valves.values():
            out[s : s + HOLD_STEPS, rng.choice(places)] = 1.0
    return out


@pytest.mark.parametrize("accuracy", ["normal", "high"])
@pytest.mark.parametrize("source", PLANTS, ids=[Path(p).name.split(".")[0] for p in PLANTS])
def test_any_actuators_keep_energy(source: str, accuracy: str) -> None:
    """Ledger within 1e-12 of throughput and 0.01 J; flows always solved; unsolved circuits rare and counted.

    What flows is what the mode of the atlas says, wherever the setting has one.
    """
    plant, case = load_plant(source), winter_case()
    program = compile_program(plant, case)
    run = simulate(program, case, accuracy, replay=thrown_actuators(program, plant, seed=7))
    assert abs(run.ledger["residual_relative"]) < 1e-12
    assert abs(run.ledger["residual_j"]) < 0.01
    water = run.ledger["water"]
    assert water["throughput_kg"] > 0.1
    assert abs(water["residual_relative"]) < 1e-10
    held = [v for k, v in run.series.items() if k.startswith(("held_", "film_"))]
    assert all(v.min() > -1e-5 for v in held)  # 0 in a step; the two orders of "high" meet within a hundredth of a gram
    assert min(v.min() for k, v in run.series.items() if k.startswith("w_")) > 0.0
    assert run.health["flow_not_solved"] == 0
    health = with_modes(plant, run).health
    assert health["mode_checked_samples"] > 1000
    assert health["mode_mismatch_samples"] == 0, health["mode_mismatch_branches"]
    assert run.health["circuit_not_solved_steps"] <= 1e-3 * case.n
    temperatures = np.array([v for k, v in run.series.items() if k.startswith("t_") and k != "t_discharge_k"])
    assert np.all(temperatures > 220.0)
    assert np.all(temperatures < 480.0)


@pytest.mark.parametrize("source", [*sorted({one.name for one in list_shipped()} - set(PLANTS)), TWO_CIRCUITS])
def test_any_actuators_keep_energy_on_every_shipped_plant(source: str) -> None:
    test_any_actuators_keep_energy(source, "normal")


def test_still_legs_keep_their_heat() -> None:
    """A heater loop warmed and then stopped keeps its coolant warm; only its losses cool it (about 1 W/K)."""
    plant, case = load_plant("plain"), winter_case()
    program = compile_program(plant, case)
    acts = np.zeros((case.n, len(program.index.actuators)))
    at = program.index.actuators.index
    acts[:, at("temper:cold")] = acts[:, at("inlet:fresh")] = acts[:, at("outlets:foot")] = 1.0
    acts[:900, at("heater")], acts[:900, at("core_pump")] = 3000.0, 1.0
    run = simulate(program, case, replay=acts)
    coolant = run.series["t_heater_coolant_k"]
    assert coolant[900] > 313.15
    assert coolant[1500] > coolant[900] - 12.0
    assert np.all(np.abs(run.series["mdot_coolant_warmth_kg_per_s"][1000:]) < 1e-6)
