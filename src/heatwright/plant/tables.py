"""Keys of the tables that are not parts: body, glass, hoses, front, fluid."""

from __future__ import annotations

from heatwright.plant.parts import FITTED, MEMORY, Field, choice, factor, flag, quantity, words

MUIR = "common practice; regulation laboratories correct by 0.8 %/K, running tyres less"

BODY: tuple[Field, ...] = (
    quantity("mass", "1900 kg", 200, 10000, "car with driver and load"),
    factor("rotating_factor", "1.04", 1, 1.5, "what wheels and machine add to the mass while speeding up"),
    quantity("drag_area", "0.6 m2", 0.05, 10, "drag coefficient times frontal area"),
    factor("rolling", "0.0085", 0.001, 0.1, "rolling coefficient, warm tyre at 25 degC"),
    quantity("rolling_slope", "0.6 %/K", 0, 5, "how it rises per kelvin below 25 degC", MUIR),
    factor("tyre_cold", "20 %", 0, 100, "what a cold tyre adds at the start of a drive"),
    quantity("tyre_time", "20 min", 0.1, 200, "time in which that fades"),
    quantity("wheel_radius", "0.335 m", 0.1, 1, "rolling radius"),
    quantity("load_driving", "300 W", 0, 5000, "12 V load while driving"),
    quantity("load_awake", "200 W", 0, 5000, "12 V load while charging or preparing"),
    quantity("load_asleep", "3 W", 0, 500, "12 V load while asleep"),
    quantity("charger", "11 kW", 0, 100, "on-board charger, highest power"),
    quantity("charger_fixed", "100 W", 0, 5000, "loss of the charger, fixed part"),
    factor("charger_share", "3 %", 0, 50, "loss of the charger per power"),
    quantity("charger_square", "2e-6 1/W", 0, 0.001, "loss of the charger per power squared"),
    quantity("converter", "3 kW", 0.05, 20, "highest power of the 12 V converter"),
    quantity("converter_fixed", "15 W", 0, 1000, "loss of the 12 V converter, fixed part"),
    factor("converter_share", "3 %", 0, 50, "loss of the 12 V converter per power"),
    quantity("converter_square", "8e-6 1/W", 0, 0.01, "loss of the 12 V converter per power squared"),
    quantity("wake_energy", "15 kJ", 0, 500, "12 V energy of every waking from sleep"),
    factor("paint", "50 %", 0, 100, "share of sunlight the paint absorbs: white 30 %, black 90 %"),
)

GLASS: tuple[Field, ...] = (
    quantity("area", "0.9 m2", 0.01, 10, "area"),
    quantity("slope", "65 deg", 0, 180, "from the horizontal"),
    quantity("azimuth", "0 deg", -180, 180, "where it faces: 0 ahead, 90 right, 180 back, -90 left"),
    factor("transmittance", "45 %", 0, 100, "sunlight let through, square on"),
    factor("absorptance", "35 %", 0, 100, "sunlight kept in the pane"),
    quantity("resistance", "0.005 m2 K/W", 0.0005, 1, "from face to face"),
)

DEFAULT_GLASS: dict[str, dict[str, str]] = {
    "screen": {"area": "1.15 m2", "slope": "29 deg", "azimuth": "0 deg", "transmittance": "50 %"},
    "left": {"area": "0.9 m2", "slope": "65 deg", "azimuth": "-90 deg", "transmittance": "45 %"},
    "right": {"area": "0.9 m2", "slope": "65 deg", "azimuth": "90 deg", "transmittance": "45 %"},
    "rear": {"area": "0.85 m2", "slope": "35 deg", "azimuth": "180 deg", "transmittance": "40 %"},
}
"""The panes of a car whose file names none."""

HOSES: tuple[Field, ...] = (
    quantity("diameter", "16 mm", 3, 60, "inside diameter of the coolant hoses"),
    quantity("each", "1.5 m", 0, 30, "length of a line that [hoses.length] does not name"),
    quantity("loss", "0.6 W/K per m", 0, 20, "loss to the air under the bonnet"),
    quantity("loss_moving", "0.1 W/K per m per m/s", 0, 5, "what speed adds to it"),
    words("length", "lengths of single coolant lines by their names, a table of its own"),
)

HOSE_LENGTH = quantity("length", "1.5 m", 0, 30, "length of one coolant line")

FRONT: tuple[Field, ...] = (
    words("stack", "what the wind meets, in its order: radiators, outdoor coils, the fan"),
    quantity("opening_area", "0.20 m2", 0.001, 5, "openings in the nose"),
    factor("ram_factor", "0.12", 0, 1, "air speed at the cores over the car's speed, openings free"),
    factor("ram_shut", "0.02", 0, 1, "the same with shutters closed"),
    flag("shutters", False, "whether the openings can be closed"),
    quantity(
        "idle_return",
        "5 K",
        0,
        40,
        "how much warmer the air arrives in a standing car with the fan on",
        FITTED,
    ),
)

REFRIGERANTS: tuple[str, ...] = ("R1234yf", "R134a", "R290", "R744")

REFRIGERANT: tuple[Field, ...] = (
    choice("refrigerant", REFRIGERANTS, "refrigerant"),
    quantity("charge", "", 0.05, 10, "refrigerant filled in; left out, enough for the receiver", unit="kg"),
    quantity(
        "hot_gas_charge",
        "",
        0.01,
        5,
        "refrigerant that takes part in the hot-gas cycle; left out, there is no such cycle",
        unit="kg",
    ),
    quantity("discharge_line", "0.12 L", 0, 10, "inside volume of the lines behind the compressor", MEMORY),
    quantity("liquid_line", "0.12 L", 0, 10, "inside volume of the lines before the valves", MEMORY),
    quantity("suction_line", "0.4 L", 0, 10, "inside volume of the lines before the compressor", MEMORY),
)
"""What a circuit's refrigerant is told: in [fluid], and in [fluid.NAME] for the circuit of a compressor."""

FLUID: tuple[Field, ...] = (
    words("coolant", '"water-glycol 50 %": ethylene glycol in water, per cent by mass, 30 % to 60 %'),
    *REFRIGERANT,
)

COOLANT_FACE = "water-glycol"
GLYCOL_RANGE = (0.30, 0.60)
"""Least and most glycol, by mass: the range in which the properties of the coolant are known (physics.coolant)."""
"""The only coolant family; written "water-glycol 50 %", per cent by mass of ethylene glycol."""
