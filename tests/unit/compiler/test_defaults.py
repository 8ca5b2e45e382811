"""A part that says nothing of itself compiles and marches: every optional key may really be left out."""

from pathlib import Path

import numpy as np

from heatwright.compiler.build import compile_program
from heatwright.plant.load import load_plant
from heatwright.plant.parts import kinds
from heatwright.simulate import simulate
from tests.balance.marches import written

PARK = '[[segment]]\nkind = "park"\nduration = "10 min"\nconditioned = true\n'


def test_every_kind_by_its_defaults_alone() -> None:
    plant = load_plant(Path(__file__).parent / "files" / "defaults.plant.toml")
    assert {part.kind for part in plant.parts.values()} == set(kinds())
    assert all(part.given <= {"on", "positions"} for part in plant.parts.values())
    case = written('temperature = "-5 degC"', PARK)
    run = simulate(compile_program(plant, case), case)
    steady = [name for name in run.series if name.startswith("t_") and name != "t_discharge_k"]
    assert all(np.isfinite(run.series[name]).all() for name in steady)
    assert abs(run.ledger["residual_relative"]) < 1e-12
