"""Comfort: the validation table of ISO 7730, its curve of dissatisfied, and the worth of heaters at the body.

Sources: ISO 7730:2005 annex D (votes to two decimals are values from memory, to one decimal as in a public
data set of comfort models); ASHRAE Standard 55 validation table.  The row 23.5/23.5/0.10/40 %/1.2/1.0 of annex D
is left out: its printed vote disagrees with the program printed beside it.
"""

from __future__ import annotations

import pytest

from heatwright.physics import comfort
from heatwright.physics.moist_air import saturation_pressure

ZERO = 273.15


def vote(air: float, radiant: float, speed: float, humidity: float, met: float, clo: float) -> float:
    """Return the vote of a state in the units of the standard's table [degC, m/s, %, met, clo]."""
    pressure = humidity / 100.0 * saturation_pressure(air + ZERO)
    metabolic, clothing = met * comfort.MET_W_PER_M2, clo * comfort.CLO_M2K_PER_W
    return comfort.pmv(air + ZERO, radiant + ZERO, speed, pressure, metabolic, 0.0, clothing)


ANNEX_D = [
    pytest.param((22.0, 22.0, 0.10, 60.0, 1.2, 0.5), -0.75, 17, id="CO-01"),
    pytest.param((27.0, 27.0, 0.10, 60.0, 1.2, 0.5), 0.77, 17, id="CO-02"),
    pytest.param((27.0, 27.0, 0.30, 60.0, 1.2, 0.5), 0.44, 9, id="CO-03"),
    pytest.param((23.5, 25.5, 0.10, 60.0, 1.2, 0.5), -0.01, 5, id="CO-04"),
    pytest.param((19.0, 19.0, 0.10, 40.0, 1.2, 1.0), -0.60, 13, id="CO-06"),
    pytest.param((23.5, 23.5, 0.30, 40.0, 1.2, 1.0), 0.12, 5, id="CO-08"),
    pytest.param((23.0, 21.0, 0.10, 40.0, 1.2, 1.0), 0.05, 5, id="CO-09"),
    pytest.param((22.0, 22.0, 0.10, 60.0, 1.6, 0.5), 0.05, 5, id="CO-11"),
    pytest.param((27.0, 27.0, 0.10, 60.0, 1.6, 0.5), 1.17, 34, id="CO-12"),
]


@pytest.mark.parametrize(("state", "expected", "unhappy"), ANNEX_D)
def test_annex_d(state: tuple[float, ...], expected: float, unhappy: int) -> None:
    """ISO 7730:2005 annex D; values from memory."""
    got = vote(*state)
    assert got == pytest.approx(expected, abs=0.02)
    assert 100.0 * comfort.ppd(got) == pytest.approx(unhappy, abs=0.9)


@pytest.mark.parametrize(
    ("air", "humidity", "clo", "expected"),
    [
        pytest.param(19.6, 86.0, 1.0, -0.475, id="CO-20a"),
        pytest.param(23.9, 66.0, 1.0, 0.477, id="CO-20b"),
        pytest.param(25.7, 15.0, 1.0, 0.528, id="CO-20c"),
        pytest.param(21.2, 20.0, 1.0, -0.475, id="CO-20d"),
        pytest.param(23.6, 67.0, 0.5, -0.472, id="CO-21a"),
        pytest.param(26.8, 56.0, 0.5, 0.517, id="CO-21b"),
        pytest.param(27.9, 13.0, 0.5, 0.500, id="CO-21c"),
        pytest.param(24.7, 16.0, 0.5, -0.486, id="CO-21d"),
    ],
)
def test_ashrae_55(air: float, humidity: float, clo: float, expected: float) -> None:
    """ASHRAE Standard 55 validation table: 1.1 met, 0.1 m/s, walls as warm as the air."""
    assert vote(air, air, 0.1, humidity, 1.1, clo) == pytest.approx(expected, abs=0.03)


@pytest.mark.parametrize(
    ("value", "share"),
    [
        pytest.param(0.0, 5.00, id="CO-22[0]"),
        pytest.param(0.5, 10.23, id="CO-22[0.5]"),
        pytest.param(1.0, 26.12, id="CO-22[1]"),
        pytest.param(2.0, 76.76, id="CO-22[2]"),
    ],
)
def test_dissatisfied(value: float, share: float) -> None:
    """ISO 7730:2005 equation 5, closed form."""
    assert 100.0 * comfort.ppd(value) == pytest.approx(share, abs=0.005)
    assert comfort.ppd(-value) == comfort.ppd(value)


@pytest.mark.parametrize(("met", "watts"), [pytest.param(1.2, 125.6, id="CO-24")])
def test_heat_of_a_person(met: float, watts: float) -> None:
    """58.15 W/m2 a met on 1.8 m2, closed form."""
    assert met * comfort.MET_W_PER_M2 * comfort.BODY_M2 == pytest.approx(watts, rel=0.01)


INSIDE = {"t_air_k": 295.15, "t_radiant_k": 295.15, "speed": 0.1, "p_vapour_pa": 1300.0, "metabolic": 70.0}
INSIDE |= {"work": 0.0, "clothing": 0.155}


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        pytest.param("t_air_k", 283.15, 303.15, id="CO-25[air]"),
        pytest.param("t_radiant_k", 283.15, 313.15, id="CO-25[radiant]"),
        pytest.param("speed", 0.0, 1.0, id="CO-25[speed]"),
        pytest.param("p_vapour_pa", 0.0, 2700.0, id="CO-25[vapour]"),
        pytest.param("metabolic", 46.0, 232.0, id="CO-25[metabolic]"),
        pytest.param("clothing", 0.0, 0.31, id="CO-25[clothing]"),
    ],
)
def test_limits(name: str, low: float, high: float) -> None:
    """ISO 7730:2005 clause 4, partly values from memory: a step inside is in range unless the vote leaves -2..2."""
    for edge, outward in ((low, -1.0), (high, 1.0)):
        step = 1e-6 * max(abs(edge), 1.0)
        inner = list((INSIDE | {name: edge - outward * step}).values())
        assert comfort.pmv_in_range(*inner) == (abs(comfort.pmv(*inner)) <= 2.0)
        assert not comfort.pmv_in_range(*(INSIDE | {name: edge + outward * step}).values())


