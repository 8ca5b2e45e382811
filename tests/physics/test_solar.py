"""Sun on a pane: geometry, sheet and pane optics, energy split."""

from __future__ import annotations

import math

import numpy as np
import pytest

from heatwright.physics import solar

RAD = math.pi / 180.0

PLANES = [
    pytest.param(90.0, 180.0, 314.9, id="SO-08 vertical south"),
    pytest.param(30.0, 180.0, 980.7, id="SO-08 tilted south"),
]


@pytest.mark.parametrize(("slope", "azimuth", "expected"), PLANES)
def test_plane_of_array(slope: float, azimuth: float, expected: float) -> None:
    """Source: solar library, isotropic sky, albedo 0.2, 21 June noon (zenith 10.01; 924.8 and 105.1 W/m2)."""
    direct, diffuse, _ = solar.pane_irradiance(924.8, 105.1, 79.99 * RAD, math.pi, slope * RAD, azimuth * RAD, 0.2)
    assert direct + diffuse == pytest.approx(expected, rel=0.002)


def sheet(degrees: float, extinction: float, thickness_m: float) -> tuple[float, float, float]:
    return solar.sheet_optics(math.cos(degrees * RAD), 1.526, extinction, thickness_m)


@pytest.mark.parametrize("degrees", [pytest.param(60.0, id="SO-09")])
def test_one_sheet_of_the_textbook(degrees: float) -> None:
    """Source: Duffie & Beckman, worked example: n 1.526, K 32 1/m, 2.3 mm (book digits from memory)."""
    assert sheet(degrees, 32.0, 2.3e-3) == pytest.approx((0.768, 0.147, 0.085), abs=0.001)


CLEAR = [
    pytest.param(0.0, 0.902, 0.082, id="SO-10 0 deg"),
    pytest.param(30.0, 0.899, 0.084, id="SO-10 30 deg"),
    pytest.param(60.0, 0.825, 0.155, id="SO-10 60 deg"),
    pytest.param(75.0, 0.600, 0.380, id="SO-10 75 deg"),
]


@pytest.mark.parametrize(("degrees", "tau", "rho"), CLEAR)
def test_clear_sheet(degrees: float, tau: float, rho: float) -> None:
    """Source: Fresnel and Stokes, 4 mm, K 4 1/m."""
    assert sheet(degrees, 4.0, 4e-3)[:2] == pytest.approx((tau, rho), abs=0.001)


TINTED = [
    pytest.param(0.0, 0.721, 0.211, id="SO-11 0 deg"),
    pytest.param(30.0, 0.709, 0.222, id="SO-11 30 deg"),
    pytest.param(60.0, 0.625, 0.246, id="SO-11 60 deg"),
    pytest.param(75.0, 0.436, 0.242, id="SO-11 75 deg"),
]


@pytest.mark.parametrize(("degrees", "tau", "alpha"), TINTED)
def test_tinted_sheet(degrees: float, tau: float, alpha: float) -> None:
    """Source: Fresnel and Stokes, 4 mm, K 60 1/m."""
    assert sheet(degrees, 60.0, 4e-3)[::2] == pytest.approx((tau, alpha), abs=0.001)


RATIOS = [
    pytest.param(d, r, id=f"SO-12 {d} deg")
    for d, r in ((30, 0.9979), (45, 0.9880), (60, 0.9460), (70, 0.8597), (80, 0.6341))
]


@pytest.mark.parametrize(("degrees", "ratio"), RATIOS)
def test_incidence_modifier(degrees: float, ratio: float) -> None:
    """Source: solar library's physical modifier, n 1.526, K 4 1/m, 2 mm: one face and one pass.

    It stands for glass with an absorber behind; a free sheet has a second face and no such ratio.
    """
    assert one_pass(math.cos(degrees * RAD)) / one_pass(1.0) == pytest.approx(ratio, abs=1e-3)


def one_pass(cosine: float) -> float:
    """Return what one face lets in, weakened by one pass; the face is that of an opaque sheet."""
    inside = math.sqrt(1.0 - (1.0 - cosine**2) / 1.526**2)
    _, rho, _ = solar.sheet_optics(cosine, 1.526, 1e9, 1.0)
    return (1.0 - rho) * math.exp(-4.0 * 2e-3 / inside)


@pytest.mark.parametrize("tau", [pytest.param(0.50, id="SO-13")])
def test_default_screen_within_bands(tau: float) -> None:
    """Source: glazing literature (value from memory): direct .45-.55, total .55-.65, moving car."""
    through, _, absorbed = solar.pane_optics(1.0, tau, 0.35)
    assert 0.45 <= through <= 0.55
    assert 0.55 <= through + absorbed * solar.inward_share(9.0, 25.0) <= 0.65


