"""Carbon dioxide: published anchors and cycles, the law of the best pressure, the tables against the equation of state.

Source of the rows: the equation of state of Span and Wagner, evaluated with CoolProp 8.0.0; VC-20 is the condition of
the ASHRAE Fundamentals comparison of refrigerants; the fitted best pressures are those of Liao et al. (2000) and Sarkar
et al. (2004), values from memory.
"""

from __future__ import annotations

import math
from typing import Any

import CoolProp.CoolProp as coolprop
import numpy as np
import pytest

from heatwright.compiler import carbon_dioxide as co2
from heatwright.compiler.tables import refrigerant_tables, run_tables
from heatwright.physics.refrigerant import (
    TAB_HIGH,
    TAB_LOW,
    TAB_T_LOW_MAX,
    TAB_T_MAX,
    TAB_T_MIN,
    gas_enthalpy,
    gas_temperature,
    high_isobar,
    saturated_side,
)

ZERO_C = 273.15


@pytest.fixture(scope="module")
def state() -> Any:
    return coolprop.AbstractState("HEOS", "R744")


@pytest.fixture(scope="module")
def tab() -> np.ndarray:
    return run_tables(refrigerant_tables("R744"), 3.0, 8.0)


@pytest.fixture(scope="module")
def reference(state: Any) -> tuple[float, float]:
    state.update(coolprop.QT_INPUTS, 0.0, ZERO_C)
    return state.hmass() - 200e3, state.smass() - 1000.0


@pytest.mark.parametrize(
    ("t_c", "p_bar"),
    [
        pytest.param(t, p, id=f"VC-04 {t} degC")
        for t, p in ((-30, 14.2776), (-20, 19.6963), (-10, 26.4868), (0, 34.8514), (20, 57.2905), (25, 64.3424))
    ],
)
def test_saturation_pressure(tab: np.ndarray, t_c: float, p_bar: float) -> None:
    assert math.exp(saturated_side(t_c + ZERO_C, tab[TAB_LOW], tab)[0]) / 1e5 == pytest.approx(p_bar, rel=1e-3)


@pytest.mark.parametrize("row", [pytest.param("R744", id="VC-05-R744")])
def test_critical_point(row: str) -> None:
    tables = refrigerant_tables(row)
    assert tables.t_critical_k - ZERO_C == pytest.approx(30.978, abs=0.1)
    assert tables.p_critical_pa / 1e5 == pytest.approx(73.773, rel=2e-3)


@pytest.mark.parametrize("row", [pytest.param("R744", id="VC-06-R744")])
def test_latent_heat_at_zero(row: str) -> None:
    tables = refrigerant_tables(row)
    latent = np.interp(ZERO_C, tables.t_saturation_k, tables.h_vapour_j_per_kg - tables.h_liquid_j_per_kg)
    assert latent / 1e3 == pytest.approx(230.89, rel=3e-3)
    assert np.interp(ZERO_C, tables.t_saturation_k, tables.h_liquid_j_per_kg) == pytest.approx(200e3, abs=20.0)


@pytest.mark.parametrize("row", [pytest.param("R744", id="VC-20-R744")])
def test_standard_comparison_cycle(state: Any, row: str) -> None:
    """-15 and 30 degC, saturated: the outlet a thousandth of a kelvin on the liquid's side."""
    low, high = (_saturation(state, t) for t in (258.15, 303.15))
    assert high / low == pytest.approx(3.15, abs=0.006)
    cop = co2.performance(coolprop, state, high, low, 303.149, 258.15, 0.0, 1.0)
    assert cop == pytest.approx(2.688, rel=3e-3)


def _saturation(state: Any, t_k: float) -> float:
    state.update(coolprop.QT_INPUTS, 0.0, t_k)
    return float(state.p())


@pytest.mark.parametrize(
    ("eta", "cop"), [pytest.param(1.0, 3.5129, id="VC-26 ideal"), pytest.param(0.75, 2.6347, id="VC-26 at 0.75")]
)
def test_best_pressure(state: Any, eta: float, cop: float) -> None:
    """0 degC evaporating, 35 degC at the outlet; fitted: 87.89 bar (Liao et al.), 86.31 bar (Sarkar et al.)."""
    best = co2.best_pressure(coolprop, state, 308.15, 273.15, 0.0, eta)
    assert best / 1e5 == pytest.approx(87.94, abs=0.3)
    assert best / 1e5 == pytest.approx(87.89, abs=1.0)
    assert best / 1e5 == pytest.approx(86.31, abs=2.0)
    found = co2.performance(coolprop, state, best, _saturation(state, 273.15), 308.15, 273.15, 0.0, eta)
    assert found == pytest.approx(cop, rel=3e-3)


