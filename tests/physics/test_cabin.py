"""Cabin: walls and films, people and air; the parked soak and the warm-up its inside mass was fitted to."""

from __future__ import annotations

import numpy as np
import pytest

from heatwright.physics import cabin

CP = 1006.0
RHO = 1.2
AREA_GLASS, AREA_SHELL, R_GLASS, R_SHELL, BRIDGE = 3.8, 10.0, 0.005, 0.22, 1.3
AIR_J_PER_K, SHELL_J_PER_K = 5.4e3, 80.0e3
SUN_W = 1000.0  # through the glass
PAINT_W = 0.9 * 880.0 * 1.5  # dark paint, sun on the level, roof [m2]


def walls(speed: float, mdot: float, film: float | None = None) -> tuple[float, float, float]:
    """Return conductances (glass, air to shell, shell to outside) of the default car [W/K]."""
    inner = cabin.inside_film_w_per_m2k(mdot) if film is None else film
    outer = cabin.outside_film_w_per_m2k(speed)
    return (
        cabin.pane_w_per_k(AREA_GLASS, inner, R_GLASS, outer, BRIDGE),
        cabin.half_wall_w_per_k(AREA_SHELL, inner, R_SHELL, BRIDGE),
        cabin.half_wall_w_per_k(AREA_SHELL, outer, R_SHELL, BRIDGE),
    )


def march(start_c: float, outside_c: float, minutes: float, **load: float) -> np.ndarray:
    """Return air temperature [degC] at every second: air, skin, trim, shell, by small explicit steps.

    load: speed (m/s), mdot (blown, kg/s), fresh (share of it), heat (into the air, W), sun (through the
    glass, W), paint (absorbed outside, W).
    """
    speed, mdot, heat, sun, paint = (load.get(key, 0.0) for key in ("speed", "mdot", "heat", "sun", "paint"))
    glass, inner, outer = walls(speed, mdot)
    leak = CP * cabin.infiltration_kg_per_s(3.0, 0.3, 0.072, speed, RHO)
    away = glass + leak + CP * mdot * load.get("fresh", 1.0)
    trim_air = cabin.trim_air_w_per_k(cabin.TRIM_AIR_W_PER_K, mdot, 300.0 / 3600.0)
    shell_sun = cabin.shell_sun_w(paint, R_SHELL, cabin.outside_film_w_per_m2k(speed))
    air = skin = trim = shell = start_c
    out = [air]
    dt = 0.5
    for k in range(int(minutes * 120)):
        q_skin = cabin.SKIN_AIR_W_PER_K * (skin - air)
        q_trim = trim_air * (trim - air)
        q_between = cabin.SKIN_TRIM_W_PER_K * (skin - trim)
        q_shell = inner * (shell - air)
        d_air = q_skin + q_trim + q_shell + away * (outside_c - air) + cabin.SUN_AIR * sun + heat
        d_skin = cabin.SUN_SKIN * sun - q_skin - q_between
        d_trim = cabin.SUN_TRIM * sun - q_trim + q_between
        d_shell = outer * (outside_c - shell) - q_shell + shell_sun
        air += dt * d_air / AIR_J_PER_K
        skin += dt * d_skin / cabin.SKIN_J_PER_K
        trim += dt * d_trim / cabin.TRIM_J_PER_K
        shell += dt * d_shell / SHELL_J_PER_K
        if k % 2:
            out.append(air)
    return np.array(out)


@pytest.fixture(scope="module")
def soak() -> np.ndarray:
    return march(25.0, 25.0, 120.0, sun=SUN_W, paint=PAINT_W) - 25.0


SOAK = [
    pytest.param(minutes, rise, id=f"SK-01 {minutes} min")
    for minutes, rise in ((10, 10.5), (20, 15.8), (30, 18.1), (60, 23.7))
]


@pytest.mark.parametrize(("minutes", "rise"), SOAK)
def test_parked_soak(soak: np.ndarray, minutes: int, rise: float) -> None:
    """Source: Null 2003, mean of 12 sunny trials, dark closed car (spread at 60 min 17.8-28.3 K).

    The sun through the glass (1000 W) and on the roof is assumed, not published. Misfit of the committed
    defaults: -0.7, -0.8, 0.0, -1.1 K.
    """
    assert soak[minutes * 60] == pytest.approx(rise, abs=1.5)


