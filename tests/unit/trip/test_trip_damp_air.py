"""The compiled loops over the air of a trip give the very numbers of the single functions."""

from __future__ import annotations

import numpy as np

from heatwright.physics import moist_air, road
from heatwright.trip.damp_air import fill_pressure
from heatwright.trip.weather import moisture


def test_moisture_is_that_of_every_moment_alone() -> None:
    draw = np.random.default_rng(7)
    t_k, humidity, p_pa = (draw.uniform(*span, 400) for span in ((233.0, 318.0), (0.0, 1.0), (7e4, 1.05e5)))
    w, t_dew_k = moisture(t_k, humidity, p_pa)
    for k in range(t_k.size):
        cold = t_k[k] < moist_air.ZERO_C_K
        over_water = moist_air.saturation_pressure_supercooled if cold else moist_air.saturation_pressure
        alone = moist_air.humidity_ratio(humidity[k] * over_water(t_k[k]), p_pa[k])
        assert (w[k], t_dew_k[k]) == (alone, moist_air.dew_point_k(alone, p_pa[k]))


def test_pressure_is_that_of_every_height_alone() -> None:
    height_m = np.linspace(-300.0, 4000.0, 200)
    p_pa = np.empty(200)
    fill_pressure(height_m, p_pa)
    assert p_pa.tolist() == [road.pressure_pa(h) for h in height_m.tolist()]
