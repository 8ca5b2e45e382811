"""Moist air against published tables and worked examples.

Sources: ASHRAE Handbook - Fundamentals, chapter 1 (values by psychrolib 2.5); IAPWS releases (by iapws 1.5);
Cengel and Boles, "Thermodynamics", chapter 14; Murphy and Koop 2005.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from heatwright.physics import moist_air as air

P0 = 101325.0


def rows(row: str, table: dict[float, float]) -> list[object]:
    """Return one parameter set a column of a published table."""
    return [pytest.param(x, value, id=f"{row}[{x:g}]") for x, value in table.items()]


def w_of(t_c: float, rh: float) -> float:
    """Return the humidity ratio at a relative humidity."""
    return air.humidity_ratio(rh * air.saturation_pressure(t_c + 273.15), P0)


@pytest.mark.parametrize(
    ("t_c", "p_pa"),
    rows(
        "PS-01",
        {-40: 12.845, -30: 38.016, -20: 103.26, -10: 259.90, 0: 611.15}
        | {10: 1228.0, 20: 2338.8, 30: 4246.0, 40: 7383.5, 50: 12349.9},
    )
    + rows("PS-02", {-40.0: 12.841, -30.0: 38.005, -20.0: 103.239, -10.0: 259.874, -5.0: 401.741}),
)
def test_saturation_pressure(t_c: float, p_pa: float) -> None:
    """Hyland and Wexler as in ASHRAE Fundamentals; sublimation by IAPWS R14-08."""
    assert air.saturation_pressure(t_c + 273.15) == pytest.approx(p_pa, rel=1e-3)


@pytest.mark.parametrize("t_c", np.linspace(-60.0, 105.0, 34))
def test_saturation_pressure_keeps_to_its_source(t_c: float) -> None:
    """Hyland and Wexler 1983 as printed in ASHRAE Fundamentals (coefficients from memory)."""
    t = t_c + 273.15
    if t < 273.16:
        poly = -5.6745359e3 / t + 6.3925247 - 9.677843e-3 * t + 6.2215701e-7 * t**2 + 2.0747825e-9 * t**3
        expected = math.exp(poly - 9.484024e-13 * t**4 + 4.1635019 * math.log(t))
    else:
        poly = -5.8002206e3 / t + 1.3914993 - 4.8640239e-2 * t + 4.1764768e-5 * t**2
        expected = math.exp(poly - 1.4452093e-8 * t**3 + 6.5459673 * math.log(t))
    assert air.saturation_pressure(t) == pytest.approx(expected, rel=3e-5)


def test_saturation_pressure_has_no_jump() -> None:
    below, above = (air.saturation_pressure(273.16 + d) for d in (-1e-9, 1e-9))
    assert above == pytest.approx(below, rel=1e-9)


@pytest.mark.parametrize(
    ("t_c", "ratio"), rows("PS-03", {-5: 1.0498, -10: 1.1022, -20: 1.2155, -30: 1.3400, -40: 1.4724})
)
def test_supercooled_water_over_ice(t_c: float, ratio: float) -> None:
    """Murphy and Koop 2005."""
    t_k = t_c + 273.15
    found = air.saturation_pressure_supercooled(t_k) / air.saturation_pressure(t_k)
    assert found == pytest.approx(ratio, rel=5e-3)


@pytest.mark.parametrize(
    ("t_c", "w_g_per_kg"),
    rows(
        "PS-04",
        {-20: 0.6345, -10: 1.5994, 0: 3.7741, 5: 5.4019, 10: 7.6301, 15: 10.6475}
        | {20: 14.6951, 25: 20.0811, 30: 27.2026, 35: 36.5757, 40: 48.8826},
    ),
)
def test_saturation_humidity_ratio(t_c: float, w_g_per_kg: float) -> None:
    assert air.saturation_humidity_ratio(t_c + 273.15, P0) * 1e3 == pytest.approx(w_g_per_kg, rel=2e-3)


@pytest.mark.parametrize(
    ("t_c", "rh", "expected"),
    [
        pytest.param(25, 0.50, {"w": 9.8810, "dew": 13.864, "wet": 17.889, "h": 50.322}, id="PS-05"),
        pytest.param(35, 0.40, {"w": 14.132, "dew": 19.385, "wet": 23.934, "h": 71.473}, id="PS-06"),
        pytest.param(43, 0.25, {"w": 13.562, "dew": 18.739, "wet": 25.645, "h": 78.261, "rho": 1.1075}, id="PS-07"),
        pytest.param(-10, 0.80, {"w": 1.2789, "dew": -12.490, "h": -6.885}, id="PS-08"),
        pytest.param(-20, 0.80, {"w": 0.5075, "rho": 1.3940}, id="PS-09"),
    ],
)
def test_state(t_c: float, rh: float, expected: dict[str, float]) -> None:
    t_k = t_c + 273.15
    w = w_of(t_c, rh)
    assert w * 1e3 == pytest.approx(expected["w"], rel=1e-3)
    assert air.relative_humidity(t_k, w, P0) == pytest.approx(rh, rel=1e-12)
    if "dew" in expected:
        assert air.dew_point_k(w, P0) - 273.15 == pytest.approx(expected["dew"], abs=0.02)
    if "wet" in expected:
        assert air.wet_bulb_k(t_k, w, P0) - 273.15 == pytest.approx(expected["wet"], abs=0.02)
    if "h" in expected:
        assert air.enthalpy(t_k, w) / 1e3 == pytest.approx(expected["h"], rel=1e-3)
    if "rho" in expected:
        assert air.density(t_k, w, P0) == pytest.approx(expected["rho"], rel=1e-3)


def test_specific_volume_per_dry_air() -> None:
    """PS-05: 0.85804 m3 per kg of dry air at 25 degC, 50 %."""
    w = w_of(25.0, 0.5)
    assert (1.0 + w) / air.density(298.15, w, P0) == pytest.approx(0.85804, rel=1e-3)


@pytest.mark.parametrize("t_c", [pytest.param(40.0, id="PS-10")])
def test_state_from_wet_bulb(t_c: float) -> None:
    """ASHRAE Fundamentals, chapter 1, example: 40 degC dry bulb, 20 degC wet bulb."""
    w = air.humidity_ratio_from_wet_bulb(t_c + 273.15, 293.15, P0)
    assert w == pytest.approx(0.0064, abs=6e-5)
    assert air.enthalpy(t_c + 273.15, w) / 1e3 == pytest.approx(56.7, rel=1e-2)
    assert air.dew_point_k(w, P0) - 273.15 == pytest.approx(7.4, abs=0.1)
    assert air.relative_humidity(t_c + 273.15, w, P0) == pytest.approx(0.14, abs=2e-3)
    assert (1.0 + w) / air.density(t_c + 273.15, w, P0) == pytest.approx(0.896, rel=1e-2)


@pytest.mark.parametrize("t_c", [pytest.param(25.0, id="PS-11")])
def test_adiabatic_saturation(t_c: float) -> None:
    """Cengel and Boles, example 14-3: 25 degC dry bulb, 15 degC wet bulb."""
    w = air.humidity_ratio_from_wet_bulb(t_c + 273.15, 288.15, P0)
    assert w == pytest.approx(0.006526, rel=5e-3)
    assert air.relative_humidity(t_c + 273.15, w, P0) == pytest.approx(0.3319, rel=5e-3)
    assert air.enthalpy(t_c + 273.15, w) / 1e3 == pytest.approx(41.74, rel=5e-3)


@pytest.mark.parametrize(("t_c", "rh", "dew_c"), [pytest.param(20.0, 0.75, 15.4, id="PS-12")])
def test_dew_point_of_a_room(t_c: float, rh: float, dew_c: float) -> None:
    """Cengel and Boles, example 14-2."""
    assert air.dew_point_k(w_of(t_c, rh), P0) - 273.15 == pytest.approx(dew_c, abs=0.1)


@pytest.mark.parametrize("flow_m3_per_min", [pytest.param(10.0, id="PS-13")])
def test_cooling_with_condensate(flow_m3_per_min: float) -> None:
    """Cengel and Boles, example 14-6: 30 degC, 80 % to saturated 14 degC; condensate leaves at 14 degC."""
    w1, w2 = w_of(30.0, 0.8), w_of(14.0, 1.0)
    dry = flow_m3_per_min * air.density(303.15, w1, P0) / (1.0 + w1)
    condensate = dry * (w1 - w2)
    heat = dry * (air.enthalpy(303.15, w1) - air.enthalpy(287.15, w2))
    heat -= condensate * air.CP_WATER_J_PER_KG_K * 14.0
    assert dry == pytest.approx(11.25, rel=5e-3)
    assert condensate == pytest.approx(0.131, rel=5e-3)
    assert heat / 1e3 == pytest.approx(511.0, rel=5e-3)


@pytest.mark.parametrize("flow_m3_per_s", [pytest.param(5.0, id="PS-15")])
def test_cooling_to_saturation(flow_m3_per_s: float) -> None:
    """ASHRAE Fundamentals, chapter 1, example (its digits from memory): 30 degC, 50 % to saturated 10."""
    w1, w2 = w_of(30.0, 0.5), w_of(10.0, 1.0)
    dry = flow_m3_per_s * air.density(303.15, w1, P0) / (1.0 + w1)
    water = (w1 - w2) * air.CP_WATER_J_PER_KG_K * 10.0
    heat = dry * (air.enthalpy(303.15, w1) - air.enthalpy(283.15, w2) - water)
    assert dry == pytest.approx(5.70, rel=1e-2)
    assert heat / 1e3 == pytest.approx(197.7, rel=1e-2)


@pytest.mark.parametrize("first_m3_per_min", [pytest.param(50.0, id="PS-16")])
def test_adiabatic_mixing(first_m3_per_min: float) -> None:
    """Cengel and Boles, example 14-8: 50 m3/min saturated at 14 degC with 20 m3/min of 32 degC, 60 %."""
    w1, w2 = w_of(14.0, 1.0), w_of(32.0, 0.6)
    m1 = first_m3_per_min * air.density(287.15, w1, P0) / (1.0 + w1)
    m2 = 20.0 * air.density(305.15, w2, P0) / (1.0 + w2)
    w3 = (m1 * w1 + m2 * w2) / (m1 + m2)
    h3 = (m1 * air.enthalpy(287.15, w1) + m2 * air.enthalpy(305.15, w2)) / (m1 + m2)
    t3_k = air.temperature_from_enthalpy(h3, w3)
    assert w3 == pytest.approx(0.0122, abs=1e-4)
    assert t3_k - 273.15 == pytest.approx(19.0, abs=0.1)
    assert air.relative_humidity(t3_k, w3, P0) == pytest.approx(0.89, abs=0.01)


@pytest.mark.parametrize("bypass", [pytest.param(0.2, id="PS-19")])
def test_coil_with_bypass(bypass: float) -> None:
    """Bypass-factor method of the textbooks: 27 degC, 50 %, apparatus dew point 8 degC."""
    w1, wa = w_of(27.0, 0.5), w_of(8.0, 1.0)
    t2_k = 281.15 + bypass * 19.0
    w2 = wa + bypass * (w1 - wa)
    h1, h2 = air.enthalpy(300.15, w1), air.enthalpy(t2_k, w2)
    sensible = (h1 - h2 - (w1 - w2) * (air.enthalpy(300.15, 1.0) - air.enthalpy(300.15, 0.0))) / (h1 - h2)
    assert t2_k - 273.15 == pytest.approx(11.8, abs=0.01)
    assert w2 * 1e3 == pytest.approx(7.553, rel=5e-3)
    assert air.relative_humidity(t2_k, w2, P0) == pytest.approx(0.878, rel=5e-3)
    assert (h1 - h2) / 1e3 == pytest.approx(24.67, rel=5e-3)
    assert sensible == pytest.approx(0.631, rel=5e-3)


@pytest.mark.parametrize(
    ("t_glass_c", "rh", "w_g_per_kg"),
    [
        pytest.param(-4.50, 0.159, 2.584, id="PS-21-minus-10"),
        pytest.param(3.78, 0.303, 4.956, id="PS-21-0"),
        pytest.param(7.92, 0.403, 6.620, id="PS-21-plus-5"),
    ],
)
def test_fogging_limit(t_glass_c: float, rh: float, w_g_per_kg: float) -> None:
    """Cabin at 22 degC fogs its screen once its dew point reaches the glass."""
    w = air.saturation_humidity_ratio(t_glass_c + 273.15, P0)
    assert w * 1e3 == pytest.approx(w_g_per_kg, rel=2e-3)
    assert air.relative_humidity(295.15, w, P0) == pytest.approx(rh, abs=5e-3)
    assert air.dew_point_k(w, P0) - 273.15 == pytest.approx(t_glass_c, abs=1e-6)


@pytest.mark.parametrize(
    ("found", "expected", "rel"),
    [
        pytest.param(lambda: air.H_FUSION_J_PER_KG, 333.4e3, 1e-3, id="PS-22-melting"),
        pytest.param(lambda: air.heat_of_vaporisation(273.16), 2500.9e3, 1e-3, id="PS-22-boiling"),
        pytest.param(lambda: air.heat_of_sublimation(273.16), 2834.4e3, 1e-3, id="PS-22-sublimation"),
        pytest.param(lambda: air.ice_heat_capacity(263.15), 2023.0, 2e-3, id="PS-23-cp-minus-10"),
        pytest.param(lambda: air.ice_density(263.15), 918.2, 2e-3, id="PS-23-rho-minus-10"),
        pytest.param(lambda: air.ice_heat_capacity(273.15), 2097.0, 2e-3, id="PS-23-cp-0"),
        pytest.param(lambda: air.ice_density(273.15), 916.7, 2e-3, id="PS-23-rho-0"),
        pytest.param(lambda: air.heat_of_vaporisation(283.15), 2477.2e3, 5e-4, id="PS-24-10"),
        pytest.param(lambda: air.heat_of_vaporisation(293.15), 2453.5e3, 5e-4, id="PS-24-20"),
        pytest.param(lambda: air.heat_of_vaporisation(298.15), 2441.7e3, 5e-4, id="PS-24-25"),
        pytest.param(lambda: air.heat_of_vaporisation(323.15), 2381.9e3, 5e-4, id="PS-24-50"),
        pytest.param(lambda: air.density(273.15, 0.0, P0), 1.2923, 1e-3, id="PS-26-0"),
        pytest.param(lambda: air.density(293.15, 0.0, P0), 1.2041, 1e-3, id="PS-26-20"),
        pytest.param(lambda: air.density(253.15, 0.0, P0), 1.3944, 1e-3, id="PS-26-minus-20"),
    ],
)
def test_constants_of_water_and_air(found: Callable[[], float], expected: float, rel: float) -> None:
    """IAPWS-06 and IAPWS-95 by iapws and CoolProp; ideal gas with R = 287.05 J/kgK."""
    assert found() == pytest.approx(expected, rel=rel)


@pytest.mark.parametrize(
    ("t_c", "energy_kj"),
    [pytest.param(0.0, 152.9, id="PS-25-0"), pytest.param(-18.0, 170.0, id="PS-25-minus-18")],
)
def test_least_defrost_energy(t_c: float, energy_kj: float) -> None:
    """Half a millimetre of ice on a square metre: m (L + c dT)."""
    mass = 0.5e-3 * air.ice_density(273.15)
    energy = mass * (air.H_FUSION_J_PER_KG - air.ice_heat_capacity(273.15 + 0.5 * t_c) * t_c)
    assert energy / 1e3 == pytest.approx(energy_kj, rel=5e-3)


@pytest.mark.parametrize(
    ("flow_m3_per_h", "load_kw"),
    [pytest.param(300.0, 4.91, id="PS-27-300"), pytest.param(150.0, 2.46, id="PS-27-150")],
)
def test_ventilation_load(flow_m3_per_h: float, load_kw: float) -> None:
    """-20 degC, 80 % to 22 degC, volume at the outside state, sensible."""
    w = w_of(-20.0, 0.8)
    dry = flow_m3_per_h / 3600.0 * air.density(253.15, w, P0) / (1.0 + w)
    load = dry * (air.enthalpy(295.15, w) - air.enthalpy(253.15, w))
    assert load / 1e3 == pytest.approx(load_kw, rel=5e-3)


@pytest.mark.parametrize("p_pa", [70e3, P0])
def test_dew_point_inverts_saturation(p_pa: float) -> None:
    for t_k in np.linspace(215.0, 360.0, 146):
        w = air.saturation_humidity_ratio(t_k, p_pa)
        assert air.dew_point_k(w, p_pa) == pytest.approx(t_k, abs=1e-6)


def test_wet_bulb_inverts_and_is_bounded() -> None:
    for t_k in np.linspace(250.0, 320.0, 15):
        for rh in (0.1, 0.5, 0.9, 1.0):
            w = rh * air.saturation_humidity_ratio(t_k, P0)
            wet_k = air.wet_bulb_k(t_k, w, P0)
            assert air.dew_point_k(w, P0) - 0.05 <= wet_k <= t_k
            if abs(wet_k - 273.15) > 0.5:
                assert air.humidity_ratio_from_wet_bulb(t_k, wet_k, P0) == pytest.approx(w, abs=1e-9)


def test_vapour_pressure_inverts_humidity_ratio() -> None:
    for w in (0.0, 1e-4, 0.01, 0.1):
        assert air.humidity_ratio(air.vapour_pressure(w, P0), P0) == pytest.approx(w, rel=1e-12)
    assert air.humidity_ratio(2.0 * P0, P0) == pytest.approx(5.5975, rel=1e-4)
