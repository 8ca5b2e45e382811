"""What a [control] table may look at and what it may move, for one plant."""

from __future__ import annotations

from collections.abc import Mapping

from heatwright.plant.kinds_comfort import COMFORT_HEATERS
from heatwright.plant.model import Part
from heatwright.plant.parts import kinds

FLAGS = ("wanted", "occupied", "plugged", "driving", "charging", "prepare")

WET = ("body", "exchanger", "heater", "junction")

_PLAIN = {
    "setpoint": "degC",
    "vent_target": "degC",
    "occupants": "people",
    "speed": "km/h",
    "sun": "W/m2",
    "outside.air": "degC",
    "glass.margin": "K",
    "circuit.high": "bar",
    "circuit.low": "bar",
}


def signals_of(parts: Mapping[str, Part]) -> dict[str, str]:
    """Every signal of a plant with a sample of its unit; "degC" marks a temperature, "K" a difference."""
    found = dict.fromkeys(FLAGS, "1") | _PLAIN
    if not any(part.kind == "zone" for part in parts.values()):
        found |= _zone("cabin")  # that there is no zone is said elsewhere, once
    for name, part in parts.items():
        kind = kinds()[part.kind]
        if part.kind == "pack":
            found |= {f"{name}.hottest": "degC", f"{name}.coldest": "degC", f"{name}.charge": "%"}
            found |= {f"{name}.charge_best": "degC", f"{name}.charge_hot": "degC"}
        elif part.kind == "drive_unit":
            found[f"{name}.winding"] = "degC"
        elif part.kind == "zone":
            found |= _zone(name)
        elif part.kind == "compressor":
            found |= {f"{name}.on": "1", f"{name}.high": "bar", f"{name}.low": "bar"}
        if kind.role == "exchanger":
            found |= {f"{name}.air": "degC"} if "air" in kind.fluids or kind.front else {}
            found |= {f"{name}.{side}": "degC" for side in kind.sides} or {f"{name}.wall": "degC"}
            if kind.front:
                found |= {f"{name}.frost": "kg", f"{name}.blocked": "%"}
        if part.kind == "air_heater":
            found[f"{name}.air"] = "degC"
        dry = part.kind == "pack" and "plate" not in part.given
        if "coolant" in kind.fluids and kind.role in WET and not kind.sides and not dry:
            found[f"{name}.coolant"] = "degC"
    return found


def _zone(name: str) -> dict[str, str]:
    return {f"{name}.air": "degC", f"{name}.vent": "degC", f"{name}.rh": "%"}


def flags_of(parts: Mapping[str, Part]) -> tuple[str, ...]:
    """What a rule may ask for beside latches."""
    return (*FLAGS, *(f"{name}.on" for name, part in parts.items() if part.kind == "compressor"))


def actuators_of(parts: Mapping[str, Part]) -> dict[str, str]:
    """Every actuator with what it is moved in: "rpm", "%", "W", "position" or "state"."""
    forms = {
        "compressor": "rpm",
        "pump": "%",
        "fan": "%",
        "blower": "%",
        "valve": "position",
        "door": "position",
    }
    forms |= {"shutoff": "state", "expansion": "state", "coolant_heater": "W", "air_heater": "W", "pad": "W"}
    forms |= dict.fromkeys(COMFORT_HEATERS, "W")
    found = {name: forms[part.kind] for name, part in parts.items() if part.kind in forms}
    for name, part in parts.items():
        if part.values.get("deliberate_loss") is not None:
            found[f"{name}.loss"] = "W"
    return found


def loss_hint(parts: Mapping[str, Part], name: str) -> str:
    """What to try where `name` or `name.loss` is told something, but makes no loss; "" if it never could."""
    part = parts.get(name.removesuffix(".loss"))
    able = part is not None and part.values.get("deliberate_loss", part) is None
    return f"'{part.name}.loss' is there once '{part.name}' has a deliberate_loss" if part and able else ""


NO_MODE = ("fan", *COMFORT_HEATERS)
"""Kinds that can be told something but do not tell modes apart."""


def states_of(parts: Mapping[str, Part]) -> dict[str, tuple[str, ...]]:
    """Every actuator with its states: positions and blends "one ~ two", states, or off and on."""
    found: dict[str, tuple[str, ...]] = {}
    for name, form in actuators_of(parts).items():
        values = parts[name.partition(".")[0]].values
        if form == "position":
            found[name] = (*values["positions"], *(" ~ ".join(pair) for pair in values["blend"]))
        else:
            found[name] = tuple(values["states"]) if form == "state" else ("off", "on")
    return found


def most_of(parts: Mapping[str, Part], actuator: str) -> float:
    """The most an actuator with a number can be told, in SI."""
    name, _, key = actuator.partition(".")
    part = parts[name]
    if key == "loss":
        return float(part.values["deliberate_loss"] or 0.0)
    if part.kind == "compressor":
        return float(part.values["speed"] or 0.0)
    return float(part.values["power"] or 0.0) if part.kind not in ("pump", "fan", "blower") else 1.0
