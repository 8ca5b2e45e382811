"""Trips and schedules that come with the package."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Literal, NamedTuple

_DATA = Path(__file__).resolve().parent.parent / "data"
_ENDING = ".trip.toml"


class Shipped(NamedTuple):
    """One shipped file: what to call it on the command line, its title, and what it is about."""

    kind: Literal["trip", "schedule"]
    name: str
    title: str
    about: str


def list_shipped() -> tuple[Shipped, ...]:
    """Every trip and every schedule of the package, trips first, by name."""
    return (*_trips(), *_schedules())


def _trips() -> list[Shipped]:
    found: list[Shipped] = []
    for file in sorted((_DATA / "trips").glob(f"*{_ENDING}")):
        head = tomllib.loads(file.read_text(encoding="utf-8"))
        about = " ".join(str(head.get("about", "")).split())
        found.append(Shipped("trip", file.name.removesuffix(_ENDING), str(head["name"]), about))
    return found


def _schedules() -> list[Shipped]:
    found: list[Shipped] = []
    for file in sorted((_DATA / "schedules").glob("*.csv")):
        lines = file.read_text(encoding="utf-8").splitlines()[:8]
        comments = [line for line in lines if line.startswith("#")]
        title, *rest = (line.lstrip("# ") for line in comments)
        found.append(Shipped("schedule", file.stem, title, "; ".join(rest)))
    return found
