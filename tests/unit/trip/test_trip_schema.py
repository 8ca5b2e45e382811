"""The JSON Schema and the catalogue, made from the same declarations and files that the loader reads."""

from __future__ import annotations

import tomllib
from pathlib import Path

import jsonschema
import pytest

from heatwright.trip.catalogue import list_shipped
from heatwright.trip.load import SHIPPED, load_trip
from heatwright.trip.reading import default_of
from heatwright.trip.schedules import read_schedule
from heatwright.trip.schema import KINDS, TABLES, TOP, json_schema

TRIPS = [*SHIPPED.glob("*.trip.toml"), *(Path(__file__).parent / "files").glob("*.trip.toml")]
FIELDS = [
    pytest.param(field, id=f"{place}.{field.name}")
    for place, fields in {
        "top": TOP,
        **TABLES,
        **{kind: fields for kind, (_, fields) in KINDS.items()},
    }.items()
    for field in fields
]


def test_the_schema_is_itself_valid() -> None:
    jsonschema.Draft202012Validator.check_schema(json_schema())


@pytest.mark.parametrize("file", TRIPS, ids=lambda file: file.name)
def test_trips_that_load_fit_the_schema(file: Path) -> None:
    load_trip(file)
    jsonschema.validate(tomllib.loads(file.read_text()), json_schema())


BROKEN = {
    "unknown key": {"durration": "5 s"},
    "number without unit": {"duration": 5},
    "kind": {"kind": "fly"},
    "count": {"occupants": 50},
    "flag": {"plugged": "yes"},
}


@pytest.mark.parametrize("change", BROKEN.values(), ids=BROKEN)
def test_the_schema_refuses_what_the_loader_refuses(change: dict[str, object]) -> None:
    segment = {"kind": "park", "duration": "5 s"} | change
    trip = {
        "format": "heatwright trip 1",
        "name": "t",
        "weather": {"temperature": "0 degC"},
        "segment": [segment],
    }
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(trip, json_schema())


@pytest.mark.parametrize("field", FIELDS)
def test_every_key_has_a_meaning_and_a_default_inside_its_range(field) -> None:
    assert len(field.meaning) > 10 or field.name == "name"
    if field.form in ("quantity", "count"):
        assert field.low < field.high
    if field.default and field.form == "count":
        assert field.low <= default_of(field) <= field.high


def test_the_catalogue_names_what_can_be_loaded() -> None:
    shipped = list_shipped()
    trips = "rain_day summer_charge_day winter_day mild_test cold_test heat_test deep_frost arctic_night pull_down"
    trips += " hot_traffic towing charge_mild charge_cold charge_repeated"
    wanted = {*(("trip", name) for name in trips.split()), ("schedule", "wltc_3b")}
    assert {(one.kind, one.name) for one in shipped} == wanted
    for one in shipped:
        assert one.title
        assert one.about
        assert load_trip(one.name).name == one.title if one.kind == "trip" else read_schedule(one.name).title
