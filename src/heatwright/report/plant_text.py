"""A plant as it was understood, for the terminal and as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap
from typing import Any

from heatwright.plant.grades import DEFAULT, UNGRADED
from heatwright.plant.inventory import Actuator, Entry, Sheet, actuators, count_grades, lines_of_net, sheets
from heatwright.plant.model import FLUIDS, Plant

WIDTH = 100
SAID = {UNGRADED: "given without a grade", DEFAULT: "by default"}


def plant_as_text(plant: Plant, part: str = "", assumed: bool = False) -> str:
    """The whole plant, one part of it, or the values that the file does not give."""
    every = sheets(plant)
    chosen = [sheet for sheet in every if not part or sheet.name == part]
    blocks = [] if part else [_head(plant, every)]
    blocks += [_sheet(sheet, assumed, bool(part)) for sheet in chosen]
    if not assumed:
        blocks += _plumbing(plant, part) + _moved(plant, part)
        blocks += [] if part else _rules(plant)
    return "\n\n".join(block for block in blocks if block)


def _head(plant: Plant, every: Sequence[Sheet]) -> str:
    parts = sum(bool(sheet.kind) for sheet in every)
    lines = wrap(f"{plant.name}: {parts} parts, read from {' and '.join(plant.files)}", WIDTH)
    lines += wrap(" ".join(plant.about.split()), WIDTH)
    said = ", ".join(f"{number} {SAID.get(grade, grade)}" for grade, number in count_grades(every).items())
    return "\n".join([*lines, "", f"values by evidence: {said}"])


def _sheet(sheet: Sheet, assumed: bool, alone: bool) -> str:
    entries = [entry for entry in sheet.entries if not assumed or entry.grade == DEFAULT]
    if not entries and not alone and (assumed or not sheet.kind):
        return ""
    title = f"[{sheet.kind}.{sheet.name}]" if sheet.kind else f"[{sheet.name}]"
    lines = [f"{title}  {sheet.where}".rstrip()]
    lines += [f"  {sheet.note}"] if sheet.note else []
    lines += [] if assumed else _wide(sheet.words)
    lines += _table([(entry.key, entry.text, _origin(entry)) for entry in entries])
    if alone:
        lines += [f"  {key} is left out: {meaning}" for key, meaning in sheet.left_out]
    return "\n".join(lines)


def _origin(entry: Entry) -> str:
    return entry.origin if entry.grade == UNGRADED else f"{entry.grade}: {entry.origin}"


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows of three columns, the last wrapped at the width of a page."""
    if not rows:
        return []
    key, value = (max(len(row[k]) for row in rows) + 2 for k in (0, 1))
    lines = []
    for first, second, third in rows:
        pieces = wrap(third, max(20, WIDTH - 2 - key - value)) or [""]
        lines.append(f"  {first.ljust(key)}{second.ljust(value)}{pieces[0]}".rstrip())
        lines += [" " * (2 + key + value) + piece for piece in pieces[1:]]
    return lines


def _plumbing(plant: Plant, part: str) -> list[str]:
    blocks = []
    for fluid in FLUIDS:
        lines = lines_of_net(plant.nets[fluid])
        shown = {name: text for name, text in lines.items() if not part or _named(part, text)}
        rows = [(name, text + _hose(plant, fluid, name)) for name, text in shown.items()]
        if rows:
            blocks.append("\n".join([f"[lines.{fluid}]", *_wide(rows)]))
    return blocks


def _hose(plant: Plant, fluid: str, branch: str) -> str:
    """The length of a coolant line, at its first branch."""
    line, _, number = branch.partition("/")
    length_m = plant.hoses["length"].get(line) if fluid == "coolant" and number in ("", "1") else None
    return "" if length_m is None else f"   ({length_m:.3g} m)"


def _named(part: str, text: str) -> bool:
    return any(word.partition(".")[0] == part for word in text.split())


