"""Titles in plain words, no two alike."""

from mode_states import plant, sides, state

from heatwright.modes.model import State
from heatwright.modes.titles import flows, listed, phrases_of, places, short_titles, titles_of

ZONES = frozenset({"left", "right"})


def title(letter: str, one: State) -> str:
    return titles_of([sides(plant(letter), one)])[one]


def test_words() -> None:
    assert listed(["b_c", "a"]) == "a and b c"
    assert listed(["c", "b", "a"]) == "a, b and c"
    assert listed([]) == ""
    assert places(ZONES, {"left", "right", "electricity"}) == "cabin and made heat"
    assert places(ZONES, {"left"}) == "left"
    assert places(ZONES, {"left"}, {"left": "right", "right": "left"}) == "left (or right)"


def test_flows_are_gathered() -> None:
    pairs = {("drive", "pack"), ("drive", "outside"), ("pack", "outside"), ("outside", "pack")}
    assert flows(ZONES, pairs) == "from drive to outside and pack, between outside and pack"
    assert flows(ZONES, {("drive", "left"), ("pack", "left")}) == "from drive and pack to left"


def test_zones_that_stand_in_the_same_pairs_are_the_cabin() -> None:
    both = {("left", "pack"), ("pack", "left"), ("right", "pack"), ("pack", "right")}
    assert flows(ZONES, both) == "between cabin and pack"
    assert flows(ZONES, both - {("pack", "right")}) == "from right to pack, between left and pack"


def test_sentences() -> None:
    assert title("a", State()) == "Everything off"
    assert title("a", state(feed="cabin=fresh")) == "Fresh air only"
    assert title("a", state("drive radiator", "heater core", air=("core > cabin",), feed="cabin=recirculated")) == (
        "Heater warms cabin; drive to radiator; recirculated air"
    )
    assert title("d", state("drive drive.loss pack radiator")) == "Drive making heat for pack and radiator"
    assert title("d", state("drive", "pack")) == "Drive coolant stirred; pack coolant stirred"
    assert title("d", state("drive pack")) == "Drive to pack"
    assert title("b", state(pads="pack_pad", air=("air_heater > cabin",), feed="cabin=fresh")) == (
        "Air heater on; pack pad on; fresh air"
    )


def test_refrigerant() -> None:
    assert title("d", state("drive pack chiller", hot="condenser", cold="chiller")) == (
        "Heat lifted from drive and pack to outside; drive and pack in one circuit"
    )
    dried = state(
        hot="cabin_condenser",
        cold="evaporator",
        air=("evaporator > cabin", "cabin_condenser > cabin < evaporator"),
        feed="cabin=recirculated",
    )
    assert title("e", dried) == "Compressor's own work warms cabin; air dried; recirculated air"
    gas = state("pack liquid_condenser", hot="liquid_condenser", gas=True)
    assert title("e", gas) == "Hot gas warms pack"


def test_air_that_differs_from_zone_to_zone() -> None:
    assert title("d", state(feed="left=fresh right=recirculated")) == (
        "Fresh air to left, recirculated air to right only"
    )


def test_equal_sentences_are_told_apart_by_what_is_at_work() -> None:
    """The chiller beside its own condenser moves nothing, but it runs."""
    air = ("evaporator > cabin",)
    plain = state("pack liquid_condenser", hot="liquid_condenser", cold="evaporator", air=air, feed="cabin=fresh")
    more = state(
        "pack liquid_condenser chiller", hot="liquid_condenser", cold="evaporator chiller", air=air, feed="cabin=fresh"
    )
    assert phrases_of(sides(plant("e"), plain)) == phrases_of(sides(plant("e"), more))
    found = titles_of([sides(plant("e"), plain), sides(plant("e"), more)])
    assert found[plain] == "Heat lifted from cabin to pack; fresh air"
    assert found[more] == found[plain] + "; with chiller"


def test_the_last_word_is_everything() -> None:
    """States that differ in the order of their air alone are told apart too."""
    one = state("pack radiator", air=("core > cabin < cooler", "cooler > cabin"), feed="cabin=fresh")
    other = state("pack radiator", air=("core > cabin", "cooler > cabin < core"), feed="cabin=fresh")
    found = titles_of([sides(plant("f"), one), sides(plant("f"), other)])
    assert len(set(found.values())) == 2
    assert "core to cabin behind cooler" in found[one]


def test_short_titles_say_what_differs() -> None:
    full = ["Drive to radiator; fresh air", "Drive to radiator; pack coolant stirred", "Drive to radiator"]
    assert short_titles(full) == ["fresh air", "pack coolant stirred", "nothing more"]
    assert short_titles([]) == []
