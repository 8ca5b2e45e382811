"""Which sensor reads which signal of a plant, and the numbers of its readings."""

from __future__ import annotations

import math

from heatwright.compiler.lower.context import Context
from heatwright.physics.cabin import vent_target_k
from heatwright.plant.model import Plant
from heatwright.sensors import Sensors

PLAIN = {
    "outside.air": "outside_air", "sun": "sun", "speed": "speed", "glass.margin": "glass", "circuit.high": "pressure",
    "circuit.low": "pressure",
}  # fmt: skip
OF_PACK = {"hottest": "pack_cells", "coldest": "pack_cells", "charge": "charge", "coolant": "coolant"}
OF_ZONE = {"air": "cabin_air", "rh": "humidity", "vent": "vent_air"}
OF_DRIVE = {"coolant": "coolant"}
OF_OTHERS = {
    "frost": "frost", "blocked": "blocked", "high": "pressure", "low": "pressure", "coolant": "coolant",
    "air": "vent_air", "wall": "coil_wall",
}  # fmt: skip
KNOWN = ("setpoint", "wanted", "occupied", "plugged", "driving", "occupants", "charging", "prepare")
"""Signals that the car knows as they are; beside them, whether a compressor runs, and the pack's own map."""
OF_MAP = ("on", "charge_best", "charge_hot")
INSIDE = ("winding", "inverter", "oil")
WARM_COOLANT = ("drive_unit", "pack", "chiller", "liquid_condenser", "coolant_heater", "heater_core", "cooler_core")
SHIFT_K = 0.1


def sensor_of(plant: Plant, signal: str) -> str:
    """Return the kind of sensor that reads a signal; "" for what the car knows as it is."""
    if signal in PLAIN:
        return PLAIN[signal]
    name, _, what = signal.partition(".")
    if signal in KNOWN or what in OF_MAP:
        return ""
    part = plant.parts[name]
    of = {"pack": OF_PACK, "zone": OF_ZONE, "drive_unit": OF_DRIVE}.get(part.kind, OF_OTHERS)
    rest = {"zone": "cabin_body", "drive_unit": "drive_inside", "pack": "pack_cells"}.get(part.kind, "coolant")
    if part.kind == "radiator" and what == "wall":
        return "coolant"
    return of.get(what, rest)


def sensor_name(plant: Plant, signal: str) -> str:
    """Return the name of the sensor behind a signal: pressures of the circuit are those of its compressor."""
    name, _, what = signal.partition(".")
    compressors = plant.of_kind("compressor")
    return f"{compressors[0].name}.{what}" if name == "circuit" and compressors else signal


def reading_of(ctx: Context, sensors: Sensors, signal: str) -> list[float]:
    """Return the five numbers of a signal's reading (kernel.sensors)."""
    plant = ctx.plant
    if signal == "vent_target":
        return _of_vent_target(ctx, sensors)
    kind, name = sensor_of(plant, signal), sensor_name(plant, signal)
    one = sensors.of(kind)
    offset = sensors.offset(kind, name) if kind else 0.0
    return [one.lag_s, offset, one.noise, one.smoothing_s, float(sensors.key(name))]


def _of_vent_target(ctx: Context, sensors: Sensors) -> list[float]:
    """Return those of the vent target, which the car works out from cabin air and outside air."""
    air, outside = (sensors.of(kind) for kind in ("cabin_air", "outside_air"))
    middle = vent_target_k(295.15, 295.15, 295.15, 0.0)
    by_air = (vent_target_k(295.15, 295.15 + SHIFT_K, 295.15, 0.0) - middle) / SHIFT_K
    by_outside = (vent_target_k(295.15, 295.15, 295.15 + SHIFT_K, 0.0) - middle) / SHIFT_K
    zone = ctx.plant.of_kind("zone")[0].name
    offset = by_air * sensors.offset("cabin_air", f"{zone}.air")
    offset += by_outside * sensors.offset("outside_air", "outside.air")
    noise = math.hypot(by_air * air.noise, by_outside * outside.noise)
    return [air.lag_s, offset, noise, air.smoothing_s, float(sensors.key("vent_target"))]


def observed(ctx: Context, place: dict[str, int]) -> tuple[str, ...]:
    """Return the signals an observer follows: every sensor of the car but those of refrigerant pressure."""
    plant = ctx.plant
    found = ["outside.air", "speed", "sun"]
    for zone in plant.of_kind("zone"):
        found.append(f"{zone.name}.air")
    found += [f"{zone.name}.rh" for zone in plant.of_kind("zone")[:1]]
    found += ["glass.margin"] if plant.glass else []
    found += [f"{pack.name}.{what}" for pack in plant.of_kind("pack") for what in ("hottest", "coldest", "charge")]
    found += [f"{f.name}.frost" for f in ctx.front]
    for part in plant.parts.values():
        if part.kind == "drive_unit":
            found += [f"{part.name}.{what}" for what in INSIDE if f"{part.name}.{what}" in place]
        if part.kind in WARM_COOLANT and f"{part.name}.coolant" in place:
            found.append(f"{part.name}.coolant")
        if (
            f"{part.name}.wall" in place
            and sensor_of(plant, f"{part.name}.wall") == "coil_wall"
            and _in_air(part.name, place)
        ):
            found.append(f"{part.name}.wall")
    return tuple(found)


def _in_air(name: str, place: dict[str, int]) -> bool:
    return f"{name}.air" in place or f"{name}.wind" in place
