"""Reads the [control] table: latches, a decision table read from the top, and what each rule asks for."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from heatwright.plant.acts import ActReader
from heatwright.plant.mistakes import Mistakes, listed, near, nearest
from heatwright.plant.model import Act, Control, Latch, Linear, Part, Rule
from heatwright.plant.signals import actuators_of, flags_of, signals_of
from heatwright.plant.sums import crossing, read_condition
from heatwright.units import UnitError, parse

KEYS = ("dwell", "latch", "rule", "act")
MOST_LATCHES = 32


def read_control(
    table: Any, parts: Mapping[str, Part], mistakes: Mistakes, unblown: Collection[str] = ()
) -> Control | None:
    """The whole decision table, or None if the file has none; mistakes are noted, not raised.

    unblown : zones that no air box blows into; but the first, which is a mistake in itself, they have no vent to ask.
    """
    if table is None:
        return None
    if not isinstance(table, dict):
        mistakes.add(
            ("control",), "'control' is a table", "[control] with dwell, latch, rule, act", "put them below it"
        )
        return None
    first = next((part.name for part in parts.values() if part.kind == "zone"), "")
    ventless = {f"{zone}.vent" for zone in unblown if zone != first}
    signals = {name: unit for name, unit in signals_of(parts).items() if name not in ventless}
    latches = _latches(_table(table, "latch", mistakes), signals, mistakes)
    named = [*flags_of(parts), *_table(table, "latch", mistakes)]
    rules = _rules(_table(table, "rule", mistakes), named, mistakes)
    asked = {name for rule in rules for name, _ in rule.needs} | {latch.name for latch in latches}
    if len(asked) > MOST_LATCHES:
        found = f"{len(asked)} latches and flags are in use"
        hint = "take out latches that no rule asks for, or join two that turn together"
        mistakes.add(("control", "latch"), found, f"at most {MOST_LATCHES}", hint)
    reader = ActReader(parts, actuators_of(parts), signals, mistakes)
    acts = _acts(_table(table, "act", mistakes), rules, reader)
    return Control(_dwell(table, mistakes), latches, rules, acts)


def _table(table: Mapping[str, Any], key: str, mistakes: Mistakes) -> dict[str, Any]:
    found = table.get(key, {})
    if isinstance(found, dict):
        return found
    mistakes.add(("control", key), f"control.{key} is a table", f"[control.{key}]", "give each entry a name")
    return {}


def _dwell(table: Mapping[str, Any], mistakes: Mistakes) -> float:
    try:
        dwell_s = parse(table.get("dwell", "20 s"), "s")
        if dwell_s < 0.0:
            raise UnitError(f"'{table['dwell']}' lies before now", "a time of zero or more", "take the minus away")
    except UnitError as error:
        mistakes.add_unit(("control", "dwell"), "dwell", error)
        return 0.0
    return dwell_s


def _latches(table: Mapping[str, Any], signals: Mapping[str, str], mistakes: Mistakes) -> tuple[Latch, ...]:
    found: list[Latch] = []
    for name, entry in table.items():
        path = ("control", "latch", name)
        mistakes.check_name(path, "latch")
        if name in signals or name == "not":
            mistakes.add(path, f"latch '{name}' has the name of a signal", "a name of its own", f"write is_{name}")
        if not isinstance(entry, dict) or set(entry) != {"yes", "no"}:
            sample = '{ yes = "cabin.air < setpoint - 1 K", no = "cabin.air > setpoint" }'
            said = f"latch '{name}' does not say when it turns to yes and to no"
            mistakes.add(path, said, sample, "give it yes and no, and nothing else")
            continue
        sides: dict[str, Linear] = {}
        for side in ("yes", "no"):
            try:
                sides[side] = read_condition(entry[side], signals)
            except UnitError as error:
                mistakes.add_unit((*path, side), f"latch {name}, {side}", error)
        if len(sides) < 2:
            continue
        wrong = crossing(sides["yes"], sides["no"])
        if wrong:
            mistakes.add(
                path,
                f"latch '{name}': {wrong}",
                "a gap in which the latch keeps its state",
                "one side turns it at <, the other, some way off, at >",
            )
        found.append(Latch(name, sides["yes"], sides["no"]))
    return tuple(found)


def _rules(table: Mapping[str, Any], named: list[str], mistakes: Mistakes) -> tuple[Rule, ...]:
    found: list[Rule] = []
    if not table:
        mistakes.add(("control",), "the control table has no rules", "[control.rule]", "write at least rest = { }")
    for number, (name, entry) in enumerate(table.items(), 1):
        path = ("control", "rule", name)
        mistakes.check_name(path, "rule")
        if name == "always":
            mistakes.add(
                path, "'always' cannot name a rule", "a name of its own", "acts below always hold under every rule"
            )
        last = number == len(table)
        if not isinstance(entry, dict) or not set(entry) <= {"when"}:
            mistakes.add(
                path,
                f"rule '{name}' is not a table with 'when'",
                '{ when = "wanted, cold" }',
                "nothing else stands in a rule",
            )
            continue
        if last and "when" in entry:
            mistakes.add(
                path,
                f"the last rule '{name}' has a condition",
                "a last rule { } that takes what is left",
                "add rest = { } below it",
            )
        if not last and "when" not in entry:
            mistakes.add(
                path,
                f"rule '{name}' has no condition, so no rule below is ever read",
                '{ when = "..." }',
                "put it last",
            )
        found.append(Rule(name, _needs(name, entry.get("when", ""), named, mistakes)))
    return tuple(found)


def _needs(rule: str, text: Any, named: list[str], mistakes: Mistakes) -> tuple[tuple[str, bool], ...]:
    path = ("control", "rule", rule, "when")
    if not isinstance(text, str):
        mistakes.add(path, f"when of rule '{rule}' is no text", 'text such as "wanted, not glass_wet"', "quote it")
        return ()
    needs: dict[str, bool] = {}
    for piece in filter(None, (piece.strip() for piece in text.split(","))):
        words = piece.split()
        wanted = words[0] != "not"
        name = words[-1]
        if len(words) > (1 if wanted else 2) or name == "not":
            hint = "a comparison belongs in [control.latch]" if "<" in piece or ">" in piece else "commas stand for and"
            mistakes.add(path, f"'{piece}' is no latch or flag", 'a name, or "not" and a name', hint)
        elif name not in named and name in mistakes.broken:
            pass  # said once
        elif name not in named:
            mistakes.broken.add(name)
            found = f"rule '{rule}' asks for '{name}', which is no latch or flag"
            mistakes.add(path, found, "a latch of [control.latch] or a flag", near(name, named))
        elif name in needs:
            mistakes.add(path, f"rule '{rule}' asks for '{name}' twice", "each name once", "take one out")
        needs[name] = wanted
    return tuple(needs.items())


def _acts(table: Mapping[str, Any], rules: tuple[Rule, ...], reader: ActReader) -> dict[str, dict[str, Act]]:
    names = [rule.name for rule in rules]
    read: dict[str, dict[str, Act]] = {}
    for rule, entries in table.items():
        path, meant = ("control", "act", rule), rule
        if rule != "always" and rule not in names and ("control", "rule", rule) not in reader.mistakes.reported:
            hint = near(rule, [*names, "always"], f"rules: {listed(names)}")
            reader.mistakes.add(path, f"[control.act.{rule}] speaks of no rule", "the name of a rule, or always", hint)
            meant = nearest(rule, [*names, "always"])
        if not isinstance(entries, dict):
            found = f"control.act.{rule} is a table"
            reader.mistakes.add(path, found, 'entries such as heater = "2 kW"', "give each actuator a line")
            continue
        acts = {name: reader.read(rule, name, entry) for name, entry in _flat(entries, reader.actuators).items()}
        read[rule] = {name: act for name, act in acts.items() if act is not None}
        read.setdefault(meant, read[rule])
    return {name: _of_rule(name, table, read, reader.mistakes) for name in names}


def _of_rule(
    rule: str, table: Mapping[str, Any], read: Mapping[str, dict[str, Act]], mistakes: Mistakes
) -> dict[str, Act]:
    """What holds under a rule: `always`, over it the rules it is like, over them its own entries."""
    chain = [rule]
    while (entries := table.get(chain[-1])) and isinstance(entries, dict) and "like" in entries:
        model, path = entries["like"], ("control", "act", chain[-1], "like")
        if not isinstance(model, str) or model not in read or model == "always":
            found = f"like = {model!r} names no rule with acts"
            mistakes.add(path, found, "a rule with a table [control.act.RULE]", near(str(model), read))
            break
        if model in chain:
            mistakes.add(
                path,
                f"'{chain[-1]}' is like '{model}', which is like it in turn",
                "a rule that stands alone",
                "take one 'like' out",
            )
            break
        chain.append(model)
    acts = dict(read.get("always", {}))
    for name in reversed(chain):
        acts |= read.get(name, {})
    return acts


def _flat(entries: Mapping[str, Any], actuators: Mapping[str, str]) -> dict[str, Any]:
    """TOML reads a bare `drive.loss = ...` as a table in a table; put the name together again."""
    flat: dict[str, Any] = {}
    for name, entry in entries.items():
        if name == "like":
            continue
        if isinstance(entry, dict) and set(entry) == {"loss"}:
            flat[f"{name}.loss"] = entry["loss"]
        else:
            flat[name] = entry
    return flat
