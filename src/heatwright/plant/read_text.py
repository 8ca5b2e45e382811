"""Reads one file as TOML, or says in plain words why it is none."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from heatwright.plant.mistakes import Mistakes

MOST_BYTES = 1_000_000
GENERAL = ("", "text stands between quotes, a table's name between [ and ], each key once")
SAID: tuple[tuple[str, tuple[str, str]], ...] = (
    ("Illegal character '\\n'", ("a text has no end on its line", "close it with a quote; \"\"\" opens a longer text")),
    ("Unterminated string", ("a text has no end", "close it with the quotes that open it")),
    ("Unclosed array", ("a list has no end", "close it with ]")),
    ("Unclosed inline table", ("an inline table has no end", "close it with } on the same line")),
    ("Expected ']'", ("the name of a table has no end", "write it as [kind.name]")),
    ("Cannot overwrite a value", ("a key is given twice in its table", "keep one of the two")),
    ("Duplicate inline table key", ("a key is given twice in its table", "keep one of the two")),
    ("Cannot declare", ("a table is opened twice", "put all its keys below one head")),
    ("Cannot mutate immutable", ("a table between { and } is added to elsewhere", "put all its keys in one place")),
    ("Expected newline or end of document", ("something is left over behind a value", 'quote it: "12 L/min"')),
    ("Invalid value", ("a value is neither quoted text nor a number", 'quote it: "12 L/min"')),
    ("Expected '='", ("a key has no = behind it", 'write key = "value"')),
    ("Invalid initial character for a key part", ("a key cannot begin so", "a table between { and } ends on its line")),
    ("Invalid statement", ("a line begins neither with a key nor with [", 'write key = "value", or # before a remark')),
    ("Unescaped '\\'", ("a text holds a backslash that stands for nothing", "write it twice, or use / in paths")),
)  # fmt: skip


def read_text(path: Path, shown: str, mistakes: Mistakes) -> tuple[str, dict[str, Any]] | None:
    """Text and table of a file; None if it could not be read, which is then noted."""
    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            found = f"the file has {size / 1e6:.1f} MB"
            mistakes.add_at(
                f"{shown}:1", found, f"a plant file, at most {MOST_BYTES / 1e6:.0f} MB", "see what it holds"
            )
            return None
        text = path.read_text(encoding="utf-8-sig")
        return text, tomllib.loads(text)
    except UnicodeDecodeError:
        mistakes.add_at(f"{shown}:1", "the file is not UTF-8 text", "a plant file", "save it as UTF-8")
    except OSError as error:
        mistakes.add_at(
            f"{shown}:1", f"the file cannot be read ({error.strerror})", "a file open to you", "see who may read it"
        )
    except RecursionError:
        mistakes.add_at(f"{shown}:1", "brackets stand in brackets without end", "at most a few levels", "close them")
    except tomllib.TOMLDecodeError as error:
        _tell(str(error), text, shown, mistakes)
    except ValueError as error:  # a date or a number past all bounds
        mistakes.add_at(f"{shown}:1", f"a value cannot be read ({error})", "text with a unit, or a plain number")
    return None


def _tell(error: str, text: str, shown: str, mistakes: Mistakes) -> None:
    match = re.search(r" \(at (?:line (\d+), column \d+|end of document)\)", error)
    line = match[1] if match and match[1] else str(text.count("\n") + 1)
    raw = error[: match.start()] if match else error
    said, hint = next((plain for start, plain in SAID if raw.startswith(start)), GENERAL)
    found = said or f"{raw[:1].lower()}{raw[1:]}"
    mistakes.add_at(f"{shown}:{line}", f"not readable as TOML: {found}", "valid TOML", hint)
