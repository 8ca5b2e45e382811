"""20,000 random points of the circuit, solved by its own chain of guesses: laws that hold for every one of them."""

from __future__ import annotations

from collections import Counter
from functools import cache

import numpy as np
import pytest

from heatwright.compiler.tables import RefrigerantTables, refrigerant_tables, run_tables
from heatwright.kernel import circuit_names as cn
from heatwright.kernel import status as st
from heatwright.kernel.circuit import solve_circuit
from heatwright.kernel.names import N_EXTRA
from heatwright.kernel.zones import ZONE_STATES, move_zones, rest_zones, set_zones
from heatwright.study.point_state import CycleState, cycle_states

POINTS = 20_000
FLUIDS = ("R1234yf", "R134a", "R290")
WORST = 1e-4  # share of feasible points that may stay unsolved
SETTLE = 12  # solves at each point, so that the zones come to rest

PORTS = 4


@cache
def tables(fluid: str) -> tuple[RefrigerantTables, np.ndarray]:
    found = refrigerant_tables(fluid)
    return found, run_tables(found, 5.0, 8.0)


class Found:
    """One point: walls, conductances, what came out."""

    def __init__(self, chance: np.random.Generator) -> None:
        self.fluid = FLUIDS[int(chance.integers(len(FLUIDS)))]
        source, sink = chance.uniform(243.0, 303.0), chance.uniform(278.0, 333.0)
        self.walls = np.array([*(source + chance.uniform(-6, 6, 2)), *(sink + chance.uniform(-6, 6, 2))])
        self.cold = np.array([*chance.uniform(150, 2500, 2), 0.0, 0.0]) * [1, chance.integers(2), 0, 0]
        self.hot = np.array([0.0, 0.0, *chance.uniform(150, 2500, 2)]) * [0, 0, 1, chance.integers(2)]
        self.speed_hz = chance.uniform(800.0, 8500.0) / 60.0
        self.par = cn.circuit_parameters(
            displacement_m3=chance.uniform(20e-6, 45e-6), zones=True, aim_k=float(chance.choice([0.0, 5.0]))
        )
        self.out = np.zeros(cn.OUT_SIZE)
        self.q = np.zeros(PORTS)
        self.status = self._solve(tables(self.fluid)[1])

    def _solve(self, tab: np.ndarray) -> int:
        """Solve as the march does, step after step at the same walls, until the zones rest."""
        u, work, dq = np.zeros(cn.U_SIZE), np.zeros(cn.work_size(PORTS)), np.zeros(PORTS**2)
        work[cn.POINT_SIZE + 8 * PORTS : cn.POINT_SIZE + 10 * PORTS] = [0, 0, 0, 1, 0.3, 0.5, 0.3, 0.5]
        ext = np.zeros(N_EXTRA + ZONE_STATES + PORTS)
        rest_zones(PORTS, self.par, tab, ext)
        status = st.CIRCUIT_OFF
        for _ in range(SETTLE):
            cold = self.cold.copy()
            set_zones(PORTS, tab, ext, cold, work)
            status = solve_circuit(
                self.speed_hz, PORTS, self.walls, self.hot, cold, self.par, tab, u, self.q, dq, self.out, work
            )
            if status != st.CIRCUIT_RUNS:
                break
            move_zones(PORTS, self.par, tab, self.q, self.out, ext, work, 20.0)
        return int(status)

    def get(self, place: int) -> float:
        return float(self.out[place])

    @cache  # noqa: B019
    def states(self) -> tuple[CycleState, ...]:
        found, tab = tables(self.fluid)
        return cycle_states(self.out, tab, found)


@cache
def points() -> tuple[Found, ...]:
    chance = np.random.default_rng(20_000)
    return tuple(Found(chance) for _ in range(POINTS))


@cache
def running() -> tuple[Found, ...]:
    return tuple(p for p in points() if p.status == st.CIRCUIT_RUNS)


