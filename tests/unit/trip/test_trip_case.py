"""A trip on its time grid: times, speeds, heights, air, sun, who sits in the car."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from heatwright.errors import InputError
from heatwright.trip.load import build_case, load_trip, parse_trip
from heatwright.trip.model import Case

FILES = Path(__file__).parent / "files"
HEAD = 'format = "heatwright trip 1"\nname = "test"\n'
STEP_NAMES = {
    *("t_ambient_k", "p_ambient_pa", "w_ambient", "t_sky_k", "rain"),
    *("sun_direct_w_per_m2", "sun_diffuse_w_per_m2", "sun_elevation_rad", "sun_azimuth_rad"),
    *("occupants", "t_setpoint_k", "wanted", "occupied", "plugged", "station_w", "driving", "grade"),
    *("doors_open", "drying_kg_per_s", "dynamometer", "towed_kg", "towed_drag_m2"),
    *("fast", "charge_to", "charging", "prepare"),
}
AIR = '[weather]\ntemperature = "0 degC"\n'


def case_of(text: str, head: str = "") -> Case:
    return build_case(parse_trip(HEAD + head + text, FILES / "test.trip.toml"))


@pytest.fixture(scope="module")
def short() -> Case:
    return build_case(load_trip(FILES / "short_cold_drive.trip.toml"))


@pytest.fixture(scope="module")
def winter_day() -> Case:
    return build_case(load_trip("winter_day"))


def test_segments_follow_each_other_without_gaps(short: Case) -> None:
    spans = [(one.name, one.first, one.last_exclusive) for one in short.segments]
    assert spans == [("there", 0, 60), ("stop", 60, 180), ("back", 180, 300)]
    assert short.n == 300
    assert np.array_equal(short.t_s, np.arange(301.0))


def test_every_array_has_its_length_and_cannot_be_written(short: Case) -> None:
    assert {len(values) for values in short.edges.values()} == {301}
    assert {len(values) for values in short.steps.values()} == {300}
    for values in (*short.edges.values(), *short.steps.values()):
        assert np.all(np.isfinite(values))
        with pytest.raises(ValueError, match="read-only"):
            values[0] = 1.0


def test_the_names_of_a_case_are_those_the_march_looks_for(short: Case) -> None:
    assert set(short.edges) == {"speed_m_per_s", "altitude_m"}
    assert set(short.steps) == STEP_NAMES


def test_speed_goes_through_the_points_of_the_schedule(short: Case) -> None:
    speed = short.edges["speed_m_per_s"]
    assert speed[[0, 5, 10, 50, 60, 120, 180, 190, 240, 250, 300]] == pytest.approx(
        [0, 5, 10, 10, 0, 0, 0, 10, 0, 10, 0]
    )
    assert short.distance_m == pytest.approx(3 * 500.0)


def test_the_profile_is_stretched_to_the_way_and_turned_for_the_way_home(short: Case) -> None:
    height = short.edges["altitude_m"]
    assert height[[0, 60, 180, 300]] == pytest.approx([500, 520, 520, 500])
    # half the way (250 m) is reached at 30 s; the profile gains 10 of its 80 m by then
    assert height[30] == pytest.approx(500 + 20 * 10 / 80)
    # the way home is twice as long, so its middle is the end of its first round
    assert height[240] == pytest.approx(500 + 20 * 10 / 80)
    assert np.all(np.diff(height[180:]) <= 0.0)


def test_grade_is_the_tangent_of_rise_over_way(short: Case) -> None:
    sine = 20 * 70 / 80 / 250
    assert short.steps["grade"][45] == pytest.approx(math.tan(math.asin(sine)))
    assert short.steps["grade"][100] == 0.0
    assert short.steps["grade"][200] < 0.0


def test_people_and_wishes_follow_the_segments(short: Case) -> None:
    at = [10, 100, 200]
    assert short.steps["driving"][at].tolist() == [1, 0, 1]
    assert short.steps["occupants"][at].tolist() == [2, 0, 1]
    assert short.steps["occupied"][at].tolist() == [1, 0, 1]
    assert short.steps["wanted"][at].tolist() == [1, 0, 0]
    assert short.steps["t_setpoint_k"][at] == pytest.approx([295.15, 295.15, 293.15])


def test_a_table_by_the_clock_gives_means_over_the_steps(short: Case) -> None:
    warming = short.steps["t_ambient_k"]
    assert warming[0] == pytest.approx(273.15 - 7 + 0.5 / 60)
    assert warming[-1] == pytest.approx(273.15 - 2 - 0.5 / 60)


def test_pressure_and_humidity_follow_the_height(short: Case) -> None:
    """Standard atmosphere, ICAO: 95461 Pa at 500 m, 95232 Pa at 520 m."""
    assert short.steps["p_ambient_pa"][0] == pytest.approx(95461, abs=2)
    assert short.steps["p_ambient_pa"][100] == pytest.approx(95232, abs=2)


def test_humidity_is_over_water_in_frost() -> None:
    """Supercooled water at -10 degC: 286.5 Pa (Murphy and Koop 2005), ice only 259.9 Pa."""
    case = case_of('[weather]\ntemperature = "-10 degC"\nhumidity = "50 %"\n' + park())
    assert case.steps["w_ambient"][0] == pytest.approx(0.621945 * 143.2 / (101325 - 143.2), rel=2e-4)


def test_cabin_air_holds_no_more_water_than_it_can() -> None:
    """A car at -10 degC in air at 0 degC: ice saturation 259.9 Pa."""
    head = '[start]\ntemperature = "-10 degC"\ncharge = "55 %"\npack_temperature = "5 degC"\n'
    case = case_of(AIR.replace("0 degC", "2 degC") + 'humidity = "100 %"\n' + park(), head)
    assert case.start.w_cabin == pytest.approx(0.621945 * 259.9 / (101325 - 259.9), rel=1e-3)
    assert (case.start.t_start_k, case.start.soc, case.start.t_pack_k) == pytest.approx((263.15, 0.55, 278.15))


def test_start_temperature_falls_back_on_the_air() -> None:
    case = case_of(AIR + park())
    assert case.start.t_start_k == case.start.t_pack_k == pytest.approx(273.15)


def park(lines: str = "", duration: str = "10 s") -> str:
    return f'[[segment]]\nkind = "park"\nduration = "{duration}"\n{lines}\n'


def drive(lines: str) -> str:
    return f'[[segment]]\nkind = "drive"\n{lines}\n'


def test_one_speed_over_a_distance_pulls_away_and_stops() -> None:
    case = case_of(AIR + drive('speed = "72 km/h"\ndistance = "10 km"'))
    assert case.distance_m == pytest.approx(10_000.0)
    assert case.n == 520
    assert case.edges["speed_m_per_s"][[0, 10, 20, 500, 520]] == pytest.approx([0, 10, 20, 20, 0])


def test_rolling_drives_join_at_their_speed() -> None:
    both = drive('speed = "36 km/h"\nduration = "10 s"\nrolling = true')
    case = case_of(AIR + both + both)
    assert np.all(case.edges["speed_m_per_s"] == 10.0)


def test_lapse_cools_the_air_with_height() -> None:
    lines = 'speed = "36 km/h"\nduration = "1000 s"\nrolling = true\nclimb = "500 m"'
    case = case_of(AIR + 'lapse = "6.5 K/km"\n' + drive(lines), '[place]\naltitude = "1000 m"\n')
    assert case.steps["t_ambient_k"][-1] == pytest.approx(273.15 - 3.25, abs=0.01)


def test_given_pressure_is_that_of_the_start() -> None:
    lines = 'speed = "36 km/h"\nduration = "1000 s"\nrolling = true\nclimb = "500 m"'
    case = case_of(AIR + 'pressure = "900 hPa"\n' + drive(lines), '[place]\naltitude = "1000 m"\n')
    assert case.steps["p_ambient_pa"][0] == pytest.approx(9.0e4, rel=1e-4)
    assert case.steps["p_ambient_pa"][-1] == pytest.approx(9.0e4 * 84556 / 89875, rel=1e-4)


def test_shade_keeps_off_sun_and_sky() -> None:
    sun = '[sun]\ndirect = "800 W/m2"\ndiffuse = "100 W/m2"\nelevation = "30 deg"\nazimuth = "200 deg"\n'
    half, whole = (case_of(AIR + sun + park(f'shade = "{share} %"')).steps for share in (50, 100))
    assert half["sun_direct_w_per_m2"][0] == pytest.approx(400.0)
    assert half["sun_diffuse_w_per_m2"][0] == pytest.approx(50.0)
    assert whole["t_sky_k"][0] == pytest.approx(273.15)
    assert half["t_sky_k"][0] < 270.0


@pytest.mark.parametrize(("heading", "expected"), [(0, -160), (200, 0), (180, 20), (290, -90), (350, -150)])
def test_azimuth_counts_from_the_nose(heading: float, expected: float) -> None:
    sun = '[sun]\ndirect = "800 W/m2"\nelevation = "30 deg"\nazimuth = "200 deg"\n'
    steps = case_of(AIR + sun + park(f'heading = "{heading} deg"')).steps
    assert math.degrees(steps["sun_azimuth_rad"][0]) == pytest.approx(expected)


def test_the_sun_below_the_horizon_has_no_beam() -> None:
    sun = '[sun]\ndirect = "800 W/m2"\nelevation = "-1 deg"\n'
    assert np.all(case_of(AIR + sun + park()).steps["sun_direct_w_per_m2"] == 0.0)


def test_an_azimuth_through_north_is_read_the_short_way() -> None:
    table = '"""\ntime [s], azimuth [deg], elevation [deg]\n0, 350, 10\n10, 10, 10\n"""'
    steps = case_of(AIR + f"[sun]\ntable = {table}\n" + park()).steps
    assert np.degrees(steps["sun_azimuth_rad"][[0, 9]]) == pytest.approx([-9, 9])


def test_a_soak_at_the_start_only_sets_the_start() -> None:
    soak = '[[segment]]\nkind = "soak"\nduration = "10 h"\ntemperature = "-20 degC"\n'
    case = case_of(AIR + soak + park(), '[start]\ntime = "21:00"\n')
    assert case.n == 10
    assert case.start.t_start_k == pytest.approx(253.15)
    assert case.clock_s == pytest.approx(31 * 3600.0)


def test_a_soak_on_the_way_is_worked_out() -> None:
    case = case_of(AIR + park() + '[[segment]]\nkind = "soak"\nduration = "20 s"\n' + park())
    assert [one.kind for one in case.segments] == ["park", "soak", "park"]
    assert case.n == 40


READY = '[[segment]]\nkind = "precondition"\nduration = "10 min"\nready_by = "06:30"\nplugged = false\n'


def test_the_stop_before_makes_room_for_ready_by() -> None:
    case = case_of(AIR + park().replace('duration = "10 s"', "") + READY, '[start]\ntime = "23:50"\n')
    assert case.segments[0].last_exclusive == (6 * 60 + 30) * 60
    assert case.n == (6 * 60 + 40) * 60


def test_ready_by_alone_sets_the_clock() -> None:
    soak = '[[segment]]\nkind = "soak"\n'
    assert case_of(AIR + READY).clock_s == case_of(AIR + soak + READY).clock_s == 6 * 3600 + 20 * 60


def test_the_plug_gives_its_power_only_while_plugged() -> None:
    case = case_of(AIR + park('plugged = true\nstation = "11 kW"') + park())
    assert case.steps["station_w"][[0, 15]].tolist() == [11000.0, 0.0]
    assert case.steps["plugged"][[0, 15]].tolist() == [1.0, 0.0]


@pytest.mark.parametrize("step", [0.1, 2.0, 7.0])
def test_other_steps_keep_time_and_way(step: float) -> None:
    lines = 'schedule = "one_minute.csv"\nrepeats = 3'
    case = case_of(AIR + drive(lines), f'step = "{step} s"\n')
    assert case.n == round(180 / step)
    assert case.distance_m == pytest.approx(1500.0, rel=0.03)
    assert case.edges["speed_m_per_s"][-1] == 0.0


def test_the_same_trip_has_the_same_digest_and_a_changed_file_another(tmp_path: Path) -> None:
    for file in FILES.iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    one, two = (load_trip(folder / "short_cold_drive.trip.toml") for folder in (FILES, tmp_path))
    assert one.digest == two.digest
    (tmp_path / "warming.csv").write_text("clock, temperature [degC]\n07:55, -12\n08:20, 12\n")
    assert load_trip(tmp_path / "short_cold_drive.trip.toml").digest != one.digest


class TestWinterDay:
    """The shipped day: what its file says must be found in the case."""

    def test_way_and_heights(self, winter_day: Case) -> None:
        assert winter_day.distance_m == pytest.approx(2 * 23266.3, abs=0.5)
        height = winter_day.edges["altitude_m"]
        assert height[[0, -1]] == pytest.approx([640, 640])
        assert height.max() == pytest.approx(1440)

    def test_clock(self, winter_day: Case) -> None:
        begins = {one.name: winter_day.clock_s + one.first for one in winter_day.segments}
        assert begins["warm the cabin"] == 7 * 3600 + 25 * 60
        assert begins["up to the hut"] == 7 * 3600 + 50 * 60
        assert begins["home after dark"] == 16 * 3600 + 35 * 60

    def test_start(self, winter_day: Case) -> None:
        assert winter_day.start.t_start_k == pytest.approx(264.15)
        assert winter_day.start.soc == pytest.approx(0.9)

    def test_sun_shines_only_on_the_stop(self, winter_day: Case) -> None:
        stop = next(one for one in winter_day.segments if one.name == "in the sun")
        assert stop.last_exclusive - stop.first == 6 * 3600
        lit = np.flatnonzero(winter_day.steps["sun_direct_w_per_m2"] > 0.0)
        assert stop.first < lit[0]
        assert lit[-1] <= stop.last_exclusive
        assert winter_day.steps["sun_direct_w_per_m2"].max() == pytest.approx(700, abs=1)
        assert winter_day.steps["sun_elevation_rad"][33000:].max() < 0.0

    def test_needs_no_weather_readers(self) -> None:
        import subprocess
        import sys

        code = (
            "import sys; from heatwright.trip.load import load_trip, build_case\n"
            "trip = load_trip('winter_day'); heavy = {'numba', 'scipy', 'pandas', 'pvlib', 'CoolProp'}\n"
            "assert not heavy & set(sys.modules), heavy & set(sys.modules)\n"
            "build_case(trip); assert not (heavy - {'numba', 'scipy'}) & set(sys.modules)\n"
        )
        subprocess.run([sys.executable, "-c", code], check=True)


def test_a_trip_without_a_clock_has_none() -> None:
    assert case_of(AIR + park()).clock_s is None


def test_build_case_refuses_what_load_would_refuse() -> None:
    with pytest.raises(InputError):
        case_of(AIR + '[[segment]]\nkind = "soak"\n')
