"""Transients with exact solutions: the kernel's own step on networks made by the compiler's builder.

Source of every row: closed form, named beside it; TR-06, TR-07 and TR-18 also Incropera et al., Fundamentals
of Heat and Mass Transfer (table 5.1 and example 5.1).  The step is linearly implicit, of first order in time,
so a value is the limit of two step sizes; where the discrete solution is exact the comparison is direct.
"""

import math
from functools import cache

import numpy as np
import pytest
from heat_rig import extrapolated, march
from numpy.typing import NDArray

from heatwright.compiler.builder import Builder
from heatwright.physics.exchange import wall_to_stream

STEFAN_BOLTZMANN = 5.670374419e-8


def one_mass(capacity: float, conductance: float) -> Builder:
    """One mass that sees the ambient."""
    builder = Builder()
    builder.node("mass", capacity)
    builder.to_boundary("mass", "tau_ambient", builder.constant(conductance), "ambient")
    return builder


def crossing_s(t_s: NDArray[np.float64], values: NDArray[np.float64], level: float) -> float:
    """Return when a rising series first reaches a level, straight between its points."""
    return float(np.interp(level, values, t_s))


# ---- two masses ------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("node", "share"),
    [pytest.param("big", -0.25, id="TR-05-big"), pytest.param("small", 0.75, id="TR-05-small")],
)
def test_isolated_pair(node: str, share: float) -> None:
    """Closed form: T_eq = sum(C T)/sum(C) = 30 degC, tau = C1 C2 / (C1 + C2) / U = 750 s."""
    builder = Builder()
    builder.node("big", 3e5)
    builder.node("small", 1e5)
    builder.link("big", "small", builder.constant(100.0))
    start = {"big": 40.0, "small": 0.0}
    late = march(builder, start, 100.0, 1000)
    assert late.nodes[node][-1] == pytest.approx(30.0, rel=1e-9)
    coarse, fine = (march(builder, start, 750.0 / n, n).nodes[node][-1] for n in (2000, 4000))
    assert extrapolated(coarse, fine) == pytest.approx(30.0 - share * 40.0 / math.e, rel=1e-6)


# ---- plane wall ------------------------------------------------------------------------------------------
@cache
def plane_wall(biot: float, cells: int, steps_per_unit: int) -> dict[float, tuple[float, float]]:
    """Return centre and surface temperature (1 at the start, 0 outside) by Fourier number, all units 1."""
    builder = Builder()
    for i in range(cells):
        builder.node(f"cell{i:03d}", 1.0 / cells)
    for i in range(cells - 1):
        builder.link(f"cell{i:03d}", f"cell{i + 1:03d}", builder.constant(float(cells)))
    outer = builder.constant(1.0 / (1.0 / biot + 0.5 / cells))
    builder.to_boundary(f"cell{cells - 1:03d}", "tau_ambient", outer, "ambient")
    run = march(builder, 1.0, 1.0 / steps_per_unit, 2 * steps_per_unit)
    first, second, last = (run.nodes[f"cell{i:03d}"] for i in (0, 1, cells - 1))
    centre = first - (second - first) / 8.0
    surface = last * 2.0 * cells / (biot + 2.0 * cells)
    return {
        fourier: (
            float(centre[round(fourier * steps_per_unit)]),
            float(surface[round(fourier * steps_per_unit)]),
        )
        for fourier in (0.2, 0.5, 1.0, 2.0)
    }


def wall_limit(biot: float, cells: int, fourier: float, place: int) -> float:
    """Return one temperature of the plane wall at the limit of a small time step."""
    coarse, fine = (plane_wall(biot, cells, n)[fourier][place] for n in (1000, 2000))
    return extrapolated(coarse, fine)


@pytest.mark.parametrize(
    ("biot", "fourier", "centre", "surface"),
    [
        pytest.param(1.0, 0.2, 0.950642, 0.643391, id="TR-06-Fo0.2"),
        pytest.param(1.0, 0.5, 0.772526, 0.504522, id="TR-06-Fo0.5"),
        pytest.param(1.0, 1.0, 0.533859, 0.348177, id="TR-06-Fo1"),
        pytest.param(1.0, 2.0, 0.254668, 0.166091, id="TR-06-Fo2"),
        pytest.param(0.1, 1.0, 0.922389, 0.878126, id="TR-07-Bi0.1"),
        pytest.param(10.0, 1.0, 0.163818, 0.023172, id="TR-07-Bi10"),
    ],
)
def test_plane_wall(biot: float, fourier: float, centre: float, surface: float) -> None:
    """Closed form: Fourier series of 60 terms. A chain of cells reaches it with second order."""
    for place, exact in ((0, centre), (1, surface)):
        errors = [wall_limit(biot, cells, fourier, place) - exact for cells in (10, 20, 40)]
        limit = extrapolated(errors[1], errors[2], order=2)
        assert abs(limit) < 1e-5
        assert math.log2(errors[0] / errors[1]) == pytest.approx(2.0, abs=0.15)