def test_every_point_runs_or_names_why_it_does_not() -> None:
    """Newton's failures: at most 1 in 10,000, each with a reason; a point held off has one too."""
    counts = Counter(p.status for p in points())
    assert counts[st.CIRCUIT_NOT_SOLVED] <= WORST * POINTS, counts
    assert counts[st.CIRCUIT_RUNS] > 0.6 * POINTS
    for p in points():
        if p.status != st.CIRCUIT_RUNS:
            assert int(p.get(cn.OUT_LIMIT)) in st.LIMIT_SENTENCES
            assert p.get(cn.OUT_LIMIT) != st.LIMIT_NONE
            assert not p.q.any()


def test_first_law() -> None:
    """VC-41: what the hot side gives is what the cold side took and the gas got, within the solver's tolerance."""
    for p in running():
        assert abs(p.q.sum() - p.get(cn.OUT_P_GAS)) <= 1e-4 * max(p.get(cn.OUT_P_GAS), 1.0) + 0.05
        assert p.get(cn.OUT_P_ELECTRIC) >= p.get(cn.OUT_P_GAS) >= p.get(cn.OUT_P_SHAFT) > 0.0


def test_heat_goes_down_the_slope_in_every_exchanger() -> None:
    """A condenser never takes and an evaporator never gives heat; none acts without being opened."""
    for p in running():
        for k in range(PORTS):
            assert p.q[k] >= 0.0 if p.hot[k] > 0.0 else p.q[k] <= 0.0 if p.cold[k] > 0.0 else p.q[k] == 0.0


def test_carnot_with_the_temperatures_of_the_streams() -> None:
    """VC-40: COP of the shaft's work at most T_source / (T_sink - T_source), warmest source and coldest sink."""
    for p in running():
        source = float(np.max(p.walls[p.cold > 0.0]))
        sink = float(np.min(p.walls[p.hot > 0.0]))
        if sink > source:
            cold = -float(p.q[p.q < 0.0].sum())
            assert cold <= p.get(cn.OUT_P_GAS) * source / (sink - source) * (1.0 + 1e-6)


@pytest.mark.parametrize("component", ["compressor", "hot side", "valve", "cold side"])
def test_no_component_destroys_entropy(component: str) -> None:
    """VC-43: entropy production of every component at least zero; 0.05 % of what passes is left to the tables' knots.

    Conductances are smooth at zero difference: an evaporator whose wall is colder than the refrigerant keeps a
    remainder that runs uphill, below 0.13 K of its conductance. Just that much is let pass.
    """
    for p in running():
        s1, s2, s3, s4 = (one.s_j_per_kg_k for one in p.states())
        m = p.get(cn.OUT_MDOT)
        produced = {
            "compressor": m * (s2 - s1),
            "hot side": float(np.sum(p.q[p.hot > 0.0] / p.walls[p.hot > 0.0])) - m * (s2 - s3),
            "valve": m * (s4 - s3),
            "cold side": m * (s1 - s4) + float(np.sum(p.q[p.cold > 0.0] / p.walls[p.cold > 0.0])),
        }[component]
        uphill = 0.0
        if component == "cold side":
            te = p.get(cn.OUT_T_EVAP)
            for k in np.flatnonzero((p.cold > 0.0) & (p.walls < te)):
                assert -p.q[k] < 0.13 * 3.0 * p.cold[k]
                uphill += -p.q[k] * (1.0 / p.walls[k] - 1.0 / te)
        assert produced >= -5e-4 * m * abs(s1 - s4) - 1.01 * uphill, (p.fluid, p.walls, produced)


def test_no_temperature_outside_its_sources() -> None:
    """Evaporation is colder than every wall that gives heat, discharge warmer than every wall that takes it.

    Heat below 0.4 K of a conductance is left out: so much may be the smooth remainder at zero difference.
    """
    for p in running():
        for k in np.flatnonzero(p.q < -0.4 * p.cold - 1.0):
            assert p.get(cn.OUT_T_EVAP) < p.walls[k]
        for k in np.flatnonzero(p.q > 0.4 * p.hot + 1.0):
            assert p.get(cn.OUT_T_DISCHARGE) > p.walls[k]
        assert p.get(cn.OUT_P_LOW) < p.get(cn.OUT_P_HIGH)
        assert 0.0 <= p.get(cn.OUT_SUPERHEAT) <= 5.0
        assert 0.0 <= p.get(cn.OUT_SUBCOOLING) <= 8.0
