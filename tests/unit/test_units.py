"""Text to SI and back, and the sentences for text that is no quantity."""

import math
import subprocess
import sys

import pytest

from heatwright.units import (
    UnitError,
    format_quantity,
    in_unit,
    parse,
    parse_conditions,
    parse_rated,
    parse_span,
    same_dimension,
    unit_of,
)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("12 L/min", "L/min", 12e-3 / 60),
        ("440 kJ/K", "kJ/K", 440e3),
        ("0.12 W/K per km/h", "W/K/(km/h)", 0.12 * 3.6),
        ("0.12 W/K/(km/h)", "W/K per km/h", 0.12 * 3.6),
        ("9 W/m2 K", "W/(m^2 K)", 9.0),
        ("9 W/m2/K", "W/m2 K", 9.0),
        ("0.02 1/h per km/h", "1/h per km/h", 0.02 / 3600 * 3.6),
        ("0.1 W/K per m per m/s", "W/K per m per m/s", 0.1),
        ("8000 rpm", "rpm", 8000 / 60),
        ("33 cc/rev", "cc/rev", 33e-6),
        ("9 kg/min", "kg/h", 0.15),
        ("70 mohm", "ohm", 0.070),
        ("0.27 mH", "mH", 0.27e-3),
        ("26 bar", "kPa", 26e5),
        ("3 mm2", "mm2", 3e-6),
        ("58 kWh", "kWh", 58 * 3.6e6),
        ("14 kWh/100 km", "kWh/km", 504.0),
        ("14 kWh per 100 km", "kWh/km", 504.0),
        ("14 kWh/(100 km)", "kWh/km", 504.0),
        ("0.3 1/h", "1/h", 0.3 / 3600),
        ("0.3 1 per h", "1/h", 0.3 / 3600),
        ("25 kJ/mol", "kJ/mol", 25e3),
        ("97 %", "%", 0.97),
        (0.97, "1", 0.97),
        (96, "cells", 96.0),
        ("96 cells", "cells", 96.0),
        ("-12 degC", "degC", 261.15),
        ("−12 °C", "degC", 261.15),
        ("300 K", "degC", 300.0),
        ("3 K", "K", 3.0),
        ("4 days", "h", 345600.0),
        ("1 day", "s", 86400.0),
        ("25 mph", "km/h", 11.176),
        ("90 deg", "deg", math.pi / 2),
        ("2e-6 1/W", "1/W", 2e-6),
        (" .5   kW ", "W", 500.0),
    ],
)
def test_parse(text: object, unit: str, value: float) -> None:
    assert parse(text, unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        ("12", "L/min", 'write "12 L/min"'),
        (12, "L/min", 'write "12 L/min"'),
        (True, "1", "True is no quantity"),
        (None, "W", "None is no quantity"),
        ("12 L/mni", "L/min", "did you mean 'min'?"),
        ("30 kph", "km/h", "expected a unit such as 'km/h' (speed); did you mean 'km/h'?"),
        ("2 weeks", "s", "expected a unit such as 's' (time); units of time: s, ms, min, h, d, day, days"),
        ("5 foo", "W/K", "expected a unit such as 'W/K'"),
        ("30 kpa", "kPa", "did you mean 'kPa'?"),
        ("440 kJ", "kJ/K", "'440 kJ' is in 'kJ'; expected a unit such as 'kJ/K'"),
        ("8000 1/min", "rpm", "expected a unit such as 'rpm'"),
        ("3 degC", "K", 'write "3 K"'),
        ("-300 degC", "degC", "below absolute zero"),
        ("5,5 kW", "kW", "decimals with a point"),
        ("nan W", "W", "no number with a unit"),
        (math.nan, "1", "no number with a unit"),
        (math.inf, "1", "no number with a unit"),
        ("1e999 W", "W", "not a finite number"),
        ("a few watts", "W", "no number with a unit"),
        ("3 W/(K", "W/K", "lacks a closing bracket"),
        ("3 W/K)", "W/K", "a bracket too many"),
        ("3 W/", "W/K", "not complete"),
        ("3 W & K", "W/K", "cannot be read at"),
        ("3 W/0 K", "W/K", "measures nothing"),
        ("5 500 W", "W", "'5 500 W' has two numbers; expected one number, then its unit; write \"5500 W\""),
        ("5 1 W", "W", "has two numbers"),
        ("5.5 kW 3", "kW", "unit 'kW 3' has the number 3 in it"),
        ("5.5 kW*2", "kW", "the number 2 in it"),
        ("5.5 (2 kW)", "kW", "the number 2 in it"),
        ("14 kWh/km 100", "kWh/km", "the number 100 in it"),
        ("５ kW", "kW", "no number with a unit"),
        ("3 kJ/degC", "kJ/K", ""),
    ],
)
def test_what_is_no_quantity(text: object, unit: str, said: str) -> None:
    if text == "3 kJ/degC":
        assert parse(text, unit) == 3000.0, "a difference of 1 degC is 1 K"
        return
    with pytest.raises(UnitError) as caught:
        parse(text, unit)
    assert said in str(caught.value)


