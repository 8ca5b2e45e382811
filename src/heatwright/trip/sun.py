"""Sun over the steps of a trip: given, out of a weather file, or for a clear sky by place and date."""

from __future__ import annotations

import math
from datetime import UTC, datetime, time, timedelta
from typing import Any

import numpy as np

from heatwright.trip.columns import Column
from heatwright.trip.model import Array, Trip
from heatwright.trip.segments import Grid
from heatwright.trip.series import step_means, times_s
from heatwright.trip.weather import FileWeather

SUN_COLUMNS = (
    Column("direct", ("dni", "direct"), "W/m2", 0.0, 1400.0),
    Column("diffuse", ("dhi", "diffuse"), "W/m2", 0.0, 800.0),
    Column("elevation", ("elevation",), "deg", -0.5 * math.pi, 0.5 * math.pi),
    Column("azimuth", ("azimuth",), "deg", -2.0 * math.pi, 4.0 * math.pi),
)
KNOT_S = 60.0
_PVLIB_NAMES = (("direct", "dni"), ("diffuse", "dhi"))
Sky = dict[str, Array]


def sun_steps(trip: Trip, grid: Grid, file: FileWeather | None) -> dict[str, Array]:
    """Means over the steps: direct, diffuse, elevation, and azimuth from the car's nose."""
    worked_out = trip.sun.clear_sky or file is not None
    sky = _worked_out(trip, grid, file) if worked_out else {}
    means = {name: _declared(trip, grid, sky, name) for name in ("direct", "diffuse", "elevation", "azimuth")}
    open_sky = 1.0 - grid.shade
    from_nose = means["azimuth"] - grid.heading_rad
    return {
        "sun_direct_w_per_m2": np.where(means["elevation"] > 0.0, means["direct"], 0.0) * open_sky,
        "sun_diffuse_w_per_m2": means["diffuse"] * open_sky,
        "sun_elevation_rad": means["elevation"],
        "sun_azimuth_rad": (from_nose + math.pi) % (2.0 * math.pi) - math.pi,
    }


def _declared(trip: Trip, grid: Grid, sky: Sky, name: str) -> Array:
    table = trip.sun.table
    if table is not None and name in table.values:
        times = times_s(table, grid.clock_s)
        assert times is not None, "the loader has checked that the table has a clock to go by"
        values = table.values[name]
        return step_means(times, np.unwrap(values) if name == "azimuth" else values, grid.t_s)
    if name in sky:
        return sky[name]
    return np.full(grid.n, float(trip.sun.constants[name]))


def _worked_out(trip: Trip, grid: Grid, file: FileWeather | None) -> Sky:
    """Sun position, and radiation of the weather file or of a clear sky, through pvlib."""
    from pvlib import solarposition

    place = _where(trip, file)
    knots = np.arange(0.0, grid.n * grid.dt_s + KNOT_S, KNOT_S)
    height = np.interp(knots, grid.t_s, grid.edges["altitude_m"])
    stamps = _stamps(trip, grid, knots, place["utc_offset_s"])
    latitude, longitude = (math.degrees(place[name]) for name in ("latitude_rad", "longitude_rad"))
    position = solarposition.get_solarposition(stamps, latitude, longitude, altitude=float(height[0]))
    at_knots = {
        "elevation": np.radians(position["apparent_elevation"].to_numpy()),
        "azimuth": np.unwrap(np.radians(position["azimuth"].to_numpy())),
    }
    if trip.sun.clear_sky:
        at_knots |= _clear_sky(position, stamps, latitude, longitude, height, trip.sun.turbidity)
    sky = {name: step_means(knots, values, grid.t_s) for name, values in at_knots.items()}
    if file is not None and not trip.sun.clear_sky:
        for name in ("direct", "diffuse"):
            sky[name] = step_means(file.t_s - 1800.0, file.means[name], grid.t_s)
    return sky


def _where(trip: Trip, file: FileWeather | None) -> dict[str, float]:
    """The trip's place where it says one, else that of the weather file's station."""
    place: dict[str, Any] = {
        name: getattr(trip.place, name) for name in ("latitude_rad", "longitude_rad", "utc_offset_s")
    }
    if file is not None:
        place = {name: getattr(file, name) if value is None else value for name, value in place.items()}
    return place


def _stamps(trip: Trip, grid: Grid, knots: Array, utc_offset_s: float) -> Any:
    import pandas

    assert trip.day is not None, "the loader has checked the date"
    assert grid.clock_s is not None, "the loader has checked the clock"
    midnight = datetime.combine(trip.day, time(), UTC) - timedelta(seconds=utc_offset_s)
    first = midnight + timedelta(seconds=grid.clock_s)
    return pandas.DatetimeIndex(pandas.Timestamp(first) + pandas.to_timedelta(knots, unit="s"))


def _clear_sky(
    position: Any, stamps: Any, latitude: float, longitude: float, height: Array, turbidity: float | None
) -> Sky:
    """Radiation of a clear sky after Ineichen and Perez (Solar Energy 73, 2002), at the car's own height."""
    from pvlib import atmosphere, clearsky, irradiance

    zenith = position["apparent_zenith"].to_numpy()
    relative = atmosphere.get_relative_airmass(zenith)
    absolute = atmosphere.get_absolute_airmass(relative, atmosphere.alt2pres(height))
    if turbidity is None:
        turbidity = _turbidity(stamps[:1], latitude, longitude)
    extra = irradiance.get_extra_radiation(stamps.day_of_year.to_numpy())
    with np.errstate(divide="ignore", invalid="ignore"):  # at and below the horizon, cut off next
        sky = clearsky.ineichen(zenith, absolute, turbidity, height, extra)
    return {name: np.where(zenith < 90.0, np.nan_to_num(sky[key]), 0.0) for name, key in _PVLIB_NAMES}


def _turbidity(stamps: Any, latitude: float, longitude: float) -> float:
    """Linke turbidity of the climate at a place, out of pvlib's monthly map."""
    import warnings

    from pvlib import clearsky

    with warnings.catch_warnings():  # the map is read with calls that newer pandas means to rename
        warnings.simplefilter("ignore", DeprecationWarning)
        return float(clearsky.lookup_linke_turbidity(stamps, latitude, longitude).iloc[0])
