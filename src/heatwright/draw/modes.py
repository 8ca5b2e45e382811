"""What a plant can do, in one picture: the families of modes that serve each need, and where heat can go."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from heatwright.draw.palette import ink, trace
from heatwright.draw.svg import LINE_PX, box, line, picture, text, wrapped
from heatwright.modes.model import AIR_BOX, ELECTRICITY, OUTSIDE, Atlas, Mode
from heatwright.modes.needs import NEEDS, coverage
from heatwright.modes.reach import Reach, reach_of
from heatwright.plant.model import Plant

WIDTH = 960.0
NAMES = 216.0
COUNTS = 92.0
ROW = 22.0
BAR = 15.0
CELL_PAD = 7.0
PLACE = 118.0

COLD, WARM, AIR, OUT = trace(0), trace(1), trace(3), trace(4)
NEED_COLOURS = {
    "drive unit cooled": COLD,
    "drive heat used": WARM,
    "pack cooled below air": COLD,
    "pack cooled by air": COLD,
    "pack warmed": WARM,
    "cabin warmed": WARM,
    "cabin cooled": COLD,
    "cabin dried": AIR,
    "cabin dried and rewarmed": AIR,
    "heat taken from outside": OUT,
    "heat put outside": OUT,
    "pack warmed when all is cold": WARM,
    "cabin warmed when all is cold": WARM,
    "both warmed when all is cold": WARM,
}
WAY_COLOURS = {
    "lift": COLD,
    "drying": AIR,
    "compressor work": WARM,
    "self-fed lift": WARM,
    "coolant": OUT,
    "heater": WARM,
    "deliberate loss": WARM,
    "fresh air": AIR,
}


def mode_picture(plant: Plant, atlas: Atlas) -> str:
    """Needs against families, one narrow column a family, and below it the ways from each place to each other."""
    useful = atlas.useful
    upper, y = _needs(atlas.plant, useful, 18.0)
    lower, y = _reach(reach_of(useful), list(plant.parts), y + 30.0)
    y += 18
    lower += text(4, y, "Structure only: amounts and temperatures may still forbid it.", fill=ink("soft"))
    served = ", ".join(f"{need} {count}" for need, count in coverage(useful).items() if count)
    note = f"{len(useful)} useful modes in {len({one.family for one in useful})} families. Modes that serve: {served}"
    return picture(WIDTH, y + 6, upper + lower, f"{atlas.plant}: what its modes can do", note)


def _needs(plant: str, modes: Sequence[Mode], y: float) -> tuple[str, float]:
    """One row a need; returns the height reached."""
    columns = _columns(modes)
    counts = coverage(modes)
    wide = (WIDTH - NAMES - COUNTS) / max(len(columns), 1)
    families = f"{plant}: {len(columns)} families of useful modes, a column each; filled where one serves the need"
    body = [text(4, y, families, weight="650")]
    y += 12
    for need in NEEDS:
        body.append(text(NAMES - 10, y + ROW / 2 + 4.3, need, anchor="end", fill="" if counts[need] else ink("soft")))
        body.append(box(NAMES, y + (ROW - BAR) / 2, WIDTH - NAMES - COUNTS, BAR, ink("leg-park"), radius=2))
        for first, last in _runs([need in served for served in columns]):
            body.append(
                box(NAMES + first * wide, y + (ROW - BAR) / 2, (last - first) * wide, BAR, NEED_COLOURS[need], radius=1)
            )
        words = f"{counts[need]} mode{'' if counts[need] == 1 else 's'}" if counts[need] else "cannot"
        body.append(text(WIDTH - 6, y + ROW / 2 + 4.3, words, anchor="end", fill="" if counts[need] else ink("soft")))
        y += ROW
    return "".join(body), y


def _columns(modes: Iterable[Mode]) -> list[frozenset[str]]:
    """The needs that each family's useful modes serve, those alike side by side."""
    served: dict[str, set[str]] = {}
    for mode in modes:
        served.setdefault(mode.family, set()).update(mode.needs)
    return sorted(map(frozenset, served.values()), key=lambda found: [need not in found for need in NEEDS])


def _runs(filled: Sequence[bool]) -> list[tuple[int, int]]:
    """First and one past the last of each stretch that is filled."""
    edges = [k for k in range(len(filled) + 1) if (k < len(filled) and filled[k]) != (k > 0 and filled[k - 1])]
    return list(zip(edges[::2], edges[1::2], strict=True))


def _reach(reach: Reach, order: Sequence[str], y: float) -> tuple[str, float]:
    """From places down, to places across, the ways in words; returns the height reached."""
    starts, ends = (_in_order({pair[k] for pair in reach}, order) for k in (0, 1))
    if not starts:
        return "", y
    wide = (WIDTH - PLACE) / len(ends)
    body = [text(4, y, "Where heat can go, and by which ways, with the number of useful modes", weight="650")]
    y += 24
    body.append(text(4, y, "from", fill=ink("soft")))
    for k, end in enumerate(ends):
        body.append(text(PLACE + k * wide + CELL_PAD, y, f"to {_words(end)}", fill=ink("soft")))
    y += 8
    for start in starts:
        cells = [_cell(reach.get((start, end), {}), wide - 2 * CELL_PAD - 14) for end in ends]
        high = max(len(cell) for cell in cells) * LINE_PX + 10
        body.append(line(4, y, WIDTH - 4, y, ink("rule")))
        body.append(text(4, y + LINE_PX + 1, _words(start), weight="600"))
        for k, cell in enumerate(cells):
            body.append(_written(cell, PLACE + k * wide + CELL_PAD, y))
        y += high
    body.append(line(4, y, WIDTH - 4, y, ink("rule")))
    return "".join(body), y


def _cell(ways: Mapping[str, int], wide: float) -> list[tuple[str, str]]:
    """(words, colour of the swatch or empty) of each line of a cell."""
    lines = []
    for way, count in ways.items():
        for k, words in enumerate(wrapped(f"{way} {count}", wide)):
            lines.append((words, "" if k else WAY_COLOURS[way]))
    return lines


def _written(cell: Sequence[tuple[str, str]], x: float, y: float) -> str:
    parts = []
    for k, (words, colour) in enumerate(cell):
        if colour:
            parts.append(box(x, y + k * LINE_PX + 8, 9, 9, colour, radius=2))
        parts.append(text(x + 14, y + (k + 1) * LINE_PX + 1, words))
    return "".join(parts)


def _in_order(places: Iterable[str], order: Sequence[str]) -> list[str]:
    """Places inside the car as the file declares them, then the air box, outside, electricity."""
    last = [*order, AIR_BOX, OUTSIDE, ELECTRICITY]
    return sorted(places, key=last.index)


def _words(name: str) -> str:
    return name.replace("_", " ")
