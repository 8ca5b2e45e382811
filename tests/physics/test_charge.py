"""Refrigerant held by a circuit: void fraction, zone masses, and what too little or too much of it does.

Sources: Zivi, J. Heat Transfer 86 (1964), form a value from memory, its integral checked by quadrature; row VC-08 gives
saturated densities (equation of state); bands of the hot-gas cycle are worked out from common practice's defaults.
"""

from __future__ import annotations

import numpy as np
import pytest

from heatwright.compiler.tables import refrigerant_tables, run_tables
from heatwright.kernel import charge as ch
from heatwright.kernel import circuit_names as cn
from heatwright.kernel.charge import circuit_mass, solve_charged
from heatwright.kernel.circuit_point import evaluate_point
from heatwright.physics.charge import exchanger_density, two_phase_density, void_fraction
from heatwright.physics.refrigerant import TAB_BULK, saturated_side, saturation_temperature

VOLUMES = (0.12e-3, 0.12e-3, 0.4e-3, 0.4e-3, 0.0, 0.7e-3, 0.35e-3)  # lines, receiver, accumulator, hot, cold


def table(fluid: str = "R1234yf") -> np.ndarray:
    return run_tables(refrigerant_tables(fluid), 5.0, 8.0)


@pytest.mark.parametrize(("liquid", "vapour"), [pytest.param(1294.78, 14.428, id="VC-08[bulk]")])
def test_bulk_densities(liquid: float, vapour: float) -> None:
    """R134a at 0 degC through the run table's bulk block."""
    tab = table("R134a")
    found = np.exp(saturated_side(273.15, tab[TAB_BULK], tab)[:3:2])
    assert found == pytest.approx([vapour, liquid], rel=2e-3)


@pytest.mark.parametrize(("a", "b"), [(0.0, 1.0), (0.2, 1.0), (0.9, 0.3), (0.05, 0.05 + 2e-5)])
def test_two_phase_density_is_the_integral(a: float, b: float) -> None:
    rho_l, rho_v = 1150.0, 33.0
    x = np.linspace(a, b, 20001)
    alpha = np.array([void_fraction(one, rho_l, rho_v) for one in x])
    mean = float(np.mean(0.5 * (alpha[1:] + alpha[:-1])))
    assert two_phase_density(a, b, rho_l, rho_v) == pytest.approx(rho_l - (rho_l - rho_v) * mean, rel=1e-6)


def test_void_fraction_limits() -> None:
    """All liquid, all vapour; equal densities leave the quality itself; slip keeps it below the homogeneous one."""
    assert void_fraction(0.0, 1150.0, 33.0) == 0.0
    assert void_fraction(1.0, 1150.0, 33.0) == 1.0
    assert void_fraction(0.3, 500.0, 500.0) == pytest.approx(0.3)
    homogeneous = 0.3 / (0.3 + 0.7 * 33.0 / 1150.0)
    assert void_fraction(0.3, 1150.0, 33.0) < homogeneous


def test_one_zone_exchangers() -> None:
    """All gas, all liquid and all two-phase have the density of that zone."""
    args = (250e3, 400e3, 30.0, 1100.0, 40.0, 1160.0)
    assert exchanger_density(440e3, 400e3, *args) == pytest.approx(35.0)
    assert exchanger_density(250e3, 230e3, *args) == pytest.approx(1130.0)
    assert exchanger_density(250e3, 400e3, *args) == pytest.approx(two_phase_density(0.0, 1.0, 1100.0, 40.0))


class Charged:
    """A condenser and an evaporator with lines and a receiver."""

    def __init__(self, charge_kg: float, hot_gas_kg: float = 0.0, walls: tuple = (308.0, 272.0), **par: float) -> None:
        block = np.array([charge_kg, hot_gas_kg, *VOLUMES])
        self.par, self.tab = cn.circuit_parameters(charge=block, **par), table()
        self.walls = np.array(walls)
        self.hot = np.array([400.0, 0.0])
        self.cold = np.array([0.0, 0.0 if hot_gas_kg else 420.0])
        self.u, self.out = np.zeros(cn.U_SIZE), np.zeros(cn.OUT_SIZE)
        self.q, self.dq, self.work = np.zeros(2), np.zeros(4), np.zeros(cn.work_size(2))

    def run(self, speed_hz: float = 60.0, times: int = 12) -> np.ndarray:
        for _ in range(times):
            status = solve_charged(
                speed_hz, 2, self.walls, self.hot, self.cold, self.par, self.tab, self.u, self.q, self.dq, self.out,
                self.work, 0.0,
            )  # fmt: skip
            assert status == 0
        return self.out.copy()

    def mass(self) -> tuple[float, float, float]:
        o = self.out
        places = (cn.OUT_T_EVAP, cn.OUT_T_COND, cn.OUT_H1, cn.OUT_H2, cn.OUT_T_DISCHARGE)
        te, tc, h1, h2, t2 = (o[k] for k in places)
        return circuit_mass(o[cn.OUT_H3], te, tc, h1, h2, t2, VOLUMES[5], VOLUMES[6], 0.0, self.par, self.tab)


