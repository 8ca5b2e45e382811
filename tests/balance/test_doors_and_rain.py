"""Doors, rain, wet clothes and thin air in whole marches: each moves what it should, and the books close."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.physics.moist_air import H_VAPOUR_J_PER_KG
from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.simulate import simulate
from tests.balance.marches import written

AIR = 'temperature = "6 degC"\nhumidity = "90 %"\n'
STAND = '[[segment]]\nkind = "park"\nduration = "30 min"\nconditioned = true\noccupants = 2\n'
ROLL = '[[segment]]\nkind = "drive"\nspeed = "60 km/h"\nrolling = true\nduration = "30 min"\noccupants = 2\n'


@cache
def case_of(weather: str, segments: str, start: str = "") -> Any:
    return written(weather, segments, start)


@cache
def run_of(weather: str, segments: str, start: str = "") -> Run:
    case = case_of(weather, segments, start)
    return simulate(compile_program(load_plant("plain"), case), case)


def term(run: Run, name: str) -> float:
    return float(run.ledger["terms_j"][name])


def closed(run: Run) -> bool:
    """1e-12 of the throughput, or the rounding of a night's steps where next to nothing flows."""
    return abs(run.ledger["residual_j"]) < max(1e-12 * run.ledger["throughput_j"], 1e-5)


HELD = {"inlet:fresh": 1.0, "outlets:foot": 1.0, "blower": 0.4, "core_pump": 0.7, "temper:hot": 1.0, "heater": 3000.0}


def test_rain_cools_the_glass() -> None:
    """Actuators held: the film outside is doubled, the pane's own resistance and the film inside are not."""
    runs = []
    for weather in (AIR, AIR + "rain = true\n"):
        case = case_of(weather, ROLL)
        program = compile_program(load_plant("plain"), case)
        row = np.array([HELD.get(name, 0.0) for name in program.index.actuators])
        runs.append(simulate(program, case, replay=np.tile(row, (case.n, 1))))
        assert closed(runs[-1])
    dry, wet = runs
    assert 1.05 < term(wet, "glass_to_outside") / term(dry, "glass_to_outside") < 1.4
    for pane in ("screen", "left", "rear"):
        name = f"t_cabin_glass_{pane}_k"
        assert np.mean(wet.series[name][-300:]) < np.mean(dry.series[name][-300:]) - 0.5


def test_wipers_dry_the_screen_with_the_end_of_the_rain() -> None:
    rows = "0, 6, 1\n900, 6, 1\n901, 6, 0\n1800, 6, 0\n"
    rain = f'humidity = "90 %"\ntable = """\ntime [s], temperature [degC], rain\n{rows}"""\n'
    case = case_of(rain, ROLL)
    program = compile_program(load_plant("plain"), case)
    columns = program.index.columns
    screen, left = (program.rows[:, columns.index(f"g_glass_{k}_w_per_m2k")] for k in ("screen", "left"))
    assert screen[950] == pytest.approx(screen[-1])
    assert screen[950] < screen[800]
    assert left[950] > left[-1] > 0.0


def test_an_open_door_lets_heat_and_damp_out() -> None:
    shut, opened = run_of(AIR, STAND), run_of(AIR, STAND + 'doors_at_end = "2 x 60 s"\n')
    assert term(opened, "leaks_to_outside") < 2.0 * term(shut, "leaks_to_outside")
    fell_k = float(opened.series["t_cabin_air_k"][-61] - opened.series["t_cabin_air_k"][-1])
    assert fell_k > 2.0
    assert opened.series["w_cabin"][-1] < opened.series["w_cabin"][-61]
    assert np.array_equal(opened.series["t_cabin_air_k"][:-61], shut.series["t_cabin_air_k"][:-61])
    assert closed(opened)


