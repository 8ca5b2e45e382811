"""What stands in coolant lines: pumps, valves, radiator, heater, tank, filter."""

from __future__ import annotations

from heatwright.plant.parts import (
    FITTED,
    NOTE,
    SUM,
    WAS,
    Field,
    Kind,
    choice,
    coolant_side,
    count,
    factor,
    mass_and_cost,
    quantity,
    rated,
    words,
)

_PUMP: tuple[Field, ...] = (
    quantity("flow", "19 L/min", 0.5, 200, "flow at the rated point, full speed"),
    quantity("head", "51 kPa", 1, 500, "pressure rise at the rated point"),
    quantity("power", "49 W", 1, 2000, "electrical power at the rated point"),
    quantity("still_head", "", 1, 800, "pressure rise against a shut valve; left out, head / 0.762", unit="kPa"),
    quantity("free_flow", "", 0.5, 500, "flow against no resistance; left out, flow / 0.45", unit="L/min"),
    quantity("idle", "4 W", 0, 100, "electronics, as soon as the pump runs"),
    factor("least", "15 %", 0, 100, "lowest speed it runs at"),
    quantity("ramp", "0.3 1/s", 0.001, 100, "quickest change of speed, in full speeds a second"),
    choice("off", ("passes", "blocks"), "what a standing pump does to the flow of others"),
    rated("off_drop", "6 kPa", "10 L/min, 40 degC", 0, 500, "pressure drop of a standing pump that passes flow"),
    *mass_and_cost("0.7 kg", "35 USD"),
    NOTE,
    WAS,
)

_VALVE: tuple[Field, ...] = (
    words("positions", 'the named positions: one = "a-b, c-d"; ports in one group are joined', required=True),
    words("blend", 'positions it may also rest between: "one ~ two", or a list of such'),
    quantity("stroke", "3 s", 0.01, 120, "time from one end to the other"),
    factor("leak", "1 %", 0, 50, "flow through a shut port, in per cent of the open flow"),
    rated("drop", "2 kPa", "10 L/min, 40 degC", 0.01, 500, "pressure drop of an open way"),
    *mass_and_cost("0.5 kg", "20 USD"),
    NOTE,
    WAS,
)

_SHUTOFF: tuple[Field, ...] = (
    words("states", 'its states, the first is the resting one; left out: ["shut", "open"]'),
    quantity("stroke", "1 s", 0.01, 120, "time from shut to open"),
    rated("drop", "2 kPa", "10 L/min, 40 degC", 0.01, 500, "pressure drop when open, in a coolant line"),
    *mass_and_cost("0.25 kg", "16 USD"),
    NOTE,
    WAS,
)

_RADIATOR: tuple[Field, ...] = (
    rated(
        "ua",
        "670 W/K",
        "12 L/min, 3 m/s, 40 degC",
        10,
        10000,
        "conductance from coolant to air",
        SUM,
    ),
    factor(
        "coolant_share",
        "26 %",
        1,
        99,
        "the coolant's share of the thermal resistance at those conditions",
        SUM,
    ),
    factor("air_power", "0.55", 0, 1, "power of the air speed in the air-side conductance"),
    *coolant_side("3.1 kPa", "2 mm", "10 cm2", "0.65 m", "1.5 L"),
    rated("air_drop", "142 Pa", "3 m/s", 0, 5000, "pressure drop of the air"),
    quantity("face_area", "0.27 m2", 0.01, 5, "face towards the wind"),
    quantity("heat_capacity", "2.7 kJ/K", 0.05, 100, "metal", SUM),
    quantity("frost_full", "500 g", 10, 10000, "frost that closes half of the way of the air"),
    factor("melt_kept", "15 %", 0, 100, "melt water that stays on the fins, of that mass"),
    *mass_and_cost("3 kg", "48 USD"),
    NOTE,
    WAS,
)

