"""The refrigerant circuit's solver: Jacobian, slopes, envelope, and what happens when things go wrong."""

from __future__ import annotations

from collections import Counter
from functools import cache

import numba
import numpy as np
import pytest

from heatwright.compiler.tables import refrigerant_tables, run_tables
from heatwright.kernel import circuit_names as cn
from heatwright.kernel import status as st
from heatwright.kernel.circuit import solve_circuit
from heatwright.kernel.circuit_point import balances

NO_LIMITS = {
    "p_suction_min_pa": 0.5e5,
    "p_discharge_max_pa": 1e8,
    "t_discharge_max_k": 1e3,
    "ratio_max": 1e3,
    "power_max_w": 1e6,
}


@cache
def table(fluid: str = "R1234yf") -> np.ndarray:
    return run_tables(refrigerant_tables(fluid), 5.0, 8.0)


class Circuit:
    """A circuit with its arrays, for calls from Python."""

    def __init__(self, walls: list, hot: list, cold: list, fluid: str = "R1234yf", **par: float) -> None:
        self.n = len(walls)
        self.walls, self.hot, self.cold = (np.array(x, float) for x in (walls, hot, cold))
        self.par, self.tab = cn.circuit_parameters(**par), table(fluid)
        self.u, self.out = np.zeros(cn.U_SIZE), np.full(cn.OUT_SIZE, np.nan)
        self.q, self.dq = np.full(self.n, np.nan), np.full(self.n**2, np.nan)
        self.work = np.zeros(cn.work_size(self.n))

    def run(self, speed_hz: float) -> int:
        return solve_circuit(
            speed_hz, self.n, self.walls, self.hot, self.cold, self.par, self.tab, self.u, self.q, self.dq,
            self.out, self.work,
        )  # fmt: skip

    def get(self, place: int) -> float:
        return float(self.out[place])

    @property
    def limit(self) -> int:
        return int(self.out[cn.OUT_LIMIT])


# one circuit for each kind of point: walls, hot and cold conductances, speed, extra parameters
CASES = {
    cn.FREE: ([265.0, 270.0, 310.0, 312.0], [0, 0, 300, 200], [400, 90, 0, 0], 66.7, {}),
    cn.LIFTED: ([252.0, 255.0, 252.0, 251.0], [0, 0, 500, 300], [60, 40, 0, 0], 40.0, {}),
    cn.TIED: ([305.0, 300.0, 285.0, 280.0], [0, 0, 1500, 900], [700, 200, 0, 0], 25.0, {}),
    cn.PINNED: ([262.0, 260.0, 253.0, 255.0], [0, 0, 700, 400], [700, 300, 0, 0], 30.0, {}),
    cn.BYPASS: ([280.0, 281.0, 310.0, 305.0], [0, 0, 300, 200], [0, 0, 0, 0], 80.0, {"p_bypass_pa": 3e5}),
    cn.BYPASS_PINNED: (
        [250.0, 251.0, 250.0, 252.0],
        [0, 0, 300, 200],
        [0, 0, 0, 0],
        40.0,
        {"p_bypass_pa": 3e5},
    ),
}
NAMES = {0: "free", 1: "lifted", 2: "tied", 3: "pinned", 4: "bypass", 5: "bypass-pinned"}
KINDS = [pytest.param(kind, id=NAMES[kind]) for kind in CASES]


