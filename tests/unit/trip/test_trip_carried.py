"""Doors, wet clothes and rollers in a trip file: what they put on the grid, and mistakes in them."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.errors import InputError
from heatwright.kernel import names
from heatwright.plant.load import load_plant
from heatwright.trip.load import build_case, load_trip, parse_trip
from heatwright.trip.model import Case

HEAD = 'format = "heatwright trip 1"\nname = "test"\n[weather]\ntemperature = "8 degC"\n'
FILE = Path(__file__).parent / "files" / "t.trip.toml"


def segment(kind: str, lines: str) -> str:
    return f'[[segment]]\nkind = "{kind}"\n{lines}\n'


def case_of(*segments: str, step: str = "1 s") -> Case:
    return build_case(parse_trip(HEAD.replace("[weather]", f'step = "{step}"\n[weather]') + "".join(segments), FILE))


STOP = segment("park", 'duration = "90 s"\ndoors_at_start = "2 x 20 s"\ndoors_at_end = "3 x 10.5 s"')


@pytest.mark.parametrize("step", ["1 s", "4 s"])
def test_doors_stand_open_as_long_as_said(step: str) -> None:
    case = case_of(STOP, segment("park", 'duration = "30 s"'), step=step)
    opened = case.steps["doors_open"]
    assert np.sum(opened) * case.dt_s == pytest.approx(2 * 20.0 + 3 * 10.5)
    assert opened[0] == 2.0
    assert np.all(opened[case.segments[1].first :] == 0.0)


def test_half_a_step_counts_half() -> None:
    opened = case_of(STOP).steps["doors_open"]
    assert opened[20] == 0.0
    assert opened[79:82].tolist() == [1.5, 3.0, 3.0]


def test_water_on_clothes_leaves_with_the_people_and_that_on_the_floor_stays() -> None:
    wet = 'duration = "40 min"\noccupants = 2\nwet_clothes = "300 g"\n'
    aboard, empty = segment("park", wet), segment("park", 'duration = "20 min"')
    clothes = case_of(aboard, empty).steps["drying_kg_per_s"]
    assert np.sum(clothes[:2400]) == pytest.approx(0.3 * (1 - np.exp(-40 / 120)), rel=1e-9)
    assert np.all(clothes[2400:] == 0.0)
    floor = case_of(aboard.replace("wet_clothes", "wet_floor"), empty).steps["drying_kg_per_s"]
    assert np.sum(floor) == pytest.approx(0.3 * (1 - np.exp(-60 / 360)), rel=1e-9)
    assert np.all(floor > 0.0)
    one_more = case_of(aboard, segment("drive", 'speed = "36 km/h"\nduration = "10 min"\noccupants = 1'))
    assert np.all(one_more.steps["drying_kg_per_s"] > 0.0)


def test_rollers_are_marked_where_they_turn() -> None:
    drive = 'speed = "36 km/h"\nduration = "60 s"\n'
    case = case_of(segment("drive", drive + "dynamometer = true"), segment("drive", drive))
    assert np.array_equal(case.steps["dynamometer"], np.repeat([1.0, 0.0], 60))


def test_the_rainy_day_opens_doors_and_dries_coats() -> None:
    case = build_case(load_trip("rain_day"))
    door_s = sum(n * s for n, s in ((2, 25), (3, 60), (2, 20), (3, 40), (2, 20), (2, 30), (2, 20)))
    assert np.sum(case.steps["doors_open"]) * case.dt_s == pytest.approx(door_s)
    assert 0.1 < np.sum(case.steps["drying_kg_per_s"]) * case.dt_s < 1.33
    assert 0.0 < np.mean(case.steps["rain"]) < 1.0


MISTAKES = {
    "form": ('doors_at_start = "2 by 20 s"', "t.trip.toml:8: doors_at_start = '2 by 20 s'"),
    "many": ('doors_at_end = "20 x 20 s"', "1 to 8 doors"),
    "none": ('doors_at_end = "0 x 20 s"', "1 to 8 doors"),
    "no time": ('doors_at_end = "1 x 0 s"', "a time above zero"),
    "no unit": ('doors_at_end = "1 x 20"', 'such as "2 x 20 s"'),
    "wrong unit": ('doors_at_end = "1 x 20 m"', 'doors and a time, such as "2 x 20 s"'),
    "number": ("doors_at_end = 20", "doors_at_end = 20"),
    "long": ('doors_at_start = "1 x 50 s"\ndoors_at_end = "1 x 50 s"', "doors stand open for 100 s in 'park 1'"),
    "nobody": ('wet_clothes = "50 g"', "wet clothes, but nobody is aboard in 'park 1'"),
}


@pytest.mark.parametrize(("lines", "expected"), MISTAKES.values(), ids=MISTAKES)
def test_one_mistake(lines: str, expected: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_trip(HEAD + segment("park", f'duration = "90 s"\n{lines}'), FILE)
    assert len(caught.value.problems) == 1
    assert expected in str(caught.value.problems[0])


def test_doors_do_not_open_in_a_drive() -> None:
    with pytest.raises(InputError, match="unknown key 'doors_at_start'"):
        parse_trip(HEAD + segment("drive", 'speed = "36 km/h"\nduration = "60 s"\ndoors_at_start = "1 x 9 s"'), FILE)


def test_what_is_towed_adds_weight_and_drag_to_the_wheels() -> None:
    drive = 'speed = "72 km/h"\nrolling = true\nduration = "60 s"\nclimb = "60 m"\n'
    plain_case = case_of(segment("drive", drive))
    towed_case = case_of(segment("drive", drive + 'towed = "1300 kg"\ntowed_drag = "1.3 m2"'))
    car = load_plant("plain")
    alone, towed = (compile_program(car, case).rows[30, names.D_WHEEL] for case in (plain_case, towed_case))
    grade = math.atan(plain_case.steps["grade"][30])
    t_k, p_pa = (plain_case.steps[key][30] for key in ("t_ambient_k", "p_ambient_pa"))
    air_n = 0.5 * p_pa / (287.05 * t_k) * 1.3 * 20.0**2
    slope_n = 1300.0 * 9.80665 * math.sin(grade)
    roll = (towed - alone) / 20.0 - air_n - slope_n
    assert 0.0085 < roll / (1300.0 * 9.80665 * math.cos(grade)) < 0.0085 * 1.4
