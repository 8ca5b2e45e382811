"""Which needs a state serves."""

from mode_states import plant, sides, state

from heatwright.modes.model import State
from heatwright.modes.moves import moves_of
from heatwright.modes.needs import NEEDS, needs_of


def served(letter: str, one: State) -> set[str]:
    found = needs_of(sides(plant(letter), one), moves_of(sides(plant(letter), one))[0])
    assert found <= set(NEEDS)
    return set(found)


def test_nothing_serves_nothing() -> None:
    assert served("a", State()) == set()
    assert served("a", state(feed="cabin=fresh")) == set()
    assert served("c", state("pack")) == set()


def test_a_warm_drive_unit_alone_is_no_help_when_all_is_cold() -> None:
    assert served("d", state("drive pack")) == {"drive heat used", "pack warmed"}
    assert served("d", state("drive drive.loss pack")) == {
        "drive heat used",
        "pack warmed",
        "pack warmed when all is cold",
    }


def test_pack_cooled_by_refrigerant_or_by_air() -> None:
    assert served("c", state("pack chiller", hot="condenser", cold="chiller")) == {
        "pack cooled below air",
        "heat put outside",
    }
    assert served("d", state("pack drive radiator")) == {
        "drive unit cooled",
        "drive heat used",
        "pack cooled by air",
        "pack warmed",
        "heat put outside",
    }


def test_drying_and_rewarming() -> None:
    cooled = state(hot="condenser", cold="evaporator", air=("evaporator > cabin",), feed="cabin=fresh")
    assert served("a", cooled) == {"cabin cooled", "cabin dried", "heat put outside"}
    reheated = state(
        "heater core",
        hot="condenser",
        cold="evaporator",
        air=("evaporator > cabin", "core > cabin < evaporator"),
        feed="cabin=fresh",
    )
    assert served("a", reheated) - served("a", cooled) == {
        "cabin dried and rewarmed",
        "cabin warmed",
        "cabin warmed when all is cold",
    }


def test_a_cooler_core_dries_only_on_a_cold_loop() -> None:
    warm = state("cooler pack", air=("cooler > cabin",), feed="cabin=fresh")
    assert "cabin dried" not in served("f", warm)
    cold = state(
        "cooler chiller",
        "liquid_condenser drive radiator",
        hot="liquid_condenser",
        cold="chiller",
        air=("cooler > cabin",),
        feed="cabin=fresh",
    )
    assert {"cabin dried", "cabin cooled"} <= served("f", cold)


def test_both_warmed_at_once() -> None:
    one = state("pack_heater pack", "heater core", air=("core > cabin",), feed="cabin=fresh")
    assert served("c", one) == {
        "pack warmed",
        "cabin warmed",
        "pack warmed when all is cold",
        "cabin warmed when all is cold",
        "both warmed when all is cold",
    }
