"""What goes with a part: the candidates that use it, and no others."""

from functools import cache

import pytest

from heatwright.compiler.held import resting
from heatwright.dispatch.candidates import AIR, candidates_of
from heatwright.dispatch.switches import ASLEEP
from heatwright.modes.atlas import build_atlas
from heatwright.plant.load import load_plant
from heatwright.study.masks import mode_masks, modes_behind, part_masks, position_masks, positions_of


@cache
def known(name: str):
    plant = load_plant(name)
    atlas = build_atlas(plant)
    candidates = candidates_of(plant, atlas)
    return plant, candidates, modes_behind(candidates)


@pytest.mark.parametrize("name", ["plain", "secondary", "reversing"])
def test_the_mode_behind_a_candidate_is_the_one_it_was_made_from(name: str) -> None:
    plant, candidates, behind = known(name)
    assert {one.id for one in candidates} - set(behind) == {ASLEEP, AIR}
    for one in candidates:
        if one.id in behind:
            mode = behind[one.id]
            assert (mode.title, resting(plant, mode.setting, {})) == (one.title, one.setting)


def test_a_mask_holds_all_candidates_that_use_a_part_and_no_others() -> None:
    plant, candidates, behind = known("plain")
    masks, idle, kept = part_masks(plant, behind)
    by_name = {mask.part: mask for mask in masks}
    assert {"heater", "compressor", "evaporator", "condenser", "core"} <= set(by_name)
    assert not {"pack", "cabin", "drive", "fan", "blower", "drive_pump", "radiator"} & set(by_name)
    assert by_name["heater"].ids == {one.id for one in candidates if "heater" in one.running}
    assert by_name["evaporator"].ids == by_name["compressor"].ids
    assert (idle, kept) == ([], ["radiator"])


def test_a_valve_is_held_where_it_stood_longest() -> None:
    plant, _, behind = known("secondary")
    needs = positions_of("pack_valve", behind)
    places = sorted({place for found in needs.values() for place in found})
    for place in places:
        masks = {(m.part, m.says): m for m in position_masks(plant, behind, {("pack_valve", place): 60.0})}
        stuck = masks["pack_valve", f"held at {place!r}"].ids
        assert stuck == {name for name, found in needs.items() if found != {place}}
        assert stuck.isdisjoint({name for name in behind if name not in needs})


def test_only_modes_that_ran_are_left_out_one_by_one_never_the_car_asleep() -> None:
    _, candidates, behind = known("plain")
    ran = {ASLEEP, AIR, candidates[3].id}
    (mask,) = mode_masks(candidates, ran, behind)
    assert (mask.part, mask.ids) == (candidates[3].title, frozenset({candidates[3].id}))
