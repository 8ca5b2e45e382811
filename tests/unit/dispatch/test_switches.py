"""One count of switches: that of the score, of the why-record, of a run's health and of a row of a comparison."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from heatwright.dispatch.rules import Rules
from heatwright.dispatch.score import score
from heatwright.dispatch.switches import per_hour, switched, switches_of
from heatwright.dispatch.why import FILE, from_folder
from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.study.dispatched import dispatched
from heatwright.study.service import row_of
from heatwright.trip.load import build_case, load_trip


def made(modes: list[int], names: tuple[str, ...]) -> Run:
    return Run("car", "day", np.arange(len(modes)) * 60.0, {"mode": np.array(modes, float)}, mode_names=names)


def test_edges_of_occupancy_the_start_and_waking_do_not_count() -> None:
    """First the state before the first step; people from the third step to the seventh see 2 to 3, asleep, 4, 5."""
    modes = [9, 1, 1, 2, 3, 0, 4, 5, 6]
    aboard = np.array([False, False, True, True, True, True, True, False])
    assert switches_of(made(modes, ("asleep", "air alone")), aboard) == 2
    assert switches_of(made(modes, ("heat", "cool")), aboard) == 4
    assert per_hour(2, aboard, 60.0) == pytest.approx(24.0)
    assert per_hour(0, np.zeros(8, bool), 60.0) is None


def test_nothing_switches_in_no_time() -> None:
    assert switched(np.zeros(0), np.zeros(0, bool)).size == 0
    assert switched(np.array([3]), np.array([True])).size == 0


@pytest.mark.parametrize(
    ("name", "day", "strategy"), [("router", "arctic_night", None), ("reversing", "winter_day", Rules())]
)
def test_four_places_tell_the_same_count(name: str, day: str, strategy: Rules | None, tmp_path: Path) -> None:
    trip = load_trip(day)
    found = dispatched(load_plant(name), trip, strategy=strategy)
    case = build_case(trip)
    hours = float(np.sum(case.steps["occupied"] > 0)) * case.dt_s / 3600.0
    assert 0.0 < hours < float(np.sum(case.steps["wanted"] > 0)) * case.dt_s / 3600.0
    count = len(found.why.switches())
    assert count > 0
    assert found.run.health["switches"] == count
    assert score(found.run, case).switches_per_h == pytest.approx(count / hours)
    assert row_of(found.run)["switches_per_h"] == pytest.approx(count / hours)
    (tmp_path / FILE).write_bytes(found.why.as_bytes())
    assert from_folder(tmp_path).switches() == found.why.switches()
