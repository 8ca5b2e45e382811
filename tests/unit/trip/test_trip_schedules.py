"""Readers of speed schedules: forms, units, and every mistake with its line."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from heatwright.errors import InputError
from heatwright.trip.schedules import parse_schedule, read_schedule

MPH = 0.44704

COLUMN_TEXTS = {
    "two headings, tabs": "Made up\r\nTest Time, secs\tTarget Speed, mph\r\n0\t0\r\n1\t10.0\r\n2\t20\r\n",
    "one heading, commas": "seconds, mph\n0, 0\n1, 10\n2, 20",
    "no heading, blanks": "0 0\n 1   10\n2 20\n\n",
    "comment lines": "# made up\n# again\n0;0\n1;10\n2;20",
}


@pytest.mark.parametrize("text", COLUMN_TEXTS.values(), ids=COLUMN_TEXTS)
def test_column_text_is_in_miles_an_hour(text: str) -> None:
    schedule = parse_schedule(text, "cycle.txt")
    assert schedule.t_s.tolist() == [0.0, 1.0, 2.0]
    assert schedule.speed_m_per_s == pytest.approx([0.0, 10 * MPH, 20 * MPH])
    assert schedule.distance_m == pytest.approx(20 * MPH)


@pytest.mark.parametrize(("unit", "factor"), [("km/h", 1 / 3.6), ("m/s", 1.0), ("kph", 1 / 3.6)])
def test_a_heading_may_name_another_unit(unit: str, factor: float) -> None:
    schedule = parse_schedule(f"time s, speed {unit}\n0 0\n1 36", "cycle.txt")
    assert schedule.speed_m_per_s[-1] == pytest.approx(36 * factor)


TABLES = {
    "ending": "# made up\nt_s,speed_km_per_h\n0,0\n10,36\n",
    "brackets": "time [s],speed [km/h]\n0,0\n10,36\n",
    "round brackets": "t (s);v (m/s)\n0;0\n10;10\n",
    "row of units": "time\tspeed\nmin\tkm/h\n0\t0\n0.16666666666666666\t36\n",
    "miles": f"time_s,speed_mph\n5,0\n15,{10 / MPH!r}\n",
}


@pytest.mark.parametrize("text", TABLES.values(), ids=TABLES)
def test_tables_say_their_units_in_any_of_four_ways(text: str) -> None:
    schedule = parse_schedule(text, "cycle.csv")
    assert schedule.t_s == pytest.approx([0.0, 10.0])
    assert schedule.speed_m_per_s == pytest.approx([0.0, 10.0])


MISTAKES = {
    "empty table": ("", "x.csv", ["x.csv:1: the table is empty"]),
    "only a heading": ("t_s,speed_mph\n", "x.csv", ["the table has no rows of numbers"]),
    "one row": ("t_s,speed_mph\n0,0\n", "x.csv", ["x.csv:2: the table has one row"]),
    "empty text": ("", "x.txt", ["x.txt:1: the schedule is empty"]),
    "not a number": (
        "t_s,speed_mph\n0,0\n1,nan\n2,inf\n3,",
        "x.csv",
        ["x.csv:3: 'nan'", "x.csv:4: 'inf'", "x.csv:5: a cell"],
    ),
    "nan in text": ("0 0\n1 nan\n2 x", "x.txt", ["x.txt:2: 'nan'", "x.txt:3: 'x'"]),
    "negative": ("t_s,speed_mph\n0,0\n1,-2\n", "x.csv", ["x.csv:3: speed cannot be -2", "0 to"]),
    "negative in text": ("0 0\n1 -2\n", "x.txt", ["x.txt:2: speed -2 mph cannot be"]),
    "time stands": (
        "t_s,speed_mph\n0,0\n1,1\n1,2\n0.5,3\n",
        "x.csv",
        ["x.csv:4: time 1 s", "x.csv:5: time 0.5 s"],
    ),
    "time falls in text": ("0 0\n2 1\n1 2\n", "x.txt", ["x.txt:3: time 1 s does not follow 2 s"]),
    "unknown unit": (
        "t_s,speed [furlong/h]\n0,0\n1,1\n",
        "x.csv",
        ["x.csv:1: column 'speed [furlong/h]'", "km/h"],
    ),
    "wrong unit": ("t_s,speed [kg]\n0,0\n1,1\n", "x.csv", ["does not fit"]),
    "no unit": ("t_s,speed\n0,0\n1,1\n", "x.csv", ["column 'speed' has no unit"]),
    "no unit in text": ("time and speed\n0 0\n1 1\n", "x.txt", ["x.txt:1: the heading names no known unit"]),
    "two units in text": ("mph or km/h\n0 0\n1 1\n", "x.txt", ["mph and km/h"]),
    "minutes in text": ("time min, speed mph\n0 0\n1 1\n", "x.txt", ["not in seconds"]),
    "unknown column": ("t_s,speed_mph,gear\n0,0,1\n1,1,1\n", "x.csv", ["x.csv:1: unknown column 'gear'"]),
    "no speed": ("t_s\n0\n1\n", "x.csv", ["no column for speed"]),
    "twice": ("t_s,v_mph,speed_mph\n0,0,0\n1,1,1\n", "x.csv", ["two columns"]),
    "short row": ("t_s,speed_mph\n0,0\n1\n", "x.csv", ["x.csv:3: 1 cell in this row; expected 2"]),
    "short row in text": ("0 0\n1\n", "x.txt", ["x.txt:2: one number"]),
    "three headings": ("a\nb\nc mph\n0 0\n1 1\n", "x.txt", ["x.txt:3: 'c mph' is not a row of numbers"]),
}


@pytest.mark.parametrize(("text", "file", "expected"), MISTAKES.values(), ids=MISTAKES)
def test_every_mistake_is_named_with_its_line(text: str, file: str, expected: list[str]) -> None:
    with pytest.raises(InputError) as caught:
        parse_schedule(text, file)
    for part in expected:
        assert part in str(caught.value)


def test_all_mistakes_of_a_file_come_together_but_not_without_end() -> None:
    with pytest.raises(InputError) as caught:
        parse_schedule("t_s,speed_mph\n" + "0,bad\n" * 500, "x.csv")
    found = [problem.found for problem in caught.value.problems]
    assert 20 <= len(found) <= 45
    assert any("too many mistakes" in text for text in found)


def test_a_schedule_is_found_by_name_by_path_and_beside_the_trip(tmp_path: Path) -> None:
    (tmp_path / "own.csv").write_text("# Own\nt_s,speed_m_per_s\n0,0\n1,1\n")
    assert read_schedule("WLTC 3b").name == read_schedule("wltc_3b").name == "wltc_3b"
    assert read_schedule(tmp_path / "own.csv").title == "Own"
    assert read_schedule("own.csv", tmp_path).digest == read_schedule(tmp_path / "own.csv").digest
    with pytest.raises(InputError, match="wltc_3b"):
        read_schedule("nothing.csv", tmp_path)


def test_a_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    (tmp_path / "bad.csv").write_bytes(b"\xff\xfe\x00\x81")
    with pytest.raises(InputError, match="cannot be read"):
        read_schedule(tmp_path / "bad.csv")


def test_a_schedule_need_not_begin_at_zero() -> None:
    schedule = parse_schedule("100 0\n101 5\n", "x.txt")
    assert np.array_equal(schedule.t_s, [0.0, 1.0])
