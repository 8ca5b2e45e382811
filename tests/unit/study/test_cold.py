"""Cold coolant throttles, in both shipped plants, by the kernel's own functions."""

import json
import math

import numpy as np
import pytest

from heatwright.physics.coolant import coolant_fit, viscosity
from heatwright.physics.hydraulics import channel_drop
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.report.cold_page import render_cold
from heatwright.study.cold import TEMPERATURES_C, cold_flow
from tools.cold_page import PAGE, fresh

WARM_K, COLD_K = 313.15, 253.15


@pytest.mark.parametrize("name", ["plain", "reversing"])
def test_flow_falls_and_jackets_lose_their_film(name: str, plants: dict[str, Plant]) -> None:
    cold = cold_flow(plants[name])
    assert cold.temperatures_c == TEMPERATURES_C
    assert {one.part for one in cold.parts} >= {"drive", "radiator"}
    for one in cold.parts:
        assert np.all(np.diff(one.flow_l_per_min) < 0.0), one.part
        assert one.flow_l_per_min[-1] < 0.6 * one.flow_l_per_min[0], one.part
        assert np.all(np.diff(one.reynolds) < 0.0), one.part
        assert one.film_w_per_k[-1] < one.film_w_per_k[0], one.part
    drive = next(one for one in cold.parts if one.part == "drive")
    assert drive.reynolds[0] > 4000.0
    assert drive.reynolds[-1] < 1000.0
    assert drive.film_w_per_k[-1] < 0.1 * drive.film_w_per_k[0]


def test_laminar_passages_drop_ten_times_as_much() -> None:
    """Laminar: 32 mu (L/D) v / d, so the drop at one flow goes with viscosity; 22.2/2.10 mPa s for half glycol."""
    fit, zero = coolant_fit(0.5), np.uint64(0)
    warm, cold = (float(viscosity(t, fit, zero)) for t in (WARM_K, COLD_K))
    area = math.pi / 4 * 0.002**2
    drops = [channel_drop(1e-4, 0.002, area, 200.0, 0.0, 0.0, 1070.0, mu)[0] for mu in (warm, cold)]
    assert drops[1] / drops[0] == pytest.approx(22.2 / 2.10, rel=0.02)
    assert drops[1] / drops[0] == pytest.approx(10.5, abs=0.2)


def test_text_json_and_page(plants: dict[str, Plant]) -> None:
    cold = cold_flow(plants["plain"], (40.0, -20.0))
    assert json.loads(json.dumps(cold.as_json()))["parts"][0]["flow_l_per_min"] == list(cold.parts[0].flow_l_per_min)
    text = cold.as_text()
    assert "−20 °C" in text
    assert all(one.part in text for one in cold.parts)
    page = render_cold(cold)
    assert page.count("<svg") >= 3
    assert "heater, core" in page
    assert cold.valves == ()
    assert "no coolant valve to set" in text


def test_the_position_of_every_coolant_valve_is_told() -> None:
    """Nothing else is: refrigerant valves and doors do not meet the coolant."""
    cold = cold_flow(load_plant("joined"), (20.0,))
    assert cold.valves == ("join:apart", "bypass:radiator")
    assert "first position: join at apart, bypass at radiator" in cold.as_text().replace("\n", " ")
    assert "Each coolant valve in its first position: join at apart" in render_cold(cold)


def test_the_guide_shows_these_numbers() -> None:
    """The table in docs/guide/cold-coolant.md is that of the shipped plants; make docs writes it."""
    text = PAGE.read_text(encoding="utf-8")
    assert fresh(text) == text
