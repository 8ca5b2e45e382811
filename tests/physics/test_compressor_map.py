"""A measured compressor: its polynomial, its spline, its slopes, and the cycle it gives.

Sources: row VC-30 is closed form (m = rho V n eta_v); the polynomial's form is that of ANSI/AHRI Standard 540, with
coefficients drawn here; the rest is our own forms sampled into a map and read back.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from heatwright.compiler.compressor_map import map_block
from heatwright.compiler.tables import refrigerant_tables, run_tables
from heatwright.kernel import circuit_names as cn
from heatwright.kernel import status as st
from heatwright.kernel.circuit import solve_circuit
from heatwright.kernel.circuit_point import balances, evaluate_point
from heatwright.physics.compressor import gas_power
from heatwright.physics.compressor_map import map_left, map_point, shaft_power
from heatwright.physics.refrigerant import TAB_LOW, saturated_side
from heatwright.plant.compressor_map import CompressorMap, polynomial

EVAP, COND = (243.15, 288.15), (293.15, 338.15)
FLUID = "R1234yf"


def table(superheat_k: float = 5.0, fluid: str = FLUID) -> np.ndarray:
    return run_tables(refrigerant_tables(fluid), superheat_k, 8.0)


def sampled(
    speeds: tuple[float, ...], n: int, par: np.ndarray | None = None, tab: np.ndarray | None = None
) -> CompressorMap:
    """Return the map that a test bench would take of our own forms, electric power."""
    par = cn.circuit_parameters() if par is None else par
    tab = table() if tab is None else tab
    pt = np.zeros(cn.POINT_SIZE)
    flow, power = [], []
    for speed in speeds:
        grid = []
        for te in np.linspace(*EVAP, n):
            row = []
            for tc in np.linspace(*COND, n):
                evaluate_point(te, tc, speed, par, tab, pt)
                row.append((pt[cn.AT_M], pt[cn.AT_ELECTRIC]))
            grid.append(row)
        flow.append(tuple(tuple(m for m, _ in row) for row in grid))
        power.append(tuple(tuple(p for _, p in row) for row in grid))
    return CompressorMap(EVAP, COND, 5.0, speeds, tuple(flow), tuple(power), True)


@pytest.mark.parametrize("expected", [pytest.param(0.029526, id="VC-30")])
def test_mass_flow_of_a_displacement_through_a_map(expected: float) -> None:
    """R134a, 5 degC evaporating and 10 K superheat, 34 cm3, 4000 rpm, eta_v 0.80; the map was taken at 5 K."""
    tables = refrigerant_tables("R134a")
    rated = table(5.0, "R134a")
    par = cn.circuit_parameters(volumetric=(0.80, 0.0, 0.0, 1e9, 0.0))
    par = cn.circuit_parameters(measured=map_block(sampled((50.0,), 10, par, rated), tables))
    point = np.zeros(cn.POINT_SIZE)
    evaluate_point(278.15, 323.15, 4000.0 / 60.0, par, table(10.0, "R134a"), point)
    assert point[cn.AT_M] == pytest.approx(expected, rel=2e-3)


def test_polynomial_is_kept_exactly() -> None:
    """Ten coefficients, evaluated by numpy at random points of the range and by the spline."""
    rng = np.random.default_rng(3)
    flow = np.array([60.0, 2.0, -0.3, 0.03, 0.004, -0.002, 2e-4, 3e-5, -4e-5, 1e-5])
    power = np.array([300.0, 4.0, 20.0, -0.2, 0.3, 0.1, -1e-3, 2e-3, -3e-3, 1e-3])

    def grid(c: np.ndarray) -> tuple:
        at = [np.linspace(*span, 10) - 273.15 for span in (EVAP, COND)]
        return (tuple(tuple(polynomial(tuple(c), s, d) for d in at[1]) for s in at[0]),)

    block = map_block(CompressorMap(EVAP, COND, 5.0, (50.0,), grid(flow), grid(power), True), refrigerant_tables(FLUID))
    tab = table()
    for te, tc in zip(rng.uniform(*EVAP, 50), rng.uniform(*COND, 50), strict=True):
        s, d = te - 273.15, tc - 273.15
        terms = np.array([1, s, d, s * s, s * d, d * d, s**3, d * s * s, s * d * d, d**3])
        ln_rho, ln_rho_e = saturated_side(te, tab[TAB_LOW], tab)[4:6]
        found = map_point(te, tc, 50.0, ln_rho, ln_rho_e, block, np.uint64(0))
        assert found[0] == pytest.approx(terms @ flow, rel=2e-6)  # the rated density is a spline of its own
        assert found[3] == pytest.approx(terms @ power, rel=1e-11)


@pytest.mark.parametrize(
    ("te", "tc"), [(250.3, 310.1), (243.15, 300.0), (238.0, 345.0), (292.0, 290.0), (260.0, 342.0)]
)
@pytest.mark.parametrize("speed", [20.0, 45.0, 110.0])
def test_slopes_against_differences(te: float, tc: float, speed: float) -> None:
    """Inside the map and beyond each of its edges."""
    tab = table(9.0)
    block = map_block(sampled((30.0, 60.0, 100.0), 8), refrigerant_tables(FLUID))

    def at(te: float, tc: float) -> np.ndarray:
        ln_rho, ln_rho_e = saturated_side(te, tab[TAB_LOW], tab)[4:6]
        return np.array(map_point(te, tc, speed, ln_rho, ln_rho_e, block, np.uint64(0)))

    h = 1e-4
    by_te, by_tc = (at(te + h, tc) - at(te - h, tc)) / (2 * h), (at(te, tc + h) - at(te, tc - h)) / (2 * h)
    found = at(te, tc)
    assert found[[1, 4]] == pytest.approx(by_te[[0, 3]], rel=2e-3 if te == EVAP[0] else 1e-6, abs=1e-9)
    assert found[[2, 5]] == pytest.approx(by_tc[[0, 3]], rel=1e-6, abs=1e-9)


def test_flow_goes_with_suction_density() -> None:
    """At another superheat the flow follows the density, the power stays."""
    block = map_block(sampled((50.0,), 10), refrigerant_tables(FLUID))
    found = []
    for superheat in (5.0, 15.0):
        tab = table(superheat)
        ln_rho, ln_rho_e = saturated_side(260.0, tab[TAB_LOW], tab)[4:6]
        found.append((math.exp(ln_rho), *map_point(260.0, 315.0, 50.0, ln_rho, ln_rho_e, block, np.uint64(0))))
    (rho_a, m_a, *_, power_a, _, _), (rho_b, m_b, *_, power_b, _, _) = found
    assert m_b / m_a == pytest.approx(rho_b / rho_a, rel=1e-12)
    assert power_b == power_a
    assert rho_b < 0.97 * rho_a


def test_own_forms_sampled_give_back_the_same_cycle() -> None:
    """Flow, power and heats of a solved circuit, our forms against their own map of 10 by 10 knots a speed."""
    speeds = (30.0, 45.0, 60.0, 75.0, 90.0)
    block = map_block(sampled(speeds, 10), refrigerant_tables(FLUID))
    tab, n = table(), 2
    walls, hot, cold = np.array([272.0, 308.0]), np.array([0.0, 400.0]), np.array([420.0, 0.0])
    for speed in (30.0, 52.0, 75.0, 83.0):
        got = []
        for par in (cn.circuit_parameters(), cn.circuit_parameters(measured=block)):
            u, out, q, dq = np.zeros(cn.U_SIZE), np.zeros(cn.OUT_SIZE), np.zeros(n), np.zeros(n * n)
            assert solve_circuit(speed, n, walls, hot, cold, par, tab, u, q, dq, out, np.zeros(cn.work_size(n))) == 0
            assert abs(out[cn.OUT_RESIDUAL]) < 0.02
            got.append(np.array([out[cn.OUT_MDOT], out[cn.OUT_P_ELECTRIC], out[cn.OUT_P_GAS], q[0], q[1]]))
        assert got[1] == pytest.approx(got[0], rel=4e-3)


def test_jacobian_with_a_map() -> None:
    par = cn.circuit_parameters(measured=map_block(sampled((40.0, 80.0), 8), refrigerant_tables(FLUID)))
    tab, n = table(), 2
    work = np.zeros(cn.work_size(n))
    work[cn.POINT_SIZE : cn.POINT_SIZE + 6] = [272.0, 308.0, 0.0, 400.0, 420.0, 0.0]
    args = (cn.FREE, 55.0, n, par, tab, work)
    for te, tc in ((262.3, 318.7), (240.0, 341.0)):
        balances(te, tc, *args)
        analytic = work[[cn.AT_J00, cn.AT_J10, cn.AT_J01, cn.AT_J11]].copy()
        h = 1e-4
        by_te = np.subtract(balances(te + h, tc, *args), balances(te - h, tc, *args)) / (2 * h)
        by_tc = np.subtract(balances(te, tc + h, *args), balances(te, tc - h, *args)) / (2 * h)
        assert analytic == pytest.approx(np.concatenate([by_te, by_tc]), rel=2e-5, abs=1e-6)


@pytest.mark.parametrize("p_shaft_w", [20.0, 300.0, 1000.0, 4000.0])
def test_shaft_power_turns_the_drive_law_round(p_shaft_w: float) -> None:
    _, _, electric = gas_power(p_shaft_w)
    found, slope = shaft_power(electric)
    assert found == pytest.approx(p_shaft_w, rel=1e-9)
    assert slope == pytest.approx(0.01 / (gas_power(p_shaft_w + 0.005)[2] - gas_power(p_shaft_w - 0.005)[2]), rel=1e-5)


def test_left_says_how_far() -> None:
    block, at = map_block(sampled((30.0, 60.0), 8), refrigerant_tables(FLUID)), np.uint64(0)
    assert map_left(260.0, 310.0, 45.0, block, at) == 0.0
    assert map_left(EVAP[0] - 4.5, 310.0, 45.0, block, at) == pytest.approx(0.1)
    assert map_left(260.0, COND[1] + 9.0, 45.0, block, at) == pytest.approx(0.2)
    assert map_left(260.0, 310.0, 75.0, block, at) == pytest.approx(0.5)
    assert st.CIRCUIT_RUNS == 0
