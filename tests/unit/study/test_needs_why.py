"""Sentences beside the figures of a sheet: what stood at its limit, what bound a charge, what held the drive unit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from heatwright.plant.load import load_plant
from heatwright.run import Run, Span
from heatwright.simulate import of_circuit
from heatwright.study.needs.clocks import judged
from heatwright.study.needs.figures import FIGURES, Window
from heatwright.study.needs.sheet import Need
from heatwright.study.needs.why import bound, cabin_heaters, conditioned, held_back, why

N = 101
BALANCE = Path(__file__).resolve().parents[2] / "balance" / "files"


def need(figure: str, most: float | None = 600.0, least: float | None = None, **more: object) -> Need:
    return Need("one", "asks", "source", figure, most, least, trip="t", **more)  # type: ignore[arg-type]


def run(**series: object) -> Run:
    """A run of 100 s in which nothing stands at its limit, but for what is given."""
    still = "p_heater_w speed_used_hz compressor_on limit x_blower p_station_w drive_limit".split()
    values = {name: np.zeros(N) for name in still}
    values |= {"wanted": np.ones(N), "occupied": np.ones(N), "t_zone_air_k": np.linspace(270.0, 290.0, N)}
    values |= {name: np.full(N, 280.0) for name in ("t_pack_coldest_k", "t_pack_hottest_k")}
    values |= {"fog_margin_k": np.full(N, 2.0), "drive_share": np.ones(N), "q_pack_w": np.full(N, 360.0)}
    values |= {name: np.broadcast_to(np.asarray(value, float), N) for name, value in series.items()}
    legs = (Span("charge", "fast_charge", 0, N - 1),)
    return Run("Plain", "test", np.arange(float(N)), values, segments=legs)


def test_a_heater_at_its_power_is_named_with_its_share_of_the_time() -> None:
    half = np.where(np.arange(N) > 50, 5500.0 / 0.97, 1000.0)
    assert bound(load_plant("plain"), run(p_heater_w=half), 0, N - 1) == ["heater at its 5.5 kW for 50 % of the time"]
    assert bound(load_plant("plain"), run(p_heater_w=half), 0, 50) == []


def test_a_limit_of_the_circuit_and_the_compressor_are_named_longest_first() -> None:
    found = bound(load_plant("plain"), run(limit=2.0, compressor_on=1.0, speed_used_hz=8000.0 / 60.0), 0, 40)
    assert len(found) == 2
    assert any(one.startswith("discharge pressure at its greatest value for 100 %") for one in found)
    assert any(one.startswith("compressor at its 8000 rpm") for one in found)


def test_every_circuit_is_judged_by_its_own_series() -> None:
    plant = load_plant(BALANCE / "two_circuits.plant.toml")
    still = {of_circuit("pack_compressor", name): 0.0 for name in ("speed_used_hz", "compressor_on", "limit")}
    both = plant.of_kind("compressor")
    assert [part.name for part in both] == ["compressor", "pack_compressor"]
    for number, part in enumerate(both):
        bound_one = {"limit": 2.0, "compressor_on": 1.0, "speed_used_hz": part.values["speed"]}
        named = {of_circuit(part.name, name) if number else name: value for name, value in bound_one.items()}
        found = bound(plant, run(**{**still, **named}), 0, 40)
        assert set(found) == {
            f"{part.name} at its {60.0 * part.values['speed']:.0f} rpm for 100 % of the time",
            f"{'pack_compressor: ' * number}discharge pressure at its greatest value for 100 % of the time",
        }


def test_only_heaters_that_reach_the_cabin_count_for_it() -> None:
    assert [one.name for one in cabin_heaters(load_plant("three_loops"))] == ["heater"]
    assert [one.name for one in cabin_heaters(load_plant("reversing"))] == ["air_heater"]


@pytest.mark.parametrize(
    ("plant", "words"),
    [
        ("plain", "nothing conditions the pack"),
        ("three_loops", "all that reaches the pack: coolant"),
        ("pad_beneath", "all that reaches the pack: mat"),
    ],
)
def test_what_reaches_the_pack(plant: str, words: str) -> None:
    assert conditioned(load_plant(plant)) == words


def test_a_mark_that_is_never_reached_is_a_miss_without_a_margin() -> None:
    cold = run(t_zone_air_k=280.0)
    line = need("warm_up", mark_k=293.15)
    window = FIGURES["warm_up"].find(cold, line)
    assert window == Window(None, 0, N - 1)
    told = judged(line, window, why(load_plant("plain"), cold, line, window))
    assert (told.passed, told.margin) == (False, None)
    assert told.why == "the cabin ends at 7 °C; nothing stood at its limit: control asked for no more"
    idle = why(replace(load_plant("plain"), control=None), cold, line, window)
    assert idle == "the cabin ends at 7 °C; the plant has no control table, so everything stood still"


def test_margins_count_from_the_limit_either_way() -> None:
    late = judged(need("warm_up"), Window(700.0, 0, 1), "")
    assert (late.passed, late.margin) == (False, -100.0)
    for just in (need("warm_up", 600.0), need("warm_up", None, 600.0)):
        assert str(judged(just, Window(600.0, 0, 1), "").margin) == "0.0"
    far = judged(need("range", None, 2e5), Window(2.5e5, 0, 1), "")
    assert (far.passed, far.margin) == (True, 5e4)
    assert judged(need("drive_held_back", 0.0), Window(0.0, 0, 1), "").passed


def test_a_charge_is_timed_from_its_share_and_says_what_bound() -> None:
    soc = np.linspace(0.05, 0.85, N)
    charge = {"segment": "charge", "reached": True, "minutes": 100.0 / 60.0}
    base = run(soc=soc, p_station_w=50e3, p_take_limit_w=40e3, p_pack_w=-40e3)
    one = Run(base.plant_name, base.trip_name, base.t_s, base.series, segments=base.segments,
              summary={"charges": [charge]})  # fmt: skip
    line = need("charge", stop="charge", share=0.10)
    window = FIGURES["charge"].find(one, line)
    assert window.value == pytest.approx(93.0)
    told = why(load_plant("plain"), one, line, window)
    assert told.startswith("mean 50 kW; what the cells may take bound for 100 % of the time, from 7 to 7 °C")
    late = FIGURES["charge"].find(one, need("charge", stop="charge", share=0.01))
    assert late.value == pytest.approx(100.0)
    assert "counted from 5 %" in why(load_plant("plain"), one, need("charge", stop="charge", share=0.01), late)


def test_a_drive_unit_held_back_names_the_temperature() -> None:
    base = run(drive_share=np.linspace(1.0, 0.4, N))
    hot = Run(base.plant_name, base.trip_name, base.t_s, base.series, health={"drive_held_back_s": {"winding": 90.0}})
    assert held_back(hot) == "winding too hot for 1.5 min; down to 40 % of its torque"
    assert held_back(base) == ""


def test_fogged_glass_says_how_long_and_when_last() -> None:
    fog = np.where(np.arange(N) > 60, -1.0, 2.0)
    told = why(load_plant("plain"), run(fog_margin_k=fog), need("glass_clear", None, 0.9), Window(0.6, 0, N - 1))
    assert told == "fogged for 40 s, last at minute 2"
    longer = run(fog_margin_k=np.where(np.arange(N) > 10, -1.0, 2.0))
    told = why(load_plant("plain"), longer, need("glass_clear", None, 0.9), Window(0.6, 0, N - 1))
    assert told == "fogged for 2 min, last at minute 2"
    clear = why(load_plant("plain"), run(), need("glass_clear", None, 0.9), Window(1.0, 0, N - 1))
    assert clear == "the coldest glass stays 2.0 K above the dew point or more"
