"""Rain on a pane: the balance of a wet surface, and what it does to the glass behind it."""

from __future__ import annotations

import pytest

from heatwright.physics import cabin, wet_pane
from heatwright.physics import moist_air as air

P_PA = 101325.0


def wet_loss_w_per_m2(film: float, t_pane_k: float, t_air_k: float, w: float) -> float:
    """Heat from a wet face, not linearised: convection and evaporation by the analogy of heat and mass."""
    evaporated = film / air.CP_AIR_J_PER_KG_K * (air.saturation_humidity_ratio(t_pane_k, P_PA) - w)
    return film * (t_pane_k - t_air_k) + air.heat_of_vaporisation(t_pane_k) * evaporated


@pytest.mark.parametrize("relative", [1.0, 0.9, 0.6])
@pytest.mark.parametrize("t_c", [3.0, 8.0, 15.0])
def test_wet_pane_against_the_whole_balance(t_c: float, relative: float) -> None:
    """Source: heat and mass transfer analogy without linearisation; 5 % at 2 K above the wet bulb, 11 % at 6 K."""
    t_k, film = t_c + 273.15, 25.0
    w = relative * air.saturation_humidity_ratio(t_k, P_PA)
    h, outer_k = wet_pane.wet_pane(film, t_k, w, P_PA, 1.0)
    for above, close in ((2.0, 0.05), (6.0, 0.11)):
        t_pane = outer_k + above
        assert h * above == pytest.approx(wet_loss_w_per_m2(film, t_pane, t_k, w), rel=close)
    assert abs(wet_loss_w_per_m2(film, outer_k, t_k, w)) < 0.03 * h  # at the wet bulb nothing is lost or won: 0.03 K


def test_a_dry_pane_is_left_alone_and_a_wet_one_is_colder() -> None:
    t_k, w = 281.15, 0.0060
    assert wet_pane.wet_pane(25.0, t_k, w, P_PA, 0.0) == (25.0, t_k)
    half, whole = (wet_pane.wet_pane(25.0, t_k, w, P_PA, share) for share in (0.5, 1.0))
    assert 25.0 < half[0] < whole[0]
    assert t_k > half[1] > whole[1] > 279.15
    dry = cabin.glass_inner_k(294.15, t_k, 9.0, 0.005, 25.0, 0.0)
    assert cabin.glass_inner_k(294.15, whole[1], 9.0, 0.005, whole[0], 0.0) < dry - 1.5


@pytest.mark.parametrize("t_c", [-10.0, -2.0])
def test_snow_evaporates_less_than_rain(t_c: float) -> None:
    assert 0.2 < wet_pane.wet_gain(t_c + 273.15, P_PA) < wet_pane.wet_gain(278.15, P_PA)


@pytest.mark.parametrize(
    ("inside", "outside", "low", "high"), [(293.15, 280.15, 0.08, 0.12), (333.15, 303.15, 0.13, 0.18)]
)
def test_air_through_a_door(inside: float, outside: float, low: float, high: float) -> None:
    """Source: closed form of Brown & Solvason 1962; it grows with the root of the difference."""
    flow = cabin.door_m3_per_s(0.75, 1.0, inside, outside)
    assert low < flow < high
    quarter = cabin.door_m3_per_s(0.75, 1.0, outside + 0.25 * (inside - outside), outside)
    assert quarter == pytest.approx(0.5 * flow, rel=0.03)
    assert cabin.door_m3_per_s(0.75, 1.0, outside, outside) == 0.0


def test_what_dries_adds_up() -> None:
    """Source: closed form: all that was carried in, less what is left after the time."""
    dt, tau, water = 7.0, cabin.CLOTHES_S, 0.25
    total = sum(dt * cabin.drying_kg_per_s(water, tau, k * dt, (k + 1) * dt) for k in range(9000))
    assert total == pytest.approx(water, rel=1e-3)
    assert dt * cabin.drying_kg_per_s(water, tau, 0.0, dt) == pytest.approx(water * dt / tau, rel=2e-3)