@pytest.mark.parametrize(
    ("p_bar", "cop"),
    [
        pytest.param(82.94, 3.3485, id="VC-28 5 bar low"),
        pytest.param(97.94, 3.3756, id="VC-28 10 bar high"),
        pytest.param(80.0, 2.4187, id="VC-28 80 bar"),
    ],
)
def test_wrong_pressure_costs(state: Any, p_bar: float, cop: float) -> None:
    found = co2.performance(coolprop, state, p_bar * 1e5, _saturation(state, 273.15), 308.15, 273.15, 0.0, 1.0)
    assert found == pytest.approx(cop, rel=5e-3)


@pytest.mark.parametrize(
    ("t_evap_c", "t_out_c", "ideal", "at_seven"),
    [
        pytest.param(-20.0, 20.0, 3.809, 2.967, id="VC-29 -20/20"),
        pytest.param(-20.0, 30.0, 3.346, 2.642, id="VC-29 -20/30"),
        pytest.param(-10.0, 25.0, 4.378, 3.365, id="VC-29 -10/25"),
    ],
)
def test_heating(state: Any, t_evap_c: float, t_out_c: float, ideal: float, at_seven: float) -> None:
    """90 bar, heating."""
    te = t_evap_c + ZERO_C
    low = _saturation(state, te)
    for eta, cop in ((1.0, ideal), (0.7, at_seven)):
        found = co2.performance(coolprop, state, 90e5, low, t_out_c + ZERO_C, te, 0.0, eta)
        assert found + 1.0 == pytest.approx(cop, rel=3e-3)


@pytest.mark.parametrize(
    ("eta", "cop"), [pytest.param(1.0, 3.5129, id="VC-26 tables"), pytest.param(0.75, 2.6347, id="VC-26 tables, 0.75")]
)
def test_cycle_through_the_tables(eta: float, cop: float) -> None:
    """0 and 35 degC as the kernel has it: its pressure is the best at -10 degC evaporating, which costs little here."""
    tab = run_tables(refrigerant_tables("R744"), 0.0, 0.0)
    _, _, h1, _, _, _, s1, _ = saturated_side(273.15, tab[TAB_LOW], tab)
    _, _, h_v, dh_v, s_v, _, h3, _ = saturated_side(308.15, tab[TAB_HIGH], tab)
    work = (gas_enthalpy(308.15, s1 - s_v, h_v, dh_v, tab)[0] - h1) / eta
    assert (h1 - h3) / work == pytest.approx(cop, rel=3e-3)
    assert (h1 - h3) / work < cop * 1.0005


# ---- the law


def test_pressure_rises_and_keeps_below_the_cap(tab: np.ndarray) -> None:
    """With it the outlet's enthalpy rises, so that the gas cooler's balance has one solution."""
    t_k = np.arange(tab[TAB_T_MIN], tab[TAB_T_MAX], 0.05)
    rows = np.array([saturated_side(t, tab[TAB_HIGH], tab) for t in t_k])
    assert np.all(rows[:, 1] > -1e-6)
    assert np.all(rows[t_k < 318.0, 1] > 1e-3)
    assert np.exp(rows[:, 0].max()) < co2.CAP_PA
    assert rows[:, 7].min() > 1500.0
    discharge = saturated_side(tab[TAB_T_LOW_MAX], tab[TAB_LOW], tab)[6]
    assert np.all(rows[t_k > 295.0, 4] < discharge)


def test_cold_outlets_are_subcooled_by_a_little(state: Any, tab: np.ndarray) -> None:
    for t in np.arange(233.15, 296.0, 4.0):
        p = math.exp(saturated_side(t, tab[TAB_HIGH], tab)[0])
        assert p == pytest.approx(_saturation(state, t + co2.SUBCOOLED_K), rel=5e-3)