@pytest.mark.parametrize("degrees", [pytest.param(d, id=f"SO-14 {d} deg") for d in range(0, 91, 15)])
def test_parts_add_to_one(degrees: float) -> None:
    """Source: conservation of energy; inward part h_i / (h_i + h_o)."""
    for optics in (
        sheet(degrees, 32.0, 3e-3),
        solar.pane_optics(math.cos(degrees * RAD), 0.45, 0.35),
        solar.pane_optics(math.cos(degrees * RAD), 0.90, 0.35),
    ):
        assert sum(optics) == pytest.approx(1.0, abs=1e-12)
        assert min(optics) >= 0.0
    assert solar.inward_share(9.0, 24.3) + solar.inward_share(24.3, 9.0) == pytest.approx(1.0)


PANES_BY_ANGLE = [
    pytest.param(0.902, 0.016, ((30, 0.899, 0.017), (60, 0.825, 0.020), (75, 0.600, 0.020)), id="SO-10 pane"),
    pytest.param(0.721, 0.211, ((30, 0.709, 0.222), (60, 0.625, 0.246), (75, 0.436, 0.242)), id="SO-11 pane"),
]


@pytest.mark.parametrize(("tau", "alpha", "angles"), PANES_BY_ANGLE)
def test_a_pane_known_square_on_alone(tau: float, alpha: float, angles: tuple[tuple[int, float, float], ...]) -> None:
    """Source: Fresnel and Stokes, clear and tinted sheets of 4 mm: the angle follows from the value square on."""
    assert solar.pane_optics(1.0, tau, alpha)[::2] == pytest.approx((tau, alpha), abs=1e-12)
    for degrees, through, kept in angles:
        assert solar.pane_optics(math.cos(degrees * RAD), tau, alpha)[::2] == pytest.approx((through, kept), abs=0.002)


def test_an_opaque_face_lets_nothing_through() -> None:
    through, turned, kept = solar.pane_optics(0.5, 0.0, 0.9)
    assert through == 0.0
    assert kept == pytest.approx(1.0 - turned)
    assert 0.8 < kept < 0.9


def test_sun_behind_or_below() -> None:
    """Source: geometry: no direct light from behind a pane or from below the horizon."""
    direct, diffuse, cosine = solar.pane_irradiance(900.0, 80.0, 0.3, 0.0, math.pi / 2, math.pi, 0.2)
    assert direct == 0.0
    assert cosine < 0.0
    assert diffuse > 0.0
    assert solar.pane_irradiance(900.0, 0.0, -0.1, 0.0, math.pi / 2, 0.0, 0.2)[:2] == (0.0, 0.0)


@pytest.mark.parametrize("turn", np.linspace(-3.0, 3.0, 7))
def test_only_the_angle_to_the_car_matters(turn: float) -> None:
    """Source: geometry; the incidence angle is the arc between two unit vectors."""
    h, a, s, p = 0.7, 0.4 + turn, 1.1, -0.9 + turn
    sun = np.array([math.cos(h) * math.cos(a), math.cos(h) * math.sin(a), math.sin(h)])
    pane = np.array([math.sin(s) * math.cos(p), math.sin(s) * math.sin(p), math.cos(s)])
    assert solar.incidence_cosine(h, a, s, p) == pytest.approx(float(sun @ pane))
    assert solar.incidence_rad(h, a, s, p) == pytest.approx(math.acos(float(sun @ pane)))


PANES = (
    (1.15, 29, 0, 0.50),
    (0.9, 65, 90, 0.45),
    (0.9, 65, -90, 0.45),
    (0.85, 35, 180, 0.40),
    (1.1, 0, 0, 0.10),
)
TOTALS = [
    pytest.param(elevation, direct, watts, id=f"{elevation} deg")
    for elevation, direct, watts in (
        (20, 700.0, 570.0),
        (45, 900.0, 920.0),
        (70, 900.0, 1060.0),
        (90, 900.0, 1100.0),
    )
]


@pytest.mark.parametrize(("elevation", "direct", "watts"), TOTALS)
def test_sun_through_all_panes(elevation: float, direct: float, watts: float) -> None:
    """Source: table of the default car computed by other code, sun 45 deg off the nose, diffuse 100 W/m2."""
    total = 0.0
    for area, slope, azimuth, tau in PANES:
        through, _ = solar.pane_gain(
            direct, 100.0, elevation * RAD, 45.0 * RAD, slope * RAD, azimuth * RAD, 0.2, tau, 0.35,
            *solar.diffuse_optics(tau, 0.35),
        )  # fmt: skip
        total += area * through
    assert total == pytest.approx(watts, rel=0.1)
