"""What holds a drive unit back, and how unevenly a standing one loads its phases.

Sources: temperature classes of IEC 60085 and IEC 60034-1 as cited in row EM-15 (value from memory); uneven phases in
closed form from the amplitude-invariant transformation of the EM rows.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from heatwright.physics import motor
from heatwright.physics.drive_limits import WIDTHS_K, drive_share, hottest_phase_k, phase_shares
from heatwright.physics.motor import Machine
from heatwright.plant.load import load_plant

C0_K = 273.15
BEGIN_K = np.array([338.15, 428.15, 413.15, 408.15, 393.15, 358.15])
COOL = [300.0, 320.0, 320.0, 320.0, 320.0, 310.0]
NAMES = ("coolant", "winding", "rotor", "inverter", "oil", "housing")


def share_at(k: int, t_k: float, early: float = 0.0) -> tuple[float, int]:
    """Return the share with one temperature changed and the others cool."""
    t = [*COOL]
    t[k] = t_k
    return drive_share(t[0], t[1], t[2], t[3], t[4], t[5], BEGIN_K, early)


@pytest.mark.parametrize(
    ("key", "low_c", "high_c"),
    [
        pytest.param("winding_limit", 140.0, 180.0, id="EM-15 winding below class H"),
        pytest.param("rotor_limit", 120.0, 160.0, id="EM-15 magnets"),
    ],
)
def test_shipped_limits_lie_inside_the_classes(key: str, low_c: float, high_c: float) -> None:
    """Source: class H ends at 180 degC, magnets at 140 to 160 degC; ours have ended one width further."""
    begin_c = load_plant("plain").of_kind("drive_unit")[0].values[key] - C0_K
    width = WIDTHS_K[NAMES.index(key.removesuffix("_limit"))]
    assert low_c <= begin_c
    assert begin_c + width <= high_c


@pytest.mark.parametrize("k", range(6), ids=NAMES)
def test_each_limit_alone(k: int) -> None:
    """Full at its beginning, half in the middle, none a width further; heat on purpose one width earlier."""
    begin, width = float(BEGIN_K[k]), WIDTHS_K[k]
    assert share_at(k, begin) == (1.0, 0)
    assert share_at(k, begin + 0.5 * width) == (pytest.approx(0.5), k + 1)
    assert share_at(k, begin + width) == (pytest.approx(0.0, abs=1e-12), k + 1)
    assert share_at(k, begin + 100.0)[0] == 0.0
    assert share_at(k, begin - 0.5 * width, 1.0) == (pytest.approx(0.5), k + 1)
    assert share_at(k, begin, 1.0)[0] == pytest.approx(0.0, abs=1e-12)
    assert share_at(k, begin - width, 1.0) == (1.0, 0)


@pytest.mark.parametrize(
    ("winding_c", "oil_c", "which"), [pytest.param(170.0, 121.0, 2), pytest.param(156.0, 128.0, 5)]
)
def test_the_tightest_binds(winding_c: float, oil_c: float, which: int) -> None:
    t = [*COOL]
    t[1], t[4] = winding_c + C0_K, oil_c + C0_K
    share, binds = drive_share(t[0], t[1], t[2], t[3], t[4], t[5], BEGIN_K, 0.0)
    assert binds == which
    assert share == pytest.approx(min((180.0 - winding_c) / 25.0, (130.0 - oil_c) / 10.0))


@pytest.mark.parametrize(
    "angle", [pytest.param(a, id=f"EM-09 at {a:g} degrees") for a in (0.0, 17.0, 30.0, 90.0, 211.0)]
)
def test_phases_of_a_standing_machine(angle: float) -> None:
    """Source: closed form: i_d = -300 A, no torque: 1.5 R I^2 in all, R i_k^2 in each phase."""
    machine = Machine(pole_pairs=4, psi_wb=0.066, l_d_h=0.20e-3, l_q_h=0.45e-3, r_ohm=12e-3, ac_factor=0.0)
    copper = float(motor.losses_w(machine, -300.0, 0.0, 0.0, 293.15)[0])
    assert copper == pytest.approx(1620.0, rel=1e-12)
    assert float(motor.torque_nm(machine, -300.0, 0.0)) == 0.0
    shares = phase_shares(math.radians(angle))
    legs = [-300.0 * math.cos(math.radians(angle - 120.0 * k)) for k in range(3)]
    assert sum(shares) == pytest.approx(1.0, rel=1e-12)
    assert sum(legs) == pytest.approx(0.0, abs=1e-10)
    assert [s * copper for s in shares] == pytest.approx([0.012 * i**2 for i in legs], rel=1e-12, abs=1e-9)
    assert max(abs(i) for i in legs) <= 300.0 + 1e-9
    assert max(shares) <= 2.0 / 3.0 + 1e-12


@pytest.mark.parametrize("power", [pytest.param(p, id=f"{p:g} W") for p in (0.0, 500.0, 3000.0)])
def test_the_hottest_phase_stands_twice_as_far_above(power: float) -> None:
    """Source: three phases with 60 W/K each over iron at 60 degC, 2/3 of the loss in one: settled, closed form."""
    iron = 60.0 + C0_K
    phases = [iron + s * power / 60.0 for s in phase_shares(0.0)]
    mean = sum(phases) / 3.0
    assert mean == pytest.approx(iron + power / 180.0)
    assert hottest_phase_k(mean, iron, 0.0) == pytest.approx(max(phases), rel=1e-12)
    assert hottest_phase_k(mean, iron, -2.0) == pytest.approx(mean)
    assert hottest_phase_k(iron - 10.0, iron, 0.0) == iron - 10.0
