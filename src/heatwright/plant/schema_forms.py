"""Patterns of the texts in a plant file, and tables of named things: what the JSON Schema is put together from."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from heatwright.plant import grades
from heatwright.plant.mistakes import NAME
from heatwright.units import unit_names

NUMBER = r"(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?"
ATOM = rf"({'|'.join(sorted(map(re.escape, unit_names()), key=len, reverse=True))})"
FACTOR = rf"\(*({ATOM}|\d+(\.\d+)?)(\^-?\d)?\)*"
UNIT = rf"(\(*{ATOM}|\d+(\.\d+)?\s*/\s*\(*{ATOM})(\^-?\d)?\)*((\s*[/*·]\s*|\s+per\s+|\s+){FACTOR})*"
SPACE = r"\s+"
GRADED = rf"(\s+\(\s*({'|'.join(grades.GRADES).replace(' ', SPACE)})\s*\))?\s*$"
FORMS = {
    "quantity": rf"^\s*[-+−]?{NUMBER}\s*{UNIT}{GRADED}",
    "positive": rf"^\s*\+?{NUMBER}\s*{UNIT}{GRADED}",
    "rated": rf"^\s*\+?{NUMBER}\s*{UNIT}(\s+at\s+{NUMBER}\s*{UNIT}(\s*,\s*{NUMBER}\s*{UNIT})*)?{GRADED}",
    "factor": rf"^\s*[-+−]?{NUMBER}\s*({UNIT})?{GRADED}",
    "span": rf"^\s*[-+−]?{NUMBER}\s*({UNIT})? to [-+−]?{NUMBER}\s*{UNIT}{GRADED}",
}
"""Patterns of the texts that hold numbers; each stands once in the schema, under `$defs`."""

PIECE = r"@?[A-Za-z][A-Za-z0-9_]*(\.[A-Za-z][A-Za-z0-9_]*)?"
GROUP = r"\s*[A-Za-z][A-Za-z0-9_]*(\s*-\s*[A-Za-z][A-Za-z0-9_]*)+\s*"
TEXT: dict[str, Any] = {"type": "string"}


def form(name: str) -> dict[str, Any]:
    """A reference to one of FORMS."""
    return {"$ref": f"#/$defs/{name}"}


def named(schema: dict[str, Any], says: str = "", dotted: bool = False, never: Sequence[str] = ()) -> dict[str, Any]:
    """A table of named things; `false` takes away what a base file declares."""
    table: dict[str, Any] = {"type": "object", "additionalProperties": {"anyOf": [schema, {"const": False}]}}
    if says:
        table["description"] = says
    if not dotted:
        table["propertyNames"] = {"pattern": f"^{NAME.pattern}$"}
    if never:
        table["propertyNames"]["not"] = {"enum": list(never)}
    return table
