"""Reads the part tables: [kind.name] into parts, with the grammars of valves, in-line valves and pads."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from heatwright.plant.compressor_map import CompressorMap, read_map
from heatwright.plant.fields import FieldReader
from heatwright.plant.kinds_comfort import COMFORT_HEATERS
from heatwright.plant.mistakes import NAME, NAMES, Mistakes, listed, near
from heatwright.plant.model import Part, Stated
from heatwright.plant.parts import Kind, kinds
from heatwright.toml_lines import KeyPath
from heatwright.units import format_quantity

TABLES = ("fluid", "body", "glass", "hoses", "front", "lines", "control", "mirror", "never", "dispatch", "sheet")
WORDS = ("format", "name", "about", "extends", "drop", "base")
RESERVED = ("outside", "glass", "circuit", "setpoint", "vent_target", "always", "like", "off", "on", "not")
BOOKED = (
    "traction", "low_voltage", "pack_resistance", "pack_reversible", "charger_loss", "compressor", "pack", "station",
    "friction_brake", "drive_heat", "drive_short", "give_limit", "take_limit",
)  # fmt: skip
"""Names under which a run books energy and power of its own; no part that draws power may bear one."""
LAID = ("pad", "refrigerant_plate")
"""Kinds that lie on a body and name it."""
MOST_PARTS = 500
STATES = {"shutoff": ("shut", "open"), "expansion": ("shut", "throttle")}


def read_parts(data: Mapping[str, Any], reader: FieldReader) -> dict[str, Part]:
    """Every part of the file, in its order."""
    mistakes = reader.mistakes
    parts: dict[str, Part] = {}
    _check_count(data, mistakes)
    for key, table in data.items():
        kind = kinds().get(key)
        if kind is None:
            continue
        if not isinstance(table, dict):
            mistakes.add((key,), f"'{key}' is a kind of part, not a value", f"a table [{key}.name]", "give it a name")
            continue
        for name, body in table.items():
            part = _read_part(kind, name, body, parts, reader)
            if part is not None:
                parts[name] = part
    _check_former(parts, mistakes)
    return parts


def _check_former(parts: Mapping[str, Part], mistakes: Mistakes) -> None:
    """A former name belongs to one part and to no other that still bears it."""
    taken: dict[str, Part] = {}
    for part in parts.values():
        was, path = part.values["was"], (part.kind, part.name, "was")
        if not was:
            continue
        if was == part.name:
            found = f"'{was}' was never called anything else"
            mistakes.add(path, found, "the name it had before", "take 'was' out")
        elif was in parts:
            other = parts[was]
            mistakes.add(path, f"'{part.name}' was '{was}', but the {other.kind} at {other.where} is called so now",
                         "a name that no part has any more", "rename one of the two, or take 'was' out")  # fmt: skip
        elif was in taken:
            other = taken[was]
            mistakes.add(path, f"'{part.name}' was '{was}', as '{other.name}' at {other.where} says of itself",
                         "one part for each former name", "take 'was' out of one of the two")  # fmt: skip
        taken.setdefault(was, part)


def _check_count(data: Mapping[str, Any], mistakes: Mistakes) -> None:
    """A plant past the budget is refused at once; raises InputError."""
    count = sum(len(table) for key, table in data.items() if key in kinds() and isinstance(table, dict))
    if count > MOST_PARTS:
        hint = "put what works alike into one part: two pumps in a row are one with twice the head"
        mistakes.add((), f"the plant has {count} parts", f"at most {MOST_PARTS}; cars have 20 to 40", hint)
        mistakes.check()


def _read_part(kind: Kind, name: str, body: Any, parts: Mapping[str, Part], reader: FieldReader) -> Part | None:
    mistakes = reader.mistakes
    path: KeyPath = (kind.name, name)
    if body is False:
        mistakes.broken.add(name)
        found = f"{kind.name} '{name}' is taken away, but no base file has it"
        mistakes.add(path, found, f"a {kind.name} of the file that is extended", "take the line out")
        return None
    if not isinstance(body, dict):
        hint = f"write [{kind.name}.{name}] and its keys below, or {name} = {{ ... }}"
        if kind.field(name):
            hint = f"write [{kind.name}.some_name] above its keys: every part has a name"
            mistakes.nameless = True
        mistakes.add(path, f"[{kind.name}] holds '{name}', which is not a part", f"tables [{kind.name}.name]", hint)
        return None
    if name in parts:
        other = parts[name]
        mistakes.add(
            path,
            f"the name '{name}' is already taken by the {other.kind} at {other.where}",
            "a name of its own",
            f"drop it first, in a file that extends another; or call this one {name}_2",
        )
        return None
    if not NAME.fullmatch(name) or name in forbidden(kind):
        mistakes.broken.add(name)
        whose = "a word of the language" if name in RESERVED else "a use of every run"
        expected = f"a name of its own: '{name}' is {whose}" if name in forbidden(kind) else NAMES
        hint = f"write {re.sub(r'[^A-Za-z0-9_]+', '_', name)}" if name not in forbidden(kind) else f"write my_{name}"
        mistakes.add(path, f"'{name}' cannot name a part", expected, hint)
        return None
    before = len(mistakes.problems)
    says = f"{'an' if kind.name[0] in 'aeiou' else 'a'} {kind.name}"
    values = reader.read(path, name, says, body, kind.fields)
    values.update({key: _text(path, key, body, mistakes) for key in ("note", "was")})
    _read_words(kind, name, body, values, reader)
    if len(mistakes.problems) == before:
        _check_order(kind, name, values, mistakes)
    return Part(name, kind.name, values, frozenset(body), mistakes.where(*path))


def forbidden(kind: Kind) -> tuple[str, ...]:
    """Words that cannot name a part of a kind: those of the language and, where it draws power, a run's own uses."""
    return (*RESERVED, *BOOKED) if kind.field("power") else RESERVED


