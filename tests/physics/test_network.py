"""Flows of networks against closed forms and textbook values, and what must hold in any network.

Sources: White, "Fluid Mechanics", example 6.16/6.17 class problem (book digits from memory, checked with
Colebrook's equation); closed forms of quadratic networks; Kirchhoff's laws.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heatwright.physics import network as nw
from heatwright.physics.coolant import coolant_fit, density, viscosity
from heatwright.physics.hydraulics import STOPPED

O = np.uint64(0)  # noqa: E741
WATER = (1000.0, 1.0e-3)
THIN = (1000.0, 1.0e-9)  # no friction worth naming: loss coefficients alone
AREA_M2 = 1.0e-4
LITRE_PER_MIN = 1.0 / 60.0  # kg/s of water
PLAIN_PUMP = (65e3, 45e-3 / 60.0, 1.8, 0.5, 0.0, 0.0)


@dataclass
class Element:
    """One element, its fluid and its drive."""

    kind: int
    par: tuple[float, ...]
    fluid: tuple[float, float] = THIN
    drive: float = 1.0


@dataclass
class Branch:
    """One branch: from, to, elements, and whether a check valve bars the way back."""

    start: int
    end: int
    parts: list[Element]
    one_way: bool = False


@dataclass
class Answer:
    """What `solve_network` left."""

    steps: int
    ok: bool
    mdot: np.ndarray
    p: np.ndarray
    loop_miss_pa: float
    node_miss: float


def loss(r_kpa_per_lpm2: float, fluid: tuple[float, float] = THIN) -> Element:
    """Return a part with dp = R Q^2, R in kPa/(L/min)^2."""
    speed = 1e-3 / 60.0 / AREA_M2
    return Element(nw.CHANNEL, (0.01, AREA_M2, 0.0, r_kpa_per_lpm2 * 1e3 / (0.5 * 1e3 * speed**2), 0, 0), fluid)


def pipe(length_m: float, d_m: float, rough_m: float, fluid: tuple[float, float]) -> Element:
    """Return a round pipe."""
    return Element(nw.CHANNEL, (d_m, math.pi / 4 * d_m**2, length_m / d_m, 0.0, rough_m / d_m, 0.0), fluid)


def push(dp_pa: float, speed: float = 1.0) -> Element:
    """Return a source of constant pressure: a pump of endless flow."""
    return Element(nw.PUMP, (dp_pa, 1e6, 2.0, 1.0, 0.0, 0.0), THIN, speed)


def throat(opening: float, leak: float = 1e12, fluid: tuple[float, float] = THIN) -> Element:
    """Return a valve throat of coefficient 4 on 1.5 cm2."""
    return Element(nw.THROAT, (1.5e-4, 4.0, 4.0 * leak, 0.0, 0.0, 0.0), fluid, opening)


def solve(
    branches: list[Branch],
    mdot: np.ndarray | None = None,
    p: np.ndarray | None = None,
    tolerance: float = 1e-10,
) -> Answer:
    """Lay the arrays, solve, and recompute both of Kirchhoff's laws element by element."""
    parts = [e for b in branches for e in b.parts]
    junctions = 1 + max(max(b.start, b.end) for b in branches)
    ends = np.cumsum([0, *(len(b.parts) for b in branches)]).astype(np.uint32)
    mdot = np.zeros(len(branches)) if mdot is None else mdot
    p = np.zeros(junctions) if p is None else p
    epar = np.array([e.par for e in parts], float).ravel()
    kind = np.array([e.kind for e in parts], np.uint32)
    rho, mu = (np.array([e.fluid[i] for e in parts]) for i in (0, 1))
    drive = np.array([e.drive for e in parts], float)
    steps, ok = nw.solve_network(
        np.array([b.start for b in branches], np.uint32),
        np.array([b.end for b in branches], np.uint32),
        np.array([b.one_way for b in branches], np.uint32),
        ends,
        kind,
        epar,
        rho,
        mu,
        drive,
        mdot,
        p,
        np.full(nw.scratch_size(junctions, len(branches)), np.nan),
        tolerance,
    )
    net = np.zeros(junctions)
    miss = 0.0
    for i, b in enumerate(branches):
        net[b.start] -= mdot[i]
        net[b.end] += mdot[i]
        if b.one_way and mdot[i] < 0.0:
            continue
        drop = sum(
            nw.element_drop(kind[e], mdot[i], epar, np.uint64(nw.STRIDE * e), rho[e], mu[e], drive[e])[0]
            for e in range(ends[i], ends[i + 1])
        )
        miss = max(miss, abs(p[b.start] - p[b.end] - drop))
    return Answer(steps, ok, mdot, p, miss, float(np.abs(net).max()))


