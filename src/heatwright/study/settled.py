"""Trips written in a few lines, and a car rolling for hours, one actuator found so that its cabin is steady.

The pages of checks and the tests of whole cars ask the same of a plant: a short trip, or a steady state that is the
end of a long march. Both are made here from the parts every run is made of.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np

from heatwright.compiler.build import compile_program
from heatwright.errors import RunError
from heatwright.plant.model import Plant
from heatwright.run import Run
from heatwright.simulate import simulate
from heatwright.trip.load import build_case, parse_trip
from heatwright.trip.model import Case

CP_AIR_J_PER_KG_K = 1006.0
STEP_S = 4.0
HOURS = 5
LAST_STEPS = 225  # a quarter of an hour
HELD_K = 0.02


def short_case(weather: str, segments: str, head: str = "") -> Case:
    """Return the Case of a trip given as a few lines of trip file: what stands under [weather], then the segments."""
    text = f'format = "heatwright trip 1"\nname = "short"\n{head}\n[weather]\n{weather}\n{segments}'
    return build_case(parse_trip(text, Path("short.trip.toml")))


class SettledCar:
    """A plant rolling at one speed for hours with its actuators held, one of them found for a cabin temperature."""

    def __init__(
        self, plant: Plant, weather: str, occupants: int, acts: Mapping[str, float], speed: str = "50 km/h"
    ) -> None:
        """acts : actuator values [their own units] by name; what is not named rests at 0."""
        drive = f'[[segment]]\nkind = "drive"\nspeed = "{speed}"\nrolling = true\nduration = "{HOURS} h"\n'
        head = f'step = "{STEP_S:g} s"\n[start]\ntemperature = "22 degC"\ncharge = "100 %"'
        self.case = short_case(weather, drive + f"occupants = {occupants}", head)
        self.program = compile_program(plant, self.case)
        self.acts = dict(acts)

    def hold(self, **more: float) -> Run:
        """Return the run with every actuator held. Raises KeyError for an actuator the plant does not have."""
        values = {**self.acts, **more}
        unknown = set(values) - set(self.program.index.actuators)
        if unknown:
            raise KeyError(f"no actuators {sorted(unknown)}")
        row = np.array([values.get(name, 0.0) for name in self.program.index.actuators])
        return simulate(self.program, self.case, replay=np.tile(row, (self.case.n, 1)))

    def settle(self, key: str, low: float, high: float, t_cabin_k: float) -> dict[str, float]:
        """Return the means of all series over the last quarter hour, `key` found by the secant rule.

        Raises RunError when the cabin cannot be held within 0.02 K of `t_cabin_k`.
        """

        def missed(x: float) -> tuple[float, Run]:
            run = self.hold(**{key: x})
            return float(run.series["t_zone_air_k"][-1]) - t_cabin_k, run

        (f_low, _), (f_high, run) = missed(low), missed(high)
        for _ in range(10):
            if abs(f_high) < HELD_K or f_high == f_low:
                break
            low, high = high, max(high - f_high * (high - low) / (f_high - f_low), 0.0)
            f_low, (f_high, run) = f_high, missed(high)
        if abs(f_high) >= HELD_K:
            raise RunError(f"{key} does not hold the cabin at {t_cabin_k - 273.15:.1f} degC", 0.0)
        return self.means(run)

    @staticmethod
    def means(run: Run) -> dict[str, float]:
        """Return the mean of every series over the last quarter hour."""
        return {name: float(np.mean(values[-LAST_STEPS:].astype(float))) for name, values in run.series.items()}


def air_heat_w(s: Mapping[str, float]) -> float:
    """Return the heat the air box puts into its air [W]: what leaves it less what came in, fresh and from the cabin."""
    back_k = s["t_zone_air_k"] - s["t_ambient_k"]
    blown = s["mdot_air_box_kg_per_s"] * (s["t_vent_k"] - s["t_ambient_k"])
    return CP_AIR_J_PER_KG_K * (blown - (s["mdot_air_box_kg_per_s"] - s["mdot_air_fresh_kg_per_s"]) * back_k)