def case(kind: int) -> tuple[Circuit, float]:
    walls, hot, cold, speed, par = CASES[kind]
    return Circuit(walls, hot, cold, **par), speed


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_of_point_is_found(kind: int) -> None:
    circuit, speed = case(kind)
    assert circuit.run(speed) == st.CIRCUIT_RUNS
    assert circuit.get(cn.OUT_KIND) == kind
    assert abs(circuit.get(cn.OUT_RESIDUAL)) < 0.02
    if kind == cn.LIFTED:  # lies on the suction limit
        assert circuit.limit == st.LIMIT_SUCTION_PRESSURE
        return
    assert circuit.get(cn.OUT_SPEED) == speed
    assert circuit.get(cn.OUT_P_HIGH) - circuit.get(cn.OUT_P_LOW) > 1.4999e5
    assert 0.0 <= circuit.get(cn.OUT_OPENING) <= 1.0 + 1e-6
    assert 0.0 < circuit.get(cn.OUT_HOT_OPENING) <= 1.0 + 1e-6
    closed = kind not in (cn.FREE, cn.BYPASS)
    assert circuit.limit == (st.LIMIT_LOW_LIFT if closed else st.LIMIT_NONE)
    heating, cooling = circuit.q[circuit.hot > 0.0], circuit.q[circuit.cold > 0.0]
    assert np.all(heating > 0.0)
    assert np.all(cooling < 0.0)


@pytest.mark.parametrize("kind", KINDS)
def test_jacobian_against_differences(kind: int) -> None:
    circuit, speed = case(kind)
    circuit.run(speed)
    args = (kind, speed, circuit.n, circuit.par, circuit.tab, circuit.work)
    for te, tc in ((262.3, 318.7), (270.1, 301.4), (248.0, 290.0)):
        balances(te, tc, *args)
        names = (cn.AT_J00, cn.AT_J10, cn.AT_J01, cn.AT_J11)
        analytic = np.array([circuit.work[k] for k in names])
        step = 1e-4
        by_te = np.subtract(balances(te + step, tc, *args), balances(te - step, tc, *args)) / (2 * step)
        by_tc = np.subtract(balances(te, tc + step, *args), balances(te, tc - step, *args)) / (2 * step)
        assert analytic == pytest.approx(np.concatenate([by_te, by_tc]), rel=2e-5, abs=1e-6)


@pytest.mark.parametrize("kind", KINDS)
def test_heat_slopes_against_differences(kind: int) -> None:
    """dq from the implicit-function theorem against q of the circuit solved at moved walls."""
    circuit, speed = case(kind)
    circuit.run(speed)
    speed = circuit.get(cn.OUT_SPEED)
    assert circuit.run(speed) == st.CIRCUIT_RUNS
    dq = circuit.dq.reshape(circuit.n, circuit.n).copy()
    step = 1e-3 if kind == cn.LIFTED else 1e-2  # the lifted kind holds in a narrow band of suction pressure
    for j in range(circuit.n):
        sides = []
        for sign in (-1.0, 1.0):
            moved, _ = case(kind)
            moved.walls[j] += sign * step
            moved.u[:] = circuit.u
            assert moved.run(speed) == st.CIRCUIT_RUNS
            assert moved.get(cn.OUT_KIND) == kind
            sides.append(moved.q.copy())
        slope = (sides[1] - sides[0]) / (2.0 * step)
        assert dq[:, j] == pytest.approx(slope, abs=2e-3 * np.abs(dq).max() + 0.05)


# ---- the wide field of operating points


def random_case(rng: np.random.Generator, fluid: str) -> tuple[Circuit, float]:
    """Ambient -25 to 45 degC, walls about it, conductances over two decades, any speed."""
    ambient = rng.uniform(248.15, 318.15)
    cold = ambient + rng.uniform(-8.0, 15.0) if rng.random() < 0.7 else rng.uniform(258.0, 320.0)
    hot = max(ambient, rng.uniform(250.0, 325.0)) + rng.uniform(0.0, 15.0)
    walls = [cold, cold + rng.uniform(-5.0, 15.0), hot, hot - rng.uniform(0.0, 20.0)]
    ua = np.exp(rng.uniform(np.log(10.0), np.log(800.0), 4))
    use = rng.random(4) < 0.7
    use[[0, 2]] = True
    ua *= use
    circuit = Circuit(walls, [0, 0, ua[2], ua[3]], [ua[0], ua[1], 0, 0], fluid)
    return circuit, rng.uniform(5.0, 142.0)


