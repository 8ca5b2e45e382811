"""Heat moves and flags of states small enough to judge by hand."""

from dataclasses import replace

import pytest
from mode_states import plant, sides, state

from heatwright.modes.model import Aired, State, Stream
from heatwright.modes.moves import (
    BESIDE_RADIATOR,
    BOUGHT_HEAT,
    CANCELLED,
    FLAGS,
    PARKED_ONLY,
    WASTED_HEAT,
    WASTED_LIFT,
    WAYS,
    moves_of,
)
from heatwright.modes.needs import needs_of
from heatwright.plant.model import Part, Plant


def read(letter: str, one: State) -> tuple[set[str], set[str]]:
    moves, flags = moves_of(sides(plant(letter), one))
    assert {move.way for move in moves} <= set(WAYS)
    return {f"{move.start}>{move.end} {move.way}" for move in moves}, set(flags)


def with_parts(letter: str, parts: dict[str, Part]) -> Plant:
    """A plant with more parts, in no line."""
    return replace(plant(letter), parts={**plant(letter).parts, **parts})


def test_everything_off_moves_nothing_and_is_for_a_parked_car() -> None:
    assert read("a", State()) == (set(), {PARKED_ONLY})


def test_a_radiator_loop() -> None:
    assert read("a", state("drive radiator")) == ({"drive>outside coolant"}, set())


def test_air_conditioning_with_reheat() -> None:
    one = state(
        "drive radiator",
        "heater core",
        hot="condenser",
        cold="evaporator",
        air=("evaporator > cabin", "core > cabin < evaporator"),
        feed="cabin=fresh",
    )
    assert read("a", one) == (
        {
            "drive>outside coolant",
            "electricity>cabin heater",
            "cabin>outside lift",
            "outside>cabin fresh air",
            "cabin>outside fresh air",
        },
        set(),
    )


def test_a_heat_pump_brings_its_work_along() -> None:
    one = state("drive radiator", hot="cabin_coil", cold="outdoor_coil", air=("cabin_coil > cabin",), pads="pack_pad")
    moves, flags = read("b", one)
    assert moves == {
        "drive>outside coolant",
        "outside>cabin lift",
        "electricity>cabin compressor work",
        "electricity>pack heater",
    }
    assert not flags


def test_one_circuit_joins_every_source_to_every_sink_but_itself() -> None:
    """The drive unit only gives; pack and outside give and take."""
    moves, _ = read("d", state("drive pack radiator"))
    assert moves == {
        "drive>pack coolant",
        "drive>outside coolant",
        "pack>outside coolant",
        "outside>pack coolant",
    }


def test_a_lone_body_is_stirred() -> None:
    assert read("d", state("pack", "drive radiator"))[0] == {"pack>its own coolant stir", "drive>outside coolant"}


def test_made_heat_into_the_radiator_alone_is_waste() -> None:
    moves, flags = read("d", state("drive drive.loss radiator"))
    assert moves == {"drive>outside coolant", "electricity>outside deliberate loss"}
    assert flags == {WASTED_HEAT, BESIDE_RADIATOR}


def test_made_heat_that_the_pack_shares_is_no_waste() -> None:
    _, flags = read("d", state("drive drive.loss pack radiator"))
    assert flags == {BESIDE_RADIATOR}


def test_made_heat_that_the_chiller_picks_up_is_bought_heat_lifted() -> None:
    moves, flags = read("d", state("drive drive.loss pack chiller", hot="condenser", cold="chiller"))
    assert moves == {
        "drive>pack coolant",
        "electricity>pack deliberate loss",
        "drive>outside lift",
        "pack>outside lift",
        "electricity>outside lift",
    }
    assert flags == {BOUGHT_HEAT}


