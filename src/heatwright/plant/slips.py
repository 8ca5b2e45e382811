"""Finds a name that is misspelt where it is declared and right wherever it is used: one mistake, not many."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

from heatwright.plant.mistakes import Mistakes, nearest
from heatwright.plant.model import Part

_NAME = re.compile(r"(?<![@.\w])[A-Za-z]\w*")
USED_IN = ("lines", "front", "mirror", "never", "control", "sheet")
OFTEN = 2
"""A name used this often, where the declared one is not used at all, is the right one."""


def find_slips(data: Mapping[str, Any], parts: Mapping[str, Part], mistakes: Mistakes) -> None:
    """Report declared names that nothing uses, beside a likely name that much uses and nothing declares.

    Both names then count as broken, so that what refers to them is not reported again.
    """
    used = Counter(name for key in USED_IN for name in _names(data.get(key)))
    known = [*parts, "outside", *mistakes.broken, *mistakes.dropped]
    missing = [name for name in dict.fromkeys(_line_names(data)) if name not in known and used[name] >= OFTEN]
    for name in missing:
        slip = nearest(name, [one for one in parts if not used[one] and one not in mistakes.broken])
        if slip:
            part = parts[slip]
            found = f"{part.kind} '{slip}' is used nowhere, while '{name}' is used and not declared"
            mistakes.add((part.kind, slip), found, "one name for it everywhere", f"did you mean '{name}'?")
            mistakes.broken.update((name, slip))


def _line_names(data: Mapping[str, Any]) -> Iterator[str]:
    """Parts named in lines, without their ports."""
    lines = data.get("lines")
    for table in lines.values() if isinstance(lines, dict) else ():
        for text in table.values() if isinstance(table, dict) else ():
            if isinstance(text, str):
                yield from _NAME.findall(text)


def _names(value: Any) -> Iterator[str]:
    """Every word in the keys and texts of a table."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _NAME.findall(str(key))
            yield from _names(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _names(inner)
    elif isinstance(value, str):
        yield from _NAME.findall(value)
