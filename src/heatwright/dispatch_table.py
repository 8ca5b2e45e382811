"""What a table `[dispatch]` in a plant or a trip may hold: declared once, in data/dispatch; read to SI, checked.

Plant and trip both read such a table; what the values do is told in the room `dispatch`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

from heatwright.units import UnitError, format_quantity, in_unit, parse, unit_of

FILE = Path(__file__).resolve().parent / "data" / "dispatch" / "default.dispatch.toml"
KEY = "dispatch"
Points = tuple[tuple[float, float], ...]
Note = Callable[..., None]
"""Notes a mistake: (key path, found, expected, what to try)."""


@dataclass(frozen=True)
class Setting:
    """One number of dispatch: its key, group, name inside, sample unit, default text, range in that unit, source.

    `path` : it may be a list of [time, value] as well.
    """

    name: str
    group: str
    field: str
    unit: str
    default: str
    low: float
    high: float
    says: str
    source: str
    path: bool = False

    @property
    def is_ratio(self) -> bool:
        """Whether it is a pure number, which still needs a unit: "30 %", "0.3 J/J"."""
        return unit_of(self.unit).dimension == unit_of("%").dimension


@dataclass(frozen=True)
class Given:
    """A value that a file gives: in SI (a path as ((time [s], value), ...)), as written, and where."""

    value: float | Points
    text: str
    where: str


@cache
def declared() -> dict[str, Setting]:
    """Return every setting by its key, in the order of the file."""
    raw = tomllib.loads(FILE.read_text(encoding="utf-8"))
    found = {}
    for group, table in raw.items():
        for name, one in table.items() if isinstance(table, dict) else ():
            text = one["value"]
            unit = one.get("unit") or text.split(" ", 1)[1]
            found[name] = Setting(
                name, group, one["field"], unit, text, one["low"], one["high"], one["says"], one["source"],
                one.get("path", False),
            )  # fmt: skip
    return found


@cache
def ordered() -> tuple[tuple[str, str], ...]:
    """Return the pairs of keys the first of which must stay below the second."""
    raw = tomllib.loads(FILE.read_text(encoding="utf-8"))
    return tuple((low, high) for low, high in raw["ordered"])


def default_of(one: Setting) -> float | Points | None:
    """Return the SI value of a setting that nothing overrides; None where it is then derived."""
    if not one.default:
        return None
    value = parse(one.default, one.unit)
    return ((0.0, value),) if one.path else value


def read_dispatch(raw: Any, note: Note, where: Callable[..., str], base: bool) -> dict[str, Given]:
    """Return what a table `[dispatch]` gives, by key; every mistake goes to `note`.

    base : whether limits it leaves out are the defaults (a plant); otherwise only those it gives are compared (a trip).
    """
    if raw is None:
        return {}
    if not isinstance(raw, Mapping):
        note((KEY,), f"{KEY!r} is not a table", f"[{KEY}] with keys below it", "heatwright schema plant lists them")
        return {}
    found: dict[str, Given] = {}
    for name, value in raw.items():
        one = declared().get(name)
        if one is None:
            note((KEY, name), f"[{KEY}] has no '{name}'", "one of its settings", _near(name))
            continue
        try:
            found[name] = Given(_value(one, value), _shown(value), where(KEY, name))
        except UnitError as mistake:
            note((KEY, name), f"{KEY}.{name}: {mistake.found}", mistake.expected, mistake.hint)
    for low, high, said in crossing(found, base):
        note((KEY, high if high in found else low), *said)
    return found


def crossing(given: Mapping[str, Given], base: bool) -> list[tuple[str, str, tuple[str, str, str]]]:
    """Return (lower key, upper key, (found, expected, what to try)) of every pair that stands the wrong way round."""
    out = []
    for low, high in ordered():
        if (low not in given or high not in given) if not base else (low not in given and high not in given):
            continue
        below, above = (given[key].value if key in given else default_of(declared()[key]) for key in (low, high))
        if isinstance(below, float) and isinstance(above, float) and not below < above:
            unit = declared()[low].unit
            texts = [format_quantity(value, unit, 4) for value in (below, above)]
            found = f"{KEY}.{low} is {texts[0]}, not below {high}, which is {texts[1]}"
            out.append((low, high, (found, f"{low} below {high}", f"lower {low} or raise {high}")))
    return out


def _near(name: str) -> str:
    from difflib import get_close_matches

    near = get_close_matches(name, declared(), 1)
    return f"did you mean '{near[0]}'?" if near else "heatwright schema plant lists them"


def _shown(value: Any) -> str:
    return value if isinstance(value, str) else f"a path of {len(value)} points"


def _value(one: Setting, value: Any) -> float | Points:
    """Return one value in SI; raises UnitError."""
    if not isinstance(value, list):
        number = _number(one, value)
        return ((0.0, number),) if one.path else number
    sample = f'[["0 min", "{_sample(one)}"], ["40 min", "{_sample(one)}"]]'
    if not one.path:
        raise UnitError("it is a list", f'text such as "{_sample(one)}"', "only prices may be paths over time")
    if not value or not all(isinstance(pair, list) and len(pair) == 2 for pair in value):
        raise UnitError("it is no list of [time, price]", f"a path such as {sample}", "each point between [ and ]")
    points = tuple((parse(time, "min"), _number(one, price)) for time, price in value)
    times = [time for time, _ in points]
    if any(late <= early for early, late in pairwise(times)):
        hint = "each point later than the last"
        raise UnitError("the times of its path do not rise", f"a path such as {sample}", hint)
    return points


def _number(one: Setting, text: Any) -> float:
    number = parse(text, one.unit)
    if one.is_ratio and not _carries_unit(text):
        expected = f'text such as "{_sample(one)}"'
        if isinstance(text, (int, float)) or not any(letter.isalpha() or letter == "%" for letter in text):
            raise UnitError(f"'{text}' has no unit", expected, f'write "{text} {one.unit}"')
        found = f"'{text}' is no share and no ratio of energies or powers"
        raise UnitError(found, expected, f'write "{_sample(one)}"')
    slack = 1e-9 * max(abs(one.low), abs(one.high))
    if not one.low - slack <= in_unit(number, one.unit) <= one.high + slack:
        usual = f"left out, it is {one.default or 'derived'}"
        raise UnitError(f"'{text}' cannot be", f"{one.low:g} to {one.high:g} {one.unit}", usual)
    return number


def _carries_unit(text: Any) -> bool:
    """Whether a pure number is written in per cent, or as energy over energy or power over power."""
    if not isinstance(text, str):
        return False
    name = text.strip().lstrip("+-−.0123456789eE").strip()
    if name == "%":
        return True
    above, slash, below = (piece.strip() for piece in name.partition("/"))
    kinds = {unit_of("J").dimension, unit_of("W").dimension}
    return bool(slash) and unit_of(above).dimension == unit_of(below).dimension in kinds


def _sample(one: Setting) -> str:
    return one.default or f"0.3 {one.unit}"


def dispatch_schema() -> dict[str, Any]:
    """Return the JSON Schema of a table `[dispatch]`, the same in plant and trip."""
    text = {"type": "string", "pattern": r"^\s*[-+−]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?\s*[A-Za-z%°].*$"}
    pair = {"type": "array", "prefixItems": [text, text], "minItems": 2, "maxItems": 2}
    properties: dict[str, Any] = {}
    for name, one in declared().items():
        says = f"{one.says}; {one.low:g} to {one.high:g} {one.unit}"
        kind = {"anyOf": [text, {"type": "array", "items": pair, "minItems": 1}]} if one.path else text
        properties[name] = {**kind, "description": says, "examples": [_sample(one)]}
        if one.default:
            properties[name]["default"] = one.default
    return {
        "type": "object",
        "description": "other values for the settings of dispatch",
        "properties": properties,
        "additionalProperties": False,
    }