def check(answer: Answer, scale_pa: float) -> None:
    """NW-10: Kirchhoff's laws."""
    assert answer.ok
    assert answer.node_miss < 1e-9
    assert answer.loop_miss_pa <= max(1e-6, 1e-6 * scale_pa)


# ---- published rows ------------------------------------------------------------------------------------

HEAD_PA = 998.0 * 9.81 * 20.29
NU = (998.0, 998.0 * 1.02e-6)
PIPES = (pipe(100.0, 0.080, 0.24e-3, NU), pipe(150.0, 0.060, 0.12e-3, NU), pipe(80.0, 0.040, 0.20e-3, NU))


@pytest.mark.parametrize("flows", [pytest.param((62.53, 25.90, 11.41), id="NW-01")])
def test_three_pipes_in_parallel(flows: tuple[float, ...]) -> None:
    """Churchill's friction stands within 1 % of Colebrook's, hence flows within 0.6 %."""
    answer = solve([Branch(0, 1, [push(HEAD_PA)]), *(Branch(1, 0, [one]) for one in PIPES)])
    check(answer, HEAD_PA)
    found = answer.mdot / 998.0 * 3600.0
    assert found[1:] == pytest.approx(flows, rel=6e-3)
    assert found[0] == pytest.approx(99.84, rel=6e-3)


@pytest.mark.parametrize("flow", [pytest.param(10.22, id="NW-02")])
def test_three_pipes_in_series(flow: float) -> None:
    answer = solve([Branch(0, 0, [push(HEAD_PA), *PIPES])])
    check(answer, HEAD_PA)
    assert answer.mdot[0] / 998.0 * 3600.0 == pytest.approx(flow, rel=6e-3)


@pytest.mark.parametrize("dp_pa", [pytest.param(100e3, id="NW-03")])
def test_quadratic_branches(dp_pa: float) -> None:
    """Closed form: 1/sqrt(R) adds; R = 1, 4, 16 kPa/(L/min)^2 share 17.5 L/min as 10, 5, 2.5."""
    answer = solve([Branch(0, 1, [push(dp_pa)]), *(Branch(1, 0, [loss(r)]) for r in (1.0, 4.0, 16.0))])
    check(answer, dp_pa)
    assert answer.mdot / LITRE_PER_MIN == pytest.approx([17.5, 10.0, 5.0, 2.5], rel=1e-5)
    assert answer.p[1] / 1e3 / (answer.mdot[0] / LITRE_PER_MIN) ** 2 == pytest.approx(0.326531, rel=1e-5)


@pytest.mark.parametrize(
    ("speed", "r", "flow", "dp_kpa"),
    [
        pytest.param(1.0, 0.11, 15.8114, 27.5, id="NW-04"),
        pytest.param(0.7, 0.11, 11.0680, 13.475, id="NW-05"),
        pytest.param(1.0, 0.44, 9.03508, 0.44 * 9.03508**2, id="NW-07"),
    ],
)
def test_pump_and_system(speed: float, r: float, flow: float, dp_kpa: float) -> None:
    """Closed form: pump 40 - 0.05 Q^2 kPa at full speed, system R Q^2."""
    pump = Element(nw.PUMP, (40e3, math.sqrt(800.0) * 1e-3 / 60.0, 2.0, 1.0, 0.0, 0.0), THIN, speed)
    answer = solve([Branch(0, 1, [pump]), Branch(1, 0, [loss(r)])])
    check(answer, 40e3)
    assert answer.mdot / LITRE_PER_MIN == pytest.approx(flow, rel=1e-5)
    assert answer.p[1] / 1e3 == pytest.approx(dp_kpa, rel=1e-5)


@pytest.mark.parametrize("speed", [pytest.param(0.7, id="NW-05-power")])
def test_affinity_of_hydraulic_power(speed: float) -> None:
    power = []
    for s in (1.0, speed):
        answer = solve([Branch(0, 1, [Element(nw.PUMP, PLAIN_PUMP, THIN, s)]), Branch(1, 0, [loss(0.11)])])
        power.append(answer.mdot[0] * answer.p[1])
    # the curve's exponent is 1.8, the system's 2: only a quadratic pair obeys the cube to the last digit
    assert power[1] / power[0] == pytest.approx(speed**3, rel=2e-2)


def glycol(t_c: float) -> tuple[float, float]:
    """Return density and viscosity of 50 % glycol by mass."""
    c = coolant_fit(0.5)
    return density(t_c + 273.15, c, O), viscosity(t_c + 273.15, c, O)


