"""Does it make sense: what a whole car does in a run, beside published bands and common practice.

Each row is one figure of one plant taken from runs made here, with the band it should lie in and where the band comes
from. Nothing is tuned to the bands: what lies outside is shown as a miss.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from heatwright.compiler.build import compile_program
from heatwright.errors import RunError
from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.simulate import simulate
from heatwright.study.settled import SettledCar, air_heat_w, short_case
from heatwright.study.table import number

ZERO_K = 273.15
SET_K = ZERO_K + 22.0
FRESH_FEET = {"inlet:fresh": 1.0, "outlets:screen": 0.25, "outlets:foot": 0.75, "drive_pump": 0.5, "blower": 0.4123}
CORE = FRESH_FEET | {"core_pump": 0.7, "temper:hot": 1.0}
HOT_SIDE = FRESH_FEET | {"reverser:heat": 1.0}
FULL_SPEED_HZ = 8500.0 / 60.0
COMPRESSOR_HZ = (40.0, 90.0)
HEATER_W = (2000.0, 5000.0)
HEATER_MOST = {"heater.power": "9 kW"}
SUMMER_SUN = '[sun]\ndirect = "700 W/m2"\ndiffuse = "100 W/m2"\nelevation = "50 deg"'
SOAK_SUN = '[sun]\ndirect = "800 W/m2"\ndiffuse = "120 W/m2"\nelevation = "60 deg"\nazimuth = "180 deg"'
MAT = {"pad.mat.on": "pack", "pad.mat.power": "7 kW", "pad.mat.efficiency": "100 %"}


@dataclass(frozen=True)
class Row:
    """One figure: what is asked of which plant, the band, its source, and what the run gave (None: not reached)."""

    group: str
    asked: str
    plant: str
    found: float | None
    low: float
    high: float
    unit: str
    digits: int
    source: str
    note: str = ""

    @property
    def inside(self) -> bool:
        """Return whether the figure lies in its band."""
        return self.found is not None and self.low <= self.found <= self.high


@lru_cache(maxsize=64)
def cycle(plant: str, t_c: float, conditioned: bool, repeats: int = 1) -> Run:
    """Return a car that stood at `t_c` [degC], over the WLTC on rollers, one aboard, set to 22 degC."""
    sun = SUMMER_SUN if conditioned and t_c > 30.0 else ""
    drive = f'[[segment]]\nkind = "drive"\nschedule = "wltc_3b"\nrepeats = {repeats}\n'
    case = short_case(
        f'temperature = "{t_c} degC"\nhumidity = "60 %"\n{sun}',
        drive + f"dynamometer = true\nconditioned = {str(conditioned).lower()}",
        'set_point = "22 degC"',
    )
    return simulate(compile_program(load_plant(plant), case), case)


def use(run: Run) -> float:
    """Return the energy from the pack [kWh/100 km]."""
    return float(run.summary["pack_kwh_per_100km"])


def steady_heating(t_c: float) -> float:
    """Return the heat into the air of the plain plant's box [W], all fresh, 22 degC inside, 50 km/h."""
    car = SettledCar(load_plant("plain", HEATER_MOST), _cold(t_c), 1, CORE)
    return air_heat_w(car.settle("heater", *HEATER_W, SET_K))


def heat_pump(t_c: float) -> dict[str, float]:
    """Return the settled series of the reversing plant, held at 22 degC or, where it cannot, at full speed."""
    car = SettledCar(load_plant("reversing"), _cold(t_c), 1, HOT_SIDE)
    try:
        return car.settle("compressor", *COMPRESSOR_HZ, SET_K)
    except RunError:
        return car.means(car.hold(compressor=FULL_SPEED_HZ))


def _cold(t_c: float) -> str:
    return f'temperature = "{t_c:g} degC"\nhumidity = "70 %"'


@lru_cache(maxsize=4)
def soak_rise(plant: str) -> tuple[float, ...]:
    """Return the rise of the cabin air [K] 10, 20, 30 and 60 min into a sunny stand at 27 degC, car closed and dark."""
    case = short_case(
        f'temperature = "27 degC"\nhumidity = "40 %"\n{SOAK_SUN}',
        '[[segment]]\nkind = "park"\nduration = "61 min"\nheading = "180 deg"',
        '[start]\ntemperature = "27 degC"',
    )
    air = simulate(compile_program(load_plant(plant, {"body.paint": "90 %"}), case), case).series["t_zone_air_k"]
    return tuple(float(air[60 * m]) - float(air[0]) for m in (10, 20, 30, 60))


def pack_warming(plant: str) -> float:
    """Return how fast 7 kW put into the cells warms a pack that has stood at -10 degC [K/min], over 15 minutes."""
    case = short_case(
        'temperature = "-10 degC"',
        '[[segment]]\nkind = "park"\nduration = "20 min"',
        '[start]\ntemperature = "-10 degC"',
    )
    program = compile_program(load_plant(plant, MAT), case)
    row = [7000.0 if name == "mat" else 0.0 for name in program.index.actuators]
    run = simulate(program, case, replay=np.tile(np.array(row), (case.n, 1)))
    mean = 0.5 * (run.series["t_pack_coldest_k"] + run.series["t_pack_hottest_k"]).astype(float)
    return float(mean[1080] - mean[180]) / 15.0


def pack_time_constant(plant: str) -> float:
    """Return the time constant [h] with which a pack at 25 degC falls towards -10 degC over twelve hours' stand."""
    case = short_case(
        'temperature = "-10 degC"',
        '[[segment]]\nkind = "park"\nduration = "12 h"',
        'step = "10 s"\n[start]\ntemperature = "-10 degC"\npack_temperature = "25 degC"',
    )
    t = simulate(compile_program(load_plant(plant), case), case).series["t_pack_coldest_k"].astype(float)
    outside = ZERO_K - 10.0
    return -12.0 / math.log((t[-1] - outside) / (t[0] - outside))


