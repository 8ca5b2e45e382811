"""What stands in air lines or in the wind: blower, fan, doors, air heater, cores."""

from __future__ import annotations

from heatwright.plant.parts import (
    FITTED,
    NOTE,
    SUM,
    WAS,
    Field,
    Kind,
    coolant_side,
    factor,
    mass_and_cost,
    quantity,
    rated,
    words,
)

PARK_KIM = "Park and Kim, Energies 10, 2017, 1494: a 5.5 kW air heater"

_BLOWER: tuple[Field, ...] = (
    quantity("flow", "9 kg/min", 0.1, 100, "air flow at the rated point, full speed"),
    quantity("head", "600 Pa", 10, 5000, "pressure rise at the rated point"),
    quantity("power", "242 W", 1, 5000, "electrical power at the rated point"),
    quantity("idle", "12 W", 0, 200, "electronics, as soon as it runs"),
    factor("power_power", "2.6", 1, 4, "power of the flow in the electrical power"),
    factor("least", "11 %", 0, 100, "lowest speed it runs at"),
    factor("ramp", "10 %", 0.1, 1000, "quickest change of speed a second"),
    quantity("deliberate_loss", "", 0.01, 2, "most heat its motor can make on purpose; left out, it cannot", unit="kW"),
    *mass_and_cost("2 kg", "40 USD"),
    NOTE,
    WAS,
)

_FAN: tuple[Field, ...] = (
    quantity("flow", "0.8 kg/s", 0.01, 20, "air flow through the front, standing car, full speed"),
    quantity("power", "510 W", 1, 5000, "electrical power at full speed"),
    quantity("idle", "10 W", 0, 200, "electronics, as soon as it runs"),
    *mass_and_cost("4 kg", "90 USD"),
    NOTE,
    WAS,
)

_DOOR: tuple[Field, ...] = (
    words("positions", 'the named positions: one = "a-b, c-d"; ports in one group are joined', required=True),
    words("blend", 'positions it may also rest between: "one ~ two", or a list of such'),
    quantity("stroke", "4 s", 0.01, 120, "time from one end to the other"),
    factor("leak", "3 %", 0, 50, "air through a shut port, in per cent of the open flow"),
    rated("air_drop", "20 Pa", "400 kg/h", 0.1, 5000, "pressure drop of an open way"),
    *mass_and_cost("0.3 kg", "8 USD"),
    NOTE,
    WAS,
)

_AIR_HEATER: tuple[Field, ...] = (
    quantity("power", "5.5 kW", 0.05, 50, "highest electrical power", PARK_KIM),
    factor("efficiency", "98 %", 10, 100, "share that reaches the air", PARK_KIM),
    quantity("heat_capacity", "1.4 kJ/K", 0.01, 50, "heating element", SUM),
    rated("to_air", "90 W/K", "300 kg/h", 1, 2000, "conductance from element to air", FITTED),
    quantity("limit", "160 degC", 60, 300, "air temperature at which a self-limiting element gives nothing"),
    quantity("ramp", "1000 W/s", 1, 100000, "quickest change of power"),
    rated("air_drop", "48 Pa", "400 kg/h", 0, 5000, "pressure drop of the air", PARK_KIM),
    *mass_and_cost("1.6 kg", "95 USD", PARK_KIM),
    NOTE,
    WAS,
)


def _core(ua: str, share: str, drop: str, mass: str, cost: str) -> tuple[Field, ...]:
    return (
        rated("ua", ua, "10 L/min, 300 kg/h, 40 degC", 5, 5000, "conductance from coolant to air, dry"),
        factor(
            "coolant_share",
            share,
            1,
            99,
            "the coolant's share of the thermal resistance at those conditions",
            FITTED,
        ),
        factor("air_power", "0.5", 0, 1, "power of the air flow in the air-side conductance"),
        factor("bypass", "2 %", 0, 50, "air that slips past the core"),
        *coolant_side(drop, "1.8 mm", "2.5 cm2", "0.25 m", "0.3 L"),
        rated("air_drop", "60 Pa", "400 kg/h", 0, 5000, "pressure drop of the air, dry"),
        quantity("heat_capacity", "0.8 kJ/K", 0.05, 100, "metal", SUM),
        quantity("holds", "200 g", 0, 5000, "water the fins hold before it drains"),
        *mass_and_cost(mass, cost),
        NOTE,
        WAS,
    )


KINDS: tuple[Kind, ...] = (
    Kind("blower", "moves cabin air", "mover", ("air",), _BLOWER, symbol="blower"),
    Kind("fan", "draws outside air through the front", "mover", (), _FAN, front=True, symbol="fan"),
    Kind("door", "a valve for air", "valve", ("air",), _DOOR, symbol="door"),
    Kind("air_heater", "electric heater in an air line", "heater", ("air",), _AIR_HEATER, symbol="heater"),
    Kind(
        "heater_core",
        "coolant to cabin air; gives heat to air only",
        "exchanger",
        ("coolant", "air"),
        _core("170 W/K", "25 %", "3.9 kPa", "0.9 kg", "25 USD"),
        takes=True,
        symbol="coil",
    ),
    Kind(
        "cooler_core",
        "coolant to cabin air; takes heat from air only",
        "exchanger",
        ("coolant", "air"),
        _core("200 W/K", "30 %", "3.9 kPa", "1.1 kg", "32 USD"),
        gives=True,
        symbol="coil",
    ),
)
