"""Vapour-compression cycles through the tables, and the bounds every solved circuit must keep.

Sources: Cengel and Boles, "Thermodynamics", examples 11-1, 11-2, 11-4; Moran and Shapiro, "Fundamentals of
Engineering Thermodynamics", examples 10.1 to 10.3 (book numbers as found in published companion files of
their tables); the other cycles are state recipes evaluated with CoolProp 8.0.0; bounds are closed form.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from heatwright.compiler.tables import at_column, refrigerant_tables, run_tables, spline_cells
from heatwright.kernel import circuit_names as cn
from heatwright.kernel.circuit import solve_circuit
from heatwright.kernel.circuit_point import evaluate_point
from heatwright.kernel.status import CIRCUIT_RUNS
from heatwright.physics.refrigerant import (
    TAB_HIGH,
    TAB_LOW,
    gas_enthalpy,
    gas_temperature,
    saturated_side,
    saturation_temperature,
)

ZERO_C = 273.15
TON_KW = 3.5169  # kW in a ton of refrigeration: 12 000 BTU/h


@cache
def run_table(fluid: str, superheat_k: float = 0.0, subcooling_k: float = 0.0) -> np.ndarray:
    return run_tables(refrigerant_tables(fluid), superheat_k, subcooling_k)


def boiling(fluid: str, p_pa: float) -> float:
    return saturation_temperature(p_pa, 290.0, run_table(fluid))[0]


def pressure(fluid: str, t_k: float) -> float:
    tab = run_table(fluid)
    return float(np.exp(saturated_side(t_k, tab[TAB_LOW], tab)[0]))


def vapour(fluid: str, t_sat_k: float, superheat_k: float = 0.0) -> tuple[float, float, float]:
    """Return h, s and rho of vapour."""
    tab = run_table(fluid, superheat_k)
    _, _, h, _, ln_rho, _, s, _ = saturated_side(t_sat_k, tab[TAB_LOW], tab)
    return h, s, float(np.exp(ln_rho))


def liquid(fluid: str, t_sat_k: float, subcooling_k: float = 0.0) -> tuple[float, float]:
    """Return h and s of liquid."""
    tables = refrigerant_tables(fluid)
    tab = run_table(fluid, 0.0, subcooling_k)
    s = spline_cells(at_column(tables.subcooling_k, tables.s_subcooled_j_per_kg_k, subcooling_k))
    x = (t_sat_k - tables.t_saturation_k[0]) / (tables.t_saturation_k[1] - tables.t_saturation_k[0])
    cell = int(x)
    return saturated_side(t_sat_k, tab[TAB_HIGH], tab)[6], float(np.polyval(s[cell, ::-1], x - cell))


def compressed(fluid: str, t_cond_k: float, s: float) -> tuple[float, float]:
    """Return h and T at the condensing pressure and an entropy."""
    tab = run_table(fluid)
    _, _, h_v, dh_v, s_v, _, _, _ = saturated_side(t_cond_k, tab[TAB_HIGH], tab)
    h, _, t = gas_enthalpy(t_cond_k, s - s_v, h_v, dh_v, tab)
    return h, t


class Cycle:
    """One-stage cycle from two saturation temperatures."""

    def __init__(self, fluid: str, te: float, tc: float, sh: float = 0.0, sc: float = 0.0, eta: float = 1.0):
        self.h1, self.s1, self.rho1 = vapour(fluid, te, sh)
        h2s, t2s = compressed(fluid, tc, self.s1)
        self.h2 = self.h1 + (h2s - self.h1) / eta
        self.t2, self.s2 = (t2s, self.s1) if eta == 1.0 else gas_temperature(tc, self.h2, run_table(fluid))
        self.h3, self.s3 = liquid(fluid, tc, sc)
        h_l, s_l = liquid(fluid, te)
        self.s4 = s_l + (self.h3 - h_l) / te
        self.x4 = (self.h3 - h_l) / (vapour(fluid, te)[0] - h_l)
        self.q, self.w = self.h1 - self.h3, self.h2 - self.h1
        self.cop = self.q / self.w
        self.ratio = pressure(fluid, tc) / pressure(fluid, te)


@pytest.mark.parametrize(
    ("q_kw", "w_kw", "cop", "rel"),
    [
        pytest.param(7.18, 1.81, 3.97, 1e-2, id="VC-10-book"),
        pytest.param(7.184, 1.811, 3.9676, 5e-4, id="VC-10"),
    ],
)
def test_ideal_r134a_cycle(q_kw: float, w_kw: float, cop: float, rel: float) -> None:
    te, tc = boiling("R134a", 0.14e6), boiling("R134a", 0.8e6)
    cycle = Cycle("R134a", te, tc)
    assert 0.05 * cycle.q / 1e3 == pytest.approx(q_kw, rel=rel)
    assert 0.05 * cycle.w / 1e3 == pytest.approx(w_kw, rel=rel)
    assert cycle.cop == pytest.approx(cop, rel=rel)
    assert (te - ZERO_C, tc - ZERO_C) == pytest.approx((-18.76, 31.33), abs=0.01)
    assert cycle.t2 - ZERO_C == pytest.approx(38.98, abs=0.03)
    assert cycle.x4 == pytest.approx(0.3225, abs=2e-4)


@pytest.mark.parametrize(
    ("q_kw", "w_kw", "eta", "cop", "rel"),
    [
        pytest.param(7.93, 2.02, 0.939, 3.93, 1e-2, id="VC-11-book"),
        pytest.param(7.926, 2.017, 0.9374, 3.930, 1e-3, id="VC-11"),
    ],
)
def test_actual_r134a_cycle(q_kw: float, w_kw: float, eta: float, cop: float, rel: float) -> None:
    te, tc = boiling("R134a", 0.14e6), boiling("R134a", 0.8e6)
    h1, s1, _ = vapour("R134a", te, ZERO_C - 10.0 - te)
    h2 = vapour("R134a", tc, ZERO_C + 50.0 - tc)[0]
    h2s = compressed("R134a", tc, s1)[0]
    t_liquid = boiling("R134a", 0.72e6)
    h3 = liquid("R134a", t_liquid, t_liquid - ZERO_C - 26.0)[0]
    assert 0.05 * (h1 - h3) / 1e3 == pytest.approx(q_kw, rel=rel)
    assert 0.05 * (h2 - h1) / 1e3 == pytest.approx(w_kw, rel=rel)
    assert (h2s - h1) / (h2 - h1) == pytest.approx(eta, rel=rel)
    assert (h1 - h3) / (h2 - h1) == pytest.approx(cop, rel=rel)


@pytest.mark.parametrize(
    ("flash", "q", "w", "cop"),
    [
        pytest.param(0.2049, 146.3, 32.71, 4.47, id="VC-13-book"),
        pytest.param(0.20492, 146.28, 32.686, 4.4753, id="VC-13"),
    ],
)
def test_two_stages_with_flash_chamber(flash: float, q: float, w: float, cop: float) -> None:
    te, tm, tc = (boiling("R134a", p) for p in (0.14e6, 0.32e6, 0.8e6))
    h_l, h_v = liquid("R134a", tm)[0], vapour("R134a", tm)[0]
    share = (liquid("R134a", tc)[0] - h_l) / (h_v - h_l)
    h1, s1, _ = vapour("R134a", te)
    h2 = compressed("R134a", tm, s1)[0]
    h9 = share * h_v + (1.0 - share) * h2
    h4 = compressed("R134a", tc, gas_temperature(tm, h9, run_table("R134a"))[1])[0]
    cooling = (1.0 - share) * (h1 - h_l)
    work = (1.0 - share) * (h2 - h1) + h4 - h9
    assert share == pytest.approx(flash, rel=5e-3)
    assert cooling / 1e3 == pytest.approx(q, rel=5e-3)
    assert work / 1e3 == pytest.approx(w, rel=5e-3)
    assert cooling / work == pytest.approx(cop, rel=5e-3)


@pytest.mark.parametrize(
    ("te_c", "p_high_mpa", "tc_c", "w_kw", "tons", "cop", "rel"),
    [
        pytest.param(0.0, None, 26.0, 1.40, 3.67, 9.24, 1e-2, id="VC-14-book"),
        pytest.param(0.0, None, 26.0, 1.409, 3.699, 9.236, 1e-3, id="VC-14"),
        pytest.param(-10.0, 0.9, None, 2.48, 3.23, 4.57, 1e-2, id="VC-15-book"),
        pytest.param(-10.0, 0.9, None, 2.498, 3.250, 4.575, 1e-3, id="VC-15"),
    ],
)
def test_ideal_cycles_between_given_states(
    te_c: float,
    p_high_mpa: float | None,
    tc_c: float | None,
    w_kw: float,
    tons: float,
    cop: float,
    rel: float,
) -> None:
    tc = boiling("R134a", p_high_mpa * 1e6) if p_high_mpa else tc_c + ZERO_C
    cycle = Cycle("R134a", te_c + ZERO_C, tc)
    assert 0.08 * cycle.w / 1e3 == pytest.approx(w_kw, rel=rel)
    assert 0.08 * cycle.q / 1e3 / TON_KW == pytest.approx(tons, rel=rel)
    assert cycle.cop == pytest.approx(cop, rel=rel)


@pytest.mark.parametrize(
    ("w_kw", "tons", "cop", "compressor_kw", "valve_kw", "rel"),
    [
        pytest.param(3.10, 3.41, 3.86, 0.58, 0.39, 1e-2, id="VC-16-book"),
        pytest.param(3.123, 3.434, 3.867, 0.5868, 0.3887, 1e-3, id="VC-16"),
    ],
)
def test_irreversible_compressor_and_subcooled_liquid(
    w_kw: float, tons: float, cop: float, compressor_kw: float, valve_kw: float, rel: float
) -> None:
    """As in the book, the liquid counts as saturated at its 30 degC (0.1 % of the enthalpy difference)."""
    te, tc = ZERO_C - 10.0, boiling("R134a", 0.9e6)
    cycle = Cycle("R134a", te, tc, eta=0.80)
    h3, s3 = liquid("R134a", ZERO_C + 30.0)
    h_l, s_l = liquid("R134a", te)
    q, s4 = cycle.h1 - h3, s_l + (h3 - h_l) / te
    assert 0.08 * cycle.w / 1e3 == pytest.approx(w_kw, rel=rel)
    assert 0.08 * q / 1e3 / TON_KW == pytest.approx(tons, rel=rel)
    assert q / cycle.w == pytest.approx(cop, rel=rel)
    destroyed = 0.08 * 299.0 * (cycle.s2 - cycle.s1) / 1e3, 0.08 * 299.0 * (s4 - s3) / 1e3
    assert destroyed == pytest.approx((compressor_kw, valve_kw), rel=3.0 * rel)


@pytest.mark.parametrize(
    ("fluid", "ratio", "q", "cop"),
    [
        pytest.param("R134a", 4.70, 147.9, 4.605, id="VC-20-R134a"),
        pytest.param("R290", 3.70, 279.1, 4.554, id="VC-20-R290"),
        pytest.param("R1234yf", 4.27, 112.9, 4.369, id="VC-20-R1234yf"),
    ],
)
def test_standard_comparison_cycle(fluid: str, ratio: float, q: float, cop: float) -> None:
    """-15 and 30 degC, saturated: conditions of the ASHRAE Fundamentals comparison of refrigerants."""
    cycle = Cycle(fluid, 258.15, 303.15)
    assert cycle.ratio == pytest.approx(ratio, abs=0.006)
    assert cycle.q / 1e3 == pytest.approx(q, rel=3e-3)
    assert cycle.cop == pytest.approx(cop, rel=3e-3)


@pytest.mark.parametrize(
    ("fluid", "cop", "t2_c", "volumetric", "second_law"),
    [
        pytest.param("R134a", 5.4942, 44.49, 2051.6, 0.805, id="VC-21-VC-42-R134a"),
        pytest.param("R1234yf", 5.2007, 40.0, 1912.2, 0.762, id="VC-21-VC-42-R1234yf"),
        pytest.param("R290", 5.3992, 44.57, 2771.0, 0.791, id="VC-21-VC-42-R290"),
    ],
)
def test_ideal_cycle_0_40(fluid: str, cop: float, t2_c: float, volumetric: float, second_law: float) -> None:
    cycle = Cycle(fluid, 273.15, 313.15)
    assert cycle.cop == pytest.approx(cop, rel=2e-3)
    assert cycle.t2 - ZERO_C == pytest.approx(t2_c, abs=0.05)
    assert cycle.q * cycle.rho1 / 1e3 == pytest.approx(volumetric, rel=2e-3)
    assert cycle.cop / (273.15 / 40.0) == pytest.approx(second_law, rel=5e-3)


@pytest.mark.parametrize("quality", [pytest.param(0.976, id="VC-21-wet-discharge")])
def test_wet_discharge_of_r1234yf(quality: float) -> None:
    cycle = Cycle("R1234yf", 273.15, 313.15)
    h_l, h_v = liquid("R1234yf", 313.15)[0], vapour("R1234yf", 313.15)[0]
    assert (cycle.h2 - h_l) / (h_v - h_l) == pytest.approx(quality, abs=5e-4)


@pytest.mark.parametrize(
    ("fluid", "q", "w", "cop", "t2_c", "rho"),
    [
        pytest.param("R134a", 146.72, 41.617, 3.5255, 74.97, 16.283, id="VC-22-R134a"),
        pytest.param("R1234yf", 113.79, 33.559, 3.3908, 64.45, 19.685, id="VC-22-R1234yf"),
        pytest.param("R290", 276.58, 80.000, 3.4573, 74.09, 11.361, id="VC-22-R290"),
    ],
)
def test_air_conditioning_point(fluid: str, q: float, w: float, cop: float, t2_c: float, rho: float) -> None:
    cycle = Cycle(fluid, 278.15, 323.15, sh=10.0, sc=5.0, eta=0.70)
    assert (cycle.q / 1e3, cycle.w / 1e3) == pytest.approx((q, w), rel=3e-3)
    assert cycle.cop == pytest.approx(cop, rel=3e-3)
    assert cycle.t2 - ZERO_C == pytest.approx(t2_c, abs=0.05)
    assert cycle.rho1 == pytest.approx(rho, rel=3e-3)


@pytest.mark.parametrize(
    ("fluid", "cop", "t2_c", "ratio"),
    [
        pytest.param("R134a", 3.430, 75.0, 5.78, id="VC-23-R134a"),
        pytest.param("R1234yf", 3.295, 60.2, 5.20, id="VC-23-R1234yf"),
        pytest.param("R290", 3.392, 73.7, 4.44, id="VC-23-R290"),
    ],
)
def test_heat_pump_point(fluid: str, cop: float, t2_c: float, ratio: float) -> None:
    cycle = Cycle(fluid, 263.15, 318.15, sh=5.0, sc=5.0, eta=0.65)
    assert cycle.cop + 1.0 == pytest.approx(cop, rel=3e-3)
    assert cycle.t2 - ZERO_C == pytest.approx(t2_c, abs=0.1)
    assert cycle.ratio == pytest.approx(ratio, abs=0.006)


@pytest.mark.parametrize(
    ("with_exchanger", "without", "t_suction_c", "t_liquid_c", "t2_c"),
    [pytest.param(4.7019, 4.3781, 27.73, 35.53, 67.6, id="VC-25")],
)
def test_internal_exchanger(
    with_exchanger: float, without: float, t_suction_c: float, t_liquid_c: float, t2_c: float
) -> None:
    """R1234yf, 5 and 50 degC saturated, effectiveness 0.5 on the vapour's greatest enthalpy rise."""
    te, tc = 278.15, 323.15
    plain = Cycle("R1234yf", te, tc)
    most = vapour("R1234yf", te, tc - te)[0] - plain.h1
    assert most / 1e3 == pytest.approx(43.114, rel=1e-3)
    h1, h3 = plain.h1 + 0.5 * most, plain.h3 - 0.5 * most
    t1, s1 = gas_temperature(te, h1, run_table("R1234yf"))
    h2, t2 = compressed("R1234yf", tc, s1)
    assert plain.cop == pytest.approx(without, rel=3e-3)
    assert (plain.h1 - h3) / (h2 - h1) == pytest.approx(with_exchanger, rel=3e-3)
    assert t1 - ZERO_C == pytest.approx(t_suction_c, abs=0.02)
    assert t2 - ZERO_C == pytest.approx(t2_c, abs=0.1)
    assert liquid("R1234yf", tc, tc - ZERO_C - t_liquid_c)[0] == pytest.approx(h3, abs=20.0)


