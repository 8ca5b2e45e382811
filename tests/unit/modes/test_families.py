"""Families: the same heat moved, whatever else runs."""

from mode_states import plant, sides, state

from heatwright.modes.families import Member, families_of, family_key, family_title
from heatwright.modes.model import State
from heatwright.modes.moves import moves_of


def key(letter: str, one: State) -> tuple:
    return family_key(plant(letter), *moves_of(sides(plant(letter), one)))


def test_air_and_stirring_are_set_aside() -> None:
    first = key("c", state("drive radiator"))
    assert first == key("c", state("drive radiator", "pack", feed="cabin=fresh"))
    assert first != key("c", state())


def test_left_and_right_are_one_family() -> None:
    left = state("drive radiator", air=("heater_left > left",), feed="left=fresh right=fresh")
    right = state("drive radiator", air=("heater_right > right",), feed="left=fresh right=fresh")
    both = state("drive radiator", air=("heater_left > left", "heater_right > right"), feed="left=fresh right=fresh")
    assert key("d", left) == key("d", right) != key("d", both)
    assert family_title(plant("d"), key("d", left)) == ("Coolant from drive to outside; heater for left (or right)")
    assert family_title(plant("d"), key("d", both)) == "Coolant from drive to outside; heater for cabin"


def test_wasted_heat_is_no_move_of_a_family() -> None:
    wasting = key("d", state("drive drive.loss radiator"))
    assert wasting == key("d", state("drive radiator"))
    shared = key("d", state("drive drive.loss radiator pack"))
    assert "electricity>outside deliberate loss" in {f"{m.start}>{m.end} {m.way}" for m in shared}


def test_titles_leave_out_what_goes_without_saying() -> None:
    """A lift into a place brings the compressor's work there: it is not said again."""
    pump = state(hot="cabin_coil", cold="outdoor_coil", air=("cabin_coil > cabin",), feed="cabin=fresh")
    assert family_title(plant("b"), key("b", pump)) == "Heat lifted from outside to cabin"
    assert family_title(plant("b"), ()) == "No heat moved"


def test_families_gather_modes_and_have_ids() -> None:
    states = [state("drive radiator"), state("drive radiator", feed="cabin=fresh"), state()]
    found = families_of(
        plant("a"), [Member(name, *moves_of(sides(plant("a"), one))) for name, one in zip("xyz", states, strict=True)]
    )
    assert [one.modes for one in found] == [("x", "y"), ("z",)]
    assert len({one.id for one in found}) == 2
