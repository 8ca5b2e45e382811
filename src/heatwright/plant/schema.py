"""A JSON Schema of plant files, for editors: made from the same declarations as the loader."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from heatwright.plant import compressor_map, grades, tables
from heatwright.plant.declare import STATES
from heatwright.plant.load import FORMAT
from heatwright.plant.model import FLUIDS
from heatwright.plant.parts import Field, Kind, kinds

NUMBER = r"[-+]?\d+(\.\d+)?([eE][-+]?\d+)?"
TEXT: dict[str, Any] = {"type": "string"}
GRADE: dict[str, Any] = {
    "enum": list(grades.GRADES),
    "description": "how good the numbers of this table are, where they do not say so themselves",
}
WORD_SCHEMAS: dict[str, dict[str, Any]] = {
    "positions": {"type": "object", "additionalProperties": TEXT, "minProperties": 1},
    "blend": {"oneOf": [TEXT, {"type": "array", "items": TEXT}]},
    "states": {
        "type": "array",
        "items": {"enum": ["shut", "throttle", "open"]},
        "minItems": 1,
        "uniqueItems": True,
    },
    "map": {
        "type": "object",
        "properties": {
            grades.KEY: GRADE,
            "form": {"enum": list(compressor_map.FORMS)},
            "power_of": {"enum": list(compressor_map.POWERS)},
            **dict.fromkeys(("superheat", "evaporating", "condensing", "flow_unit", "power_unit"), TEXT),
            **{key: {"type": "object", "additionalProperties": {"type": "array"}} for key in ("flow", "power")},
        },
        "additionalProperties": False,
    },
}


def plant_schema() -> dict[str, Any]:
    """The schema of a whole plant file (draft 2020-12)."""
    properties: dict[str, Any] = {
        "format": {"const": FORMAT},
        "name": TEXT,
        "about": TEXT,
        "extends": {**TEXT, "description": "a plant file this one builds on"},
        "drop": {"type": "array", "items": TEXT, "description": "parts of that file to leave out"},
        "base": {"type": "boolean", "description": "true: only for others to extend"},
        "fluid": _table([*tables.FLUID], {"coolant": {**TEXT, "examples": ["water-glycol 50 %"]}}),
        "body": _table(tables.BODY),
        "glass": _named(_table(tables.GLASS)),
        "hoses": _table(tables.HOSES, {"length": _named(_field(tables.HOSE_LENGTH))}),
        "front": _table(tables.FRONT, {"stack": {"type": "array", "items": TEXT}}),
        "mirror": {"type": "object", "properties": {"pairs": {"type": "array", "items": TEXT}}},
        "never": _named(TEXT),
        "lines": _lines(),
        "control": _control(),
    }
    properties |= {kind.name: _named(_part(kind)) for kind in kinds().values()}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": FORMAT,
        "type": "object",
        "required": ["format", "name"],
        "properties": properties,
        "additionalProperties": False,
    }


def _named(schema: dict[str, Any]) -> dict[str, Any]:
    """A table of named things; `false` takes away what a base file declares."""
    return {"type": "object", "additionalProperties": {"anyOf": [schema, {"const": False}]}}


def _part(kind: Kind) -> dict[str, Any]:
    """A part; what is required may stand in the file that is extended, so nothing is required here."""
    schema = _table(kind.fields)
    schema["description"] = kind.says
    if kind.name in STATES:
        schema["properties"]["states"] = {**WORD_SCHEMAS["states"], "default": list(STATES[kind.name])}
    return schema


def _table(fields: Iterable[Field], more: dict[str, Any] | None = None) -> dict[str, Any]:
    properties = {field.name: _field(field) for field in fields} | {grades.KEY: GRADE} | (more or {})
    return {"type": "object", "properties": properties, "additionalProperties": False}


def _field(field: Field) -> dict[str, Any]:
    schema: dict[str, Any] = {"description": field.meaning}
    if field.default:
        schema["default"] = field.default
    if field.form == "choice":
        return schema | {"enum": list(field.choices)}
    if field.form == "flag":
        return schema | {"type": "boolean", "default": field.default == "true"}
    if field.form == "words":
        return schema | WORD_SCHEMAS.get(field.name, TEXT)
    if field.form == "span":
        return schema | {"type": "string", "pattern": " to "}
    text = {"type": "string", "pattern": f"^\\s*{NUMBER}"}
    if field.form in ("count", "factor"):
        return schema | {"anyOf": [{"type": "integer" if field.form == "count" else "number"}, text]}
    return schema | text


def _lines() -> dict[str, Any]:
    line = {"type": "string", "pattern": ">"}
    return {
        "type": "object",
        "properties": {fluid: _named(line) for fluid in FLUIDS},
        "additionalProperties": False,
    }


def _control() -> dict[str, Any]:
    latch = {
        "type": "object",
        "properties": {"yes": TEXT, "no": TEXT},
        "required": ["yes", "no"],
        "additionalProperties": False,
    }
    rule = {"type": "object", "properties": {"when": TEXT}, "additionalProperties": False}
    keys = (
        "from",
        "to",
        "by",
        "over",
        "raises",
        "lowers",
        "until",
        "band",
        "settle",
        "min_on",
        "min_off",
        "loss",
    )
    entry = {"type": "object", "properties": {key: {} for key in keys}, "additionalProperties": False}
    return {
        "type": "object",
        "properties": {
            "dwell": TEXT,
            "latch": _named(latch),
            "rule": _named(rule),
            "act": _named(_named({"anyOf": [TEXT, entry]})),
        },
        "additionalProperties": False,
    }
