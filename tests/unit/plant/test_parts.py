"""Every declaration is sound: defaults parse, lie in their range and say where they come from."""

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

from heatwright.plant import tables
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.parts import Field, kinds
from heatwright.plant.schema import plant_schema
from heatwright.plant.source import shipped_folder
from heatwright.units import in_unit, parse, parse_conditions, parse_span
from tools.sources import ROOT

VALIDATOR = jsonschema.Draft202012Validator(plant_schema())
FILES = Path(__file__).parent / "files"
GROUPS = {
    **{kind.name: kind.fields for kind in kinds().values()},
    "body": tables.BODY,
    "glass": tables.GLASS,
    "hoses": tables.HOSES,
    "hoses.length": (tables.HOSE_LENGTH,),
    "front": tables.FRONT,
    "fluid": tables.FLUID,
}
FIELDS = [pytest.param(field, id=f"{name}.{field.name}") for name, group in GROUPS.items() for field in group]


@pytest.mark.parametrize("field", FIELDS)
def test_field(field: Field) -> None:
    assert field.meaning
    if field.form == "words":
        return
    assert field.source, "a default without a source"
    if field.form in ("choice", "flag"):
        return
    assert field.low is not None
    assert field.high is not None
    assert field.low < field.high
    for text in filter(None, (field.default, *field.by_refrigerant.values())):
        numbers = parse_span(text, field.unit) if field.form == "span" else (parse(text, field.unit),)
        for number in numbers:
            assert field.low <= in_unit(number, field.unit) <= field.high
    assert (field.form == "rated") == bool(field.at and parse_conditions(field.at))


def test_names_are_unique_within_a_kind() -> None:
    for name, group in GROUPS.items():
        names = [field.name for field in group]
        assert len(set(names)) == len(names), name


def test_what_follows_or_is_ordered_is_declared() -> None:
    for kind in kinds().values():
        names = [field.name for field in kind.fields]
        for number, field in enumerate(kind.fields):
            if field.follows:
                assert field.follows[0] in names[:number], f"{kind.name}.{field.name} follows what is read later"
        for pair in kind.ordered:
            assert set(pair) <= set(names), kind.name


def test_every_kind_has_a_drawing_and_a_sentence() -> None:
    assert len(kinds()) == 35
    for kind in kinds().values():
        assert kind.symbol
        assert kind.says


def test_schema_accepts_every_plant_file() -> None:
    jsonschema.Draft202012Validator.check_schema(plant_schema())
    kept = [file for room in ("tests", "examples") for file in (ROOT / room).rglob("*.plant.toml")]
    files = [*kept, *shipped_folder().glob("*.toml")]
    assert {file.name for file in FILES.glob("*.plant.toml")} <= {file.name for file in files}
    assert len(files) > len(kept) + len(list_shipped())
    for file in files:
        VALIDATOR.validate(tomllib.loads(file.read_text()))


@pytest.mark.parametrize(
    "table",
    [
        {"pack": {"pack": {"energy": 50}}},
        {"pack": {"pack": {"enregy": "50 kWh"}}},
        {"radiater": {"radiator": {}}},
        {"drive_unit": {"drive": {"inverter": "tube"}}},
        {"lines": {"water": {}}},
    ],
)
def test_schema_refuses(table: dict[str, object]) -> None:
    with pytest.raises(jsonschema.ValidationError):
        VALIDATOR.validate({"format": "heatwright plant 1", "name": "x", **table})


def test_schema_is_plain_json() -> None:
    assert json.loads(json.dumps(plant_schema())) == plant_schema()
