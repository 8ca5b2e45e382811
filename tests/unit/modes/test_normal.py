"""What is knocked out of a joint state, and which joint states must not be."""

from pathlib import Path

import pytest
from atlas_plants import PLATES, kept, written

from heatwright.modes.fragments import AirPath, Refused
from heatwright.modes.model import Aired, State, Stream
from heatwright.modes.normal import NO_SINK, STRANDED, Joint, Nature
from heatwright.plant.model import Plant


def circuits(*texts: str) -> list[frozenset[str]]:
    return [frozenset(text.split()) for text in texts]


def stream(hot: str, cold: str, gas: bool = False) -> Stream:
    return Stream(frozenset(hot.split()), frozenset(cold.split()), gas)


def blown(*parts: str, zone: str = "cabin") -> AirPath:
    zones = frozenset({zone})
    aired = (Aired(part, zones, frozenset(parts[:place])) for place, part in enumerate(parts))
    return AirPath(frozenset(aired), frozenset({(zone, "fresh")}))


def normal(
    plant: Plant, loops: list[frozenset[str]], streams: list[Stream] | None = None, *air: AirPath
) -> State | Refused:
    return Joint(Nature(plant), loops, streams or [], air).normal()


@pytest.fixture(scope="module")
def router() -> Plant:
    return kept("e")


@pytest.fixture(scope="module")
def secondary() -> Plant:
    return kept("f")


@pytest.fixture
def plates(tmp_path: Path) -> Plant:
    return written(tmp_path, PLATES)


def loops_of(state: State | Refused) -> set[frozenset[str]]:
    assert isinstance(state, State)
    return set(state.circuits)


def test_inert_condenser_is_knocked_out(router: Plant) -> None:
    """The cabin condenser takes the heat; the one in coolant meets a drive unit, which takes none."""
    state = normal(
        router,
        circuits("drive liquid_condenser", "pack chiller"),
        [stream("cabin_condenser liquid_condenser", "chiller")],
        blown("evaporator", "cabin_condenser"),
    )
    assert isinstance(state, State)
    assert state.circuits == set(circuits("drive", "pack chiller"))
    assert state.streams == {stream("cabin_condenser", "chiller")}
    assert state.air == {Aired("cabin_condenser", frozenset({"cabin"}), frozenset())}


@pytest.mark.parametrize(
    ("loops", "one", "reason"),
    [
        (circuits("pack chiller"), stream("liquid_condenser", "chiller"), NO_SINK),
        (circuits("pack chiller", "drive liquid_condenser"), stream("liquid_condenser", "chiller"), NO_SINK),
        (
            circuits("pack liquid_condenser"),
            stream("liquid_condenser", "chiller"),
            "chiller evaporates with nothing flowing past it",
        ),
        (
            circuits("pack liquid_condenser", "chiller"),
            stream("liquid_condenser", "chiller"),
            "chiller evaporates in coolant that has nothing to take heat from",
        ),
        (
            circuits("pack liquid_condenser chiller"),
            stream("liquid_condenser", "chiller evaporator"),
            "evaporator evaporates with nothing flowing past it",
        ),
        (circuits("pack drive.loss"), None, ""),
        (circuits("drive drive.loss"), None, STRANDED),
        (circuits("drive drive.loss chiller", "pack liquid_condenser"), stream("liquid_condenser", "chiller"), ""),
    ],
)
def test_joint_states_that_must_not_be(
    router: Plant, loops: list[frozenset[str]], one: Stream | None, reason: str
) -> None:
    state = normal(router, loops, [one] if one else [])
    assert (state.reason if isinstance(state, Refused) else "") == reason


def test_hot_gas_allows_a_dry_evaporator(router: Plant) -> None:
    state = normal(router, circuits("pack liquid_condenser"), [stream("liquid_condenser", "evaporator", True)])
    assert isinstance(state, State)
    assert state.streams == {stream("liquid_condenser", "", True)}


def round_the_box(*parts: str) -> AirPath:
    """Air that goes round and reaches no zone: every part is upstream of every part."""
    return AirPath(frozenset(Aired(part, frozenset(), frozenset(parts)) for part in parts), frozenset())


def test_air_that_goes_round_takes_heat_and_gives_it_where_something_is_warm(router: Plant) -> None:
    one = stream("cabin_condenser", "evaporator")
    both = normal(router, [], [one], round_the_box("evaporator", "cabin_condenser"))
    assert isinstance(both, State)
    assert both.streams == {one}
    assert normal(router, circuits("pack chiller"), [stream("cabin_condenser", "chiller")],
                  round_the_box("cabin_condenser")) != Refused(NO_SINK)  # fmt: skip
    alone = normal(router, circuits("pack liquid_condenser"), [stream("liquid_condenser", "evaporator")],
                   round_the_box("evaporator"))  # fmt: skip
    assert alone == Refused("evaporator evaporates in air that goes round with nothing to take heat from")


def test_a_core_that_is_warmed_warms_air_that_goes_round(secondary: Plant) -> None:
    air = round_the_box("cooler", "core")
    warmed = circuits("drive core", "radiator cooler")
    assert loops_of(normal(secondary, warmed, [], air)) == set(warmed)
    assert loops_of(normal(secondary, circuits("radiator cooler"), [], round_the_box("cooler"))) == set()


def test_cores_need_air_and_somebody_to_deal_with(secondary: Plant) -> None:
    """The heater core takes from what gives, the cooler core gives to what takes; the drive unit takes nothing."""
    air = blown("cooler", "core")
    assert loops_of(normal(secondary, circuits("drive core"), [], air)) == set(circuits("drive core"))
    assert loops_of(normal(secondary, circuits("drive core"), [])) == set(circuits("drive"))
    assert loops_of(normal(secondary, circuits("drive cooler"), [], air)) == set(circuits("drive"))
    assert loops_of(normal(secondary, circuits("radiator cooler"), [], air)) == set(circuits("radiator cooler"))
    assert loops_of(normal(secondary, circuits("radiator"), [], air)) == set()


def test_a_circuit_reached_through_an_exchanger_counts(plates: Plant) -> None:
    """The pack meets the radiator through two exchangers and the loop between them, which holds nothing itself."""
    every = circuits("pack near.a", "near.b far.a", "far.b radiator drive")
    assert loops_of(normal(plates, every)) == set(circuits("pack near", "near far", "far radiator drive"))


def test_exchangers_that_lead_nowhere_are_inert(plates: Plant) -> None:
    """The middle loop stands, or has nothing behind it, or both sides of an exchanger are in one circuit."""
    assert loops_of(normal(plates, circuits("pack near.a", "far.b radiator drive"))) == set(
        circuits("pack", "radiator drive")
    )
    assert loops_of(normal(plates, circuits("pack near.a", "near.b far.a"))) == set(circuits("pack"))
    assert loops_of(normal(plates, circuits("pack near.a near.b"))) == set(circuits("pack"))
