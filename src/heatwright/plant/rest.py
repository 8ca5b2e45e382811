"""Reads the tables that are not parts: [fluid], [body], [glass.*], [hoses]."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from heatwright.plant import tables
from heatwright.plant.fields import FieldReader
from heatwright.plant.grades import split_grade
from heatwright.plant.mistakes import Mistakes, near
from heatwright.plant.model import Assumed, Stated
from heatwright.plant.parts import COMMON, Field
from heatwright.units import UnitError, format_quantity, parse

USUAL_COOLANT = "water-glycol 50 %"
USUAL_REFRIGERANT = "R1234yf"


def read_fluid(table: Any, reader: FieldReader) -> dict[str, Any]:
    """The fluids; from here on the reader knows the refrigerants, on which some defaults hang.

    `circuits` holds the tables [fluid.NAME], NAME being the compressor of a circuit.
    """
    if not _is_table(("fluid",), table, reader.mistakes):
        table = {}
    circuits = {key: value for key, value in table.items() if isinstance(value, dict)}
    own = {key: value for key, value in table.items() if key not in circuits}
    values = _refrigerant(("fluid",), own, reader, tables.FLUID)
    values["coolant_glycol_fraction"] = _coolant(own, reader)
    reader.refrigerant = values["refrigerant"] or USUAL_REFRIGERANT
    values["circuits"] = {}
    for name, second in circuits.items():
        if "refrigerant" not in second:
            found = f"[fluid.{name}] does not name its refrigerant"
            reader.mistakes.add(
                ("fluid", name), found, f'refrigerant = "{USUAL_REFRIGERANT}"', "say it for each circuit"
            )
        values["circuits"][name] = _refrigerant(("fluid", name), second, reader, tables.REFRIGERANT)
        reader.refrigerants[name] = values["circuits"][name]["refrigerant"] or USUAL_REFRIGERANT
    return values


def _refrigerant(
    path: tuple[str, ...], table: dict[str, Any], reader: FieldReader, fields: tuple[Field, ...]
) -> dict[str, Any]:
    """Refrigerant, charge and inside volumes of one circuit."""
    values = reader.read(path, ".".join(path), f"[{'.'.join(path)}]", table, fields)
    values["charge_kg"] = values.pop("charge")
    return values


def _coolant(table: Mapping[str, Any], reader: FieldReader) -> float:
    """Glycol of the coolant, by mass."""
    if "coolant" not in table:
        reader.assumed.append(Assumed("fluid", "coolant", USUAL_COOLANT, COMMON))
        return _glycol(USUAL_COOLANT, reader.mistakes)
    try:
        face, grade = split_grade(table["coolant"])
    except UnitError as error:
        reader.mistakes.add_unit(("fluid", "coolant"), "fluid.coolant", error)
        return -1.0
    where = reader.mistakes.where("fluid", "coolant")
    reader.stated.append(Stated("fluid", "coolant", str(face), grade, where))
    return _glycol(face, reader.mistakes)


def _glycol(text: Any, mistakes: Mistakes) -> float:
    match = re.fullmatch(rf"{tables.COOLANT_FACE}\s+(\S.*)", text) if isinstance(text, str) else None
    try:
        fraction = parse(match[1], "%") if match else -1.0
    except UnitError:
        fraction = -1.0
    least, most = tables.GLYCOL_RANGE
    limits = f"{least:.0%} to {most:.0%} glycol by mass".replace("%", " %")
    if fraction < 0.0:
        mistakes.add(
            ("fluid", "coolant"),
            f"coolant {text!r} is not known",
            f'"{USUAL_COOLANT}", {limits}',
            "leave it out for the usual",
        )
    elif not least <= fraction <= most:
        hint = f'its properties are known in this range only; write "{USUAL_COOLANT}"'
        mistakes.add(("fluid", "coolant"), f"coolant {text!r} cannot be worked out", limits, hint)
    return fraction


def _is_table(path: tuple[str, ...], table: Any, mistakes: Mistakes) -> bool:
    if isinstance(table, dict):
        return True
    mistakes.add(path, f"'{'.'.join(path)}' is a table, not a value", f"[{'.'.join(path)}]", "put its keys below")
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
            hint = "raise converter, its highest power"
            reader.mistakes.add(("body", key), found, f"at most {format_quantity(most_w, 'W', 4)}", hint)
    return values


def read_glass(table: Any, reader: FieldReader) -> dict[str, dict[str, Any]]:
    """The panes by name; a file that names none gets the usual four."""
    if table is not None and not _is_table(("glass",), table, reader.mistakes):
        table = None
    given = table or tables.DEFAULT_GLASS
    for name in given:
        reader.mistakes.check_name(("glass", name), "pane")
    panes = {
        name: reader.read(("glass", name), f"glass.{name}", "a pane", pane, tables.GLASS)
        for name, pane in given.items()
        if _is_table(("glass", name), pane, reader.mistakes)
    }
    if not table:
        for name in given:
            reader.assume(f"glass.{name}")
    if "screen" not in given:
        hint = near("screen", given, "panes given replace the usual four: name the windscreen too")
        reader.mistakes.add(("glass",), "no pane is called 'screen'", "[glass.screen], the windscreen", hint)
    return panes


def read_hoses(table: Any, lines: Any, reader: FieldReader) -> dict[str, Any]:
    """Hoses; `length` holds the length of every coolant line."""
    if not _is_table(("hoses",), table, reader.mistakes):
        table = {}
    values = reader.read(("hoses",), "hoses", "[hoses]", table, tables.HOSES)
    coolant = lines.get("coolant", {}) if isinstance(lines, dict) else {}
    names = [name for name, text in coolant.items() if isinstance(text, str)] if isinstance(coolant, dict) else []
    lengths = table.get("length", {})
    if not _is_table(("hoses", "length"), lengths, reader.mistakes):
        lengths = {}
    values["length"] = {
        name: reader.given(("hoses", "length", name), "hoses.length", lengths[name], tables.HOSE_LENGTH)
        if name in lengths
        else values["each"]
        for name in names
    }
    for name in lengths:
        if name not in names:
            path = ("hoses", "length", name)
            reader.mistakes.add(
                path, f"there is no coolant line '{name}'", "a line of [lines.coolant]", near(name, names)
            )
    return values