def _wide(rows: Sequence[tuple[str, str]]) -> list[str]:
    """Rows of two columns, the last wrapped at the width of a page."""
    if not rows:
        return []
    key = max(len(name) for name, _ in rows) + 2
    lines = []
    for name, text in rows:
        pieces = wrap(text, WIDTH - 2 - key) or [""]
        lines.append(f"  {name.ljust(key)}{pieces[0]}")
        lines += [" " * (4 + key) + piece for piece in pieces[1:]]
    return lines


def _moved(plant: Plant, part: str) -> list[str]:
    found = [one for one in actuators(plant) if not part or one.name.partition(".")[0] == part]
    if not found:
        return []
    rows = [(one.name, one.kind, _can(one)) for one in found]
    return ["\n".join(["what can be moved", *_table(rows)])]


def _can(one: Actuator) -> str:
    return f"{', '.join(one.states)}{': ' + one.span if one.span else ''}"


def _rules(plant: Plant) -> list[str]:
    blocks = []
    if plant.front_stack:
        blocks.append(f"in the wind: {' > '.join(plant.front_stack)}")
    if plant.mirror:
        blocks.append("the same thing twice: " + ", ".join(" ~ ".join(pair) for pair in plant.mirror))
    if plant.pins:
        blocks.append("pinned on the sheet: " + ", ".join(f"{name} {list(cell)}" for name, cell in plant.pins.items()))
    if plant.never:
        rows = [(name, " & ".join(f"{what} = {state}" for what, state in rule)) for name, rule in plant.never]
        blocks.append("\n".join(["must never happen", *_wide(rows)]))
    if plant.control:
        rows = [(rule.name, _when(rule.needs)) for rule in plant.control.rules]
        blocks.append("\n".join(["rules, read from the top", *_wide(rows)]))
    if plant.control and plant.control.latches:
        said = ", ".join(latch.name for latch in plant.control.latches)
        blocks.append("\n".join(wrap(f"latches: {said}", WIDTH)))
    return blocks


def _when(needs: Sequence[tuple[str, bool]]) -> str:
    return ", ".join(name if wanted else f"not {name}" for name, wanted in needs) or "whatever is left"


def plant_as_json(plant: Plant, part: str = "", assumed: bool = False) -> dict[str, Any]:
    """The same as one object; numbers in SI."""
    every = sheets(plant)
    chosen = [sheet for sheet in every if not part or sheet.name == part]
    found: dict[str, Any] = {
        "name": plant.name,
        "about": " ".join(plant.about.split()),
        "files": list(plant.files),
        "evidence": count_grades(every),
        "parts": [_sheet_json(sheet, assumed) for sheet in chosen if sheet.kind],
        "tables": [_sheet_json(sheet, assumed) for sheet in chosen if not sheet.kind],
    }
    if assumed:
        return found
    found["lines"] = {
        fluid: {name: text for name, text in lines_of_net(plant.nets[fluid]).items() if not part or _named(part, text)}
        for fluid in FLUIDS
    }
    found["actuators"] = [
        {"name": one.name, "kind": one.kind, "states": list(one.states), "range": one.span}
        for one in actuators(plant)
        if not part or one.name.partition(".")[0] == part
    ]
    if not part:
        found["front"] = list(plant.front_stack)
        found["mirror"] = [list(pair) for pair in plant.mirror]
        found["pins"] = {name: list(cell) for name, cell in plant.pins.items()}
        found["never"] = {name: dict(rule) for name, rule in plant.never}
        rules = plant.control.rules if plant.control else ()
        found["rules"] = [{"name": rule.name, "when": dict(rule.needs)} for rule in rules]
    return found


def _sheet_json(sheet: Sheet, assumed: bool) -> dict[str, Any]:
    keys = ("key", "text", "number_si", "unit", "grade", "origin", "meaning")
    entries = [entry for entry in sheet.entries if not assumed or entry.grade == DEFAULT]
    return {
        "name": sheet.name,
        "kind": sheet.kind,
        "where": sheet.where,
        "values": [{key: getattr(entry, key) for key in keys} for entry in entries],
        "words": [{"key": key, "text": text} for key, text in sheet.words],
        "left_out": [key for key, _ in sheet.left_out],
    }