def plate(fluid: tuple[float, float], l_over_d: float = 200.0) -> Element:
    """Return twenty parallel 2 mm channels."""
    return Element(nw.CHANNEL, (0.002, 20 * math.pi / 4 * 0.002**2, l_over_d, 0.0, 0.0, 0.0), fluid)


@pytest.mark.parametrize("t_c", [pytest.param(-20.0, id="NW-11")])
def test_laminar_branches_share_by_one_over_r(t_c: float) -> None:
    """Poiseuille: flows as 1/R, not as 1/sqrt(R)."""
    cold = glycol(t_c)
    legs = [Branch(1, 0, [plate(cold, length)]) for length in (100.0, 400.0)]
    answer = solve([Branch(0, 1, [push(5e3)]), *legs])
    check(answer, 5e3)
    assert answer.mdot[1] / answer.mdot[2] == pytest.approx(4.0, rel=1e-9)


def test_cold_coolant_costs_tenfold() -> None:
    """The same laminar flow needs 10.5 times the pressure at -20 as at 40 degC."""
    per_flow = []
    for t_c in (-20.0, 40.0):
        fluid = glycol(t_c)
        answer = solve([Branch(0, 0, [push(500.0), plate(fluid)])])
        check(answer, 500.0)
        per_flow.append(500.0 / (answer.mdot[0] / fluid[0]))
    assert per_flow[0] / per_flow[1] == pytest.approx(22.2 / 2.10, rel=1e-2)


# ---- what plants do -------------------------------------------------------------------------------------


def ring(*speeds: float, extra: list[Element] | None = None) -> list[Branch]:
    """Return one ring of pumps in series and a plate, closed on one junction."""
    pumps = [Element(nw.PUMP, PLAIN_PUMP, WATER, s) for s in speeds]
    return [Branch(0, 0, [*pumps, plate(WATER), *(extra or [])])]


def test_series_pumps_add_and_a_stopped_one_is_passed() -> None:
    one, two, dragged = (solve(ring(*s)) for s in ((1.0,), (1.0, 1.0), (1.0, 0.0)))
    for answer in (one, two, dragged):
        check(answer, 65e3)
    assert 0.0 < dragged.mdot[0] < one.mdot[0] < two.mdot[0]


def test_all_pumps_off_is_still_from_any_start() -> None:
    legs = [Branch(1, 2, [plate(WATER), throat(0.3)]), Branch(1, 2, [loss(0.2)])]
    pumps = [
        Branch(2, 1, [Element(nw.PUMP, PLAIN_PUMP, WATER, 0.0), plate(WATER)]),
        Branch(0, 1, [plate(WATER)]),
    ]
    for start in (0.0, 0.3, -0.2):
        answer = solve([*legs, *pumps], np.full(4, start))
        check(answer, 1.0)
        assert np.abs(answer.mdot).max() < 1e-9


def test_flow_reverses_with_the_stronger_pump() -> None:
    """A bridge between two rings carries flow towards the weaker pump, either way."""

    def bridge(left: float, right: float) -> float:
        branches = [
            Branch(0, 1, [Element(nw.PUMP, PLAIN_PUMP, WATER, left), plate(WATER)]),
            Branch(0, 2, [Element(nw.PUMP, PLAIN_PUMP, WATER, right), plate(WATER)]),
            Branch(1, 0, [plate(WATER)]),
            Branch(2, 0, [plate(WATER)]),
            Branch(1, 2, [plate(WATER)]),
        ]
        answer = solve(branches)
        check(answer, 65e3)
        return float(answer.mdot[4])

    assert bridge(1.0, 0.5) == pytest.approx(-bridge(0.5, 1.0), rel=1e-6)
    assert bridge(1.0, 0.5) > 1e-3
    assert abs(bridge(0.8, 0.8)) < 1e-9


@pytest.mark.parametrize("start", [0.0, 0.2, -0.2])
def test_check_valve_bars_the_stopped_leg(start: float) -> None:
    """Two pumps in parallel: without a check valve the running one drives the other backwards."""

    def legs(one_way: bool) -> list[Branch]:
        return [
            Branch(0, 1, [Element(nw.PUMP, PLAIN_PUMP, WATER, 1.0), plate(WATER)], one_way),
            Branch(0, 1, [Element(nw.PUMP, PLAIN_PUMP, WATER, 0.0), plate(WATER)], one_way),
            Branch(1, 0, [plate(WATER)]),
        ]

    free, barred = (solve(legs(w), np.full(3, start)) for w in (False, True))
    check(free, 65e3)
    check(barred, 65e3)
    assert free.mdot[1] < -1e-2
    assert -1e-9 < barred.mdot[1] <= 0.0
    assert barred.mdot[0] == pytest.approx(barred.mdot[2], abs=1e-9)
    assert barred.mdot[2] > free.mdot[2]


