"""A cabin in two halves: each has its own temperature, humidity and panes, and the books stay closed."""

from __future__ import annotations

import numpy as np
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


HELD = {"blower": 0.6, "inlet:fresh": 0.5, "inlet:recirculate": 0.5, "air_heater": 4000.0}
HELD |= {f"outlets{side}:{to}": 0.5 for side in ("", "_left", "_right") for to in ("screen", "foot")}
HELD |= {"heater_left": 2000.0, "heater_right": 2000.0}


def test_two_equal_halves_are_the_whole_cabin() -> None:
    """`joined` parts the car's cabin: warmed alike, air, skin and screen follow those of the one zone of `reversing`.

    Source: none outside; by symmetry. Their air paths differ by the heater's place and some coolant at the pack.
    """
    case = written(WEATHER, DRIVE, '[start]\ncharge = "90 %"\n')
    whole, halves = ({}, {})
    for plant, series in (("reversing", whole), ("joined", halves)):
        program = compile_program(load_plant(plant), case)
        row = np.array([HELD.get(name, 0.0) for name in program.index.actuators])
        series.update(simulate(program, case, replay=np.tile(row, (case.n, 1))).series)
    for what in ("air", "skin", "trim", "shell", "glass_screen"):
        cabin, left, right = (s[f"t_{z}_{what}_k"] for s, z in ((whole, "cabin"), (halves, "left"), (halves, "right")))
        assert np.max(np.abs(left - right)) < 1e-3, what
        assert np.max(np.abs(cabin - left)) < 0.015 * float(cabin.max() - 268.15), what


def test_the_halves_add_up_to_the_cars_zone() -> None:
    cabin = load_plant("plain").parts["cabin"].values
    halves = [load_plant("joined").parts[side].values for side in ("left", "right")]
    for key in ("air", "skin", "trim", "shell", "shell_area", "shell_capacity", "skin_to_air", "skin_to_trim"):
        assert sum(half[key] for half in halves) == pytest.approx(cabin[key]), key
    assert sum(half["trim_to_air"].value for half in halves) == pytest.approx(cabin["trim_to_air"].value)
    for key in ("duct_loss", "duct_capacity"):
        assert sum(half[key] for half in halves) == pytest.approx(cabin[key]), key
