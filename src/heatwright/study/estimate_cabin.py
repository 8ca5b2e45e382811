"""Estimates of the cabin: steady loads, fresh air, and what an evaporator must take out of moist air."""

from __future__ import annotations

from collections.abc import Mapping

from heatwright.study.estimate import Estimate, Input, Side, Worked, impossible
from heatwright.study.estimate_pack import celsius
from heatwright.study.estimate_warm import WALL

HOTTEST_AIR_K = 343.15
_FRESH = Input("fresh", "kg/h", "270 kg/h", "outside air into the cabin, leaks included", 0.0)
_HUMIDITY = Input("humidity", "%", "80 %", "relative, of the air outside", 0.0, 1.0)
_PEOPLE = Input("people", "people", "1 person", "aboard", 0.0)


def humidity_ratio(t_k: float, relative: float) -> float:
    """Return the humidity ratio of air at sea level [kg/kg] from its relative humidity [-]."""
    from heatwright.physics import moist_air
    from heatwright.physics.road import SEA_LEVEL_PA

    return moist_air.humidity_ratio(relative * moist_air.saturation_pressure(t_k), SEA_LEVEL_PA)


def dry_air_kg_per_s(volume: float, t_k: float, w: float) -> float:
    """Return the dry air in a volume flow [m3/s] of moist air."""
    from heatwright.physics import moist_air
    from heatwright.physics.road import SEA_LEVEL_PA

    return volume * moist_air.density(t_k, w, SEA_LEVEL_PA) / (1.0 + w)


def cabin_heating(v: Mapping[str, float]) -> Worked:
    """Return the steady heat that keeps a cabin warm."""
    from heatwright.physics import cabin, moist_air

    w = humidity_ratio(v["ambient"], v["humidity"])
    walls = v["wall"] * (v["cabin"] - v["ambient"])
    air = v["fresh"] / (1.0 + w) * (moist_air.enthalpy(v["cabin"], w) - moist_air.enthalpy(v["ambient"], w))
    people = cabin.people_w(v["people"], cabin.SENSIBLE_W, cabin.LATENT_W)[0]
    sides = (
        Side("walls", walls, "W", "wall × (cabin − ambient)"),
        Side("air", air, "W", "to warm the fresh air and its vapour from ambient to cabin"),
        Side("people-heat", people, "W", "70 W each, not to be supplied"),
    )
    load = walls + air - people
    return Worked(load, sides, ("Below zero: no heating is needed.",) if load < 0.0 else ())


def cabin_cooling(v: Mapping[str, float]) -> Worked:
    """Return the steady load of an evaporator that keeps a cabin cool."""
    from heatwright.physics import cabin, moist_air

    w_out = humidity_ratio(v["ambient"], v["humidity"])
    w_in = humidity_ratio(v["cabin"], v["cabin-humidity"])
    dry = v["fresh"] / (1.0 + w_out)
    sensible_w, latent_w, _, _ = cabin.people_w(v["people"], cabin.SENSIBLE_W, cabin.LATENT_W)
    walls = v["wall"] * (v["ambient"] - v["cabin"])
    air = dry * (moist_air.enthalpy(v["ambient"], w_out) - moist_air.enthalpy(v["cabin"], w_out))
    carried = dry * (moist_air.enthalpy(v["cabin"], w_out) - moist_air.enthalpy(v["cabin"], w_in))
    moisture = max(carried + latent_w, 0.0)
    sides: tuple[Side, ...] = (
        Side("walls", walls, "W", "wall × (ambient − cabin)"),
        Side("people-heat", sensible_w, "W", "70 W each"),
        Side("air", air, "W", "to cool the fresh air from ambient to cabin"),
        Side("moisture", moisture, "W", "to condense what people and fresh air bring above cabin-humidity"),
    )
    load = walls + v["sun"] + sensible_w + air + moisture
    drying, settled, w_settled = _moisture_at_the_outlet(v, dry, w_out, w_in)
    sides = (
        *sides,
        Side("while-drying", load - moisture + drying, "W", "at first: cabin-humidity inside, saturated at outlet"),
        Side("settled", load - moisture + settled, "W", "once the cabin holds no more water than outlet leaves it"),
        Side("settled-moisture", w_settled, "g/kg", "water in the cabin's air by then"),
    )
    notes = [] if load >= 0.0 else ["Below zero: no cooling is needed."]
    if carried + latent_w < 0.0:
        notes.append("The outside air is dry enough: the cabin stays below cabin-humidity and nothing condenses.")
    return Worked(load, sides, tuple(notes))