@pytest.mark.parametrize(("leak", "share"), [(1e12, 1e-6), (1e4, 1e-2), (4e4, 5e-3)])
def test_shut_throat_leaks_its_share(leak: float, share: float) -> None:
    """At one pressure a shut throat passes sqrt(k_open/k_leak) of the open flow, or less at a creep."""
    opened, shut = (solve([Branch(0, 0, [push(20e3), throat(x, leak)])]) for x in (1.0, 0.0))
    check(opened, 20e3)
    check(shut, 20e3)
    assert 0.0 < shut.mdot[0] <= share * opened.mdot[0] * (1.0 + 1e-9)
    if leak < 1e6:
        assert shut.mdot[0] == pytest.approx(share * opened.mdot[0], rel=1e-3)


@pytest.mark.parametrize("leak", [1e4, 1e12])
def test_valve_shut_and_opened_again(leak: float) -> None:
    nominal = solve(ring(1.0, extra=[throat(1.0, leak)]))
    shut = solve(ring(1.0, extra=[throat(0.0, leak)]), nominal.mdot.copy())
    opened = solve(ring(1.0, extra=[throat(1.0, leak)]), shut.mdot.copy())
    for answer in (nominal, shut, opened):
        check(answer, 65e3)
    assert 0.0 < shut.mdot[0] < 0.05 * nominal.mdot[0]
    assert opened.mdot[0] == pytest.approx(nominal.mdot[0], rel=1e-8)


def test_pump_against_a_shut_valve_stands_at_full_head() -> None:
    pump = Element(nw.PUMP, PLAIN_PUMP, WATER, 0.8)
    answer = solve([Branch(0, 1, [pump]), Branch(1, 0, [throat(0.0), plate(WATER)])])
    check(answer, 65e3)
    assert abs(answer.mdot[0]) < 1e-7
    assert answer.p[1] == pytest.approx(65e3 * 0.64, rel=1e-6)


def test_two_rings_behind_shut_valves_do_not_disturb_each_other() -> None:
    """The second ring hangs on the reference through shut throats alone, as in a closed cross-over valve."""
    branches = [
        Branch(0, 1, [Element(nw.PUMP, PLAIN_PUMP, WATER, 1.0), plate(WATER)]),
        Branch(1, 0, [plate(WATER)]),
        Branch(2, 3, [Element(nw.PUMP, PLAIN_PUMP, WATER, 0.5), plate(WATER)]),
        Branch(3, 2, [plate(WATER)]),
        Branch(1, 2, [throat(0.0)]),
        Branch(3, 0, [throat(0.0)]),
    ]
    answer = solve(branches)
    check(answer, 65e3)
    alone = solve([Branch(0, 1, branches[2].parts), Branch(1, 0, branches[3].parts)])
    assert answer.mdot[2] == pytest.approx(alone.mdot[0], rel=1e-6)
    assert np.abs(answer.mdot[4:]).max() < 1e-6 * answer.mdot[2]


def test_part_without_a_path_to_the_reference() -> None:
    """Solved over its own lowest junction, without harm to the rest."""
    parts = [Element(nw.PUMP, PLAIN_PUMP, WATER, 0.5), plate(WATER)]
    apart = solve([Branch(0, 1, parts), Branch(1, 0, [loss(0.1)]), Branch(2, 3, parts), Branch(3, 2, [loss(0.1)])])
    check(apart, 65e3)
    assert apart.mdot[2:] == pytest.approx(apart.mdot[:2], rel=1e-9)
    assert apart.p[2] == 0.0


def test_warm_start_costs_nothing_and_a_bad_one_is_repaired() -> None:
    branches = [
        Branch(0, 1, [Element(nw.PUMP, PLAIN_PUMP, WATER, 1.0)]),
        *(Branch(1, 0, [plate(WATER)]),) * 3,
    ]
    first = solve(branches)
    again = solve(branches, first.mdot.copy(), first.p.copy())
    assert (again.steps, again.ok) == (0, True)
    odd = solve(branches, np.array([0.1, -3.0, 0.5, 20.0]))
    check(odd, 65e3)
    assert odd.mdot == pytest.approx(first.mdot, rel=1e-8)


