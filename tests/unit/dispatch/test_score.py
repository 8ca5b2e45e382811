"""The score of a day, against a made-up day of two and a half hours that can be added up by hand."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from heatwright.dispatch.score import Score, score
from heatwright.physics.moist_air import saturation_pressure
from heatwright.run import Run, Span

DT_S = 60.0
DRIVE, STAND, CHARGE = 60, 60, 30  # steps of a minute
N = DRIVE + STAND + CHARGE
SEGMENTS = (
    Span("out", "drive", 0, DRIVE),
    Span("stand", "park", DRIVE, DRIVE + STAND),
    Span("fill", "fast_charge", DRIVE + STAND, N),
)
USES = {"traction": 9.0, "pack_reversible": 0.3, "compressor": 1.5, "air_heater": 0.5, "fan": 0.25, "low_voltage": 0.4}
CALM = {
    "t_zone_air_k": 294.15, "fog_margin_k": 5.0, "dew_k": 280.0, "soc": 0.5, "t_pack_hottest_k": 297.0,
    "t_pack_coldest_k": 295.0, "t_charge_best_k": 303.15, "p_friction_brake_w": 0.0, "mode": 2.0,
}  # fmt: skip


def case() -> Any:
    aboard = np.ones(N)
    aboard[DRIVE : DRIVE + STAND] = 0.0
    fast = np.zeros(N)
    fast[DRIVE + STAND :] = 1.0
    steps = {"occupied": aboard, "t_setpoint_k": np.full(N, 294.15), "fast": fast, "charge_to": 0.8 * fast}
    return SimpleNamespace(dt_s=DT_S, n=N, steps=steps, segments=SEGMENTS)


def run(**changed: Any) -> Run:
    """A calm day: nothing in it costs but the uses and the half hour at the station, where no charge goes in."""
    series = {name: np.full(N + 1, value) for name, value in CALM.items()}
    for name, (first, last, value) in changed.items():
        series[name][1 + first : 1 + last] = value
    return Run("car", "day", np.arange(N + 1) * DT_S, series, segments=SEGMENTS, energy_kwh=USES)


def scored(**changed: Any) -> Score:
    return score(run(**changed), case())


def test_a_calm_day_costs_its_uses_and_its_wait() -> None:
    calm = scored()
    assert calm.uses_kwh == {"compressor": 1.5, "air_heater": 0.5, "fan": 0.25, "low_voltage": 0.4}
    assert calm.energy_kwh == pytest.approx(2.65)
    assert calm.charge_min == 30.0
    assert calm.waiting_kwh == pytest.approx(3.0)  # 6 kW for half an hour
    assert calm.score_kwh == pytest.approx(5.65)
    assert (calm.discomfort_kwh, calm.fog_kwh, calm.ageing_kwh, calm.regen_lost_kwh) == (0.0, 0.0, 0.0, 0.0)
    assert calm.switches_per_h == 0.0
    assert calm.vetoes == ()


def test_a_charge_that_is_there_is_not_waited_for() -> None:
    filled = scored(soc=(DRIVE + STAND + 10, N, 0.8))
    assert filled.charge_min == 10.0
    assert filled.waiting_kwh == pytest.approx(1.0)


@pytest.mark.parametrize(("error_k", "beyond_k"), [(3.0, 2.0), (-3.0, 2.0), (0.9, 0.0)])
def test_a_kelvin_beyond_the_band_costs_400_w(error_k: float, beyond_k: float) -> None:
    off = scored(t_zone_air_k=(0, 30, 294.15 + error_k))
    assert off.discomfort_kh == pytest.approx(0.5 * beyond_k)
    assert off.discomfort_kwh == pytest.approx(0.4 * 0.5 * beyond_k)


def test_nobody_aboard_nobody_minds() -> None:
    away = scored(t_zone_air_k=(DRIVE, DRIVE + STAND, 260.0), fog_margin_k=(DRIVE, DRIVE + STAND, -3.0))
    assert away.score_kwh == scored().score_kwh


@pytest.mark.parametrize("dew_k", [258.15, 280.0, 293.15])
@pytest.mark.parametrize(("humidity", "hours"), [(0.96, 0.0), (0.98, 0.25), (1.05, 0.25)])
def test_damp_glass_costs_2_kw_by_its_humidity(dew_k: float, humidity: float, hours: float) -> None:
    """The glass is put where the air at it has the humidity asked for: saturated at the dew point, less above it."""
    low, high = dew_k - 5.0, dew_k + 5.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        above = saturation_pressure(dew_k) / saturation_pressure(middle) > humidity
        low, high = (middle, high) if above else (low, middle)
    day = run(fog_margin_k=(5, 20, low - dew_k), dew_k=(5, 20, dew_k))
    assert score(day, case()).fog_kwh == pytest.approx(2.0 * hours)


def test_warm_cells_age() -> None:
    warm = scored(t_pack_hottest_k=(0, 60, 309.15), t_pack_coldest_k=(0, 60, 307.15))  # 35 degC on the mean
    assert warm.ageing_kwh == pytest.approx(0.25)  # one doubling: 250 W for an hour
    warmer = scored(t_pack_hottest_k=(0, 60, 318.15), t_pack_coldest_k=(0, 60, 318.15))  # 45 degC
    assert warmer.ageing_kwh == pytest.approx(0.75)


def test_braking_is_lost_to_cold_cells_alone() -> None:
    braked = {"p_friction_brake_w": (0, 6, 20e3)}  # 2 kWh
    assert scored(**braked).regen_lost_kwh == pytest.approx(2.0)
    assert scored(**braked, t_pack_coldest_k=(0, 6, 304.0)).regen_lost_kwh == 0.0
    assert scored(**braked, soc=(0, 6, 0.97)).regen_lost_kwh == 0.0


def test_switches_count_while_people_are_aboard() -> None:
    day = run(mode=(10, 20, 3.0))
    day.series["mode"][1 + DRIVE : 1 + DRIVE + STAND : 2] = 5.0
    assert score(day, case()).switches_per_h == pytest.approx(2 / 1.5)  # there and back, in an hour and a half


def test_nobody_ever_aboard() -> None:
    empty = case()
    empty.steps["occupied"][:] = 0.0
    assert score(run(), empty).switches_per_h is None


def test_vetoes() -> None:
    assert scored(soc=(50, 60, 0.01)).vetoes == ("drained pack",)
    assert scored(t_zone_air_k=(30, 60, 285.0)).vetoes == ("unheated cabin from 'out' on",)
    assert scored(t_zone_air_k=(0, 30, 270.0)).vetoes == ()  # warm in its second half
    assert scored(t_zone_air_k=(0, 60, 287.0)).vetoes == ()  # cool, but heated
    assert scored(t_zone_air_k=(DRIVE, DRIVE + STAND, 260.0)).vetoes == ()  # nobody aboard
    short = case()
    short.steps["occupied"][20:] = 0.0
    assert score(run(t_zone_air_k=(0, 60, 270.0)), short).vetoes == ()  # too short to be judged
