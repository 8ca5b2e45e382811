"""Reads [front] (what the wind meets), [mirror] (declared symmetry) and [never] (forbidden combinations)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from heatwright.plant import tables
from heatwright.plant.fields import FieldReader
from heatwright.plant.mistakes import Mistakes, listed, near
from heatwright.plant.model import Part
from heatwright.plant.parts import kinds
from heatwright.plant.signals import actuators_of


def read_front(table: Any, parts: Mapping[str, Part], reader: FieldReader) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Openings of the nose, and the parts behind them in the order the wind meets them."""
    mistakes = reader.mistakes
    if not isinstance(table, dict):
        mistakes.add(("front",), "'front' is a table, not a value", "[front]")
        table = {}
    own = {key: value for key, value in table.items() if key != "stack"}
    values = reader.read(("front",), "front", "[front]", own, tables.FRONT)
    stack = table.get("stack", [])
    windy = [name for name, part in parts.items() if kinds()[part.kind].front]
    if not isinstance(stack, list) or not all(isinstance(name, str) for name in stack):
        mistakes.add(("front", "stack"), "stack is no list of names", f"stack = {windy}")
        return values, ()
    for number, name in enumerate(stack):
        path = ("front", "stack", number)
        if name in mistakes.broken:
            continue
        if name not in parts:
            mistakes.add(path, f"stack names '{name}', which is not declared", "", near(name, windy))
        elif name not in windy:
            mistakes.add(path, f"'{name}' is a {parts[name].kind}; it does not stand in the wind", listed(windy))
        elif name in stack[:number]:
            mistakes.add(path, f"'{name}' stands in the wind twice", "each part once")
    strangers = any(name not in parts for name in stack)
    for name in windy:
        if name not in stack and not strangers:
            found = f"{parts[name].kind} '{name}' is not in the front stack"
            mistakes.add((parts[name].kind, name), found, f"[front] stack = [..., '{name}', ...]")
    return values, tuple(stack)


def read_mirror(table: Any, parts: Mapping[str, Part], mistakes: Mistakes) -> tuple[tuple[str, str], ...]:
    """Pairs of parts that are the same thing twice."""
    pairs = table.get("pairs", []) if isinstance(table, dict) else None
    if not isinstance(pairs, list) or set(table) - {"pairs"}:
        mistakes.add(("mirror",), "[mirror] holds only pairs", 'pairs = ["left ~ right"]')
        return ()
    found: list[tuple[str, str]] = []
    for number, text in enumerate(pairs):
        names = [name.strip() for name in str(text).split("~")]
        wrong = next((name for name in names if name not in parts and name not in mistakes.broken), None)
        path = ("mirror", "pairs", number)
        if len(names) != 2:
            mistakes.add(path, f"'{text}' is no pair", 'text such as "left ~ right"')
        elif wrong is not None:
            mistakes.add(
                path,
                f"pair '{text}' names '{wrong}', which is not declared",
                "two parts of this plant",
                near(wrong, parts),
            )
        else:
            found.append((names[0], names[1]))
    return tuple(found)


def read_never(
    table: Any, parts: Mapping[str, Part], mistakes: Mistakes
) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """Combinations of states the analyst forbids: name = "a = open & b = on"."""
    if not isinstance(table, dict):
        mistakes.add(("never",), "'never' is a table, not a value", "[never]")
        return ()
    found = []
    for rule, text in table.items():
        literals: list[tuple[str, str]] = []
        for piece in str(text).split("&"):
            name, equals, state = (word.strip() for word in piece.partition("="))
            if not equals:
                mistakes.add(("never", rule), f"'{piece.strip()}' says no state", '"part = state & part = state"')
                continue
            _check_literal(rule, name, state, parts, mistakes)
            literals.append((name, state))
        found.append((rule, tuple(literals)))
    return tuple(found)


def _check_literal(rule: str, name: str, state: str, parts: Mapping[str, Part], mistakes: Mistakes) -> None:
    actuators = actuators_of(parts)
    if name in mistakes.broken:
        return
    if name not in actuators:
        hint = near(name, actuators)
        mistakes.add(("never", rule), f"rule '{rule}' names '{name}', which cannot be moved", "an actuator", hint)
        return
    values = parts[name.partition(".")[0]].values
    form = actuators[name]
    options = {"position": tuple(values.get("positions", ())), "state": values.get("states", ())}.get(
        form, ("off", "on")
    )
    if state not in options:
        mistakes.add(("never", rule), f"'{name}' has no state '{state}'", listed(options), near(state, options))