def test_wet_clothes_dampen_the_air_and_take_their_heat_from_it() -> None:
    water_kg = 0.3 * (1.0 - np.exp(-30.0 / 120.0))
    dry, wet = run_of(AIR, STAND), run_of(AIR, STAND + 'wet_clothes = "300 g"\n')
    assert term(wet, "drying") == pytest.approx(-H_VAPOUR_J_PER_KG * water_kg, rel=1e-9)
    assert term(dry, "drying") == 0.0
    assert np.mean(wet.series["w_cabin"]) > np.mean(dry.series["w_cabin"]) + 2e-4
    assert closed(wet)


def test_a_clear_night_cools_parked_glass_below_the_air() -> None:
    """By an hourly balance of radiation: a flat pane some 5 K, a steep one less, none under a roof or thick cloud."""
    night = '[[segment]]\nkind = "park"\nduration = "6 h"\n'
    frost = 'temperature = "-9 degC"\nhumidity = "88 %"\ncloud = "10 %"\n'
    clear, roof = run_of(frost, night), run_of(frost, night + 'shade = "100 %"\n')
    below = [264.15 - float(clear.series[f"t_cabin_glass_{pane}_k"][-1]) for pane in ("screen", "rear", "left")]
    assert below[0] > below[1] > below[2] > 2.0
    assert below[0] == pytest.approx(5.0, abs=1.0)
    assert float(roof.series["t_cabin_glass_screen_k"][-1]) == pytest.approx(264.15, abs=0.01)
    assert closed(clear)


ALTITUDE = [0.0, 2500.0]


def test_thin_air_at_a_height() -> None:
    """Pressure by the standard atmosphere: drag, leaks, fresh air and the air through the front follow its density."""
    low, high = (run_of(AIR, ROLL, f'[place]\naltitude = "{h} m"') for h in ALTITUDE)
    cases = [case_of(AIR, ROLL, f'[place]\naltitude = "{h} m"') for h in ALTITUDE]
    ratio = cases[1].steps["p_ambient_pa"][0] / cases[0].steps["p_ambient_pa"][0]
    assert ratio == pytest.approx(0.737, abs=0.002)
    assert term(high, "road_work") > 0.95 * term(low, "road_work")  # both negative: less work up there
    alike = low.series["mode"] == high.series["mode"]  # the blower follows the rule in force
    assert alike.sum() > 300
    for name in ("mdot_front_kg_per_s", "mdot_air_exhaust_kg_per_s"):
        flows = [float(np.mean(run.series[name][alike][-300:])) for run in (low, high)]
        assert 0.6 < flows[1] / flows[0] < 0.95, name
    assert closed(high)


def test_rollers_keep_their_drag() -> None:
    """On rollers the drag does not know the air; on the road hot air and thin air are easy to part."""
    hot = 'temperature = "35 degC"\n'
    rollers = ROLL + "dynamometer = true\n"
    cold_road, hot_road = (-term(run_of(air, ROLL), "road_work") for air in (AIR, hot))
    cold_set, hot_set = (-term(run_of(air, rollers), "road_work") for air in (AIR, hot))
    assert hot_road < hot_set
    assert cold_road > cold_set
    mountain = '[place]\naltitude = "2500 m"'
    assert -term(run_of(AIR, rollers, mountain), "road_work") == pytest.approx(cold_set, rel=1e-9)


@pytest.mark.parametrize("height_m", [0.0, 3000.0])
def test_clear_sky_at_a_height(height_m: float) -> None:
    """Ineichen & Perez 2002: at 3000 m the beam of a midsummer noon is a tenth stronger than at the sea."""
    place = '[place]\nlatitude = "46 deg"\nlongitude = "8 deg"\nclock_offset = "1 h"\naltitude = "{} m"\n'
    start = '[start]\ndate = "2031-06-21"\ntime = "12:00"\n' + place
    weather = AIR + "[sun]\nclear_sky = true\nturbidity = 3\n"
    stop = '[[segment]]\nkind = "park"\nduration = "10 min"\n'
    beams = [np.mean(written(weather, stop, start.format(h)).steps["sun_direct_w_per_m2"]) for h in (0.0, height_m)]
    assert beams[1] / beams[0] == pytest.approx(1.0 + 0.12 * height_m / 3e3, abs=0.05)
