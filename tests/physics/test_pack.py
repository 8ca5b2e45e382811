"""Pack: electrics, heat, limits and losses, against closed forms and published bands.

Rows marked "from memory" carry values nobody has measured for this pack; where ours differ it is said.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from heatwright.physics import pack
from heatwright.physics.pack import LFP, NMC
from heatwright.physics.pack_limits import discharge_limit_w

C0_K = 273.15
KWH = 3.6e6


def growth(t_c: float) -> float:
    """Return the default resistance over that at 25 degC."""
    return pack.resistance_ohm(t_c + C0_K, 0.5, 1.0, 0.0, 25e3, 0.0, 40e3) / pack.resistance_ohm(
        298.15, 0.5, 1.0, 0.0, 25e3, 0.0, 40e3
    )


@pytest.mark.parametrize("power", [pytest.param(150e3, id="BA-01")])
def test_ohmic_heat(power: float) -> None:
    """150 kW at a terminal voltage of 350 V over 50 mohm: 428.6 A, 9.18 kW. Source: closed form I^2 R."""
    i, short = pack.current_a(power, 350.0 + 0.05 * power / 350.0, 0.05)
    assert not short
    assert i == pytest.approx(428.6, abs=0.05)
    assert pack.heat_w(i, 0.05, 298.15, 0.0) == pytest.approx(9.18e3, abs=6.0)


@pytest.mark.parametrize("i", [pytest.param(5.0, id="BA-02 discharge"), pytest.param(-5.0, id="BA-02 charge")])
def test_reversible_heat(i: float) -> None:
    """Source: Bernardi et al. 1985; 5 A, +0.1 mV/K, 298.15 K: 0.1491 W taken up on discharge."""
    assert pack.heat_w(i, 0.0, 298.15, 1e-4) == pytest.approx(-math.copysign(0.1491, i), abs=5e-5)


@pytest.mark.parametrize(
    ("t_c", "low", "high"),
    [pytest.param(-20.0, 4.0, 10.0, id="BA-09 -20"), pytest.param(0.0, 1.8, 3.0, id="BA-09 0")],
)
def test_cold_resistance_within_measured_growth(t_c: float, low: float, high: float) -> None:
    """Source: ten-second resistances of commercial cells (value from memory)."""
    assert low < growth(t_c) < high


@pytest.mark.parametrize("t_c", [pytest.param(t, id=f"BA-08 {t:g}") for t in (-20.0, -10.0, 0.0, 10.0, 40.0)])
def test_cold_resistance_shape(t_c: float) -> None:
    """Source: porous-electrode model, known to understate growth in the cold: used as a shape only."""
    model = {-20.0: 2.60, -10.0: 2.17, 0.0: 1.78, 10.0: 1.43, 40.0: 0.70}[t_c]
    assert abs(growth(t_c) - 1.0) > abs(model - 1.0) * 0.9
    assert (growth(t_c) > 1.0) == (model > 1.0)


FACTORS = [
    (-30, 9.8, 22.8),
    (-20, 6.0, 10.9),
    (-10, 3.8, 5.7),
    (0, 2.5, 3.2),
    (10, 1.71, 1.90),
    (45, 0.53, 0.51),
]


@pytest.mark.parametrize(("t_c", "single", "double"), [pytest.param(*row, id=f"factor at {row[0]}") for row in FACTORS])
def test_resistance_factors(t_c: float, single: float, double: float) -> None:
    """Source: the two laws evaluated by other code, printed to two or three digits."""
    assert growth(t_c) == pytest.approx(single, rel=0.012)
    two = pack.resistance_ohm(t_c + C0_K, 0.5, 1.0, 0.0, 14e3, 0.55, 40e3)
    assert two / pack.resistance_ohm(298.15, 0.5, 1.0, 0.0, 14e3, 0.55, 40e3) == pytest.approx(double, rel=0.015)


@pytest.mark.parametrize("soc", [pytest.param(0.2, id="reversible against ohmic")])
def test_reversible_against_ohmic_at_low_charge(soc: float) -> None:
    """Source: hand calculation: 100 A, 25 degC, 20 % charge: 430 W reversible, about 700 W ohmic."""
    entropy = pack.entropy_v_per_k(soc, NMC, 96.0)
    r = pack.resistance_ohm(298.15, soc, 0.070, 0.0, 25e3, 0.0, 40e3)
    reversible = pack.heat_w(100.0, r, 298.15, entropy) - pack.heat_w(100.0, r, 298.15, 0.0)
    assert reversible == pytest.approx(430.0, rel=0.01)
    assert pack.heat_w(100.0, r, 298.15, 0.0) == pytest.approx(700.0, rel=0.05)


@pytest.mark.parametrize("power", [pytest.param(p, id=f"{p / 1e3:g} kW") for p in (-150e3, 0.0, 90e3, 500e3)])
def test_terminal_power_and_its_top(power: float) -> None:
    """Source: closed form; above U^2/4R the greatest power there is, with a flag."""
    i, short = pack.current_a(power, 350.0, 0.07)
    top = 350.0**2 / 0.28
    assert short == (power > top)
    assert i * (350.0 - 0.07 * i) == pytest.approx(min(power, top), abs=1e-6)
    assert i <= 350.0 / 0.14 + 1e-9


@pytest.mark.parametrize("kg", [pytest.param((310.0, 145.0, 8.0), id="BA-10 BA-11 BA-12")])
def test_heat_capacity(kg: tuple[float, float, float]) -> None:
    """Sources: cells 800-1100 J/kgK (cell-property page); pack 0.35-0.5 MJ/K (value from memory)."""
    c = pack.heat_capacity_j_per_k(*kg)
    assert 0.35e6 < c < 0.5e6
    assert 850.0 < c / sum(kg[:2]) < 1050.0
    assert 800.0 <= pack.heat_capacity_j_per_k(1.0, 0.0, 0.0) <= 1100.0


COLD_C = (-30, -20, -10, 0, 5, 10, 15, 20, 25, 30, 35, 45, 50, 55, 60)
RATES = [
    (NMC, "nmc", (0, 0.08, 0.25, 0.45, 0.65, 0.90, 1.2, 1.5, 1.8, 2.05, 2.2, 2.2, 1.6, 0.5, 0)),
    (LFP, "lfp", (0, 0.03, 0.12, 0.30, 0.45, 0.70, 1.0, 1.3, 1.6, 1.9, 2.1, 2.1, 1.8, 0.8, 0)),
]
ROWS = [
    pytest.param(cell, t, c, id=f"{name} at {t} degC")
    for cell, name, rates in RATES
    for t, c in zip(COLD_C, rates, strict=True)
]


@pytest.mark.parametrize(("cell", "t_c", "rate"), ROWS)
def test_charge_rate_at_thirty_per_cent(cell: np.ndarray, t_c: float, rate: float) -> None:
    """Source: charge-rate table and taper 0.96 at 30 % (values from memory); none outside -30..60 degC."""
    got = pack.charge_rate_per_h(t_c + C0_K, t_c + C0_K, 0.30, cell)
    assert got == pytest.approx(0.96 * rate, abs=0.005)


@pytest.mark.parametrize("energy", [pytest.param(75.0 * KWH, id="75 kWh 0 degC 30 per cent")])
def test_cold_charge_power(energy: float) -> None:
    """Source: value from memory, 32 kW; brake pulses of 10 s may be half as much again."""
    arguments = (C0_K, C0_K, 0.30, energy, 350.0, 500.0)
    assert pack.charge_limit_w(*arguments, 1.0, NMC) == pytest.approx(32e3, rel=0.02)
    assert pack.charge_limit_w(*arguments, 1.5, NMC) == pytest.approx(48.6e3, rel=0.01)
    warm = pack.charge_limit_w(310.0, 310.0, 0.2, energy, 350.0, 300.0, 1.5, NMC)
    assert warm == pytest.approx(350.0 * 300.0)


@pytest.mark.parametrize("cell", [pytest.param(NMC, id="BA-15 nmc"), pytest.param(LFP, id="BA-15 lfp")])
def test_full_hour_rate_reaches_further_when_warm(cell: np.ndarray) -> None:
    """Source: cell model, charge at which 1/h ends .31/.44/.56/.70/.79 from -10 to 40 degC: the rise only.

    Ours allows no 1/h at or below 10 degC: a stricter limit, against plating.
    """
    soc = np.linspace(0.1, 1.0, 181)
    ends = [
        max((s for s in soc if pack.charge_rate_per_h(t, t, s, cell) >= 1.0), default=0.0)
        for t in (283.15, 289.15, 294.15, 298.15)
    ]
    assert ends == sorted(ends)
    assert ends[0] == 0.0
    assert ends[1] > 0.3
    assert ends[3] == pytest.approx(0.70, abs=0.04)


@pytest.mark.parametrize("soc", [pytest.param(0.71, id="BA-18")])
def test_least_temperature_for_an_hour_rate(soc: float) -> None:
    """Source: Waldmann et al. 2014 (value from memory): least ageing at 1/h near 25 degC, within 5 K."""
    low, _ = pack.charge_window_k(soc, NMC)
    assert pack.charge_rate_per_h(low, low, soc, NMC) == pytest.approx(1.0, abs=0.05)
    assert low - C0_K == pytest.approx(25.0, abs=5.0)


@pytest.mark.parametrize("soc", [pytest.param(0.2, id="BA-19")])
def test_warm_window_for_fast_charging(soc: float) -> None:
    """Source: 40-55 degC for 3-4/h charging (value from memory); the window of 2.2/h reaches into it."""
    low, high = pack.charge_window_k(soc, NMC)
    assert low - C0_K == pytest.approx(35.0)
    assert 40.0 < high - C0_K < 55.0


@pytest.mark.parametrize("cell", [pytest.param(NMC, id="nmc"), pytest.param(LFP, id="lfp")])
def test_window_shifts_with_charge_and_gives_the_full_rate(cell: np.ndarray) -> None:
    """Source: the function's own definition: its window is where no temperature would give more."""
    t_all = np.linspace(243.15, 333.15, 361)
    lows = []
    for soc in (0.1, 0.3, 0.45, 0.6, 0.75, 0.9):
        low, high = pack.charge_window_k(soc, cell)
        best = max(pack.charge_rate_per_h(t, t, soc, cell) for t in t_all)
        for t in (low, 0.5 * (low + high), high):
            assert pack.charge_rate_per_h(t, t, soc, cell) == pytest.approx(best, rel=1e-9)
        assert pack.charge_rate_per_h(low - 2.0, low - 2.0, soc, cell) < best * 0.999
        assert pack.charge_rate_per_h(high + 2.0, high + 2.0, soc, cell) < best * 0.999
        lows.append(low)
    assert lows == sorted(lows, reverse=True)
    assert lows[0] - lows[-1] > 15.0


