"""A plant laid out as it was understood: every value with its unit, where it comes from and how good it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from heatwright.plant import grades, tables
from heatwright.plant.kinds_comfort import COMFORT_HEATERS
from heatwright.plant.model import Assumed, Branch, End, Net, Part, Plant, Rated, Stated
from heatwright.plant.parts import Field, kinds
from heatwright.plant.signals import actuators_of, most_of, states_of
from heatwright.units import format_quantity, in_unit, unit_of

DIGITS = 4
SHOWN_WORDS = ("on", "zone", "pane", "was")


@dataclass(frozen=True)
class Entry:
    """One value: its text in the usual unit, the same number in SI, its grade, where it stands or comes from."""

    key: str
    text: str
    number_si: float | tuple[float, float] | None
    unit: str
    grade: str
    origin: str
    meaning: str


@dataclass(frozen=True)
class Sheet:
    """A part or a table with its values.

    `words` says what is no quantity (positions, states, the pack beneath a pad); `left_out` holds keys without a
    value and what that means.
    """

    name: str
    kind: str
    where: str
    entries: tuple[Entry, ...]
    words: tuple[tuple[str, str], ...]
    left_out: tuple[tuple[str, str], ...]
    note: str = ""


@dataclass(frozen=True)
class Actuator:
    """Something that can be moved: its name, kind and the states or the range it knows."""

    name: str
    kind: str
    states: tuple[str, ...]
    span: str = ""


def sheets(plant: Plant) -> tuple[Sheet, ...]:
    """Every part of a plant, then its other tables."""
    found = [
        _sheet(plant, part.name, part.kind, part.where, kinds()[part.kind].fields, part.values)
        for part in plant.parts.values()
    ]
    fluid = {**plant.fluid, "charge": plant.fluid["charge_kg"]}
    found.append(_sheet(plant, "fluid", "", "", tables.FLUID, fluid))
    for name, own in plant.fluid["circuits"].items():
        found.append(_sheet(plant, f"fluid.{name}", "", "", tables.REFRIGERANT, {**own, "charge": own["charge_kg"]}))
    found.append(_sheet(plant, "body", "", "", tables.BODY, plant.body))
    found += [_sheet(plant, f"glass.{name}", "", "", tables.GLASS, pane) for name, pane in plant.glass.items()]
    found.append(_sheet(plant, "hoses", "", "", tables.HOSES, plant.hoses))
    lengths = [replace(tables.HOSE_LENGTH, name=line) for line in plant.hoses["length"]]
    if any(one.owner == "hoses.length" for one in plant.stated):
        found.append(_sheet(plant, "hoses.length", "", "", lengths, plant.hoses["length"]))
    found.append(_sheet(plant, "front", "", "", tables.FRONT, plant.front))
    return tuple(found)


def count_grades(found: Iterable[Sheet]) -> dict[str, int]:
    """How many numbers and words there are of each grade."""
    counts = dict.fromkeys(grades.EVERY, 0)
    for sheet in found:
        for entry in sheet.entries:
            counts[entry.grade] += 1
    return counts


def _sheet(
    plant: Plant, owner: str, kind: str, where: str, fields: Iterable[Field], values: Mapping[str, Any]
) -> Sheet:
    stated = {one.key: one for one in plant.stated if one.owner == owner}
    assumed = {one.key: one for one in plant.assumed if one.owner == owner}
    entries: list[Entry] = []
    left_out: list[tuple[str, str]] = []
    for field in fields:
        if field.name in stated:
            entries.append(_given(field, values.get(field.name), stated[field.name]))
        elif field.name in assumed:
            entries.append(_default(field, values.get(field.name), assumed[field.name]))
        elif field.form != "words":
            left_out.append((field.name, field.meaning))
    return Sheet(owner, kind, where, tuple(entries), _words(values), tuple(left_out), str(values.get("note") or ""))


def _given(field: Field, value: Any, said: Stated) -> Entry:
    text, number = (said.text, None) if field.form == "words" else _shown(field, value)
    return Entry(field.name, text, number, field.unit, said.grade or grades.UNGRADED, said.where, field.meaning)


def _default(field: Field, value: Any, said: Assumed) -> Entry:
    text, number = (said.text, None) if field.form == "words" else _shown(field, value)
    scaled = said.text.partition(", scaled with ")[2]
    origin = said.source + (f"; scaled with {scaled}" if scaled else "")
    return Entry(field.name, text, number, field.unit, grades.DEFAULT, origin, field.meaning)


def _words(values: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    found = [
        (f"position {position}", ", ".join("-".join(group) for group in groups) or "all shut")
        for position, groups in values.get("positions", {}).items()
    ]
    found += [("may rest between", " ~ ".join(pair)) for pair in values.get("blend", ())]
    found += [("states", ", ".join(values["states"]))] if "states" in values else []
    return tuple(found + [(key, values[key]) for key in SHOWN_WORDS if values.get(key)])


def _shown(field: Field, value: Any) -> tuple[str, float | tuple[float, float] | None]:
    """Return a value as text in the unit of its key, and as a plain number in SI where it has one."""
    if isinstance(value, Rated):
        at = ", ".join(_condition(key, number, field.at) for key, number in value.at.items())
        return f"{format_quantity(value.value, field.unit, DIGITS)} at {at}", value.value
    if field.form == "span":
        return " to ".join(format_quantity(end, field.unit, DIGITS) for end in value), value
    if field.form == "count":
        return (str(value) if field.unit == "1" else f"{value} {field.unit}"), float(value)
    if field.form == "flag":
        return ("yes" if value else "no"), None
    if field.form == "choice":
        return str(value), None
    return format_quantity(value, field.unit, DIGITS), float(value)


def _condition(key: str, value: float, reference: str) -> str:
    """A condition of a rated value in the unit that the kind's own reference uses."""
    units = [piece.strip().split(" ", 1)[1] for piece in reference.split(",")]
    sample = {"flow_m3_per_s": "L/min", "mdot_kg_per_s": "kg/h", "speed_m_per_s": "m/s", "temperature_k": "degC"}[key]
    unit = next((one for one in units if unit_of(one).dimension == unit_of(sample).dimension), sample)
    return format_quantity(value, unit, DIGITS)


