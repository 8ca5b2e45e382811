"""Friction, films, pumps and throats against published values.

Sources: Churchill 1977, Colebrook 1939, Haaland 1983, Blasius 1913 (values by fluids 1.3); Gnielinski 1976,
Dittus and Boelter 1930 (values by ht 1.2); Incropera et al., "Fundamentals of Heat and Mass Transfer",
example 11.1; White, "Fluid Mechanics", example 6.7 (book digits from memory); closed forms.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from heatwright.physics import hydraulics as hy
from heatwright.physics.coolant import coolant_fit, density, viscosity

O = np.uint64(0)  # noqa: E741
POINTS = ((1e4, 0.0), (1e5, 0.0), (1e5, 1e-4), (1e5, 1e-3), (1e6, 1e-3))
HOSE_M = 0.016
HOSE_AREA_M2 = math.pi / 4 * HOSE_M**2
HOSE_L_OVER_D = 5.0 / HOSE_M


def hose(litres_per_min: float, t_c: float) -> tuple[float, float]:
    """Return Reynolds number and drop [Pa] of 5 m of smooth 16 mm hose, 50 % glycol by mass."""
    c, t_k = coolant_fit(0.5), t_c + 273.15
    rho, mu = density(t_k, c, O), viscosity(t_k, c, O)
    mdot = litres_per_min / 6e4 * rho
    dp, _ = hy.channel_drop(mdot, HOSE_M, HOSE_AREA_M2, HOSE_L_OVER_D, 0.0, 0.0, rho, mu)
    return hy.reynolds(mdot, HOSE_M, HOSE_AREA_M2, mu), dp


@pytest.mark.parametrize(
    ("re", "f"),
    [pytest.param(1000.0, 0.0640, id="FR-01-1000"), pytest.param(2000.0, 0.0320, id="FR-01-2000")],
)
def test_laminar_friction(re: float, f: float) -> None:
    """64/Re; at Re 2000 Churchill's form is already 0.14 % above it."""
    assert hy.friction_churchill(re, 0.0)[0] == pytest.approx(f, rel=1e-12 if re <= 1000.0 else 2e-3)


@pytest.mark.parametrize(
    ("point", "f"),
    [
        pytest.param(point, f, id=f"FR-02-{i}")
        for i, (point, f) in enumerate(zip(POINTS, (0.030883, 0.017990, 0.018514, 0.022175, 0.019943), strict=True))
    ],
)
def test_colebrook(point: tuple[float, float], f: float) -> None:
    assert hy.friction_colebrook(*point) == pytest.approx(f, rel=1e-4)


@pytest.mark.parametrize(
    ("point", "f"),
    [
        pytest.param(point, f, id=f"FR-03-{i}")
        for i, (point, f) in enumerate(
            zip(
                (*POINTS, (3000.0, 1e-4), (2000.0, 0.0)),
                (0.031002, 0.017875, 0.018463, 0.022343, 0.020022, 0.043049, 0.032043),
                strict=True,
            )
        )
    ],
)
def test_churchill(point: tuple[float, float], f: float) -> None:
    found = hy.friction_churchill(*point)[0]
    assert found == pytest.approx(f, rel=1e-4)
    if point[0] > 4000.0:
        assert found == pytest.approx(hy.friction_colebrook(*point), rel=1e-2)


@pytest.mark.parametrize(
    ("point", "f"),
    [
        pytest.param(point, f, id=f"FR-04-{i}")
        for i, (point, f) in enumerate(zip(POINTS, (0.030886, 0.017825, 0.018265, 0.021966, 0.019941), strict=True))
    ],
)
def test_haaland(point: tuple[float, float], f: float) -> None:
    assert hy.friction_haaland(*point) == pytest.approx(f, rel=1e-4)


@pytest.mark.parametrize(
    ("re", "f"), [pytest.param(1e4, 0.031640, id="FR-05-1e4"), pytest.param(1e5, 0.017792, id="FR-05-1e5")]
)
def test_blasius(re: float, f: float) -> None:
    assert hy.friction_blasius(re) == pytest.approx(f, rel=5e-5)


