"""A plant with a measured compressor: inside its map nothing is flagged, outside every step is, with the range."""

from __future__ import annotations

from pathlib import Path

import pytest

from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.study.point import Asked, operating_point
from heatwright.study.point_table import point_as_text
from heatwright.study.start import cold_start

MAP = """format = "heatwright plant 1"
name = "Mapped"
extends = "reversing.plant.toml"
[compressor.compressor]
exchangers = "lumps"
[compressor.compressor.map]
form        = "polynomial"
superheat   = "5 K"
evaporating = "-35 degC to 15 degC"
condensing  = "{condensing}"
flow_unit   = "kg/h"
flow  = {{ "4000 rpm" = [150, 4.5, -0.3, 0.04, 0.002, -0.0005, 0.0002, 0, 0, 0] }}
power = {{ "4000 rpm" = [250, 1, 18, 0, 0.1, 0.05, 0, 0, 0, 0] }}
"""


def mapped(tmp_path: Path, condensing: str) -> Plant:
    file = tmp_path / "mapped.plant.toml"
    file.write_text(MAP.format(condensing=condensing))
    return load_plant(file)


def test_inside(tmp_path: Path) -> None:
    point = operating_point(mapped(tmp_path, "10 degC to 70 degC"), Asked(268.15, 293.15, speed_hz=4000 / 60))
    assert point.runs
    assert point.compressor_map_left == 0.0
    assert "outside the compressor's map" not in point_as_text(point)
    assert point.q_hot_w - point.q_cold_w == pytest.approx(point.p_gas_w, abs=0.05)
    # the polynomial itself, at the point's own dew temperatures and superheat
    s, d = float(point.t_evaporating_k or 0) - 273.15, float(point.t_condensing_k or 0) - 273.15
    flow = 150 + 4.5 * s - 0.3 * d + 0.04 * s * s + 0.002 * s * d - 0.0005 * d * d + 0.0002 * s**3
    assert point.mdot_kg_per_s == pytest.approx(flow / 3600, rel=1e-5)
    assert point.p_electric_w == pytest.approx(250 + s + 18 * d + 0.1 * s * d + 0.05 * d * d, rel=1e-5)


def test_outside_is_told_with_the_range(tmp_path: Path) -> None:
    plant = mapped(tmp_path, "60 degC to 70 degC")
    point = operating_point(plant, Asked(268.15, 293.15, speed_hz=4000 / 60))
    assert point.runs
    assert point.compressor_map_left > 0.1
    assert "-35 to 15 °C evaporating, 60 to 70 °C condensing, 4000 to 4000 rpm" in point_as_text(point)
    assert cold_start(plant, 263.15, duration_s=60.0).health["compressor_map_left"] > 50
