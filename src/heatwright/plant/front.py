"""Reads [front] (what the wind meets), [mirror] (declared symmetry) and [never] (forbidden combinations)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from heatwright.plant import tables
from heatwright.plant.fields import FieldReader
from heatwright.plant.mistakes import Mistakes, listed, near
from heatwright.plant.model import Part
from heatwright.plant.parts import kinds
from heatwright.plant.signals import NO_MODE, loss_hint, states_of
from heatwright.toml_lines import KeyPath


def read_front(table: Any, parts: Mapping[str, Part], reader: FieldReader) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Openings of the nose, and the parts behind them in the order the wind meets them."""
    mistakes = reader.mistakes
    if not isinstance(table, dict):
        mistakes.add(("front",), "'front' is a table, not a value", "[front]", "put its keys below")
        table = {}
    values = reader.read(("front",), "front", "[front]", table, tables.FRONT)
    stack = table.get("stack", [])
    windy = [name for name, part in parts.items() if kinds()[part.kind].front]
    if not isinstance(stack, list) or not all(isinstance(name, str) for name in stack):
        mistakes.add(
            ("front", "stack"), "stack is no list of names", f"stack = {windy}", "the wind meets the first one first"
        )
        return values, ()
    for number, name in enumerate(stack):
        path = ("front", "stack", number)
        if name in mistakes.broken:
            continue
        if name not in parts:
            said, hint = mistakes.unknown(name, windy)
            mistakes.add(path, f"stack names {said}", listed(windy), hint)
        elif name not in windy:
            mistakes.add(
                path, f"'{name}' is a {parts[name].kind}; it does not stand in the wind", listed(windy), "take it out"
            )
        elif name in stack[:number]:
            mistakes.add(path, f"'{name}' stands in the wind twice", "each part once", "take one out")
    strangers = any(name not in parts for name in stack)
    for name in windy:
        if name not in stack and not strangers and name not in mistakes.broken:
            found = f"{parts[name].kind} '{name}' is not in the front stack"
            expected = f"[front] stack = [..., '{name}', ...]"
            mistakes.add((parts[name].kind, name), found, expected, "the wind meets the first one first")
    return values, tuple(stack)


def read_mirror(table: Any, parts: Mapping[str, Part], mistakes: Mistakes) -> tuple[tuple[str, str], ...]:
    """Pairs of parts that are the same thing twice."""
    pairs = table.get("pairs", []) if isinstance(table, dict) else None
    if not isinstance(pairs, list) or set(table) - {"pairs"}:
        mistakes.add(
            ("mirror",), "[mirror] holds only a list 'pairs'", 'pairs = ["left ~ right"]', "[...] around texts"
        )
        return ()
    found: list[tuple[str, str]] = []
    for number, text in enumerate(pairs):
        names = [name.strip() for name in text.split("~")] if isinstance(text, str) else []
        if _check_pair(("mirror", "pairs", number), text, names, found, parts, mistakes):
            found.append((names[0], names[1]))
    return tuple(found)


def _check_pair(
    path: KeyPath,
    text: Any,
    names: list[str],
    before: list[tuple[str, str]],
    parts: Mapping[str, Part],
    mistakes: Mistakes,
) -> bool:
    """Whether a mirror pair names two parts of one kind, neither of which is in an earlier pair."""
    count = len(mistakes.problems)
    if len(names) != 2 or names[0] == names[1]:
        mistakes.add(path, f"'{text}' is no pair", 'text such as "left ~ right"', "two names and ~ between them")
        return False
    if any(name in mistakes.broken for name in names):
        return False
    for name in names:
        if name not in parts:
            said, hint = mistakes.unknown(name, parts)
            mistakes.add(path, f"pair '{text}' names {said}", "two parts of this plant", hint)
        elif any(name in pair for pair in before):
            mistakes.add(path, f"'{name}' is in two pairs", "each part in one pair", "take it out of one")
    if len(mistakes.problems) == count and parts[names[0]].kind != parts[names[1]].kind:
        kinds_of = " and ".join(f"a {parts[name].kind}" for name in names)
        mistakes.add(path, f"pair '{text}' joins {kinds_of}", "two parts of one kind", "twins are the same thing twice")
    return len(mistakes.problems) == count


Rules = tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
LITERALS = '"part = state & part = state"'


def read_never(table: Any, parts: Mapping[str, Part], mistakes: Mistakes) -> Rules:
    """Combinations of states the analyst forbids: name = "a = open & b = on"."""
    if not isinstance(table, dict):
        mistakes.add(("never",), "'never' is a table, not a value", "[never]", "give each rule a name")
        return ()
    found = []
    for rule, text in table.items():
        path = ("never", rule)
        if not isinstance(text, str):
            mistakes.add(path, f"rule '{rule}' is no text", LITERALS, "put it between quotes")
            continue
        literals: dict[str, str] = {}
        for piece in text.split("&"):
            name, equals, state = (" ".join(word.split()) for word in piece.partition("="))
            if not (name and equals and state):
                mistakes.add(path, f"'{piece.strip()}' says no state", LITERALS, "write what it must not be")
            elif name in literals:
                mistakes.add(
                    path,
                    f"rule '{rule}' names '{name}' twice",
                    "each actuator once",
                    "write two rules: each forbids on its own",
                )
            else:
                literals[name] = _literal(path, name, state, parts, mistakes)
        found.append((rule, tuple(literals.items())))
    return tuple(found)


def _makes_no_mode(part: Part, name: str) -> bool:
    """Whether a rule that names this part, or its loss, could never hold: no mode has it on or off."""
    return part.kind in NO_MODE or (name == f"{part.name}.loss" and part.kind in ("compressor", "blower"))


def _literal(path: KeyPath, name: str, state: str, parts: Mapping[str, Part], mistakes: Mistakes) -> str:
    """The state as the plant writes it: a blend may be given either way round."""
    part = parts.get(name.partition(".")[0])
    if name.partition(".")[0] in mistakes.broken:
        return state
    if part is not None and _makes_no_mode(part, name):
        what = f"'{name}' is the loss of a {part.kind}" if part.name != name else f"'{name}' is a {part.kind}"
        mistakes.add(
            path,
            f"{what}, which does not tell modes apart",
            "an actuator of the modes",
            "a rule may name valves, doors, pumps, compressors, blowers, heaters, pads, losses of a drive unit",
        )
        return state
    states = states_of(parts)
    if name not in states:
        said = f"'{name}', which cannot be moved" if part else mistakes.unknown(name, ())[0]
        hint = loss_hint(parts, name) or near(name, states)
        mistakes.add(path, f"rule '{path[-1]}' names {said}", "an actuator", hint)
        return state
    flipped = " ~ ".join(reversed(state.split(" ~ ")))
    if state not in states[name] and flipped not in states[name]:
        known = states[name]
        mistakes.add(path, f"'{name}' has no state '{state}'", f"one of {listed(known)}", near(state, known))
    return flipped if flipped in states[name] else state
