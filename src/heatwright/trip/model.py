"""The nouns of a trip: the Trip a file declares, and the Case it becomes on a time grid."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from heatwright.dispatch_table import Given

Array = np.ndarray


@dataclass(frozen=True)
class Series:
    """Values known at some times, straight lines between them; `clock` says that the times are clock times
    [s after midnight of the first day] and not seconds since the trip began."""

    t_s: Array
    values: Mapping[str, Array]
    clock: bool
    where: str


@dataclass(frozen=True)
class Place:
    """Where the trip begins; the offset is that of the clocks there from universal time."""

    latitude_rad: float | None
    longitude_rad: float | None
    altitude_m: float | None
    utc_offset_s: float | None
    where: str = ""


@dataclass(frozen=True)
class Weather:
    """Air and sky as declared: constants, a table over time that replaces some of them, or a weather file."""

    constants: Mapping[str, float]
    table: Series | None
    file: Path | None
    given: frozenset[str]
    where: str = ""


@dataclass(frozen=True)
class Sun:
    """Sun as declared: constants, a table over time, or a clear sky worked out from place and date."""

    constants: Mapping[str, float]
    table: Series | None
    clear_sky: bool
    turbidity: float | None
    where: str = ""


@dataclass(frozen=True)
class Profile:
    """Shape of a way in height: distances [m] and heights [m], the first of each zero."""

    name: str
    s_m: Array
    h_m: Array
    where: str = ""


@dataclass(frozen=True)
class Leg:
    """One declared segment: `values` has every key of its kind in SI, `given` those the file wrote."""

    name: str
    kind: str
    values: Mapping[str, Any]
    given: frozenset[str]
    where: str


@dataclass(frozen=True)
class Trip:
    """A whole trip file, checked, before anything is put on a time grid."""

    name: str
    about: str
    source: str
    digest: str
    dt_s: float
    start: Mapping[str, float | None]
    day: date | None
    place: Place
    weather: Weather
    sun: Sun
    legs: tuple[Leg, ...]
    assumed: tuple[str, ...] = ()
    t_heat_reference_k: float = 293.15
    clothing_clo: float | None = None
    dispatch: Mapping[str, Given] = field(default_factory=dict)


@dataclass(frozen=True)
class Segment:
    """Steps `first` up to, not including, `last_exclusive` of a Case."""

    name: str
    kind: str
    first: int
    last_exclusive: int


@dataclass(frozen=True)
class Start:
    """State of the whole car before the first step."""

    t_start_k: float
    soc: float
    t_pack_k: float
    w_cabin: float
    ice_kg_per_m2: float = 0.0


@dataclass(frozen=True, eq=False)
class Case:
    """A trip on its time grid: `n` steps of `dt_s`; `edges` have n+1 values, `steps` n means over the step.

    edges   speed_m_per_s, altitude_m
    steps   t_ambient_k, p_ambient_pa, w_ambient, t_sky_k, sun_direct_w_per_m2 (normal to the beam),
            sun_diffuse_w_per_m2 (on the flat), sun_elevation_rad, sun_azimuth_rad (from the car's nose,
            positive to the right), occupants, t_setpoint_k, wanted, occupied, plugged, station_w, driving,
            fast (a station of direct current), charge_to (0: not charged), charging, prepare, rain, grade,
            doors_open (mean number that stands open), drying_kg_per_s (water that evaporates from clothes and floor),
            dynamometer, towed_kg, towed_drag_m2 (what a trailer adds to the car's mass and drag area)
    """

    name: str
    about: str
    source: str
    digest: str
    dt_s: float
    n: int
    t_s: Array
    segments: tuple[Segment, ...]
    edges: Mapping[str, Array]
    steps: Mapping[str, Array]
    start: Start
    clock_s: float | None = None
    assumed: tuple[str, ...] = field(default=())
    t_heat_reference_k: float = 293.15
    clothing_clo: float | None = None
    dispatch: Mapping[str, Given] = field(default_factory=dict)

    @property
    def distance_m(self) -> float:
        """Way driven: straight speed lines between the edges."""
        speed = self.edges["speed_m_per_s"]
        return float(np.sum(speed[1:] + speed[:-1]) * 0.5 * self.dt_s)
