"""How far pack and drive unit are from what holds them back, at every sample of a run, asked for or not."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from heatwright.outcome import slug
from heatwright.plant.model import Plant
from heatwright.run import Run

Floats = NDArray[np.float64]
DRIVE_NODES = (
    ("winding", "winding_limit", "winding"),
    ("rotor", "rotor_limit", "magnets"),
    ("inverter", "inverter_limit", "inverter"),
    ("oil", "oil_limit", "gear oil"),
    ("housing", "limit", "housing"),
)
"""Temperatures inside a drive unit that hold its torque back: series, limit in the plant file, words."""
PACK_SERIES = {
    "pack_cold": "t_pack_coldest_k", "pack_hot": "t_pack_hottest_k", "window_low": "t_charge_best_k",
    "window_high": "t_charge_hot_k", "pack_give": "p_give_limit_w", "pack_take": "p_take_limit_w",
}  # fmt: skip


def drive_room(plant: Plant | None, run: Run) -> dict[str, Floats]:
    """`drive_room`: kelvins from the nearest of its inner temperatures to where torque begins to be held back [K].

    `drive_near`: which of `DRIVE_NODES` that is; `drive_share`: the torque allowed [-]. The coolant that enters has a
    limit too; what it takes away shows in the share alone. nan without a plant or its series; of several units the
    nearest counts.
    """
    none = np.full(len(run.t_s), np.nan)
    rows: list[tuple[int, Floats]] = []
    for part in plant.of_kind("drive_unit") if plant is not None else ():
        for number, (node, key, _) in enumerate(DRIVE_NODES):
            values = run.series.get(f"t_{slug(part.name)}_{node}_k")
            if values is not None:
                rows.append((number, float(part.values[key]) - np.asarray(values, float)))
    share = np.asarray(run.series.get("drive_share", none), float)
    if not rows:
        return {"drive_room": none, "drive_near": none, "drive_share": share}
    stack = np.stack([row for _, row in rows])
    nearest = np.argmin(stack, axis=0)
    numbers = np.array([number for number, _ in rows], float)
    return {"drive_room": stack.min(axis=0), "drive_near": numbers[nearest], "drive_share": share}


def pack_room(run: Run) -> dict[str, Floats]:
    """Coldest and hottest cells and the window in which charging is best [K], what the pack may give and take [W].

    nan where the run has no such series.
    """
    none = np.full(len(run.t_s), np.nan)
    return {key: np.asarray(run.series.get(name, none), float) for key, name in PACK_SERIES.items()}
