"""Days by number: a commute, a long way with a fast charge, or a mild day of rain, each drawn from its seed alone.

A day is written as the text of a trip file and read back as any other, so it can be kept, changed and run by hand.
All ranges are invented, within common practice.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from heatwright.trip.load import parse_trip
from heatwright.trip.model import Trip

COLDEST_C, WARMEST_C = -20.0, 37.0
SHORTEST_MIN, LONGEST_MIN = 20.0, 100.0
SHORTEST_STAY_H, LONGEST_STAY_H = 1.0, 9.0
LONGEST_CHARGE_MIN = 90.0
KINDS = ("commute", "commute", "commute", "long way", "rain")
"""Three days in five are commutes."""
SCHEDULE, SCHEDULE_MIN = "wltc_3b", 30.0
TOWN_KM_PER_H, ROAD_KM_PER_H, MOTORWAY_KM_PER_H = (30.0, 50.0), (65.0, 95.0), (105.0, 125.0)
USE_PER_KM = 0.0045
"""Charge that a kilometre may take of a full pack [-], with a reserve: 26 kWh/100 km out of 58 kWh."""
MOST_KWH = 50.0
"""A day that would take more out of the car's pack than this is made shorter until it does not: 86 % of 58 kWh."""
KWH_PER_KM, HEAT_KW, OTHERS_KW, WARM_ENOUGH_C = 0.16, 6.5, 1.0, 15.0
"""What is reckoned for that: for the road, for heat in air of COLDEST_C (none from WARM_ENOUGH_C on), for the rest."""
MOST_DEW_C = 24.0
"""No air damper than this: the relative humidity of hot days is held down."""
NOON_H = 12.5
STEP_MIN = 30
Driven = tuple[float, float]
"""Way [km] and time [min] of driving without a charge between."""
PEOPLE = ("", "one person", "two people", "three people", "four people")


class Draw:
    """Numbers drawn from a seed; only `random()` of the generator is used, whose sequence is guaranteed to stay."""

    def __init__(self, seed: int) -> None:
        self._next = random.Random(seed).random

    def between(self, low: float, high: float) -> float:
        """Return a number of the range, each as likely."""
        return low + (high - low) * self._next()

    def whole(self, low: int, high: int) -> int:
        """Return a whole number of the range, both ends in it."""
        return low + int((high - low + 1) * self._next())


@dataclass(frozen=True)
class Sky:
    """A day's air and sun as functions of the hour: warmest at three in the afternoon, sun about its noon."""

    mean_c: float
    swing_c: float
    humidity: float
    clear: float
    noon_deg: float
    half_day_h: float

    def air_c(self, hour: float) -> float:
        """Return the temperature of the air [degC]."""
        return min(max(self.mean_c + self.swing_c * _of_day(hour), COLDEST_C), WARMEST_C)

    def humidity_percent(self, hour: float) -> float:
        """Return the relative humidity [%]: the warmer the hour, the drier, and never beyond MOST_DEW_C."""
        warm = self.air_c(hour)
        return min(self.humidity * math.exp(-0.06 * (warm - self.mean_c)), _most_humidity(warm), 98.0)

    def sun(self, hour: float) -> tuple[float, float, float, float]:
        """Return direct and diffuse radiation [W/m2], elevation and azimuth [deg]."""
        height = self.noon_deg * math.cos(0.5 * math.pi * (hour - NOON_H) / self.half_day_h)
        height = max(height, -15.0)
        azimuth = min(max(180.0 + 15.0 * (hour - NOON_H), 20.0), 340.0)
        if height <= 0.0:
            return 0.0, 0.0, height, azimuth
        sine = math.sin(math.radians(height))
        direct = self.clear * 1050.0 * math.exp(-0.25 / max(sine, 0.03))
        return direct, (60.0 + 240.0 * (1.0 - self.clear)) * sine, height, azimuth


def _of_day(hour: float) -> float:
    """Return the course of a day's warmth, -1 to 1."""
    return math.cos(2.0 * math.pi * (hour - 15.0) / 24.0)


def _most_humidity(t_c: float) -> float:
    """Return the relative humidity [%] at which air has MOST_DEW_C, by Magnus's form."""
    return 100.0 * math.exp(17.625 * (MOST_DEW_C / (243.04 + MOST_DEW_C) - t_c / (243.04 + t_c)))


