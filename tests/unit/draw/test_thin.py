"""Thinning keeps every extreme that the eye can see, and little else."""

import numpy as np
import pytest

from heatwright.draw.thin import columns, path


def long_series() -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(7)
    return np.linspace(54.0, 780.0, 35_001), rng.normal(0, 1, 35_001).cumsum()


def test_each_column_keeps_its_least_and_greatest() -> None:
    x, y = long_series()
    x_thin, y_thin = columns(x, y)
    for column in (54, 300, 779):
        of_all, of_thin = y[np.floor(x) == column], y_thin[x_thin == column]
        assert of_thin.min() == of_all.min()
        assert of_thin.max() == of_all.max()
    assert len(x_thin) <= 4 * 727
    assert np.all(np.diff(x_thin) >= 0)


def test_one_spike_survives() -> None:
    x = np.linspace(0, 700, 35_001)
    y = np.zeros_like(x)
    y[12_345] = 50.0
    _, y_thin = columns(x, y)
    assert y_thin.max() == 50.0


def test_a_short_series_is_left_alone() -> None:
    x, y = np.linspace(0, 700, 50), np.arange(50.0)
    x_thin, y_thin = columns(x, y)
    assert np.array_equal(x, x_thin)
    assert np.array_equal(y, y_thin)


def test_a_step_stays_upright() -> None:
    """A series that jumps within one column must not become a slope over the columns before it."""
    x = np.linspace(0, 700, 35_001)
    y = np.where(x < 350.5, 100.0, 20.0)
    points = path(*columns(x, y))
    assert points == "M0 100L350 100L350 20L700 20"


def test_a_gap_breaks_the_line() -> None:
    x = np.linspace(0, 700, 35_001)
    y = np.where((x > 200) & (x < 300), np.nan, 5.0)
    assert path(*columns(x, y)).count("M") == 2
    assert path(np.arange(3.0), np.full(3, np.nan)) == ""


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_path_passes_through_the_extremes(seed: int) -> None:
    rng = np.random.default_rng(seed)
    x = np.linspace(0, 500, 20_000)
    y = np.round(rng.normal(50, 20, 20_000), 1)
    drawn = [float(p.split()[1]) for p in path(*columns(x, y))[1:].split("L")]
    assert min(drawn) == y.min()
    assert max(drawn) == y.max()