@pytest.mark.parametrize("fluid", ["R1234yf", "R134a"])
def test_random_points_from_the_circuits_own_guess(fluid: str) -> None:
    """20 000 points in all: at most 1 in 10 000 unsolved, none handed out that is not a solution."""
    rng = np.random.default_rng(7)
    statuses: Counter[int] = Counter()
    limits: set[int] = set()
    for _ in range(10_000):
        circuit, speed = random_case(rng, fluid)
        status = circuit.run(speed)
        statuses[status] += 1
        if status != st.CIRCUIT_RUNS:
            assert not circuit.q.any()
            assert not circuit.dq.any()
            assert circuit.limit != st.LIMIT_NONE
            continue
        limits.add(circuit.limit)
        get = circuit.get
        assert abs(get(cn.OUT_RESIDUAL)) < 0.05
        assert abs(circuit.q.sum() - get(cn.OUT_P_DIFFERENCE)) < 1e-6
        assert get(cn.OUT_P_LOW) >= 1.1e5
        assert get(cn.OUT_P_HIGH) <= 26e5
        assert get(cn.OUT_T_DISCHARGE) <= 393.15
        assert get(cn.OUT_P_ELECTRIC) <= 4500.0
        assert get(cn.OUT_P_HIGH) <= 12.0 * get(cn.OUT_P_LOW)
        assert get(cn.OUT_P_HIGH) - get(cn.OUT_P_LOW) >= 1.5e5 * (1.0 - 1e-6)
        assert (get(cn.OUT_SPEED) < speed) == (circuit.limit not in (st.LIMIT_NONE, st.LIMIT_LOW_LIFT))
    assert statuses[st.CIRCUIT_NOT_SOLVED] <= 1
    assert statuses[st.CIRCUIT_RUNS] > 8_000
    assert limits >= {0, 1, 2, 3, 4, 5, 6}


def test_free_points_balance_by_the_equation_of_state() -> None:
    """Balances of solved points worked out anew with CoolProp and plain arithmetic."""
    import CoolProp.CoolProp as coolprop

    state = coolprop.AbstractState("HEOS", "R1234yf")
    rng = np.random.default_rng(11)
    seen = 0
    while seen < 40:
        circuit, speed = random_case(rng, "R1234yf")
        if circuit.run(speed) != st.CIRCUIT_RUNS or circuit.get(cn.OUT_KIND) != cn.FREE:
            continue
        seen += 1
        te, tc, n = circuit.get(cn.OUT_T_EVAP), circuit.get(cn.OUT_T_COND), circuit.get(cn.OUT_SPEED)
        state.update(coolprop.QT_INPUTS, 1.0, tc)
        p_high = state.p()
        state.update(coolprop.PT_INPUTS, p_high, tc - 8.0)
        h3 = state.hmass()
        state.update(coolprop.QT_INPUTS, 1.0, te)
        p_low = state.p()
        state.update(coolprop.PT_INPUTS, p_low, te + 5.0)
        rho1, h1, s1 = state.rhomass(), state.hmass(), state.smass()
        state.update(coolprop.PSmass_INPUTS, p_high, s1)
        r, rpm = p_high / p_low, 60.0 * n
        fill = 0.98 - 0.015 * (r - 1) - 0.030 * (r - 1) * 1000 / rpm - 0.010 * (rpm / 6000) ** 2
        eta = 0.74 - (0.12 if r > 3 else 0.22) * np.log(r / 3) ** 2 - 0.09 * ((rpm - 4000) / 4000) ** 2
        m = max(fill, 0.25) * 34e-6 * n * rho1
        p_shaft = m * (state.hmass() - h1) / max(eta, 0.35)
        p_gas = p_shaft + 0.7 * (p_shaft / (0.93 - 0.05 * np.exp(-p_shaft / 500.0)) - p_shaft)

        def smooth(x: np.ndarray) -> np.ndarray:
            return 0.5 * (x + np.sqrt(x * x + 0.25))

        cold = float(circuit.cold @ smooth(circuit.walls - te))
        hot = float(circuit.hot @ smooth(tc - circuit.walls))
        assert m * (h1 - h3) == pytest.approx(cold, abs=0.5)
        assert m * (h1 - h3) + p_gas == pytest.approx(hot, abs=0.5)
        state.update(coolprop.HmassP_INPUTS, h1 + p_gas / m, p_high)
        assert circuit.get(cn.OUT_T_DISCHARGE) == pytest.approx(state.T(), abs=0.01)