def day(seed: int) -> Trip:
    """Return the day of a seed, the same for ever."""
    return parse_trip(day_text(seed), Path(f"day_{seed}.trip.toml"), f"day {seed}")


def day_text(seed: int) -> str:
    """Return the day of a seed as the text of a trip file."""
    part = 1.0
    text, needed_kwh = _written(seed, part)
    while needed_kwh > MOST_KWH:
        part *= 0.95
        text, needed_kwh = _written(seed, part)
    return text


def _written(seed: int, part: float) -> tuple[str, float]:
    """Return the day, drives there and back cut to a part of their length, and what it is reckoned to take [kWh]."""
    draw = Draw(seed)
    kind = KINDS[draw.whole(0, len(KINDS) - 1)]
    rain = kind == "rain"
    begins_min = 5 * draw.whole(72, 120)
    people = draw.whole(1, 4)
    legs, way, length_min, charge, driven = (
        _long_way(draw, people) if kind == "long way" else _there_and_back(draw, people, rain, part)
    )
    about_c = draw.between(5.0, 17.0) if rain else draw.between(COLDEST_C, WARMEST_C)
    cold = max(WARM_ENOUGH_C - about_c, 0.0) / (WARM_ENOUGH_C - COLDEST_C)
    needed_kwh = KWH_PER_KM * driven[0] + (HEAT_KW * cold + OTHERS_KW) * driven[1] / 60.0
    sky = _sky(draw, rain, about_c, (begins_min + 0.5 * length_min) / 60.0)
    clock = f"{begins_min // 60:02d}:{begins_min % 60:02d}"
    title = f"{'Mild rain' if rain else kind.capitalize()} at {_signed(about_c)} degC, {PEOPLE[people]}: {way}"
    lines = [
        'format    = "heatwright trip 1"',
        f'name      = "{title}"',
        f'about     = "A day drawn from the number {seed}; place and weather are invented."',
        f'set_point = "{20.0 + 0.5 * draw.whole(0, 7):.1f} degC"',
        "\n[start]",
        f'charge = "{charge:.0f} %"',
        f'time   = "{clock}"',
        "\n[weather]",
        f'cloud = "{100.0 * (1.0 - sky.clear):.0f} %"',
        f"rain  = {str(rain).lower()}",
        *_table("t [min], temperature [degC], humidity [%]", _air_rows(sky, begins_min, length_min)),
        "\n[sun]",
        *_table(
            "t [min], direct [W/m2], diffuse [W/m2], elevation [deg], azimuth [deg]",
            _sun_rows(sky, begins_min, length_min),
        ),
        *legs,
    ]
    return "\n".join(lines) + "\n", needed_kwh


def _sky(draw: Draw, rain: bool, about_c: float, at_h: float) -> Sky:
    """Draw the weather of a day that has `about_c` at the hour `at_h`.

    The sun of a cold day is low and short, that of a hot one high and long.
    """
    swing_c = draw.between(0.5, 2.0) if rain else draw.between(1.0, 5.0)
    mean_c = about_c - swing_c * _of_day(at_h)
    warm = (about_c - COLDEST_C) / (WARMEST_C - COLDEST_C)
    humidity = draw.between(88.0, 97.0) if rain else draw.between(55.0, 92.0 - 37.0 * max(warm - 0.6, 0.0) / 0.4)
    clear = 0.0 if rain else max(draw.between(-0.3, 1.0), 0.0)
    return Sky(mean_c, swing_c, humidity, clear, 12.0 + 50.0 * warm + draw.between(-4.0, 4.0), 4.0 + 3.5 * warm)


def _there_and_back(draw: Draw, people: int, rain: bool, part: float) -> tuple[list[str], str, float, float, Driven]:
    """Return segments, words, length [min], charge at the start [%] and driving of a way out, a stay, the way home."""
    out_min, home_min = (part * draw.between(SHORTEST_MIN, LONGEST_MIN) for _ in range(2))
    stay_min = 60.0 * draw.between(SHORTEST_STAY_H, 4.0 if rain else LONGEST_STAY_H)
    wet = {"wet_clothes": f"{10 * draw.whole(10, 40)} g", "wet_floor": f"{10 * draw.whole(5, 20)} g"} if rain else {}
    if draw.whole(0, 3) == 0:
        rounds = draw.whole(1, 3)
        out_min, km = SCHEDULE_MIN * rounds, 23.3 * rounds
        out = [_segment("drive", "out", people, schedule=SCHEDULE, repeats=rounds, **wet)]
    else:
        out, km = _drive(draw, "out", out_min, people, wet)
    home, home_km = _drive(draw, "home", home_min, people, wet)
    stay = _segment("park", "stay", 0, duration=f"{stay_min:.1f} min", heading=f"{draw.whole(0, 359)} deg")
    words = f"{out_min:.0f} min out, {stay_min / 60.0:.1f} h parked, {home_min:.0f} min home"
    charge = min(100.0 * (0.15 + USE_PER_KM * (km + home_km)) + draw.between(5.0, 30.0), 95.0)
    driven = (km + home_km, out_min + home_min)
    return [*out, stay, *home], words, out_min + stay_min + home_min, charge, driven


