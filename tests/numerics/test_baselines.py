"""The right-hand sides that the benchmarks set beside the march: written twice, and equal."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest

from benchmarks import cases
from benchmarks.compiled import CompiledModel, march_given
from benchmarks.engineer import Engineer, saturated_humidity
from heatwright.kernel import names, plan
from heatwright.physics import moist_air

RATE_K_PER_S = 1e-5  # property tables and the circuit's own tolerance; 1e-6 is usual
SECONDS = 600
REVERSING = ("reversing", cases.HOUR, 1500)
PLAIN = ("plain", cases.HOUR, 1500)


@lru_cache(maxsize=4)
def recorded(plant: str, trip: str, first: int) -> tuple[cases.Stretch, cases.Record]:
    stretch = cases.stretch_of(plant, trip, first, first + SECONDS, lumps=True)
    return stretch, cases.record_of(stretch)


def both(case: tuple[str, str, int], step: int, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The rates of both right-hand sides in one step at one state."""
    stretch, record = recorded(*case)
    compiled = np.zeros(x.size)
    t_s = (step + 0.5) * stretch.dt_s
    CompiledModel(stretch, record).rates(t_s, x, compiled)
    return Engineer(stretch, record).rates(t_s, x), compiled


def same(script: np.ndarray, compiled: np.ndarray, n: int) -> None:
    """Rates of n temperatures within RATE_K_PER_S, charge and humidities within 2e-5 of themselves."""
    np.testing.assert_allclose(script[:n], compiled[:n], atol=RATE_K_PER_S, rtol=0.0)
    np.testing.assert_allclose(script[n:], compiled[n:], rtol=2e-5, atol=1e-9)


@pytest.mark.parametrize("case", [REVERSING, PLAIN], ids=["reversing", "plain"])
@pytest.mark.parametrize("step", [0, 30, 150, 330, 599])
def test_two_right_hand_sides_agree_along_the_drive(case: tuple[str, str, int], step: int) -> None:
    stretch, record = recorded(*case)
    tau = march_given(stretch, record)
    x = cases.start_state(stretch)
    if step:
        x[: tau.shape[1]] = tau[step - 1] + cases.ZERO_C
    script, compiled = both(case, step, x)
    assert np.max(np.abs(compiled[: tau.shape[1]])) > 0.01
    same(script, compiled, tau.shape[1])


@pytest.mark.parametrize("trial", range(4))
def test_two_right_hand_sides_agree_off_the_way(trial: int) -> None:
    """Away from the march's own states: every node moved by up to 4 K, charge and humidity changed."""
    stretch, _ = recorded(*REVERSING)
    chance = np.random.default_rng(trial)
    x = cases.start_state(stretch)
    n = len(stretch.program.index.nodes)
    x[:n] += chance.uniform(-4.0, 4.0, n)
    x[n] = chance.uniform(0.2, 0.8)
    x[n + 1 :] *= chance.uniform(0.5, 2.0, x.size - n - 1)
    same(*both(REVERSING, int(chance.integers(0, SECONDS)), x), n)


def test_two_right_hand_sides_agree_while_water_condenses() -> None:
    """The reversing valve turned to cooling in a warm, damp car: the coil is cold and takes water out."""
    stretch, record = recorded(*REVERSING)
    index = stretch.program.index
    act = record.act.copy()
    act[:, index.actuators.index("reverser:heat")] = 0.0
    act[:, index.actuators.index("reverser:cool")] = 1.0
    turned = cases.Record(act, record.mdot, record.g, record.pdev)
    x = cases.start_state(stretch)
    n = len(index.nodes)
    x[:n] = 295.15
    x[index.node_place["cabin_coil.wall"]] = 281.15
    x[index.node_place["outdoor_coil.wall"]] = 303.15
    x[n + 1 :] = 0.012
    compiled = np.zeros(x.size)
    model = CompiledModel(stretch, turned)
    model.rates(300.5, x, compiled)
    w = model.fixed[2]
    assert plan.section(stretch.program.pi, w, "z")[names.Z_ON] == 1.0
    assert plan.section(stretch.program.pi, w, "z")[names.Z_WATER] > 1e-5
    script = Engineer(stretch, turned).rates(300.5, x)
    np.testing.assert_allclose(script[:n], compiled[:n], atol=5e-5, rtol=1e-5)  # 3e-5 in the vapour pressure
    np.testing.assert_allclose(script[n:], compiled[n:], rtol=1e-4, atol=1e-7)


@pytest.mark.parametrize("t_c", [-20.0, -1.0, 5.0, 40.0])
def test_the_scripts_own_humidity_is_the_published_one(t_c: float) -> None:
    """Hyland and Wexler's equations as printed, against the package's fit to them (3e-5)."""
    own = saturated_humidity(t_c + 273.15, 95e3)
    assert own == pytest.approx(moist_air.saturation_humidity_ratio(t_c + 273.15, 95e3), rel=6e-5)


def test_the_march_with_given_flows_is_the_march() -> None:
    """What the errors are measured on is what the times are measured on."""
    stretch, record = recorded(*REVERSING)
    out = cases.march(stretch, False, record.act, stretch.columns("tau"))
    np.testing.assert_allclose(march_given(stretch, record), out.record, atol=2e-5)


def test_given_flows_make_the_step_converge() -> None:
    """Half the step, half the error of the normal step; the high one is far nearer at once."""
    stretch, record = recorded(*REVERSING)
    short = cases.Stretch(stretch.program, stretch.rows[:120], stretch.w, stretch.dt_s)
    record = cases.Record(*(getattr(record, k)[:120] for k in ("act", "mdot", "g", "pdev")))
    fine = march_given(short, record, True, 16)
    rms = [np.sqrt(np.mean((march_given(short, record, False, k) - fine) ** 2)) for k in (1, 2)]
    high = np.sqrt(np.mean((march_given(short, record, True) - fine) ** 2))
    assert rms[1] / rms[0] == pytest.approx(0.5, abs=0.1)
    assert high < 0.2 * rms[0]