@pytest.mark.parametrize(
    ("t_liquid_c", "cop"),
    [
        pytest.param(t, cop, id=f"VC-45-{t}")
        for t, cop in zip((50, 40, 30, 20, 10), (4.715, 5.269, 5.800, 6.315, 6.816), strict=True)
    ],
)
def test_saturation_form_of_carnot_is_no_bound(t_liquid_c: int, cop: float) -> None:
    """R134a 5/50 degC: the last two exceed 278.15 / 45 = 6.181 legitimately."""
    cycle = Cycle("R134a", 278.15, 323.15, sc=50.0 - t_liquid_c)
    assert cycle.cop == pytest.approx(cop, rel=3e-3)
    assert (cycle.cop > 278.15 / 45.0) == (t_liquid_c <= 20)


# ---- bounds of the solved circuit


def solved(fluid: str, t_wall: list[float], hot: list[float], cold: list[float], speed_hz: float) -> tuple:
    n = len(t_wall)
    q, dq, out, u = np.zeros(n), np.zeros(n * n), np.zeros(cn.OUT_SIZE), np.zeros(cn.U_SIZE)
    status = solve_circuit(
        speed_hz,
        n,
        np.array(t_wall),
        np.array(hot),
        np.array(cold),
        cn.circuit_parameters(),
        run_table(fluid, 5.0, 8.0),
        u,
        q,
        dq,
        out,
        np.zeros(cn.work_size(n)),
    )
    assert status == CIRCUIT_RUNS
    return q, out


