"""The declared sensors, and the errors of one car."""

import statistics

import pytest

from heatwright.sensors import declared_sensors, load_sensors


def test_every_sensor_has_a_place_a_source_and_sane_numbers() -> None:
    for name, one in declared_sensors().items():
        assert one.at, name
        assert one.source in ("common practice", "judgement"), name
        assert min(one.lag_s, one.error, one.noise, one.smoothing_s) >= 0.0, name
    assert declared_sensors()["cabin_air"].is_kelvin
    assert not declared_sensors()["pressure"].is_kelvin


def test_errors_are_drawn_once_for_a_car_and_a_place() -> None:
    one, other = load_sensors(7), load_sensors(8)
    assert one.offset("cabin_air", "cabin.air") == load_sensors(7).offset("cabin_air", "cabin.air")
    assert one.offset("cabin_air", "cabin.air") != other.offset("cabin_air", "cabin.air")
    assert one.offset("cabin_air", "left.air") != one.offset("cabin_air", "right.air")
    assert one.key("left.air") != one.key("right.air")


def test_offsets_have_the_declared_standard_deviation_about_zero() -> None:
    drawn = [load_sensors(seed).offset("coolant", "pack.coolant") for seed in range(2000)]
    error = declared_sensors()["coolant"].error
    assert statistics.stdev(drawn) == pytest.approx(error, rel=0.06)  # 3.8 standard errors of 2000 draws
    assert abs(statistics.fmean(drawn)) < 4.0 * error / 2000**0.5


def test_noise_asked_for_goes_to_temperatures_alone() -> None:
    plain, noisy = load_sensors(1), load_sensors(1).with_noise(1.0)
    assert noisy.of("cabin_air").noise == noisy.of("glass").noise == 1.0
    assert noisy.of("pressure") == plain.of("pressure")
    assert noisy.offset("cabin_air", "cabin.air") == plain.offset("cabin_air", "cabin.air")


def test_without_errors_lag_stays() -> None:
    clean = load_sensors(1).without_errors()
    assert clean.of("pack_cells").lag_s == load_sensors(1).of("pack_cells").lag_s > 0.0
    assert all(one.error == one.noise == 0.0 for one in clean.kinds.values())
    assert clean.of("").is_direct
