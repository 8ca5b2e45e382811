"""A checked Trip becomes a Case: everything that acts on the car, one row a step."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from heatwright.errors import InputError, Problem
from heatwright.trip import segments
from heatwright.trip.model import Array, Case, Start, Trip
from heatwright.trip.segments import Grid

if TYPE_CHECKING:
    from heatwright.trip.weather import FileWeather


def build_case(trip: Trip) -> Case:
    """Put a trip on its time grid; InputError if a weather file has gaps."""
    from heatwright.trip.carried import carried_steps
    from heatwright.trip.sun import sun_steps
    from heatwright.trip.weather import air_steps

    problems: list[Problem] = []
    timeline = segments.lay_timeline(trip.legs, trip.start["time_s"], problems)
    grid = segments.lay_grid(trip, timeline, problems)
    if problems:
        raise InputError(problems, trip.source)
    file = _weather_file(trip, grid)
    if file is not None and trip.place.altitude_m is None:
        trip = replace(trip, place=replace(trip.place, altitude_m=file.altitude_m))
        grid = segments.lay_grid(trip, timeline, problems)
    air = air_steps(trip, grid, file)
    steps = {**air, **sun_steps(trip, grid, file), **carried_steps(timeline, grid), **grid.steps}
    start = _start(trip, air)
    return Case(
        name=trip.name,
        about=trip.about,
        source=trip.source,
        digest=trip.digest,
        dt_s=trip.dt_s,
        n=grid.n,
        t_s=grid.t_s,
        segments=grid.segments,
        edges=_frozen(grid.edges),
        steps=_frozen(steps),
        start=start,
        clock_s=grid.clock_s,
        assumed=trip.assumed,
        t_heat_reference_k=trip.t_heat_reference_k,
        clothing_clo=trip.clothing_clo,
        dispatch=trip.dispatch,
    )


def _weather_file(trip: Trip, grid: Grid) -> FileWeather | None:
    """Hours of the weather file; only then are its readers imported."""
    if trip.weather.file is None:
        return None
    from heatwright.trip.weather_files import read_weather_file

    if trip.day is None or grid.clock_s is None:
        problem = Problem(trip.weather.where, "the weather file needs a day and a clock", "[start] date, time")
        raise InputError([problem], trip.source)
    return read_weather_file(trip.weather.file, trip.day, grid.clock_s, grid.n * grid.dt_s)


def _start(trip: Trip, air: dict[str, Array]) -> Start:
    """The car has taken the temperature of its surroundings; its air holds no more water than it can."""
    from heatwright.physics.moist_air import saturation_humidity_ratio

    declared = trip.start
    t_start_k = declared["temperature"]
    if t_start_k is None:
        t_start_k = float(air["t_ambient_k"][0])
    most = saturation_humidity_ratio(t_start_k, float(air["p_ambient_pa"][0]))
    t_pack_k = declared["pack_temperature"]
    return Start(
        t_start_k=t_start_k,
        soc=float(declared["charge"] or 0.0),
        t_pack_k=t_start_k if t_pack_k is None else t_pack_k,
        w_cabin=float(min(air["w_ambient"][0], most)),
        ice_kg_per_m2=float(declared["ice_on_screen"] or 0.0),
    )


def _frozen(arrays: dict[str, Array]) -> dict[str, Array]:
    """The same arrays, which from now on cannot be written to."""
    for name, values in arrays.items():
        arrays[name] = np.ascontiguousarray(values, dtype=float)
        arrays[name].setflags(write=False)
    return arrays
