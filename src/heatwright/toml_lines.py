"""Which line of a TOML text holds which key: the standard reader tells the values but not the places.

The text must already have been accepted by `tomllib`; this scanner only follows its shape. A place in an
array (an array of tables too) is a whole number inside the path: `("segment", 0, "kind")`.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Mapping

KeyPath = tuple[str | int, ...]

_BLANK = " \t\r"
_BARE_END = ",]}\n#"
_ESCAPES = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\", "e": "\x1b"}


def lines_of(text: str) -> dict[KeyPath, int]:
    """Map every key path of a TOML text (tables, keys, array items) to its line, counted from 1."""
    return _Scanner(text).scan()


def line_near(lines: Mapping[KeyPath, int], path: KeyPath) -> int:
    """Return the line of a path or, where the path itself is not written, of its nearest written parent."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text.replace("\r\n", "\n") + "\n"
        self.ends = [match.start() for match in re.finditer("\n", self.text)]
        self.at = 0
        self.lines: dict[KeyPath, int] = {}
        self.tables_in: dict[KeyPath, int] = {}

    def scan(self) -> dict[KeyPath, int]:
        head: KeyPath = ()
        while self._skip(newlines=True):
            if self.text.startswith("[[", self.at):
                head = self._header(2)
            elif self.text[self.at] == "[":
                head = self._header(1)
            else:
                self._pair(head)
        return self.lines

    def _line(self) -> int:
        return bisect_left(self.ends, self.at) + 1

    def _mark(self, path: KeyPath, line: int) -> None:
        """Note a path and those of its parents that have no place yet."""
        for size in range(1, len(path) + 1):
            self.lines.setdefault(path[:size], line)

    def _skip(self, newlines: bool) -> bool:
        """Pass blanks and comments; say whether anything is left."""
        while self.at < len(self.text):
            here = self.text[self.at]
            if here == "#":
                self.at = self.text.index("\n", self.at)
            elif here in _BLANK or (newlines and here == "\n"):
                self.at += 1
            else:
                return True
        return False

    def _resolve(self, key: KeyPath) -> KeyPath:
        """Put into a header's key the number of the array entry it speaks of."""
        full: KeyPath = ()
        for name in key:
            full = (*full, name)
            if full in self.tables_in:
                full = (*full, self.tables_in[full])
        return full

    def _header(self, brackets: int) -> KeyPath:
        line = self._line()
        self.at += brackets
        key = self._key()
        self.at = self.text.index("]", self.at) + brackets
        if brackets == 1:
            path = self._resolve(key)
        else:
            array = (*self._resolve(key[:-1]), key[-1])
            self.tables_in[array] = self.tables_in.get(array, -1) + 1
            path = (*array, self.tables_in[array])
        self._mark(path, line)
        return path

    def _key(self) -> KeyPath:
        names: list[str] = []
        while True:
            self._skip(newlines=False)
            if self.text[self.at] in "\"'":
                names.append(self._string())
            else:
                start = self.at
                while self.text[self.at] not in ".=] \t\n":
                    self.at += 1
                names.append(self.text[start : self.at])
            self._skip(newlines=False)
            if self.text[self.at] != ".":
                return tuple(names)
            self.at += 1

    def _pair(self, head: KeyPath) -> None:
        line = self._line()
        path = (*head, *self._key())
        self._mark(path, line)
        self.at = self.text.index("=", self.at) + 1
        self._value(path)

    def _value(self, path: KeyPath) -> None:
        self._skip(newlines=False)
        here = self.text[self.at]
        if here in "\"'":
            self._string()
        elif here == "[":
            self._group(path, "]")
        elif here == "{":
            self._group(path, "}")
        else:
            while self.text[self.at] not in _BARE_END:
                self.at += 1

    def _group(self, path: KeyPath, end: str) -> None:
        """Walk an array or an inline table."""
        self.at += 1
        number = 0
        while self._skip(newlines=True) and self.text[self.at] != end:
            if self.text[self.at] == ",":
                self.at += 1
            elif end == "}":
                self._pair(path)
            else:
                self._mark((*path, number), self._line())
                self._value((*path, number))
                number += 1
        self.at += 1

    def _string(self) -> str:
        quote = self.text[self.at]
        if self.text.startswith(quote * 3, self.at):
            return self._long_string(quote * 3)
        self.at += 1
        letters: list[str] = []
        while self.text[self.at] != quote:
            letters.append(self._letter(quote))
        self.at += 1
        return "".join(letters)

    def _letter(self, quote: str) -> str:
        """One character of a one-line string, an escape read as what it stands for."""
        here = self.text[self.at]
        self.at += 1
        if here != "\\" or quote == "'":
            return here
        kind = self.text[self.at]
        self.at += 1
        size = {"x": 2, "u": 4, "U": 8}.get(kind, 0)
        code = self.text[self.at : self.at + size]
        self.at += size
        return chr(int(code, 16)) if size else _ESCAPES.get(kind, kind)

    def _long_string(self, quotes: str) -> str:
        self.at += 3
        start = self.at
        while not self.text.startswith(quotes, self.at):
            self.at += 2 if self.text[self.at] == "\\" and quotes[0] == '"' else 1
        while self.text.startswith(quotes, self.at + 1):
            self.at += 1
        inside = self.text[start : self.at]
        self.at += 3
        return inside
