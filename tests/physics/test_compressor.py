"""Compressor efficiencies, mass flow and power.

Sources: row VC-30 is closed form (m = rho V n eta_v); the efficiency forms are common practice, their numbers
values from memory; flows and powers are checked against the equation of state (CoolProp) worked out here.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from heatwright.compiler.tables import refrigerant_tables, run_tables
from heatwright.kernel import circuit_names as cn
from heatwright.kernel.circuit_point import evaluate_point
from heatwright.physics.compressor import gas_power, isentropic_efficiency, volumetric_efficiency
from heatwright.physics.refrigerant import TAB_LOW, saturated_side, saturation_temperature


@pytest.mark.parametrize("expected", [pytest.param(0.029526, id="VC-30")])
def test_mass_flow_of_a_displacement(expected: float) -> None:
    """R134a, 5 degC evaporating and 10 K superheat, 34 cm3, 4000 rpm, eta_v 0.80."""
    tab = run_tables(refrigerant_tables("R134a"), 10.0, 5.0)
    point = np.zeros(cn.POINT_SIZE)
    par = cn.circuit_parameters(volumetric=(0.80, 0.0, 0.0, 1e9, 0.0))
    evaluate_point(278.15, 323.15, 4000.0 / 60.0, par, tab, point)
    assert point[cn.AT_M] == pytest.approx(expected, rel=2e-3)
    rho = math.exp(saturated_side(278.15, tab[TAB_LOW], tab)[4])
    assert point[cn.AT_M] == pytest.approx(rho * 34e-6 * 4000.0 / 60.0 * 0.80, rel=1e-12)


@pytest.mark.parametrize(
    ("ratio", "rpm", "fill", "eta"),
    [(3, 4000, 0.93, 0.74), (5.4, 4000, 0.88, 0.70), (8, 4000, 0.82, 0.63), (8, 8000, 0.83, 0.54)],
)
def test_efficiencies_land_in_the_usual_bands(ratio: float, rpm: float, fill: float, eta: float) -> None:
    assert volumetric_efficiency(ratio, rpm / 60.0)[0] == pytest.approx(fill, abs=0.011)
    assert isentropic_efficiency(ratio, rpm / 60.0)[0] == pytest.approx(eta, abs=0.011)


@pytest.mark.parametrize("speed_hz", [15.0, 60.0, 140.0])
@pytest.mark.parametrize("ratio", [1.2, 2.9, 3.1, 8.0, 13.0])
def test_slopes_in_the_ratio(ratio: float, speed_hz: float) -> None:
    step = 1e-6
    for efficiency in (volumetric_efficiency, isentropic_efficiency):
        slope = (efficiency(ratio + step, speed_hz)[0] - efficiency(ratio - step, speed_hz)[0]) / (2.0 * step)
        assert efficiency(ratio, speed_hz)[1] == pytest.approx(slope, rel=1e-5, abs=1e-8)


def test_floors_hold() -> None:
    assert volumetric_efficiency(60.0, 10.0) == (0.25, 0.0)
    assert isentropic_efficiency(60.0, 10.0) == (0.35, 0.0)


def test_isentropic_efficiency_is_smooth_at_its_best_ratio() -> None:
    below, above = isentropic_efficiency(3.0 - 1e-9, 66.7), isentropic_efficiency(3.0 + 1e-9, 66.7)
    assert below[0] == pytest.approx(above[0], abs=1e-12)
    assert below[1] == pytest.approx(above[1], abs=1e-8)


@pytest.mark.parametrize("p_shaft_w", [0.0, 50.0, 700.0, 4000.0])
def test_drive_loss_is_split_without_a_rest(p_shaft_w: float) -> None:
    gas, slope, electric = gas_power(p_shaft_w)
    loss = electric - p_shaft_w
    assert gas == pytest.approx(p_shaft_w + 0.7 * loss)
    assert electric * (0.93 - 0.05 * math.exp(-p_shaft_w / 500.0)) == pytest.approx(p_shaft_w)
    near = gas_power(p_shaft_w + 1e-3)[0]
    assert slope == pytest.approx((near - gas) / 1e-3, rel=1e-5)


@pytest.mark.parametrize("fluid", ["R1234yf", "R134a", "R290"])
@pytest.mark.parametrize(("t_evap_k", "t_cond_k"), [(248.15, 328.15), (263.15, 298.15), (283.15, 348.15)])
def test_compression_against_the_equation_of_state(fluid: str, t_evap_k: float, t_cond_k: float) -> None:
    """Mass flow and shaft power worked out with CoolProp state by state."""
    import CoolProp.CoolProp as coolprop

    speed_hz = 75.0
    state = coolprop.AbstractState("HEOS", fluid)
    state.update(coolprop.QT_INPUTS, 1.0, t_cond_k)
    p_high = state.p()
    state.update(coolprop.QT_INPUTS, 1.0, t_evap_k)
    p_low = state.p()
    state.update(coolprop.PT_INPUTS, p_low, t_evap_k + 5.0)
    rho1, h1, s1 = state.rhomass(), state.hmass(), state.smass()
    state.update(coolprop.PSmass_INPUTS, p_high, s1)
    ratio = p_high / p_low
    m = 34e-6 * speed_hz * rho1 * volumetric_efficiency(ratio, speed_hz)[0]
    p_shaft = m * (state.hmass() - h1) / isentropic_efficiency(ratio, speed_hz)[0]

    point = np.zeros(cn.POINT_SIZE)
    tab = run_tables(refrigerant_tables(fluid), 5.0, 8.0)
    evaluate_point(t_evap_k, t_cond_k, speed_hz, cn.circuit_parameters(), tab, point)
    assert point[cn.AT_M] == pytest.approx(m, rel=1e-6)
    assert point[cn.AT_P] == pytest.approx(p_shaft, rel=1e-5)


@pytest.mark.parametrize(
    ("low_bar", "high_bar", "rpm", "kw"),
    [(2, 12, 6000, 1.7), (2, 12, 8500, 2.8), (3, 15, 6000, 2.2), (4, 18, 6000, 2.7)],
)
def test_hot_gas_power(low_bar: float, high_bar: float, rpm: float, kw: float) -> None:
    """R1234yf, 34 cm3, all power as heat: an independent calculation with the equation of state."""
    tab = run_tables(refrigerant_tables("R1234yf"), 5.0, 8.0)
    te, _ = saturation_temperature(low_bar * 1e5, 270.0, tab)
    tc, _ = saturation_temperature(high_bar * 1e5, 320.0, tab)
    point = np.zeros(cn.POINT_SIZE)
    evaluate_point(te, tc, rpm / 60.0, cn.circuit_parameters(), tab, point)
    assert point[cn.AT_GAS] / 1e3 == pytest.approx(kw, rel=0.05)