def test_usual_charge_leaves_the_point_alone() -> None:
    """The vessel takes up what is left; the point is that of the set subcooling."""
    circuit = Charged(0.6)
    out = circuit.run(times=1)
    bare = Charged(0.6)
    bare.par[cn.PAR_CHARGE] = 0.0
    assert out[: cn.OUT_LEVEL] == pytest.approx(bare.run(times=1)[: cn.OUT_LEVEL], rel=1e-12)
    mass, empty, full = circuit.mass()
    level = out[cn.OUT_LEVEL]
    assert 0.0 < level < 1.0
    assert mass + empty + level * (full - empty) == pytest.approx(0.6, abs=1e-9)


@pytest.mark.parametrize("charge", [0.20, 0.26, 0.32, 0.40, 0.60, 0.785, 0.79])
def test_mass_is_conserved(charge: float) -> None:
    """Short, usual and over: circuit and vessel hold the charge to a microgram once the point stands still."""
    circuit = Charged(charge)
    out = circuit.run()
    mass, empty, full = circuit.mass()
    held = mass + empty + out[cn.OUT_LEVEL] * (full - empty)
    assert held == pytest.approx(charge, abs=1e-9)
    assert abs(out[cn.OUT_CHARGE_ERROR_KG]) < 1e-9


def test_short_and_over_move_subcooling_and_capacity() -> None:
    found = [Charged(kg).run() for kg in (0.20, 0.26, 0.32, 0.60, 0.785, 0.79)]
    subcooling = np.array([out[cn.OUT_SUBCOOLING] for out in found])
    drawn = np.array([out[cn.OUT_MDOT] * (out[cn.OUT_H1] - out[cn.OUT_H3]) for out in found])
    short = [int(out[cn.OUT_CHARGE_SHORT]) for out in found]
    assert short == [1, 1, 1, 0, -1, -1]
    assert np.all(np.diff(subcooling) > 0.0)
    assert subcooling[0] < 0.0  # wet before the valve
    assert subcooling[3] == 8.0
    assert np.all(np.diff(drawn[:4]) > 0.0)
    assert drawn[0] < 0.9 * drawn[3]


def test_more_than_subcooling_can_take_is_told() -> None:
    """The liquid cannot leave colder than its sink: what does not fit is reported, never lost silently."""
    out = Charged(0.9).run()
    assert out[cn.OUT_CHARGE_SHORT] == -1.0
    assert 0.05 < out[cn.OUT_CHARGE_ERROR_KG] < 0.15


def hot_gas(charge_kg: float) -> np.ndarray:
    circuit = Charged(0.6, charge_kg, walls=(303.0, 272.0))
    circuit.hot[0] = 120.0
    return circuit.run(100.0, times=3)


def test_hot_gas_pressures_rise_with_charge() -> None:
    found = [hot_gas(kg) for kg in (0.100, 0.105, 0.110, 0.115)]
    for place in (cn.OUT_P_LOW, cn.OUT_P_HIGH, cn.OUT_P_ELECTRIC, cn.OUT_MDOT):
        assert np.all(np.diff([out[place] for out in found]) > 0.0), place
    for out in found:
        assert abs(out[cn.OUT_CHARGE_ERROR_KG]) < 1e-8  # the point itself is solved to 1e-5 K
        assert abs(out[cn.OUT_RESIDUAL]) < 0.02


@pytest.mark.parametrize(("low_bar", "high_bar", "heat_w"), [(2.0, 12.0, 1700.0), (3.0, 15.0, 2200.0)])
def test_hot_gas_heat_lands_in_its_band(low_bar: float, high_bar: float, heat_w: float) -> None:
    """34 cm3, 6000 rpm: shaft power and seven tenths of the motor's loss; an order of magnitude, 25 %."""
    tab, point = table(), np.zeros(cn.POINT_SIZE)
    te, tc = (saturation_temperature(p * 1e5, 290.0, tab)[0] for p in (low_bar, high_bar))
    evaluate_point(te, tc, 100.0, cn.circuit_parameters(), tab, point)
    assert point[cn.AT_GAS] == pytest.approx(heat_w, rel=0.25)


def test_volumes_stand_in_the_block() -> None:
    """The block's places as lowering fills them."""
    assert [int(k) for k in (ch.CH_MASS_KG, ch.CH_ACCUMULATOR_M3, ch.CH_PORTS)] == [0, 6, 7]
