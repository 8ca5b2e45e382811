"""Axes: round ticks, and a time axis that shortens long stops and says so."""

import numpy as np
import pytest

from heatwright.draw.axes import TICK_GAP_PX, TimeAxis, ValueAxis, clock, round_ticks, span_words, tick_words
from heatwright.run import Span


@pytest.mark.parametrize(("low", "high"), [(0.0, 1.0), (-7.3, 61.2), (0.0, 3e-4), (1e6, 4.7e6), (-0.2, 0.1)])
def test_ticks_are_round_and_hold_the_values(low: float, high: float) -> None:
    ticks = round_ticks(low, high)
    assert ticks[0] <= low + 1e-9 * abs(low)
    assert ticks[-1] >= high - 1e-9 * abs(high)
    steps = np.diff(ticks)
    assert np.allclose(steps, steps[0])
    lead = steps[0] / 10 ** np.floor(np.log10(steps[0]))
    assert min(abs(lead - m) for m in (1, 2, 2.5, 5, 10)) < 1e-9
    assert 3 <= len(ticks) <= 9


@pytest.mark.parametrize("value", [0.0, 5.0, -273.0])
def test_a_flat_series_still_has_an_axis(value: float) -> None:
    ticks = round_ticks(value, value)
    assert ticks[0] < value < ticks[-1]


def test_no_finite_value_still_has_an_axis() -> None:
    axis = ValueAxis.over([np.full(3, np.nan)], 10, 100, zero=False)
    assert np.isfinite(axis.ticks).all()


def test_tick_words_have_just_the_digits_needed() -> None:
    assert tick_words([0.0, 2.5, 5.0]) == ["0.0", "2.5", "5.0"]
    assert tick_words([-20.0, 0.0, 20.0]) == ["−20", "0", "20"]


def test_value_axis_runs_from_bottom_to_top() -> None:
    axis = ValueAxis.over([np.array([2.0, 9.0])], 10.0, 110.0, zero=True)
    assert axis.ticks[0] == 0.0
    assert axis.at(np.array([axis.ticks[0], axis.ticks[-1]])).tolist() == [110.0, 10.0]


def day(stop_s: int, kind: str = "park") -> tuple[np.ndarray, tuple[Span, ...]]:
    edges = [0, 1800, 1800 + stop_s, 3600 + stop_s]
    spans = tuple(
        Span(name, kind if name == "stop" else "drive", a, b)
        for name, a, b in zip(("out", "stop", "back"), edges[:-1], edges[1:], strict=True)
    )
    return np.arange(edges[-1] + 1.0), spans


def test_a_long_stop_is_drawn_shorter_and_only_a_stop() -> None:
    t, legs = day(36000)
    axis = TimeAxis.over(t, legs, 0, 700)
    assert axis.squeezed == (False, True, False)
    drive_px, stop_px = axis.knots_px[1] - axis.knots_px[0], axis.knots_px[2] - axis.knots_px[1]
    assert stop_px < 0.2 * drive_px * 20
    assert drive_px > 0.2 * 700
    t, legs = day(36000, kind="drive")
    assert not any(TimeAxis.over(t, legs, 0, 700).squeezed)


def test_a_trip_without_long_stops_is_straight() -> None:
    t, legs = day(600)
    axis = TimeAxis.over(t, legs, 0, 700)
    assert not any(axis.squeezed)
    assert float(axis.at(t[-1] / 2)) == pytest.approx(350)


@pytest.mark.parametrize("stop_s", [60, 7000, 36000, 800000])
def test_ticks_never_crowd_and_tell_the_time(stop_s: int) -> None:
    t, legs = day(stop_s)
    axis = TimeAxis.over(t, legs, 50, 780)
    ticks = axis.ticks()
    assert len(ticks) >= 3
    assert min(np.diff([x for x, _ in ticks])) >= TICK_GAP_PX
    for x, words in ticks:
        hours, minutes = map(int, words.split(":"))
        assert float(axis.at(hours * 3600 + minutes * 60)) == pytest.approx(x, abs=1e-6)


def test_time_in_words() -> None:
    assert clock(0) == "0:00"
    assert clock(34200) == "9:30"
    assert span_words(45) == "45 s"
    assert span_words(720) == "12 min"
    assert span_words(11100) == "3 h 05 min"
    assert span_words(7170) == "2 h 00 min"
