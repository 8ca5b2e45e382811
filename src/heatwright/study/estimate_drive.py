"""Estimates of drive unit, heat pump, coolant and range."""

from __future__ import annotations

import math
from collections.abc import Mapping

from heatwright.study.estimate import Estimate, Input, Side, Worked, impossible
from heatwright.study.estimate_pack import celsius

LITRES_12 = 12.0e-3 / 60.0
_FLOW = Input("flow", "L/min", "10 L/min", "coolant flow", 0.0, above=True)
_GLYCOL = Input("glycol", "%", "50 %", "ethylene glycol in the coolant, by mass", 0.30, 0.60)


def drive_waste(v: Mapping[str, float]) -> Worked:
    """Return the least loss of the drive unit at a steady speed on the level."""
    from heatwright.physics import drive_map, motor, road

    machine = motor.Machine()
    density = road.air_density_kg_per_m3(road.SEA_LEVEL_PA, v["ambient"], 0.0)
    crr = road.rolling_coefficient(v["rolling"], v["ambient"], 0.006, 0.0, 0.2)
    force_n = road.road_force_n(v["speed"], 0.0, v["mass"], 1.04, v["drag-area"], density, crr, 0.0, 0.0)
    behind_nm, omega = road.motor_side(force_n, v["speed"], v["wheel"], v["gear"])
    if omega > machine.omega_max_rad_per_s:
        top_rpm = machine.omega_max_rad_per_s * 30.0 / math.pi
        most = machine.omega_max_rad_per_s * v["wheel"] / v["gear"] * 3.6
        raise impossible(
            "--speed", f"beyond the motor's {top_rpm:.0f} rpm", f"at most {most:.0f} km/h with this wheel and gear"
        )
    shaft_nm = drive_map.motor_torque_nm(behind_nm, omega, v["oil"])
    if shaft_nm > float(motor.torque_max_nm(machine, omega)):
        raise impossible("--speed", f"{shaft_nm:.0f} N m wanted, more than the motor has", "less speed, mass or drag")
    i_d_a, i_q_a = motor.least_loss_currents_a(machine, shaft_nm, omega, v["winding"])
    copper, iron, mechanical, inverter = (
        float(one) for one in motor.losses_w(machine, i_d_a, i_q_a, omega, v["winding"])
    )
    gear = drive_map.gear_loss_w(omega, shaft_nm, v["oil"])
    sides = (
        Side("motor", copper + iron + mechanical, "W", "copper, iron and friction, currents of least loss"),
        Side("inverter", inverter, "W", "of it in the inverter"),
        Side("gear-loss", gear, "W", "of it in gear and oil"),
        Side("wheels", force_n * v["speed"], "kW", "power at the wheels, on the level"),
        Side("motor-speed", omega / (2.0 * math.pi), "rpm", "speed × gear / wheel"),
    )
    return Worked(copper + iron + mechanical + inverter + gear, sides)


def drive_heat(v: Mapping[str, float]) -> Worked:
    """Return the copper loss of a standing motor fed with a current along its magnet axis, which makes no torque."""
    from dataclasses import replace

    from heatwright.physics import motor

    machine = replace(motor.Machine(), r_ohm=v["resistance"])
    copper, _, _, inverter = (float(one) for one in motor.losses_w(machine, -v["current"], 0.0, 0.0, v["winding"]))
    notes: tuple[str, ...] = ()
    if v["current"] > machine.i_heat_a:
        notes = (f"Above {machine.i_heat_a:g} A peak the inverter's hot spots allow this for seconds only.",)
    sides = (
        Side("warm-resistance", float(motor.resistance_ohm(machine, v["winding"])), "mohm", "of a phase, winding warm"),
        Side("inverter", inverter, "W", "lost in the inverter as well"),
        Side("battery", copper + inverter, "W", "drawn from the battery, all of it heat"),
    )
    return Worked(copper, sides, notes)