@pytest.mark.parametrize("flow_m3_per_s", [pytest.param(0.2, id="FR-06")])
def test_commercial_pipe(flow_m3_per_s: float) -> None:
    """White, example 6.7: oil 900 kg/m3, 1e-5 m2/s, 500 m of 200 mm pipe, 0.26 mm rough, 10 deg downhill."""
    area = math.pi / 4 * 0.2**2
    re = hy.reynolds(900.0 * flow_m3_per_s, 0.2, area, 900.0 * 1e-5)
    dp, _ = hy.channel_drop(900.0 * flow_m3_per_s, 0.2, area, 2500.0, 0.0, 1.3e-3, 900.0, 9e-3)
    assert flow_m3_per_s / area == pytest.approx(6.366, rel=1e-4)
    assert re == pytest.approx(127324.0, rel=1e-5)
    assert hy.friction_colebrook(re, 1.3e-3) == pytest.approx(0.02272, rel=2e-3)
    assert dp / (900.0 * 9.81) == pytest.approx(117.4, rel=1e-2)
    # 1 % between Churchill and Colebrook is 4 % of the small difference from the weight of the oil
    assert dp - 900.0 * 9.81 * 500.0 * math.sin(math.radians(10.0)) == pytest.approx(269.5e3, rel=4e-2)


@pytest.mark.parametrize(
    ("flow", "dp_kpa"),
    [
        pytest.param(5.0, 1.043, id="FR-08-5"),
        pytest.param(10.0, 3.447, id="FR-08-10"),
        pytest.param(20.0, 11.555, id="FR-08-20"),
    ],
)
def test_hose_warm(flow: float, dp_kpa: float) -> None:
    """Churchill at 60 degC, computed with CoolProp properties."""
    assert hose(flow, 60.0)[1] / 1e3 == pytest.approx(dp_kpa, rel=2e-2)


@pytest.mark.parametrize(
    ("t_c", "re", "dp_kpa"),
    [
        pytest.param(-20.0, 647.0, 11.49, id="FR-09-minus-20"),
        pytest.param(0.0, 1797.0, 4.11, id="FR-09-0"),
        pytest.param(20.0, 3824.0, 4.62, id="FR-09-20"),
        pytest.param(60.0, 10037.0, 3.45, id="FR-09-60"),
    ],
)
def test_hose_by_temperature(t_c: float, re: float, dp_kpa: float) -> None:
    """Not monotonic: the transition costs more at 20 degC than laminar flow at 0."""
    found = hose(10.0, t_c)
    assert found[0] == pytest.approx(re, rel=2e-2)
    assert found[1] / 1e3 == pytest.approx(dp_kpa, rel=2e-2)


@pytest.mark.parametrize("re", [pytest.param(re, id=f"NU-01-{re:g}") for re in (0.0, 100.0, 2299.0)])
def test_laminar_nusselt(re: float) -> None:
    assert hy.nusselt(re, 30.0) == pytest.approx(3.66, rel=1e-3)


FLOWS = ((1e4, 5.0), (5e4, 5.0), (1e5, 0.7), (1e5, 6.0), (5000.0, 10.0))


@pytest.mark.parametrize(
    ("flow", "nu"),
    [
        pytest.param(flow, nu, id=f"NU-02-{i}")
        for i, (flow, nu) in enumerate(zip(FLOWS, (69.91, 285.17, 178.62, 559.80, 45.83), strict=True))
    ],
)
def test_gnielinski(flow: tuple[float, float], nu: float) -> None:
    assert hy.nusselt_gnielinski(*flow) == pytest.approx(nu, rel=1e-3)
    assert hy.nusselt(*flow) == hy.nusselt_gnielinski(*flow)


@pytest.mark.parametrize(
    ("flow", "heated", "cooled"),
    [
        pytest.param(flow, heated, cooled, id=f"NU-03-{i}")
        for i, (flow, heated, cooled) in enumerate(
            zip(
                FLOWS,
                (69.39, 251.5, 199.4, 471.0, 52.59),
                (59.08, 214.1, 206.7, 393.7, 41.77),
                strict=True,
            )
        )
    ],
)
def test_dittus_boelter(flow: tuple[float, float], heated: float, cooled: float) -> None:
    assert hy.nusselt_dittus_boelter(*flow, 0.4) == pytest.approx(heated, rel=1e-3)
    assert hy.nusselt_dittus_boelter(*flow, 0.3) == pytest.approx(cooled, rel=1e-3)
    assert hy.nusselt_gnielinski(*flow) == pytest.approx(heated, rel=0.20)


