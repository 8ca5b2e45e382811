"""Electric heaters: limits and losses.

Sources: SY-17, a resistive air-heater module, Energies 2016, 9(1), 18 (power seen, efficiency a value from
memory); Park & Kim, Energies 10 (2017) 1494, 5.5 kW and 98 %; the rest values from memory.
"""

from __future__ import annotations

import pytest

from heatwright.physics import heaters

CP = 1006.0
FULL = 300.0 / 3600.0


@pytest.mark.parametrize(("p_rated", "efficiency"), [pytest.param(5600.0, 0.985, id="SY-17")])
def test_rated_module(p_rated: float, efficiency: float) -> None:
    """330 V class module: 5.6 kW at rated air, 98-99 % into the air; nothing is lost from the balance."""
    drawn = heaters.air_heater_limit_w(p_rated, 273.15, FULL, 1.0, 363.15, CP)
    to_air, lost = heaters.heater_heat_w(drawn, efficiency)
    assert drawn == pytest.approx(5600.0)
    assert 0.98 < to_air / drawn < 0.99
    assert to_air + lost == pytest.approx(drawn)


@pytest.mark.parametrize(("t_c", "share"), [(20.0, 1.0), (75.0, 1.0), (82.5, 0.5), (90.0, 0.0), (95.0, 0.0)])
def test_coolant_heater_gives_way_when_hot(t_c: float, share: float) -> None:
    assert heaters.coolant_heater_limit_w(7e3, t_c + 273.15, 2e-4, 1e-4) == pytest.approx(share * 7e3)


@pytest.mark.parametrize(("flow", "share"), [(0.0, 0.0), (0.5e-4, 0.5), (1e-4, 1.0), (3e-4, 1.0), (-1e-4, 0.0)])
def test_coolant_heater_needs_flow(flow: float, share: float) -> None:
    assert heaters.coolant_heater_limit_w(7e3, 300.0, flow, 1e-4) == pytest.approx(share * 7e3)


def test_air_heater_limits_itself() -> None:
    """About 0.6 % less per kelvin of inlet; more with air; never hotter air than its cap."""
    cold, warm = (heaters.air_heater_limit_w(5.5e3, t, FULL, 1.0, 400.0, CP) for t in (273.15, 283.15))
    assert (cold - warm) / cold == pytest.approx(0.0625, abs=0.003)
    assert heaters.air_heater_limit_w(5.5e3, 273.15, 2.0 * FULL, 1.0, 400.0, CP) == pytest.approx(cold * 2.0**0.35)
    assert heaters.air_heater_limit_w(5.5e3, 273.15, FULL, 0.5, 400.0, CP) == pytest.approx(cold * 0.5**0.6)
    assert heaters.air_heater_limit_w(5.5e3, 273.15, 0.0, 1.0, 400.0, CP) == 0.0
    assert heaters.air_heater_limit_w(5.5e3, 440.0, FULL, 1.0, 600.0, CP) == 0.0
    for flow in (0.002, 0.01, 0.05):
        p = heaters.air_heater_limit_w(5.5e3, 260.0, flow, 1.0, 363.15, CP)
        assert 260.0 + p / (flow * CP) <= 363.15 + 1e-9


@pytest.mark.parametrize(("t_c", "share"), [(10.0, 1.0), (42.5, 0.5), (60.0, 0.0)])
def test_pad(t_c: float, share: float) -> None:
    assert heaters.pad_limit_w(2e3, t_c + 273.15, 313.15, 318.15) == pytest.approx(share * 2e3)
