"""Mistakes in trip files: every one at once, with its line, what was found, what was expected."""

from __future__ import annotations

from pathlib import Path

import pytest

from heatwright.errors import InputError, Problem
from heatwright.trip.load import load_trip, parse_trip

FILES = Path(__file__).parent / "files"
HEAD = 'format = "heatwright trip 1"\nname = "test"\n'  # lines 1 and 2
AIR = '[weather]\ntemperature = "0 degC"\n'  # lines 3 and 4
PARK = '[[segment]]\nkind = "park"\nduration = "10 s"\n'  # lines 5 to 7
DRIVE = '[[segment]]\nkind = "drive"\nschedule = "one_minute.csv"\n'


def mistakes(text: str) -> tuple[Problem, ...]:
    with pytest.raises(InputError) as caught:
        parse_trip(text, FILES / "t.trip.toml")
    return caught.value.problems


def only(text: str) -> str:
    problems = mistakes(text)
    assert len(problems) == 1, [str(one) for one in problems]
    return str(problems[0]).replace(str(FILES) + "/", "")


def segment(kind: str, lines: str) -> str:
    return f'[[segment]]\nkind = "{kind}"\n{lines}\n'


ONE = {
    "not TOML": (HEAD + "[weather\n", "t.trip.toml:3: this is not TOML"),
    "format": ('format = "x"\nname = "t"\n' + AIR + PARK, "t.trip.toml:1: format = 'x'"),
    "a plant": ('format = "heatwright plant 1"\nname = "t"\n[pack.pack]\n', "this is a plant file; name a trip file"),
    "unknown key": (HEAD + 'stepp = "1 s"\n' + AIR + PARK, "t.trip.toml:3: unknown key 'stepp'"),
    "near key": (HEAD + 'stepp = "1 s"\n' + AIR + PARK, "write 'step'"),
    "unknown table": (HEAD + AIR + PARK + "[wether]\n", "t.trip.toml:8: unknown key 'wether'"),
    "no weather": (HEAD + PARK, "there is no [weather]"),
    "no temperature": (HEAD + '[weather]\nhumidity = "5 %"\n' + PARK, "t.trip.toml:3: no air temperature"),
    "no segments": (HEAD + AIR, "the trip has no segments"),
    "no unit": (HEAD + "[weather]\ntemperature = 5\n" + PARK, 'write it as text: temperature = "5 degC"'),
    "wrong unit": (HEAD + AIR.replace("degC", "bar") + PARK, "t.trip.toml:4: temperature: '0 bar'"),
    "a difference": (HEAD + 'set_point = "99 degC"\n' + AIR + PARK, "5 degC to 35 degC"),
    "out of range": (
        HEAD + AIR.replace("0 degC", "99 degC") + PARK,
        "t.trip.toml:4: temperature = '99 degC'",
    ),
    "kind": (HEAD + AIR + segment("drvie", ""), "t.trip.toml:6: kind = 'drvie'"),
    "near kind": (HEAD + AIR + segment("drvie", ""), "write 'drive'"),
    "no kind": (HEAD + AIR + "[[segment]]\n", "the segment has no kind"),
    "no station": (HEAD + AIR + PARK + segment("fast_charge", ""), "t.trip.toml:8: 'station' is missing"),
    "charge without a plug": (HEAD + AIR + PARK + 'charge_to = "80 %"\n', "t.trip.toml:8: `charge_to` without a plug"),
    "too full": (HEAD + AIR + segment("fast_charge", 'station = "50 kW"\nto = "101 %"'), "to = '101 %' is out of"),
    "segment key": (HEAD + AIR + PARK + 'durration = "1 s"\n', "t.trip.toml:8: unknown key 'durration'"),
    "flag": (HEAD + AIR + PARK + 'conditioned = "yes"\n', "true or false, without quotes"),
    "count": (HEAD + AIR + PARK + "occupants = 2.5\n", "a whole number, 0 to 9"),
    "clock": (HEAD + '[start]\ntime = "25:00"\n' + AIR + PARK, "t.trip.toml:4: time = '25:00' is not a time"),
    "date": (HEAD + '[start]\ndate = "2031-02-30"\n' + AIR + PARK, "is not a date"),
    "no length": (HEAD + AIR + segment("park", ""), "t.trip.toml:5: nothing says how long the park lasts"),
    "no time": (HEAD + AIR + segment("park", 'duration = "0 s"'), "the park takes no time"),
    "no time to drive": (
        HEAD + AIR + segment("drive", 'speed = "50 km/h"\nduration = "0 s"'),
        "0 s are too short to reach the speed",
    ),
    "only a soak": (HEAD + AIR + segment("soak", ""), "nothing happens on this trip"),
    "until without clock": (HEAD + AIR + segment("park", 'until = "09:00"'), "`until` has no clock to go by"),
    "plug": (HEAD + AIR + PARK + "plugged = true\n", "t.trip.toml:5: plugged in"),
    "station": (HEAD + AIR + PARK + 'station = "11 kW"\n', "t.trip.toml:8: `station` without a plug"),
    "no schedule": (
        HEAD + AIR + segment("drive", 'schedule = "none.csv"'),
        "t.trip.toml:7: there is no such schedule",
    ),
    "neither": (HEAD + AIR + segment("drive", ""), "neither schedule nor speed"),
    "both": (HEAD + AIR + DRIVE + 'speed = "5 km/h"\n', "both schedule and speed"),
    "speed alone": (HEAD + AIR + segment("drive", 'speed = "50 km/h"'), "either `duration` or `distance`"),
    "too short": (
        HEAD + AIR + segment("drive", 'speed = "72 km/h"\nduration = "30 s"'),
        "30 s are too short to reach the speed",
    ),
    "duration of a schedule": (HEAD + AIR + DRIVE + 'duration = "5 s"\n', "goes with `speed`"),
    "profile": (HEAD + AIR + DRIVE + 'profile = "alp"\n', "t.trip.toml:8: there is no profile 'alp'"),
    "reverse": (HEAD + AIR + DRIVE + "reverse = true\n", "`reverse` without a climb"),
    "steep": (HEAD + AIR + DRIVE + 'climb = "400 m"\n', "as steep as"),
    "two names": (HEAD + AIR + (PARK + 'name = "a"\n') * 2, "t.trip.toml:12: two segments are called 'a'"),
    "jump": (
        HEAD + AIR + PARK + segment("drive", 'speed = "36 km/h"\nduration = "9 s"\nrolling = true'),
        "the drive begins at 36.0 km/h, the car before it does 0.0 km/h",
    ),
    "no stop": (
        HEAD + AIR + segment("drive", 'speed = "36 km/h"\nduration = "9 s"\nrolling = true') + PARK,
        "ends at 36.0 km/h and 'park 2' stands",
    ),
    "half a place": (HEAD + '[place]\nlatitude = "5 deg"\n' + AIR + PARK, "half a place"),
    "weather file": (HEAD + '[weather]\nfile = "no.epw"\n' + PARK, "there is no weather file 'no.epw'"),
    "table file": (HEAD + '[weather]\ntable = "no.csv"\n' + PARK, "t.trip.toml:4: the table 'no.csv' cannot"),
    "table without clock": (HEAD + '[weather]\ntable = "warming.csv"\n' + PARK, "the trip has none"),
    "late soak": (
        HEAD + AIR + PARK + segment("soak", 'duration = "5 s"\ntemperature = "9 degC"'),
        "step by step",
    ),
    "two starts": (
        HEAD + '[start]\ntemperature = "1 degC"\n' + AIR + segment("soak", 'temperature = "2 degC"') + PARK,
        "t.trip.toml:4: both [start] and the first soak",
    ),
}