def heat_pump_cop(v: Mapping[str, float]) -> Worked:
    """Return the heating coefficient of performance of a real heat pump between two temperatures."""
    lift_k = v["hot"] - v["cold"]
    if lift_k <= 0.0:
        raise impossible(
            "--hot", "not above --cold: there is nothing to lift, a fan or pump would do", "--hot above --cold"
        )
    evaporating_k, condensing_k = v["cold"] - v["approach-cold"], v["hot"] + v["approach-hot"]
    inner = condensing_k / (condensing_k - evaporating_k)
    carnot = v["hot"] / lift_k
    cop = v["quality"] * inner
    if cop < 1.0:
        raise impossible(
            "--quality", f"a coefficient of {cop:.2f}, less than a heater has", "a better quality or less lift"
        )
    sides = (
        Side("carnot", carnot, "1", "bound of any machine between the two temperatures, hot / (hot − cold) in kelvin"),
        Side("evaporating", evaporating_k, "K", "cold − approach-cold, absolute"),
        Side("condensing", condensing_k, "K", "hot + approach-hot, absolute"),
        Side("cop-cooling", cop - 1.0, "1", "of the same machine used to cool, no loss to its surroundings"),
    )
    return Worked(cop, sides, ("Fans, pumps and frost are left out.",))


def coolant_rise(v: Mapping[str, float]) -> Worked:
    """Return the temperature rise of coolant that takes up a heat."""
    density, cp = _coolant(v["coolant"], v["glycol"])
    flow = v["flow"] * density
    sides = (
        Side("mass-flow", flow, "kg/s", "of coolant"),
        Side("specific-heat", cp, "J/kg K", "of the coolant at its inlet temperature"),
        Side("outlet", v["coolant"] + v["heat"] / (flow * cp), "degC", "coolant + rise"),
    )
    return Worked(v["heat"] / (flow * cp), sides)


def radiator_heat(v: Mapping[str, float]) -> Worked:
    """Return the heat a cross-flow radiator gives to air."""
    from heatwright.physics import exchange, front_air, road
    from heatwright.physics.moist_air import CP_AIR_J_PER_KG_K

    density, cp = _coolant(v["coolant"], v["glycol"])
    c_coolant = v["flow"] * density * cp
    air_density = road.air_density_kg_per_m3(road.SEA_LEVEL_PA, v["air"], 0.0)
    c_air = front_air.core_flow_kg_per_s(v["air-speed"], v["face"], air_density) * CP_AIR_J_PER_KG_K
    film_air = front_air.power_law(v["air-side"], v["air-speed"], 3.0, 0.55)
    film_coolant = front_air.power_law(v["coolant-side"], v["flow"], LITRES_12, 0.75)
    ua = front_air.radiator_w_per_k(film_air, film_coolant, 0.0)
    conductance = exchange.exchange_conductance(exchange.CROSS_UNMIXED, ua, c_coolant, c_air)
    heat = conductance * (v["coolant"] - v["air"])
    sides = (
        Side("ua", ua, "W/K", "conductance of the core at these flows"),
        Side("effectiveness", conductance / min(c_coolant, c_air), "1", "both streams unmixed"),
        Side("smaller-stream", min(c_coolant, c_air), "W/K", "smaller capacity rate of coolant and air"),
        Side("coolant-out", v["coolant"] - heat / c_coolant, "degC", "coolant leaving"),
        Side("air-out", v["air"] + heat / c_air, "degC", "air leaving"),
    )
    return Worked(heat, sides, ("Below zero: the coolant takes up heat.",) if heat < 0.0 else ())


def _coolant(t_k: float, glycol: float) -> tuple[float, float]:
    """Return (density [kg/m3], specific heat [J/kgK]) of the coolant."""
    import numpy as np

    from heatwright.physics import coolant

    fit = coolant.coolant_fit(glycol)
    return coolant.density(t_k, fit, np.uint64(0)), coolant.heat_capacity(t_k, fit, np.uint64(0))


def range_loss(v: Mapping[str, float]) -> Worked:
    """Return the range lost to a steady cabin load."""
    electric_w = v["load"] / v["cop"]
    without_m = v["energy"] / v["consumption"]
    with_m = v["energy"] / (v["consumption"] + electric_w / v["speed"])
    sides = (
        Side("range-without", without_m, "km", "energy / consumption"),
        Side("range-with", with_m, "km", "with the load"),
        Side("range-share", 1.0 - with_m / without_m, "%", "of the range is lost"),
        Side("extra-use", electric_w / v["speed"], "kWh/100 km", "load / cop / speed"),
        Side("extra-share", electric_w / v["speed"] / v["consumption"], "%", "more use per distance"),
    )
    return Worked(without_m - with_m, sides)


