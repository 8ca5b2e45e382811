"""How long candidates and flow knobs are left alone between looks, held against the settings by hand."""

from __future__ import annotations

from typing import Any

import pytest

from heatwright.dispatch.desk import make_desk
from heatwright.dispatch.settings import load_settings
from heatwright.kernel import dispatch_names as dn
from heatwright.kernel.desk import AIR_ALONE, ASLEEP, longer_asleep
from heatwright.kernel.dispatch import bar_above, rest_of
from heatwright.kernel.work_out import is_as_begun
from heatwright.plant.load import load_plant
from tests.balance.marches import program_of

USUAL = load_settings()


@pytest.fixture
def desk() -> Any:
    found = make_desk(load_plant("plain"), program_of("plain", "winter_day"), USUAL)[0]
    found.kept[dn.H_CURRENT] = AIR_ALONE
    return found


def rests(desk: Any, gap_w: float, times: int) -> list[float]:
    """Return the rests of a candidate that stays so much worse."""
    found = []
    for _ in range(times):
        desk.wait[2] = rest_of(desk, 2, gap_w)
        found.append(float(desk.wait[2]))
    return found


def test_what_is_as_good_as_the_best_never_rests(desk: Any) -> None:
    assert rests(desk, USUAL.near_gap_w, 3) == [0.0, 0.0, 0.0]


def test_what_is_worse_rests_twice_as_long_each_time_up_to_its_most(desk: Any) -> None:
    assert rests(desk, USUAL.near_gap_w + 1.0, 5) == [20.0, 40.0, 80.0, 90.0, 90.0]
    desk.wait[2] = 0.0
    assert rests(desk, USUAL.far_gap_w + 1.0, 6) == [90.0, 180.0, 360.0, 720.0, 960.0, 960.0]


def test_rests_are_two_periods_at_least_in_a_sleeping_car(desk: Any) -> None:
    desk.kept[dn.H_CURRENT], desk.settings[dn.K_PERIOD] = ASLEEP, USUAL.asleep_period_s
    assert rests(desk, USUAL.near_gap_w + 1.0, 2) == [2.0 * USUAL.asleep_period_s] * 2
    assert rest_of(desk, 2, 0.0) == 0.0
    assert longer_asleep(desk, 9999.0) == 9999.0


def test_what_is_far_beyond_the_best_is_not_searched(desk: Any) -> None:
    assert bar_above(desk, 1000.0) == pytest.approx(1000.0 * 1.25 + USUAL.far_gap_w)
    assert bar_above(desk, -1000.0) == pytest.approx(USUAL.far_gap_w - 1000.0)


def test_flows_are_as_begun_until_one_that_counts_is_turned(desk: Any) -> None:
    c = next(c for c in range(2, desk.free.shape[0]) if 0 < desk.free[c].sum() < desk.free.shape[1])
    turns, rests_there = (int((desk.free[c] == flag).argmax()) for flag in (1, 0))
    assert is_as_begun(desk, c)
    desk.knob[c, rests_there] += 0.1
    assert is_as_begun(desk, c)
    desk.knob_least[turns] = desk.knob[c, turns] = desk.knob_start[turns] + 0.05
    assert is_as_begun(desk, c), "held up by what people aboard need"
    desk.knob[c, turns] += 0.05
    assert not is_as_begun(desk, c)