@pytest.mark.parametrize(("re", "nu"), [pytest.param(14050.0, 89.98, id="NU-04")])
def test_water_side_of_the_oil_cooler(re: float, nu: float) -> None:
    """Incropera, example 11.1: h = 2250 W/m2K with k = 0.625 W/mK in a 25 mm tube."""
    found = hy.nusselt_dittus_boelter(re, 4.85, 0.4)
    assert found == pytest.approx(nu, rel=1e-3)
    assert found * 0.625 / 0.025 == pytest.approx(2250.0, rel=1e-3)


@pytest.mark.parametrize(("flow", "power_w"), [pytest.param(10.0, 20.8, id="NW-08")])
def test_pump_power(flow: float, power_w: float) -> None:
    """Closed form V dp / eta: 10 L/min, 50 kPa, 40 %; as heat 0.0142 K of dp alone in 50 % glycol."""
    found = hy.pump_power(flow / 6e4, 50e3, 1.0, 0.0, 0.40, 0.35, 0.0)
    assert found == pytest.approx(power_w, rel=2e-3)
    warmer_k = 50e3 / (1064.93 * 3312.0)
    assert warmer_k == pytest.approx(0.0142, abs=5e-5)


def test_pump_power_at_rest_and_driven() -> None:
    assert hy.pump_power(1e-4, 1e4, 0.0, 4.0, 0.42, 0.35, 6.0) == 0.0
    assert hy.pump_power(1e-4, -1e4, 0.5, 4.0, 0.42, 0.35, 6.0) == pytest.approx(4.0 + 6.0 * 0.125)


@pytest.mark.parametrize("re", [2300.0, 4000.0])
def test_nusselt_has_no_jump(re: float) -> None:
    assert hy.nusselt(re + 1e-6, 20.0) == pytest.approx(hy.nusselt(re - 1e-6, 20.0), rel=1e-8)


def test_nusselt_never_falls() -> None:
    for pr in (0.7, 6.0, 30.0, 190.0):
        nu = [hy.nusselt(re, pr) for re in np.linspace(0.0, 2e4, 400)]
        assert (np.diff(nu) >= 0.0).all()


def test_film_at_rest_and_backwards() -> None:
    args = (0.008, 5e-5, 2e-3, 3400.0, 0.4)
    assert hy.film(0.0, *args) == pytest.approx(3.66 * 0.4 / 0.008)
    assert hy.film(-0.2, *args) == hy.film(0.2, *args) > 1000.0


@pytest.mark.parametrize("roughness", [0.0, 1e-4, 1e-2])
def test_friction_slope(roughness: float) -> None:
    for re in np.geomspace(1.5, 1e7, 200):
        low, high = (math.log(hy.friction_churchill(re * f, roughness)[0]) for f in (1.0 - 1e-5, 1.0 + 1e-5))
        assert hy.friction_churchill(re, roughness)[1] == pytest.approx((high - low) / 2e-5, abs=2e-4)


@pytest.mark.parametrize("t_c", [-30.0, 20.0, 80.0])
def test_channel_is_odd_rising_and_differentiable(t_c: float) -> None:
    c = coolant_fit(0.5)
    rho, mu = density(t_c + 273.15, c, O), viscosity(t_c + 273.15, c, O)
    last = -1.0
    for m in (0.0, *np.geomspace(1e-9, 2.0, 120)):
        dp, slope = hy.channel_drop(m, 0.01, 1e-4, 200.0, 5.0, 0.0, rho, mu)
        assert hy.channel_drop(-m, 0.01, 1e-4, 200.0, 5.0, 0.0, rho, mu) == (-dp, slope)
        assert dp > last
        assert slope > 0.0
        last = dp
        d = 1e-6 * m + 1e-12
        low, high = (hy.channel_drop(m + s, 0.01, 1e-4, 200.0, 5.0, 0.0, rho, mu)[0] for s in (-d, d))
        assert slope == pytest.approx((high - low) / (2 * d), rel=1e-4)