# ---- the envelope

BOUNDS = {
    st.LIMIT_SUCTION_PRESSURE: ([258.0, 315.0], [0, 900], [100, 0], {}),
    st.LIMIT_DISCHARGE_PRESSURE: ([300.0, 335.0], [0, 120], [600, 0], {}),
    st.LIMIT_DISCHARGE_TEMPERATURE: ([278.0, 330.0], [0, 300], [120, 0], {"t_discharge_max_k": 358.15}),
    st.LIMIT_PRESSURE_RATIO: ([268.0, 322.0], [0, 250], [250, 0], {"ratio_max": 6.0}),
    st.LIMIT_POWER: ([290.0, 320.0], [0, 600], [600, 0], {"power_max_w": 2000.0}),
}


@pytest.mark.parametrize("limit", [pytest.param(k, id=st.LIMIT_SENTENCES[k].split(":")[0]) for k in BOUNDS])
def test_the_binding_limit_is_named_and_the_speed_is_the_greatest(limit: int) -> None:
    walls, hot, cold, par = BOUNDS[limit]
    circuit = Circuit(walls, hot, cold, **par)
    assert circuit.run(140.0) == st.CIRCUIT_RUNS
    assert circuit.limit == limit
    speed = circuit.get(cn.OUT_SPEED)
    assert circuit.par[cn.PAR_SPEED_MIN_HZ] < speed < 140.0

    def quantity(c: Circuit) -> float:
        return {
            st.LIMIT_SUCTION_PRESSURE: 1.1e5 / c.get(cn.OUT_P_LOW),
            st.LIMIT_DISCHARGE_PRESSURE: c.get(cn.OUT_P_HIGH) / 26e5,
            st.LIMIT_DISCHARGE_TEMPERATURE: 1.0 + (c.get(cn.OUT_T_DISCHARGE) - 358.15) / 100.0,
            st.LIMIT_PRESSURE_RATIO: c.get(cn.OUT_P_HIGH) / c.get(cn.OUT_P_LOW) / 6.0,
            st.LIMIT_POWER: c.get(cn.OUT_P_ELECTRIC) / 2000.0,
        }[limit]

    assert 0.998 <= quantity(circuit) <= 1.0
    wide = Circuit(walls, hot, cold, **NO_LIMITS)
    assert wide.run(1.01 * speed) == st.CIRCUIT_RUNS
    assert quantity(wide) > 1.0

    first = circuit.get(cn.OUT_EVALUATIONS)
    assert circuit.run(140.0) == st.CIRCUIT_RUNS  # the next step begins at the speed found
    assert circuit.get(cn.OUT_SPEED) == pytest.approx(speed, rel=2e-3)
    assert circuit.get(cn.OUT_EVALUATIONS) <= 3 < first


def test_speed_comes_back_when_the_limit_is_gone() -> None:
    walls, hot, cold, par = BOUNDS[st.LIMIT_POWER]
    circuit = Circuit(walls, hot, cold, **par)
    circuit.run(140.0)
    circuit.par[cn.PAR_POWER_MAX_W] = 2200.0
    circuit.run(140.0)
    assert circuit.get(cn.OUT_P_ELECTRIC) == pytest.approx(2200.0, rel=2e-3)
    circuit.par[cn.PAR_POWER_MAX_W] = 9000.0
    circuit.run(140.0)
    assert circuit.get(cn.OUT_SPEED) == 140.0
    assert circuit.limit == st.LIMIT_NONE


