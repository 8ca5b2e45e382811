"""The circuit with R744: Jacobian, slopes, the greatest suction pressure, a wide field of points, a day's health."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.compiler.tables import refrigerant_tables, run_tables
from heatwright.kernel import circuit_names as cn
from heatwright.kernel import status as st
from heatwright.kernel.circuit_point import balances
from heatwright.physics.refrigerant import TAB_T_LOW_MAX
from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.simulate import simulate
from heatwright.trip.load import build_case, load_trip
from tests.numerics.test_circuit import Circuit
from tools.sources import ROOT

EXAMPLE = ROOT / "examples" / "other_refrigerants"
R744 = {
    "displacement_m3": 6.8e-6, "p_suction_min_pa": 10e5, "p_discharge_max_pa": 125e5, "t_discharge_max_k": 423.15,
    "power_max_w": 5500.0, "p_lift_min_pa": 5e5,
}  # fmt: skip


def circuit(walls: list[float], hot: list[float], cold: list[float]) -> Circuit:
    made = Circuit(walls, hot, cold, **R744)
    made.tab = _table()
    return made


@cache
def _table() -> np.ndarray:
    return run_tables(refrigerant_tables("R744"), 3.0, 8.0)


CASES = {
    "subcritical": ([268.0, 285.0], [0, 700], [600, 0], 60.0, cn.FREE),
    "transcritical": ([262.0, 305.0], [0, 600], [600, 0], 70.0, cn.FREE),
    "warm source, cold sink": ([296.0, 262.0], [0, 1800], [900, 0], 40.0, cn.TIED),
    "greatest suction pressure": ([318.0, 314.0], [0, 900], [900, 0], 40.0, cn.TIED),
}


@pytest.mark.parametrize("name", CASES)
def test_each_point_is_found(name: str) -> None:
    walls, hot, cold, speed, kind = CASES[name]
    found = circuit(walls, hot, cold)
    assert found.run(speed) == st.CIRCUIT_RUNS
    assert found.get(cn.OUT_KIND) == kind
    assert abs(found.get(cn.OUT_RESIDUAL)) < 0.02
    assert found.get(cn.OUT_T_EVAP) <= found.tab[TAB_T_LOW_MAX]
    critical = refrigerant_tables("R744").p_critical_pa
    assert (found.get(cn.OUT_P_HIGH) > critical) == (name in ("transcritical", "greatest suction pressure"))
    if name == "greatest suction pressure":
        assert found.limit == st.LIMIT_SUCTION_MOST
        assert found.get(cn.OUT_OPENING) < 1.0


@pytest.mark.parametrize("name", CASES)
def test_jacobian_against_differences(name: str) -> None:
    walls, hot, cold, speed, kind = CASES[name]
    made = circuit(walls, hot, cold)
    made.run(speed)
    args = (kind, speed, made.n, made.par, made.tab, made.work)
    for te, tc in ((262.3, 308.7), (250.1, 301.4), (270.0, 285.0), (285.0, 318.0)):
        balances(te, tc, *args)
        analytic = np.array([made.work[k] for k in (cn.AT_J00, cn.AT_J10, cn.AT_J01, cn.AT_J11)])
        step = 1e-4
        by_te = np.subtract(balances(te + step, tc, *args), balances(te - step, tc, *args)) / (2 * step)
        by_tc = np.subtract(balances(te, tc + step, *args), balances(te, tc - step, *args)) / (2 * step)
        assert analytic == pytest.approx(np.concatenate([by_te, by_tc]), rel=1e-4, abs=1e-4)


@pytest.mark.parametrize("name", CASES)
def test_heat_slopes_against_differences(name: str) -> None:
    walls, hot, cold, speed, _ = CASES[name]
    made = circuit(walls, hot, cold)
    assert made.run(speed) == st.CIRCUIT_RUNS
    dq = made.dq.reshape(made.n, made.n).copy()
    for j in range(made.n):
        sides = []
        for sign in (-1.0, 1.0):
            moved = circuit(walls, hot, cold)
            moved.walls[j] += sign * 1e-2
            moved.u[:] = made.u
            assert moved.run(speed) == st.CIRCUIT_RUNS
            sides.append(moved.q.copy())
        assert dq[:, j] == pytest.approx((sides[1] - sides[0]) / 2e-2, abs=2e-3 * np.abs(dq).max() + 0.05)


def test_wide_field_is_solved_or_named() -> None:
    """No point of a random field is left unsolved; every one that does not run is held off by a limit with a name."""
    rng = np.random.default_rng(744)
    ran = 0
    for _ in range(1500):
        walls = [float(rng.uniform(240.0, 325.0)), float(rng.uniform(250.0, 330.0))]
        made = circuit(walls, [0.0, float(rng.uniform(100.0, 2000.0))], [float(rng.uniform(60.0, 1200.0)), 0.0])
        status = made.run(float(rng.uniform(14.0, 133.0)))
        assert status in (st.CIRCUIT_RUNS, st.CIRCUIT_HELD_OFF), (walls, made.hot, made.cold)
        assert np.all(np.isfinite(made.q))
        if status == st.CIRCUIT_RUNS:
            ran += 1
            assert made.get(cn.OUT_P_HIGH) <= 125e5
            assert abs(made.get(cn.OUT_RESIDUAL)) < 0.1
        else:
            assert made.limit not in (st.LIMIT_NONE, st.LIMIT_UNSOLVED)
    assert ran > 1000


@cache
def day(plant: str) -> Run:
    case = build_case(load_trip(Path(ROOT / "src/heatwright/data/trips/winter_day.trip.toml")))
    return simulate(compile_program(load_plant(EXAMPLE / f"{plant}.plant.toml"), case), case)


@pytest.mark.parametrize("plant", ["carbon_dioxide", "propane"])
def test_winter_day(plant: str) -> None:
    """The shipped winter day: closed ledger, no step unsolved, the cabin warm."""
    run = day(plant)
    assert abs(run.ledger["residual_relative"]) < 1e-12
    assert run.health["circuit_not_solved_steps"] == 0
    assert run.comfort["time_to_20c_s"] < 1500.0