@pytest.mark.parametrize("half", [pytest.param(30, id="SK-02")])
def test_shape_of_the_soak(soak: np.ndarray, half: int) -> None:
    """Source: the same data: 30-min over 60-min rise 0.765, like one exponential of 15-35 min."""
    ratio = soak[half * 60] / soak[half * 120]
    tau = -half / np.log(1.0 / ratio - 1.0)
    assert ratio == pytest.approx(0.765, abs=0.05)
    assert 15.0 < tau < 35.0


@pytest.mark.parametrize("hours", [pytest.param(2.0, id="SK-06")])
def test_settled_soak(soak: np.ndarray, hours: float) -> None:
    """Source: balance with assumed inputs: 20 to 35 K above outside air in full sun."""
    assert 20.0 < soak[int(hours * 3600)] < 35.0


WARM_UP = [
    pytest.param(-7.0, 5.5e3, 300.0, 1.0, 3.0, 16.0, id="-7 degC 5.5 kW fresh"),
    pytest.param(-20.0, 7.0e3, 320.0, 1.0, 21.0, 45.0, id="-20 degC 7 kW fresh"),
    pytest.param(-20.0, 9.0e3, 400.0, 0.7, 6.0, 17.0, id="-20 degC 9 kW recirculated"),
    pytest.param(-10.0, 5.5e3, 300.0, 0.6, 5.0, 18.0, id="-10 degC 5.5 kW recirculated"),
]


@pytest.mark.parametrize(("t_c", "heat", "flow", "fresh", "to_15", "to_20"), WARM_UP)
def test_warm_up(t_c: float, heat: float, flow: float, fresh: float, to_15: float, to_20: float) -> None:
    """Source: table of the default car by another model (one inside mass), 50 km/h, one person, in minutes.

    The -7 degC row was fitted together with the soak, the others came with it.  Ours: 5.5/16.6, 22/46,
    6.4/12, 5.2/13 min; recirculated rows end up to 5 min earlier, part of the mass being slower here.
    """
    load = {"mdot": flow / 3600.0, "fresh": fresh, "heat": heat + 70.0}
    air = march(t_c, t_c, 60.0, speed=50.0 / 3.6, **load)
    assert np.argmax(air >= 15.0) / 60.0 == pytest.approx(to_15, abs=3.0)
    assert np.argmax(air >= 20.0) / 60.0 == pytest.approx(to_20, abs=6.0)


TOTALS = [
    pytest.param(v, ua, id=f"{v} km/h") for v, ua in ((0, 49), (30, 64), (50, 67), (80, 69), (100, 70), (130, 72))
]


@pytest.mark.parametrize(("kmh", "ua"), TOTALS)
def test_conductance_of_the_body(kmh: float, ua: float) -> None:
    """Source: resistances in series with inside film 9 (300 kg/h), printed to two digits."""
    glass, inner, outer = walls(kmh / 3.6, 300.0 / 3600.0)
    assert glass + 1.0 / (1.0 / inner + 1.0 / outer) == pytest.approx(ua, abs=0.8)


LOADS = [
    pytest.param(-20.0, 270.0, 50.0, 5900.0, 5000.0, 7500.0, id="SY-18 -20 degC all fresh"),
    pytest.param(-20.0, 135.0, 50.0, 4300.0, 3500.0, 5000.0, id="SY-18 -20 degC half recirculated"),
    pytest.param(0.0, 270.0, 50.0, 3050.0, 2000.0, 3500.0, id="SY-18 0 degC"),
    pytest.param(-7.0, 270.0, 50.0, 4050.0, 0.0, 1e9, id="-7 degC"),
    pytest.param(-20.0, 360.0, 100.0, 7100.0, 0.0, 1e9, id="-20 degC 100 km/h"),
]


@pytest.mark.parametrize(("t_c", "fresh", "kmh", "row", "low", "high"), LOADS)
def test_steady_heating_load(t_c: float, fresh: float, kmh: float, row: float, low: float, high: float) -> None:
    """Sources: table of the default car by other code; bands of the literature (value from memory)."""
    glass, inner, outer = walls(kmh / 3.6, 300.0 / 3600.0)
    ua = glass + 1.0 / (1.0 / inner + 1.0 / outer)
    leak = cabin.infiltration_kg_per_s(3.0, 0.3, 0.072, kmh / 3.6, RHO)
    load = (ua + CP * (leak + fresh / 3600.0)) * (22.0 - t_c) - cabin.people_w(1.0, 70.0, 45.0)[0]
    assert load == pytest.approx(row, rel=0.05)
    assert low < load < high