@pytest.mark.parametrize(("text", "expected"), ONE.values(), ids=ONE)
def test_one_mistake(text: str, expected: str) -> None:
    assert expected in only(text)


TABLES = {
    "short": ("time [s], temperature [degC]\n0, 1\n5, 2", "t.trip.toml:6: the table covers 0 s to 5 s"),
    "nan": ("time [s], temperature [degC]\n0, 1\n50, nan", "t.trip.toml:7: 'nan' is not a usable value"),
    "unknown": ("time [s], temprature [degC]\n0, 1\n50, 1", "t.trip.toml:5: unknown column"),
    "range": ("time [s], temperature [degC]\n0, 1\n50, 100", "t.trip.toml:7: temperature cannot be 100"),
    "clock": ("clock, temperature [degC]\n0600, 1\n07:00, 1", "t.trip.toml:6: '0600' is not a time of day"),
}


@pytest.mark.parametrize(("table", "expected"), TABLES.values(), ids=TABLES)
def test_a_mistake_inside_a_table_has_the_line_of_its_row(table: str, expected: str) -> None:
    assert expected in only(HEAD + f'[weather]\ntable = """\n{table}\n"""\n' + PARK)


def test_all_mistakes_come_in_one_report() -> None:
    text = (
        HEAD
        + 'set_point = "21"\n[start]\ncharge = "150 %"\n[weather]\ntemperature = "cold"\nhumidty = "50 %"\n'
        + '[[segment]]\nkind = "drive"\nschedule = "none"\noccupants = -1\n'
        + '[[segment]]\nkind = "fast_charge"\n'
    )
    lines = sorted(int(one.where.rpartition(":")[2]) for one in mistakes(text))
    assert lines == [3, 5, 7, 8, 11, 12, 13]


