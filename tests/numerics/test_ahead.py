"""A setting looked at ahead: columns, small systems, and the step against the plant itself marched."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.dispatch.desk import make_desk
from heatwright.dispatch.march import run_dispatch
from heatwright.dispatch.settings import load_settings
from heatwright.kernel import dispatch as kd
from heatwright.kernel import dispatch_names as dn
from heatwright.kernel import heat, plan
from heatwright.kernel import march as kernel
from heatwright.kernel.ahead import solve_small
from heatwright.kernel.names import Z_LV, Z_PC
from heatwright.kernel.period import set_limits
from heatwright.plant.load import load_plant
from heatwright.trip.load import build_case, load_trip

HORIZON_S = 120


def test_many_right_hand_sides_are_solved_as_one_by_one() -> None:
    plant, case = load_plant("router"), build_case(load_trip("cold_test"))
    program = compile_program(plant, case)
    elim = plan.section(program.pi, program.pi, "elim")
    dim = plan.section(program.pi, program.pi, "dim")
    n, slots, many = int(dim[0]), int(dim[2]), 5
    draw = np.random.default_rng(1)
    a = -draw.uniform(0.0, 1.0, slots)
    a[:n] = 40.0 + draw.uniform(0.0, 1.0, n)
    b = draw.normal(size=(n, many))
    together = b.copy().ravel()
    heat.eliminate_many(elim, a.copy(), together, many)
    for k in range(many):
        alone = b[:, k].copy()
        heat.eliminate(elim, a.copy(), alone)
        assert together.reshape(n, many)[:, k] == pytest.approx(alone, rel=1e-12, abs=1e-13)


@pytest.mark.parametrize("n", [1, 2, 4, 7])
def test_a_small_system_agrees_with_another_solver(n: int) -> None:
    """numpy.linalg (LAPACK) is outside the project."""
    draw = np.random.default_rng(n)
    for _ in range(50):
        m, r = draw.normal(size=(n, n)), draw.normal(size=n)
        mine, flat = r.copy(), m.copy().ravel()
        assert solve_small(flat, mine, n)
        assert mine == pytest.approx(np.linalg.solve(m, r), rel=1e-7, abs=1e-9)


def test_a_singular_small_system_is_told() -> None:
    assert not solve_small(np.zeros(4), np.ones(2), 2)


def _looked_and_marched(name: str, trip: str, minute: float) -> tuple[float, float, float, float]:
    """Return (air, electricity) as looked at ahead, and as the plant gives it with the same actuators held [K, W]."""
    plant, case = load_plant(name), build_case(load_trip(trip))
    program = compile_program(plant, case)
    pi, pf = program.pi, program.pf
    settings = load_settings(plant.dispatch, case.dispatch)
    desk, _, _ = make_desk(plant, program, settings)
    w = program.start()
    kernel.prepare(pi, pf, w, program.rows[0])
    desk.work[:] = w
    rows = program.rows.copy()
    rows[:] = rows[int(minute * 60)]
    none: Any = (np.zeros(0, np.uint32), np.zeros((0, 0), np.float32))
    targets = np.zeros((1, len(program.index.actuators)))
    turn = 0
    while turn < minute * 6 or (desk.kept[dn.H_IN_MODE] < HORIZON_S and turn < minute * 12):  # not amid a switch
        turn += 1
        set_limits(desk, rows[0])
        targets[0] = desk.acts[int(kd.decide(pi, pf, w, rows[0], desk))]
        kernel.march(pi, pf, w, rows[:10], 1.0, False, False, targets, *none, True)
    set_limits(desk, rows[0])
    chosen = int(kd.decide(pi, pf, w, rows[0], desk))
    line = desk.rows[chosen].copy()
    air = int(desk.airs[0])
    power = []
    acts = desk.acts[chosen][None, :].copy()
    z = plan.section(pi, w, "z")
    pack = plan.section(pi, w, "pdev")
    for _ in range(HORIZON_S):
        kernel.march(pi, pf, w, rows[:1], 1.0, False, False, acts, *none, True)
        power.append(float(z[Z_PC] + z[Z_LV] + pack[: len(program.index.devices)].sum()))
    return (
        float(line[dn.R_TAIR]),
        float(line[dn.R_ELECTRIC]),
        float(plan.section(pi, w, "tau")[air]) + 273.15,
        float(np.mean(power[HORIZON_S // 2 :])),
    )


@pytest.mark.parametrize("trip", ["cold_test", "heat_test"])
@pytest.mark.parametrize("name", ["plain", "reversing", "joined", "secondary", "router", "carbon_dioxide"])
def test_one_long_step_foretells_the_plant_once_it_is_warm(name: str, trip: str) -> None:
    """Measured: at most 0.18 K and 1.2 % apart."""
    air_k, electric_w, marched_k, marched_w = _looked_and_marched(name, trip, 30.0)
    assert air_k == pytest.approx(marched_k, abs=0.3)
    assert electric_w == pytest.approx(marched_w, rel=0.04)


def test_no_point_that_did_not_settle_is_used() -> None:
    plant, case = load_plant("router"), build_case(load_trip("cold_test"))
    found = run_dispatch(plant, compile_program(plant, case), case)
    assert found.unsettled > 0
    ran = found.why.lines[np.arange(found.why.chosen.size), 3]
    assert np.all(ran[:, dn.R_SCORE] < dn.IMPOSSIBLE_W)
    assert np.all(ran[:, dn.R_REASON] == 0.0)