def _moisture_at_the_outlet(
    v: Mapping[str, float], dry: float, w_out: float, w_in: float
) -> tuple[float, float, float]:
    """Return (heat to condense at first [W], once settled [W], humidity ratio then) with saturated air at the outlet.

    Settled, water in is water out: w = w_outlet + people / blown, whatever the share of fresh air.
    """
    from heatwright.physics import cabin, moist_air

    blown = max(v["blown"], v["fresh"]) / (1.0 + w_out)
    w_coil = humidity_ratio(v["outlet"], 1.0)
    mixed = (dry * w_out + (blown - dry) * w_in) / blown
    people = cabin.people_w(v["people"], cabin.SENSIBLE_W, cabin.LATENT_W)[2]
    w_settled = w_coil + people / blown
    first = max(blown * (mixed - w_coil), 0.0)
    then = max(dry * (w_out - w_settled) + people, 0.0)
    return first * moist_air.H_VAPOUR_J_PER_KG, then * moist_air.H_VAPOUR_J_PER_KG, w_settled


def fresh_air(v: Mapping[str, float]) -> Worked:
    """Return the heat that warms a flow of moist outside air."""
    from heatwright.physics import moist_air

    w = humidity_ratio(v["ambient"], v["humidity"])
    dry = dry_air_kg_per_s(v["flow"], v["ambient"], w)
    heat = dry * (moist_air.enthalpy(v["cabin"], w) - moist_air.enthalpy(v["ambient"], w))
    w_in = humidity_ratio(v["cabin"], v["cabin-humidity"])
    sides = (
        Side("dry-air", dry, "kg/h", "of the flow, measured at the state outside"),
        Side("moisture", w, "g/kg", "water in the air outside, per kg of dry air"),
        Side("rise", v["cabin"] - v["ambient"], "K", "cabin − ambient"),
        Side("carried-off", dry * (w_in - w), "g/h", "water the air takes from a cabin at cabin-humidity"),
        Side("latent", dry * (w_in - w) * moist_air.H_VAPOUR_J_PER_KG, "W", "heat bound in that water"),
    )  # fmt: skip
    return Worked(heat, sides, ("Below zero: heat to be taken out.",) if heat < 0.0 else ())


def evaporator(v: Mapping[str, float]) -> Worked:
    """Return the heat an evaporator takes from moist air, and the water that runs off."""
    from heatwright.physics import moist_air
    from heatwright.physics.road import SEA_LEVEL_PA

    if v["out"] > v["in"]:
        raise impossible("--out", "an evaporator does not warm the air", "--out not above --in")
    w_in = humidity_ratio(v["in"], v["humidity"])
    w_out = min(w_in, humidity_ratio(v["out"], 1.0))
    dry = dry_air_kg_per_s(v["flow"], v["in"], w_in)
    water = dry * (w_in - w_out)
    h_in, h_out = moist_air.enthalpy(v["in"], w_in), moist_air.enthalpy(v["out"], w_out)
    t_water = max(v["out"] - moist_air.ZERO_C_K, 0.0)
    total = dry * (h_in - h_out) - water * moist_air.CP_WATER_J_PER_KG_K * t_water
    sensible = dry * (h_in - moist_air.enthalpy(v["out"], w_in))
    sides = (
        Side("dry-air", dry, "kg/h", "of the flow, measured at the state at the inlet"),
        Side("enthalpy-in", h_in, "kJ/kg", "per kg of dry air"),
        Side("enthalpy-out", h_out, "kJ/kg", "saturated, unless the coil stays dry"),
        Side("condensate", water, "kg/h", "water that runs off"),
        Side("drained", water * moist_air.CP_WATER_J_PER_KG_K * t_water, "W", "heat that leaves with the water"),
        Side("sensible", sensible, "W", "of the load, to cool the air and its vapour"),
        Side("latent", total - sensible, "W", "of the load, to condense"),
        Side("dew-point", moist_air.dew_point_k(w_in, SEA_LEVEL_PA), "degC", "of the air at the inlet"),
    )
    notes = [] if water > 0.0 else ["--out is above the dew point: nothing condenses."]
    if v["out"] < 273.15 and water > 0.0:
        notes.append(
            "Below 0 degC the water freezes on the coil: the heat of freezing is left out, and the coil blocks."
        )
    return Worked(total, sides, tuple(notes))