def test_slash_divides_by_all_up_to_the_next() -> None:
    assert unit_of("W/m2 K") == unit_of("W/(m2 K)") == unit_of("W/m2/K")
    assert unit_of("W K/m2") != unit_of("W/m2 K")


def test_every_unit_goes_there_and_back() -> None:
    for unit in (
        "L/min",
        "degC",
        "K",
        "rpm",
        "bar",
        "kWh",
        "%",
        "kJ/K",
        "W/K per km/h",
        "mm2",
        "deg",
        "cc/rev",
    ):
        assert in_unit(parse(f"12.5 {unit}", unit), unit) == pytest.approx(12.5)
        assert format_quantity(parse(f"12.5 {unit}", unit), unit) == f"12.5 {unit}"


@pytest.mark.parametrize(
    ("value", "unit", "digits", "text"),
    [
        (293.15, "degC", 3, "20 degC"),
        (12345.0, "W", 3, "12300 W"),
        (0.97, "1", 3, "0.97"),
        (-1e-20, "W", 3, "-1e-20 W"),
        (273.15, "degC", 3, "0 degC"),
        (1234567.0, "J", 2, "1200000 J"),
    ],
)
def test_format(value: float, unit: str, digits: int, text: str) -> None:
    assert format_quantity(value, unit, digits) == text


def test_rated() -> None:
    value, at = parse_rated("850 W/K at 12 L/min, 3 m/s, 40 degC", "W/K")
    assert value == 850.0
    assert at == pytest.approx({"flow_m3_per_s": 2e-4, "speed_m_per_s": 3.0, "temperature_k": 313.15})
    assert parse_rated("180 W/K at 360 kg/h", "W/K") == (180.0, {"mdot_kg_per_s": pytest.approx(0.1)})
    assert parse_rated("180 W/K", "W/K") == (180.0, {})


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("180 W/K at ", "names no condition after"),
        ("180 W/K at 3 kg", "no coolant flow, air flow, air speed or temperature"),
        ("180 W/K at 3 m/s, 4 m/s", "given twice"),
        ("180 W/K at 0 L/min", "more than nothing"),
        ("180 W at 3 m/s", "expected a unit such as 'W/K'"),
    ],
)
def test_rated_refused(text: str, said: str) -> None:
    with pytest.raises(UnitError, match=said):
        parse_rated(text, "W/K")


def test_conditions_of_nothing() -> None:
    assert parse_conditions("") == {}


def test_span() -> None:
    assert parse_span("3 % to 97 %", "%") == pytest.approx((0.03, 0.97))
    assert parse_span("3 to 97 %", "%") == pytest.approx((0.03, 0.97))
    with pytest.raises(UnitError, match="is no range"):
        parse_span("3 %", "%")


def test_same_dimension() -> None:
    assert same_dimension("kg/h", "g/s")
    assert not same_dimension("rpm", "Hz")


def test_importing_units_loads_next_to_nothing() -> None:
    code = (
        "import re, typing, functools, sys\nbefore = set(sys.modules)\nimport heatwright.units\n"
        "print(*sorted(set(sys.modules) - before))"
    )
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert set(answer.stdout.split()) - {"__future__"} == {"heatwright", "heatwright.units"}
