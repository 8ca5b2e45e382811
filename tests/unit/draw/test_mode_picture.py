"""The picture of what a plant's modes can do."""

from dataclasses import replace

import pytest
from mode_states import plant
from svg_reader import SPACE, faults, tree, words_of

from heatwright.draw.modes import NAMES, NEED_COLOURS, WAY_COLOURS, mode_picture
from heatwright.modes.atlas import build_atlas
from heatwright.modes.moves import WAYS
from heatwright.modes.needs import NEEDS
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant
from tools import modes_page


@pytest.mark.parametrize("name", [one.name for one in list_shipped()])
def test_words_stand_clear_of_each_other(name: str) -> None:
    drawing = mode_picture(load_plant(name), modes_page.atlases()[name])
    assert faults(drawing) == []
    assert ("air box" in drawing) == (name == "router")


def test_words_stand_clear_with_two_zones_and_a_router() -> None:
    assert faults(mode_picture(plant("e2"), build_atlas(plant("e2")))) == []


def test_every_need_and_way_has_its_colour() -> None:
    assert list(NEED_COLOURS) == list(NEEDS)
    assert set(WAY_COLOURS) == set(WAYS) - {"stir"}


def test_what_it_says() -> None:
    """(a) has 8 families, half of them with the drive unit cooled: that bar fills half of its row."""
    drawing = mode_picture(plant("a"), build_atlas(plant("a")))
    said = [one.text for one in words_of(drawing)]
    assert "Plain: 8 families of useful modes, a column each; filled where one serves the need" in said
    assert said.count("cannot") == sum(need.startswith(("pack", "drive heat", "heat taken", "both")) for need in NEEDS)
    assert said[said.index("drive unit cooled") + 1] == "8 modes"
    bars = [node for node in tree(drawing).iter(f"{SPACE}rect") if float(node.attrib["height"]) == 15]
    row, bar = bars[0], bars[1]
    assert float(row.attrib["x"]) == float(bar.attrib["x"]) == NAMES
    assert float(bar.attrib["width"]) == pytest.approx(float(row.attrib["width"]) / 2, abs=0.1)


def test_a_plant_that_cannot_do_anything_still_has_a_picture() -> None:
    found = replace(build_atlas(plant("a")), modes=())
    assert faults(mode_picture(plant("a"), found)) == []


def test_the_guide_shows_the_shipped_plants_as_they_are() -> None:
    """Tables and picture of docs/guide/modes.md; make docs writes them."""
    text = modes_page.PAGE.read_text(encoding="utf-8")
    assert modes_page.fresh(text) == text
    assert modes_page.PICTURE.read_text(encoding="utf-8") == modes_page.picture()
