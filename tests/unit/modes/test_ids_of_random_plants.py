"""Ids of modes stay when what makes no mode changes: names of positions and pumps, a tank more, a position more."""

from __future__ import annotations

import re
from pathlib import Path

from hypothesis import HealthCheck, assume, given, settings
from modes.random_plants import POSITION_NAMES, plant_texts

from heatwright.modes.atlas import build_atlas
from heatwright.modes.model import Atlas
from heatwright.plant.load import load_plant


def changed(text: str) -> str:
    """The same plant with other names of positions and pumps, a tank in the first coolant line, a spare position."""
    text = re.sub(rf"\b({'|'.join(POSITION_NAMES)})\b", r"way_\1", text)
    text = text.replace("pump_", "mover_")
    text = re.sub(r'positions = \{ (\w+) = "([^"]*)"', r'positions = { spare = "\2", \1 = "\2"', text)
    head, lines = text.split("[lines.coolant]")
    lines = re.sub(r'line_0 = "(\S+) > ', r'line_0 = "\1 > more > ', lines, count=1)
    return f"{head}[tank.more]\n[lines.coolant]{lines}"


def atlas(folder: Path, text: str) -> Atlas:
    file = folder / "drawn.plant.toml"
    file.write_text(text, encoding="utf-8")
    return build_atlas(load_plant(file))


@settings(
    max_examples=40, derandomize=True, deadline=None, database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)  # fmt: skip
@given(text=plant_texts())
def test_ids_do_not_hang_on_names_of_what_makes_no_mode(text: str, tmp_path: Path) -> None:
    before, after = atlas(tmp_path, text), atlas(tmp_path, changed(text))
    assume(not any("sizing" in flag for mode in before.modes for flag in mode.flags))
    assert after.combinations >= before.combinations
    assert {mode.id: mode.title for mode in after.modes} == {mode.id: mode.title for mode in before.modes}
    assert {family.id for family in after.families} == {family.id for family in before.families}
