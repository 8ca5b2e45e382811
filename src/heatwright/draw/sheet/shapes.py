"""Outlines of the symbols on the sheet's grid: size, the places where pipes may join, and who may take which.

One grid step is `STEP_PX` pixels. A place is (x, y, dx, dy): offset from the centre and outward direction.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations

STEP_PX = 12.0
Place = tuple[int, int, int, int]
Turn = tuple[int, int]
"""Quarter turns clockwise, and 1 where the symbol is mirrored across its own axis first."""


@dataclass(frozen=True)
class Shape:
    """A symbol's outline; `skins` are the ways its ports may take its places, empty: any way.

    `turns` are the quarter turns it may take; a box that shows words stands upright.
    """

    width: int
    height: int
    places: tuple[Place, ...]
    skins: tuple[tuple[int, ...], ...] = ()
    turns: tuple[int, ...] = (0, 1, 2, 3)


WEST_EAST: tuple[Place, ...] = ((-2, 0, -1, 0), (2, 0, 1, 0))
UPRIGHT = (0,)
STREAMS = ((0, 1, 2, 3), (1, 0, 2, 3), (0, 1, 3, 2), (1, 0, 3, 2))
CROSSED = (*STREAMS,)


def sides_of(width: int, height: int, across: int = 1, down: int = 1) -> tuple[Place, ...]:
    """Places on all four sides of a box: `across` on top and bottom, `down` on left and right."""
    xs = _spread(across)
    ys = _spread(down)
    west_east = [(sign * width // 2, y, sign, 0) for y in ys for sign in (-1, 1)]
    return (*west_east, *((x, sign * height // 2, 0, sign) for x in xs for sign in (-1, 1)))


def _spread(count: int) -> list[int]:
    """Whole steps, `count` of them, two apart and centred as well as can be."""
    return [2 * k - (count - 1) for k in range(count)]


def shape_of(symbol: str, ports: int) -> Shape:
    """The outline of a symbol with so many ports."""
    if symbol in ("pump", "compressor", "blower", "fan"):
        return Shape(4, 4, WEST_EAST, ((0, 1),))
    if symbol in ("expansion", "shutoff", "filter"):
        return Shape(4, 2, WEST_EAST, ((0, 1),))
    if symbol == "tee":
        return Shape(2, 2, sides_of(2, 2)) if ports <= 4 else Shape(4, 4, sides_of(4, 4, 2, 2))
    if symbol in ("coil", "radiator", "outdoor_coil") and ports == 4:
        return Shape(6, 6, ((-3, 0, -1, 0), (3, 0, 1, 0), (0, -3, 0, -1), (0, 3, 0, 1)), CROSSED)
    if symbol in ("coil", "radiator", "outdoor_coil", "plate_exchanger") and ports <= 2:
        return Shape(6, 6, ((-3, 0, -1, 0), (3, 0, 1, 0)), ((0, 1),))
    if symbol == "plate_exchanger":
        return Shape(8, 6, ((-4, -2, -1, 0), (4, -2, 1, 0), (-4, 2, -1, 0), (4, 2, 1, 0)), STREAMS)
    if symbol in ("valve", "door"):
        return Shape(4, 4, sides_of(4, 4)) if ports <= 4 else _manifold(ports)
    if symbol == "heater":
        return Shape(6, 4, ((-3, 0, -1, 0), (3, 0, 1, 0)), ((0, 1),), (0, 1, 2, 3))
    if symbol in ("tank", "vessel"):
        return Shape(4, 6, sides_of(4, 6), turns=UPRIGHT)
    if symbol == "outside":
        return Shape(6, 4, sides_of(6, 4), turns=UPRIGHT)
    return Shape(12, 6, sides_of(12, 6, 3, 1), turns=UPRIGHT)


def _manifold(ports: int) -> Shape:
    """A valve with more ways than four: a box with room for every port."""
    down = 1 if ports <= 6 else 3
    across = 2 if ports <= 6 else 3
    width, height = 2 * across + 2, 2 * down + 2
    return Shape(width, height, sides_of(width, height, across, down), turns=UPRIGHT)


def turned(place: Place, turn: Turn) -> Place:
    """A place after the mirror and the quarter turns."""
    x, y, dx, dy = place
    quarters, mirror = turn
    if mirror:
        y, dy = -y, -dy
    for _ in range(quarters):
        x, y, dx, dy = -y, x, -dy, dx
    return x, y, dx, dy


def skins_of(shape: Shape, ports: int) -> tuple[tuple[int, ...], ...]:
    """Every way the ports may take places, or nothing where there are too many to list."""
    if shape.skins:
        return shape.skins
    found = list(permutations(range(len(shape.places)), ports)) if ports <= 3 or len(shape.places) <= 4 else []
    return tuple(found) if len(found) <= 400 else ()
