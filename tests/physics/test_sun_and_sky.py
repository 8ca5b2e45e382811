"""Sun position, clear-sky radiation and sky temperature on the steps of a trip, against published values."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from heatwright.trip import segments
from heatwright.trip.load import parse_trip
from heatwright.trip.sun import sun_steps
from heatwright.trip.weather import sky_emissivity

PARKED = """
format = "heatwright trip 1"
name = "parked"
[start]
date = "{date}"
time = "{time}"
[place]
latitude = "{latitude} deg"
longitude = "{longitude} deg"
altitude = "{altitude} m"
clock_offset = "-7 h"
[weather]
temperature = "20 degC"
[sun]
clear_sky = true
turbidity = 3.0
[[segment]]
kind = "park"
duration = "{duration}"
"""


def sun_at(duration: str = "1 s", **where: object) -> dict[str, np.ndarray]:
    trip = parse_trip(PARKED.format(duration=duration, **where), Path("sun.trip.toml"))
    timeline = segments.lay_timeline(trip.legs, trip.start["time_s"], [])
    return sun_steps(trip, segments.lay_grid(trip, timeline, []), None)


@pytest.mark.parametrize("id_", [pytest.param(None, id="SO-01")])
def test_position_of_the_published_sample(id_: None) -> None:
    """Source: Reda and Andreas, Solar position algorithm, sample of the report (values from memory)."""
    sample = {"date": "2003-10-17", "time": "12:30:30", "latitude": 39.742476, "longitude": -105.1786}
    sun = sun_at(altitude=1830.14, **sample)
    assert 90.0 - math.degrees(sun["sun_elevation_rad"][0]) == pytest.approx(50.11162, abs=0.02)
    assert math.degrees(sun["sun_azimuth_rad"][0]) % 360.0 == pytest.approx(194.34024, abs=0.02)


NOONS = [
    pytest.param("2023-06-21", 10.01, 924.8, 105.1, id="SO-05"),
    pytest.param("2023-03-21", 33.08, 934.4, 98.0, id="SO-06"),
]


@pytest.mark.parametrize(("date", "zenith", "direct", "diffuse"), NOONS)
def test_clear_sky_at_noon(date: str, zenith: float, direct: float, diffuse: float) -> None:
    """Source: Ineichen and Perez, Solar Energy 73 (2002), Linke turbidity 3, as worked out by pvlib."""
    sun = sun_at(date=date, time="12:30", latitude=33.45, longitude=-111.983, altitude=337)
    assert 90.0 - math.degrees(sun["sun_elevation_rad"][0]) == pytest.approx(zenith, abs=0.05)
    assert sun["sun_direct_w_per_m2"][0] == pytest.approx(direct, rel=0.01)
    assert sun["sun_diffuse_w_per_m2"][0] == pytest.approx(diffuse, rel=0.01)


DAYS = [
    pytest.param("2023-06-21", 8.474, id="SO-05-day"),
    pytest.param("2023-03-21", 6.318, id="SO-06-day"),
]


@pytest.mark.parametrize(("date", "published_kwh"), DAYS)
def test_clear_sky_over_a_day(date: str, published_kwh: float) -> None:
    """Radiation on the flat over a whole day; source as above."""
    sun = sun_at("24 h", date=date, time="00:00", latitude=33.45, longitude=-111.983, altitude=337)
    flat = sun["sun_direct_w_per_m2"] * np.sin(sun["sun_elevation_rad"]) + sun["sun_diffuse_w_per_m2"]
    assert flat.sum() / 3.6e6 == pytest.approx(published_kwh, rel=0.01)


def test_sky_of_the_published_example() -> None:
    """Source: worked example given with the formula: dew point 283 K, air 293 K, clear sky."""
    radiation = sky_emissivity(np.array(283.0), np.array(0.0)) * 5.6697e-8 * 293.0**4
    assert radiation == pytest.approx(340.6, rel=2e-3)