@pytest.mark.parametrize(
    ("walls", "hot", "cold", "limit"),
    [
        pytest.param([243.0, 320.0], [0, 400], [300, 0], st.LIMIT_SUCTION_PRESSURE, id="source too cold"),
        pytest.param([300.0, 355.0], [0, 400], [300, 0], st.LIMIT_DISCHARGE_PRESSURE, id="sink too hot"),
        pytest.param([300.0, 320.0], [0, 3], [300, 0], st.LIMIT_DISCHARGE_PRESSURE, id="sink too weak"),
        pytest.param([290.0, 320.0], [0, 0], [300, 0], st.LIMIT_NO_SINK, id="no sink"),
        pytest.param([290.0, 320.0], [0, 400], [0, 0], st.LIMIT_NO_SOURCE, id="no source"),
    ],
)
def test_held_off_with_the_reason(walls: list, hot: list, cold: list, limit: int) -> None:
    circuit = Circuit(walls, hot, cold)
    assert circuit.run(60.0) == st.CIRCUIT_HELD_OFF
    assert circuit.limit == limit
    assert not circuit.q.any()
    assert not circuit.dq.any()
    assert circuit.get(cn.OUT_P_ELECTRIC) == 0.0
    assert circuit.get(cn.OUT_P_LOW) == circuit.get(cn.OUT_P_HIGH) > 0.0


def test_off_rests_at_the_coldest_wall() -> None:
    circuit = Circuit([265.0, 310.0], [0, 300], [400, 0])
    circuit.run(60.0)
    assert circuit.run(0.0) == st.CIRCUIT_OFF
    assert not circuit.q.any()
    assert circuit.get(cn.OUT_T_EVAP) == circuit.get(cn.OUT_T_COND) == 265.0
    assert circuit.limit == st.LIMIT_NONE
    assert tuple(circuit.u[:4]) == (262.0, 313.0, 0.0, 0.0)


# ---- trouble


def test_a_cold_soaked_car_can_start() -> None:
    """Everything at -20 degC: neither the suction limit nor the least lift may hold the compressor off."""
    circuit = Circuit([253.15] * 2, [0, 400.0], [300.0, 0])
    assert circuit.run(20.0) == st.CIRCUIT_RUNS
    assert circuit.limit == st.LIMIT_LOW_LIFT
    assert circuit.q[1] > 300.0


@pytest.mark.parametrize("place", ["walls", "hot", "cold", "u", "par"])
def test_nan_is_never_handed_on_as_a_solution(place: str) -> None:
    circuit = Circuit([265.0, 310.0], [0, 300.0], [400.0, 0])
    where = {"walls": 0, "hot": 1, "cold": 0, "u": 1, "par": 0}[place]
    getattr(circuit, place)[where] = np.nan
    status = circuit.run(60.0)
    if place == "u":  # a spoilt guess is no harm
        assert status == st.CIRCUIT_RUNS
    else:
        assert status != st.CIRCUIT_RUNS
        assert not circuit.q.any()
        assert not circuit.dq.any()


def test_slewing_to_a_stop_with_valves_nearly_shut() -> None:
    circuit = Circuit([280.0, 281.0, 305.0, 274.0], [0, 0, 4.0, 3.0], [4.0, 3.0, 0, 0], power_max_w=6000.0)
    for speed in np.linspace(130.0, 5.0, 400):
        status = circuit.run(speed)
        assert status != st.CIRCUIT_NOT_SOLVED
        assert np.all(np.isfinite(circuit.dq))
        assert np.abs(circuit.dq).max() < 50.0


def test_warm_steps_stay_cheap_and_equal_a_cold_solve() -> None:
    """A wandering trip: mean evaluations near two, no step unsolved, no memory in the answer."""
    rng = np.random.default_rng(3)
    circuit = Circuit([268.0, 275.0, 315.0, 318.0], [0, 0, 400, 300], [400, 250, 0, 0])
    evaluations = []
    speed = 60.0
    for step in range(3000):
        speed = min(max(speed + rng.uniform(-3.0, 3.0), 10.0), 140.0)
        circuit.walls += rng.uniform(-0.05, 0.05, 4)
        assert circuit.run(speed) == st.CIRCUIT_RUNS
        if circuit.limit == st.LIMIT_NONE:
            evaluations.append(circuit.get(cn.OUT_EVALUATIONS))
        if step % 100 == 0:
            fresh = Circuit(circuit.walls, circuit.hot, circuit.cold)
            assert fresh.run(speed) == st.CIRCUIT_RUNS
            room = 1e-3 if circuit.limit == st.LIMIT_NONE else 5e-3 * np.abs(circuit.q).max()
            assert fresh.q == pytest.approx(circuit.q, abs=0.05 + room)
    assert len(evaluations) > 1500
    assert np.mean(evaluations) < 3.2