def test_chiller_and_condenser_in_one_circuit_cancel() -> None:
    """What is left is the compressor's work, in the pack."""
    moves, flags = read(
        "e", state("drive radiator", "pack chiller liquid_condenser", hot="liquid_condenser", cold="chiller")
    )
    assert moves == {"drive>outside coolant", "electricity>pack compressor work", "electricity>pack self-fed lift"}
    assert flags == {CANCELLED}


def test_cooling_and_warming_one_stream_of_air_is_drying() -> None:
    moves, flags = read(
        "e",
        state(
            "drive radiator",
            hot="cabin_condenser",
            cold="evaporator",
            air=("evaporator > cabin", "cabin_condenser > cabin < evaporator"),
            feed="cabin=recirculated",
        ),
    )
    assert moves == {
        "drive>outside coolant",
        "cabin>cabin drying",
        "electricity>cabin compressor work",
        "electricity>cabin self-fed lift",
    }
    assert not flags


def test_an_inner_return_makes_a_lift_self_fed() -> None:
    air = ("evaporator > cabin < cabin_condenser evaporator", "cabin_condenser > cabin < cabin_condenser evaporator")
    one = state("drive radiator chiller", hot="cabin_condenser", cold="evaporator chiller", air=air, feed="cabin=fresh")
    moves, _ = read("e", one)
    assert "electricity>cabin self-fed lift" in moves
    straight = state(
        "drive radiator chiller",
        hot="cabin_condenser",
        cold="evaporator chiller",
        air=("evaporator > cabin", "cabin_condenser > cabin < evaporator"),
        feed="cabin=fresh",
    )
    assert "electricity>cabin self-fed lift" not in read("e", straight)[0]


def test_one_box_of_air_lifts_nothing_from_left_to_right() -> None:
    """Both zones get air that was cooled and warmed: each is dried, neither pays for the other."""
    one = state(
        "drive radiator",
        hot="cabin_condenser",
        cold="evaporator",
        air=("evaporator > left right", "cabin_condenser > left right < evaporator"),
        feed="left=fresh right=fresh",
    )
    moves, _ = read("e2", one)
    assert {move for move in moves if "lift" in move or "drying" in move} == {
        "left>left drying",
        "right>right drying",
        "electricity>left self-fed lift",
        "electricity>right self-fed lift",
    }


def test_cores_on_a_cold_and_a_hot_loop() -> None:
    """A cooler core gives the cabin's heat to the cold loop, a heater core takes heat for it from the hot one."""
    one = state(
        "cooler chiller drive radiator",
        "core liquid_condenser pack",
        hot="liquid_condenser",
        cold="chiller",
        air=("cooler > cabin", "core > cabin < cooler"),
        feed="cabin=recirculated",
    )
    moves, _ = read("f", one)
    assert moves == {
        "cabin>outside coolant",
        "drive>outside coolant",
        "pack>cabin coolant",
        "cabin>cabin drying",
        "cabin>pack lift",
        "drive>cabin lift",
        "drive>pack lift",
        "outside>cabin lift",
        "outside>pack lift",
        "electricity>cabin compressor work",
        "electricity>pack compressor work",
    }


def test_a_lift_that_ends_where_it_began() -> None:
    one = state("drive radiator liquid_condenser chiller", hot="liquid_condenser", cold="chiller")
    moves, flags = read("e", one)
    assert not {move for move in moves if "lift" in move}
    assert flags == {WASTED_LIFT, CANCELLED}


def test_hot_gas_draws_on_nothing() -> None:
    one = state("drive radiator", hot="cabin_condenser", gas=True, air=("cabin_condenser > cabin",), feed="cabin=fresh")
    assert {"electricity>cabin compressor work", "electricity>cabin self-fed lift"} <= read("e", one)[0]


def test_a_lift_from_a_heater_alone_is_self_fed() -> None:
    moves, flags = read("f", state("booster chiller", "pack liquid_condenser", hot="liquid_condenser", cold="chiller"))
    assert moves == {
        "electricity>pack lift",
        "electricity>pack compressor work",
        "electricity>pack self-fed lift",
    }
    assert flags == {BOUGHT_HEAT, PARKED_ONLY}


