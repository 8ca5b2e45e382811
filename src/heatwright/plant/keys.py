"""Finds keys of a file that mean nothing, and reads those that are misspelt a little as what was meant."""

from __future__ import annotations

from typing import Any

from heatwright.plant.control import KEYS
from heatwright.plant.declare import TABLES, WORDS
from heatwright.plant.mistakes import Mistakes, listed, near
from heatwright.plant.model import FLUIDS
from heatwright.plant.parts import kinds


def check_keys(data: dict[str, Any], mistakes: Mistakes) -> None:
    """Report what is neither a kind nor a word of the language; slips of the pen are put right in `data`.

    It is done file by file, before a file is merged with the one it extends.
    """
    options = [*kinds(), *TABLES, *WORDS]
    unknown = [key for key in data if key not in options]
    for key in unknown:
        if isinstance(data[key], dict):
            hint = near(key, options, f"kinds: {listed(kinds())}")
            mistakes.add((key,), f"'{key}' is not a kind of part", "a kind of part, or a table of the language", hint)
        else:
            found = f"'{key}' means nothing at the head of a plant file"
            mistakes.add((key,), found, listed(WORDS), near(key, options))
    mistakes.take_as_meant((), data, options)
    for key in unknown:
        if isinstance(data.get(key), dict):
            mistakes.broken.update(data[key])
    _check_inner(data, "lines", FLUIDS, "there are no lines of '{}'", mistakes)
    _check_inner(data, "control", KEYS, "[control] has no '{}'", mistakes)


def _check_inner(data: dict[str, Any], key: str, known: tuple[str, ...], says: str, mistakes: Mistakes) -> None:
    table = data.get(key)
    if isinstance(table, dict):
        for word in [word for word in table if word not in known]:
            mistakes.add((key, word), says.format(word), listed(known), near(word, known, "take it out"))
        mistakes.take_as_meant((key,), table, known)
