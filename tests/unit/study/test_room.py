"""Room left to pack and drive unit: the nearest limit counts, and what a run does not tell is not made up."""

import numpy as np
import pytest

from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.study.room import DRIVE_NODES, drive_room, pack_room


def run_of(series: dict[str, list[float]]) -> Run:
    arrays = {name: np.array(values) for name, values in series.items()}
    return Run("by hand", "by hand", np.arange(2.0), arrays)


def test_the_nearest_limit_of_the_drive_unit_counts() -> None:
    """Winding limit 155 degC and inverter limit 135 degC, as the plant file has them."""
    plant = load_plant("plain", {"drive.winding_limit": "155 degC", "drive.inverter_limit": "135 degC"})
    run = run_of({
        "t_drive_winding_k": [273.15 + 100.0, 273.15 + 150.0],
        "t_drive_inverter_k": [273.15 + 120.0, 273.15 + 100.0],
        "drive_share": [1.0, 0.9],
    })  # fmt: skip
    found = drive_room(plant, run)
    assert found["drive_room"] == pytest.approx([15.0, 5.0])
    assert [DRIVE_NODES[int(k)][2] for k in found["drive_near"]] == ["inverter", "winding"]
    assert list(found["drive_share"]) == [1.0, 0.9]


def test_what_is_not_known_is_nan() -> None:
    found = drive_room(None, run_of({"t_drive_winding_k": [300.0, 300.0]}))
    assert np.isnan(found["drive_room"]).all()
    rooms = pack_room(run_of({"t_pack_coldest_k": [270.0, 271.0]}))
    assert list(rooms["pack_cold"]) == [270.0, 271.0]
    assert np.isnan(rooms["window_low"]).all()