@pytest.mark.parametrize("cell", [pytest.param(NMC, id="BA-16 nmc"), pytest.param(LFP, id="BA-16 lfp")])
def test_charging_window_of_data_sheets(cell: np.ndarray) -> None:
    """Source: common data sheets (partly from memory): charge 0-45 (60) degC, below 0 forbidden or slow.

    Ours keeps the hot end; below freezing a car's pack may still take C/10 at -20 and C/4 (LFP C/8) at -10,
    which is more than the C/20 to C/10 of the strictest sheets.
    """
    for t_k in (213.15, 243.15, 333.15, 343.15):
        assert pack.charge_rate_per_h(t_k, t_k, 0.3, cell) == pytest.approx(0.0, abs=1e-12)
    assert pack.charge_rate_per_h(253.15, 253.15, 0.3, cell) <= 0.1
    assert pack.charge_rate_per_h(263.15, 263.15, 0.3, cell) <= 0.25
    assert pack.charge_rate_per_h(318.15, 318.15, 0.3, cell) > 1.0


DISCHARGE = [
    pytest.param(t, share, id=f"BA-16 discharge {t} degC") for t, share in ((49, 1.0), (55, 0.5), (60, 0.0), (65, 0.0))
]


@pytest.mark.parametrize(("t_c", "share"), DISCHARGE)
def test_hot_discharge(t_c: float, share: float) -> None:
    """Source: common data sheets end discharge at 60 degC; derating from 50 from memory."""
    assert discharge_limit_w(t_c + C0_K, 350.0, 0.05, 250.0, 160e3, 323.15, 333.15) == pytest.approx(share * 160e3)