GLASS = [pytest.param(t, g, id=f"{t} degC") for t, g in ((-20, -8.0), (-10, -0.9), (-7, 1.3), (0, 6.3), (5, 9.9))]


@pytest.mark.parametrize(("t_c", "glass"), GLASS)
def test_inner_glass_temperature(t_c: float, glass: float) -> None:
    """Source: resistances in series, 50 km/h, cabin 22 degC, film 9 (values computed by other code)."""
    film = cabin.outside_film_w_per_m2k(50.0 / 3.6)
    got = cabin.glass_inner_k(295.15, t_c + 273.15, 9.0, R_GLASS, film, 0.0)
    assert got - 273.15 == pytest.approx(glass, abs=0.1)
    jet = cabin.glass_inner_k(308.15, t_c + 273.15, 20.0, R_GLASS, film, 0.0)
    assert cabin.fog_margin_k(jet, 275.0) > cabin.fog_margin_k(got, 275.0) + 8.0
    heated = cabin.glass_inner_k(295.15, t_c + 273.15, 9.0, R_GLASS, film, 300.0)
    assert heated > got + 5.0


def test_glass_heat_balance_and_sky() -> None:
    """Source: closed form: what the air gives and the sun leaves goes out; a clear sky cools parked glass."""
    outside = cabin.outer_k(263.15, 243.15, 8.0, 0.9)
    t = cabin.glass_inner_k(280.0, outside, 9.0, R_GLASS, 8.0, 50.0)
    assert 9.0 * (280.0 - t) + 50.0 == pytest.approx((t - outside) / (R_GLASS + 1.0 / 8.0))
    assert 250.0 < outside < 263.15
    assert cabin.outer_k(263.15, 263.15, 8.0, 0.9) == 263.15


@pytest.mark.parametrize("limit", [2000e-6])
def test_fresh_air_for_a_carbon_dioxide_limit(limit: float) -> None:
    """Source: mixing balance: about 14 kg/h a person hold 2000 ppm (outside 400)."""
    source = cabin.people_w(1.0, 70.0, 45.0)[3]
    flow = 14.0 / RHO / 3600.0
    assert cabin.co2_share(400e-6, 400e-6, source, flow, 3.0, 1e6) == pytest.approx(limit, rel=0.05)
    steps = 400e-6
    for _ in range(60):
        steps = cabin.co2_share(steps, 400e-6, source, flow, 3.0, 10.0)
    assert steps == pytest.approx(cabin.co2_share(400e-6, 400e-6, source, flow, 3.0, 600.0), rel=1e-12)
    assert cabin.co2_share(400e-6, 400e-6, source, 0.0, 3.0, 900.0) == pytest.approx(1900e-6)


@pytest.mark.parametrize(("kmh", "changes"), [(0.0, 0.3), (60.0, 1.5), (116.0, 2.62)])
def test_infiltration(kmh: float, changes: float) -> None:
    """Sources: Knibbs et al. 2009 (tightest 1 at 60, 2.6 at 110 km/h); four cars, 2008 (below 6.6)."""
    per_hour = cabin.infiltration_kg_per_s(3.0, 0.3, 0.072, kmh / 3.6, RHO) * 3600.0 / RHO / 3.0
    assert per_hour == pytest.approx(changes, rel=1e-6)
    assert per_hour < 6.6


@pytest.mark.parametrize(("t_cabin", "t_ambient", "sun", "aim"), [(22, 22, 0, 22), (0, -10, 0, 60), (45, 40, 800, 4)])
def test_vent_target(t_cabin: float, t_ambient: float, sun: float, aim: float) -> None:
    """Source: the law itself (value from memory), within 4 and 60 degC."""
    got = cabin.vent_target_k(295.15, t_cabin + 273.15, t_ambient + 273.15, sun)
    assert got - 273.15 == pytest.approx(aim, abs=1e-9)


def test_shares_of_the_sun_add_up() -> None:
    total = cabin.SUN_AIR + cabin.SUN_SKIN + cabin.SUN_TRIM
    assert total == pytest.approx(1.0)
