"""The independent walk of every combination, against counts made by hand, and the atlas against the walk.

Walk and atlas were written apart from the same definitions. Where they first disagreed it was settled by hand:
- a cooler core whose coolant holds nothing that could take heat (the drive unit alone) moves none: inert, as the walk
  had it, and the atlas learnt it;
- an evaporating exchanger in coolant that has nothing to give makes a combination illegal even beside a working one:
  liquid would reach the compressor; as the atlas had it, and the walk learnt it;
- a coolant exchanger between the drive unit's loop and that of its electronics passes nothing on, as neither is a sink:
  inert, as the walk had it; between the cold and the hot exchanger of one refrigerant circuit the lifts cancel: inert,
  as the atlas had it;
- a circuit that runs on hot gas alone can feed the cold exchanger of another circuit: legal, as the walk had it;
- where sizes decide a direction, all branches alike is the case that counts, so that twins count alike; the atlas had
  taken the majority of wide draws. Plants in which a spread of a twentieth turns a direction are not drawn here.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from modes.random_plants import plant_texts
from modes.walk import Walk, walk
from modes.walk_flows import Pipe, solve_signs
from modes.walk_nets import walk_nets

from heatwright.modes.atlas import build_atlas
from heatwright.modes.held import actuator_states
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant

FILES = Path(__file__).resolve().parents[1] / "plant" / "files"

# Combinations, legal ones and modes, by hand:
# a_plain. Modes: drive 2 x (blower off 1 + inlet 2 x evaporator 2 x core 2) = 18.
#   Legal: blower off, 45 door settings x drive 2 x unheated core net 2 = 180; cold door, 15 x drive 2 x evaporator 2
#   x core pump 2 (a heater has no sink there) = 120; hot or mixed door, 30 x 2 x 2 x 3 = 360; together 660.
# b_reversing. Modes: drive 2 x pad 2 x (off 1 + inlet 2 x refrigerant {off, cool, heat} x air heater 2) = 52.
#   Legal: 15 door settings x drive 2 x pad 2 x (blower off: reverser 2; on: (2 + 2) x air heater 2) = 600.
# c_three_loops. Modes: drive 2 x (no refrigerant 5 x 3 + cabin 4 x 3 + pack 5 x 2 + both 4 x 2) = 90.
#   Legal, both valves free while the compressor stands: blower off, 45 x 2 x 2 x (4 x 3 + 2) = 2,520;
#   on, (15 x 2 + 30 x 3) x drive 2 x (4 x 3 + 3 + 2 + 2) = 4,560; together 7,080.
# d_joined. Modes: no refrigerant 12 x 9 + evaporator 12 x 8 + chiller 8 x 9 + both 8 x 8 = 340.
#   Legal: coolant 37 settings (apart 2 x (3 + 5), together 3 + 18), 26 of them with the pack's leg flowing; air 15, 12
#   of them with the blower on; 4 x 37 x 15 + 37 x 12 + 26 x 15 + 26 x 12 = 3,366.
BY_HAND = {
    "a_plain": (1_440, 660, 18),
    "b_reversing": (960, 600, 52),
    "c_three_loops": (23_040, 7_080, 90),
    "d_joined": (9_216, 3_366, 340),
}


@pytest.mark.parametrize("name", BY_HAND)
def test_walk_agrees_with_counts_made_by_hand(name: str) -> None:
    found = walk(load_plant(FILES / f"{name}.plant.toml"))
    assert (found.combinations, found.combinations - found.illegal, len(found.states)) == BY_HAND[name]
    assert found.unsure == 0


def must_agree(plant: Plant, walked: Walk, frozen: Mapping[str, str] | None = None) -> None:
    """Same states, as often each, and as many illegal combinations."""
    atlas = build_atlas(plant, frozen)
    assert walked.unsure == 0
    found = {mode.state: mode.combinations for mode in atlas.modes}
    assert found.keys() == walked.states.keys()
    assert found == walked.states
    assert (atlas.combinations, sum(atlas.illegal.values())) == (walked.combinations, walked.illegal)


@pytest.mark.parametrize("file", sorted(FILES.glob("*.plant.toml")), ids=lambda file: file.name.split(".")[0])
def test_atlas_is_the_walk_for_plants_of_the_tests(file: Path) -> None:
    plant = load_plant(file)
    must_agree(plant, walk(plant))


@pytest.mark.parametrize("name", [one.name for one in list_shipped()])
def test_atlas_is_the_walk_for_every_shipped_plant(name: str) -> None:
    plant = load_plant(name)
    must_agree(plant, walk(plant))


def must_agree_on(text: str, folder: Path) -> None:
    """A plant drawn at random; one in which sizes decide is left out."""
    file = folder / "drawn.plant.toml"
    file.write_text(text, encoding="utf-8")
    plant = load_plant(file)
    walked = walk(plant)
    assume(walked.unsure == 0)
    must_agree(plant, walked)


DRAWN = {"derandomize": True, "deadline": None, "database": None,
         "suppress_health_check": [HealthCheck.function_scoped_fixture, HealthCheck.too_slow]}  # fmt: skip


@settings(max_examples=200, **DRAWN)
@given(text=plant_texts())
def test_atlas_is_the_walk_for_plants_drawn_at_random(text: str, tmp_path: Path) -> None:
    must_agree_on(text, tmp_path)


@pytest.mark.long
@settings(max_examples=3000, **DRAWN)
@given(text=plant_texts())
def test_atlas_is_the_walk_for_thousands_of_plants(text: str, tmp_path: Path) -> None:
    must_agree_on(text, tmp_path)


@pytest.mark.parametrize("file", ["b_reversing", "c_three_loops", "d_joined"])
def test_atlas_is_the_walk_with_any_one_part_stuck(file: str) -> None:
    plant = load_plant(FILES / f"{file}.plant.toml")
    for name, states in actuator_states(plant).items():
        for state in states:
            must_agree(plant, walk(plant, {name: state}), {name: state})


def test_coolant_net_of_the_router_has_the_states_counted_by_hand() -> None:
    # Off 1; summer 5, mild 2, save 5, gather 5, pack_warm 5, self 5; split 12, of which 2 are counted already.
    nets = walk_nets(load_plant(FILES / "e_router.plant.toml"))
    assert [len(net.facets) for net in nets] == [38, 8, 9]


def test_two_zones_of_the_router_share_the_air_as_counted_by_hand() -> None:
    # Off 1; per inlet 2: inner return shut, 4 pairs of temper doors; inner return open, the hot coil feeds both: 1.
    nets = walk_nets(load_plant(FILES / "e2_router_two_zones.plant.toml"))
    assert [len(net.facets) for net in nets] == [38, 8, 11]


def test_a_bridge_never_flows_and_a_check_valve_holds() -> None:
    ring = [Pipe("push", "a", "b", 1, False), Pipe("back", "b", "a", 0, False)]
    assert solve_signs([*ring, Pipe("stub", "b", "c", 0, False)]).signs == {"push": 1, "back": 1}
    assert solve_signs([*ring, Pipe("side", "a", "b", 0, True)]).signs == {"push": 1, "back": 1}
    assert solve_signs([*ring, Pipe("side", "a", "b", 0, False)]).signs == {"push": 1, "back": 1, "side": -1}


def test_sizes_decide_the_direction_in_the_middle_of_a_bridge_circuit() -> None:
    arms = [("one", "top", "left"), ("two", "top", "right"), ("three", "left", "foot"), ("four", "right", "foot")]
    pipes = [Pipe(name, start, end, 0, False) for name, start, end in arms]
    pipes += [Pipe("middle", "left", "right", 0, False), Pipe("push", "foot", "top", 1, False)]
    assert not solve_signs(pipes).sure


FED_BY_HOT_GAS = """
format = "heatwright plant 1"
name = "Fed by hot gas"
[pack.pack]
[drive_unit.drive]
[zone.cabin]
[pump]
pump = {}
drive_pump = {}
idle_pump = {}
[compressor]
low = {}
high = {}
[liquid_condenser.warm]
[chiller]
cool = {}
idle = {}
[cabin_condenser.air]
[expansion]
by = { states = ["shut", "throttle"] }
main = { states = ["shut", "throttle"] }
second = { states = ["throttle"] }
[blower.blower]
[lines.coolant]
between = "pump > warm > cool > pump"
own = "drive_pump > drive > drive_pump"
alone = "idle_pump > idle > idle_pump"
[lines.refrigerant]
ring = "@suction > low > @hot"
gas = "@hot > by > @suction"
row = "@hot > warm > main > idle > @suction"
high = "high > air > second > cool > high"
[lines.air]
box = "outside > blower > @box"
in = "@box > air > cabin"
out = "cabin >> outside"
"""


def test_hot_gas_of_one_circuit_feeds_another(tmp_path: Path) -> None:
    # Compressors off: both valves 4 x pumps 8 x blower 2 = 64 settings, modes: drive unit stirred 2 x blown 2.
    # On, both: pump, blower, both valves throttling, other pumps 4 settings, drive unit stirred or not 2 modes.
    # One alone: no sink, or no source; without hot gas the idle chiller, with nothing to give, would send liquid back.
    file = tmp_path / "fed.plant.toml"
    file.write_text(FED_BY_HOT_GAS, encoding="utf-8")
    plant = load_plant(file)
    walked = walk(plant)
    assert (walked.combinations, walked.combinations - walked.illegal, len(walked.states)) == (256, 68, 6)
    must_agree(plant, walked)
