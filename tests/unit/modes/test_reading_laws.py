"""What holds of every mode of every plant, drawn at random or kept as a file."""

from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import HealthCheck, given, settings
from mode_states import plant, sides
from modes.random_plants import plant_texts

from heatwright.modes.atlas import build_atlas
from heatwright.modes.identity import mirror_names, renamed
from heatwright.modes.model import AIR_BOX, ELECTRICITY, OUTSIDE, Mode, Move
from heatwright.modes.moves import OWN_COOLANT, WAYS, moves_of
from heatwright.modes.needs import NEEDS
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(plant_texts())
def test_laws_of_random_plants(text: str) -> None:
    with TemporaryDirectory() as folder:
        file = Path(folder) / "drawn.plant.toml"
        file.write_text(text, encoding="utf-8")
        car = load_plant(file)
    atlas = build_atlas(car)
    assert len({mode.title for mode in atlas.modes}) == len(atlas.modes)
    assert len({family.title for family in atlas.families}) == len(atlas.families)
    for mode in atlas.modes:
        check(car, mode)


def check(car: Plant, mode: Mode) -> None:
    """No heat goes round in a ring, nothing heats a drive unit, work comes along with a lift."""
    assert mode.needs <= NEEDS.keys()
    lifted = {move.end for move in mode.moves if move.way == "lift"} - {OUTSIDE}
    worked = {move.end for move in mode.moves if move.way == "compressor work"}
    alone = {move.end for move in mode.moves if move.way == "self-fed lift"}
    assert lifted <= worked
    assert alone <= worked
    for start, end, way in mode.moves:
        assert way in WAYS
        assert (start == end) == (way == "drying")
        assert end != ELECTRICITY
        if way != "stir":
            assert end in (OUTSIDE, AIR_BOX) or car.parts[end].kind in ("pack", "zone")
        else:
            assert end == OWN_COOLANT


@pytest.mark.parametrize("letter", ["d", "e2"])
def test_the_mirror_image_of_a_mode_moves_the_mirror_image_of_its_heat(letter: str) -> None:
    car, twins = plant(letter), mirror_names(plant(letter))
    for mode in build_atlas(car).modes:
        moves, flags = moves_of(sides(car, renamed(mode.state, twins)))
        image = {Move(twins.get(m.start, m.start), twins.get(m.end, m.end), m.way) for m in mode.moves}
        assert moves == image
        assert flags == mode.flags
