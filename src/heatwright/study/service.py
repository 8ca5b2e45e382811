"""What a run cost and what it gave: the figures that a comparison is made of, and when two services are alike.

`row_of` is the one row a plant has in a study; `figures` are its numbers alone, worked out in the same way for a
whole Run and for a march that kept only a few series.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from heatwright.dispatch.switches import per_hour, switches_of
from heatwright.run import Run

Figures = dict[str, float | None]

ZERO_C_K = 273.15
J_PER_KWH = 3.6e6
ALIKE = 0.05
"""Two services are alike when they differ by no more than this share."""
LEAST_MISS_K = 1.0
"""A mean miss of one kelvin while people are aboard: below it a share is taken of this much, not of less."""


@dataclass(frozen=True)
class Worth:
    """What is left in the car at the end, in electric kWh per kWh of it."""

    charge: float = 1.0
    pack_heat: float = 0.3


def figures(
    summary: Mapping[str, Any],
    comfort: Mapping[str, Any],
    energy_kwh: Mapping[str, float],
    worth: Worth,
) -> Figures:
    """Return every number of a run that can differ between plants, under names that carry their units.

    `net_kwh_per_100km` is the energy less what is left in the car: station + worth.charge x pack
    - worth.pack_heat x heat stored in the pack. `use:NAME` are the uses [kWh/100 km], which add up to the
    whole. A figure that does not exist (a mark never reached) is None.
    """
    distance_km = summary["distance_km"]
    per_100 = 100.0 / distance_km if distance_km > 0 else None
    heat = summary["pack_heat_gained_kwh"]
    net = summary["from_station_kwh"] + worth.charge * summary["from_pack_kwh"] - worth.pack_heat * heat
    out: Figures = {
        "energy_kwh_per_100km": summary["energy_kwh_per_100km"],
        "net_kwh_per_100km": net * per_100 if per_100 else None,
        "range_km": summary["range_km"],
        "from_station_kwh": summary["from_station_kwh"],
        "from_pack_kwh": summary["from_pack_kwh"],
        "pack_heat_kwh": heat,
        "pack_end_c": summary["t_pack_end_k"] - ZERO_C_K,
    }
    for key in ("short_k_min", "over_k_min", "fogged_s"):
        out[key] = comfort[key]
    for key in ("vent_time_to_40c_s", "time_to_10c_s", "time_to_15c_s", "time_to_20c_s"):
        out[key] = comfort.get(key)
    if per_100:
        out |= {f"use:{name}": value * per_100 for name, value in energy_kwh.items()}
    return out


def row_of(run: Run, worth: Worth | None = None, strategy: str = "table") -> dict[str, Any]:
    """Return a run as one row of a study: who, how driven, its figures, and how far the solver can be trusted."""
    worth = worth or Worth()
    own = figures(run.summary, run.comfort, run.energy_kwh, worth)
    aboard = np.asarray(run.series["occupied"])[1:] > 0
    health = run.health
    row: dict[str, Any] = {"plant": run.plant_name, "trip": run.trip_name, "strategy": strategy}
    row |= {key: value for key, value in own.items() if not key.startswith("use:")}
    row["use_kwh_per_100km"] = {k.removeprefix("use:"): v for k, v in own.items() if k.startswith("use:")}
    row |= {
        "distance_km": run.summary["distance_km"],
        "energy_used_kwh": run.summary["energy_used_kwh"],
        "pack_heat_worth_kwh": worth.pack_heat * run.summary["pack_heat_gained_kwh"],
        "soc_start": run.summary["soc_start"],
        "soc_end": run.summary["soc_end"],
        "end_charge_worth_kwh": -worth.charge * run.summary["from_pack_kwh"],
        "occupied_s": run.comfort["occupied_s"],
        "switches_per_h": per_hour(switches_of(run, aboard), aboard, _step_s(run)),
        "residual_j": run.ledger["residual_j"],
        "residual_relative": run.ledger["residual_relative"],
        "not_solved_steps": health.get("circuit_not_solved_steps", 0),
        "flow_not_solved": health.get("flow_not_solved", 0),
        "pack_power_capped_steps": health.get("pack_power_capped_steps", 0),
        "limits_s": dict(health.get("limits_s", {})),
    }
    return row


def _step_s(run: Run) -> float:
    return float(run.t_s[1] - run.t_s[0]) if run.steps else 0.0


def miss_key(case: Any) -> str:
    """Return the name of the figure that says how far a plant misses its service on a trip.

    Degree-minutes too cold where the air outside is on the whole below the set-point while people are aboard,
    too warm where it is above.
    """
    aboard = case.steps["occupied"] > 0
    if not aboard.any():
        return "short_k_min"
    outside = float(np.mean((case.steps["t_ambient_k"] - case.steps["t_setpoint_k"])[aboard]))
    return "short_k_min" if outside < 0.0 else "over_k_min"


def service_gap(miss_a_k_min: float, miss_b_k_min: float, occupied_s: float) -> float:
    """Return how far two services are apart [-]: |a - b| / max(a, b, 1 K x minutes with people aboard).

    The last term is the floor: where both miss by less than a kelvin on the mean, nobody would feel a third of it.

    >>> service_gap(3.0, 4.0, 3600.0) < 0.05, round(service_gap(100.0, 125.0, 3600.0), 2)
    (True, 0.2)
    """
    scale = max(miss_a_k_min, miss_b_k_min, LEAST_MISS_K * occupied_s / 60.0)
    return abs(miss_a_k_min - miss_b_k_min) / scale if scale > 0.0 else 0.0
