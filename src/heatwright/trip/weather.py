"""Air and sky over the steps of a trip: temperature, pressure, humidity, sky temperature."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from heatwright.trip.columns import Column
from heatwright.trip.model import Array, Trip
from heatwright.trip.segments import Grid
from heatwright.trip.series import step_means, times_s

AIR_COLUMNS = (
    Column("temperature", ("t_air", "t_ambient", "temperature"), "degC", 213.15, 333.15),
    Column("humidity", ("rh", "humidity"), "%", 0.0, 1.0),
    Column("pressure", ("p_ambient", "pressure"), "hPa", 4.0e4, 1.1e5),
    Column("cloud", ("cloud",), "%", 0.0, 1.0),
    Column("rain", ("rain",), "1", 0.0, 1.0),
)
STEFAN_BOLTZMANN = 5.670374419e-8


@dataclass(frozen=True, eq=False)
class FileWeather:
    """Hours of a weather file around the trip, times from the first step.

    `moments` holds values at the hours (temperature, humidity, pressure, cloud), `means` means over the hour
    that ends then (direct, diffuse, infrared); the rest says where the station is.
    """

    t_s: Array
    moments: dict[str, Array]
    means: dict[str, Array]
    latitude_rad: float
    longitude_rad: float
    altitude_m: float
    utc_offset_s: float


def sky_emissivity(t_dew_k: Array, cloud: Array) -> Array:
    """Return the emissivity of the sky for long-wave radiation [-].

    eps = (0.787 + 0.764 ln(T_dew / 273)) (1 + 0.0224 N - 0.0035 N2 + 0.00028 N3), N the cover in tenths.

    Parameters
    ----------
    t_dew_k : array
        dew point [K], 240-300.
    cloud : array
        share of the sky covered [-], 0-1.

    Returns a value cut to 0.3-1, so also outside the range.
    Source: Clark and Allen, The estimation of atmospheric radiation for clear and cloudy skies, 2nd National
    Passive Solar Conference (1978) 675-678; cloud term Walton, NBSIR 83-2655 (1983) p. 21.

    >>> round(float(sky_emissivity(np.array(283.0), np.array(0.0))), 3)
    0.814
    """
    tenths = 10.0 * cloud
    clear = 0.787 + 0.764 * np.log(t_dew_k / 273.0)
    return np.clip(clear * (1.0 + 0.0224 * tenths - 0.0035 * tenths**2 + 0.00028 * tenths**3), 0.3, 1.0)


def air_steps(trip: Trip, grid: Grid, file: FileWeather | None) -> dict[str, Array]:
    """Means over the steps: t_ambient_k, p_ambient_pa, w_ambient, t_sky_k, rain."""
    means = {name: _declared(trip, grid, file, name) for name in ("temperature", "humidity", "cloud", "rain")}
    height = 0.5 * (grid.edges["altitude_m"][1:] + grid.edges["altitude_m"][:-1])
    base = trip.place.altitude_m or 0.0
    t_k = means["temperature"] - trip.weather.constants["lapse"] * (height - base)
    p_pa = _pressure_pa(trip, grid, file, height, base)
    w, t_dew_k = moisture(t_k, means["humidity"], p_pa)
    t_sky_k = _sky_k(trip, grid, file, t_k, t_dew_k, means["cloud"])
    return {
        "t_ambient_k": t_k,
        "p_ambient_pa": p_pa,
        "w_ambient": w,
        "t_sky_k": t_sky_k,
        "rain": means["rain"],
    }


def moisture(t_k: Array, humidity: Array, p_pa: Array) -> tuple[Array, Array]:
    """Humidity ratio [kg/kg] and dew or frost point [K] of air at a relative humidity.

    Relative humidity is over liquid water, also in frost, as weather services give it.
    """
    from heatwright.trip.damp_air import fill_moisture

    w, t_dew_k = np.empty(len(t_k)), np.empty(len(t_k))
    fill_moisture(*(np.array(one, float) for one in (t_k, humidity, p_pa)), w, t_dew_k)
    return w, t_dew_k


def _declared(trip: Trip, grid: Grid, file: FileWeather | None, name: str) -> Array:
    """A quantity of the air: the table's column, else the weather file's, else the constant."""
    weather = trip.weather
    if weather.table is not None and name in weather.table.values:
        times = times_s(weather.table, grid.clock_s)
        assert times is not None, "the loader has checked that the table has a clock to go by"
        return step_means(times, weather.table.values[name], grid.t_s)
    if file is not None and name in file.moments and name not in weather.given:
        return step_means(file.t_s, file.moments[name], grid.t_s)
    return np.full(grid.n, float(weather.constants[name]))


def _pressure_pa(trip: Trip, grid: Grid, file: FileWeather | None, height: Array, base: float) -> Array:
    """Pressure at the car: the declared one moved up or down along the standard atmosphere."""
    from heatwright.physics.road import pressure_pa
    from heatwright.trip.damp_air import fill_pressure

    standard = np.empty(len(height))
    fill_pressure(np.array(height, float), standard)
    given = trip.weather.constants["pressure"] is not None or (
        trip.weather.table is not None and "pressure" in trip.weather.table.values
    )
    if not given and file is None:
        return standard
    of_station = base if given or file is None else file.altitude_m
    return _declared(trip, grid, file, "pressure") * standard / pressure_pa(of_station)


def _sky_k(trip: Trip, grid: Grid, file: FileWeather | None, t_k: Array, t_dew_k: Array, cloud: Array) -> Array:
    """Sky temperature; roof, trees or walls that keep the sky off have the temperature of the air."""
    if file is not None and "infrared" in file.means and "cloud" not in trip.weather.given:
        open_sky_4 = step_means(file.t_s - 1800.0, file.means["infrared"], grid.t_s) / STEFAN_BOLTZMANN
    else:
        open_sky_4 = sky_emissivity(t_dew_k, cloud) * t_k**4
    return ((1.0 - grid.shade) * open_sky_4 + grid.shade * t_k**4) ** 0.25