CIRCUITS = [
    (fluid, source, sink, speed)
    for fluid in ("R1234yf", "R134a", "R290")
    for source, sink in ((278.15, 318.15), (258.15, 313.15), (273.15, 303.15))
    for speed in (20.0, 60.0)
]


@pytest.mark.parametrize(
    ("source_c", "sink_c", "cooling", "heating"),
    [
        pytest.param(5.0, 50.0, 6.181, 7.181, id="VC-40-5-50"),
        pytest.param(-20.0, 45.0, 3.895, 4.895, id="VC-40-minus20-45"),
    ],
)
def test_carnot_on_stream_inlets(source_c: float, sink_c: float, cooling: float, heating: float) -> None:
    """Source and sink: the exchangers' walls, warmer and colder than any refrigerant on their side."""
    source, sink = source_c + ZERO_C, sink_c + ZERO_C
    assert source / (sink - source) == pytest.approx(cooling, rel=1e-3)
    assert sink / (sink - source) == pytest.approx(heating, rel=1e-3)
    for speed in (15.0, 50.0):
        q, out = solved("R134a", [source, sink], [0.0, 3000.0], [3000.0, 0.0], speed)
        power = out[cn.OUT_P_SHAFT]
        assert 0.3 * cooling < -q[0] / power < cooling
        assert 0.3 * heating < q[1] / power < heating


