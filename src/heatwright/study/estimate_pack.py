"""Estimates of the traction pack: heat stored, time to warm, heat lost while parked, heat made while charging."""

from __future__ import annotations

import math
from collections.abc import Mapping

from heatwright.study.estimate import Estimate, Input, Side, Worked, impossible

COLDEST_K, HOTTEST_K = 213.15, 373.15


def celsius(name: str, default: str, about: str, high_k: float = HOTTEST_K) -> Input:
    """Return an input for a temperature from -60 degC to 100 degC or `high_k`."""
    return Input(name, "degC", default, about, COLDEST_K, high_k)


PACK = (
    Input("energy", "kWh", "75 kWh", "gross energy of the pack", 0.0, above=True),
    Input("density", "Wh/kg", "240 Wh/kg", "energy per mass of the cells alone, 230 to 270 usual", 0.0, above=True),
    Input("specific-heat", "J/kg K", "1000 J/kg K", "of the cells, 830 to 1130 by chemistry", 0.0, above=True),
    Input("structure", "1", "0.47", "mass of housing, plates and busbars per mass of cells; 0 for bare cells", 0.0),
    Input("plate-coolant", "1", "0.026", "mass of coolant in the plates per mass of cells", 0.0),
)


def pack_j_per_k(v: Mapping[str, float]) -> tuple[float, float]:
    """Return (heat capacity of the whole pack [J/K], mass of its cells [kg])."""
    from heatwright.physics.pack import heat_capacity_j_per_k

    cells_kg = v["energy"] / v["density"]
    rest = heat_capacity_j_per_k(0.0, v["structure"] * cells_kg, v["plate-coolant"] * cells_kg)
    return cells_kg * v["specific-heat"] + rest, cells_kg


def _capacity_side(value: float) -> Side:
    return Side("heat-capacity", value, "kJ/K", "of the whole pack: cells, structure at 750 and coolant at 3300 J/kg K")


def pack_heat(v: Mapping[str, float]) -> Worked:
    """Return the heat a pack takes up between two temperatures."""
    capacity, cells_kg = pack_j_per_k(v)
    rise_k = v["to"] - v["from"]
    sides = (
        _capacity_side(capacity),
        Side("cells-mass", cells_kg, "kg", "energy / density"),
        Side("cells-heat", cells_kg * v["specific-heat"] * rise_k, "kWh", "the part of it in the cells"),
    )
    return Worked(capacity * rise_k, sides, ("Below zero: heat given up.",) if rise_k < 0.0 else ())


def warm_up_s(capacity: float, loss: float, power: float, rise_k: float) -> float:
    """Return the time a lumped body takes to rise [s], -C/G ln(1 - G dT / P); P net of losses at the start."""
    if loss * rise_k < 1e-9 * power:
        return capacity * rise_k / power
    return -capacity / loss * math.log1p(-loss * rise_k / power)


def pack_warm_up(v: Mapping[str, float]) -> Worked:
    """Return the time to warm a pack at a steady power."""
    capacity, _ = pack_j_per_k(v)
    rise_k = v["to"] - v["from"]
    if rise_k < 0.0:
        raise impossible("--to", "a heater does not cool the pack", "--to not below --from")
    power = v["power"] - v["loss"] * (v["from"] - v["ambient"])
    if v["loss"] * rise_k >= power:
        reach = v["ambient"] + v["power"] / v["loss"] - 273.15
        raise impossible("--power", f"the pack settles at {reach:.1f} degC and never gets there", "more power")
    time_s = warm_up_s(capacity, v["loss"], power, rise_k)
    formula = "" if v["loss"] > 0.0 else "time = {heat-capacity} × ({to} − {from}) / {power}"
    sides = (
        _capacity_side(capacity),
        Side("heat", v["power"] * time_s, "kWh", "brought in until then"),
        Side("stored", capacity * rise_k, "kWh", "of it still in the pack"),
    )
    return Worked(time_s, sides, formula=formula)


