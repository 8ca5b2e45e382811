"""A JSON Schema of plant files, for editors: made from the same declarations as the loader."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from heatwright.dispatch_table import dispatch_schema
from heatwright.plant import compressor_map, grades, tables
from heatwright.plant.declare import STATES, forbidden
from heatwright.plant.mistakes import NAME
from heatwright.plant.model import FLUIDS
from heatwright.plant.parts import Field, Kind, kinds
from heatwright.plant.pins import pins_schema
from heatwright.plant.rest import USUAL_COOLANT
from heatwright.plant.schema_control import control_schema
from heatwright.plant.schema_forms import FORMS, GRADED, GROUP, NUMBER, PIECE, TEXT, form, named
from heatwright.plant.source import FORMAT

GRADE: dict[str, Any] = {
    "enum": list(grades.GRADES),
    "description": "how good the numbers of this table are, where they do not say so themselves",
}
PAIR: dict[str, Any] = {"type": "string", "pattern": r"^[^~]+~[^~]+$", "examples": ["one ~ two"]}
COOLANT: dict[str, Any] = {
    "type": "string",
    "pattern": rf"^{tables.COOLANT_FACE}\s+{NUMBER}\s*%?{GRADED}",
    "examples": [USUAL_COOLANT],
}
WORD_SCHEMAS: dict[str, dict[str, Any]] = {
    "positions": {
        "type": "object",
        "propertyNames": {"pattern": f"^{NAME.pattern}$"},
        "additionalProperties": {"type": "string", "pattern": rf"^(\s*|{GROUP}(,{GROUP})*)$"},
        "minProperties": 1,
    },
    "blend": {"oneOf": [PAIR, {"type": "array", "items": PAIR, "uniqueItems": True}]},
    "states": {
        "type": "array",
        "items": {"enum": ["shut", "throttle", "open"]},
        "minItems": 1,
        "uniqueItems": True,
    },
    "on": {**TEXT, "minLength": 1, "examples": ["pack"]},
    "map": {
        "type": "object",
        "properties": {
            grades.KEY: GRADE,
            "form": {"enum": list(compressor_map.FORMS)},
            "power_of": {"enum": list(compressor_map.POWERS)},
            "superheat": form("quantity"),
            "evaporating": form("span"),
            "condensing": form("span"),
            **dict.fromkeys(("flow_unit", "power_unit"), TEXT),
            **{key: {"type": "object", "additionalProperties": {"type": "array"}} for key in ("flow", "power")},
        },
        "additionalProperties": False,
    },
}


def plant_schema() -> dict[str, Any]:
    """The schema of a whole plant file (draft 2020-12)."""
    properties: dict[str, Any] = {
        "format": {"const": FORMAT, "description": "which language this file is written in"},
        "name": {**TEXT, "minLength": 1, "description": "the plant's title in tables and pages"},
        "about": {**TEXT, "description": "a paragraph about it"},
        "extends": {**TEXT, "description": "a plant file this one builds on"},
        "drop": {"type": "array", "items": TEXT, "uniqueItems": True, "description": "parts of that file to leave out"},
        "base": {"type": "boolean", "description": "true: only for others to extend"},
        "fluid": _fluid(),
        "body": _table(tables.BODY),
        "glass": named(_table(tables.GLASS), "the panes, by name; screen is the windscreen"),
        "hoses": _table(tables.HOSES, {"length": named(_field(tables.HOSE_LENGTH))}),
        "front": _table(tables.FRONT, {"stack": {"type": "array", "items": TEXT, "uniqueItems": True}}),
        "mirror": {
            "type": "object",
            "description": "parts that are the same thing twice",
            "properties": {"pairs": {"type": "array", "items": PAIR}},
            "additionalProperties": False,
        },
        "never": named({"type": "string", "pattern": r"^[^&=]+=[^&=]+(&[^&=]+=[^&=]+)*$"}, "forbidden combinations"),
        "lines": _lines(),
        "control": control_schema(),
        "dispatch": dispatch_schema(),
        "sheet": pins_schema({"pattern": f"^{NAME.pattern}$"}),
    }
    properties |= {kind.name: named(_part(kind), never=forbidden(kind)) for kind in kinds().values()}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": FORMAT,
        "type": "object",
        "required": ["format", "name"],
        "properties": properties,
        "additionalProperties": False,
        "$defs": {name: {"type": "string", "pattern": pattern} for name, pattern in FORMS.items()},
    }


def _fluid() -> dict[str, Any]:
    """The fluids; a table in it is that of one compressor's circuit."""
    return _table(tables.FLUID, {"coolant": COOLANT}) | {"additionalProperties": _table(tables.REFRIGERANT)}


def _part(kind: Kind) -> dict[str, Any]:
    """A part; what is required may stand in the file that is extended, so nothing is required here."""
    schema = _table(kind.fields)
    schema["description"] = kind.says
    if kind.name in STATES:
        states = {**WORD_SCHEMAS["states"], "default": list(STATES[kind.name])}
        if kind.name == "shutoff":
            states["items"] = {"enum": list(STATES[kind.name])}
        schema["properties"]["states"] = states
    return schema


def _table(fields: Iterable[Field], more: dict[str, Any] | None = None) -> dict[str, Any]:
    properties = {field.name: _field(field) for field in fields} | {grades.KEY: GRADE} | (more or {})
    return {"type": "object", "properties": properties, "additionalProperties": False}


def _field(field: Field) -> dict[str, Any]:
    schema: dict[str, Any] = {"description": _described(field)}
    if field.default:
        schema["default"] = field.default
    if field.form == "choice":
        return schema | {"enum": list(field.choices)}
    if field.form == "flag":
        return schema | {"type": "boolean", "default": field.default == "true"}
    if field.form == "words":
        return schema | WORD_SCHEMAS.get(field.name, TEXT)
    if field.form == "count":
        return schema | {"anyOf": [{"type": "integer"}, form("factor")]}
    if field.form == "factor":
        return schema | {"anyOf": [{"type": "number"}, form("factor")]}
    positive = field.form == "quantity" and field.low is not None and field.low >= 0 and "degC" not in field.unit
    return schema | form("positive" if positive else field.form)


def _described(field: Field) -> str:
    """What a key means, its range and its default, as an editor shows them."""
    said = field.meaning + ("; must be given" if field.required else "")
    if field.low is not None and field.high is not None:
        said += f"; {field.low:g} to {field.high:g}{'' if field.unit == '1' else ' ' + field.unit}"
    return said + (f"; at {field.at} if nothing else is said" if field.at else "")


def _lines() -> dict[str, Any]:
    line = {"type": "string", "pattern": rf"^\s*{PIECE}(\s*>>?\s*{PIECE})+\s*$", "examples": ["a > b > c"]}
    return {
        "type": "object",
        "description": "how the parts are joined, fluid by fluid",
        "properties": {fluid: named(line, f'lines of {fluid}: name = "a > b > c"') for fluid in FLUIDS},
        "additionalProperties": False,
    }
