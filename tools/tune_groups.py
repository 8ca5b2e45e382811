"""Named groups of the numbers in a decision table, each moved as one: what `tools.tune_tables` may turn.

A group names the places of its numbers as patterns of `latch.NAME.KEY` or `act.RULE.ACTUATOR.KEY` (no key where the
value is plain text) and shifts or scales all of them by one step. Numbers of other units in the same text stay as
they are.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

NUMBER = re.compile(
    r"(?:(?<=[\w)]) (?P<operator>[-+]) |(?<![\w.]))(?P<value>-?\d+(?:\.\d+)?) ?(?P<unit>K|degC|%|g)(?![\w/])"
)
TEXT = re.compile(r'"[^"]*"')
KEY = re.compile(r"([\w.\"]+)\s*=\s*$")
HEADER = re.compile(r"\[control\.(latch|act\.\w+)\]")
BOTH = ("K", "degC")
"""A threshold of a pack or an outlet may be a temperature or a distance from one."""
HELPERS = "(air_heater|booster)"
HEATERS = "(heater|heater_left|heater_right|air_heater|booster|compressor)"


@dataclass(frozen=True)
class Group:
    """Numbers that move together.

    says : what a step up does. places : pattern of where they stand. units : which numbers there count. step : what
    is added [in the unit], or with is_scale the factor less 1 [-]. low, high : what a number may come to; one that was
    written outside goes no further out.
    """

    name: str
    says: str
    places: str
    units: tuple[str, ...]
    step: float
    is_scale: bool = False
    low: float = -100.0
    high: float = 100.0

    def moved(self, value: float, steps: float) -> float:
        """Return a value after so many steps, within the bounds."""
        new = value * (1.0 + self.step) ** steps if self.is_scale else value + self.step * steps
        return float(f"{min(max(new, min(self.low, value)), max(self.high, value)):.3g}")


GROUPS = (
    Group("heating_air", "more air while heating", r"act\.heat\.blower\.(from|to)", ("%",), 0.15, True, 20.0, 100.0),
    Group("helper", "electric heat sooner beside refrigerant", rf"act\.heat\.{HELPERS}\.until", ("K",), 5.0),
    Group("dry_coil", "air over the drying coil warmer", r"act\.dry\.compressor\.until", ("degC",), 2.0, low=1.0),
    Group("damp", "drying goes on until the glass is drier", r"latch\.glass_damp\.no", ("K",), 2.0, low=3.0, high=12.0),
    Group("demist_heat", "hotter air while demisting", rf"act\.demist(_2)?\.{HEATERS}\.until", BOTH, 4.0),
    Group("cool_coil", "air over the cooling coil warmer", r"act\.cool\.compressor\.until", ("degC",), 2.0, low=2.0),
    Group("recirculation", "more cabin air while heating", r"act\.heat\.inlet\.from", ("%",), 10.0, high=80.0),
    Group("frost", "defrosting later", r"latch\.(frosted\.yes|bare\.no)", ("g",), 0.3, True, 100.0, 600.0),
    Group("pack_heat", "the pack is cooled later", r"latch\.(pack_hot|hot_pack|charge_hot|urgent)\..*", BOTH, 2.0),
    Group("airing", "air alone cools later", r"latch\.(above|hot)\..*", ("K",), 0.5),
    Group("warm_at", "cooling begins later", r"latch\.warm\..*", ("K",), 0.5),
    Group("cold_at", "heating begins sooner", r"latch\.cold\..*", ("K",), 0.5),
    Group("wet", "demisting begins sooner", r"latch\.(glass_wet\..*|glass_damp\.yes)", ("K",), 0.5),
    Group("demist_air", "more air while demisting", r"act\.demist\.blower.*", ("%",), 0.15, True, 20.0, 100.0),
    Group("dry_air", "more air while drying", r"act\.dry\.blower.*", ("%",), 0.15, True, 20.0, 100.0),
)  # fmt: skip
"""Tried in this order; a budget that ends before the list leaves the last ones as they were written."""


@dataclass(frozen=True)
class Number:
    """One number of a control table: where it stands in the text, its place in the table, and its value."""

    start: int
    end: int
    line: int
    place: str
    unit: str
    value: float
    operator: str

    def written(self, value: float) -> str:
        """Return a value as it is written there, its sign before it or as the operator of a sum."""
        if not self.operator:
            return f"{value:g}"
        return f" {'-' if value < 0.0 else '+'} {abs(value):g}"


def numbers_of(text: str) -> tuple[Number, ...]:
    """Return the numbers of a plant's latches and acts, in order."""
    found: list[Number] = []
    at, room = 0, ""
    for count, line in enumerate(text.splitlines(keepends=True), 1):
        if line.startswith("["):
            header = HEADER.match(line)
            room = header[1] if header else ""
        elif room:
            found += _of_line(line, at, count, room)
        at += len(line)
    return tuple(found)


def _of_line(line: str, at: int, count: int, room: str) -> Iterator[Number]:
    name = line.partition("=")[0].strip().strip('"')
    for text in TEXT.finditer(line):
        before = TEXT.sub("", line[: text.start()])
        if "#" in before:
            return
        key = KEY.search(line[: text.start()])
        if key is None:
            continue
        place = f"{room}.{name}" + ("" if "{" not in before else f".{key[1]}")
        for one in NUMBER.finditer(text[0]):
            sign = -1.0 if one["operator"] == "-" else 1.0
            start = at + text.start() + one.start()
            end = at + text.start() + one.end("value")
            yield Number(start, end, count, place, one["unit"], sign * float(one["value"]), one["operator"] or "")


def of_group(group: Group, numbers: Sequence[Number]) -> tuple[int, ...]:
    """Return which of the numbers a group moves.

    A threshold of a latch is the last number of its condition: what stands before belongs to its flags.
    """
    last = {one.place: k for k, one in enumerate(numbers)}
    return tuple(
        k
        for k, one in enumerate(numbers)
        if re.fullmatch(group.places, one.place) and one.unit in group.units
        and (not one.place.startswith("latch.") or last[one.place] == k)
    )  # fmt: skip


def moved(text: str, group: Group, steps: float) -> str:
    """Return a plant's text with a group moved so many steps; the same text if it has none of its numbers."""
    numbers = numbers_of(text)
    for k in reversed(of_group(group, numbers)):
        one = numbers[k]
        value = group.moved(one.value, steps)
        if value != one.value:
            text = f"{text[: one.start]}{one.written(value)}{text[one.end :]}"
    return text