def test_air_path() -> None:
    """A blower of 700 Pa and two ducts: the solver is at home in pascals and metres per second too."""
    air = (1.2, 1.8e-5)
    blower = Element(nw.PUMP, (700.0, 0.25, 2.0, 0.3, 0.0, 0.0), air, 1.0)
    duct = [Element(nw.CHANNEL, (0.1, 0.01, 0.0, k, 0.0, 0.0), air) for k in (2.0, 8.0)]
    answer = solve([Branch(0, 1, [blower]), *(Branch(1, 0, [one]) for one in duct)])
    check(answer, 700.0)
    assert answer.mdot[1] / answer.mdot[2] == pytest.approx(2.0, rel=1e-6)
    still = solve([Branch(0, 1, [Element(nw.PUMP, blower.par, air, 0.0)]), Branch(1, 0, duct)], answer.mdot[:2])
    assert still.ok
    assert np.abs(still.mdot).max() < 1e-7


def test_not_a_number_is_reported() -> None:
    answer = solve(ring(1.0, extra=[Element(nw.CHANNEL, (0.01, 1e-4, 100.0, 0.0, 0.0, 0.0), (1000.0, math.nan))]))
    assert (answer.steps, answer.ok) == (nw.MAX_ITERATIONS, False)


# ---- any network ----------------------------------------------------------------------------------------


def draw_network(rng: np.random.Generator) -> list[Branch]:
    """Return a connected network of 1 to 6 junctions with pumps, throats and check valves anywhere."""
    junctions = int(rng.integers(1, 7))
    pairs = [(i, (i + 1) % junctions) for i in range(junctions)]
    pairs += [tuple(map(int, rng.integers(0, junctions, 2))) for _ in range(rng.integers(0, 6))]
    fluid = glycol(float(rng.uniform(-30.0, 80.0)))
    branches = []
    for start, end in pairs:
        d = rng.uniform(0.003, 0.016)
        area = math.pi / 4 * d * d * rng.integers(1, 20)
        length = rng.uniform(20.0, 800.0) * rng.integers(0, 2)
        parts = [Element(nw.CHANNEL, (d, area, length, rng.uniform(0.5, 20.0), 0.0, 0.0), fluid)]
        if rng.random() < 0.4:
            speed = rng.choice([0.0, 0.0, 0.15, 0.7, 1.0, STOPPED * rng.random()])
            parts.append(Element(nw.PUMP, (*PLAIN_PUMP[:3], rng.choice([0.5, 1e3]), 0.0, 0.0), fluid, speed))
        if rng.random() < 0.4:
            parts.append(throat(rng.choice([0.0, 1.0, rng.random()]), rng.choice([1e4, 1e12]), fluid))
        branches.append(Branch(start, end, parts, bool(rng.random() < 0.25)))
    return branches


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.integers(0, 2**32 - 1))
def test_any_network_obeys_kirchhoff_from_any_start(number: int) -> None:
    rng = np.random.default_rng(number)
    branches = draw_network(rng)
    answer = solve(branches, tolerance=1e-9)
    check(answer, 65e3)
    for branch, mdot in zip(branches, answer.mdot, strict=True):
        assert not branch.one_way or mdot > -1e-9
    other = solve(branches, rng.normal(0.0, 0.3, len(branches)), tolerance=1e-9)
    check(other, 65e3)
    assert other.mdot == pytest.approx(answer.mdot, rel=1e-5, abs=1e-7)


@pytest.mark.parametrize("number", [pytest.param(n, id=f"NW-10-{n}") for n in range(12)])
def test_kirchhoff(number: int) -> None:
    """Node sums to 1e-9 kg/s, loop sums to 1e-6 Pa at a tight tolerance."""
    answer = solve(draw_network(np.random.default_rng(number)), tolerance=1e-12)
    assert answer.ok
    assert answer.node_miss < 1e-9
    assert answer.loop_miss_pa < 1e-6


@pytest.mark.parametrize("size", [2, 3, 6])
def test_mesh_against_a_dense_solver(size: int) -> None:
    rng = np.random.default_rng(size)
    g = np.tril(rng.uniform(0.1, 2.0, (size, size)), -1) * 10.0 ** rng.uniform(-3, 3, (size, size))
    both = g + g.T
    laplace = np.diag(both.sum(axis=1)) - both
    b = rng.normal(size=size)
    x = b.copy()
    nw.solve_mesh(g.ravel().copy(), x, np.uint64(size))
    assert x[0] == 0.0
    assert x[1:] == pytest.approx(np.linalg.solve(laplace[1:, 1:], b[1:]), rel=1e-9)
