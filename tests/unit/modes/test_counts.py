"""Whole plants: families, dominated and useful modes, coverage of needs, from-to reach, titles.

Families by hand. (a): drive to radiator or not, times cabin {rest, cooled, heated, both} = 2 x 4 = 8.
(b): drive 2 x pad 2 x refrigerant {off, cool, heat} x heater 2 = 24. (c): drive 2 x cabin heater {off, on} x
evaporator {off, on} x pack {rest or stirred, heated, chilled, heated and chilled} = 32. (d): coolant {nothing, drive to
radiator, joined with or without radiator, each with or without loss} = 6 (the loss into the drive unit's own radiator
is waste, and no family) x refrigerant {off, evaporator, chiller, both} = 24, x heaters {none, one side, both} = 72.
Dominated by hand, where nothing is active and the air goes round: (a) 2, (b) drive 2 x pad 2 = 4,
(c) drive 2 x (3 + 2) = 10, (d) 12 + 8 = 20.
"""

from functools import cache

import pytest
from mode_states import plant

from heatwright.modes.atlas import build_atlas
from heatwright.modes.model import Atlas
from heatwright.modes.needs import NEEDS, coverage, never_together
from heatwright.modes.reach import reach_of

SHORT = {
    "f": "fresh air",
    "c": "coolant",
    "L": "lift",
    "h": "heater",
    "w": "compressor work",
    "s": "self-fed lift",
    "d": "deliberate loss",
    "y": "drying",
}


@cache
def atlas(letter: str) -> Atlas:
    return build_atlas(plant(letter))


@pytest.mark.parametrize(
    ("letter", "families", "dominated", "useful"),
    [
        ("a", 8, 2, 16),
        ("b", 24, 4, 48),
        ("c", 32, 10, 80),
        ("d", 72, 20, 272),
        ("e", 128, 58, 487),
        ("f", 68, 14, 170),
        ("e2", 183, 66, 741),
    ],
)
def test_families_dominated_and_useful_modes(letter: str, families: int, dominated: int, useful: int) -> None:
    found = atlas(letter)
    assert len(found.families) == families
    assert sum(mode.dominated_by is not None for mode in found.modes) == dominated
    assert len(found.useful) == useful
    assert sorted(id_ for one in found.families for id_ in one.modes) == sorted(mode.id for mode in found.modes)


@pytest.mark.parametrize("letter", ["a", "b", "c", "d", "e", "f", "e2"])
def test_no_two_titles_are_alike(letter: str) -> None:
    modes, families = atlas(letter).modes, atlas(letter).families
    assert len({mode.title for mode in modes}) == len(modes)
    assert len({family.title for family in families}) == len(families)
    assert max(len(mode.title) for mode in modes) <= 200


COVERAGE = {
    "drive unit cooled": (8, 24, 40, 144, 247, 128),
    "drive heat used": (0, 0, 0, 128, 286, 90),
    "pack cooled below air": (0, 0, 32, 112, 98, 28),
    "pack cooled by air": (0, 0, 0, 64, 50, 30),
    "pack warmed": (0, 24, 32, 128, 257, 86),
    "cabin warmed": (8, 32, 40, 204, 312, 118),
    "cabin cooled": (8, 16, 40, 136, 232, 42),
    "cabin dried": (8, 16, 40, 136, 300, 66),
    "cabin dried and rewarmed": (4, 8, 20, 102, 184, 48),
    "heat taken from outside": (0, 16, 0, 0, 96, 40),
    "heat put outside": (12, 32, 68, 224, 295, 128),
    "pack warmed when all is cold": (0, 24, 32, 64, 181, 36),
    "cabin warmed when all is cold": (8, 24, 40, 204, 186, 80),
    "both warmed when all is cold": (0, 12, 16, 48, 88, 20),
}


@pytest.mark.parametrize("need", NEEDS)
def test_coverage(need: str) -> None:
    assert tuple(coverage(atlas(letter).useful)[need] for letter in "abcdef") == COVERAGE[need]


REACH = """
drive outside        | c   | c   | c   | cL   | cL   | c
drive pack           |     |     |     | c    | cL   | cL
drive cabin          |     |     |     |      | L    | cL
pack outside         |     |     | L   | cL   | cL   | cL
pack cabin           |     |     |     |      | L    | cL
cabin outside        | fL  | fL  | fL  | fL   | fL   | fcL
cabin pack           |     |     |     |      | L    | cL
cabin cabin          |     |     |     |      | y    | y
outside cabin        | f   | fL  | f   | f    | fL   | fcL
outside pack         |     |     |     | c    | cL   | cL
electricity cabin    | h   | hw  | h   | h    | wsL  | hws
electricity pack     |     | h   | h   | d    | dwsL | hws
electricity outside  |     |     | L   | dL   | dL   | h
"""


@pytest.mark.parametrize("column", range(6))
def test_reach(column: int) -> None:
    """Where heat can go, and by which ways; the two zones of (d) are its cabin."""
    found: dict[tuple[str, ...], set[str]] = {}
    for pair, ways in reach_of(atlas("abcdef"[column]).useful).items():
        ends = tuple("cabin" if place in ("left", "right") else place for place in pair)
        found.setdefault(ends, set()).update(ways)
    rows = [line.split("|") for line in REACH.strip().splitlines()]
    expected = {tuple(row[0].split()): {SHORT[way] for way in row[column + 1].strip()} for row in rows}
    assert found == {pair: ways for pair, ways in expected.items() if ways}


def test_a_reversing_valve_cannot_cool_the_cabin_and_draw_on_outside_at_once() -> None:
    pairs = never_together(atlas("b").useful)
    assert ("cabin cooled", "heat taken from outside") in pairs
    assert ("cabin cooled", "cabin warmed") not in pairs
    assert never_together(atlas("e").useful) == []


def test_what_dominates_runs_less_and_moves_the_same() -> None:
    by_id = {mode.id: mode for mode in atlas("e").modes}
    for mode in by_id.values():
        if mode.dominated_by:
            better = by_id[mode.dominated_by]
            assert better.running < mode.running
            assert better.moves == mode.moves
