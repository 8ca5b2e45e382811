"""Reads the tables that are not parts: [fluid], [body], [glass.*], [hoses]."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from heatwright.plant import tables
from heatwright.plant.fields import FieldReader
from heatwright.plant.mistakes import Mistakes, near
from heatwright.units import UnitError, format_quantity, parse

USUAL_COOLANT = "water-glycol 50 %"
USUAL_REFRIGERANT = "R1234yf"


def read_fluid(table: Any, mistakes: Mistakes) -> tuple[dict[str, Any], str]:
    """The fluids, and the refrigerant's name, on which some defaults hang."""
    if not _is_table(("fluid",), table, mistakes):
        table = {}
    given = {"coolant": USUAL_COOLANT, "refrigerant": USUAL_REFRIGERANT} | table
    reader = FieldReader(mistakes, "")
    rest = {key: value for key, value in given.items() if key != "coolant"}
    values = reader.read(("fluid",), "fluid", "[fluid]", rest, tables.FLUID)
    values["coolant_glycol_fraction"] = _glycol(given["coolant"], mistakes)
    values["charge_kg"] = values.pop("charge")
    return values, values["refrigerant"] or USUAL_REFRIGERANT


def _glycol(text: Any, mistakes: Mistakes) -> float:
    match = re.fullmatch(rf"{tables.COOLANT_FACE}\s+(\S.*)", text) if isinstance(text, str) else None
    try:
        fraction = parse(match[1], "%") if match else -1.0
    except UnitError:
        fraction = -1.0
    least, most = tables.GLYCOL_RANGE
    limits = f"{least:.0%} to {most:.0%} glycol by mass".replace("%", " %")
    if fraction < 0.0:
        mistakes.add(("fluid", "coolant"), f"coolant {text!r} is not known", f'"{USUAL_COOLANT}", {limits}')
    elif not least <= fraction <= most:
        hint = f'its properties are known in this range only; write "{USUAL_COOLANT}"'
        mistakes.add(("fluid", "coolant"), f"coolant {text!r} cannot be worked out", limits, hint)
    return fraction


def _is_table(path: tuple[str, ...], table: Any, mistakes: Mistakes) -> bool:
    if isinstance(table, dict):
        return True
    mistakes.add(path, f"'{'.'.join(path)}' is a table, not a value", f"[{'.'.join(path)}]")
    return False


def read_body(table: Any, reader: FieldReader) -> dict[str, Any]:
    """The car itself: mass, drag, tyres, 12 V loads, charger."""
    if not _is_table(("body",), table, reader.mistakes):
        table = {}
    values = reader.read(("body",), "body", "[body]", table, tables.BODY)
    most_w = values["converter"]
    for key in ("load_driving", "load_awake", "load_asleep"):
        load_w = values[key]
        if most_w is not None and load_w is not None and load_w > most_w:
            found = f"{key} is {format_quantity(load_w, 'W', 4)}, more than the converter gives"
            reader.mistakes.add(("body", key), found, f"at most {format_quantity(most_w, 'W', 4)}")
    return values


def read_glass(table: Any, reader: FieldReader) -> dict[str, dict[str, Any]]:
    """The panes by name; a file that names none gets the usual four."""
    if table is not None and not _is_table(("glass",), table, reader.mistakes):
        table = None
    given = table or tables.DEFAULT_GLASS
    panes = {
        name: reader.read(("glass", name), f"glass.{name}", "a pane", pane, tables.GLASS)
        for name, pane in given.items()
        if _is_table(("glass", name), pane, reader.mistakes)
    }
    if "screen" not in given:
        hint = near("screen", given)
        reader.mistakes.add(("glass",), "no pane is called 'screen'", "[glass.screen], the windscreen", hint)
    return panes


def read_hoses(table: Any, lines: Any, reader: FieldReader) -> dict[str, Any]:
    """Hoses; `length` holds the length of every coolant line."""
    if not _is_table(("hoses",), table, reader.mistakes):
        table = {}
    own = {key: value for key, value in table.items() if key != "length"}
    values = reader.read(("hoses",), "hoses", "[hoses]", own, tables.HOSES)
    coolant = lines.get("coolant", {}) if isinstance(lines, dict) else {}
    names = [name for name, text in coolant.items() if isinstance(text, str)] if isinstance(coolant, dict) else []
    lengths = table.get("length", {})
    if not _is_table(("hoses", "length"), lengths, reader.mistakes):
        lengths = {}
    values["length"] = {name: _length(name, lengths, values["each"], reader.mistakes) for name in names}
    for name in lengths:
        if name not in names:
            path = ("hoses", "length", name)
            reader.mistakes.add(path, f"there is no coolant line '{name}'", "", near(name, names))
    return values


def _length(name: str, lengths: Mapping[str, Any], usual: Any, mistakes: Mistakes) -> Any:
    if name not in lengths:
        return usual
    field = tables.HOSE_LENGTH
    try:
        value = parse(lengths[name], field.unit)
    except UnitError as error:
        mistakes.add_unit(("hoses", "length", name), f"hoses.length.{name}", error)
        return None
    if not 0.0 <= value <= (field.high or 0.0):
        expected = f"0 to {field.high:g} {field.unit}"
        mistakes.add(("hoses", "length", name), f"hoses.length.{name}: '{lengths[name]}' cannot be", expected)
    return value
