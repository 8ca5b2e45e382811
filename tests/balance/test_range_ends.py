"""The last value in the range of a number marches with closed books; what no march bears is refused when it is read."""

from pathlib import Path

import pytest
from bench_rig import TRIP

from heatwright.errors import InputError
from heatwright.plant.load import load_plant
from heatwright.study.one_run import one_run
from heatwright.trip.load import load_trip


@pytest.mark.parametrize(
    ("plant", "key", "end", "beyond"),
    [
        ("reversing", "drive.volume", "0.01 L", "0 L"), ("reversing", "radiator.coolant_share", "1 %", "0 %"),
        ("reversing", "radiator.coolant_share", "99 %", "100 %"), ("reversing", "inlet.air_drop", "0.1 Pa", "0 Pa"),
        ("reversing", "outlets.air_drop", "0.1 Pa", "0 Pa"), ("secondary", "pack_valve.drop", "0.01 kPa", "0 kPa"),
    ],
)  # fmt: skip
def test_the_last_value_in_range_marches(plant: str, key: str, end: str, beyond: str, tmp_path: Path) -> None:
    (tmp_path / "short.trip.toml").write_text(TRIP)
    run = one_run(load_plant(plant, {key: end}), load_trip(tmp_path / "short.trip.toml"))
    assert abs(run.ledger["residual_relative"]) < 1e-9
    with pytest.raises(InputError):
        load_plant(plant, {key: beyond})