@pytest.mark.parametrize("cells", [pytest.param(8, id="TR-08-8"), pytest.param(32, id="TR-08-32")])
def test_slab_with_generation(cells: int) -> None:
    """Closed form: T_max - T_s = q L^2 / 2k = 2.0 K; cells miss it by q dx^2 / 8k and no more."""
    density, half_m, k = 1e4, 0.02, 1.0
    dx = half_m / cells
    builder = Builder()
    for i in range(cells):
        builder.node(f"cell{i:03d}", 2e6 * dx)
        builder.driver_source(f"cell{i:03d}", "loss_copper_w", dx, "made")
    for i in range(cells - 1):
        builder.link(f"cell{i:03d}", f"cell{i + 1:03d}", builder.constant(k / dx))
    builder.to_boundary(f"cell{cells - 1:03d}", "tau_ambient", builder.constant(2.0 * k / dx), "ambient")
    run = march(builder, 0.0, 1e9, 3, lambda t: {"loss_copper_w": density})
    first, second = run.nodes["cell000"][-1], run.nodes["cell001"][-1]
    centre = first - (second - first) / 8.0
    assert centre - density * dx**2 / (8.0 * k) == pytest.approx(2.0, rel=1e-6)


# ---- streams ---------------------------------------------------------------------------------------------
def stirred_cells(count: int, tau_s: float, dt_s: float, until: float) -> tuple[NDArray, NDArray]:
    """Return time over tau and the answer of the last of `count` stirred cells to a unit step."""
    builder = Builder()
    for i in range(count):
        builder.node(f"cell{i:03d}", tau_s / count, "coolant")
    builder.flows.append("flow")
    for i in range(count - 1):
        builder.stream(f"cell{i:03d}", f"cell{i + 1:03d}", "flow")
    builder.boundary_stream("cell000", "tau_ambient", "flow", True, "in")
    builder.boundary_stream(f"cell{count - 1:03d}", "tau_ambient", "flow", False, "out")
    run = march(
        builder,
        0.0,
        dt_s,
        round(until * tau_s / dt_s),
        lambda t: {"tau_ambient": 1.0},
        flows={"flow": 1.0},
        cp=3500.0,
    )
    return run.t_s / tau_s, run.nodes[f"cell{count - 1:03d}"]


@pytest.mark.parametrize(
    ("count", "at_tau", "width"),
    [
        pytest.param(1, 0.632121, 2.1972, id="TR-10-1"),
        pytest.param(5, 0.559507, 1.1122, id="TR-10-5"),
        pytest.param(10, 0.542070, 0.7985, id="TR-10-10"),
        pytest.param(50, 0.518808, 0.3614, id="TR-10-50"),
        pytest.param(100, 0.513299, 0.2559, id="TR-10-100"),
    ],
)
def test_delay_by_stirred_cells(count: int, at_tau: float, width: float) -> None:
    """Closed form: gamma distribution of order N, its value at t = tau and its 10-90 % width over tau."""
    values, widths = [], []
    for dt_s in (10.0 / count, 5.0 / count):
        t, answer = stirred_cells(count, 1000.0, dt_s, 2.6 if count == 1 else 1.8)
        values.append(float(np.interp(1.0, t, answer)))
        widths.append(crossing_s(t, answer, 0.9) - crossing_s(t, answer, 0.1))
    assert extrapolated(*values) == pytest.approx(at_tau, abs=1e-4)
    assert extrapolated(*widths) == pytest.approx(width, abs=1e-4)


@pytest.mark.parametrize("t_out_c", [pytest.param(57.77837, id="TR-11")])
def test_pipe_with_wall_loss(t_out_c: float) -> None:
    """Closed form: T_w + (T_in - T_w) exp(-UA / m cp); 60 in, wall 20 degC, UA 30, m 0.15, cp 3500."""
    builder = Builder()
    builder.node("inlet", 0.3, "coolant")
    builder.node("pipe", 0.3, "coolant")
    builder.node("wall", 1e3)
    builder.flows.append("flow")
    builder.column("t_in_c")
    builder.boundary_stream("inlet", "t_in_c", "flow", True, "in")
    builder.stream("inlet", "pipe", "flow")
    builder.boundary_stream("pipe", "t_in_c", "flow", False, "out")
    builder.transfer("inlet", "wall", "wall", "pipe", builder.constant(wall_to_stream(30.0, 0.15 * 3500.0)))
    builder.to_boundary("wall", "tau_ambient", builder.constant(1e10), "ambient")
    run = march(builder, 40.0, 1e6, 3, lambda t: {"t_in_c": 60.0, "tau_ambient": 20.0}, {"flow": 0.15}, 3500.0)
    assert run.nodes["pipe"][-1] == pytest.approx(t_out_c, abs=5e-6)