def pack_parked(v: Mapping[str, float]) -> Worked:
    """Return the heat a parked pack loses in some hours."""
    from heatwright.physics.pack import underside_w_per_k

    capacity, _ = pack_j_per_k(v)
    ua = underside_w_per_k(v["underside"], 0.0) + v["floor"]
    end_k = v["ambient"] + (v["from"] - v["ambient"]) * math.exp(-v["time"] * ua / capacity)
    sides = [
        _capacity_side(capacity),
        Side("end", end_k, "degC", "temperature after the time"),
    ]
    if ua > 0.0:
        sides.append(Side("time-constant", capacity / ua, "h", "until 63 % of the difference is gone"))
    notes = ("Below zero: the pack takes up heat from outside.",) if v["from"] < v["ambient"] else ()
    return Worked(capacity * (v["from"] - end_k), tuple(sides), notes)


def charge_heat(v: Mapping[str, float]) -> Worked:
    """Return the heat a charging current makes in the pack's resistance."""
    from heatwright.physics.pack import heat_w, resistance_ohm

    ohm = resistance_ohm(v["pack"], v["charge"], v["resistance"], 0.0, 25.0e3, 0.0, 40.0e3)
    current_a = v["power"] / v["voltage"]
    heat = heat_w(-current_a, ohm, v["pack"], 0.0)
    if heat >= v["power"]:
        raise impossible("--power", "more heat than the power put in", "a smaller power or resistance, or more volts")
    sides = (
        Side("current", current_a, "A", "power / voltage"),
        Side("warm-resistance", ohm, "mohm", "resistance at this temperature and charge (Arrhenius, 25 kJ/mol)"),
        Side("share", heat / v["power"], "%", "of the power put in"),
    )
    return Worked(heat, sides, ("The reversible heat of the cells is left out.",))


ESTIMATES = (
    Estimate(
        "pack-heat",
        "Heat a pack stores between two temperatures",
        "kWh",
        "heat = {energy} / {density} × ({specific-heat} + {structure} × 750 J/kg K + {plate-coolant} × 3300 J/kg K)"
        " × ({to} − {from})",
        (
            *PACK,
            celsius("from", "10 degC", "temperature at the start"),
            celsius("to", "30 degC", "temperature at the end"),
        ),
        pack_heat,
    ),
    Estimate(
        "pack-warm-up",
        "Time to warm a pack at a steady power",
        "min",
        "time = −{heat-capacity} / {loss}"
        " × ln(1 − {loss} × ({to} − {from}) / ({power} − {loss} × ({from} − {ambient})))",
        (
            *PACK,
            celsius("from", "-10 degC", "temperature at the start"),
            celsius("to", "20 degC", "temperature wanted"),
            Input("power", "kW", "7 kW", "heat that reaches the pack", 0.0, above=True),
            Input("loss", "W/K", "20 W/K", "from the pack to outside, driving in town", 0.0),
            celsius("ambient", "-10 degC", "air outside"),
        ),
        pack_warm_up,
    ),
    Estimate(
        "pack-parked",
        "Heat a parked pack loses",
        "kWh",
        "heat = {heat-capacity} × ({from} − {ambient})"
        " × (1 − exp(−{time} × ({underside} + {floor}) / {heat-capacity}))",
        (
            *PACK,
            celsius("from", "25 degC", "temperature when parked"),
            celsius("ambient", "-10 degC", "air outside, and a cabin as cold"),
            Input("time", "h", "12 h", "parked", 0.0),
            Input("underside", "W/K", "10 W/K", "from the pack's underside to outside, 6 to 18 usual", 0.0),
            Input("floor", "W/K", "6 W/K", "from the pack to the cabin floor, 3 to 12 usual", 0.0),
        ),
        pack_parked,
    ),
    Estimate(
        "charge-heat",
        "Heat made in the pack by charging",
        "kW",
        "heat = ({power} / {voltage})² × {warm-resistance}",
        (
            Input("power", "kW", "150 kW", "power of the station, at the pack's terminals", 0.0, above=True),
            Input("voltage", "V", "350 V", "of the pack while it charges", 0.0, above=True),
            Input("resistance", "mohm", "70 mohm", "of the pack, 10 s, at 25 degC and half charge", 0.0, above=True),
            celsius("pack", "25 degC", "temperature of the pack"),
            Input("charge", "%", "50 %", "state of charge", 0.0, 1.0),
        ),
        charge_heat,
    ),
)
