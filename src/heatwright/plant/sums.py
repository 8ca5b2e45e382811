"""Sums and comparisons of signals and quantities: "cabin.air < setpoint - 1 K"."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

from heatwright.plant.mistakes import listed, near
from heatwright.plant.model import Linear
from heatwright.units import UnitError, parse, same_dimension

_SIGN = re.compile(r"\s+([+-])\s+")
_NAME = re.compile(r"[A-Za-z]\w*(?:\.\w+)?")
_QUANTITY = re.compile(r"-?\.?\d\S*\s*(.*)", re.DOTALL)
MOST_SIGNALS = 4
FEWER = "put a part of it into a latch of its own"


class Sum(NamedTuple):
    """A sum in SI, a sample of its unit, and how many temperatures it adds up (0 = a difference)."""

    linear: Linear
    unit: str
    level: float

    def minus(self, other: Sum) -> Linear:
        """This sum less another one."""
        terms = dict.fromkeys((name for _, name in (*self.linear.terms, *other.linear.terms)), 0.0)
        for weight, name in self.linear.terms:
            terms[name] += weight
        for weight, name in other.linear.terms:
            terms[name] -= weight
        kept = tuple((weight, name) for name, weight in terms.items() if weight)
        if len(kept) > MOST_SIGNALS:
            raise UnitError(f"{len(kept)} signals are weighed against each other", f"at most {MOST_SIGNALS}", FEWER)
        return Linear(kept, self.linear.const - other.linear.const)


def read_sum(text: object, signals: Mapping[str, str]) -> Sum:
    """Read `a + 2 * b - 3 K`; raises UnitError."""
    if not isinstance(text, str) or not text.strip():
        raise UnitError(f"{text!r} is no sum", 'text such as "setpoint - 1 K"', "quote it")
    text = text.strip()
    if "(" in text:
        raise UnitError(f"'{text}' has brackets", "a plain sum", 'write it out: "2.6 * setpoint - 1.6 * cabin.air"')
    pieces = _SIGN.split(text)
    terms: dict[str, float] = {}
    const, level, unit = 0.0, 0.0, ""
    for number, piece in enumerate(pieces[0::2]):
        sign = -1.0 if number and pieces[2 * number - 1] == "-" else 1.0
        name, value, own = _term(piece.strip(), signals)
        if unit and not same_dimension(own, unit):
            raise UnitError(
                f"'{text}' adds '{own}' to '{unit}'",
                "terms of one kind",
                f"a quantity in {unit if unit != 'degC' else 'K'}",
            )
        unit = unit or own
        if name:
            terms[name] = terms.get(name, 0.0) + sign * value
        else:
            const += sign * value
        if own == "degC":
            level += sign * (value if name else 1.0)
    if len(terms) > MOST_SIGNALS:
        raise UnitError(f"'{text}' names {len(terms)} signals", f"at most {MOST_SIGNALS}", FEWER)
    level = round(level, 9)
    unit = {"degC": "K", "K": "K"}.get(unit, unit) if level == 0.0 else "degC"
    return Sum(Linear(tuple((w, n) for n, w in terms.items()), const), unit, level)


def _term(text: str, signals: Mapping[str, str]) -> tuple[str, float, str]:
    """Name of a signal or "", its weight or the value in SI, and a sample of the unit."""
    if "*" in text:
        weight, _, name = (piece.strip() for piece in text.partition("*"))
        return _weighted(text, weight, name, signals)
    if _NAME.fullmatch(text):
        if text not in signals:
            raise UnitError(f"there is no signal '{text}'", "a signal of this plant", near_signal(text, signals))
        return text, 1.0, signals[text]
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise UnitError(
            f"'{text}' is neither a signal nor a quantity",
            'text such as "setpoint" or "1 K"',
            "blanks stand around + and -",
        )
    own = match[1].strip()
    sample = "degC" if own in ("degC", "°C") else (own or "1")
    return "", parse(text, sample), sample


def _weighted(text: str, weight: str, name: str, signals: Mapping[str, str]) -> tuple[str, float, str]:
    """`2 * cabin.air`, or a quantity times a flag or share: `20 K * driving`."""
    if not _NAME.fullmatch(name) or _NAME.fullmatch(weight):
        raise UnitError(
            f"'{text}' is no product", 'a number or quantity, then a signal: "2 * cabin.air"', "the number stands first"
        )
    _, one, own = _term(name, signals)
    _, value, by = _term(weight, signals)
    if by == "1":
        return name, value * one, own
    if by == "degC" or not same_dimension(own, "1"):
        raise UnitError(
            f"'{text}' multiplies '{by}' by '{own}'",
            "a quantity times a flag or share, a number times any signal",
            'write "2 * cabin.air" or "20 K * driving"',
        )
    return name, value * one, by


def near_signal(text: str, signals: Mapping[str, str]) -> str:
    """A hint for an unknown signal: a near name, or what its part can be asked."""
    owner = text.split(".")[0]
    own = [name for name in signals if name.startswith(owner + ".")]
    if own:
        return near(text, signals, f"'{owner}' has {listed(own)}")
    _, dot, what = text.rpartition(".")
    alike = [name for name in signals if dot and name.endswith(dot + what)] or [n for n in signals if "." not in n]
    return near(text, signals, f"there is {listed(alike)}")


def read_condition(text: object, signals: Mapping[str, str]) -> Linear:
    """Read `a < b` into a sum that is positive when it holds; raises UnitError."""
    sides = re.split(r"([<>])", text) if isinstance(text, str) else []
    if len(sides) != 3:
        raise UnitError(
            f"{text!r} compares nothing",
            'text such as "cabin.air < setpoint - 1 K"',
            "one < or > and a sum on each side",
        )
    left, right = read_sum(sides[0], signals), read_sum(sides[2], signals)
    must_match(left, right, str(text))
    return right.minus(left) if sides[1] == "<" else left.minus(right)


def must_match(one: Sum, other: Sum, text: str) -> None:
    """Refuse to compare unlike things; raises UnitError."""
    if not same_dimension(one.unit, other.unit):
        raise UnitError(
            f"'{text}' sets '{one.unit}' against '{other.unit}'",
            "the same kind of quantity on both sides",
            f"something in {one.unit} on both",
        )
    if one.level != other.level:
        raise UnitError(
            f"'{text}' sets a temperature against a difference",
            "temperatures on both sides, or differences on both",
            'temperatures in degC, differences in K: "cabin.air < 20 degC", "cabin.air < setpoint - 2 K"',
        )


def crossing(yes: Linear, no: Linear) -> str:
    """What is wrong with a latch whose two conditions look at the same sum; "" if nothing."""
    if len(yes.terms) != len(no.terms):
        return ""
    weights = {name: weight for weight, name in no.terms}
    ratios = {round(weights.get(name, 0.0) / weight, 9) for weight, name in yes.terms}
    if len(ratios) != 1 or 0.0 in ratios:
        return ""
    ratio = ratios.pop()
    if ratio > 0.0:
        return "both conditions point the same way"
    gap = -(yes.const + no.const / -ratio)
    if gap < -1e-9:
        return "the thresholds cross: between them both conditions hold"
    return "there is no gap between the thresholds" if gap < 1e-9 else ""