def lines_of_net(net: Net) -> dict[str, str]:
    """The branches of a fluid, each written as a line again."""
    return {branch.name: _written(branch) for branch in net.branches}


def _written(branch: Branch) -> str:
    ring = branch.start == branch.end and branch.start.name.endswith(".ring")
    inside = list(branch.parts)
    items = [*inside, inside[0]] if ring else [_end(branch.start), *inside, _end(branch.end)]
    return items[0] + (" >> " if branch.check else " > ") + " > ".join(items[1:])


def _end(end: End) -> str:
    if end.kind == "tee":
        return f"@{end.name}"
    return f"{end.name}.{end.port}" if end.port else end.name


def actuators(plant: Plant) -> tuple[Actuator, ...]:
    """Everything a control table may move, with its states or its range."""
    found, states = [], states_of(plant.parts)
    for name, form in actuators_of(plant.parts).items():
        part = plant.parts[name.partition(".")[0]]
        found.append(Actuator(name, part.kind, states[name], _range(plant, part, name, form)))
    return tuple(found)


def _range(plant: Plant, part: Part, name: str, form: str) -> str:
    """From what to what an actuator with a number goes while it is on."""
    if form in ("position", "state"):
        return ""
    low = part.values.get("least_speed") or part.values.get("least") or 0.0
    high = most_of(plant.parts, name)
    if part.kind in COMFORT_HEATERS or form == "W":
        low = 0.0
    return f"{in_unit(low, form):.4g} to {format_quantity(high, form, DIGITS)}"