ESTIMATES = (
    Estimate(
        "drive-waste",
        "Heat the drive unit makes at a steady speed, at its least losses",
        "W",
        "waste = {motor} + {inverter} + {gear-loss}",
        (
            Input("speed", "km/h", "100 km/h", "steady, on the level", 0.0, above=True),
            celsius("ambient", "23 degC", "air outside, at sea level"),
            Input("mass", "kg", "1900 kg", "car with its load", 0.0, above=True),
            Input("drag-area", "m2", "0.60 m2", "drag coefficient × frontal area", 0.0, above=True),
            Input("rolling", "1", "0.0085", "rolling coefficient, warm tyres at 25 degC", 0.0),
            Input("wheel", "m", "0.335 m", "rolling radius", 0.0, above=True),
            Input("gear", "1", "9.5", "motor turns per wheel turn", 0.0, above=True),
            celsius("winding", "80 degC", "motor winding"),
            celsius("oil", "60 degC", "gear oil"),
        ),
        drive_waste,
    ),
    Estimate(
        "drive-heat",
        "Heat made on purpose in a standing motor's winding",
        "W",
        "heat = 1.5 × {warm-resistance} × {current}²",
        (
            Input("current", "A", "450 A", "peak, along the magnet axis: no torque", 0.0),
            Input("resistance", "mohm", "8 mohm", "of a phase at 20 degC", 0.0, above=True),
            Input("winding", "degC", "20 degC", "winding, at most 180 degC", 213.15, 453.15),
        ),
        drive_heat,
    ),
    Estimate(
        "heat-pump-cop",
        "Heating COP of a heat pump between two temperatures",
        "1",
        "cop = {quality} × {condensing} / ({condensing} − {evaporating})",
        (
            celsius("cold", "-10 degC", "where the heat comes from, as the air outside"),
            celsius("hot", "45 degC", "where the heat goes, as the air blown into the cabin"),
            Input("approach-cold", "K", "10 K", "refrigerant evaporates so far below --cold", 0.0, 100.0),
            Input("approach-hot", "K", "3 K", "refrigerant condenses so far above --hot", 0.0, 100.0),
            Input("quality", "%", "50 %", "share of Carnot inside the machine, 40 to 60 % usual", 0.0, 1.0, True),
        ),
        heat_pump_cop,
    ),
    Estimate(
        "coolant-rise",
        "Temperature rise of coolant that takes up heat",
        "K",
        "rise = {heat} / ({mass-flow} × {specific-heat})",
        (
            Input("heat", "kW", "5 kW", "taken up by the coolant", 0.0),
            _FLOW,
            celsius("coolant", "20 degC", "coolant at the inlet"),
            _GLYCOL,
        ),
        coolant_rise,
    ),
    Estimate(
        "radiator-heat",
        "Heat a radiator gives to air",
        "kW",
        "heat = {effectiveness} × {smaller-stream} × ({coolant} − {air})",
        (
            celsius("coolant", "60 degC", "coolant entering"),
            celsius("air", "20 degC", "air entering, at sea level"),
            Input("flow", "L/min", "12 L/min", "coolant flow", 0.0, above=True),
            Input("air-speed", "m/s", "2.5 m/s", "at the core's face, about 0.12 of the car's speed", 0.0, above=True),
            Input("face", "m2", "0.27 m2", "face of the core", 0.0, above=True),
            Input("air-side", "W/K", "900 W/K", "of the air side at 3 m/s; goes with speed^0.55", 0.0, above=True),
            Input("coolant-side", "W/K", "2600 W/K", "coolant side at 12 L/min; goes with flow^0.75", 0.0, above=True),
            _GLYCOL,
        ),
        radiator_heat,
    ),
    Estimate(
        "range-loss",
        "Range lost to heating or cooling the cabin",
        "km",
        "loss = {energy} / {consumption} − {energy} / ({consumption} + {load} / {cop} / {speed})",
        (
            Input("energy", "kWh", "72 kWh", "usable energy of the pack", 0.0, above=True),
            Input("consumption", "kWh/100 km", "15 kWh/100 km", "without the load", 0.0, above=True),
            Input("load", "kW", "3 kW", "heat or cold wanted, steady", 0.0),
            Input("cop", "1", "1", "heat or cold per electric energy; 1 for a resistance heater", 0.0, above=True),
            Input("speed", "km/h", "50 km/h", "mean of the journey, stops included", 0.0, above=True),
        ),
        range_loss,
    ),
)  # fmt: skip