def test_limit_of_the_vote() -> None:
    """Inputs inside their limits, vote outside: thin clothing, 12 degC."""
    cold = INSIDE | {"t_air_k": 285.15, "t_radiant_k": 285.15, "clothing": 0.05}
    assert comfort.pmv(*cold.values()) < -2.0
    assert not comfort.pmv_in_range(*cold.values())


@pytest.mark.parametrize(
    ("name", "steps", "sign"),
    [
        ("t_air_k", (285.15, 290.15, 295.15, 300.15), 1),
        ("t_radiant_k", (285.15, 295.15, 305.15), 1),
        ("speed", (0.15, 0.3, 0.6, 1.0), -1),
        ("p_vapour_pa", (200.0, 1200.0, 2600.0), 1),
        ("clothing", (0.0, 0.0779, 0.0781, 0.15, 0.3), 1),
    ],
)
def test_vote_is_monotone(name: str, steps: tuple[float, ...], sign: int) -> None:
    votes = [sign * comfort.pmv(*(INSIDE | {name: value}).values()) for value in steps]
    assert votes == sorted(votes)
    assert votes[-1] > votes[0]


@pytest.mark.parametrize("air", [233.15, 263.15, 295.15, 330.15])
@pytest.mark.parametrize("clothing", [0.0, 0.05, 0.155, 0.31])
def test_clothing_temperature_solves_its_equation(air: float, clothing: float) -> None:
    """Far outside the limits too: the halvings never fail."""
    radiant, heat, speed = air + 8.0, 70.0, 0.2
    cloth = comfort.clothing_surface_k(air, radiant, speed, heat, clothing)
    factor = comfort.clothing_area_factor(clothing)
    lost = 3.96e-8 * factor * (cloth**4 - radiant**4)
    lost += factor * comfort.body_convection_w_per_m2k(cloth - air, speed) * (cloth - air)
    assert cloth == pytest.approx(308.85 - 0.028 * heat - clothing * lost, abs=1e-8)


@pytest.mark.parametrize(("speed", "weight"), [(0.1, 0.5), (0.4, 0.6), (0.8, 0.7)])
def test_operative_temperature(speed: float, weight: float) -> None:
    """Between air and walls, near the stepped weights of ISO 7730:2005 (values from memory)."""
    got = comfort.operative_k(290.0, 300.0, speed)
    assert got == pytest.approx(weight * 290.0 + (1.0 - weight) * 300.0, abs=0.7)
    assert comfort.operative_k(295.0, 295.0, speed) == pytest.approx(295.0)
    assert comfort.operative_k(290.0, 300.0, 0.0) == pytest.approx(295.0)


@pytest.mark.parametrize("depth", [0.0, 0.4, 1.0])
def test_heater_does_what_a_warmer_room_does(depth: float) -> None:
    """Hand calculation of the three-node line skin - place of arrival - room, skin held at 34 degC."""
    clothing, film, area, heat, skin, room = 0.155, 8.0, 1.8, 30.0, 34.0, 15.0
    outer = 1.0 / (comfort.clothing_area_factor(clothing) * film) + depth * clothing
    inner = (1.0 - depth) * clothing
    gain = comfort.equivalent_change_k(heat, 1.0, depth, clothing, film, area)
    if inner == 0.0:
        loss_heated = (skin - room) / outer * area - heat
    else:
        middle = (skin / inner + room / outer + heat / area) / (1.0 / inner + 1.0 / outer)
        loss_heated = (skin - middle) / inner * area
    loss_warmer = (skin - (room + gain)) / (inner + outer) * area
    assert loss_heated == pytest.approx(loss_warmer, rel=1e-12)


def test_watts_per_kelvin_is_the_inverse() -> None:
    args = (comfort.SEAT_SHARE, comfort.SEAT_DEPTH, 0.155, 8.0, comfort.BODY_M2)
    assert comfort.equivalent_change_k(comfort.heater_w_per_k(*args), *args) == pytest.approx(1.0, rel=1e-12)


def test_seat_buys_more_comfort_a_watt_than_the_air() -> None:
    """With the usual numbers a lone driver's seat is cheaper than warming the cabin even by a good heat pump."""
    seat = comfort.heater_w_per_k(comfort.SEAT_SHARE, comfort.SEAT_DEPTH, 0.155, 8.0, comfort.BODY_M2)
    panel = comfort.heater_w_per_k(comfort.PANEL_SHARE, comfort.PANEL_DEPTH, 0.155, 8.0, comfort.BODY_M2)
    pump, wire = (comfort.air_w_per_k(67.0, 150.0 / 3600.0, cop) for cop in (2.2, 1.0))
    assert seat < panel < wire
    assert seat < pump


def test_warm_up() -> None:
    shares = [comfort.warm_up_share(t, 180.0) for t in (-5.0, 0.0, 60.0, 600.0, 1e5)]
    assert shares[0] == shares[1] == 0.0
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1.0)
