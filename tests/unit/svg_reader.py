"""Reads a picture back: its words with the boxes they take up, and the coordinates of its lines."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from itertools import combinations

from heatwright.draw.svg import SIZE_PX, text_width

SPACE = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Words:
    text: str
    left: float
    right: float
    top: float
    bottom: float


def tree(svg: str) -> ET.Element:
    return ET.fromstring(svg)


def size(svg: str) -> tuple[float, float]:
    _, _, width, height = map(float, tree(svg).attrib["viewBox"].split())
    return width, height


def words_of(svg: str) -> list[Words]:
    found = []
    for node in tree(svg).iter(f"{SPACE}text"):
        text = node.text or ""
        px = float(node.get("font-size") or SIZE_PX)
        wide = text_width(text, px, bold=node.get("font-weight") is not None)
        x, y = float(node.attrib["x"]), float(node.attrib["y"])
        left = {"end": x - wide, "middle": x - wide / 2}.get(node.get("text-anchor", ""), x)
        found.append(Words(text, left, left + wide, y - 0.74 * px, y + 0.2 * px))
    return found


def faults(svg: str) -> list[str]:
    """Words that overprint each other or leave the picture."""
    width, height = size(svg)
    every = words_of(svg)
    out = [
        f"{one.text!r} leaves the picture"
        for one in every
        if one.left < -0.5 or one.right > width + 0.5 or one.top < -0.5 or one.bottom > height + 0.5
    ]
    for a, b in combinations(every, 2):
        across = min(a.right, b.right) - max(a.left, b.left)
        down = min(a.bottom, b.bottom) - max(a.top, b.top)
        if across > 0.5 and down > 0.5:
            out.append(f"{a.text!r} overprints {b.text!r}")
    return out


def texts(svg: str) -> list[str]:
    return [one.text for one in words_of(svg)]


def path_numbers(svg: str) -> list[float]:
    """Every coordinate of every path."""
    return [float(n) for p in tree(svg).iter(f"{SPACE}path") for n in re.findall(r"-?\d+\.?\d*", p.attrib["d"])]
