"""Quick estimates: the sums done on paper before anything is marched. Asked by name, each shows its formula.

An estimate is a function of named inputs in SI. Its formula is a text with the inputs' names in braces, so that
the same text can be shown with the numbers put in. The sums themselves stand in `estimate_pack`,
`estimate_warm`, `estimate_cabin` and `estimate_drive`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from math import inf, isfinite
from typing import Any

from heatwright.errors import InputError, Problem
from heatwright.study.estimate_text import columns, named, numbered, wrapped
from heatwright.units import UnitError, format_quantity, in_unit, parse


@dataclass(frozen=True)
class Input:
    """One input: its unit (a sample, whose dimension counts), default as text, meaning, and what is possible in SI."""

    name: str
    unit: str
    default: str
    about: str
    low: float = -inf
    high: float = inf
    above: bool = False  # whether `low` itself is impossible

    def span(self) -> str:
        """Return the possible values in words; empty where all are possible."""
        low = f"{'more than' if self.above else 'at least'} {format_quantity(self.low, self.unit)}"
        high = f"at most {format_quantity(self.high, self.unit)}"
        return " and ".join(text for text, end in ((low, self.low), (high, self.high)) if isfinite(end))

    def listed(self) -> dict[str, str]:
        """Return what a list says of the input."""
        return {"name": self.name, "unit": self.unit, "default": self.default, "about": self.about}


@dataclass(frozen=True)
class Side:
    """A figure beside the answer, in SI; the formula may name it."""

    name: str
    value: float
    unit: str
    about: str


@dataclass(frozen=True)
class Worked:
    """What a sum gives: the value in SI, figures beside it, remarks, and a formula if the usual one does not hold."""

    value: float
    beside: tuple[Side, ...] = ()
    notes: tuple[str, ...] = ()
    formula: str = ""


@dataclass(frozen=True)
class Estimate:
    """One estimate: `work` takes a mapping of its inputs in SI and returns a Worked."""

    name: str
    title: str
    unit: str
    formula: str
    inputs: tuple[Input, ...]
    work: Callable[[Mapping[str, float]], Worked]

    def listed(self) -> dict[str, Any]:
        """Return the entry of a list."""
        inputs = [one.listed() for one in self.inputs]
        formula = named(self.formula)
        return {"name": self.name, "title": self.title, "unit": self.unit, "formula": formula, "inputs": inputs}

    def described(self) -> str:
        """Return name, title, formula and inputs for people."""
        rows = [(f"--{one.name}", one.default, one.about) for one in self.inputs]
        return "\n".join([f"{self.name}: {self.title}", *wrapped("  ", named(self.formula)), "", *columns(rows)])


@dataclass(frozen=True)
class Found:
    """An estimate worked out: inputs in SI, those that were given, and the answer."""

    estimate: Estimate
    values: Mapping[str, float]
    given: Mapping[str, str]
    worked: Worked

    @property
    def value(self) -> float:
        """Return the answer in the estimate's unit."""
        return in_unit(self.worked.value, self.estimate.unit)

    @property
    def formula(self) -> str:
        """Return the formula with the names of the inputs in it."""
        return named(self.worked.formula or self.estimate.formula)

    def with_numbers(self) -> str:
        """Return the formula's right-hand side with the numbers put in."""
        quantities = {one.name: (self.values[one.name], one.unit) for one in self.estimate.inputs}
        quantities |= {one.name: (one.value, one.unit) for one in self.worked.beside}
        right = (self.worked.formula or self.estimate.formula).partition(" = ")[2]
        return numbered(right, quantities)

    def as_json(self) -> dict[str, Any]:
        """Return the whole answer as plain JSON values."""
        inputs = [
            {
                "name": one.name,
                "value": in_unit(self.values[one.name], one.unit),
                "unit": one.unit,
                "default": one.name not in self.given,
                "about": one.about,
            }
            for one in self.estimate.inputs
        ]
        beside = [
            {"name": one.name, "value": in_unit(one.value, one.unit), "unit": one.unit, "about": one.about}
            for one in self.worked.beside
        ]
        return {
            "name": self.estimate.name,
            "title": self.estimate.title,
            "value": self.value,
            "unit": self.estimate.unit,
            "formula": self.formula,
            "with_numbers": self.with_numbers(),
            "inputs": inputs,
            "beside": beside,
            "notes": list(self.worked.notes),
        }

    def as_text(self) -> str:
        """Return the answer for people: value, formula with and without numbers, inputs, figures beside it."""
        answer = format_quantity(self.worked.value, self.estimate.unit, 3)
        left, _, right = self.formula.partition(" = ")
        lines = [f"{self.estimate.title}: {answer}", "", *wrapped(f"  {left} = ", right)]
        lines += [*wrapped(f"  {' ' * len(left)} = ", self.with_numbers()), "", "inputs"]
        rows = [
            (
                one.name,
                self.given.get(one.name, one.default),
                one.about + ("" if one.name in self.given else " (default)"),
            )
            for one in self.estimate.inputs
        ]
        lines += columns(rows)
        if self.worked.beside:
            shown = [(one.name, format_quantity(one.value, one.unit, 3), one.about) for one in self.worked.beside]
            lines += ["", "beside it", *columns(shown)]
        lines += ["", *self.worked.notes] if self.worked.notes else []
        return "\n".join(lines)


