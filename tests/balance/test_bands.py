"""Whole cars against published figures and against tables worked out apart from this package.

"book" is a table of an invented mid-size car (test mass 1.9 t, drag area 0.60 m2, 75 kWh, R1234yf, 34 cc) calculated by
hand from handbook relations, common practice where nothing is published. The shipped plants are other cars (1.78 t,
0.61 m2, 58 kWh), so the book's figures are met within bands, not to the digit.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.simulate import simulate
from heatwright.study.settled import SettledCar, air_heat_w
from tests.balance.marches import PLANTS, written

CHARGE_EFFICIENCY = 0.90
HOT_SUN = '[sun]\ndirect = "700 W/m2"\ndiffuse = "100 W/m2"\nelevation = "50 deg"'


@cache
def cycle(plant: str, t_c: float, conditioned: bool, repeats: int = 1) -> Run:
    """A cold-soaked or heat-soaked car on the WLTC, one person aboard, set to 22 degC."""
    sun = HOT_SUN if conditioned and t_c > 30.0 else ""
    drive = f'[[segment]]\nkind = "drive"\nschedule = "wltc_3b"\nrepeats = {repeats}\n'
    case = written(
        f'temperature = "{t_c} degC"\nhumidity = "60 %"\n{sun}', drive + f"conditioned = {str(conditioned).lower()}"
    )
    return simulate(compile_program(load_plant(plant), case), case)


def use(run: Run) -> float:
    return float(run.summary["pack_kwh_per_100km"])


@pytest.mark.parametrize("plant", PLANTS)
def test_mild_cycle_from_the_plug(plant: str) -> None:
    """Book: 13 to 18 kWh/100 km AC on the WLTC at 23 degC without conditioning, 13.7 at the pack."""
    run = cycle(plant, 23.0, False)
    assert run.summary["distance_km"] == pytest.approx(23.27, abs=0.03)
    assert 13.0 <= use(run) / CHARGE_EFFICIENCY <= 18.0
    assert use(run) == pytest.approx(13.7, rel=0.08)


@pytest.mark.parametrize(
    ("speed", "t_c", "expected"),
    [
        (30, 23, 7.4), (50, 23, 8.2), (80, 23, 11.0), (100, 23, 13.8), (120, 23, 17.3), (130, 23, 19.4),
        (50, 0, 8.9), (100, 0, 15.1), (50, -7, 9.2), (100, -7, 15.5), (50, -20, 9.7), (100, -20, 16.4),
    ],
)  # fmt: skip
def test_use_at_a_steady_speed(speed: int, t_c: int, expected: float) -> None:
    """Book: kWh/100 km at the pack, warm tyres and oil, 12 V side included, nothing conditioned."""
    rolling = f'[[segment]]\nkind = "drive"\nspeed = "{speed} km/h"\nrolling = true\nduration = "60 min"\n'
    case = written(f'temperature = "{t_c} degC"', rolling + "conditioned = false")
    run = simulate(compile_program(load_plant("plain"), case), case)
    power_w = float(np.mean(run.series["p_pack_w"][-600:].astype(float)))
    assert power_w / (speed / 3.6) / 36.0 == pytest.approx(expected, rel=0.08)


RANGE_CHANGE = [
    pytest.param(-6.7, False, -0.20, -0.05, id="SY-01-off"),
    pytest.param(-6.7, True, -0.55, -0.30, id="SY-01-on"),
    pytest.param(35.0, True, -0.25, -0.08, id="SY-02-on"),
]


@pytest.mark.parametrize("plant", PLANTS)
@pytest.mark.parametrize(("t_c", "conditioned", "least", "most"), RANGE_CHANGE)
def test_change_of_range_in_cold_and_heat(plant: str, t_c: float, conditioned: bool, least: float, most: float) -> None:
    """SY-01, SY-02: American Automobile Association, "Electric vehicle range testing", 2019: five cars on a chamber
    dynamometer, 20 degF: -12 % (off) and -41 % (on), 95 degF: -17 % (on), against 75 degF; bands of the check list.

    The hot run without conditioning (-4 %) is left out: a dynamometer keeps its road load, on the road thin air wins.
    """
    mild = use(cycle(plant, 23.9, False, 2))
    assert least <= mild / use(cycle(plant, t_c, conditioned, 2)) - 1.0 <= most


@pytest.mark.parametrize("t_c", [pytest.param(-10.0, id="SY-20-10"), pytest.param(0.0, id="SY-20-0")])
def test_heat_pump_saves_heating_energy(t_c: float) -> None:
    """SY-20: reviews of direct systems, value from memory: 40-60 % saved at 0 to 5 degC, 20-40 % at -10 degC.

    Cars on two WLTC, heating energy above that of the same car unconditioned. At -10 degC up to 50 % is let pass: the
    pair differs in more than the source of heat, and frost, which costs a heat pump most, is not modelled.
    """
    added = [use(cycle(plant, t_c, True, 2)) - use(cycle(plant, t_c, False, 2)) for plant in ("plain", "reversing")]
    saved = 1.0 - added[1] / added[0]
    assert (0.40 <= saved <= 0.65) if t_c == 0.0 else (0.20 <= saved <= 0.50)


def bench(plant: str, weather: str, people: int, acts: dict[str, float]) -> SettledCar:
    """A car rolling at 50 km/h, its actuators held; the plain one with a heater that can hold 22 degC at -20 degC."""
    return SettledCar(load_plant(plant, {"heater.power": "9 kW"} if plant == "plain" else {}), weather, people, acts)


COLD = 'temperature = "{} degC"\nhumidity = "70 %"'
FEET = {"outlets:screen": 0.25, "outlets:foot": 0.75, "drive_pump": 0.5, "blower": 0.4123}
CORE = {**FEET, "core_pump": 0.7, "temper:hot": 1.0}


@pytest.mark.parametrize(
    ("t_c", "fresh", "expected"),
    [
        pytest.param(-20.0, 1.0, 5900.0, id="SY-18-20"), (-10.0, 1.0, 4500.0), (-7.0, 1.0, 4050.0),
        pytest.param(0.0, 1.0, 3050.0, id="SY-18-0"), (10.0, 1.0, 1630.0), (-10.0, 0.5, 3300.0), (0.0, 0.5, 2200.0),
    ],
)  # fmt: skip
def test_steady_heating(t_c: float, fresh: float, expected: float) -> None:
    """Book: W at 22 degC, 1 person, 50 km/h, 270 kg/h blown; within 20 %.

    SY-18 (balance and literature): all fresh 5-7.5 kW at -20 degC, 2-3.5 kW at 0 degC.
    """
    doors = {"inlet:fresh": fresh, "inlet:recirculate": 1.0 - fresh}
    s = bench("plain", COLD.format(t_c), 1, {**CORE, **doors}).settle("heater", 2000.0, 5000.0, 273.15 + 22.0)
    assert s["mdot_air_box_kg_per_s"] * 3600.0 == pytest.approx(270.0, abs=15.0)
    assert air_heat_w(s) == pytest.approx(expected, rel=0.2)


@pytest.mark.parametrize(
    ("t_c", "load", "cop"), [(-10.0, 4500.0, 2.38), (-7.0, 4050.0, 2.65), (0.0, 3050.0, 3.26), (5.0, 2350.0, 3.72)]
)
def test_heat_pump_at_the_steady_load(t_c: float, load: float, cop: float) -> None:
    """Book: compressor-electric coefficient of performance of a direct R1234yf system, 34 cc, all fresh; within 25 %.

    At -7 degC it must in any case be between 2.0 and 3.2.
    """
    acts = {**FEET, "inlet:fresh": 1.0, "reverser:heat": 1.0}
    s = bench("reversing", COLD.format(t_c), 1, acts).settle("compressor", 40.0, 90.0, 273.15 + 22.0)
    got = s["q_hot_w"] / s["p_compressor_w"]
    assert s["q_hot_w"] == pytest.approx(load, rel=0.2)
    assert got == pytest.approx(cop, rel=0.25)
    assert t_c != -7.0 or 2.0 <= got <= 3.2
    assert air_heat_w(s) < s["q_hot_w"] < 1.05 * air_heat_w(s)  # ducts lose some heat to the trim around them
    assert got < s["t_vent_k"] / (s["t_vent_k"] - s["t_ambient_k"])


@pytest.mark.parametrize(
    ("t_c", "humidity", "sun", "cold", "power"),
    [(30, 50, 800, 2070.0, 590.0), (35, 40, 1000, 3420.0, 1170.0), (35, 60, 900, 3630.0, 1270.0)],
)
def test_steady_cooling(t_c: int, humidity: int, sun: int, cold: float, power: float) -> None:
    """Book: W at the evaporator and into the compressor, 24 degC, 2 people, 50 km/h, 80 % recirculated; within 30 %.

    The 35 degC rows agree with a chamber test: 1.3 to 1.5 kW for everything, parked under lamps.
    """
    weather = f'temperature = "{t_c} degC"\nhumidity = "{humidity} %"\n[sun]\nelevation = "65 deg"\n'
    weather += f'direct = "{0.8 * sun} W/m2"\ndiffuse = "{0.12 * sun} W/m2"'
    acts: dict[str, Any] = {"inlet:fresh": 0.2, "inlet:recirculate": 0.8, "outlets:face": 1.0, "temper:cold": 1.0}
    acts |= {"drive_pump": 0.5, "blower": 0.62, "fan": 0.6}
    s = bench("plain", weather, 2, acts).settle("compressor", 25.0, 80.0, 273.15 + 24.0)
    assert s["q_cold_w"] == pytest.approx(cold, rel=0.3)
    assert s["p_compressor_w"] == pytest.approx(power, rel=0.3)
    assert s["water_kg_per_s"] > 0.0


@pytest.mark.parametrize("plant", PLANTS)
def test_a_winter_day_warms_and_keeps_clear(plant: str) -> None:
    """Book: 18 min to 20 degC from -10 degC with 5.5 kW and 40 % recirculated air; twice that is let pass."""
    comfort = cycle(plant, -10.0, True, 2).comfort
    assert comfort["time_to_20c_s"] is not None
    assert comfort["time_to_20c_s"] < 2 * 18 * 60.0
    assert comfort["fogged_s"] == 0.0
