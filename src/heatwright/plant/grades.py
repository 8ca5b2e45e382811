"""How good a number is: the grade of evidence that may stand behind it in brackets."""

from __future__ import annotations

import re
from typing import Any

from heatwright.plant.mistakes import near
from heatwright.units import UnitError, unit_of

GRADES = ("measured", "data sheet", "estimated")
"""Measured on the part itself, told by its maker, or somebody's guess; the first is the best."""

UNGRADED = "ungraded"
DEFAULT = "default"
EVERY = (*GRADES, UNGRADED, DEFAULT)
"""What `show` counts: the grades, numbers given without one, and defaults."""

KEY = "grade"
"""The key that grades every number of one table."""

_BRACKET = re.compile(r"(.*\S)\s+\(([^()]*)\)\s*", re.DOTALL)


def split_grade(text: Any) -> tuple[Any, str]:
    """Part "780 W/K at 12 L/min (measured)" into the text before the bracket and the grade; "" if it has none.

    A bracket that holds a unit, as in "5 W/ (m2 K)", is left alone. Raises UnitError for an unknown grade.
    """
    match = _BRACKET.fullmatch(text) if isinstance(text, str) else None
    if match is None or _is_unit(match[2]):
        return text, ""
    return match[1], grade_of(match[2])


def grade_of(text: Any) -> str:
    """Read one grade; raises UnitError."""
    words = " ".join(text.split()) if isinstance(text, str) else text
    if words in GRADES:
        return str(words)
    raise UnitError(
        f"'{text}' is no grade of evidence",
        "one of " + ", ".join(GRADES),
        near(str(text).lower(), GRADES, "take it out where nothing is known"),
    )


def _is_unit(text: str) -> bool:
    try:
        unit_of(text)
    except UnitError:
        return False
    return bool(text.strip())
