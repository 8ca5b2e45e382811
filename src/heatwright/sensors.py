"""What the car reads: the declared sensors with place, lag and error, and the errors of one car drawn from a seed."""

from __future__ import annotations

import random
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from statistics import NormalDist

from heatwright.units import parse, unit_of

FILE = Path(__file__).resolve().parent / "data" / "dispatch" / "sensors.toml"
KELVIN = "0 K"
KEY_BITS = 52
"""Keys of noise are whole numbers that a float holds exactly."""


@dataclass(frozen=True)
class Sensor:
    """One kind of sensor, SI inside.

    lag_s : time constant in its place. error : standard deviation of the offset drawn for a car; noise : that of each
    reading; both in the unit of what is read. smoothing_s : time constant of the car's average. is_kelvin : whether
    it reads a temperature.
    """

    at: str
    lag_s: float
    error: float
    noise: float
    smoothing_s: float
    source: str
    is_kelvin: bool

    @property
    def is_direct(self) -> bool:
        """Whether it reads what is there, at once."""
        return not (self.lag_s or self.error or self.noise or self.smoothing_s)


DIRECT = Sensor("known as it is", 0.0, 0.0, 0.0, 0.0, "judgement", False)


@dataclass(frozen=True)
class Sensors:
    """The sensors of one car: kinds, the seed its errors are drawn from, and how its observer follows them."""

    kinds: Mapping[str, Sensor]
    seed: int
    settle_s: float
    spread: float
    outside_humidity: float
    humidity_in_rain: float

    def of(self, kind: str) -> Sensor:
        """Return a kind of sensor; an empty name is what the car knows as it is."""
        return self.kinds[kind] if kind else DIRECT

    def offset(self, kind: str, name: str) -> float:
        """Return how far the sensor of that name reads off in this car."""
        share = random.Random(f"{self.seed} offset {name}").random()
        return self.of(kind).error * NormalDist().inv_cdf(min(max(share, 1e-9), 1.0 - 1e-9))

    def key(self, name: str) -> int:
        """Return the key of that sensor's noise."""
        return int(random.Random(f"{self.seed} noise {name}").random() * 2.0**KEY_BITS)

    def with_noise(self, noise_k: float) -> Sensors:
        """Return the same car with so much noise [K] in every reading of a temperature."""
        kinds = {
            name: replace(one, noise=noise_k) if one.is_kelvin and not one.is_direct else one
            for name, one in self.kinds.items()
        }
        return replace(self, kinds=kinds)

    def without_errors(self) -> Sensors:
        """Return sensors that lag and are averaged, but read neither off nor with noise."""
        return replace(self, kinds={n: replace(one, error=0.0, noise=0.0) for n, one in self.kinds.items()})


@cache
def declared_sensors() -> Mapping[str, Sensor]:
    """Return every kind of sensor by name, in the order of the file."""
    raw = tomllib.loads(FILE.read_text(encoding="utf-8"))
    found = {}
    for name, one in raw["sensors"].items():
        unit = one["error"].split(" ", 1)[1]
        found[name] = Sensor(
            one["at"], parse(one["lag"], "s"), parse(one["error"], unit), parse(one["noise"], unit),
            parse(one["smoothing"], "s"), one["source"], unit_of(unit) == unit_of("K"),
        )  # fmt: skip
    return found


def load_sensors(seed: int = 0) -> Sensors:
    """Return the declared sensors of the car with that seed."""
    observer = tomllib.loads(FILE.read_text(encoding="utf-8"))["observer"]
    return Sensors(
        declared_sensors(), seed, parse(observer["settle"]["value"], "s"), parse(observer["spread"]["value"], "%"),
        parse(observer["outside_humidity"]["value"], "%"), parse(observer["humidity_in_rain"]["value"], "%"),
    )  # fmt: skip
