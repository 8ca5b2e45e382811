"""Coolant to coolant in counterflow: effectiveness of the lumps, direction of the flows, a run, mistakes.

Source: Kays and London, Compact Heat Exchangers; Incropera et al., table 11.3 (rows HX-01, HX-02, HX-16: exact).
"""

from __future__ import annotations

import itertools
from functools import cache
from typing import Any

import numpy as np
import pytest
from heat_rig import march

from heatwright.compiler.build import compile_program
from heatwright.compiler.builder import Builder
from heatwright.compiler.lower.context import Context
from heatwright.errors import InputError
from heatwright.kernel import march as kernel
from heatwright.kernel import plan
from heatwright.kernel.pairs import renew_pairs
from heatwright.physics.exchange import COUNTER, PARALLEL, exchange_conductance
from heatwright.plant.load import load_plant
from heatwright.simulate import simulate
from heatwright.study.settled import short_case

CP = 3500.0
FULL = 10.0 / 60000.0
TWO_LOOPS = {
    "coolant_exchanger.plate.ua": "900 W/K at 10 L/min, 40 degC",
    "pump.second_pump.flow": "14 L/min",
    "tank.second_tank.volume": "1 L",
    "lines.coolant.warmth": "heat_tank > core_pump > heater > plate.a > core > heat_tank",
    "lines.coolant.second": "second_tank > second_pump > plate.b > second_tank",
}


def settled_effectiveness(ntu: float, cr: float, units: int) -> float:
    """Effectiveness of `units` exchangers in a row, each of `ntu`, once lumps joined by their inlets have settled."""
    b = Builder()
    c_a, c_b = 1000.0, 1000.0 / cr
    g = b.constant(float(exchange_conductance(COUNTER, ntu * c_a, c_a, c_b)))
    b.flows += ["a", "b"]
    for side, t_c in (("a", 1e9), ("b", 1e9)):
        for k in range(units + 2):
            b.node(f"{side}{k}", t_c if k in (0, units + 1) else 0.1, "coolant")
        for k in range(units + 1):
            b.stream(f"{side}{k}", f"{side}{k + 1}", side)
    for k in range(units):
        b.transfer(f"a{k}", f"b{units - 1 - k}", f"b{units - k}", f"a{k + 1}", g)
    start = {f"{side}{k}": t for side, t in (("a", 80.0), ("b", 20.0)) for k in range(units + 2)}
    out = march(b, start, 10.0, 200, flows={"a": c_a / CP, "b": c_b / CP}, cp=CP)
    return float((80.0 - out.nodes[f"a{units}"][-1]) / 60.0)


@pytest.mark.parametrize(
    ("ntu", "cr", "units", "expected"),
    [
        pytest.param(1.0, 0.25, 1, 0.598286, id="HX-01-0.25"),
        pytest.param(1.0, 0.75, 1, 0.531857, id="HX-01-0.75"),
        pytest.param(3.0, 0.5, 1, 0.874425, id="HX-02-0.5"),
        pytest.param(3.0, 1.0, 1, 0.750000, id="HX-02-1"),
        pytest.param(1.0, 0.5, 2, 0.774600, id="HX-16"),
    ],
)
def test_lumps_joined_by_their_inlets_are_exact(ntu: float, cr: float, units: int, expected: float) -> None:
    assert settled_effectiveness(ntu, cr, units) == pytest.approx(expected, abs=1e-6)


@cache
def two_loops() -> tuple[Any, Any]:
    """Return the Program and case of a plain plant whose heater loop warms a second loop through a plate."""
    case = short_case('temperature = "0 degC"', '[[segment]]\nkind = "park"\nduration = "10 min"', 'step = "1 s"')
    return compile_program(load_plant("plain", TWO_LOOPS), case), case