def test_a_second_refrigerant_circuit_is_fed_by_the_first() -> None:
    """One lifts from outside into a coolant circuit, the other from there into the cabin: outside reaches the cabin."""
    first = Stream(frozenset({"liquid_condenser"}), frozenset({"outdoor_coil"}), False)
    second = Stream(frozenset({"cabin_coil"}), frozenset({"chiller"}), False)
    car = with_parts("b", {name: plant("f").parts[name] for name in ("liquid_condenser", "chiller")})
    one = State(
        circuits=frozenset({frozenset({"drive", "radiator"}), frozenset({"liquid_condenser", "chiller"})}),
        streams=frozenset({first, second}),
        air=frozenset({Aired("cabin_coil", frozenset({"cabin"}), frozenset())}),
        feed=frozenset({("cabin", "fresh")}),
    )
    moves, flags = moves_of(sides(car, one))
    assert {(move.start, move.end, move.way) for move in moves} == {
        ("drive", "outside", "coolant"),
        ("outside", "cabin", "lift"),
        ("electricity", "cabin", "compressor work"),
        ("outside", "cabin", "fresh air"),
        ("cabin", "outside", "fresh air"),
    }
    assert not flags


def test_air_that_goes_round_warms_the_air_box() -> None:
    one = state(
        "drive radiator",
        hot="cabin_condenser",
        cold="evaporator",
        air=("evaporator < evaporator cabin_condenser", "cabin_condenser < evaporator cabin_condenser"),
    )
    assert read("e", one) == (
        {"drive>outside coolant", "electricity>air box compressor work", "electricity>air box self-fed lift"},
        set(),
    )
    served = needs_of(sides(plant("e"), one), moves_of(sides(plant("e"), one))[0])
    assert served == {"drive unit cooled", "heat put outside"}


def test_a_coolant_exchanger_hands_heat_on_downhill() -> None:
    """Drive unit and pack share no coolant, only plates: the drive unit still warms the pack, and both meet outside."""
    plates = Part("plates", "coolant_exchanger", {}, frozenset(), "")
    car = with_parts("c", {"plates": plates})
    moves, flags = moves_of(sides(car, state("drive radiator plates.a", "pack plates.b")))
    assert {(move.start, move.end, move.way) for move in moves} == {
        ("drive", "pack", "coolant"),
        ("drive", "outside", "coolant"),
        ("pack", "outside", "coolant"),
        ("outside", "pack", "coolant"),
    }
    assert not flags


def test_a_plate_moves_the_heat_of_the_body_it_lies_on() -> None:
    plate = Part("plate", "refrigerant_plate", {"on": "pack"}, frozenset(), "")
    car = with_parts("b", {"plate": plate})
    cooling, _ = moves_of(sides(car, state("drive radiator", hot="outdoor_coil", cold="plate")))
    assert ("pack", "outside", "lift") in cooling
    warming, _ = moves_of(sides(car, state("drive radiator", hot="plate", cold="outdoor_coil")))
    assert {("outside", "pack", "lift"), ("electricity", "pack", "compressor work")} <= warming


def test_a_plate_against_the_packs_own_coolant_cancels() -> None:
    plate = Part("plate", "refrigerant_plate", {"on": "pack"}, frozenset(), "")
    car = with_parts("f", {"plate": plate})
    moves, flags = moves_of(
        sides(car, state("drive radiator", "pack liquid_condenser", hot="liquid_condenser", cold="plate"))
    )
    assert not {move for move in moves if move.way == "lift"}
    assert flags == (CANCELLED,)


@pytest.mark.parametrize("flag", [WASTED_HEAT, WASTED_LIFT])
def test_waste_says_so(flag: str) -> None:
    assert flag.startswith("pure waste")
    assert flag in FLAGS
