"""A cabin in two halves: each has its own temperature, humidity and panes, and the books stay closed."""

from __future__ import annotations

import pytest

from heatwright.compiler.build import compile_program
from heatwright.plant.load import load_plant
from heatwright.simulate import simulate
from tests.balance.marches import FILES, written

WEATHER = 'temperature = "-5 degC"\nhumidity = "80 %"'
DRIVE = '[[segment]]\nkind = "drive"\nname = "drive"\nspeed = "60 km/h"\nduration = "2 h"\noccupants = 2\n'


@pytest.mark.parametrize("accuracy", ["normal", "high"])
def test_each_half_takes_what_its_own_heater_gives(accuracy: str) -> None:
    """2.5 kW on the left, 1 kW on the right; after two hours each loss coefficient is the same, by symmetry.

    Source: none outside; equal halves must answer alike to heat given beyond what the shared air carries.
    """
    case = written(WEATHER, DRIVE, '[start]\ncharge = "90 %"\n')
    run = simulate(compile_program(load_plant(FILES / "two_zones.plant.toml"), case), case, accuracy)
    s = run.series
    left, right = (s[f"t_{side}_air_k"].astype(float) for side in ("left", "right"))
    assert left[-1] - right[-1] > 8.0
    assert s["t_left_glass_screen_k"][-1] > s["t_right_glass_screen_k"][-1] + 2.0
    vents = [float(s[f"t_heater_{side}_air_k"][-1] - t[-1]) for side, t in (("left", left), ("right", right))]
    losses = [float(t[-1]) - 268.15 for t in (left, right)]
    assert vents[0] / losses[0] == pytest.approx(vents[1] / losses[1], rel=0.1)
    assert abs(run.ledger["residual_relative"]) < 1e-12
    assert abs(run.ledger["water"]["residual_relative"]) < 1e-10