@pytest.mark.parametrize("t_c", [pytest.param(-25.0, id="cold")])
def test_cold_discharge_is_limited_by_voltage(t_c: float) -> None:
    r = pack.resistance_ohm(t_c + C0_K, 0.2, 0.07, 0.0, 25e3, 0.0, 40e3)
    limit = discharge_limit_w(t_c + C0_K, 340.0, r, 250.0, 160e3, 323.15, 333.15)
    i, short = pack.current_a(limit, 340.0, r)
    assert not short
    assert 340.0 - i * r == pytest.approx(250.0)
    assert limit < 160e3


COOLING = [
    pytest.param(-20.0, (18.2, 12.4, 3.4, -3.1, -13.7), id="parked at -20"),
    pytest.param(-10.0, (19.7, 15.2, 8.2, 3.1, -5.1), id="parked at -10"),
    pytest.param(0.0, (21.2, 18.0, 13.0, 9.4, 3.5), id="parked at 0"),
]


@pytest.mark.parametrize(("t_amb", "row"), COOLING)
def test_parked_cooling(t_amb: float, row: tuple[float, ...]) -> None:
    """Source: closed form, 440 kJ/K, underside alone: 12.2 h; with the floor of a cold cabin 7.6 h."""
    g = pack.underside_w_per_k(10.0, 0.0)
    for hours, expected in zip((2, 4, 8, 12, 24), row, strict=True):
        got = t_amb + (25.0 - t_amb) * math.exp(-g * hours * 3600.0 / 440e3)
        assert got == pytest.approx(expected, abs=0.06)
    assert 440e3 / g / 3600.0 == pytest.approx(12.2, abs=0.05)
    assert 440e3 / (g + 6.0) / 3600.0 == pytest.approx(7.6, abs=0.05)


PLATE = [pytest.param(5.0, 425.0, id="5 L per min"), pytest.param(10.0, 545.0, id="10 L per min")]


@pytest.mark.parametrize(("flow", "ua"), PLATE)
def test_plate_conductance(flow: float, ua: float) -> None:
    """Source: two resistances in series, values from memory."""
    film = pack.plate_film_w_per_k(1000.0, flow, 10.0, 1.0)
    assert 1.0 / (1.0 / 1200.0 + 1.0 / film) == pytest.approx(ua, abs=1.5)
    assert pack.plate_film_w_per_k(1000.0, flow, 10.0, 8.0) == pytest.approx(0.5 * film)
    assert pack.plate_film_w_per_k(1000.0, 0.0, 10.0, 1.0) == 0.0
