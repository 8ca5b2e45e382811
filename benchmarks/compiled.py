"""The right-hand side dT/dt, compiled, from the kernel's own functions: what a careful programmer gives to CVODE.

The step solves (C/dt + A) T' = C/dt T + b. With 1/dt = 0 the same assembly leaves A and b, and C dT/dt = b - A T.
Circuit, electric side and moisture are the kernel's as well. Flows and conductances come from a record, so no
flow network is solved here.
"""

from __future__ import annotations

from functools import partial

import numpy as np

from benchmarks.cases import Floats, Record, Stretch, line_at, stacked
from heatwright.kernel import heat, march, moisture, plan, ports, power
from heatwright.kernel.names import D_P, N_WATER, X_SOC, Z_IPACK
from heatwright.kernel.plan import Ints
from heatwright.physics.jit import kernel_jit

I_TBCOL = plan.I["tb_col"]
F_PK = plan.F["pk_par"]
W_TAU, W_EXT, W_A, W_B, W_CAP, W_TB, W_Z, W_WET = (plan.W[k] for k in ("tau", "ext", "a", "b", "cap", "tb", "z", "wet"))
F_KG = plan.F["mo_kg"]
INTO = tuple(plan.W[k] for k in ("act", "mdot", "g", "pdev"))
ZERO_C = 273.15
MOISTURE_STEP_S = 1e-6  # short enough that the implicit step is the rate (1e-5 of it at worst)
CHARGE = np.uint64(7)


@kernel_jit
def _load(pi: Ints, w: Floats, inputs: Floats, k: int, share: float, row: Floats) -> None:
    """Put inputs into the driver row and the work array: line k of `inputs`, and a share of the next."""
    next_k = min(k + 1, inputs.shape[0] - 1)
    n = np.uint64(row.shape[0])
    for i in range(n):
        row[i] = inputs[k, i] + share * (inputs[next_k, i] - inputs[k, i])
    for place in INTO:
        to = plan.work_view(pi, w, place)
        for i in range(np.uint64(to.shape[0])):
            to[i] = inputs[k, n + i] + share * (inputs[next_k, n + i] - inputs[k, n + i])
        n += np.uint64(to.shape[0])


@kernel_jit
def derivative(
    pi: Ints,
    pf: Floats,
    w: Floats,
    inputs: Floats,
    row: Floats,
    slot_row: Ints,
    slot_col: Ints,
    k: int,
    share: float,
    x: Floats,
    dx: Floats,
) -> None:
    """Fill dx with the rates of node temperatures [K/s], charge [1/s] and humidities [1/s].

    Coils and panes take water and keep none of it.
    """
    _load(pi, w, inputs, k, share, row)
    tau = plan.work_view(pi, w, W_TAU)
    n = np.uint64(tau.shape[0])
    wet = n + np.uint64(1)
    ext = plan.work_view(pi, w, W_EXT)
    for i in range(n):
        tau[i] = x[i] - ZERO_C
    ext[X_SOC] = x[n]
    air = plan.work_view(pi, w, W_WET)
    airs = np.uint64(plan.float_view(pi, pf, F_KG).shape[0])
    for i in range(airs):
        air[i] = x[wet + i]
    for i in range(airs + airs, np.uint64(air.shape[0]) - np.uint64(N_WATER)):
        air[i] = 0.0
    moisture.dew_points(pi, w, row[D_P])
    ports.open_ports(pi, pf, w)
    ports.run_circuit(pi, pf, w, 1.0)
    power.fill_power(pi, pf, w, row)
    moisture.step_moisture(pi, pf, w, row, MOISTURE_STEP_S)
    for i in range(airs):
        dx[wet + i] = (air[i] - x[wet + i]) / MOISTURE_STEP_S
    dx[n] = -plan.work_view(pi, w, W_Z)[Z_IPACK] / plan.float_view(pi, pf, F_PK)[CHARGE]
    tb = plan.work_view(pi, w, W_TB)
    col = plan.int_view(pi, I_TBCOL)
    for k in range(np.uint64(col.shape[0])):
        tb[k] = row[col[k]]
    heat.capacities(pi, pf, w, 0.0)
    heat.conductances(pi, w)
    heat.streams(pi, w)
    heat.sources(pi, pf, w, row)
    a = plan.work_view(pi, w, W_A)
    b = plan.work_view(pi, w, W_B)
    cap = plan.work_view(pi, w, W_CAP)
    for i in range(n):
        dx[i] = b[i]
    for s in range(np.uint64(slot_row.shape[0])):
        dx[slot_row[s]] -= a[s] * tau[slot_col[s]]
    for i in range(n):
        dx[i] /= cap[i]


