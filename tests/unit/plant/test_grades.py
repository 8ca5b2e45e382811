"""Grades of evidence: read from numbers and tables, kept with their place, refused where unknown."""

from collections.abc import Callable
from pathlib import Path

import pytest

from heatwright.plant.grades import split_grade
from heatwright.plant.inventory import count_grades, sheets
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.units import UnitError

Problems = Callable[..., list[tuple[int, str]]]
PACK = 'energy = "50 kWh"'


def grades_of(plant: Plant, owner: str) -> dict[str, str]:
    return {one.key: one.grade for one in plant.stated if one.owner == owner}


@pytest.mark.parametrize(
    ("text", "parted"),
    [
        ("12 L/min (measured)", ("12 L/min", "measured")),
        ("780 W/K at 12 L/min, 3 m/s  ( data  sheet )", ("780 W/K at 12 L/min, 3 m/s", "data sheet")),
        ("9 W/ (m2 K)", ("9 W/ (m2 K)", "")),
        ("9 W/ (m2 K) (data sheet)", ("9 W/ (m2 K)", "data sheet")),
        ("3 % to 97 % (estimated)", ("3 % to 97 %", "estimated")),
        ("12 L/min", ("12 L/min", "")),
        (12.5, (12.5, "")),
    ],
)
def test_a_text_parts_from_its_grade(text: object, parted: tuple[object, str]) -> None:
    assert split_grade(text) == parted


@pytest.mark.parametrize(
    ("text", "hint"),
    [("mesured", "measured"), ("Measured", "measured"), ("guess", "take it out"), ("", "take it out")],
)
def test_an_unknown_grade(text: str, hint: str) -> None:
    with pytest.raises(UnitError, match="one of measured, data sheet, estimated") as caught:
        split_grade(f"12 L ({text})")
    assert hint in caught.value.hint


def test_a_graded_number_is_the_same_number(load: Callable[..., Plant]) -> None:
    text = (
        'ua = "800 W/K at 12 L/min, 3 m/s, 40 degC"',
        'ua = "800 W/K at 12 L/min, 3 m/s, 40 degC (measured)"\nair_power = "0.5 (estimated)"\ngrade = "data sheet"\n'
        'face_area = "0.3 m2"',
    )
    plain, plant = load(), load(text)
    assert plant.parts["radiator"].values["ua"] == plain.parts["radiator"].values["ua"]
    assert grades_of(plant, "radiator") == {"ua": "measured", "air_power": "estimated", "face_area": "data sheet"}
    assert grades_of(plain, "radiator") == {"ua": ""}


def test_tables_and_hoses_have_grades_too(load: Callable[..., Plant]) -> None:
    lines = (
        'name = "Sound"',
        'body.mass = "1500 kg (measured)"',
        'hoses.length.main = "4 m (estimated)"',
        'fluid.charge = "0.9 kg (measured)"',
    )
    plant = load((lines[0], "\n".join(lines)))
    assert grades_of(plant, "body") == {"mass": "measured"}
    assert grades_of(plant, "hoses.length") == {"main": "estimated"}
    assert grades_of(plant, "fluid") == {"charge": "measured"}
    assert plant.hoses["length"]["main"] == 4.0


@pytest.mark.parametrize(
    ("new", "said"),
    [
        ('energy = "50 kWh (mesured)"', "pack.energy: 'mesured' is no grade of evidence"),
        ('energy = "50 kWh"\ngrade = "good"', "pack.grade: 'good' is no grade of evidence"),
        ('energy = "50 kWh"\ngrade = 3', "pack.grade: '3' is no grade"),
    ],
)
def test_one_mistake(problems: Problems, new: str, said: str) -> None:
    ((_, sentence),) = problems((PACK, new))
    assert said in sentence
    assert "expected one of measured, data sheet, estimated" in sentence


def test_every_value_is_given_or_a_default(load: Callable[..., Plant]) -> None:
    """No value is without an origin, and what is left out is said to be."""
    plant = load((PACK, 'energy = "50 kWh (measured)"'))
    found = sheets(plant)
    pack = next(sheet for sheet in found if sheet.name == "pack")
    entries = {entry.key: entry for entry in pack.entries}
    assert (entries["energy"].text, entries["energy"].grade) == ("50 kWh", "measured")
    assert entries["energy"].origin.endswith("some.plant.toml:5")
    assert entries["resistance"].text == "105 mohm"
    assert entries["resistance"].origin == "common practice; scaled with energy"
    values = plant.parts["pack"].values
    assert {key for key in entries if values[key] is None} == set()
    assert {key for key, value in values.items() if value is not None} == {*entries, "note", "was"}
    assert not pack.left_out
    assert dict(next(sheet for sheet in found if sheet.name == "inlet").words)["position fresh"] == "outside-box"
    counts = count_grades(found)
    assert counts["measured"] == 1
    assert sum(counts.values()) == sum(len(sheet.entries) for sheet in found)


def test_panes_that_the_file_does_not_name_are_defaults(load: Callable[..., Plant]) -> None:
    pane = next(sheet for sheet in sheets(load()) if sheet.name == "glass.screen")
    assert {entry.grade for entry in pane.entries} == {"default"}
    assert next(entry.text for entry in pane.entries if entry.key == "slope") == "29 deg"


def test_the_files_behind_a_plant_are_named(write: Callable[..., Path]) -> None:
    write(name="base.plant.toml")
    text = 'format = "heatwright plant 1"\nname = "C"\nextends = "base.plant.toml"\n'
    plant = load_plant(write(text=text, name="c.plant.toml"))
    assert [Path(one).name for one in plant.files] == ["base.plant.toml", "c.plant.toml"]


def test_the_coolant_has_a_grade_too(load: Callable[..., Plant]) -> None:
    plant = load(('name = "Sound"', 'name = "Sound"\nfluid.coolant = "water-glycol 45 % (measured)"'))
    assert plant.fluid["coolant_glycol_fraction"] == pytest.approx(0.45)
    assert grades_of(plant, "fluid") == {"coolant": "measured"}
