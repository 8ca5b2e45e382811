"""What stands in refrigerant lines: compressor, expansion valves, vessels and the coils."""

from __future__ import annotations

from heatwright.plant.parts import (
    FITTED,
    MEMORY,
    NOTE,
    SUM,
    WAS,
    Field,
    Kind,
    choice,
    coolant_side,
    factor,
    mass_and_cost,
    quantity,
    rated,
    words,
)

_COMPRESSOR: tuple[Field, ...] = (
    quantity("displacement", "34 cc/rev", 0.5, 500, "swept volume", by_refrigerant={"R744": "6.8 cc/rev"}),
    quantity("speed", "8500 rpm", 500, 20000, "highest speed", by_refrigerant={"R744": "8000 rpm"}),
    quantity("least_speed", "800 rpm", 50, 10000, "lowest speed it runs at"),
    quantity("ramp", "300 rpm/s", 1, 100000, "quickest rise of speed"),
    quantity("ramp_down", "500 rpm/s", 1, 100000, "quickest fall of speed"),
    quantity("superheat", "5 K", 0, 40, "superheat the expansion valves aim at", by_refrigerant={"R744": "3 K"}),
    quantity("subcooling", "8 K", 0, 40, "subcooling held by the receiver"),
    quantity(
        "suction_least",
        "1.1 bar",
        0.2,
        60,
        "lowest suction pressure, absolute",
        by_refrigerant={"R290": "1.2 bar", "R744": "10 bar"},
    ),
    quantity(
        "suction_least_start",
        "0.6 bar",
        0.1,
        60,
        "lowest suction pressure while starting, absolute; the lower of the two counts",
        MEMORY,
        by_refrigerant={"R290": "0.7 bar", "R744": "7 bar"},
    ),
    quantity("start_allowance", "60 s", 0, 600, "how long after a start that holds", MEMORY),
    quantity("least_on", "60 s", 0, 3600, "least time it runs, whatever the strategy says; limits stop it earlier"),
    quantity("least_off", "120 s", 0, 3600, "least time it stands, whatever the strategy says"),
    quantity(
        "discharge_most",
        "26 bar",
        3,
        200,
        "highest discharge pressure, absolute",
        by_refrigerant={"R744": "125 bar"},
    ),
    quantity(
        "discharge_temperature_most",
        "120 degC",
        50,
        200,
        "highest discharge temperature",
        by_refrigerant={"R290": "110 degC", "R744": "150 degC"},
    ),
    factor("ratio_most", "12", 1.5, 50, "highest pressure ratio"),
    quantity(
        "power_most",
        "4.5 kW",
        0.1,
        50,
        "highest electrical power",
        by_refrigerant={"R290": "5 kW", "R744": "5.5 kW"},
    ),
    factor("efficiency_factor", "1", 0.2, 2, "multiplies the isentropic efficiency: the doubt in one number"),
    factor("loss_to_gas", "70 %", 0, 100, "share of the motor's loss that warms the gas"),
    quantity("shell_loss", "2.5 W/K", 0, 100, "loss of the shell to the outside air"),
    quantity("heat_capacity", "3 kJ/K", 0.1, 100, "metal and oil"),
    choice("exchangers", ("zones", "lumps"), "zones of gas and liquid inside them, or one temperature each"),
    quantity("idle", "10 W", 0, 500, "electronics, while air conditioning is on"),
    quantity("deliberate_loss", "", 0.01, 5, "most heat its motor can make on purpose; left out, it cannot", unit="kW"),
    words("map", "a measured map instead of our efficiency forms, a table of its own: docs/parts/compressor.md"),
    *mass_and_cost("6 kg", "230 USD"),
    NOTE,
    WAS,
)

_EXPANSION: tuple[Field, ...] = (
    words("states", 'its states, the first is the resting one; left out: ["shut", "throttle"]'),
    quantity("opening", "3 mm2", 0.01, 100, "largest flow area", by_refrigerant={"R744": "0.8 mm2"}),
    factor("flow_factor", "0.65", 0.1, 1, "discharge coefficient at that area"),
    quantity("superheat", "", 0, 40, "superheat it aims at; left out, that of the compressor", unit="K"),
    quantity("stroke", "5.6 s", 0.01, 120, "time from shut to open: 500 steps at 90 a second"),
    *mass_and_cost("0.3 kg", "24 USD"),
    NOTE,
    WAS,
)