def _text(path: KeyPath, key: str, body: Mapping[str, Any], mistakes: Mistakes) -> str:
    text = body.get(key, "")
    if isinstance(text, str):
        return text
    mistakes.add((*path, key), f"{key} of '{path[-1]}' is no text", f'{key} = "..."', "put it between quotes")
    return ""


def _check_order(kind: Kind, name: str, values: Mapping[str, Any], mistakes: Mistakes) -> None:
    """Pairs of keys of which the first must stay below the second."""
    for small, large in kind.ordered:
        low, high = values[small], values[large]
        if low is not None and high is not None and low >= high:
            unit = next(one.unit for one in kind.fields if one.name == small)
            mistakes.add(
                (kind.name, name, small),
                f"{name}.{small} is {format_quantity(low, unit, 4)}, not below {large}",
                f"less than {format_quantity(high, unit, 4)}",
                f"lower {small} or raise {large}",
            )


def _read_words(kind: Kind, name: str, body: Mapping[str, Any], values: dict[str, Any], reader: FieldReader) -> None:
    mistakes = reader.mistakes
    if kind.role == "valve":
        before = len(mistakes.problems)
        values["positions"] = _positions(kind, name, body.get("positions"), mistakes)
        if len(mistakes.problems) > before:
            mistakes.broken.add(name)
        ports = [port for groups in values["positions"].values() for group in groups for port in group]
        values["ports"] = tuple(dict.fromkeys(ports))
        values["blend"] = _blends(kind, name, body.get("blend", ()), values["positions"], mistakes)
    elif kind.name in STATES:
        values["states"] = _states(kind, name, body.get("states", STATES[kind.name]), mistakes)
    elif kind.name == "compressor":
        values["map"] = _map((kind.name, name), name, body, reader)
    elif kind.name in COMFORT_HEATERS:
        for key in ("zone", "pane"):
            values[key] = body.get(key, "screen" if key == "pane" else "")
            if not isinstance(values[key], str):
                mistakes.add(
                    (kind.name, name, key),
                    f"{key} of '{name}' is no text",
                    f"the name of a {key}",
                    "put it between quotes",
                )
    elif kind.name in LAID:
        values["on"] = body.get("on", "")
        if not isinstance(values["on"], str) or not values["on"]:
            found = f"{kind.name} '{name}' does not say what it lies on"
            mistakes.add((kind.name, name), found, 'on = "pack"', "name the pack")


