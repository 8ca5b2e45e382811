"""What is done round a decision, held against the same in numpy or by hand."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from heatwright.dispatch.desk import make_desk
from heatwright.dispatch.march import BLUR_S, BLURRED, EVENTS, make_way, stops_of
from heatwright.dispatch.settings import load_settings
from heatwright.kernel import dispatch_names as dn
from heatwright.kernel import names, period
from heatwright.kernel.desk import ASLEEP, BLOWER, INLET
from heatwright.plant.load import load_plant
from tests.balance.marches import program_of


@pytest.fixture(scope="module")
def made() -> Any:
    """A desk and the way of a trip at its beginning."""
    plant, program, settings = load_plant("plain"), program_of("plain", "winter_day"), load_settings()
    desk, _, _ = make_desk(plant, program, settings)
    return SimpleNamespace(
        program=program, settings=settings, desk=desk, fresh=lambda: make_way(program, desk, settings, True)
    )


def test_a_period_ends_where_something_begins_or_ends() -> None:
    rows = np.zeros((9, len(names.DRIVERS)))
    rows[3:5, EVENTS[0]] = 1.0
    rows[7:, EVENTS[1]] = 1.0
    assert stops_of(rows).tolist() == [3, 3, 3, 5, 5, 7, 7, 9, 9]


def test_driving_is_known_as_of_the_last_minutes_and_weather_as_it_is(made: Any) -> None:
    way, rows = made.fresh(), made.program.rows
    driven = np.ascontiguousarray(rows[600:611])
    before = way.ahead.copy()
    period.blur(way, driven)
    part = way.pace[period.P_PERIOD] / (BLUR_S + way.pace[period.P_PERIOD])
    expected = driven[-1].copy()
    expected[BLURRED] = before[BLURRED] + part * (driven[:, BLURRED].mean(axis=0) - before[BLURRED])
    np.testing.assert_allclose(way.ahead, expected, rtol=1e-14)


def test_the_best_three_are_noted_in_order_and_never_what_was_not_looked_at(made: Any) -> None:
    way, desk = made.fresh(), made.desk
    n, needs = desk.rows.shape[0], desk.need.size
    room = period.Notes(
        np.zeros(2), np.zeros(2, np.uint32), np.zeros((2, dn.BEST), np.int32),
        np.zeros((2, dn.BEST + 1, dn.N_ROW), np.float32), np.zeros((2, needs)),
    )  # fmt: skip
    rng = np.random.default_rng(5)
    desk.rows[:, dn.R_SCORE] = rng.permutation(n) * 10.0
    period.note_choice(desk, way, room, 0, ASLEEP, 2, 30.0)
    assert room.best[0].tolist() == np.argsort(desk.rows[:, dn.R_SCORE], kind="stable")[: dn.BEST].tolist()
    assert room.lines[0, dn.BEST, dn.R_SCORE] == desk.rows[2, dn.R_SCORE]
    assert (room.t_s[0], room.chosen[0]) == (30.0, 2)
    desk.rows[:, dn.R_SCORE] = 2.0 * dn.IMPOSSIBLE_W
    desk.rows[[4, 1], dn.R_SCORE] = 7.0, 7.0
    period.note_choice(desk, way, room, 1, 2, 1, 40.0)
    assert room.best[1].tolist() == [1, 4, -1]


def test_switches_beyond_the_free_ones_raise_the_bar_until_they_are_long_past(made: Any) -> None:
    way, desk, usual = made.fresh(), made.desk, made.settings
    room = period.Notes(
        np.zeros(9), np.zeros(9, np.uint32), np.zeros((9, dn.BEST), np.int32),
        np.zeros((9, dn.BEST + 1, dn.N_ROW), np.float32), np.zeros((9, desk.need.size)),
    )  # fmt: skip
    free = int(way.pace[period.P_FREE])
    for k in range(free + 2):
        period.note_choice(desk, way, room, k, 1 + k % 2, 2 - k % 2, 60.0 * k)
    period.note_choice(desk, way, room, free + 2, 2, ASLEEP, 60.0 * (free + 2))
    for now_s, beyond in ((60.0 * (free + 2), 2), (usual.switch_span_s + 30.0, 1), (usual.switch_span_s + 3600.0, 0)):
        period.raise_bar(desk, way, now_s)
        assert desk.kept[dn.H_BAR] == pytest.approx(usual.regret_j * usual.switch_growth**beyond)
        assert desk.settings[dn.K_REGRET] == usual.regret_j, "what falling asleep costs"


def test_people_aboard_have_their_least_of_air(made: Any) -> None:
    desk, row = made.desk, np.zeros(len(names.DRIVERS))
    row[names.D_WANTED] = row[names.D_OCCUPIED] = 1.0
    desk.knob[:] = 0.0
    period.set_limits(desk, row)
    for k, kind in enumerate(desk.knob_kind):
        least = {BLOWER: desk.settings[dn.K_BLOWER_LEAST], INLET: desk.settings[dn.K_FRESH]}.get(int(kind), 0.0)
        assert (desk.knob[:, k] == least).all()
        assert desk.knob_least[k] == least or kind not in (BLOWER, INLET)


def test_the_record_of_a_sleeping_car_runs_straight() -> None:
    record, ends = np.zeros((9, 2), np.float32), np.array([[8.0, 3.0], [4.0, 5.0]], np.float32)
    record[0] = (0.0, 3.0)
    period.draw_straight(record, 4, ends, 1, 0.0)
    assert record[:, 0].tolist() == [0.0, 2.0, 4.0, 6.0, 8.0, 7.0, 6.0, 5.0, 4.0]
    assert record[:, 1].tolist() == [3.0, 0.0, 0.0, 0.0, 3.0, 0.0, 0.0, 0.0, 5.0]
    rows, out = np.arange(18.0).reshape(6, 3), np.zeros((2, 3))
    period.mean_rows(rows, 3, out)
    np.testing.assert_array_equal(out, [rows[:3].mean(axis=0), rows[3:].mean(axis=0)])
