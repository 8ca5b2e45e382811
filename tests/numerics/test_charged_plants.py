"""Charge in whole plants: too little of it in a run, and the hot-gas cycle through its valve."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.compiler.lower.roles import valve_states
from heatwright.kernel import circuit_names as cn
from heatwright.kernel import plan
from heatwright.kernel.charge import CH_MASS_KG
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.simulate import simulate
from heatwright.study.point import Asked, Point, operating_point
from tests.balance.marches import case_of, program_of, run_of

FILES = Path(__file__).parent / "files"


def charge_of(plant: str) -> float:
    """The charge that a shipped plant without one of its own is given [kg]."""
    program = program_of(plant, "winter_day")
    par = plan.section(program.pi, program.pf, "cp_par")
    return float(par[int(par[cn.PAR_CHARGE]) + int(CH_MASS_KG)])


@pytest.mark.parametrize(("plant", "low_kg", "high_kg"), [("plain", 0.45, 0.65), ("reversing", 0.65, 1.10)])
def test_default_charge_lands_in_the_usual_band(plant: str, low_kg: float, high_kg: float) -> None:
    """R1234yf: 450 to 650 g for cooling alone, 650 to 1100 g with a heat pump (values from memory)."""
    assert low_kg <= charge_of(plant) <= high_kg


def test_short_charge_in_a_run() -> None:
    """Half the charge: every step told, subcooling gone, less heat for the power, the ledger closed all the same."""
    case = case_of("hot_day")
    usual = run_of("reversing", "hot_day")
    plant = load_plant("reversing", changes={"fluid.charge": "0.36 kg"})
    short = simulate(compile_program(plant, case), case)
    assert usual.health["charge_short_steps"] < 10
    assert short.health["charge_short_steps"] > 1000
    assert short.health["circuit_not_solved_steps"] == 0
    assert abs(short.ledger["residual_relative"]) < 1e-12
    steady = slice(-1500, None)
    wet = np.nanmean(short.series["subcooling_k"][steady])
    assert wet < 4.0
    assert np.nanmean(usual.series["subcooling_k"][steady]) == pytest.approx(8.0, abs=0.1)
    assert np.nanmax(np.abs(short.series["charge_error_kg"][steady])) < 0.005
    cold = [np.sum(run.series["q_cold_w"]) / run.energy_kwh["compressor"] for run in (short, usual)]
    assert cold[0] < cold[1]


def hot_gas(charge: str) -> tuple[Plant, Point]:
    plant = load_plant(FILES / "hot_gas.plant.toml", changes={"fluid.hot_gas_charge": charge})
    asked = Asked(258.15, 258.15, 318.15, setting="cabin_txv:shut+hot_gas:throttle", speed_hz=100.0)
    return plant, operating_point(plant, asked)


def test_hot_gas_valve_is_found_by_the_walk() -> None:
    plant, _ = hot_gas("0.10 kg")
    states = {state.actuators: state for state in valve_states(plant)}
    only = states["cabin_txv:shut", "hot_gas:throttle"]
    assert only.legal
    assert only.hot == {"warmer"}
    assert not only.cold
    assert not states["cabin_txv:shut", "hot_gas:shut"].legal


def test_hot_gas_pressures_rise_with_charge_in_a_plant() -> None:
    found = [hot_gas(kg)[1] for kg in ("0.096 kg", "0.098 kg", "0.100 kg")]
    for point in found:
        assert point.runs
        assert point.q_cold_w == 0.0
        assert point.q_hot_w == pytest.approx(point.p_gas_w, abs=0.05)  # all of it is work turned into heat
        assert 0.9 < float(point.cop_heating or 0.0) <= 1.0
    middle = found[1]
    assert middle.p_evaporating_pa == pytest.approx(3e5, rel=0.15)
    assert middle.q_hot_w == pytest.approx(2200.0, rel=0.15)  # 3 bar to 15 bar at 6000 rpm, an order of magnitude
    assert np.all(np.diff([float(point.p_evaporating_pa or 0.0) for point in found]) > 0.0)
    assert np.all(np.diff([point.q_hot_w for point in found]) > 0.0)
