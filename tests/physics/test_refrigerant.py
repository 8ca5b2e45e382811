"""Refrigerant tables against published saturation data and against the equation of state between the knots.

Source of the rows: equations of state of Tillner-Roth and Baehr (R134a), Lemmon et al. (R290) and CoolProp's
default (R1234yf), evaluated with CoolProp 8.0.0; reference state of the International Institute of
Refrigeration.
"""

from __future__ import annotations

import os
import subprocess
import sys
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from heatwright.compiler import tables as tb
from heatwright.physics.refrigerant import (
    TAB_HIGH,
    TAB_LOW,
    TAB_T_MAX,
    TAB_T_MIN,
    gas_enthalpy,
    gas_temperature,
    saturated_side,
    saturation_temperature,
)

ZERO_C = 273.15
SUBCRITICAL = tuple(fluid for fluid in tb.FLUIDS if fluid != "R744")  # that one: test_carbon_dioxide.py
T_ROWS = (-30.0, -20.0, -10.0, 0.0, 20.0, 25.0, 40.0, 60.0)


@cache
def run_table(fluid: str, superheat_k: float = 0.0, subcooling_k: float = 0.0) -> np.ndarray:
    return tb.run_tables(tb.refrigerant_tables(fluid), superheat_k, subcooling_k)


def low(fluid: str, t_k: float, superheat_k: float = 0.0) -> tuple[float, ...]:
    tab = run_table(fluid, superheat_k)
    return saturated_side(t_k, tab[TAB_LOW], tab)


def high(fluid: str, t_k: float, subcooling_k: float = 0.0) -> tuple[float, ...]:
    tab = run_table(fluid, 0.0, subcooling_k)
    return saturated_side(t_k, tab[TAB_HIGH], tab)


@pytest.mark.parametrize(
    ("fluid", "p_bar", "tolerance"),
    [
        pytest.param("R134a", (0.8438, 1.3273, 2.0060, 2.9280, 5.7171, 6.6538, 10.1659, 16.8178), 1e-3, id="VC-01"),
        pytest.param("R1234yf", (0.9893, 1.5086, 2.2179, 3.1588, 5.9184, 6.8270, 10.1847, 16.4183), 3e-3, id="VC-02"),
        pytest.param("R290", (1.6783, 2.4452, 3.4528, 4.7446, 8.3646, 9.5207, 13.6942, 21.1675), 1e-3, id="VC-03"),
    ],
)
def test_saturation_pressure(fluid: str, p_bar: tuple[float, ...], tolerance: float) -> None:
    for t_c, expected in zip(T_ROWS, p_bar, strict=True):
        assert np.exp(low(fluid, t_c + ZERO_C)[0]) / 1e5 == pytest.approx(expected, rel=tolerance)
        assert high(fluid, t_c + ZERO_C)[0] == pytest.approx(low(fluid, t_c + ZERO_C)[0], abs=1e-12)


@pytest.mark.parametrize(
    ("fluid", "t_c", "p_bar"),
    [
        pytest.param("R134a", 101.06, 40.59, id="VC-05-R134a"),
        pytest.param("R1234yf", 94.70, 33.84, id="VC-05-R1234yf"),
        pytest.param("R290", 96.74, 42.51, id="VC-05-R290"),
    ],
)
def test_critical_point(fluid: str, t_c: float, p_bar: float) -> None:
    tables = tb.refrigerant_tables(fluid)
    assert tables.t_critical_k - ZERO_C == pytest.approx(t_c, abs=0.1)
    assert tables.p_critical_pa / 1e5 == pytest.approx(p_bar, rel=2e-3)


@pytest.mark.parametrize(
    ("fluid", "latent"),
    [
        pytest.param("R134a", 198.60, id="VC-06-R134a"),
        pytest.param("R1234yf", 163.48, id="VC-06-R1234yf"),
        pytest.param("R290", 374.87, id="VC-06-R290"),
    ],
)
def test_latent_heat_at_zero(fluid: str, latent: float) -> None:
    _, _, h_v, _, _, _, h_l, _ = high(fluid, ZERO_C)
    assert (h_v - h_l) / 1e3 == pytest.approx(latent, rel=3e-3)


@pytest.mark.parametrize(
    ("fluid", "t_c"),
    [
        pytest.param("R134a", -26.07, id="VC-07-R134a"),
        pytest.param("R1234yf", -29.46, id="VC-07-R1234yf"),
        pytest.param("R290", -42.11, id="VC-07-R290"),
    ],
)
def test_normal_boiling_point(fluid: str, t_c: float) -> None:
    t_k, slope = saturation_temperature(101325.0, 300.0, run_table(fluid))
    assert t_k - ZERO_C == pytest.approx(t_c, abs=0.1)
    assert slope == pytest.approx(1.0 / low(fluid, t_k)[1], rel=1e-9)


