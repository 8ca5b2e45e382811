"""Dispatch through sensors: what the observer makes of the car, and what of errors and a wrong model."""

from typing import Any

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.dispatch.days import day
from heatwright.dispatch.march import Dispatched, run_dispatch
from heatwright.dispatch.observer import Observer
from heatwright.dispatch.score import score
from heatwright.kernel import march as kernel
from heatwright.kernel import names, plan
from heatwright.modes.atlas import build_atlas
from heatwright.plant.load import load_plant
from heatwright.sensors import Sensors, load_sensors
from heatwright.trip.load import build_case

DAY = 2


@pytest.fixture(scope="module")
def case() -> Any:
    return build_case(day(DAY))


@pytest.fixture(scope="module")
def plant() -> Any:
    return load_plant("reversing")


@pytest.fixture(scope="module")
def atlas(plant: Any) -> Any:
    return build_atlas(plant)


def dispatched(plant: Any, case: Any, atlas: Any, sensors: Sensors | None, **more: Any) -> Dispatched:
    return run_dispatch(plant, compile_program(plant, case, sensors=sensors), case, atlas, **more)


def errors_k(plant: Any, case: Any, atlas: Any, monkeypatch: pytest.MonkeyPatch, **more: Any) -> dict[str, float]:
    """Return how far the observer lies off each node of the car, root mean square over a day [K]."""
    found: list[Any] = []
    march = Observer.follow

    def follow(self: Observer, car: Any, *rest: Any) -> None:
        march(self, car, *rest)
        pi = self.program.pi
        found.append(plan.section(pi, self.work, "tau") - plan.section(pi, car, "tau"))

    monkeypatch.setattr(Observer, "follow", follow)
    ran = run_dispatch(
        plant, program := compile_program(plant, case, sensors=load_sensors(1).without_errors()), case, atlas, **more
    )
    assert len(found) >= ran.decisions > 100
    return dict(zip(program.index.nodes, np.sqrt(np.mean(np.square(found), axis=0)).tolist(), strict=True))


def test_with_sensors_that_only_lag_the_observer_knows_the_car(
    plant: Any, case: Any, atlas: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    off = errors_k(plant, case, atlas, monkeypatch)
    assert off["cabin.air"] < 0.4
    assert off["pack.cells_1"] < 0.05
    assert off["drive.rotor"] < 0.1  # no sensor there


def test_with_a_wrong_model_what_is_read_stays_near_and_the_rest_drifts(
    plant: Any, case: Any, atlas: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    right = errors_k(plant, case, atlas, monkeypatch)
    wrong = errors_k(plant, case, atlas, monkeypatch, model_error={"cabin": 1.3})
    assert wrong["cabin.air"] < 0.4
    assert wrong["cabin.shell"] > 3.0 * right["cabin.shell"]


def test_an_observer_that_is_off_is_drawn_to_the_readings(plant: Any, case: Any) -> None:
    program = compile_program(plant, case, sensors=load_sensors(1).without_errors())
    car = program.start()
    kernel.prepare(program.pi, program.pf, car, program.rows[0])
    watch = Observer(program, program.sensors or load_sensors(1))
    cells = plan.section(program.pi, program.pi, "pk_n").astype(int)
    tau = plan.section(program.pi, car, "tau")
    u, body = plan.section(program.pi, car, "u"), plan.section(program.pi, program.pf, "body").reshape(-1, 5)
    tau[cells] += 8.0
    u[cells] += 8.0 * body[cells, 0] * body[cells, 1]
    kernel.derive(program.pi, car, program.rows[0])
    seen = plan.section(program.pi, watch.work, "tau")
    assert np.all(np.abs(seen[cells] - tau[cells]) > 7.9)
    watch.begin(car)
    assert seen[cells] == pytest.approx(tau[cells], abs=0.01)


def test_the_car_knows_outside_air_and_its_humidity_only_by_its_sensor(plant: Any, case: Any) -> None:
    sensors = load_sensors(1)
    program = compile_program(plant, case, sensors=sensors)
    car = program.start()
    kernel.prepare(program.pi, program.pf, car, program.rows[0])
    watch = Observer(program, sensors)
    watch.begin(car)
    row, known = program.rows[0], watch.known(program.rows[:1], car)[0]
    off = sensors.offset("outside_air", "outside.air")
    assert known[names.D_TAU] - row[names.D_TAU] == pytest.approx(off, abs=1e-9)
    assert known[names.D_W] != row[names.D_W]
    for column in (names.D_SETPOINT, names.D_WANTED, names.D_PEOPLE, names.D_WHEEL, names.D_P):
        assert known[column] == row[column]


def test_while_it_rains_the_wipers_tell_how_humid_it_is(plant: Any, case: Any) -> None:
    sensors = load_sensors(1)
    program = compile_program(plant, case, sensors=sensors)
    car = program.start()
    kernel.prepare(program.pi, program.pf, car, program.rows[0])
    rain = np.zeros(program.rows.shape[0])
    rain[5:] = 1.0
    watch = Observer(program, sensors, rain=rain)
    watch.begin(car)
    dry, wet = (watch.known(program.rows[:1], car, at)[0, names.D_W] for at in (4, 5))
    assert wet / dry == pytest.approx(sensors.humidity_in_rain / sensors.outside_humidity)
    assert 0.9 < sensors.humidity_in_rain < 1.0


def test_a_run_says_what_its_dispatch_saw_and_can_be_had_again(plant: Any, case: Any, atlas: Any) -> None:
    told = dispatched(plant, case, atlas, None)
    one, other = (dispatched(plant, case, atlas, load_sensors(1).with_noise(1.0)) for _ in range(2))
    assert told.run.health["sees"] == "true state"
    assert one.run.health["sees"] == "sensors"
    assert all(np.array_equal(one.run.series[name], other.run.series[name], equal_nan=True) for name in one.run.series)
    assert one.why.switches() == other.why.switches()


def test_noise_of_a_kelvin_neither_ruins_a_day_nor_makes_it_switch(plant: Any, case: Any, atlas: Any) -> None:
    told, noisy = (dispatched(plant, case, atlas, s) for s in (None, load_sensors(1).with_noise(1.0)))
    before, after = score(told.run, case), score(noisy.run, case)
    assert after.score_kwh < 1.15 * before.score_kwh
    assert after.switches_per_h is not None
    assert after.switches_per_h <= 20.0


def test_a_wrong_model_needs_a_name_that_is_there_and_sensors(plant: Any, case: Any, atlas: Any) -> None:
    with pytest.raises(ValueError, match="no conductance to outside of 'boot'; there are those of cabin"):
        dispatched(plant, case, atlas, load_sensors(1), model_error={"boot": 2.0})
    with pytest.raises(ValueError, match="needs sensors"):
        dispatched(plant, case, atlas, None, model_error={"cabin": 1.3})
