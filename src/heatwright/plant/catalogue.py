"""The plants that come with the package."""

from __future__ import annotations

import tomllib
from typing import NamedTuple

from heatwright.plant.source import SUFFIX, shipped_folder


class Shipped(NamedTuple):
    """Name to load it by, title, and one paragraph about it."""

    name: str
    title: str
    about: str


def list_shipped() -> tuple[Shipped, ...]:
    """Every shipped plant that can be run; bases that others extend are left out."""
    found = []
    for file in sorted(shipped_folder().glob("*" + SUFFIX)):
        head = tomllib.loads(file.read_text(encoding="utf-8"))
        if head.get("base") is not True:
            about = " ".join(str(head.get("about", "")).split())
            found.append(Shipped(file.name.removesuffix(SUFFIX), str(head.get("name", "")), about))
    return tuple(found)