_COOLANT_HEATER: tuple[Field, ...] = (
    quantity("power", "7 kW", 0.1, 50, "highest electrical power"),
    factor("efficiency", "97 %", 10, 100, "share that reaches the coolant"),
    quantity("heat_capacity", "2.5 kJ/K", 0.01, 100, "heating element and case"),
    rated("to_coolant", "200 W/K", "10 L/min, 40 degC", 5, 5000, "conductance from element to coolant", FITTED),
    quantity("limit", "75 degC", 20, 120, "coolant temperature up to which full power is given"),
    quantity("stop", "90 degC", 25, 140, "coolant temperature at which power reaches zero"),
    quantity("ramp", "500 W/s", 1, 100000, "quickest change of power"),
    quantity("least_flow", "6 L/min", 0, 100, "flow needed for full power"),
    *coolant_side("2.2 kPa", "3 mm", "4 cm2", "0.3 m", "0.4 L"),
    *mass_and_cost("2.3 kg", "145 USD"),
    NOTE,
    WAS,
)

_COOLANT_EXCHANGER: tuple[Field, ...] = (
    rated("ua", "900 W/K", "10 L/min, 40 degC", 10, 20000, "conductance from coolant to coolant, both at that flow"),
    factor("a_share", "50 %", 1, 99, "side a's share of the thermal resistance at those conditions"),
    *coolant_side("4 kPa", "3 mm", "4 cm2", "0.5 m", "0.4 L"),
    quantity("heat_capacity", "1.4 kJ/K", 0.05, 100, "metal", SUM),
    *mass_and_cost("1.6 kg", "45 USD"),
    NOTE,
    WAS,
)

_PAD: tuple[Field, ...] = (
    words("on", "the body it warms: a pack", required=True),
    quantity("power", "300 W", 1, 20000, "electrical power"),
    factor("efficiency", "95 %", 10, 100, "share that reaches the body"),
    *mass_and_cost("0.5 kg", "20 USD"),
    NOTE,
    WAS,
)

_TANK: tuple[Field, ...] = (
    quantity("volume", "1.5 L", 0.01, 100, "coolant held"),
    quantity("loss", "1 W/K", 0, 100, "loss to the outside air"),
    *mass_and_cost("0.6 kg", "15 USD"),
    NOTE,
    WAS,
)

_FILTER: tuple[Field, ...] = (
    rated("drop", "1 kPa", "10 L/min, 40 degC", 0, 500, "pressure drop in a coolant line"),
    rated("air_drop", "60 Pa", "400 kg/h", 0, 5000, "pressure drop in an air line, new"),
    count("changes", "1 change", 0, 100, "filters used in a car's life"),
    *mass_and_cost("0.3 kg", "8 USD"),
    NOTE,
    WAS,
)

KINDS: tuple[Kind, ...] = (
    Kind(
        "pump",
        "moves coolant",
        "mover",
        ("coolant",),
        _PUMP,
        symbol="pump",
        ordered=(("flow", "free_flow"), ("head", "still_head")),
    ),
    Kind(
        "valve",
        "joins its ports in one of several ways",
        "valve",
        ("coolant", "refrigerant"),
        _VALVE,
        symbol="valve",
    ),
    Kind(
        "shutoff",
        "opens or shuts a line",
        "inline",
        ("coolant", "refrigerant", "air"),
        _SHUTOFF,
        symbol="shutoff",
    ),
    Kind(
        "radiator",
        "coolant to outside air",
        "exchanger",
        ("coolant",),
        _RADIATOR,
        gives=True,
        takes=True,
        front=True,
        symbol="radiator",
    ),
    Kind(
        "coolant_heater",
        "electric heater in a coolant line",
        "heater",
        ("coolant",),
        _COOLANT_HEATER,
        gives=True,
        symbol="heater",
        ordered=(("limit", "stop"),),
    ),
    Kind(
        "coolant_exchanger",
        "coolant to coolant, in counterflow; stands in two lines as NAME.a and NAME.b",
        "exchanger",
        ("coolant",),
        _COOLANT_EXCHANGER,
        gives=True,
        takes=True,
        symbol="plate_exchanger",
        sides=("a", "b"),
    ),
    Kind("pad", "electric mat on a body", "heater", (), _PAD, symbol="pad"),
    Kind("tank", "holds spare coolant; lines may meet in it", "junction", ("coolant",), _TANK, symbol="tank"),
    Kind(
        "filter",
        "cleans coolant or air, at the price of a pressure drop",
        "passive",
        ("coolant", "air"),
        _FILTER,
        symbol="filter",
    ),
)
