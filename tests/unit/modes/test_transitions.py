"""From one mode to another, judged by hand on the joined plant (d), the router (e) and the reversing one (b)."""

import random

import pytest
from mode_states import plant, state

from heatwright.modes.lookup import ModeIndex
from heatwright.modes.model import Mode, State
from heatwright.modes.transitions import Leg, between, flowing

JOINED = {"join": "apart", "bypass": "skip", "drive.loss": "off", "pack_pump": "off", "drive_pump": "off"}
REVERSING = {"meter": "throttle", "compressor": "on", "reverser": "cool", "drive_pump": "off"}


def mode(name: str, setting: dict[str, str], one: State | None = None, free: tuple[str, ...] = ()) -> Mode:
    running = frozenset(device for device, state in setting.items() if state == "on")
    return Mode(name, name, "", one or State(), 1, setting, free, running, 1, frozenset(), frozenset(), ())


def signs(letter: str, setting: dict[str, str]) -> dict[str, int]:
    return {flow.edge.branch: flow.sign for flow in flowing(plant(letter), setting)}


def test_what_flows_under_a_setting() -> None:
    assert signs("d", JOINED) == {}
    assert signs("d", {**JOINED, "drive_pump": "on"}) == {
        "drive_leg/1": 1,
        "drive_leg/2": 1,
        "skip": 1,
        "drive_home": 1,
    }
    assert signs("d", {**JOINED, "join": "together", "bypass": "radiator", "drive_pump": "on"}) == {
        "drive_leg/1": 1,
        "drive_leg/2": 1,
        "radiator": 1,
        "drive_home": 1,
        "pack_leg": 1,
    }


def test_a_still_leg_is_swept_in_and_keeps_its_heat_till_then() -> None:
    """The drive unit alone, then both in one loop: the pack's leg stood still."""
    start = mode("apart", {**JOINED, "drive_pump": "on"})
    end = mode("together", {**JOINED, "join": "together", "drive_pump": "on"})
    found = between(plant("d"), start, end)
    assert found.moves == {"join": ("apart", "together")}
    assert found.swept_in == (Leg("pack_leg", ("pack", "chiller"), ("drive",)),)
    assert not found.turns_on + found.turns_off + found.turned + found.left_still + found.mixed
    back = between(plant("d"), end, start)
    assert [leg.line for leg in back.left_still] == ["pack_leg"]
    assert not back.swept_in


def test_circuits_that_flowed_apart_mix() -> None:
    start = mode("apart", {**JOINED, "drive_pump": "on", "pack_pump": "on"})
    end = mode("together", {**JOINED, "join": "together", "drive_pump": "on"})
    found = between(plant("d"), start, end)
    assert found.turns_off == ("pack_pump",)
    assert found.mixed == ((("chiller", "pack"), ("drive",)),)
    assert not found.swept_in
    assert between(plant("d"), end, start).mixed == ()


def test_actuators_that_do_not_matter_stay() -> None:
    start = mode("start", {**JOINED, "bypass": "radiator"})
    end = mode("end", {**JOINED, "pack_pump": "on"}, free=("bypass",))
    found = between(plant("d"), start, end)
    assert found.moves == {}
    assert found.turns_on == ("pack_pump",)


def test_the_compressor_stops_where_an_exchanger_changes_sides() -> None:
    cool = mode("cool", REVERSING, state(hot="outdoor_coil", cold="cabin_coil"))
    heat = mode("heat", {**REVERSING, "reverser": "heat"}, state(hot="cabin_coil", cold="outdoor_coil"))
    assert between(plant("b"), cool, heat).stops == {
        "compressor": "cabin_coil turns from cold to hot, outdoor_coil turns from hot to cold, reverser moves"
    }
    assert between(plant("b"), cool, mode("rest", {**REVERSING, "compressor": "off"})).stops == {}
    assert between(plant("b"), cool, cool).stops == {}


def test_the_compressor_runs_on_where_only_throttles_move() -> None:
    setting = {"compressor": "on", "cabin_exv": "throttle", "chill_exv": "shut", "gas_exv": "shut", "router": "summer"}
    cabin = mode("cabin", setting, state(hot="cabin_condenser", cold="evaporator"))
    both = mode("both", {**setting, "chill_exv": "throttle"}, state(hot="cabin_condenser", cold="evaporator chiller"))
    found = between(plant("e"), cabin, both)
    assert found.stops == {}
    assert found.moves == {"chill_exv": ("shut", "throttle")}


@pytest.mark.parametrize("letter", ["c", "d", "e"])
def test_the_setting_afterwards_is_the_second_mode(letter: str) -> None:
    """Actuators that do not matter may all stay at once, wherever they stood."""
    index = ModeIndex(plant(letter))
    draw = random.Random(4)
    for _ in range(60):
        start, end = draw.choices(index.atlas.modes, k=2)
        seen = index.look(between(plant(letter), start, end).setting)
        assert seen.mode is not None, seen.reason
        assert seen.mode.id == end.id