@pytest.mark.parametrize(("fluid", "source", "sink", "speed"), [pytest.param(*c, id="VC-41") for c in CIRCUITS])
def test_first_law_of_the_loop(fluid: str, source: float, sink: float, speed: float) -> None:
    """Condenser = evaporator + chiller + gas power; the coefficients differ by exactly 1 in gas power."""
    q, out = solved(fluid, [source, source + 3.0, sink], [0, 0, 500.0], [300.0, 150.0, 0], speed)
    assert q[2] + q[0] + q[1] == pytest.approx(out[cn.OUT_P_GAS], abs=0.05)
    assert q[2] + q[0] + q[1] == pytest.approx(out[cn.OUT_P_DIFFERENCE], rel=1e-12)
    assert q[2] / out[cn.OUT_P_DIFFERENCE] + (q[0] + q[1]) / out[cn.OUT_P_DIFFERENCE] == pytest.approx(1.0)
    assert out[cn.OUT_P_ELECTRIC] == pytest.approx(out[cn.OUT_P_GAS] + out[cn.OUT_P_SHELL], rel=1e-12)
    assert out[cn.OUT_MDOT] * (out[cn.OUT_H2] - out[cn.OUT_H1]) == pytest.approx(out[cn.OUT_P_GAS], rel=1e-9)


