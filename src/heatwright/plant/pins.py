"""Reads [sheet.pins]: cells of the plant's sheet in which parts are to stand, part = [column, row]."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from heatwright.plant.mistakes import Mistakes
from heatwright.plant.model import Part

MOST = 60
CELL = "[column, row]"


def read_pins(table: Any, parts: Mapping[str, Part], mistakes: Mistakes) -> dict[str, tuple[int, int]]:
    """The cell of every pinned part, counted from 0 at the upper left corner."""
    pins = table.get("pins", {}) if isinstance(table, dict) else None
    if not isinstance(pins, dict) or set(table) - {"pins"}:
        hint = f"write part = {CELL} below it"
        mistakes.add(("sheet",), "[sheet] holds only the table 'pins'", "[sheet.pins]", hint)
        return {}
    found: dict[str, tuple[int, int]] = {}
    for name, cell in pins.items():
        path = ("sheet", "pins", name)
        if name in mistakes.broken:
            continue
        if name not in parts:
            said, hint = mistakes.unknown(name, parts)
            mistakes.add(path, f"pins name {said}", "a part of this plant", hint)
        elif not _is_cell(cell):
            expected = f"{CELL}: two whole numbers from 0 to {MOST}"
            mistakes.add(path, f"the pin of '{name}' is no cell", expected, f"write {name} = [0, 0] for the upper left")
        elif tuple(cell) in found.values():
            other = next(one for one, place in found.items() if place == tuple(cell))
            mistakes.add(path, f"'{name}' is pinned where '{other}' is", "a cell for each part", "move one of the two")
        else:
            found[name] = (cell[0], cell[1])
    return found


def _is_cell(cell: Any) -> bool:
    whole = isinstance(cell, list) and len(cell) == 2 and all(type(one) is int for one in cell)
    return whole and all(0 <= one <= MOST for one in cell)


def pins_schema(part: Mapping[str, Any]) -> dict[str, Any]:
    """The schema of [sheet]; `part` is that of a part's name."""
    number = {"type": "integer", "minimum": 0, "maximum": MOST}
    cell = {"type": "array", "items": number, "minItems": 2, "maxItems": 2, "examples": [[0, 0]]}
    pins = {
        "type": "object",
        "description": "cells of the sheet: part = [column, row], from 0 at the upper left",
        "propertyNames": dict(part),
        "additionalProperties": cell,
    }
    return {
        "type": "object",
        "description": "wishes for the drawing of the plant; they change no run",
        "properties": {"pins": pins},
        "additionalProperties": False,
    }
