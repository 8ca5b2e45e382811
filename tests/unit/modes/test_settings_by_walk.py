"""The setting that the atlas names for a mode, walked: it gives that mode, wherever the free actuators stand."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from modes.random_plants import plant_texts
from modes.walk import walk

from heatwright.modes.atlas import build_atlas
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant

FILES = Path(__file__).resolve().parents[1] / "plant" / "files"


def must_give_their_modes(plant: Plant) -> None:
    """Every setting is legal and gives its mode, with the free actuators held as named and with all of them let go."""
    for mode in build_atlas(plant).modes:
        held = {name: state for name, state in mode.setting.items() if name not in mode.free}
        for told in (mode.setting, held):
            walked = walk(plant, told)
            assert set(walked.states) == {mode.state}
            assert walked.illegal == 0


@pytest.mark.parametrize("file", ["a_plain", "b_reversing", "c_three_loops", "d_joined", "f_secondary"])
def test_settings_of_the_kept_plants_give_their_modes(file: str) -> None:
    must_give_their_modes(load_plant(FILES / f"{file}.plant.toml"))


@settings(
    max_examples=30, derandomize=True, deadline=None, database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)  # fmt: skip
@given(text=plant_texts())
def test_settings_of_plants_drawn_at_random_give_their_modes(text: str, tmp_path: Path) -> None:
    file = tmp_path / "drawn.plant.toml"
    file.write_text(text, encoding="utf-8")
    plant = load_plant(file)
    assume(walk(plant).unsure == 0)
    must_give_their_modes(plant)