@kernel_jit
def _given(
    pi: Ints, pf: Floats, w: Floats, inputs: Floats, row: Floats, dt: float, parts: int, high: bool, tau_out: Floats
) -> None:
    """March with flows and conductances given, `parts` steps to a line of `inputs`; keep tau after each line."""
    stages = 3 if high else 1
    for k in range(inputs.shape[0]):
        _load(pi, w, inputs, k, 0.0, row)
        for _ in range(parts):
            if high:
                march.keep_state(pi, w)
            for stage in range(stages):
                if stage == 1:
                    march.return_to_state(pi, w)
                h = dt if stage == 0 else 0.5 * dt
                ports.open_ports(pi, pf, w)
                ports.run_circuit(pi, pf, w, h)
                power.fill_power(pi, pf, w, row)
                moisture.step_moisture(pi, pf, w, row, h)
                heat.solve_heat(pi, pf, w, row, h)
                net = heat.account(pi, pf, w, row, h)
                heat.restore_temperatures(pi, pf, w)
                power.book_power(pi, pf, w, row, net, h)
            if high:
                march.combine(pi, w)
                heat.restore_temperatures(pi, pf, w)
        tau = plan.work_view(pi, w, W_TAU)
        for i in range(np.uint64(tau.shape[0])):
            tau_out[k, i] = tau[i]


def march_given(stretch: Stretch, record: Record, high: bool = False, parts: int = 1) -> Floats:
    """Return node temperatures [degC] at every step edge by the march's own step, with the record's flows.

    The march itself solves the flows again, and holds them until they have moved by a tolerance; a different
    step then holds them at different times, which would hide the error of the step itself.
    """
    p = stretch.program
    inputs = stacked(stretch, record)
    out = np.zeros((inputs.shape[0], stretch.section("tau").size))
    row = np.zeros(stretch.rows.shape[1])
    _given(p.pi, p.pf, stretch.w.copy(), inputs, row, stretch.dt_s / parts, parts, high, out)
    return out


def slot_places(stretch: Stretch) -> tuple[Ints, Ints]:
    """Return row and column of every entry of the matrix; entries that only elimination fills stay 0 in it."""
    get = stretch.section
    n, slots = int(get("dim")[0]), int(get("dim")[2])
    row, col = np.zeros(slots, np.uint32), np.zeros(slots, np.uint32)
    row[:n] = col[:n] = np.arange(n)
    couplings = [
        ("tr_rp", "tr_r", "tr_p"), ("tr_rq", "tr_r", "tr_q"), ("tr_sp", "tr_s", "tr_p"), ("tr_sq", "tr_s", "tr_q"),
        ("st_ab", "st_a", "st_b"), ("st_ba", "st_b", "st_a"),
    ]  # fmt: skip
    for slot, r, c in couplings:
        row[get(slot)], col[get(slot)] = get(r), get(c)
    wall = get("rp_wall")
    row[get("rp_slot")], col[get("rp_slot")] = np.repeat(wall, wall.size), np.tile(wall, wall.size)
    return row, col


class CompiledModel:
    """A stretch and its record as a function of time and state (`shape`: how inputs run between steps)."""

    def __init__(self, stretch: Stretch, record: Record, shape: str = "steps") -> None:
        self.stretch = stretch
        self.shape = shape
        self.calls = 0
        p = stretch.program
        inputs = stacked(stretch, record)
        row = np.zeros(stretch.rows.shape[1])
        self.fixed = (p.pi, p.pf, stretch.w.copy(), inputs, row, *slot_places(stretch))
        self.last = inputs.shape[0] - 1

    def rates(self, t_s: float, x: Floats, dx: Floats) -> None:
        """Fill dx at a time [s] after the stretch begins."""
        self.calls += 1
        k, share = line_at(t_s / self.stretch.dt_s, self.last, self.shape)
        derivative(*self.fixed, k, share, x, dx)

    def rates_in(self, k: int, t_s: float, x: Floats, dx: Floats) -> None:
        """Fill dx with the inputs of step k, whatever the time."""
        self.calls += 1
        derivative(*self.fixed, k, 0.0, x, dx)


def solve_cvode(model: CompiledModel, x0: Floats, rtol: float, atol: float, max_step_s: float) -> Floats:
    """Return the states at every step edge after the first, by CVODE (BDF, dense, difference Jacobian)."""
    from sksundae.cvode import CVODE

    edges = np.arange(model.last + 2) * model.stretch.dt_s
    solver = CVODE(model.rates, method="BDF", rtol=rtol, atol=atol, max_step=max_step_s, max_num_steps=100_000)
    return solver.solve(edges, x0).y[1:]


def solve_each_step(model: CompiledModel, x0: Floats, rtol: float, atol: float) -> Floats:
    """Return the same for inputs constant over a step, started afresh in each: no solver has to find the jumps."""
    from sksundae.cvode import CVODE

    out = np.zeros((model.last + 1, x0.size))
    x = x0
    for k in range(model.last + 1):
        solver = CVODE(partial(model.rates_in, k), method="BDF", rtol=rtol, atol=atol, max_num_steps=100_000)
        x = solver.solve(np.array([0.0, model.stretch.dt_s]), x).y[-1]
        out[k] = x
    return out