@pytest.mark.parametrize("row", [pytest.param("R134a", id="VC-08")])
def test_saturated_densities(row: str) -> None:
    tables = tb.refrigerant_tables(row)
    liquid = np.exp(np.interp(ZERO_C, tables.t_saturation_k, tables.ln_rho_liquid))
    assert liquid == pytest.approx(1294.78, rel=2e-3)
    assert np.exp(low(row, ZERO_C)[4]) == pytest.approx(14.428, rel=2e-3)


@pytest.mark.parametrize("fluid", [pytest.param(f, id=f"VC-44-{f}") for f in SUBCRITICAL])
def test_reference_state(fluid: str) -> None:
    """200 kJ/kg and 1 kJ/(kg K) for saturated liquid at 0 degC."""
    assert high(fluid, ZERO_C)[6] == pytest.approx(200e3, abs=0.5)
    tables = tb.refrigerant_tables(fluid)
    s = tb.spline_cells(tables.s_liquid_j_per_kg_k)
    x = (ZERO_C - tables.t_saturation_k[0]) / (tables.t_saturation_k[1] - tables.t_saturation_k[0])
    cell = int(x)
    assert np.polyval(s[cell, ::-1], x - cell) == pytest.approx(1000.0, abs=2e-3)


# ---- against the equation of state, between the knots, from -45 degC to 8 K below the critical point

SUPERHEAT_K, SUBCOOLING_K = 5.3, 8.7


@pytest.fixture(scope="module", params=[(f, sh, sc) for f in SUBCRITICAL for sh, sc in ((0.5, 0.7), (5.3, 8.7))])
def errors(request: pytest.FixtureRequest) -> dict[str, float]:
    """Greatest errors over the range of use: 301 temperatures off the knots, four gases at each."""
    import CoolProp.CoolProp as coolprop

    fluid, superheat_k, subcooling_k = request.param
    state = coolprop.AbstractState("HEOS", fluid)
    state.update(coolprop.QT_INPUTS, 0.0, ZERO_C)
    h0, s0 = state.hmass() - 200e3, state.smass() - 1000.0
    tab = run_table(fluid, superheat_k, subcooling_k)
    worst = dict.fromkeys(("p", "h_v", "s_v", "h1", "rho1", "s1", "h3", "h2", "t2"), 0.0)

    def note(name: str, error: float) -> None:
        worst[name] = max(worst[name], abs(error))

    for t in np.linspace(228.15, state.T_critical() - tb.BELOW_CRITICAL_USE_K, 301):
        ln_p, _, h_v, _, s_v, _, h3, _ = saturated_side(t, tab[TAB_HIGH], tab)
        _, _, h1, _, ln_rho1, _, s1, _ = saturated_side(t, tab[TAB_LOW], tab)
        state.update(coolprop.QT_INPUTS, 1.0, t)
        p, s_ref = state.p(), state.smass()
        note("p", np.exp(ln_p) / p - 1.0)
        note("h_v", h_v - (state.hmass() - h0))
        note("s_v", s_v - (s_ref - s0))
        for ds in (3.0, 21.0, 77.0, 180.0):
            state.update(coolprop.PSmass_INPUTS, p, s_ref + ds)
            h, _, t_gas = gas_enthalpy(t, ds, h_v, 0.0, tab)
            note("h2", h - (state.hmass() - h0))
            note("t2", t_gas - state.T())
            assert gas_temperature(t, h, tab)[0] == pytest.approx(t_gas, abs=1e-6)
        state.update(coolprop.PT_INPUTS, p, t + superheat_k)
        note("h1", h1 - (state.hmass() - h0))
        note("rho1", np.exp(ln_rho1) / state.rhomass() - 1.0)
        note("s1", s1 - (state.smass() - s0))
        state.update(coolprop.PT_INPUTS, p, t - subcooling_k)
        note("h3", h3 - (state.hmass() - h0))
    print(request.param, {name: float(f"{value:.2g}") for name, value in worst.items()})
    return worst


def test_tables_follow_the_equation_of_state(errors: dict[str, float]) -> None:
    """Pressure to 1e-8, density to 1e-6, enthalpy to 0.1 J/kg, entropy to 2e-4 J/(kg K), gas to 2 mK."""
    assert errors["p"] < 1e-8
    assert max(errors["h_v"], errors["h1"], errors["h3"], errors["h2"]) < 0.1
    assert max(errors["s_v"], errors["s1"]) < 2e-4
    assert errors["rho1"] < 1e-6
    assert errors["t2"] < 2e-3