_INTERNAL: tuple[Field, ...] = (
    factor("effectiveness", "50 %", 0, 95, "heat moved, of what the side of smaller change could take"),
    *mass_and_cost("0.5 kg", "18 USD"),
    NOTE,
    WAS,
)


def _inside(volume: str) -> Field:
    """The volume of an exchanger on the refrigerant's side."""
    return quantity("inside_volume", volume, 0.001, 10, "inside volume, refrigerant's side", MEMORY)


def _vessel(volume: str, mass: str, cost: str, *more: Field) -> tuple[Field, ...]:
    return (
        quantity("volume", volume, 0.01, 20, "inside volume"),
        *more,
        *mass_and_cost(mass, cost),
        NOTE,
        WAS,
    )


def _air_coil(ua: str, at: str, drop: str, capacity: str, mass: str, cost: str) -> tuple[Field, ...]:
    """An exchanger between refrigerant and cabin air; the three kinds differ in their defaults alone."""
    return (
        rated("ua", ua, at, 5, 5000, "conductance from refrigerant to air, dry"),
        factor("air_power", "0.6", 0, 1, "power of the air flow in the conductance"),
        factor("bypass", "2 %", 0, 50, "air that slips past the coil"),
        rated("air_drop", drop, "400 kg/h", 0, 5000, "pressure drop of the air, dry"),
        quantity("heat_capacity", capacity, 0.05, 100, "metal", SUM),
        quantity("holds", "200 g", 0, 5000, "water the fins hold before it drains"),
        _inside("0.35 L"),
        *mass_and_cost(mass, cost),
        NOTE,
        WAS,
    )


_OUTDOOR: tuple[Field, ...] = (
    rated("ua", "600 W/K", "2.5 m/s", 10, 10000, "conductance from refrigerant to air as a condenser"),
    rated("ua_evaporating", "420 W/K", "2.5 m/s", 10, 10000, "the same as an evaporator, dry", follows=("ua", 1)),
    factor("air_power", "0.5", 0, 1, "power of the air speed in the conductance"),
    rated("air_drop", "119 Pa", "2.5 m/s", 0, 5000, "pressure drop of the air, dry"),
    quantity("face_area", "0.25 m2", 0.01, 5, "face towards the wind"),
    quantity("heat_capacity", "3 kJ/K", 0.05, 100, "metal and what it holds"),
    quantity("frost_full", "500 g", 10, 10000, "frost that closes half of the way of the air"),
    factor("melt_kept", "15 %", 0, 100, "melt water that stays on the fins, of that mass"),
    _inside("0.7 L"),
    *mass_and_cost("2.5 kg", "55 USD"),
    NOTE,
    WAS,
)

_CHILLER: tuple[Field, ...] = (
    rated("ua", "700 W/K", "10 L/min, 25 degC", 10, 10000, "conductance from coolant to refrigerant"),
    factor(
        "coolant_share",
        "50 %",
        1,
        99,
        "the coolant's share of the thermal resistance at those conditions",
        FITTED,
    ),
    *coolant_side("3.4 kPa", "3 mm", "3 cm2", "0.4 m", "0.4 L"),
    quantity("heat_capacity", "1.1 kJ/K", 0.05, 100, "metal", SUM),
    _inside("0.25 L"),
    *mass_and_cost("1.2 kg", "48 USD"),
    NOTE,
    WAS,
)

_LIQUID_CONDENSER: tuple[Field, ...] = (
    rated("ua", "900 W/K", "10 L/min, 40 degC", 10, 10000, "conductance from refrigerant to coolant"),
    factor(
        "coolant_share",
        "50 %",
        1,
        99,
        "the coolant's share of the thermal resistance at those conditions",
        FITTED,
    ),
    *coolant_side("3.4 kPa", "3 mm", "3 cm2", "0.5 m", "0.5 L"),
    quantity("heat_capacity", "1.4 kJ/K", 0.05, 100, "metal", SUM),
    _inside("0.35 L"),
    *mass_and_cost("1.5 kg", "50 USD"),
    NOTE,
    WAS,
)