def _map(path: KeyPath, name: str, body: Mapping[str, Any], reader: FieldReader) -> CompressorMap | None:
    """The measured map of a compressor; its grade is its own or that of the part."""
    found = read_map(name, body.get("map"), reader.mistakes)
    if found is not None:
        grade = reader.grade((*path, "map"), f"{name}.map", body["map"]) or reader.grade(path, name, body)
        said = f"of {len(found.speeds_hz)} speeds"
        reader.stated.append(Stated(name, "map", said, grade, reader.mistakes.where(*path, "map")))
    return found


def _positions(kind: Kind, name: str, table: Any, mistakes: Mistakes) -> dict[str, tuple[tuple[str, ...], ...]]:
    path: KeyPath = (kind.name, name, "positions")
    if not isinstance(table, dict) or not table:
        mistakes.add(
            path,
            f"{kind.name} '{name}' has no positions",
            'positions = { straight = "a-b, c-d", crossed = "a-d, b-c" }',
            "name each way it can stand, and the ports it then joins",
        )
        return {}
    found: dict[str, tuple[tuple[str, ...], ...]] = {}
    for position, text in table.items():
        here = (*path, position)
        mistakes.check_name(here, "position")
        if not isinstance(text, str):
            mistakes.add(
                here,
                f"position '{position}' of '{name}' is no text",
                'groups of ports such as "a-b, c-d"',
                "put it between quotes",
            )
            text = ""
        groups = tuple(tuple(p.strip() for p in g.split("-")) for g in text.split(",") if g.strip())
        ports = [port for group in groups for port in group]
        for port in dict.fromkeys(ports):
            if not NAME.fullmatch(port):
                mistakes.add(
                    here,
                    f"position '{position}' of '{name}' has a port '{port}'",
                    NAMES,
                    'a group is "a-b", groups are parted by commas',
                )
        if len(set(ports)) != len(ports):
            mistakes.add(
                here,
                f"position '{position}' of '{name}' uses a port twice",
                "each port in one group",
                'three ports that meet are "a-b-c"',
            )
        if any(len(group) < 2 for group in groups):
            mistakes.add(
                here,
                f"position '{position}' of '{name}' names a port that joins nothing",
                "two ports or more in each group",
                "leave a shut port out",
            )
        found[position] = groups
    return found


def _blends(
    kind: Kind, name: str, given: Any, positions: Mapping[str, Any], mistakes: Mistakes
) -> tuple[tuple[str, str], ...]:
    blends: list[tuple[str, str]] = []
    for text in given if isinstance(given, (list, tuple)) else [given]:
        pair = tuple(word.strip() for word in str(text).split("~"))
        if len(pair) == 2 and pair[0] != pair[1] and all(word in positions for word in pair):
            if {*pair} in map(set, blends):
                found = f"blend '{text}' of '{name}' is given twice"
                mistakes.add(
                    (kind.name, name, "blend"),
                    found,
                    "each pair of positions once",
                    "take one out: it rests anywhere between",
                )
            blends.append((pair[0], pair[1]))
        elif positions:
            sample = " ~ ".join(list(positions)[:2])
            wrong = next((word for word in pair if word not in positions), "")
            mistakes.add(
                (kind.name, name, "blend"),
                f"blend '{text}' of '{name}' does not join two of its positions",
                f'text such as "{sample}"',
                near(wrong, positions, f"its positions: {listed(positions)}"),
            )
    return tuple(blends)


def _states(kind: Kind, name: str, given: Any, mistakes: Mistakes) -> tuple[str, ...]:
    allowed = ("shut", "open") if kind.name == "shutoff" else ("shut", "throttle", "open")
    states = tuple(given) if isinstance(given, (list, tuple)) else (given,)
    wrong = [state for state in states if state not in allowed]
    if wrong or not states or len(set(states)) != len(states):
        mistakes.add(
            (kind.name, name, "states"),
            f"states of '{name}' are {listed(map(repr, states)) or 'empty'}",
            f"a list of {listed(allowed)}, each once",
            near(str(wrong[0]), allowed, f"a {kind.name} knows {listed(allowed)}")
            if wrong
            else "leave it out for the usual",
        )
        return allowed[:2]
    return states
