"""Readings through sensors: exact without errors, first order in time, noise as declared, the same in any pieces."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from heatwright import books
from heatwright.compiler.build import compile_program
from heatwright.dispatch.days import day
from heatwright.kernel import march as kernel
from heatwright.kernel import plan
from heatwright.kernel.control import read_signals
from heatwright.plant.load import load_plant
from heatwright.sensors import DIRECT, Sensors, load_sensors
from heatwright.simulate import simulate
from heatwright.trip.load import build_case

DAY = 2
SIGNAL = "pack.hottest"


@pytest.fixture(scope="module")
def case() -> Any:
    return build_case(day(DAY))


def sensors_of(**changed: float) -> Sensors:
    base = load_sensors(3)
    kinds = {name: replace(DIRECT, is_kelvin=one.is_kelvin) for name, one in base.kinds.items()}
    return replace(base, kinds={**kinds, "pack_cells": replace(DIRECT, **changed)})


def readings(case: Any, sensors: Sensors, count: int, dt: float) -> tuple[np.ndarray, float]:
    """Return readings of the hottest cells, which jump by 10 K after the first, and where they began [K]."""
    program = compile_program(load_plant("reversing"), case, sensors=sensors)
    w = program.start()
    kernel.prepare(program.pi, program.pf, w, program.rows[0])
    z, sig = plan.section(program.pi, w, "z"), plan.section(program.pi, w, "sig")
    at = program.index.signals.index(SIGNAL)
    place = int(plan.section(program.pi, program.pi, "sg_idx")[at])
    begun, out = float(z[place]), []
    for k in range(count):
        z[place] = begun + (10.0 if k else 0.0)
        read_signals(program.pi, program.pf, w, program.rows[0], dt)
        out.append(float(sig[at]))
    return np.array(out), begun


def test_without_sensors_the_plan_has_none_and_direct_ones_change_no_bit(case: Any) -> None:
    plant = load_plant("reversing")
    bare, direct = compile_program(plant, case), compile_program(plant, case, sensors=sensors_of())
    assert plan.section(bare.pi, bare.pf, "sg_par").size == 0
    assert plan.section(bare.pi, bare.start(), "seen").size == 0
    one, other = simulate(bare, case), simulate(direct, case)
    assert all(np.array_equal(one.series[name], other.series[name], equal_nan=True) for name in one.series)
    assert (one.health["sees"], other.health["sees"]) == ("true state", "sensors")


def test_a_lag_is_of_first_order(case: Any) -> None:
    found, begun = readings(case, sensors_of(lag_s=30.0), 60, 2.0)
    exact = begun + 10.0 * (1.0 - (1.0 + 2.0 / 30.0) ** -np.arange(60.0))
    assert found == pytest.approx(exact, abs=1e-9)


def test_an_offset_is_added_and_nothing_else(case: Any) -> None:
    chosen = sensors_of(error=0.7)
    found, begun = readings(case, chosen, 5, 1.0)
    assert found == pytest.approx(begun + chosen.offset("pack_cells", SIGNAL) + np.array([0, 10, 10, 10, 10]), abs=1e-9)


def test_noise_is_white_and_as_large_as_declared(case: Any) -> None:
    found, begun = readings(case, sensors_of(noise=1.0), 20_001, 1.0)
    flicker = found[1:] - begun - 10.0
    n = flicker.size
    assert np.std(flicker) == pytest.approx(1.0, abs=4.0 / (2 * n) ** 0.5)
    assert abs(np.mean(flicker)) < 4.0 / n**0.5
    for apart in (1, 2, 10):
        assert abs(np.mean(flicker[apart:] * flicker[:-apart])) < 4.0 / n**0.5
    assert np.all(np.abs(flicker) <= 2.0 * 3.0**0.5)


def test_the_average_of_readings_is_calmer(case: Any) -> None:
    found, begun = readings(case, sensors_of(noise=1.0, smoothing_s=10.0), 20_001, 1.0)
    assert found[0] == begun
    settled = found[200:] - begun - 10.0
    share = 1.0 / 11.0
    assert np.std(settled) == pytest.approx((share / (2.0 - share)) ** 0.5, rel=0.06)


def test_a_run_with_noise_can_be_had_again_and_in_pieces(case: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    plant = load_plant("reversing")
    noisy = compile_program(plant, case, sensors=load_sensors(3).with_noise(1.0))
    one = simulate(noisy, case)
    monkeypatch.setattr(books, "MARK_STEPS", 97)
    other = simulate(compile_program(plant, case, sensors=load_sensors(3).with_noise(1.0)), case)
    assert all(np.array_equal(one.series[name], other.series[name], equal_nan=True) for name in one.series)
    elsewhere = simulate(compile_program(plant, case, sensors=load_sensors(4).with_noise(1.0)), case)
    assert not np.array_equal(one.series["t_zone_air_k"], elsewhere.series["t_zone_air_k"])


@pytest.mark.parametrize("name", ["secondary", "joined", "router", "carbon_dioxide"])
def test_every_reading_of_a_plant_begins_at_what_is_there_and_its_offset(case: Any, name: str) -> None:
    plant = load_plant(name)
    program = compile_program(plant, case, sensors=load_sensors(5).without_errors())
    bare = compile_program(plant, case, sensors=replace(load_sensors(5), kinds=sensors_of().kinds))
    read = []
    for one in (program, bare):
        w = one.start()
        kernel.prepare(one.pi, one.pf, w, one.rows[0])
        read_signals(one.pi, one.pf, w, one.rows[0], one.dt_s)
        read.append(plan.section(one.pi, w, "sig").copy())
    assert {"outside.air", "pack.hottest", "glass.margin"} <= set(program.index.signals)
    assert np.array_equal(*read)
