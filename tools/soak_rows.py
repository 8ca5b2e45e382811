"""Published parked soaks and warm-ups of a closed cabin, and the marches that answer them.

Soaks: the shipped `plain` car, painted dark, stands in a clear sky.  Sources name neither sun nor car; assumed are
latitude 37 N in July from noon (SK-01, SK-02), 28 N in June all morning and noon (SK-05), and 38 degC outside (SK-07).
Warm-ups: the shipped `reversing` car, the heat put into the air by its air heater, 50 km/h, one person aboard.  These
rows are another model's (one inside mass), not measurements.  Those with recirculated air are read but not fitted: the
equations of their own source, solved again, reach 15 and 20 degC in half the times it prints.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

DARK = {"body.paint": "90 %"}
SHADE = {"glass.screen.transmittance": "5 %", "glass.screen.absorptance": "35 %"}
STEP_S = 5.0
HEATER = {
    "air_heater.power": "20 kW",
    "air_heater.efficiency": "100 %",
    "air_heater.limit": "300 degC",
    "air_heater.heat_capacity": "0.05 kJ/K",
    "cabin_coil.heat_capacity": "0.05 kJ/K",
    "zone.cabin.duct_capacity": "0.1 kJ/K",
    "door.inlet.leak": "0 %",
}
"""The rows put their heat into the air itself: no element, coil or duct to be warmed first, no leaking door."""


@dataclass(frozen=True)
class Row:
    """A published value, or a band from `low` to `high`, and how close a good model comes."""

    name: str
    low: float
    high: float
    close: float
    unit: str
    fitted: bool = True

    @property
    def said(self) -> str:
        return f"{self.low:g}" if self.low == self.high else f"{self.low:g} to {self.high:g}"

    def miss(self, found: float) -> float:
        return found - min(max(found, self.low), self.high)


@dataclass(frozen=True)
class WarmUp:
    """A cold-soaked cabin heated from a moment on: flow in kg/h, share of fresh air, minutes to 15 and 20 degC."""

    t_c: float
    heat_kw: float
    flow: float
    fresh: float
    to_15: float
    to_20: float

    @property
    def name(self) -> str:
        return f"{self.t_c:g} degC {self.heat_kw:g} kW {self.flow:g} kg/h {self.fresh:.0%} fresh"


WARM_UPS = (
    WarmUp(-20.0, 7.0, 320.0, 1.0, 21.0, 45.0),
    WarmUp(-20.0, 7.0, 320.0, 0.6, 16.0, 34.0),
    WarmUp(-20.0, 9.0, 400.0, 0.7, 6.0, 17.0),
    WarmUp(-10.0, 5.5, 300.0, 0.6, 5.0, 18.0),
    WarmUp(-7.0, 5.5, 300.0, 1.0, 3.0, 16.0),
    WarmUp(0.0, 5.5, 300.0, 0.6, 1.0, 3.0),
)
SOAK = tuple(
    Row(f"SK-01 rise after {m} min", r, r, 2.0, "K") for m, r in ((10, 10.5), (20, 15.8), (30, 18.1), (60, 23.7))
)
ROWS = (
    *SOAK,
    Row("SK-02 rise at 30 over rise at 60 min", 0.765, 0.765, 0.04, "-"),
    Row("SK-05 air, long soak", 66.0, 66.0, 4.0, "degC"),
    Row("SK-05 dash, long soak", 93.0, 93.0, 5.0, "degC"),
    Row("SK-05 air, screen shaded", -8.0, -8.0, 4.0, "K"),
    Row("SK-05 dash, screen shaded", -22.0, -22.0, 6.0, "K"),
    Row("SK-07 air before a pull-down", 60.0, 70.0, 3.0, "degC"),
    Row("SK-07 skin before a pull-down", 70.0, 90.0, 3.0, "degC"),
    *(Row(f"{one.name}, at {at:g} min", t_c, t_c, close, "degC", one.fresh == 1.0) for one in WARM_UPS
      for at, t_c, close in ((one.to_15, 15.0, 2.5), (one.to_20, 20.0, 1.5))),
)  # fmt: skip


@cache
def case_of(weather: str, start: str, segments: str) -> Any:
    """A case written in a few lines of trip file."""
    from heatwright.trip.load import build_case, parse_trip

    text = (
        f'format = "heatwright trip 1"\nname = "soak"\nstep = "{STEP_S:g} s"\n{start}\n[weather]\n{weather}\n{segments}'
    )
    return build_case(parse_trip(text, Path("soak.trip.toml")))


def standing(latitude: float, day: str, clock: str, t_c: float, hours: float, heading: str = "135 deg") -> Any:
    """A car that stands in a clear sky; the clock is that of the sun, about."""
    place = f'[place]\nlatitude = "{latitude} deg"\nlongitude = "0 deg"\nclock_offset = "0 h"\naltitude = "20 m"\n'
    start = f'[start]\ndate = "{day}"\ntime = "{clock}"\n{place}[sun]\nclear_sky = true\nturbidity = 3.5\n'
    stop = f'[[segment]]\nkind = "park"\nduration = "{hours} h"\nheading = "{heading}"\n'
    return case_of(f'temperature = "{t_c} degC"\nhumidity = "45 %"', start, stop)


def marched(
    plant: str, changes: Mapping[str, str], case: Any, acts: Mapping[str, float]
) -> dict[str, NDArray[np.float64]]:
    """The series of a plant with changed numbers, its actuators held."""
    from heatwright.compiler.build import compile_program
    from heatwright.plant.load import load_plant
    from heatwright.simulate import simulate

    program = compile_program(load_plant(plant, dict(changes)), case)
    row = np.array([acts.get(name, 0.0) for name in program.index.actuators])
    return simulate(program, case, replay=np.tile(row, (case.n, 1))).series


def soak(changes: Mapping[str, str], case: Any) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Air and skin of the parked car [degC]."""
    series = marched("plain", {**DARK, **changes}, case, {})
    return tuple(series[f"t_cabin_{k}_k"].astype(float) - 273.15 for k in ("air", "skin"))  # type: ignore[return-value]