def _long_way(draw: Draw, people: int) -> tuple[list[str], str, float, float, Driven]:
    """Return segments, words, longest length [min], charge at the start [%] and first drive of a way with a charge."""
    first_min, second_min = draw.between(30.0, 60.0), draw.between(SHORTEST_MIN, 60.0)
    first, km = _drive(draw, "first leg", first_min, people, {}, fast=True)
    second, _ = _drive(draw, "second leg", second_min, people, {}, fast=True)
    target, station = 5 * draw.whole(13, 16), draw.whole(3, 6) * 30
    stop = _segment(
        "fast_charge", "charge", people, station=f"{station} kW", to=f"{target} %", 
        longest=f"{LONGEST_CHARGE_MIN:.0f} min", prepare=f"{5 * draw.whole(3, 5)} min",
    )  # fmt: skip
    words = f"{first_min:.0f} min, charge to {target} % at {station} kW, {second_min:.0f} min"
    charge = 100.0 * (0.08 + USE_PER_KM * km) + draw.between(0.0, 10.0)
    return [*first, stop, *second], words, first_min + LONGEST_CHARGE_MIN + second_min, charge, (km, first_min)


def _drive(
    draw: Draw, name: str, length_min: float, people: int, more: Mapping[str, str], fast: bool = False
) -> tuple[list[str], float]:
    """Return a drive of a length as segments through town, by road and (not always) by motorway, and its way [km]."""
    town, motorway = (0.1, draw.between(0.5, 0.9)) if fast else (draw.between(0.15, 0.5), draw.between(-0.2, 0.4))
    shares = ((town, TOWN_KM_PER_H), (1.0 - town - max(motorway, 0.0), ROAD_KM_PER_H), (motorway, MOTORWAY_KM_PER_H))
    found: list[str] = []
    km = 0.0
    for (share, span), where in zip(shares, ("town", "road", "motorway"), strict=True):
        speed, minutes = draw.between(*span), share * length_min
        if minutes < 2.0:
            continue
        km += speed * minutes / 60.0
        given = {"speed": f"{speed:.0f} km/h", "duration": f"{minutes:.1f} min", **({} if found else more)}
        found.append(_segment("drive", f"{name}, {where}", people, **given))
    return found, km


def _segment(kind: str, name: str, people: int, **keys: str | int) -> str:
    written = {"kind": kind, "name": name, "occupants": people, **keys}
    lines = (
        f"{key:<11} = {value}" if isinstance(value, int) else f'{key:<11} = "{value}"' for key, value in written.items()
    )
    return "\n".join(["\n[[segment]]", *lines])


def _table(head: str, rows: Iterator[str]) -> list[str]:
    return ['table = """', head, *rows, '"""']


def _minutes(length_min: float) -> range:
    """Return the minutes of a table's rows, which reach beyond the end of the day."""
    return range(0, math.ceil(length_min) + 2 * STEP_MIN, STEP_MIN)


def _air_rows(sky: Sky, begins_min: int, length_min: float) -> Iterator[str]:
    for minute in _minutes(length_min):
        hour = (begins_min + minute) / 60.0
        yield f"{minute:3d}, {sky.air_c(hour):6.2f}, {sky.humidity_percent(hour):5.1f}"


def _sun_rows(sky: Sky, begins_min: int, length_min: float) -> Iterator[str]:
    for minute in _minutes(length_min):
        direct, diffuse, height, azimuth = sky.sun((begins_min + minute) / 60.0)
        yield f"{minute:3d}, {direct:5.0f}, {diffuse:4.0f}, {height:6.2f}, {azimuth:6.1f}"


def _signed(value: float) -> str:
    return f"{value:.0f}".replace("-0", "0") if abs(value) < 0.5 else f"{value:.0f}"