@pytest.mark.parametrize("n", [2, 3, 6])
def test_any_number_of_exchangers(n: int) -> None:
    half = n // 2
    hot = [0.0] * half + [600.0 / (n - half)] * (n - half)
    cold = [500.0 / half] * half + [0.0] * (n - half)
    circuit = Circuit([268.0] * half + [312.0] * (n - half), hot, cold)
    whole = Circuit([268.0, 312.0], [0, 600.0], [500.0, 0])
    circuit.run(50.0)
    whole.run(50.0)
    assert circuit.q[:half].sum() == pytest.approx(whole.q[0], rel=1e-9)
    assert circuit.q[half:].sum() == pytest.approx(whole.q[1], rel=1e-9)


def test_an_exchanger_never_runs_backwards() -> None:
    """A condenser warmer than the condensing temperature takes next to nothing and gives nothing."""
    circuit = Circuit([268.0, 310.0, 345.0], [0, 900.0, 900.0], [200.0, 0, 0])
    circuit.run(30.0)
    assert circuit.get(cn.OUT_T_COND) < 340.0
    assert 0.0 < circuit.q[2] < 25.0


def test_step_code_counts_no_references() -> None:
    """The compiled text of the whole solve: no reference counting, nothing allocated."""
    fresh = numba.njit(_nrt=False, error_model="numpy")(solve_circuit.py_func)
    floats = numba.float64[::1]
    fresh.compile((numba.float64, numba.int64, *[floats] * 10))
    ir = "\n".join(fresh.inspect_llvm().values())
    assert "find_speed" in ir
    assert "NRT_incref" not in ir
    assert "NRT_decref" not in ir
    assert "NRT_Allocate" not in ir


def test_every_code_has_its_sentence() -> None:
    limits = {v for k, v in vars(st).items() if k.startswith("LIMIT_") and isinstance(v, int)}
    statuses = {v for k, v in vars(st).items() if k.startswith("CIRCUIT_") and isinstance(v, int)}
    assert set(st.LIMIT_SENTENCES) == limits
    assert set(st.CIRCUIT_SENTENCES) == statuses
    assert len(cn.circuit_parameters()) == cn.PAR_SIZE


def test_held_off_points_do_break_a_limit_at_the_least_speed() -> None:
    rng = np.random.default_rng(19)
    seen = 0
    while seen < 200:
        circuit, speed = random_case(rng, "R1234yf")
        if circuit.run(speed) != st.CIRCUIT_HELD_OFF:
            continue
        seen += 1
        wide = Circuit(circuit.walls, circuit.hot, circuit.cold, **NO_LIMITS)
        if wide.run(min(speed, 800.0 / 60.0)) != st.CIRCUIT_RUNS:
            assert wide.limit in (st.LIMIT_SUCTION_PRESSURE, st.LIMIT_DISCHARGE_PRESSURE)  # beyond the table
            continue
        p_low, p_high = wide.get(cn.OUT_P_LOW), wide.get(cn.OUT_P_HIGH)
        broken = {
            st.LIMIT_SUCTION_PRESSURE: p_low < 1.1e5,
            st.LIMIT_DISCHARGE_PRESSURE: p_high > 26e5,
            st.LIMIT_DISCHARGE_TEMPERATURE: wide.get(cn.OUT_T_DISCHARGE) > 393.15,
            st.LIMIT_PRESSURE_RATIO: p_high > 12.0 * p_low,
            st.LIMIT_POWER: wide.get(cn.OUT_P_ELECTRIC) > 4500.0,
        }
        assert broken[circuit.limit]
