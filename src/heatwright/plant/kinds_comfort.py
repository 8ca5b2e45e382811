"""Electric heaters at the body and in the pane: seat, steering wheel, radiant panel, screen."""

from __future__ import annotations

from heatwright.plant.parts import COMMON, NOTE, WAS, Field, Kind, count, factor, mass_and_cost, quantity, words

JUDGED = "engineering judgement, not measured"
LOW_VOLTAGE = "12 V: the converter's loss is in it (common practice); 98 % for one on the high-voltage side"


def _at_body(
    power: str, share: str, depth: str, time: str, mass: str, cost: str, efficiency: str, supply: str
) -> tuple[Field, ...]:
    """Return the keys of a heater that warms people directly."""
    return (
        words("zone", "the zone it stands in; left out, the first"),
        quantity("power", power, 1, 5000, "electrical power, all places together", COMMON),
        factor("efficiency", efficiency, 10, 100, "share of the power that becomes heat at the heater", supply),
        count("people", "1 people", 1, 9, "among how many people its heat is shared"),
        factor("share", share, 0, 100, "share of that heat that reaches the body", JUDGED),
        factor("depth", depth, 0, 1, "share of the clothing outside the place where it arrives", JUDGED),
        quantity("time", time, 1, 3600, "time in which the body feels 63 % of it", JUDGED),
        *mass_and_cost(mass, cost),
        NOTE,
        WAS,
    )


_SCREEN: tuple[Field, ...] = (
    words("zone", "the zone whose side of the pane it warms; left out, the first"),
    words("pane", "the pane it lies in; left out, `screen`"),
    quantity("power", "800 W", 10, 5000, "electrical power", COMMON),
    factor("efficiency", "98 %", 10, 100, "share of the power that becomes heat in the pane", COMMON),
    *mass_and_cost("0.4 kg", "80 USD"),
    NOTE,
    WAS,
)

KINDS: tuple[Kind, ...] = (
    Kind("seat_heater", "electric mat in a seat", "heater", (),
         _at_body("70 W", "50 %", "0.8", "180 s", "0.4 kg", "20 USD", "91 %", LOW_VOLTAGE), symbol="heater"),
    Kind("wheel_heater", "electric heater in the steering wheel", "heater", (),
         _at_body("50 W", "25 %", "1", "60 s", "0.1 kg", "12 USD", "91 %", LOW_VOLTAGE), symbol="heater"),
    Kind("radiant_panel", "warm surface that people see", "heater", (),
         _at_body("200 W", "35 %", "0", "120 s", "0.8 kg", "40 USD", "98 %", COMMON), symbol="heater"),
    Kind("screen_heater", "electric film in a pane", "heater", (), _SCREEN, symbol="heater"),
)  # fmt: skip

WARMERS = ("seat_heater", "wheel_heater", "radiant_panel")
COMFORT_HEATERS = (*WARMERS, "screen_heater")