_PLATE: tuple[Field, ...] = (
    words("on", "the body it lies on: a pack", required=True),
    quantity("ua", "1600 W/K", 10, 20000, "conductance from refrigerant to the plate, either way"),
    quantity("to_body", "1200 W/K", 10, 20000, "conductance from the plate to the whole body", SUM),
    quantity("heat_capacity", "8 kJ/K", 0.1, 200, "metal"),
    _inside("0.9 L"),
    *mass_and_cost("9 kg", "110 USD"),
    NOTE,
    WAS,
)

KINDS: tuple[Kind, ...] = (
    Kind(
        "compressor",
        "lifts refrigerant from low to high pressure",
        "mover",
        ("refrigerant",),
        _COMPRESSOR,
        symbol="compressor",
        ordered=(("least_speed", "speed"), ("suction_least", "discharge_most")),
    ),
    Kind("expansion", "throttles refrigerant", "inline", ("refrigerant",), _EXPANSION, symbol="expansion"),
    Kind(
        "outdoor_coil",
        "refrigerant to outside air, either way",
        "exchanger",
        ("refrigerant",),
        _OUTDOOR,
        gives=True,
        takes=True,
        front=True,
        symbol="outdoor_coil",
    ),
    Kind(
        "chiller",
        "refrigerant to coolant, made to cool the coolant",
        "exchanger",
        ("refrigerant", "coolant"),
        _CHILLER,
        symbol="plate_exchanger",
    ),
    Kind(
        "liquid_condenser",
        "refrigerant to coolant, made to warm the coolant",
        "exchanger",
        ("refrigerant", "coolant"),
        _LIQUID_CONDENSER,
        symbol="plate_exchanger",
    ),
    Kind(
        "evaporator",
        "refrigerant to cabin air, made to cool it",
        "exchanger",
        ("refrigerant", "air"),
        _air_coil("180 W/K", "400 kg/h", "90 Pa", "1.4 kJ/K", "1.5 kg", "38 USD"),
        symbol="coil",
    ),
    Kind(
        "cabin_condenser",
        "refrigerant to cabin air, made to warm it",
        "exchanger",
        ("refrigerant", "air"),
        _air_coil("170 W/K", "300 kg/h", "80 Pa", "1.1 kJ/K", "1.2 kg", "33 USD"),
        symbol="coil",
    ),
    Kind(
        "cabin_coil",
        "refrigerant to cabin air, either way",
        "exchanger",
        ("refrigerant", "air"),
        _air_coil("180 W/K", "400 kg/h", "90 Pa", "1.4 kJ/K", "1.5 kg", "38 USD"),
        symbol="coil",
    ),
    Kind(
        "refrigerant_plate",
        "refrigerant to a body it lies on, either way, with no coolant between",
        "exchanger",
        ("refrigerant",),
        _PLATE,
        gives=True,
        takes=True,
        symbol="plate_exchanger",
    ),
    Kind(
        "internal_exchanger",
        "cools the liquid before the valves with the gas behind the evaporators; stands in the suction line",
        "passive",
        ("refrigerant",),
        _INTERNAL,
        symbol="plate_exchanger",
    ),
    Kind(
        "receiver",
        "holds liquid on the high side and fixes subcooling",
        "passive",
        ("refrigerant",),
        _vessel("0.45 L", "0.8 kg", "20 USD"),
        symbol="vessel",
    ),
    Kind(
        "accumulator",
        "holds liquid on the low side and fixes superheat",
        "passive",
        ("refrigerant",),
        _vessel(
            "0.7 L",
            "1.5 kg",
            "40 USD",
            factor(
                "gathers", "30 %", 0, 90, "share of the charge that lies in it as liquid after a long stand", MEMORY
            ),
            quantity("gathering", "2 h", 0.01, 100, "time in which it gathers", MEMORY),
        ),
        symbol="vessel",
    ),
)