@pytest.mark.parametrize(("fluid", "source", "sink", "speed"), [pytest.param(*c, id="VC-43") for c in CIRCUITS])
def test_every_component_makes_entropy(fluid: str, source: float, sink: float, speed: float) -> None:
    q, out = solved(fluid, [source, sink], [0, 600.0], [400.0, 0], speed)
    te, tc, m = out[cn.OUT_T_EVAP], out[cn.OUT_T_COND], out[cn.OUT_MDOT]
    s1 = vapour(fluid, te, 5.0)[1]
    t2, s2 = gas_temperature(tc, out[cn.OUT_H2], run_table(fluid))
    s3 = liquid(fluid, tc, 8.0)[1]
    h_l, s_l = liquid(fluid, te)
    s4 = s_l + (out[cn.OUT_H3] - h_l) / te
    assert t2 == pytest.approx(out[cn.OUT_T_DISCHARGE], abs=1e-3)
    assert s2 > s1
    assert s4 > s3
    assert q[1] / sink > m * (s2 - s3)  # condenser
    assert m * (s1 - s4) > -q[0] / source  # evaporator


def test_a_cold_day_point() -> None:
    """R1234yf, 34 cm3, 4000 rpm, -19/48 degC, 3 K and 10 K: an independent calculation with CoolProp.

    Heat 2.66 kW from the shaft alone and 2.71 kW with the gas's share of the drive's loss; discharge 66 degC.
    """
    point = np.zeros(cn.POINT_SIZE)
    tab = run_table("R1234yf", 3.0, 10.0)
    evaluate_point(254.15, 321.15, 4000.0 / 60.0, cn.circuit_parameters(), tab, point)
    m, span = point[cn.AT_M], point[cn.AT_H1] - point[cn.AT_H3]
    assert m == pytest.approx(16.5e-3, rel=0.01)
    assert point[cn.AT_ELECTRIC] == pytest.approx(1060.0, rel=0.01)
    assert m * span + point[cn.AT_P] == pytest.approx(2660.0, rel=0.01)
    assert m * span + point[cn.AT_GAS] == pytest.approx(2710.0, rel=0.01)
    h2 = point[cn.AT_H1] + point[cn.AT_P] / m
    assert gas_temperature(321.15, h2, tab)[0] - ZERO_C == pytest.approx(66.0, abs=0.7)
