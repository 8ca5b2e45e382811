"""How an estimate's formula and tables are written.

A formula is a text with names in braces, such as "heat = {power} × {time}".
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from heatwright.units import format_quantity

_NAME = re.compile(r"(/ )?\{([a-z0-9-]+)\}(²?)")
_DIGITS, _WIDTH = 4, 96


def named(formula: str) -> str:
    """Return a formula with the bare names in it."""
    return _NAME.sub(lambda match: (match[1] or "") + match[2] + match[3], formula)


def numbered(formula: str, quantities: Mapping[str, tuple[float, str]]) -> str:
    """Return a formula with (SI value, unit) put in for every name."""
    return _NAME.sub(lambda match: _bracketed(match, *quantities[match[2]]), formula)


def _bracketed(match: re.Match[str], value: float, unit: str) -> str:
    """Return a quantity for its place in a formula, in brackets where it would be misread."""
    text = format_quantity(value, unit, _DIGITS)
    if text.startswith("-") or (match[1] and "/" in unit) or (match[3] and unit != "1"):
        text = f"({text})"
    return (match[1] or "") + text + match[3]


def wrapped(head: str, text: str) -> list[str]:
    """Return lines that begin with `head` and hang under its end."""
    from textwrap import wrap

    hanging = " " * len(head)
    return wrap(text, _WIDTH, initial_indent=head, subsequent_indent=hanging, break_on_hyphens=False)


def columns(rows: list[tuple[str, str, str]]) -> list[str]:
    """Return rows of three texts as aligned lines."""
    first, second = (max(len(row[k]) for row in rows) for k in (0, 1))
    return [f"  {a:<{first}}  {b:<{second}}  {c}" for a, b, c in rows]