@pytest.mark.parametrize("t_evap_c", [-30.0, -20.0, -10.0, 0.0, 10.0])
def test_what_the_law_loses(state: Any, tab: np.ndarray, t_evap_c: float) -> None:
    """Coefficient of performance at the law's pressure against the best one of that evaporating temperature."""
    te = t_evap_c + ZERO_C
    low = _saturation(state, te)
    for t in (303.15, 308.15, 313.15):
        best = co2.best_pressure(coolprop, state, t, te)
        p = math.exp(saturated_side(t, tab[TAB_HIGH], tab)[0])
        found, most = (co2.performance(coolprop, state, x, low, t, te, co2.SUPERHEAT_K) for x in (p, best))
        assert most * (0.985 if t_evap_c > 5.0 else 0.998) < found <= most * (1.0 + 1e-6)


# ---- the tables against the equation of state, between the knots


def test_high_side_between_the_knots(state: Any, tab: np.ndarray, reference: tuple[float, float]) -> None:
    """Differences of the outlet's enthalpy, the gas's enthalpy [J/kg] and its temperature [K]."""
    worst = np.zeros(3)
    for t in np.arange(226.0, 331.0, 1.13):
        ln_p, _, h_v, dh_v, s_v, _, h3, _ = saturated_side(t, tab[TAB_HIGH], tab)
        p = math.exp(ln_p)
        state.update(coolprop.PT_INPUTS, p, t)
        worst[0] = max(worst[0], abs(state.hmass() - reference[0] - h3))
        for ds in (40.0, 111.0, 250.0, 400.0):
            state.update(coolprop.PSmass_INPUTS, p, s_v + ds + reference[1])
            h = gas_enthalpy(t, ds, h_v, dh_v, tab)[0]
            worst[1] = max(worst[1], abs(state.hmass() - reference[0] - h))
            worst[2] = max(worst[2], abs(gas_temperature(t, h, tab)[0] - state.T()))
    assert worst[0] < 2.0
    assert worst[1] < 2.0
    assert worst[2] < 0.01


def test_low_side_between_the_knots(state: Any, tab: np.ndarray, reference: tuple[float, float]) -> None:
    for t in np.arange(226.0, tab[TAB_T_LOW_MAX], 1.13):
        ln_p, _, h1, _, ln_rho, _, s1, _ = saturated_side(t, tab[TAB_LOW], tab)
        p = _saturation(state, t)
        assert math.exp(ln_p) == pytest.approx(p, rel=1e-7)
        state.update(coolprop.PT_INPUTS, p, t + 3.0)
        assert h1 == pytest.approx(state.hmass() - reference[0], abs=0.5)
        assert s1 == pytest.approx(state.smass() - reference[1], abs=2e-3)
        assert math.exp(ln_rho) == pytest.approx(state.rhomass(), rel=1e-6)


def test_slopes_against_differences(tab: np.ndarray) -> None:
    for t in np.arange(230.0, 330.0, 3.7):
        row, ahead, back = (saturated_side(x, tab[TAB_HIGH], tab) for x in (t, t + 1e-4, t - 1e-4))
        for k in range(0, 8, 2):
            assert row[k + 1] == pytest.approx((ahead[k] - back[k]) / 2e-4, rel=1e-4, abs=1e-3)


@pytest.mark.parametrize("t_out_c", [-10.0, 15.0, 25.0, 31.0, 36.0, 42.0])
def test_isobar_of_the_gas_cooler(state: Any, tab: np.ndarray, reference: tuple[float, float], t_out_c: float) -> None:
    """Pieces of a line against the equation of state: at most 0.7 K apart on the mean, 2.2 K anywhere."""
    t = t_out_c + ZERO_C
    p = math.exp(saturated_side(t, tab[TAB_HIGH], tab)[0])
    state.update(coolprop.PT_INPUTS, p, 393.15)
    h2 = state.hmass() - reference[0]
    line = np.zeros(24)
    n = high_isobar(t, h2, 393.15, tab, line, 0)
    assert n == 9
    nodes, t_k = line[: n + 1], line[n + 1 : 2 * n + 2]
    assert np.all(np.diff(nodes) > 0.0)
    assert np.all(np.diff(t_k) > -1e-3)
    apart = []
    for h in np.linspace(nodes[0], nodes[-1], 60):
        state.update(coolprop.HmassP_INPUTS, h + reference[0], p)
        apart.append(float(np.interp(h, nodes, t_k)) - state.T())
    assert abs(np.mean(apart)) < 0.7
    assert np.max(np.abs(apart)) < 2.2
