"""Humidity and pressure of the air over the steps of a trip: compiled loops, since a day has 86,400 of them."""

from __future__ import annotations

from heatwright.physics import moist_air, road
from heatwright.physics.jit import array_jit
from heatwright.trip.model import Array


@array_jit
def fill_moisture(t_k: Array, humidity: Array, p_pa: Array, w: Array, t_dew_k: Array) -> None:
    """Fill the humidity ratio [kg/kg] and the dew or frost point [K] of air at a relative humidity [-].

    Relative humidity is over liquid water, also in frost.
    """
    for k in range(t_k.shape[0]):
        if t_k[k] < moist_air.ZERO_C_K:
            full = moist_air.saturation_pressure_supercooled(t_k[k])
        else:
            full = moist_air.saturation_pressure(t_k[k])
        w[k] = moist_air.humidity_ratio(humidity[k] * full, p_pa[k])
        t_dew_k[k] = moist_air.dew_point_k(w[k], p_pa[k])


@array_jit
def fill_pressure(height_m: Array, p_pa: Array) -> None:
    """Fill the pressure of the standard atmosphere [Pa] at heights [m]."""
    for k in range(height_m.shape[0]):
        p_pa[k] = road.pressure_pa(height_m[k])
