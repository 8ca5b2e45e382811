"""Gathers every mistake of a file before any is shown, each with its place and a near word."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from heatwright.errors import InputError, Problem
from heatwright.toml_lines import KeyPath
from heatwright.units import UnitError

SURE = 0.8
"""From this likeness on a misspelt key is read as what it is like."""


def nearest(word: str, options: Iterable[str], cutoff: float = 0.6) -> str:
    """The closest of the options, or ""."""
    from difflib import get_close_matches

    return next(iter(get_close_matches(word, list(options), 1, cutoff)), "")


def near(word: str, options: Iterable[str], otherwise: str | None = None) -> str:
    """A hint: the closest of the options; else `otherwise`, or which options there are."""
    known = list(options)
    found = nearest(word, known)
    if found:
        return f"did you mean '{found}'?"
    return otherwise if otherwise is not None else f"there is {listed(known)}" if known else "there is none"


def listed(words: Iterable[str]) -> str:
    """'a, b, c' in the order given."""
    return ", ".join(words)


NAME = re.compile(r"[A-Za-z][A-Za-z0-9_]*")
NAMES = "a letter, then letters, digits and _"


class Mistakes:
    """The problems found so far, and where each key path of the merged file is written.

    `broken` holds names whose declaration failed, `reported` the key paths that had a mistake: what refers to them
    is not reported again. `dropped` says where a part of a base file was dropped; `nameless` that
    the keys of a part stand below no name, so that any undeclared name may be its.
    """

    def __init__(self, title: str) -> None:
        self.title = title
        self.problems: list[Problem] = []
        self.places: dict[KeyPath, str] = {}
        self.broken: set[str] = set()
        self.reported: set[KeyPath] = set()
        self.dropped: dict[str, str] = {}
        self.nameless = False

    def where(self, *path: str | int) -> str:
        """File and line of a key path, or of its nearest written parent."""
        key: KeyPath = path
        while key and key not in self.places:
            key = key[:-1]
        return self.places.get(key, f"{self.title}:1")

    def add(self, path: KeyPath, found: str, expected: str = "", hint: str = "") -> None:
        """Note a mistake at a key path."""
        self.reported.add(path)
        self.add_at(self.where(*path), found, expected, hint)

    def take_as_meant(self, path: KeyPath, table: dict[str, Any], known: Iterable[str]) -> None:
        """Give misspelt keys of a table their right names, so that what hangs on them is not missed as well.

        Only for keys that hardly differ from one of `known`; they are reported already. `table` is changed.
        """
        options = list(known)
        for key in [key for key in table if key not in options]:
            meant = nearest(key, options, SURE)
            value, there = table[key], table.get(meant)
            if not meant or (isinstance(there, dict) and not isinstance(value, dict)):
                continue
            del table[key]
            table[meant] = _merged(there, value) if isinstance(there, dict) else value
            self._move((*path, key), (*path, meant))

    def _move(self, here: KeyPath, there: KeyPath) -> None:
        """Let places below one path be found below another as well."""
        below = [(one[len(here) :], line) for one, line in self.places.items() if one[: len(here)] == here]
        self.places |= {there + rest: line for rest, line in below}

    def check_name(self, path: KeyPath, what: str) -> None:
        """Note a name that could not be referred to from elsewhere; it is the last of the path."""
        if not NAME.fullmatch(str(path[-1])):
            hint = re.sub(r"\W+", "_", str(path[-1])).strip("_")
            self.add(
                path, f"'{path[-1]}' cannot name a {what}", NAMES, f"write {hint if NAME.fullmatch(hint) else 'a_name'}"
            )

    def unknown(self, name: str, options: Iterable[str]) -> tuple[str, str]:
        """What is wrong with a name that is not declared, and a hint; for `found` and `hint`."""
        if name in self.dropped:
            return f"'{name}', which is dropped at {self.dropped[name]}", "write it anew in the file that drops"
        return f"'{name}', which is not declared", near(name, options)

    def add_at(self, where: str, found: str, expected: str = "", hint: str = "") -> None:
        """Note a mistake at a known place."""
        problem = Problem(where, found, expected, hint)
        if problem not in self.problems:
            self.problems.append(problem)

    def add_unit(self, path: KeyPath, owner: str, error: UnitError) -> None:
        """Note a text that could not be read, unless it asks a part that is already reported."""
        found = error.found.split("'")
        if found[0] == "there is no signal " and found[1].split(".")[0] in self.broken:
            return
        self.add(path, f"{owner}: {error.found}", error.expected, error.hint)

    def check(self) -> None:
        """Raise InputError if anything was noted."""
        if self.problems:
            raise InputError(sorted(self.problems, key=_order), self.title)


def _merged(one: dict[str, Any], other: dict[str, Any]) -> dict[str, Any]:
    """Two tables in one; where both say something, the other counts."""
    both = {key: _merged(one[key], other[key]) for key in one.keys() & other.keys()
            if isinstance(one[key], dict) and isinstance(other[key], dict)}  # fmt: skip
    return {**one, **other, **both}


def _order(problem: Problem) -> tuple[str, int]:
    file, line = problem.place
    return file, line or 0
