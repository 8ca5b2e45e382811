"""One mode in full: order of parts, roles, what stands still."""

from atlas_plants import kept

from heatwright.modes.atlas import build_atlas
from heatwright.modes.lookup import ModeIndex
from heatwright.modes.record import record

COLD_MORNING = {
    "router": "pack_warm",
    "pack_pump": "on",
    "drive_pump": "on",
    "compressor": "on",
    "cabin_exv": "throttle",
    "chill_exv": "throttle",
    "blower": "on",
    "temper": "hot",
}


def test_a_cold_morning_of_the_router() -> None:
    plant = kept("e")
    mode = ModeIndex(plant).look(COLD_MORNING).mode
    assert mode is not None
    found = record(plant, mode)
    assert mode.running == {"pack_pump", "drive_pump", "compressor", "blower"}
    assert found.free == ()
    assert found.trim == {"outlets": ("screen", "face", "foot", "screen ~ foot", "face ~ foot")}
    rings = [circuit.walk for circuit in found.circuits if circuit.fluid == "coolant"]
    assert rings == [
        ("drive_pump", "drive", "chiller", "front_pump", "radiator"),
        ("pack_pump", "pack", "liquid_condenser"),
    ]
    (gas,) = [circuit for circuit in found.circuits if circuit.fluid == "refrigerant"]
    assert gas.walk == ()
    assert [leg.parts for leg in gas.legs] == [
        ("cabin_exv", "evaporator"),
        ("chill_exv", "chiller"),
        ("cabin_condenser", "liquid_condenser", "receiver"),
        ("accumulator", "compressor"),
    ]
    assert found.exchangers == {
        "radiator": "active",
        "chiller": "cold side",
        "liquid_condenser": "hot side",
        "cabin_condenser": "hot side",
        "evaporator": "cold side",
    }
    assert found.fed_by == {"cabin": "fresh"}
    assert [(part, after) for part, _, after in found.air_order] == [
        ("evaporator", ()),
        ("cabin_condenser", ("evaporator",)),
    ]
    assert found.still == {}


def test_legs_that_stand() -> None:
    plant = kept("d")
    alone = frozenset({frozenset({"drive", "radiator"})})
    mode = next(mode for mode in build_atlas(plant).modes if mode.state.circuits == alone)
    found = record(plant, mode)
    assert found.still == {"pack_leg": ("pack_pump", "pack", "chiller")}
    assert [circuit.walk for circuit in found.circuits] == [
        (
            "drive_pump",
            "drive",
            "radiator",
        )
    ]