@pytest.mark.parametrize("fluid", SUBCRITICAL)
def test_slopes_are_those_of_the_values(fluid: str) -> None:
    tab = run_table(fluid, SUPERHEAT_K, SUBCOOLING_K)
    step = 1e-4
    for block in (tab[TAB_LOW], tab[TAB_HIGH]):
        for t in np.linspace(tab[TAB_T_MIN] + 0.3, tab[TAB_T_MAX] - 0.3, 57):
            there, below, above = (saturated_side(t + d, block, tab) for d in (0.0, -step, step))
            for k in range(0, 8, 2):
                slope = (above[k] - below[k]) / (2.0 * step)
                assert there[k + 1] == pytest.approx(slope, rel=1e-4, abs=1e-6)


@pytest.mark.parametrize("ds", [-20.0, 12.3, 95.0])
def test_gas_slopes_are_those_of_the_values(ds: float) -> None:
    tab = run_table("R1234yf")
    t, step = 317.2, 1e-4
    h_v, dh_v = saturated_side(t, tab[TAB_HIGH], tab)[2:4]

    def at(dt: float, extra: float) -> float:
        return gas_enthalpy(t + dt, ds + extra, h_v + dh_v * dt, dh_v, tab)[0]

    _, by_t, by_s = gas_enthalpy(t, ds, h_v, dh_v, tab)
    assert by_t == pytest.approx((at(step, 0.0) - at(-step, 0.0)) / (2 * step), rel=1e-5)
    assert by_s == pytest.approx((at(0.0, step) - at(0.0, -step)) / (2 * step), rel=1e-5)


def test_gas_is_smooth_across_saturation() -> None:
    tab = run_table("R1234yf")
    h_v, dh_v = saturated_side(313.15, tab[TAB_HIGH], tab)[2:4]
    wet = gas_enthalpy(313.15, -1e-9, h_v, dh_v, tab)
    dry = gas_enthalpy(313.15, 1e-9, h_v, dh_v, tab)
    assert wet[0] == pytest.approx(dry[0], abs=0.05)
    assert wet[1] == pytest.approx(dry[1], abs=0.5)
    assert wet[2] == pytest.approx(dry[2], abs=0.02)


def test_spline_is_exact_for_cubics() -> None:
    x = np.arange(9.0)
    y = np.stack([2.0 - x + 0.3 * x**2 - 0.01 * x**3, x**3], axis=1)
    cells = tb.spline_cells(y)
    u = 0.37
    middle = x[:-1] + u
    value = cells[:, 0] + u * (cells[:, 1] + u * (cells[:, 2] + u * cells[:, 3]))
    assert value[:, 0] == pytest.approx(2.0 - middle + 0.3 * middle**2 - 0.01 * middle**3, rel=1e-12)
    assert value[:, 1] == pytest.approx(middle**3, rel=1e-12)


def test_superheat_outside_the_table_is_refused() -> None:
    with pytest.raises(ValueError, match=r"outside the table, 0\.0 to 60\.0 K"):
        tb.run_tables(tb.refrigerant_tables("R134a"), 75.0, 5.0)


def test_unknown_fluid_is_refused() -> None:
    with pytest.raises(ValueError, match="known: R1234yf, R134a, R290"):
        tb.refrigerant_tables("R12")


# ---- the cache

PROBE = (
    "import sys; from heatwright.compiler.tables import refrigerant_tables, run_tables; "
    "run_tables(refrigerant_tables('R134a'), 5.0, 8.0); print('CoolProp' in sys.modules)"
)


def _probe(home: Path) -> str:
    environment = {**os.environ, "HEATWRIGHT_CACHE": str(home)}
    done = subprocess.run([sys.executable, "-c", PROBE], env=environment, capture_output=True, text=True, check=True)
    return done.stdout.strip()


def test_warm_start_leaves_coolprop_alone(tmp_path: Path) -> None:
    assert _probe(tmp_path) == "True"
    files = sorted(file.name for file in (tmp_path / "tables").iterdir())
    assert files == [tb.cache_file("R134a").name]
    assert _probe(tmp_path) == "False"


def test_spoilt_file_is_built_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HEATWRIGHT_CACHE", str(tmp_path))
    file = tb.cache_file("R134a")
    file.parent.mkdir(parents=True)
    file.write_bytes(b"half a file")
    built = tb.refrigerant_tables("R134a")
    read = tb.refrigerant_tables("R134a")
    assert np.array_equal(built.h_discharge_j_per_kg, read.h_discharge_j_per_kg)
    assert (read.fluid, read.source, read.t_critical_k) == (built.fluid, built.source, built.t_critical_k)
    assert [f.name for f in file.parent.iterdir()] == [file.name]
