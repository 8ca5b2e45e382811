"""Weather files: made-up EPW and TMY3 files of a few days, their hours, gaps and missing values."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from heatwright.errors import InputError
from heatwright.trip.load import build_case, load_trip
from heatwright.trip.model import Case

DAYS = ((12, 20), (12, 21), (12, 22))
EPW_HEAD = "LOCATION,Nowhere,-,-,made up,0,45.0,10.0,1.0,500.0\n" + "COMMENTS\n" * 7
EPW_FIELDS = 35


def epw_row(month: int, day: int, hour: int, **changes: str) -> str:
    """One hour: temperature falls by a kelvin an hour from 0 at midnight; direct sun is 10 times the hour."""
    cells = ["0"] * EPW_FIELDS
    cells[:6] = ["1999", str(month), str(day), str(hour), "0", "?"]
    values = {6: str(-hour), 7: "-20", 8: "60", 9: "95000", 12: "250", 14: str(10 * hour), 15: "40", 23: "5"}
    values |= {int(place.removeprefix("c")): text for place, text in changes.items()}
    for place, text in values.items():
        cells[place] = text
    return ",".join(cells)


def epw(changes: dict[tuple[int, int], dict[str, str]] | None = None, drop: tuple[int, int] = (0, 0)) -> str:
    rows = [
        epw_row(month, day, hour, **(changes or {}).get((day, hour), {}))
        for month, day in DAYS
        for hour in range(1, 25)
        if (day, hour) != drop
    ]
    return EPW_HEAD + "\n".join(rows) + "\n"


TRIP = """
format = "heatwright trip 1"
name = "by file"
[start]
date = "2031-12-21"
time = "{time}"
[weather]
file = "{file}"
{more}
[[segment]]
kind = "park"
duration = "{duration}"
"""


def case_of(folder: Path, file: str, text: str, time: str = "10:00", more: str = "", duration: str = "2 h") -> Case:
    (folder / file).write_text(text)
    (folder / "t.trip.toml").write_text(TRIP.format(time=time, file=file, more=more, duration=duration))
    return build_case(load_trip(folder / "t.trip.toml"))


def test_hours_of_an_epw_file_stand_at_their_end(tmp_path: Path) -> None:
    steps = case_of(tmp_path, "w.epw", epw()).steps
    half = 0.5 / 3600
    assert steps["t_ambient_k"][[0, 3600]] == pytest.approx([263.15 - half, 262.15 - half])
    # the mean over the hour to 11:00 is 110 W/m2 and stands at half past ten
    assert steps["sun_direct_w_per_m2"][1800] == pytest.approx(110, abs=0.01)
    assert steps["sun_diffuse_w_per_m2"] == pytest.approx(40.0)
    assert steps["p_ambient_pa"] == pytest.approx(95000.0)
    assert steps["t_sky_k"] == pytest.approx((250 / 5.670374419e-8) ** 0.25)


def test_the_sun_stands_where_the_station_is(tmp_path: Path) -> None:
    """Noon at 45 degrees north on the shortest day: elevation 90 - 45 - 23.44 degrees, in the south."""
    steps = case_of(tmp_path, "w.epw", epw(), time="11:00").steps
    noon = int(np.argmax(steps["sun_elevation_rad"]))
    assert math.degrees(steps["sun_elevation_rad"][noon]) == pytest.approx(21.6, abs=0.1)
    assert abs(math.degrees(steps["sun_azimuth_rad"][noon])) == pytest.approx(180.0, abs=0.5)


def test_a_constant_beside_the_file_wins(tmp_path: Path) -> None:
    steps = case_of(tmp_path, "w.epw", epw(), more='temperature = "7 degC"').steps
    assert steps["t_ambient_k"] == pytest.approx(280.15)


def test_a_trip_may_go_past_midnight_on_a_file(tmp_path: Path) -> None:
    steps = case_of(tmp_path, "w.epw", epw(), time="22:30", duration="4 h").steps
    assert steps["t_ambient_k"].min() == pytest.approx(249.15, abs=0.01)
    assert steps["t_ambient_k"][-1] == pytest.approx(273.15 - 2.5, abs=0.01)


GAPS = {
    "temperature": ({(21, 11): {"c6": "99.9"}}, "w.epw:43: temperature is missing"),
    "not a number": ({(21, 11): {"c6": ""}}, "w.epw:43: temperature is missing"),
    "humidity": ({(21, 12): {"c8": "999"}}, "w.epw:44: humidity is missing"),
    "direct": ({(20, 1): {"c14": "9999"}}, "w.epw:9: direct is missing"),
    "pressure": ({(21, 1): {"c9": "999999"}}, "w.epw:33: pressure is missing"),
}


@pytest.mark.parametrize(("changes", "expected"), GAPS.values(), ids=GAPS)
def test_a_missing_value_is_named_with_file_and_line(tmp_path: Path, changes, expected: str) -> None:
    text = epw(changes)
    with pytest.raises(InputError) as caught:
        case_of(tmp_path, "w.epw", text)
    assert expected in str(caught.value)


def test_a_missing_hour_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no hour for 12-21 11:00"):
        case_of(tmp_path, "w.epw", epw(drop=(21, 11)))


def test_a_file_that_is_no_weather_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        case_of(tmp_path, "w.epw", "nothing of the kind\n")


TMY_HEAD = (
    '700000,"NOWHERE",XX,1.0,45.0,10.0,500\n'
    "Date (MM/DD/YYYY),Time (HH:MM),DNI (W/m^2),DHI (W/m^2),OpqCld (tenths),"
    "Dry-bulb (C),RHum (%),Pressure (mbar)\n"
)


def tmy3(dry_bulb: str = "") -> str:
    rows = [
        f"{month:02d}/{day:02d}/1999,{hour:02d}:00,{10 * hour},40,5,{dry_bulb or -hour},60,950"
        for month, day in DAYS
        for hour in range(1, 25)
    ]
    return TMY_HEAD + "\n".join(rows) + "\n"


def test_a_typical_year_reads_like_the_same_epw_file(tmp_path: Path) -> None:
    one, two = case_of(tmp_path, "w.csv", tmy3()).steps, case_of(tmp_path, "w.epw", epw()).steps
    for name in ("t_ambient_k", "p_ambient_pa", "w_ambient", "sun_direct_w_per_m2", "sun_elevation_rad"):
        assert one[name] == pytest.approx(two[name], rel=1e-9), name


def test_a_gap_in_a_typical_year_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"w\.csv:3: temperature is missing"):
        case_of(tmp_path, "w.csv", tmy3("-9900"))
