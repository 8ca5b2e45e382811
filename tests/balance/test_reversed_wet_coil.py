"""A wet coil that turns warm gives its water to the cabin's air; an evaporator of its own keeps it."""

from __future__ import annotations

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.simulate import simulate
from heatwright.trip.load import build_case, load_trip
from tools.sources import ROOT

TRIP = ROOT / "examples" / "reversing_two_coils" / "through_the_tunnel.trip.toml"
TURNED_S = (30 * 60, 45 * 60)  # the tunnel and the minutes behind it


def after_the_tunnel(plant: str, coil: str) -> tuple[Run, np.ndarray, np.ndarray]:
    """Return the run, the coil's water [kg] and the fog margin [K] while warmth takes over from cold."""
    case = build_case(load_trip(TRIP))
    run = simulate(compile_program(load_plant(plant), case), case)
    at = slice(*TURNED_S)
    return run, run.series[f"held_{coil}_kg"][at], run.series["fog_margin_k"][at]


@pytest.mark.slow
def test_one_coil_that_changes_role_fogs_the_glass() -> None:
    run, held, margin = after_the_tunnel("reversing", "cabin_coil")
    assert held[0] == pytest.approx(0.2, abs=1e-3)
    assert held[-1] < 0.01
    assert margin.min() < -5.0
    assert run.comfort["fogged_s"] > 120.0


@pytest.mark.slow
def test_two_coils_keep_the_water_and_the_view() -> None:
    run, held, margin = after_the_tunnel("reversing_two_coils", "evaporator")
    assert held[0] == pytest.approx(0.2, abs=1e-3)
    assert held.min() > 0.17
    assert margin.min() > 0.5
    assert run.comfort["fogged_s"] == 0.0
    water = run.ledger["water"]
    assert abs(water["residual_relative"]) < 1e-10