def test_channel_meets_its_declared_drop() -> None:
    c = coolant_fit(0.5)
    rho, mu = density(313.15, c, O), viscosity(313.15, c, O)
    mdot = 10.0 / 6e4 * rho
    for k_minor in (0.0, 3.0):
        ratio = hy.channel_length_ratio(8.4e3, mdot, 0.004, 1.5e-4, rho, mu, k_minor)
        assert hy.channel_drop(mdot, 0.004, 1.5e-4, ratio, k_minor, 0.0, rho, mu)[0] == pytest.approx(8.4e3)
    assert hy.channel_length_ratio(1.0, mdot, 0.004, 1.5e-4, rho, mu, 1e3) == 0.0


def test_laminar_channel_rises_with_viscosity() -> None:
    """50 % glycol is 10.5 times as viscous at -20 as at 40 degC (CoolProp: 22.2 and 2.10 mPa s)."""
    c = coolant_fit(0.5)
    drop = {}
    for t_c in (-20.0, 40.0):
        rho, mu = density(t_c + 273.15, c, O), viscosity(t_c + 273.15, c, O)
        drop[t_c] = hy.channel_drop(0.3 / 6e4 * rho, 0.002, 1.2e-4, 150.0, 0.0, 0.0, rho, mu)[0]
    assert drop[-20.0] / drop[40.0] == pytest.approx(22.2 / 2.10, rel=1e-2)


def test_throat() -> None:
    assert hy.throat_coefficient(1.0, 4.0, 4e4) == pytest.approx(4.0)
    assert hy.throat_coefficient(0.0, 4.0, 4e4) == pytest.approx(4e4)
    assert hy.throat_coefficient(-1.0, 4.0, 4e4) == pytest.approx(4e4)
    k = [hy.throat_coefficient(x, 4.0, 4e4) for x in np.linspace(0.0, 1.0, 11)]
    assert np.diff(1.0 / np.sqrt(k)) == pytest.approx(0.1 * (0.5 - 0.005))


@pytest.mark.parametrize("exponent", [1.8, 2.0])
def test_pump_curve(exponent: float) -> None:
    """Closed form: affinity laws; falling everywhere; slope by differences."""
    h0, q0 = 65e3, 45e-3 / 60
    for s in (0.05, 0.15, 0.7, 1.0):
        for q in (0.0, 0.3 * q0, q0, 1.4 * q0):
            full, _ = hy.pump_head(q, 1.0, h0, q0, exponent, 0.5)
            assert hy.pump_head(q * s, s, h0, q0, exponent, 0.5)[0] == pytest.approx(full * s * s, abs=1e-6)
    for s in (0.0, 0.01, 0.05, 0.5, 1.0):
        last = math.inf
        for q in np.linspace(-2.0 * q0, 2.0 * q0, 81):
            head, slope = hy.pump_head(q, s, h0, q0, exponent, 0.5)
            assert head < last
            assert slope <= 0.0
            last = head
            d = 1e-6 * q0
            low, high = (hy.pump_head(q + e, s, h0, q0, exponent, 0.5)[0] for e in (-d, d))
            assert slope == pytest.approx((high - low) / (2 * d), rel=1e-3, abs=20.0 * h0)


def test_stopped_pump_resists() -> None:
    q0 = 45e-3 / 60
    assert hy.pump_head(q0, 0.0, 65e3, q0, 1.8, 0.5)[0] == pytest.approx(-32.5e3)
    assert hy.pump_head(-q0, -0.2, 65e3, q0, 1.8, 0.5)[0] == pytest.approx(32.5e3)
    below, above = (hy.pump_head(0.5 * q0, s, 65e3, q0, 1.8, 1000.0)[0] for s in (0.05 - 1e-9, 0.05 + 1e-9))
    assert below == pytest.approx(above, abs=1.0)