ESTIMATES = (
    Estimate(
        "cabin-heating",
        "Steady heat that keeps a cabin warm",
        "W",
        "load = {walls} + {air} − {people-heat}",
        (
            celsius("ambient", "-10 degC", "air outside", HOTTEST_AIR_K),
            celsius("cabin", "22 degC", "air in the cabin", HOTTEST_AIR_K),
            WALL,
            _FRESH,
            _HUMIDITY,
            _PEOPLE,
        ),
        cabin_heating,
    ),
    Estimate(
        "cabin-cooling",
        "Steady load of the evaporator that keeps a cabin cool",
        "W",
        "load = {walls} + {sun} + {people-heat} + {air} + {moisture}",
        (
            celsius("ambient", "35 degC", "air outside", HOTTEST_AIR_K),
            Input("humidity", "%", "40 %", "relative, of the air outside", 0.0, 1.0),
            celsius("cabin", "24 degC", "air in the cabin", HOTTEST_AIR_K),
            Input("cabin-humidity", "%", "50 %", "relative, held in the cabin", 0.0, 1.0),
            Input("sun", "W", "1000 W", "through the glass", 0.0),
            WALL,
            Input("fresh", "kg/h", "80 kg/h", "outside air into the cabin; the rest goes round", 0.0),
            Input("blown", "kg/h", "400 kg/h", "all air through the evaporator", 0.0, above=True),
            celsius("outlet", "6 degC", "air leaving the evaporator, saturated", HOTTEST_AIR_K),
            Input("people", "people", "2 people", "aboard", 0.0),
        ),
        cabin_cooling,
    ),
    Estimate(
        "fresh-air",
        "Heat that warms fresh air, its moisture included",
        "W",
        "heat = {dry-air} × (1006 J/kg K + {moisture} × 1860 J/kg K) × {rise}",
        (
            Input("flow", "m3/h", "300 m3/h", "of outside air, measured outside", 0.0),
            celsius("ambient", "-20 degC", "air outside, at sea level", HOTTEST_AIR_K),
            _HUMIDITY,
            celsius("cabin", "22 degC", "air in the cabin", HOTTEST_AIR_K),
            Input("cabin-humidity", "%", "30 %", "relative, of the air that leaves the cabin", 0.0, 1.0),
        ),
        fresh_air,
    ),
    Estimate(
        "evaporator",
        "Load of an evaporator and the water it condenses",
        "W",
        "load = {dry-air} × ({enthalpy-in} − {enthalpy-out}) − {drained}",
        (
            Input("flow", "m3/h", "330 m3/h", "of air, measured at the inlet, at sea level", 0.0),
            celsius("in", "30 degC", "air entering", HOTTEST_AIR_K),
            Input("humidity", "%", "50 %", "relative, of the air entering", 0.0, 1.0),
            celsius("out", "8 degC", "air leaving, saturated where it was cooled below its dew point"),
        ),
        evaporator,
    ),
)  # fmt: skip
