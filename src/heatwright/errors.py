"""The exception tree.

HeatwrightError
|- InputError      mistakes in what the user gave; all of them at once   (exit code 2)
|- OutputError     a folder or file that may not be written              (exit code 2)
|- ToolError       a program beside this one is missing or failed       (exit code 1)
`- RunError        the march could not go on; carries the last good time (exit code 1)
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One mistake: where it stands, what was found, what was expected, what to try."""

    where: str
    found: str
    expected: str = ""
    hint: str = ""

    @property
    def place(self) -> tuple[str, int | None]:
        """File and line of `where`; the line is None where it names no line of a file."""
        file, colon, line = self.where.rpartition(":")
        return (file, int(line)) if colon and line.isdigit() else (self.where, None)

    def as_json(self) -> dict[str, str | int | None]:
        """The problem as an object for programs."""
        file, line = self.place
        said = {"where": self.where, "found": self.found, "expected": self.expected, "hint": self.hint}
        return {**said, "file": file if line is not None else None, "line": line}

    def __str__(self) -> str:
        text = f"{self.where}: {self.found}"
        if self.expected:
            text += f"; expected {self.expected}"
        if self.hint:
            text += f"\n    try: {self.hint}"
        return text


class HeatwrightError(Exception):
    """Base of every error this package raises on purpose."""


class InputError(HeatwrightError):
    """Every mistake found in the user's input, reported together."""

    def __init__(self, problems: list[Problem] | tuple[Problem, ...], title: str = "input") -> None:
        self.problems = tuple(problems)
        self.title = title
        super().__init__(self.report())

    def report(self) -> str:
        count = len(self.problems)
        head = f"{self.title}: {count} problem{'s' if count != 1 else ''}"
        return "\n".join([head, *(f"  {problem}" for problem in self.problems)])


class OutputError(HeatwrightError):
    """A result could not be written where the user asked."""


class ToolError(HeatwrightError):
    """A program beside this one, such as a browser that prints, is missing or failed."""


class RunError(HeatwrightError):
    """The march stopped; `t_s` is the last accepted time."""

    def __init__(self, message: str, t_s: float = 0.0) -> None:
        self.t_s = t_s
        super().__init__(message)
