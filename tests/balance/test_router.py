"""The shipped router: heat from compressor, drive unit and blower alone, and a warm pack as a source."""

from __future__ import annotations

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.simulate import simulate
from heatwright.study.stops import settled_case
from heatwright.trip.load import load_trip
from tools.sources import ROOT

FOLDER = ROOT / "examples" / "router"


def ran(trip: str) -> Run:
    car = load_plant("router")
    case = settled_case([car], load_trip(FOLDER / f"{trip}.trip.toml"))
    return simulate(compile_program(car, case), case)


def in_rule(run: Run, name: str) -> np.ndarray:
    return run.series["mode"] == run.mode_names.index(name)


@pytest.mark.slow
def test_nothing_but_work_and_waste_warms_a_car_as_cold_as_the_air() -> None:
    """Hot gas first: its heat is the compressor's own power. Then more, lifted from the drive unit's loop."""
    run = ran("bitter_start")
    assert not any("heater" in name for name in run.energy_kwh)
    gas, lifted = in_rule(run, "gas_demist"), in_rule(run, "demist_low")
    made, given = run.series["p_compressor_w"], run.series["q_hot_w"]
    assert 0.0 < given[gas].max() <= made[gas].max() < 1500.0
    assert run.series["q_cold_w"][gas].max() == 0.0
    assert given[lifted].max() > 7000.0
    assert given[lifted].max() > made[lifted].max() + 2000.0
    assert run.series["t_cabin_air_k"][-1] > 273.15 + 15.0
    assert abs(run.ledger["residual_relative"]) < 1e-12


@pytest.mark.slow
def test_a_pack_warm_from_its_charge_warms_the_cabin() -> None:
    run = ran("on_after_the_charge")
    store = in_rule(run, "heat_store")
    pack = run.series["t_pack_coldest_k"].astype(float)
    last = run.segments[-1]
    assert np.count_nonzero(store[last.first :]) > 1200
    assert pack[last.first] - pack[last.last_exclusive - 1] > 8.0
    warmest = run.series["p_suction_pa"][store].mean()
    assert warmest > 1.5 * run.series["p_suction_pa"][in_rule(run, "heat") & (run.series["compressor_on"] > 0)].mean()
