"""Every mode of every shipped plant marched in the setting the atlas gives for it.

None fails; what flows is what the mode says; the mode read back from the recorded actuators is the one that was set.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.compiler.networks import actuator_names
from heatwright.modes.atlas import build_atlas
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.plant.signals import most_of
from heatwright.simulate import simulate
from heatwright.study.run_modes import SERIES, with_modes
from heatwright.study.settled import short_case
from tests.balance.marches import FILES

HOLD_STEPS = 20
SHARE = 0.6
"""Of the most that a device can be told, where a mode has it on."""
PLANTS = [*(one.name for one in list_shipped()), str(FILES / "two_circuits.plant.toml")]


def values_of(plant: Plant, actuators: tuple[str, ...], first: Any, setting: Any) -> np.ndarray:
    """Actuator values of a setting; what it does not name (doors that only trim, fans, seats) stays where it starts."""
    values = dict(zip(actuators, (float(one) for one in first), strict=True))
    for name, state in setting.items():
        part = plant.parts[name.partition(".")[0]]
        if state in ("on", "off"):
            if name in values:
                values[name] = SHARE * most_of(plant.parts, name) if state == "on" else 0.0
            continue
        own = actuator_names(part)
        if any(one not in values for one in own.values()):
            continue  # a valve with one state only
        shared = state.split(" ~ ")
        values |= {one: (1.0 / len(shared) if place in shared else 0.0) for place, one in own.items()}
    return np.array([values[name] for name in actuators])


@pytest.mark.parametrize("source", PLANTS, ids=lambda one: one.rpartition("/")[2].partition(".")[0])
def test_every_mode_marches_and_is_read_back(source: str) -> None:
    plant = load_plant(source)
    modes = build_atlas(plant).modes
    drive = f'[[segment]]\nkind = "drive"\nspeed = "40 km/h"\nduration = "{len(modes) * HOLD_STEPS} s"'
    case = short_case('temperature = "0 degC"', drive, 'step = "1 s"')
    program = compile_program(plant, case)
    rows = [values_of(plant, program.index.actuators, program.act0, mode.setting) for mode in modes]
    acts = np.repeat(np.array(rows), HOLD_STEPS, axis=0)
    run = with_modes(plant, simulate(program, case, replay=acts))
    assert abs(run.ledger["residual_relative"]) < 1e-12
    assert run.health["flow_not_solved"] == 0
    assert run.health["circuit_not_solved_steps"] <= 1e-3 * case.n
    assert run.health["mode_mismatch_samples"] == 0, run.health["mode_mismatch_branches"]
    names = [one["id"] for one in run.summary["modes"]]
    at_end = run.series[SERIES][HOLD_STEPS::HOLD_STEPS]
    found = [names[code] if code >= 0 else None for code in at_end]
    assert found == [mode.id for mode in modes]
