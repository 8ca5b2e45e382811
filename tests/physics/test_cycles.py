"""The shipped speed schedule against the published numbers of its regulation.

Source of every row: United Nations Global Technical Regulation No. 15, Annex 1, class 3b cycle. Distances of
the parts are values from memory; durations, highest speeds and the mean were read in public descriptions. The
sum of all speeds came with the copy of the numbers: it guards the copying, it is no second source.
"""

from __future__ import annotations

import numpy as np
import pytest

from heatwright.trip.schedules import Schedule, read_schedule

PARTS = {  # first and last second, duration [s], distance [m], highest speed [km/h]
    "low": (0, 589, 589, 3095, 56.5),
    "medium": (589, 1022, 433, 4756, 76.6),
    "high": (1022, 1477, 455, 7162, 97.4),
    "extra-high": (1477, 1800, 323, 8254, 131.3),
}


@pytest.fixture(scope="module")
def cycle() -> Schedule:
    return read_schedule("wltc_3b")


@pytest.mark.parametrize("part", [pytest.param(part, id=f"CY-07-{part}") for part in PARTS])
def test_part_of_the_cycle(cycle: Schedule, part: str) -> None:
    first, last, duration_s, distance_m, fastest_km_per_h = PARTS[part]
    inside = slice(first, last + 1)
    t_s, speed = cycle.t_s[inside], cycle.speed_m_per_s[inside]
    assert t_s[-1] - t_s[0] == duration_s
    assert speed[0] == speed[-1] == 0.0
    assert np.sum(0.5 * (speed[1:] + speed[:-1])) == pytest.approx(distance_m, abs=0.5)
    assert speed.max() * 3.6 == pytest.approx(fastest_km_per_h, abs=0.01)


def _mean_km_per_h(cycle: Schedule) -> float:
    return 3.6 * cycle.distance_m / cycle.duration_s


@pytest.mark.parametrize(
    ("value", "published", "tolerance"),
    [
        pytest.param(lambda cycle: cycle.duration_s, 1800.0, 0.0, id="CY-07-duration"),
        pytest.param(lambda cycle: cycle.distance_m, 23266.0, 0.5, id="CY-07-distance"),
        pytest.param(_mean_km_per_h, 46.5, 0.05, id="CY-07-mean-speed"),
        pytest.param(lambda cycle: cycle.speed_m_per_s.max() * 3.6, 131.3, 1e-9, id="CY-07-highest-speed"),
        pytest.param(lambda cycle: np.mean(cycle.speed_m_per_s == 0.0), 0.13, 0.005, id="CY-07-stops"),
        pytest.param(lambda cycle: cycle.speed_m_per_s.sum() * 3.6, 83758.6, 1e-6, id="CY-07-checksum"),
    ],
)
def test_whole_cycle(cycle: Schedule, value, published: float, tolerance: float) -> None:
    assert value(cycle) == pytest.approx(published, abs=tolerance)


def test_every_second_has_a_point(cycle: Schedule) -> None:
    assert np.array_equal(cycle.t_s, np.arange(1801.0))