def at_flows(a: float, b: float, t_c: float = 40.0) -> tuple[np.ndarray, float, float]:
    """Return the four conductances [W/K] at mass flows a and b, in units of 10 L/min, and both capacity rates [W/K]."""
    program, _ = two_loops()
    w = program.start()
    kernel.prepare(program.pi, program.pf, w, program.rows[0])
    flows, pairs = program.index.flows, plan.section(program.pi, program.pi, "gp_g")
    plan.section(program.pi, w, "tau")[:] = t_c
    coolant = Context(load_plant("plain")).coolant_at(t_c + 273.15)
    for name, share in (("coolant/warmth", a), ("coolant/second", b)):
        plan.section(program.pi, w, "mdot")[flows.index(name)] = share * FULL * coolant.rho
        plan.section(program.pi, w, "moved")[flows.index(name)] = 1.0
    renew_pairs(program.pi, program.pf, w)
    g = plan.section(program.pi, w, "g")[int(pairs[0]) : int(pairs[0]) + 4].copy()
    rated = FULL * coolant.rho * coolant.cp
    return g, abs(a) * rated, abs(b) * rated


@pytest.mark.parametrize(("a", "b"), list(itertools.product((1.0, -1.0), repeat=2)))
def test_directions_choose_the_inlets(a: float, b: float) -> None:
    """At rated flows the declared conductance acts between the inlets at hand; one side turned is parallel flow."""
    g, c_a, c_b = at_flows(a, b)
    used = 2 * (a < 0.0) + (b < 0.0)
    assert np.count_nonzero(g) == 1
    kind = COUNTER if a * b > 0.0 else PARALLEL
    assert g[used] == pytest.approx(exchange_conductance(kind, 900.0, c_a, c_b), rel=1e-9)


def test_conductance_falls_with_either_flow_and_stops_with_it() -> None:
    full, less = at_flows(1.0, 1.0)[0][0], at_flows(1.0, 0.4)[0][0]
    assert 0.0 < less < full
    assert not at_flows(1.0, 0.0)[0].any()


def test_a_run_moves_heat_downhill_and_loses_none() -> None:
    """The heater's loop warms the second; heat given by a is heat taken by b, and the ledger closes."""
    program, case = two_loops()
    acts = np.zeros((case.n, len(program.index.actuators)))
    at = program.index.actuators.index
    for name, value in (("heater", 4000.0), ("core_pump", 1.0), ("second_pump", 1.0), ("inlet:fresh", 1.0)):
        acts[:, at(name)] = value
    run = simulate(program, case, replay=acts)
    assert abs(run.ledger["residual_relative"]) < 1e-12
    s = run.series
    assert s["t_second_tank_coolant_k"][-1] > s["t_second_tank_coolant_k"][0] + 20.0
    assert np.all(s["t_plate_a_coolant_k"][30:] < s["t_heater_coolant_k"][30:])
    assert np.all(s["t_plate_b_coolant_k"][30:] > s["t_second_tank_coolant_k"][30:])
    assert np.all(s["t_plate_b_coolant_k"][30:] < s["t_heater_coolant_k"][30:])


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("second_tank > second_pump > plate > second_tank", "'plate' stands in a line without its side"),
        ("second_tank > second_pump > plate.c > second_tank", "'plate' has no side 'c'"),
        ("second_tank > second_pump > plate.a > second_tank", "'plate.a' is already in line 'warmth'"),
        ("second_tank > second_pump > second_tank", "side b of coolant_exchanger 'plate' is in no line"),
    ],
)
def test_what_cannot_be_is_refused(line: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        load_plant("plain", {**TWO_LOOPS, "lines.coolant.second": line})


def test_both_sides_are_signals() -> None:
    """The control table reads `plate.a` and `plate.b`; a coolant exchanger has no wall to ask."""
    hot = {"yes": "plate.b > 40 degC", "no": "plate.b < 30 degC"}
    load_plant("plain", {**TWO_LOOPS, "control.latch.hot": hot})
    with pytest.raises(InputError, match=r"there is no signal 'plate\.wall'"):
        load_plant("plain", {**TWO_LOOPS, "control.latch.hot": {**hot, "yes": "plate.wall > 40 degC"}})
