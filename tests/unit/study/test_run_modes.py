"""Modes of a run read back from its actuators, and flows held against them."""

from dataclasses import replace

import numpy as np
import pytest
from atlas_plants import kept

from heatwright.report.modes_by_time import modes_by_time
from heatwright.run import Run
from heatwright.study.run_modes import MOVING, SERIES, with_modes

LEGS = ("pack_leg", "drive_leg_1", "drive_leg_2", "radiator", "skip", "drive_home")
OFF, ON = [0.0] * 5, [1.0] * 5


def five_samples(**changes: list[float]) -> Run:
    """Plant *joined*: everything off, then the drive loop to the radiator."""
    flowing = [0.0, 0.2, 0.2, 0.2, 0.2]
    series = {
        "x_join_apart": ON, "x_join_together": OFF, "x_bypass_radiator": ON, "x_bypass_skip": OFF,
        "x_drive_pump": [0.0, 0.6, 0.6, 0.6, 0.6], "x_pack_pump": OFF, "x_blower": OFF, "x_drive_loss": OFF,
        **{f"mdot_coolant_{leg}_kg_per_s": flowing for leg in LEGS},
        "mdot_coolant_pack_leg_kg_per_s": OFF, "mdot_coolant_skip_kg_per_s": [0.0, 0.001, 0.001, 0.001, 0.001],
    } | changes  # fmt: skip
    return Run("joined", "test", np.arange(5.0) * 10.0, {name: np.array(values) for name, values in series.items()})


def test_modes_and_times() -> None:
    run = with_modes(kept("d"), five_samples())
    assert run.series[SERIES].tolist() == [0, 1, 1, 1, 1]
    assert [(mode["title"], mode["time_s"]) for mode in run.summary["modes"]] == [
        ("Everything off", 10.0),
        ("Drive to radiator", 30.0),
    ]
    assert run.health["without_mode_s"] == {}
    assert (run.health["mode_checked_samples"], run.health["mode_mismatch_samples"]) == (3, 0)
    assert modes_by_time(run)[0] == ("Drive to radiator", run.summary["modes"][1]["id"], "30 s", "75.0 %")
    assert modes_by_time(replace(run, summary={})) == []


def test_a_moving_valve_has_no_mode() -> None:
    """The four-way valve has no blend: half way it is in no mode. The bypass has one."""
    run = with_modes(
        kept("d"), five_samples(x_join_apart=[1.0, 1.0, 0.5, 1.0, 1.0], x_join_together=[0.0, 0.0, 0.5, 0.0, 0.0])
    )
    assert run.series[SERIES].tolist() == [0, 1, -1, 1, 1]
    assert run.health["without_mode_s"] == {MOVING: 10.0}
    half = {
        "x_bypass_radiator": [1.0] * 2 + [0.4] * 3,
        "x_bypass_skip": [0.0] * 2 + [0.6] * 3,
        "mdot_coolant_skip_kg_per_s": [0.0] * 2 + [0.1] * 3,
    }
    blended = with_modes(kept("d"), five_samples(**half))
    assert blended.series[SERIES].tolist() == [0, 1, 1, 1, 1]
    assert blended.health["mode_mismatch_samples"] == 0


def test_a_pump_below_its_least_speed_is_starting() -> None:
    run = with_modes(kept("d"), five_samples(x_drive_pump=[0.0, 0.05, 0.6, 0.6, 0.6]))
    assert run.series[SERIES].tolist() == [0, -1, 1, 1, 1]


def test_a_refused_setting_says_why() -> None:
    run = with_modes(kept("d"), five_samples(x_drive_pump=OFF, x_drive_loss=[0.0, 0.0, 2000.0, 2000.0, 0.0]))
    assert run.health["without_mode_s"] == {"drive makes heat on purpose with no flow through it": 20.0}


@pytest.mark.parametrize(
    ("branch", "flow"),
    [
        ("drive_leg_1", [0.0, 0.2, -0.2, 0.2, 0.2]),  # turned round
        ("radiator", [0.0, 0.2, 0.0, 0.2, 0.2]),  # stands
        ("pack_leg", [0.0, 0.0, 0.1, 0.0, 0.0]),  # flows, but should stand
    ],
)
def test_flow_that_the_mode_does_not_tell_is_counted(branch: str, flow: list[float]) -> None:
    run = with_modes(kept("d"), five_samples(**{f"mdot_coolant_{branch}_kg_per_s": flow}))
    assert run.health["mode_mismatch_samples"] == 1
    assert run.health["mode_mismatch_first_s"] == 20.0
    assert run.health["mode_mismatch_branches"] == {f"coolant/{branch.replace('_leg_', '_leg/')}": 1}