def test_ready_by_that_does_not_fit_says_when_it_would_be() -> None:
    ready = segment("precondition", 'duration = "10 min"\nready_by = "06:30"\nplugged = false')
    text = HEAD + '[start]\ntime = "06:00"\n' + AIR + PARK + ready
    assert "it is ready at 06:10, not at 06:30" in only(text)


def test_the_clear_sky_says_what_it_needs() -> None:
    found = [str(one) for one in mistakes(HEAD + AIR + "[sun]\nclear_sky = true\n" + PARK)]
    assert any("latitude, longitude, clock_offset in [place]" in text for text in found)
    assert any("date in [start]" in text for text in found)
    assert any("need a clock" in text for text in found)


def test_mistakes_of_a_schedule_keep_their_own_file(tmp_path: Path) -> None:
    (tmp_path / "bad.csv").write_text("t_s,speed_mph\n0,0\n1,-5\n")
    with pytest.raises(InputError) as caught:
        parse_trip(HEAD + AIR + segment("drive", 'schedule = "bad.csv"'), tmp_path / "t.trip.toml")
    assert [one.where for one in caught.value.problems] == [f"{tmp_path / 'bad.csv'}:3"]


PROFILES = {
    "words": ('["0 km 0 m", "far"]', "point 'far' of the profile"),
    "unit": ('["0 km 0 m", "1 km 5 bar"]', "'5 bar' is in 'bar'"),
    "backwards": ('["0 km 0 m", "1 km 5 m", "1 km 9 m"]', "does not lie behind"),
    "one point": ('["0 km 0 m"]', "fewer than two points"),
    "no list": ('"0 km 0 m"', "is not a list"),
}


@pytest.mark.parametrize(("points", "expected"), PROFILES.values(), ids=PROFILES)
def test_profiles(points: str, expected: str) -> None:
    assert expected in only(HEAD + AIR + f"[profile]\nhill = {points}\n" + PARK)


def test_a_flat_profile_cannot_be_scaled() -> None:
    lines = 'profile = "flat"\nclimb = "5 m"\n[profile]\nflat = ["0 km 5 m", "1 km 9 m", "2 km 5 m"]\n'
    assert "cannot be scaled" in only(HEAD + AIR + DRIVE + lines)


def test_a_name_that_is_nothing_lists_what_there_is() -> None:
    with pytest.raises(InputError, match="winter_day"):
        load_trip("nothing_of_the_kind")


def test_a_folder_is_no_trip(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        load_trip(tmp_path)


ECHOES = {
    "duration": (segment("park", 'duration = "4 dayz"'), "did you mean 'day'?"),
    "until": (segment("park", 'until = "9 h"'), "is not a time"),
    "ready_by": (
        segment("park", "") + segment("precondition", 'duration = "9 min"\nready_by = "late"\nplugged = false'),
        "ready_by = 'late' is not a time",
    ),
    "start": (segment("park", 'until = "09:00"') + '[start]\ntime = "late"\n', "time = 'late' is not a time"),
}


@pytest.mark.parametrize(("lines", "expected"), ECHOES.values(), ids=ECHOES)
def test_what_hangs_on_a_time_already_reported_is_no_echo(lines: str, expected: str) -> None:
    assert expected in only(HEAD + AIR + lines)


def test_a_duration_in_days() -> None:
    trip = parse_trip(HEAD + AIR + segment("park", 'duration = "4 days"'), FILES / "t.trip.toml")
    assert trip.legs[0].values["duration"] == 4 * 86400.0


def test_an_unknown_unit_of_time_says_which_there_are() -> None:
    (problem,) = mistakes(HEAD + AIR + segment("park", 'duration = "2 weeks"'))
    assert problem.expected == "a unit such as 's' (time)"
    assert problem.hint == "units of time: s, ms, min, h, d, day, days"


def test_a_trip_of_too_many_steps_says_what_step_would_do() -> None:
    stop = segment("park", 'name = "away"\nduration = "14 d"')
    problem = mistakes(HEAD + AIR + PARK + stop)[0]
    assert problem.where.endswith("t.trip.toml:8")
    assert problem.found == "the trip lasts 14.0 days, which are 1,209,610 steps of 1 s"
    assert problem.expected == "at most 1,200,000 steps, 13.9 days at this step"
    assert problem.hint == "write step = \"2 s\" at the head of the file, or shorten 'away'"
    assert parse_trip(HEAD + 'step = "2 s"\n' + AIR + PARK + stop, FILES / "t.trip.toml").dt_s == 2.0


def test_a_trip_just_short_enough() -> None:
    assert parse_trip(HEAD + AIR + segment("park", 'duration = "1200000 s"'), FILES / "t.trip.toml").legs