@cache
def catalogue() -> dict[str, Estimate]:
    """Return every estimate by its name."""
    from heatwright.study import estimate_cabin, estimate_drive, estimate_pack, estimate_warm

    rooms = (estimate_pack, estimate_warm, estimate_cabin, estimate_drive)
    return {one.name: one for room in rooms for one in room.ESTIMATES}


def estimate(name: str, texts: Mapping[str, str] | None = None) -> Found:
    """Work out an estimate from texts such as {"energy": "80 kWh"}; inputs left out take their defaults.

    Raises InputError with every text that cannot be read, or with the one reason why there is no answer.
    """
    texts = texts or {}
    one = find(name)
    values: dict[str, float] = {}
    problems = [_stranger(one, word) for word in texts if word not in {input_.name for input_ in one.inputs}]
    for input_ in one.inputs:
        try:
            values[input_.name] = _read(input_, texts.get(input_.name, input_.default))
        except InputError as failure:
            problems += failure.problems
    if problems:
        raise InputError(problems, f"estimate {name}")
    try:
        worked = one.work(values)
    except InputError as failure:
        raise InputError(failure.problems, f"estimate {name}") from None
    except ArithmeticError:
        worked = Worked(inf)
    answers = [worked.value, *(side.value for side in worked.beside)]
    if not all(isfinite(value) for value in answers):
        raise InputError([Problem(name, "no finite answer", "inputs of a car's size")], f"estimate {name}")
    return Found(one, values, {key: texts[key] for key in values if key in texts}, worked)


def find(name: str) -> Estimate:
    """Return the estimate of a name; InputError with the nearest name where there is none."""
    known = catalogue()
    if name in known:
        return known[name]
    hint = _nearest(name, known) or "heatwright estimate --list"
    raise InputError([Problem("NAME", f"no estimate '{name}'", f"one of {', '.join(known)}", hint)], "estimate")


def impossible(where: str, found: str, expected: str = "", hint: str = "") -> InputError:
    """Return the error of inputs that can be read and still have no answer."""
    return InputError([Problem(where, found, expected, hint)], "estimate")


def unknown_option(word: str, names: list[str]) -> Problem:
    """Return the problem of an option that is not among `names`."""
    hint = _nearest(word, names)
    return Problem(
        f"--{word}", "no such input", "one of " + ", ".join(f"--{one}" for one in names), hint and f"--{hint}"
    )


def _stranger(one: Estimate, word: str) -> Problem:
    return unknown_option(word, [input_.name for input_ in one.inputs])


def _read(input_: Input, text: str) -> float:
    where = f"--{input_.name}"
    try:
        value = parse(text.replace("−", "-"), input_.unit)
    except UnitError as failure:
        hint = failure.hint or f'{where} "{input_.default}"'
        raise InputError([Problem(where, failure.found, failure.expected, hint)]) from None
    if not input_.low <= value <= input_.high or (input_.above and value == input_.low):
        raise InputError([Problem(where, f"'{text}' is not possible", input_.span(), f'{where} "{input_.default}"')])
    return value


def _nearest(name: str, known: Any) -> str:
    from difflib import get_close_matches

    return next(iter(get_close_matches(name, list(known), 1, 0.5)), "")
