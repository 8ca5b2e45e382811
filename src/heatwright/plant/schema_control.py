"""The JSON Schema of a control table."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from heatwright.plant import acts
from heatwright.plant.schema_forms import PIECE, form, named

ACT_KEYS = {
    "from": "value at the low end of a ramp, or least value of a hold",
    "to": "value at the high end, or most",
    "by": "a ramp: the sum of signals it follows",
    "over": 'a ramp: from where to where of that sum, "1 K to 8 K"',
    "raises": "a hold: the signal that more of it raises",
    "lowers": "a hold: the signal that more of it lowers",
    "until": "a hold: the target of that signal",
    "band": "a hold: how far from the target it does all it can",
    "settle": "a hold: time in which it makes up a lasting rest",
    "min_on": "a hold: least time on, from the start",
    "min_off": "a hold: least time off, from the stop",
}
TIMES = ("band", "settle", "min_on", "min_off")
WORD = rf"(not\s+)?{PIECE.removeprefix('@?')}"
AMOUNT: dict[str, Any] = {"type": "string", "minLength": 1}


def control_schema() -> dict[str, Any]:
    """The control table; which signals and actuators there are depends on the plant and is not said here."""
    compare = {"type": "string", "pattern": r"^[^<>()]+[<>][^<>()]+$", "examples": ["cabin.air < setpoint - 1 K"]}
    latch = {
        "type": "object",
        "properties": {"yes": compare, "no": compare},
        "required": ["yes", "no"],
        "additionalProperties": False,
    }
    when = {
        "type": "string",
        "pattern": rf"^\s*({WORD}\s*(,\s*{WORD}\s*)*)?$",
        "description": "latches and flags that must all hold",
        "examples": ["wanted, not glass_wet"],
    }
    rule = {"type": "object", "properties": {"when": when}, "additionalProperties": False}
    return {
        "type": "object",
        "description": "what switches the plant: latches, rules read from the top, what each rule asks for",
        "properties": {
            "dwell": {"description": "least time a rule holds", **form("positive")},
            "latch": named(latch, "conditions with a memory"),
            "rule": named(rule, "read from the top; the first whose words all hold"),
            "act": named(_acts(), "what each rule, and always, asks of each actuator"),
        },
        "additionalProperties": False,
    }


def _acts() -> dict[str, Any]:
    """What one rule asks for: an amount, a ramp or a hold for each actuator, `like` another rule."""
    ramp = _entry(acts.RAMP, ["from", "to", "by", "over"])
    holds = [_entry([key for key in acts.HOLD if key != other], ["from", "to", "until", "band", one])
             for one, other in (("raises", "lowers"), ("lowers", "raises"))]  # fmt: skip
    amounts = [AMOUNT, ramp, *holds]
    loss = {
        "type": "object",
        "properties": {"loss": {"anyOf": [*amounts, {"const": False}]}},
        "required": ["loss"],
        "additionalProperties": False,
    }
    return named({"anyOf": [*amounts, loss]}, dotted=True)


def _entry(keys: Iterable[str], needed: list[str]) -> dict[str, Any]:
    shown = {key: {"description": ACT_KEYS[key], **(form("positive") if key in TIMES else AMOUNT)} for key in keys}
    return {"type": "object", "properties": shown, "required": needed, "additionalProperties": False}