HAND = "worked by hand from handbook relations for a car of this size, ±20 %"
BALANCE = "SY-18: energy balance and literature (ventilation computed, walls from memory)"
BOOK_COP = "worked by hand, direct R1234yf system, 34 cc, all fresh air, ±25 %"
COLD_COP = "SY-08, SY-12: bench papers on R744 and R290 against R1234yf at −20 °C (COP 1.7 to 1.8)"
COLD_WLTC = "chamber tests of cold-soaked cars over the WLTC: +38 to +100 %, mean +70 % (value from memory)"
SOAK = "SK-01: twelve sunny trials (Null 2003; McLaren, Null & Quinn 2005), mean ±5 K"
WARMING = "power over heat capacity, 60 kWh 1.14 K/min, ±12 % in heat capacity; losses are small"
PARKED = "common practice: 6 to 24 h"
RANGE = "American Automobile Association 2019, five cars on a chamber dynamometer"


def rows(progress: Callable[[int, int], object] | None = None) -> tuple[Row, ...]:
    """Return every row, in the page's order; progress(done, total) is called after each."""
    found: list[Row] = []
    for row in _rows():
        found.append(row)
        if progress is not None:
            progress(len(found), ROWS)
    return tuple(found)


def _rows() -> Iterator[Row]:
    for group in (_heating, _lift, _cold_cycle, _soak, _pack, _range):
        yield from group()


def _heating() -> Iterator[Row]:
    """Yield the rows of steady heating loads."""
    group = "Steady cabin heating, 22 °C inside, one person, 50 km/h, 270 kg/h of fresh air"
    for t_c, low, high, source in ((-20.0, 5.0, 7.5, BALANCE), (-10.0, 3.6, 5.4, HAND), (0.0, 2.0, 3.5, BALANCE)):
        yield Row(
            group,
            f"heat into the air at {number(t_c, 1 if t_c % 1 else 0)} °C",
            "plain",
            steady_heating(t_c) / 1e3,
            low,
            high,
            "kW",
            2,
            source,
        )


def _lift() -> Iterator[Row]:
    """Yield the rows of the heat pump at three temperatures."""
    group = "Heat pump, the same state (at full speed where it cannot hold 22 °C)"
    for t_c, low, high, source in (
        (-20.0, 1.4, 2.2, COLD_COP),
        (-10.0, 1.8, 3.0, BOOK_COP),
        (0.0, 2.45, 4.1, BOOK_COP),
    ):
        s = heat_pump(t_c)
        running = s["p_compressor_w"] > 1.0
        note = (
            f"{s['q_hot_w'] / 1e3:.1f} kW, cabin {number(s['t_zone_air_k'] - ZERO_K, 0)} °C"
            if running
            else "held off: too cold"
        )
        cop = s["q_hot_w"] / s["p_compressor_w"] if running else None
        yield Row(
            group,
            f"COP of the compressor at {number(t_c, 1 if t_c % 1 else 0)} °C",
            "reversing",
            cop,
            low,
            high,
            "",
            2,
            source,
            note,
        )


def _cold_cycle() -> Iterator[Row]:
    """Yield the rows of a cold-soaked cycle."""
    group = "One WLTC after a night outside, conditioned, against the same car at 23 °C"
    for plant in ("plain", "reversing"):
        more = 100.0 * (use(cycle(plant, -7.0, True)) / use(cycle(plant, 23.0, False)) - 1.0)
        yield Row(group, "more energy at −7 °C", plant, more, 38.0, 100.0, "%", 0, COLD_WLTC)


def _soak() -> Iterator[Row]:
    """Yield the rows of a stand in the sun."""
    group = "Parked in the sun, closed, painted dark, 27 °C, 920 W/m²"
    for minutes, rise, mean in zip((10, 20, 30, 60), soak_rise("plain"), (10.5, 15.8, 18.1, 23.7), strict=True):
        yield Row(group, f"rise of cabin air after {minutes} min", "plain", rise, mean - 5, mean + 5, "K", 1, SOAK)


def _pack() -> Iterator[Row]:
    """Yield the rows of the pack's warming and cooling."""
    group = "Pack"
    yield Row(group, "warming at 7 kW from −10 °C", "plain", pack_warming("plain"), 1.0, 1.3, "K/min", 2, WARMING)
    note = "air at −10 °C, pack at 25 °C, cabin cold"
    constant = pack_time_constant("plain")
    yield Row(group, "time constant over 12 h parked", "plain", constant, 6.0, 24.0, "h", 1, PARKED, note)


def _range() -> Iterator[Row]:
    """Yield the rows of the change of range in cold and heat."""
    group = "Range over two WLTC against 24 °C unconditioned"
    for plant in ("plain", "reversing"):
        mild = use(cycle(plant, 23.9, False, 2))
        for t_c, conditioned, low, high, row in (
            (-6.7, False, -20.0, -5.0, "SY-01"), (-6.7, True, -55.0, -30.0, "SY-01"),
            (35.0, False, -8.0, 0.0, "SY-02"), (35.0, True, -25.0, -8.0, "SY-02"),
        ):  # fmt: skip
            change = 100.0 * (mild / use(cycle(plant, t_c, conditioned, 2)) - 1.0)
            how = "cabin conditioned" if conditioned else "nothing conditioned"
            yield Row(
                group,
                f"range at {number(t_c, 1 if t_c % 1 else 0)} °C, {how}",
                plant,
                change,
                low,
                high,
                "%",
                0,
                f"{row}: {RANGE}",
            )


ROWS = 22