@pytest.mark.parametrize("tau_s", [pytest.param(1262.54, id="TR-12")])
def test_mass_on_cold_plate(tau_s: float) -> None:
    """Closed form: tau = C / (eps m cp), eps = 1 - exp(-UA / m cp) = 0.543567; not C / UA, not C / m cp."""
    stream = 510.0
    conductance = wall_to_stream(400.0, stream)
    assert conductance / stream == pytest.approx(0.543567, abs=5e-7)
    builder = one_mass(3.5e5, conductance)
    coarse, fine = (march(builder, 1.0, tau_s / n, n).nodes["mass"][-1] for n in (1000, 2000))
    assert extrapolated(coarse, fine) == pytest.approx(math.exp(-1.0), rel=1e-5)


# ---- driven masses ---------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("ratio", "lag_s"),
    [pytest.param(0.989588, 1986.07, id="TR-13")],
)
def test_sine_ambient(ratio: float, lag_s: float) -> None:
    """Closed form: 1 / sqrt(1 + (w tau)^2) and atan(w tau) / w; period 24 h, tau 2000 s."""
    day_s, tau_s = 86400.0, 2000.0
    omega = 2.0 * math.pi / day_s
    found = []
    for dt_s in (20.0, 10.0):
        steps = round(2 * day_s / dt_s)
        run = march(one_mass(1e5, 50.0), 0.0, dt_s, steps, lambda t: {"tau_ambient": math.sin(omega * t)})
        t, mass = run.t_s[1 + steps // 2 :], run.nodes["mass"][1 + steps // 2 :]
        found.append(2.0 * np.mean(mass * np.exp(-1j * omega * t)))
    value = 2 * found[1] - found[0]
    assert tau_s == 1e5 / 50.0
    assert abs(value) == pytest.approx(ratio, rel=1e-4)
    assert -(np.angle(value) + math.pi / 2) / omega == pytest.approx(lag_s, rel=1e-4)


@pytest.mark.parametrize("dt_s", [pytest.param(1.0, id="TR-14-1s"), pytest.param(60.0, id="TR-14-60s")])
def test_ramp_ambient(dt_s: float) -> None:
    """Closed form: after the transient the mass lags by exactly rate x tau, at any step size."""
    rate, tau_s = 0.002, 2000.0
    run = march(one_mass(1e5, 50.0), 0.0, dt_s, round(20 * tau_s / dt_s), lambda t: {"tau_ambient": rate * t})
    assert rate * run.t_s[-1] - run.nodes["mass"][-1] == pytest.approx(rate * tau_s, rel=1e-7)


@pytest.mark.parametrize("t_end_k", [pytest.param(361.67759, id="TR-16")])
def test_radiation_to_nothing(t_end_k: float) -> None:
    """Closed form: T0 / (1 + 3 k T0^3 t)^(1/3), k = eps sigma A / C; frozen over each step."""
    zero_c = -273.15

    def radiation(temperatures: dict[str, float]) -> dict[int, float]:
        return {0: 0.9 * STEFAN_BOLTZMANN * (temperatures["mass"] - zero_c) ** 3}

    coarse, fine = (
        march(
            one_mass(1e5, 0.0),
            400.0 + zero_c,
            3600.0 / n,
            n,
            lambda t: {"tau_ambient": zero_c},
            each=radiation,
        ).nodes["mass"][-1]
        for n in (2000, 4000)
    )
    assert extrapolated(coarse, fine) - zero_c == pytest.approx(t_end_k, rel=1e-6)


@pytest.mark.parametrize("seconds", [pytest.param(5.16, id="TR-18")])
def test_thermocouple_bead(seconds: float) -> None:
    """Incropera et al., example 5.1: a bead of 7.06e-4 m in gas of 200 degC, from 25 to 199 degC."""
    diameter_m = 7.06e-4
    capacity = 8500.0 * 400.0 * math.pi / 6.0 * diameter_m**3
    builder = one_mass(capacity, 400.0 * math.pi * diameter_m**2)
    times = []
    for dt_s in (0.01, 0.005):
        run = march(builder, 25.0, dt_s, round(6.0 / dt_s), lambda t: {"tau_ambient": 200.0})
        times.append(crossing_s(run.t_s, run.nodes["mass"], 199.0))
    assert extrapolated(*times) == pytest.approx(seconds, rel=0.005)


@pytest.mark.parametrize(("seconds", "left"), [pytest.param(60.0, 0.7575, id="TR-19")])
def test_cabin_purge(seconds: float, left: float) -> None:
    """Closed form: exp(-t / tau), tau = V / flow = 216 s for 3 m3 and 50 m3/h; warmth is what is purged."""
    builder = Builder()
    builder.node("air", 3.0 * 1.2, "air")
    builder.flows.append("fresh")
    builder.boundary_stream("air", "tau_ambient", "fresh", True, "in")
    builder.boundary_stream("air", "tau_ambient", "fresh", False, "out")
    flow = {"fresh": 50.0 / 3600.0 * 1.2}
    coarse, fine = (march(builder, 1.0, seconds / n, n, flows=flow).nodes["air"][-1] for n in (500, 1000))
    assert extrapolated(coarse, fine) == pytest.approx(left, abs=5e-5)
