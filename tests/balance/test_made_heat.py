"""Heat made from electricity without a heater: the balance of a closed air ring, and what the vent gets of it."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.simulate import simulate
from heatwright.study.made_heat import Curve, MadeHeat, made_heat
from heatwright.study.point import Asked
from heatwright.study.settled import air_heat_w
from heatwright.trip.load import build_case, load_trip
from tools.sources import ROOT

FOLDER = ROOT / "examples" / "heat_without_a_heater"
RING = {"inner:round": 1.0, "inner:out": 0.0}
ZERO_K = 273.15


@cache
def found() -> MadeHeat:
    return made_heat(load_plant(FOLDER / "ring.plant.toml"), Asked(ZERO_K - 30.0, ZERO_K - 30.0, fresh=0.0, held=RING))


def in_ring() -> Curve:
    return next(one for one in found().curves if one.setting == "throttle+shut")


@cache
def opened() -> Run:
    case = build_case(load_trip(FOLDER / "cold_start.trip.toml"))
    return simulate(compile_program(load_plant(FOLDER / "ring.plant.toml"), case), case)


def test_electricity_is_heat_in_the_ring_and_heat_beside_it() -> None:
    """The ledger's own sums: what the compressor and the blower drew, less shell and standby, went into the ring."""
    for one in found().curves:
        assert abs(one.ledger_residual_relative) < 1e-12
        assert one.heat_to_loop_j + one.beside_j == pytest.approx(one.electricity_j, rel=1e-12)
        assert one.health["circuit_not_solved_steps"] == 0
        assert one.health["refrigerant_residual_j"] < 1e-5 * max(one.electricity_j, 1.0)


def test_the_share_that_stays_in_the_ring_is_just_under_one() -> None:
    """Common practice: inverter, part of the motor's loss and the shell's leave the ring, 0.85 to 1.0."""
    one = in_ring()
    assert 0.85 <= one.share < 1.0
    for electricity, heat in zip(one.electricity_w, one.heat_w, strict=True):
        assert heat <= electricity * (1.0 + 1e-6)


def test_a_warmer_ring_takes_more_until_a_limit_binds() -> None:
    one = in_ring()
    at = dict(zip((round(t - ZERO_K) for t in one.t_loop_k), one.heat_w, strict=True))
    assert at[-21] < at[-11] < at[-1] < at[9] < at[17]
    assert one.limit[0] is not None, "at -30 degC a limit must be named"


def test_the_cabin_gets_just_under_what_the_electricity_was() -> None:
    """Common practice: 0.85 to 1.0 of the electricity, over the last ten minutes of the compressor's longest spell.

    Heat at the vent and what the ducts lose to the trim around them, both inside the cabin.
    """
    s = opened().series
    spells = np.split(on := np.flatnonzero(s["p_compressor_w"] > 100.0), np.flatnonzero(np.diff(on) > 1) + 1)
    last = int(max(spells, key=len)[-1])
    mean = {name: float(np.mean(values[last - 600 : last].astype(float))) for name, values in s.items()}
    mean["mdot_air_box_kg_per_s"] = mean["mdot_air_spread_kg_per_s"]  # what goes round inside counts once
    ducts = load_plant(FOLDER / "ring.plant.toml").of_kind("zone")[0].values["duct_loss"]
    heat = air_heat_w(mean) + ducts * (mean["t_vent_k"] - mean["t_cabin_trim_k"])
    assert 0.85 <= heat / (mean["p_compressor_w"] + mean["p_blower_w"]) <= 1.0
    assert opened().comfort["time_to_20c_s"] is not None


def test_a_blower_run_badly_on_purpose_adds_its_loss() -> None:
    plain = found()
    lossy = made_heat(
        load_plant(FOLDER / "ring.plant.toml", {"blower.blower.deliberate_loss": "300 W"}),
        Asked(ZERO_K - 30.0, ZERO_K - 30.0, fresh=0.0, held=RING | {"blower.loss": 300.0}),
        ("throttle+shut",),
    ).curves[0]
    first = plain.curves[[one.setting for one in plain.curves].index("throttle+shut")]
    assert lossy.reached_s is not None
    assert first.reached_s is not None
    assert lossy.reached_s < first.reached_s
    assert abs(lossy.ledger_residual_relative) < 1e-12
