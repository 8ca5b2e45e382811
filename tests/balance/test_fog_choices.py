"""Dispatch and damp glass: fog priced as likely as it is, water foretold with heaters on, errors learned."""

from __future__ import annotations

from statistics import NormalDist
from typing import Any

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.dispatch.days import day
from heatwright.dispatch.desk import make_desk
from heatwright.dispatch.march import run_dispatch
from heatwright.dispatch.score import score
from heatwright.dispatch.settings import load_settings
from heatwright.kernel import dispatch_names as dn
from heatwright.kernel import march as kernel
from heatwright.kernel import names, plan
from heatwright.kernel.desk import AIR_ALONE, ZERO_K, find_needs
from heatwright.kernel.dispatch import learn_bias
from heatwright.kernel.judge import judge_cabin
from heatwright.physics.moist_air import saturation_humidity_ratio, saturation_pressure
from heatwright.plant.load import load_plant
from heatwright.study.days import many_days
from heatwright.study.stops import settled_case
from heatwright.trip.load import build_case, load_trip

USUAL = load_settings()


@pytest.fixture
def stage() -> Any:
    """Return (program, car, driver row, desk) at the start of the rainy day, its needs found."""
    plant, case = load_plant("plain"), build_case(load_trip("rain_day"))
    program = compile_program(plant, case)
    desk, _, _ = make_desk(plant, program, USUAL)
    now, row = program.start(), program.rows[np.flatnonzero(program.rows[:, names.D_WANTED] > 0.5)[0]]
    kernel.prepare(program.pi, program.pf, now, row)
    find_needs(program.pi, program.pf, now, row, desk)
    return program, now, row, desk


def judged(stage: Any, humidity: float) -> tuple[float, float]:
    """Return (relative humidity, price of damp [W]) of a point with so much humidity at the coldest pane."""
    program, now, row, desk = stage
    desk.end[:] = plan.section(program.pi, now, "tau")
    panes = plan.section(program.pi, program.pi, "zn_glass").astype(int)
    coldest = float(np.min(desk.end[panes])) + ZERO_K
    wet = plan.section(program.pi, now, "wet")
    wet[int(plan.section(program.pi, program.pi, "mz")[0])] = humidity * saturation_humidity_ratio(
        coldest, row[names.D_P]
    )
    judge_cabin(program.pi, now, now, row, desk, AIR_ALONE, desk.trial)
    return float(desk.trial[dn.R_RH]), float(desk.trial[dn.R_DRY])


@pytest.mark.parametrize("humidity", [0.7, 0.85, 0.91, 0.95])
def test_fog_costs_its_price_times_how_likely_it_is(stage: Any, humidity: float) -> None:
    """Against the normal distribution of the standard library."""
    likely = NormalDist(USUAL.fog_from, USUAL.fog_doubt).cdf(humidity)
    assert judged(stage, humidity) == pytest.approx((humidity, USUAL.fog_weight_w * likely), rel=1e-9)


def test_deep_in_fog_drier_is_still_better(stage: Any) -> None:
    """Its own price is full there; a car that saw no way out of fog stayed in it for hours."""
    damper, less_damp = judged(stage, 1.3)[1], judged(stage, 1.2)[1]
    assert damper - less_damp == pytest.approx(0.1 * USUAL.dry_weight_w, rel=1e-3)


def test_half_of_what_was_missed_is_added_to_what_is_foretold(stage: Any) -> None:
    program, now, _, desk = stage
    back = round(USUAL.horizon_s / USUAL.period_s)
    for seen, foretold, learned in ((0.9, 0.82, 0.08), (0.9, 0.95, -0.05), (0.9, 0.5, USUAL.damp_most)):
        desk.need[dn.N_HUMID] = seen
        desk.ring[dn.RING_AIR], desk.ring[dn.RING_DAMP] = 293.15, foretold
        desk.kept[dn.H_RING_COUNT] = float(back)
        for _ in range(200):
            learn_bias(program.pi, now, desk)
        assert desk.kept[dn.H_DAMP_BIAS] == pytest.approx(learned, abs=1e-4)
    assert judged(stage, 0.7)[0] == pytest.approx(0.7 + USUAL.damp_share * USUAL.damp_most, abs=1e-6)


def test_nothing_is_learned_while_nobody_wants_the_cabin(stage: Any) -> None:
    program, now, _, desk = stage
    desk.need[dn.N_HUMID], desk.need[dn.N_WANTED], desk.kept[dn.H_RING_COUNT] = 0.9, 0.0, dn.RING
    learn_bias(program.pi, now, desk)
    assert desk.kept[dn.H_DAMP_BIAS] == 0.0


def test_humidity_is_foretold_with_the_heaters_on() -> None:
    """Heaters behind a cold coil warm the air that comes back to it, and the coil.

    Looked at with the heaters off, the coil took 8 points more than it did and the glass fogged for an hour.
    """
    plant = load_plant("joined")
    case = settled_case([plant], day(455))
    found = run_dispatch(plant, compile_program(plant, case), case)
    dew, glass = (np.asarray(found.run.series[name], float) for name in ("dew_k", "fog_margin_k"))
    at = np.asarray(found.why.t_s)
    aboard = np.asarray(case.steps["occupied"]) > 0.0
    home = at[-1] - 2000.0  # the way home is under way, and nothing starts or ends
    assert aboard[int(home / case.dt_s) :].all()
    late = np.flatnonzero((at > home) & (at < at[-1] - 300.0))
    true = np.array([
        saturation_pressure(dew[k]) / saturation_pressure(dew[k] + glass[k])
        for k in (at[late] / case.dt_s).astype(int)
    ])  # fmt: skip
    foretold = found.why.lines[late, dn.BEST, dn.R_RH]
    assert true.mean() == pytest.approx(foretold.mean(), abs=0.03)
    assert score(found.run, case).fog_kwh < 0.2


@pytest.mark.parametrize(
    ("plant", "seed", "most"),
    [
        ("joined", 559, 0.9), ("joined", 416, 0.95), ("joined", 455, 0.95), ("secondary", 416, 0.95),
        ("plain", 525, 1.0), ("plain", 451, 0.97), ("reversing", 479, 0.8), ("reversing_two_coils", 435, 1.03),
    ],
)  # fmt: skip
def test_damp_days_once_lost_are_won(plant: str, seed: int, most: float) -> None:
    """Sensors that read the glass too dry let it fog; those that read it too damp dried it for nothing."""
    one = many_days(load_plant(plant), [seed]).days[0]
    assert one.ratio("dispatch", "table") < most
