"""Coolant that stands keeps its heat, and brings it along when a valve sweeps it in.

A leg of hose is heated, parked behind a valve while the rest of the loop cools, and swept in again. It is one stirred
volume, so the slug leaves as an exponential (TR-10 with one cell), not as a plug (TR-09: nothing, then all of it).
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.compiler.lower.context import Context
from heatwright.kernel import plan
from heatwright.physics import coolant
from heatwright.plant.load import load_plant
from heatwright.simulate import simulate
from heatwright.study.settled import short_case

FORK = {
    "valve.fork.positions": {"past": "in-past", "through": "in-leg"},
    "valve.fork.leak": "0 %",
    "valve.fork.stroke": "1 s",
    "lines.coolant.warmth": "heat_tank > core_pump > heater > fork.in",
    "lines.coolant.past": "fork.past > @back",
    "lines.coolant.leg": "fork.leg > @back",
    "lines.coolant.home": "@back > core > heat_tank",
    "tank.heat_tank.volume": "15 L",
    "hoses.length.leg": "8 m",
    "hoses.loss": "0 W/K per m",
    "hoses.loss_moving": "0 W/K per m per m/s",
}
PARKED_S, SWEPT_S, END_S = 600, 1200, 1500


@cache
def swept(accuracy: str = "normal") -> tuple[Any, Any]:
    """Return the Program and a run: through the leg while heated, past it while cooled, through it again."""
    case = short_case('temperature = "-5 degC"', '[[segment]]\nkind = "park"\nduration = "25 min"', 'step = "1 s"')
    program = compile_program(load_plant("plain", FORK), case)
    acts = np.zeros((case.n, len(program.index.actuators)))
    at = program.index.actuators.index
    t = np.arange(case.n)
    leg = (t < PARKED_S) | (t >= SWEPT_S)
    acts[:, at("core_pump")] = 0.6
    acts[:, at("fork:through")], acts[:, at("fork:past")] = leg, ~leg
    acts[:, at("heater")] = np.where(t < PARKED_S, 5500.0, 0.0)
    acts[:, at("inlet:fresh")] = acts[:, at("temper:hot")] = acts[:, at("outlets:foot")] = 1.0
    acts[:, at("blower")] = np.where(t >= PARKED_S, 0.6, 0.0)
    return program, simulate(program, case, accuracy, replay=acts)


def enthalpy(t_k: Any) -> Any:
    """Enthalpy of the coolant above 0 degC [J/kg]."""
    fit = Context(load_plant("plain")).fit
    return np.array([coolant.enthalpy(float(one), fit, np.uint64(0)) for one in np.atleast_1d(t_k)])


def leg_kg(program: Any) -> float:
    """Coolant in the leg [kg]."""
    return float(plan.section(program.pi, program.pf, "mass")[program.index.node_place["leg.hose"]])


@pytest.mark.parametrize("accuracy", ["normal", "high"])
def test_a_parked_leg_keeps_its_heat(accuracy: str) -> None:
    """Ten minutes behind a shut valve in frost change it by less than 0.1 K; the rest of the loop cools by 30 K."""
    _, run = swept(accuracy)
    s = run.series
    assert abs(run.ledger["residual_relative"]) < 1e-12
    leg, rest = s["t_leg_hose_k"], s["t_home_hose_k"]
    assert abs(leg[SWEPT_S] - leg[PARKED_S + 10]) < 0.1
    assert rest[SWEPT_S] < leg[SWEPT_S] - 30.0
    assert np.all(np.abs(s["mdot_coolant_leg_kg_per_s"][PARKED_S + 5 : SWEPT_S]) < 1e-6)


def test_the_slug_brings_exactly_the_heat_that_was_parked() -> None:
    """What flows out of the leg less what flows in is what its store loses; the outlet jumps at once."""
    program, run = swept()
    s = run.series
    leg, enters = s["t_leg_hose_k"].astype(float), s["t_coolant_fork_leg_k"].astype(float)
    span = slice(SWEPT_S + 1, END_S + 1)
    given = s["mdot_coolant_leg_kg_per_s"][span] * (enthalpy(leg[span]) - enthalpy(enters[span]))
    stored = leg_kg(program) * float((enthalpy(leg[SWEPT_S]) - enthalpy(leg[END_S]))[0])
    assert float(np.sum(given)) == pytest.approx(stored, rel=1e-3)
    assert stored > 1e5
    tee = s["t_coolant_back_k"]
    assert tee[SWEPT_S + 5] > tee[SWEPT_S] + 0.6 * (leg[SWEPT_S] - tee[SWEPT_S])


@pytest.mark.parametrize("share", [pytest.param(0.632121, id="TR-10-one-cell")])
def test_the_slug_leaves_as_from_one_stirred_volume(share: float) -> None:
    """After one flush of the leg 63 % of the parked heat has come; a plug would have brought all of it."""
    program, run = swept()
    s = run.series
    flow = float(np.mean(s["mdot_coolant_leg_kg_per_s"][SWEPT_S + 5 : SWEPT_S + 60]))
    flush_s = round(leg_kg(program) / flow)
    leg = s["t_leg_hose_k"].astype(float)
    enters = float(np.mean(s["t_coolant_fork_leg_k"][SWEPT_S + 3 : SWEPT_S + flush_s]))
    gone = (leg[SWEPT_S + 1] - leg[SWEPT_S + 1 + flush_s]) / (leg[SWEPT_S + 1] - enters)
    assert gone == pytest.approx(share, abs=0.04)
