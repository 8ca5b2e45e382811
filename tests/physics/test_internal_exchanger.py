"""The internal exchanger in the circuit's point and in a run.

VC-25: R1234yf, saturated vapour at 5 degC, saturated liquid at 50 degC, isentropic, effectiveness 0.5 on the gas: COP
4.7019 with and 4.3781 without, suction at 27.73 degC. Source: a cycle from the equation of state (CoolProp). A duty
counted to the suction instead of the evaporator's outlet would give 5.559.
"""

from __future__ import annotations

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.compiler.tables import refrigerant_tables, run_tables
from heatwright.kernel import circuit_names as cn
from heatwright.kernel.circuit_point import evaluate_point
from heatwright.plant.load import load_plant
from heatwright.simulate import simulate
from heatwright.study.settled import short_case

RING = "compressor > condenser > receiver > cabin_txv > evaporator > inner > compressor"
INNER = {"internal_exchanger.inner.effectiveness": "50 %", "lines.refrigerant.ring": RING}


def cop(superheat_k: float) -> float:
    """COP for cooling of the ideal cycle at 5 and 50 degC with a suction gas so much above saturation."""
    tab = run_tables(refrigerant_tables("R1234yf"), 45.0, 0.0)
    par = cn.circuit_parameters(isentropic=(1.0, 3.0, 0.0, 0.0, 0.0, 66.7, 66.7, 1.0))
    point = np.zeros(cn.POINT_SIZE)
    y = superheat_k / 45.0
    point[cn.AT_HALF], point[cn.AT_NONE] = 4.0 * y * (1.0 - y), (2.0 * y - 1.0) * (y - 1.0)
    evaluate_point(278.15, 323.15, 66.7, par, tab, point)
    return float(point[cn.AT_M] * (point[cn.AT_H1] - point[cn.AT_H3]) / point[cn.AT_P])


@pytest.mark.parametrize(
    ("superheat_k", "expected"),
    [pytest.param(0.0, 4.3781, id="VC-25-without"), pytest.param(0.5 * 45.0, 4.7019, id="VC-25-with")],
)
def test_cop_of_the_ideal_cycle(superheat_k: float, expected: float) -> None:
    assert cop(superheat_k) == pytest.approx(expected, rel=3e-3)


def test_a_plant_with_one_takes_less_power_for_its_cooling() -> None:
    """A hot car cooled by `plain` with and without: warmer suction, closed ledger, not more electricity per cold."""
    case = short_case(
        'temperature = "35 degC"\nhumidity = "40 %"',
        '[[segment]]\nkind = "drive"\nspeed = "60 km/h"\nduration = "30 min"\noccupants = 1',
        'set_point = "23 degC"',
    )
    ratio, suction = {}, {}
    for name, changes in (("without", None), ("with", INNER)):
        run = simulate(compile_program(load_plant("plain", changes), case), case)
        assert abs(run.ledger["residual_relative"]) < 1e-12
        assert run.health["circuit_not_solved_steps"] == 0
        s = run.series
        on = s["p_compressor_w"] > 50.0
        ratio[name] = float(np.sum(s["q_cold_w"][on]) / np.sum(s["p_compressor_w"][on]))
        suction[name] = float(np.nanmax(s["t_discharge_k"][on]))
    assert ratio["with"] > ratio["without"]
    assert suction["with"] > suction["without"] + 5.0
