"""Reads the keys of one table against their declarations: text to SI, defaults filled in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from heatwright.plant import grades
from heatwright.plant.mistakes import Mistakes, listed, near
from heatwright.plant.model import Assumed, Rated, Stated
from heatwright.plant.parts import COMMON, Field
from heatwright.toml_lines import KeyPath
from heatwright.units import UnitError, in_unit, parse, parse_conditions, parse_rated, parse_span

NUMBERS = ("quantity", "rated", "count", "factor", "span")
"""Forms that may carry a grade of evidence."""


class FieldReader:
    """Reads tables one after the other; keeps what they state, with its grade, and the defaults it had to use."""

    def __init__(self, mistakes: Mistakes, refrigerant: str = "") -> None:
        self.mistakes = mistakes
        self.refrigerant = refrigerant
        self.refrigerants: dict[str, str] = {}
        self.assumed: list[Assumed] = []
        self.stated: list[Stated] = []

    def read(
        self, path: KeyPath, owner: str, says: str, table: dict[str, Any], fields: Iterable[Field]
    ) -> dict[str, Any]:
        """Values of every declared key but those with a grammar of their own (`words`).

        A key that is misspelt a little is reported and put right in `table`.
        """
        declared = {field.name: field for field in fields}
        grade = self.grade(path, owner, table)
        for key in table:
            if key not in declared and key != grades.KEY:
                hint = near(key, declared, f"it may have: {listed(declared)}")
                self.mistakes.add((*path, key), f"{says} has no '{key}'", "one of its keys", hint)
        self.mistakes.take_as_meant(path, table, [*declared, grades.KEY])
        values: dict[str, Any] = {}
        for name, field in declared.items():
            if field.form == "words":
                continue
            if name in table:
                values[name] = self.given((*path, name), owner, table[name], field, grade)
            else:
                values[name] = self._default(owner, field, declared, values)
        return values

    def grade(self, path: KeyPath, owner: str, table: Mapping[str, Any]) -> str:
        """The grade of every number of a table that has none of its own."""
        if grades.KEY not in table:
            return ""
        try:
            return grades.grade_of(table[grades.KEY])
        except UnitError as error:
            self.mistakes.add_unit((*path, grades.KEY), f"{owner}.{grades.KEY}", error)
            return ""

    def given(self, path: KeyPath, table: str, text: Any, field: Field, grade: str = "") -> Any:
        """One value of a table in SI, noted with its grade; None if it had a mistake."""
        owner = f"{table}.{path[-1]}"
        try:
            face, own = grades.split_grade(text) if field.form in NUMBERS else (text, "")
            _check_plain(face, field)
            value = _READERS[field.form](face, field)
        except UnitError as error:
            self.mistakes.add_unit(path, owner, error)
            return None
        shown = grade if field.form in NUMBERS else ""
        self.stated.append(Stated(table, str(path[-1]), str(text), own or shown, self.mistakes.where(*path)))
        if field.form in ("choice", "flag") or self._possible(path, owner, text, value, field):
            return value
        return None

    def _possible(self, path: KeyPath, owner: str, text: Any, value: Any, field: Field) -> bool:
        """Check the range, which is declared in the field's sample unit."""
        if field.low is None or field.high is None:
            return True
        numbers = value if isinstance(value, tuple) else (value.value if isinstance(value, Rated) else value,)
        slack = 1e-9 * max(abs(field.low), abs(field.high))
        for number in numbers:
            if not field.low - slack <= in_unit(number, field.unit) <= field.high + slack:
                unit = "" if field.unit == "1" else f" {field.unit}"
                expected = f"{field.low:g} to {field.high:g}{unit}"
                hint = f"see its unit; left out, it is {field.default}" if field.default else "see its unit"
                self.mistakes.add(path, f"{owner}: '{text}' cannot be", expected, hint)
                return False
        return True

    def _default(self, owner: str, field: Field, declared: Mapping[str, Field], values: Mapping[str, Any]) -> Any:
        text = field.by_refrigerant.get(self.refrigerants.get(owner, self.refrigerant), field.default)
        if not text:
            return None
        value = _READERS[field.form](text == "true" if field.form == "flag" else text, field)
        said = text
        if field.follows:
            other, power = field.follows
            value = _scaled(
                value,
                values.get(other),
                _READERS[declared[other].form](declared[other].default, declared[other]),
                power,
            )
            said = f"{text}, scaled with {other}"
        self.assumed.append(Assumed(owner, field.name, said, field.source))
        return value

    def assume(self, owner: str) -> None:
        """Turn what was stated of a table into defaults: the table came from us, not from the file."""
        mine = [one for one in self.stated if one.owner == owner]
        self.stated = [one for one in self.stated if one.owner != owner]
        self.assumed += [Assumed(owner, one.key, one.text, COMMON) for one in mine]


def _check_plain(text: Any, field: Field) -> None:
    """A value that holds whatever happens has no conditions; raises UnitError."""
    if field.form != "rated" and isinstance(text, str) and " at " in text:
        plain = text.partition(" at ")[0]
        raise UnitError(f"'{text}' names conditions, on which it does not depend", "no 'at'", f'write "{plain}"')


def _scaled(value: Any, other: Any, usual: Any, power: int) -> Any:
    """Scale a default by how far another key lies from its own default."""
    if other is None:
        return value
    if isinstance(value, Rated):
        return Rated(value.value * (other.value / usual.value) ** power, other.at)
    return value * (other / usual) ** power


def _read_rated(text: Any, field: Field) -> Rated:
    value, conditions = parse_rated(text, field.unit)
    reference = parse_conditions(field.at)
    strange = [key for key in conditions if key not in reference]
    if strange:
        raise UnitError(
            f"'{text}' names a condition that does not matter here", f"conditions such as {field.at}", "take it out"
        )
    return Rated(value, {**reference, **conditions}, tuple(conditions))


def _read_count(text: Any, field: Field) -> int:
    value = parse(text, field.unit)
    if value != int(value):
        raise UnitError(f"{text!r} is no whole number", f'a whole number such as "{field.default}"', "round it")
    return int(value)


def _read_span(text: Any, field: Field) -> tuple[float, float]:
    low, high = parse_span(text, field.unit)
    if low >= high:
        raise UnitError(f"'{text}' runs backwards", "the smaller number first", f'write "{_turned(text)}"')
    return low, high


def _turned(text: str) -> str:
    return " to ".join(reversed(text.split(" to ")))


def _read_choice(text: Any, field: Field) -> str:
    if text not in field.choices:
        raise UnitError(
            f"{text!r} is not one of its words",
            f"one of {listed(field.choices)}",
            near(str(text), field.choices, f"left out, it is {field.default}"),
        )
    return str(text)


def _read_flag(text: Any, field: Field) -> bool:
    if not isinstance(text, bool):
        raise UnitError(f"{text!r} is neither true nor false", "true or false, without quotes", "take the quotes away")
    return text


_READERS: dict[str, Any] = {
    "quantity": lambda text, field: parse(text, field.unit),
    "factor": lambda text, field: parse(text, field.unit),
    "rated": _read_rated,
    "count": _read_count,
    "span": _read_span,
    "choice": _read_choice,
    "flag": _read_flag,
}
