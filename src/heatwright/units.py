"""Quantities as text: "12 L/min" to SI and back. Units live here and at the rim, nowhere inside.

A unit is names joined by spaces (product), `/` (all that follows up to the next `/` divides) and `per` (all
that follows divides): "W/m2 K" is W/(m2 K), "W/K per km/h" is (W/K)/(km/h). Brackets work too. A number stands in
a unit only where it divides, as in "kWh/100 km", or as the 1 of "1/h". `degC` is a temperature, `K` a difference
(or an absolute temperature where one is asked for). A turn is a dimension of its own, so that "8000 rpm" becomes
133.3 rev/s and cannot be mistaken for a frequency.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import NamedTuple

Dimension = tuple[int, ...]

_BASES = ("m", "kg", "s", "K", "A", "mol", "rev", "rad", "USD")
_NONE: Dimension = (0,) * len(_BASES)


class UnitError(ValueError):
    """A text that is no quantity of the kind asked for; says what was found, expected and what to try."""

    def __init__(self, found: str, expected: str = "", hint: str = "") -> None:
        self.found, self.expected, self.hint = found, expected, hint
        super().__init__("; ".join(part for part in (found, expected and f"expected {expected}", hint) if part))


class Unit(NamedTuple):
    """SI value = number * factor + offset; `dimension` holds the powers of the base units."""

    factor: float
    dimension: Dimension
    offset: float = 0.0


def _dimension(text: str) -> Dimension:
    powers = dict.fromkeys(_BASES, 0)
    for item in text.split():
        base, _, power = item.partition("^")
        powers[base] += int(power or 1)
    return tuple(powers.values())


_TABLE: dict[str, tuple[str, tuple[tuple[str, float], ...]]] = {
    "length": ("m", (("m", 1), ("mm", 1e-3), ("cm", 1e-2), ("km", 1e3))),
    "area": ("m^2", (("m2", 1), ("cm2", 1e-4), ("mm2", 1e-6))),
    "volume": ("m^3", (("m3", 1), ("L", 1e-3), ("mL", 1e-6), ("cc", 1e-6))),
    "mass": ("kg", (("kg", 1), ("g", 1e-3), ("mg", 1e-6), ("t", 1e3))),
    "time": ("s", (("s", 1), ("ms", 1e-3), ("min", 60), ("h", 3600), *((day, 86400) for day in ("d", "day", "days")))),
    "temperature": ("K", (("K", 1), ("degC", 1))),
    "current": ("A", (("A", 1), ("mA", 1e-3), ("kA", 1e3))),
    "charge": ("A s", (("Ah", 3600),)),
    "amount": ("mol", (("mol", 1),)),
    "turn": ("rev", (("rev", 1),)),
    "turning": ("rev s^-1", (("rpm", 1 / 60),)),
    "angle": ("rad", (("rad", 1), ("deg", 0.017453292519943295))),
    "money": ("USD", (("USD", 1),)),
    "frequency": ("s^-1", (("Hz", 1), ("kHz", 1e3))),
    "speed": ("m s^-1", (("mph", 1609.344 / 3600),)),
    "force": ("kg m s^-2", (("N", 1), ("kN", 1e3))),
    "pressure": ("kg m^-1 s^-2", (("Pa", 1), ("kPa", 1e3), ("hPa", 100), ("bar", 1e5), ("mbar", 100))),
    "energy": (
        "kg m^2 s^-2",
        (("J", 1), ("kJ", 1e3), ("MJ", 1e6), ("Wh", 3600), ("kWh", 3.6e6), ("Nm", 1)),
    ),
    "power": ("kg m^2 s^-3", (("W", 1), ("kW", 1e3), ("mW", 1e-3))),
    "voltage": ("kg m^2 s^-3 A^-1", (("V", 1), ("mV", 1e-3))),
    "resistance": ("kg m^2 s^-3 A^-2", (("ohm", 1), ("mohm", 1e-3))),
    "flux": ("kg m^2 s^-2 A^-1", (("Wb", 1), ("mWb", 1e-3))),
    "inductance": ("kg m^2 s^-2 A^-2", (("H", 1), ("mH", 1e-3), ("uH", 1e-6))),
    "number": (
        "",
        (("%", 0.01), ("ppm", 1e-6), ("cells", 1), ("cell", 1), ("nodes", 1), ("node", 1), ("pairs", 1),
         ("pair", 1), ("people", 1), ("person", 1), ("changes", 1), ("change", 1), ("steps", 1), ("step", 1)),
    ),
}  # fmt: skip

_ATOMS: dict[str, Unit] = {
    name: Unit(float(factor), dimension, 273.15 if name == "degC" else 0.0)
    for dimension, names in ((_dimension(text), names) for text, names in _TABLE.values())
    for name, factor in names
}
_ATOMS["°C"] = _ATOMS["degC"]

_SLIPS = {"kph": "km/h", "kmh": "km/h", "kmph": "km/h", "hour": "h", "hours": "h", "seconds": "s", "celsius": "degC"}

KNOWN = "a known unit"
QUANTITY = "a number, a blank, its unit"
_SAMPLES = {"rpm": "3000", "degC": "20", "%": "60", "W": "500", "kWh": "60"}
"""A number that makes sense in a sample text; 12 elsewhere."""

_NUMBER = r"\s*([-+−]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?)\s*(.*?)\s*"
_TOKEN = r"\s*(per\b|[A-Za-zµ°]+[23]?|%|[0-9]+(?:\.[0-9]+)?|\^-?[0-9]+|[()/*·])"


@cache
def unit_of(text: str) -> Unit:
    """Read a unit: `unit_of("W/K per km/h")`; raises UnitError with a near name for an unknown one."""
    tokens: list[str] = []
    pattern = re.compile(_TOKEN)
    at = 0
    while at < len(text.rstrip()):
        match = pattern.match(text, at)
        if not match:
            raise UnitError(f"unit '{text}' cannot be read at '{text[at:]}'", KNOWN, 'write units as in "W/m2 K"')
        tokens.append(match[1])
        at = match.end()
    unit, rest = _ratio(tokens, 0, text)
    if rest != len(tokens):
        raise UnitError(f"unit '{text}' has a bracket too many", KNOWN, "take it out")
    return unit


def _ratio(tokens: list[str], at: int, text: str, divides: bool = False) -> tuple[Unit, int]:
    """per-chain of slash-chains of products, from token `at`; `divides`: all of it stands below a fraction."""
    total, at = _slashes(tokens, at, text, divides)
    while at < len(tokens) and tokens[at] == "per":
        divisor, at = _slashes(tokens, at + 1, text, True)
        total = _divide(total, divisor)
    return total, at


def _slashes(tokens: list[str], at: int, text: str, divides: bool) -> tuple[Unit, int]:
    total, at = _product(tokens, at, text, divides)
    while at < len(tokens) and tokens[at] == "/":
        divisor, at = _product(tokens, at + 1, text, True)
        total = _divide(total, divisor)
    return total, at


def _product(tokens: list[str], at: int, text: str, divides: bool) -> tuple[Unit, int]:
    factors: list[Unit] = []
    while at < len(tokens) and tokens[at] not in ("/", "per", ")"):
        token = tokens[at]
        at += 1
        if token in "*·":
            continue
        if token == "(":
            unit, at = _ratio(tokens, at, text, divides)
            if at >= len(tokens):
                raise UnitError(f"unit '{text}' lacks a closing bracket", KNOWN, "close it")
            at += 1
        elif token[0] == "^":
            factors[-1:] = [_power(factors[-1], int(token[1:]))] if factors else []
            continue
        elif token[0].isdigit() and (factors or not (divides or token == "1")):
            raise UnitError(f"unit '{text}' has the number {token} in it", KNOWN, "take the number out")
        else:
            unit = _atom(token)
        factors.append(unit)
    if not factors:
        raise UnitError(f"unit '{text}' is not complete", KNOWN, 'write units as in "W/m2 K"')
    if len(factors) == 1:
        return factors[0], at
    total = Unit(1.0, _NONE)
    for unit in factors:
        total = Unit(
            total.factor * unit.factor,
            tuple(a + b for a, b in zip(total.dimension, unit.dimension, strict=True)),
        )
    return total, at


def _atom(name: str) -> Unit:
    if name[0].isdigit():
        if float(name) == 0.0:
            raise UnitError("a unit of size 0 measures nothing", KNOWN, "take the 0 out")
        return Unit(float(name), _NONE)
    if name in _ATOMS:
        return _ATOMS[name]
    raise UnitError(f"unit '{name}' is not known", KNOWN, _near_unit(name))


def _near_unit(name: str) -> str:
    from difflib import get_close_matches

    if name in _SLIPS:
        return f"did you mean '{_SLIPS[name]}'?"
    same = [atom for atom in _ATOMS if atom.lower() == name.lower()]
    near = same or get_close_matches(name, _ATOMS, 1, 0.5)
    return f"did you mean '{near[0]}'?" if near else 'units are written as in "W/m2 K"'


def _power(unit: Unit, power: int) -> Unit:
    return Unit(unit.factor**power, tuple(n * power for n in unit.dimension))


def _divide(above: Unit, below: Unit) -> Unit:
    dimension = tuple(a - b for a, b in zip(above.dimension, below.dimension, strict=True))
    return Unit(above.factor / below.factor, dimension)


def parse(text: object, unit: str) -> float:
    """Return a quantity in SI; `unit` is a sample of the unit expected (its dimension counts).

    A sample "degC" asks for a temperature, a sample "K" for a difference. Bare numbers are right only where
    the sample is a pure number.

    >>> round(parse("12 L/min", "m3/s") * 1e6, 3)
    200.0
    """
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise UnitError(f"{text!r} is no quantity", f'text such as "{_sample(unit)}"', QUANTITY)
    if not isinstance(text, str):
        text = repr(text)
    return _parse(text, unit)


@lru_cache(maxsize=8192)
def _parse(text: str, unit: str) -> float:
    number, name = _split(text, unit)
    want = unit_of(unit)
    if not name:
        if want.dimension != _NONE:
            raise UnitError(
                f"'{text}' has no unit", f'text such as "{_sample(unit)}"', f'write "{text.strip()} {unit}"'
            )
        return number
    have = _known(name, unit)
    if have.dimension != want.dimension:
        raise UnitError(f"'{text}' is in '{name}'", f"a unit such as '{unit}'", _units_like(unit))
    if have.offset and not want.offset:
        raise UnitError(f"'{text}' is a temperature", "a difference in K", f'write "{_short(number)} K"')
    value = _times(number, have.factor) + have.offset
    if want.offset and value < 0.0:
        raise UnitError(f"'{text}' lies below absolute zero", "-273.15 degC or more", "see its unit")
    return value


def _known(name: str, unit: str) -> Unit:
    """Read the unit of a text; an error says what kind of unit was asked for and which there are."""
    try:
        return unit_of(name)
    except UnitError as error:
        want, expected, hint = unit_of(unit).dimension, f"a unit such as '{unit}'", error.hint
        kind = next((kind for kind, (text, _) in _TABLE.items() if _dimension(text) == want), "number")
        if kind != "number":
            expected += f" ({kind})"
            near = hint.split("'")
            strange = len(near) == 3 and name.isalpha() and unit_of(near[1]).dimension != want
            if unit in _ATOMS and (strange or len(near) != 3):
                hint = f"units of {kind}: {', '.join(one for one, _ in _TABLE[kind][1])}"
        raise UnitError(error.found, expected, hint) from error


def _units_like(unit: str) -> str:
    """Which units there are of the kind of a sample, or a sample text."""
    want = unit_of(unit).dimension
    for kind, (text, units) in _TABLE.items():
        if _dimension(text) == want and want != _NONE:
            return f"units of {kind}: {', '.join(one for one, _ in units)}"
    return f'write it as "{_sample(unit)}"'


def _times(number: float, factor: float) -> float:
    """Multiply; a factor such as 0.01 divides by 100 instead, so that 70 % is 0.7 to the last digit."""
    whole = round(1.0 / factor)
    return number / whole if whole > 1 and abs(whole * factor - 1.0) < 1e-15 else number * factor


def _split(text: str, unit: str) -> tuple[float, str]:
    match = re.fullmatch(_NUMBER, text, re.DOTALL)
    if not match:
        raise UnitError(f"'{text}' is no number with a unit", f'text such as "{_sample(unit)}"', QUANTITY)
    if re.match(r",\d", match[2]):
        raise UnitError(f"'{text}' has a comma in its number", "decimals with a point", f'write "{_pointed(text)}"')
    if re.match(r"[0-9.]+(?!\s*(?:[0-9.]|/|per\b))", match[2]):
        joined = re.sub(r"(?<=[0-9])\s+(?=[0-9]{3}\b)", "", text)
        hint = f'write "{joined.strip()}"' if joined != text else QUANTITY
        raise UnitError(f"'{text}' has two numbers", "one number, then its unit", hint)
    number = float(match[1].replace("−", "-"))
    if number in (float("inf"), float("-inf")):
        raise UnitError(f"'{text}' is not a finite number", f'text such as "{_sample(unit)}"', "see its power of ten")
    return number, match[2]


def _sample(unit: str) -> str:
    number = _SAMPLES.get(unit, "12")
    return number if unit == "1" else f"{number} {unit}"


def _pointed(text: str) -> str:
    return text.strip().replace(",", ".", 1)


def _short(number: float) -> str:
    return f"{number:g}"


CONDITIONS = "conditions such as 12 L/min, 300 kg/h, 3 m/s, 40 degC"
_AT_KEYS: tuple[tuple[str, Dimension], ...] = (
    ("flow_m3_per_s", _dimension("m^3 s^-1")),
    ("mdot_kg_per_s", _dimension("kg s^-1")),
    ("speed_m_per_s", _dimension("m s^-1")),
    ("temperature_k", _dimension("K")),
)


def parse_conditions(text: str) -> dict[str, float]:
    """Read "12 L/min, 3 m/s, 40 degC" into flow_m3_per_s, mdot_kg_per_s, speed_m_per_s, temperature_k."""
    found: dict[str, float] = {}
    for item in filter(None, (piece.strip() for piece in text.split(","))):
        _, name = _split(item, "L/min")
        unit = unit_of(name) if name else Unit(1.0, _NONE)
        key = next((key for key, dimension in _AT_KEYS if dimension == unit.dimension), None)
        if key is None:
            raise UnitError(
                f"condition '{item}' is no coolant flow, air flow, air speed or temperature",
                CONDITIONS,
                "take it out",
            )
        if key in found:
            raise UnitError(f"condition '{item}' is given twice", "each condition once", "take one out")
        found[key] = parse(item, "degC" if key == "temperature_k" else name)
        if found[key] <= 0.0:
            raise UnitError(f"condition '{item}' is nothing", "more than nothing", "say at which it was measured")
    return found


def parse_rated(text: object, unit: str) -> tuple[float, dict[str, float]]:
    """Read "850 W/K at 12 L/min, 3 m/s, 40 degC" into its SI value and its conditions."""
    if not isinstance(text, str):
        return parse(text, unit), {}
    head, at, tail = text.partition(" at ")
    conditions = parse_conditions(tail)
    if at and not conditions:
        raise UnitError(
            f"'{text}' names no condition after 'at'", CONDITIONS, "take 'at' out, or say at which it was measured"
        )
    return parse(head, unit), conditions


def parse_span(text: object, unit: str) -> tuple[float, float]:
    """Read "3 % to 97 %" (or "3 to 97 %") into two SI values."""
    if not isinstance(text, str) or text.count(" to ") != 1:
        raise UnitError(
            f"{text!r} is no range", f'text such as "3 {unit} to 97 {unit}"', "two numbers and 'to' between"
        )
    low, high = (piece.strip() for piece in text.split(" to "))
    name = _split(high, unit)[1]
    if not _split(low, unit)[1]:
        low = f"{low} {name}"
    return parse(low, unit), parse(high, unit)


def unit_names() -> tuple[str, ...]:
    """Every name of a unit."""
    return tuple(_ATOMS)


def same_dimension(one: str, other: str) -> bool:
    """Whether two units measure the same thing."""
    return unit_of(one).dimension == unit_of(other).dimension


def in_unit(value_si: float, unit: str) -> float:
    """Convert from SI: `in_unit(293.15, "degC")` is 20."""
    target = unit_of(unit)
    return (value_si - target.offset) / target.factor


def format_quantity(value_si: float, unit: str, digits: int = 3) -> str:
    """Write an SI value in a unit with so many significant digits.

    >>> format_quantity(2e-4, "L/min")
    '12 L/min'
    """
    number = in_unit(value_si, unit)
    text = f"{number:.{digits}g}"
    if "e" in text and 1e-4 < abs(number) < 1e9:
        text = f"{float(text):.0f}" if abs(number) >= 1 else f"{float(text):f}".rstrip("0")
    if text == "-0":
        text = "0"
    return text if unit == "1" else f"{text} {unit}"