@cache
def blower_for(flow_kg_per_s: float, fresh: float, t_c: float) -> float:
    """How far the blower is turned for a flow through the air box."""
    speed = 0.5
    for _ in range(4):
        acts = {**_doors(fresh), "blower": speed}
        case = case_of(f'temperature = "{t_c} degC"', "", '[[segment]]\nkind = "park"\nduration = "60 s"\n')
        got = float(marched("reversing", HEATER, case, acts)["mdot_air_box_kg_per_s"][-1])
        speed = min(speed * flow_kg_per_s / got, 1.0)
    return speed


def _doors(fresh: float) -> dict[str, float]:
    return {"inlet:fresh": fresh, "inlet:recirculate": 1.0 - fresh, "outlets:screen": 0.25, "outlets:foot": 0.75}


def warm_up(changes: Mapping[str, str], one: WarmUp) -> NDArray[np.float64]:
    """Air of the cabin [degC], step by step, while it is warmed."""
    drive = '[[segment]]\nkind = "drive"\nspeed = "50 km/h"\nrolling = true\nduration = "50 min"\n'
    case = case_of(f'temperature = "{one.t_c} degC"\nhumidity = "70 %"', '[start]\ncharge = "100 %"', drive)
    acts = {
        **_doors(one.fresh),
        "blower": blower_for(one.flow / 3600.0, one.fresh, one.t_c),
        "air_heater": one.heat_kw * 1e3,
    }
    series = marched("reversing", {**HEATER, **changes}, case, acts)
    return series["t_cabin_air_k"].astype(float) - 273.15


def readings(changes: Mapping[str, str]) -> dict[str, float]:
    """What the march says to every row, with these changes to the cabin."""

    def at(values: NDArray[np.float64], minutes: float) -> float:
        return float(values[round(minutes * 60.0 / STEP_S)])

    found: dict[str, float] = {}
    air, _ = soak(changes, standing(37.0, "2031-07-05", "12:00", 27.0, 1.05))
    rise = air - air[0]
    found |= {f"SK-01 rise after {m} min": at(rise, m) for m in (10, 20, 30, 60)}
    found["SK-02 rise at 30 over rise at 60 min"] = at(rise, 30) / at(rise, 60)
    florida = standing(28.0, "2031-06-21", "09:30", 33.0, 4.5)
    (air, skin), (shaded, shaded_skin) = soak(changes, florida), soak({**changes, **SHADE}, florida)
    found["SK-05 air, long soak"], found["SK-05 dash, long soak"] = air[-1], skin[-1]
    found["SK-05 air, screen shaded"] = shaded[-1] - air[-1]
    found["SK-05 dash, screen shaded"] = shaded_skin[-1] - skin[-1]
    air, skin = soak(changes, standing(34.0, "2031-07-05", "11:00", 38.0, 2.0))
    found["SK-07 air before a pull-down"], found["SK-07 skin before a pull-down"] = air[-1], skin[-1]
    for one in WARM_UPS:
        warm = warm_up(changes, one)
        found |= {f"{one.name}, at {m:g} min": at(warm, m) for m in (one.to_15, one.to_20)}
    return found
