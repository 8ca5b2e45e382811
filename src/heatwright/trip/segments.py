"""Segments on the time grid: when each begins, how fast and how high the car is, who sits in it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from heatwright.errors import Problem
from heatwright.trip import heights
from heatwright.trip.model import Array, Leg, Segment, Trip
from heatwright.trip.quantities import clock_text
from heatwright.trip.schedules import Schedule

DAY_S = 86400.0
PULL_AWAY_M_PER_S2 = 1.0
LONGEST_STEP_S = 60.0
MOST_STEPS = 1_200_000
"""About 14 days at one second; a longer run would not fit into the memory of an ordinary machine."""


@dataclass(frozen=True)
class Timeline:
    """Marched legs with their lengths; `clock_s` is the time of day (past midnight it goes on) at t = 0."""

    legs: tuple[tuple[Leg, float], ...]
    clock_s: float | None


@dataclass(frozen=True, eq=False)
class Grid:
    """What the segments alone say: `edges` n+1 values, `steps` n; heading and shade for sun and sky."""

    dt_s: float
    n: int
    t_s: Array
    clock_s: float | None
    segments: tuple[Segment, ...]
    edges: dict[str, Array]
    steps: dict[str, Array]
    heading_rad: Array
    shade: Array


def steady(leg: Leg) -> Schedule:
    """Schedule of a drive at one speed; the car pulls away and stops at 1 m/s2 unless it is rolling."""
    speed, rolling = leg.values["speed"], leg.values["rolling"]
    ramp_s = 0.0 if rolling else speed / PULL_AWAY_M_PER_S2
    distance = leg.values["distance"]
    duration = leg.values["duration"] if distance is None else distance / speed + ramp_s
    if duration <= 2.0 * ramp_s:
        raise ValueError(f"{duration:.0f} s are too short to reach the speed and stop again")
    t_s = np.array([0.0, duration] if rolling else [0.0, ramp_s, duration - ramp_s, duration])
    speeds = np.array([speed, speed] if rolling else [0.0, speed, speed, 0.0])
    return Schedule("steady", "one speed", leg.where, "", t_s, speeds)


def lay_timeline(legs: Sequence[Leg], time_s: float | None, problems: list[Problem]) -> Timeline:
    """Give every leg its length; a soak that opens the trip only sets the start state and is not marched."""
    clock = time_s
    lengths: list[float] = []
    for place, leg in enumerate(legs):
        length = _own_length(leg, clock, problems)
        if leg.values.get("ready_by") is not None and length is not None:
            clock = _make_ready(legs, lengths, place, clock, length, problems)
        following = legs[place + 1] if place + 1 < len(legs) else None
        opens = following is not None and following.values.get("ready_by") is not None
        if length is None and not opens and not _only_sets_start(legs, place):
            found = f"nothing says how long the {leg.kind} lasts"
            problems.append(Problem(leg.where, found, "`duration`" + _more_ways(leg.kind)))
        elif length is not None and length <= 0.0 and not _only_sets_start(legs, place):
            problems.append(Problem(leg.where, f"the {leg.kind} takes no time", "a duration above zero"))
        lengths.append(length or 0.0)
        clock = None if clock is None else clock + lengths[-1]
    first = 1 if legs and _only_sets_start(legs, 0) else 0
    total = sum(lengths[first:])
    marched = tuple(zip(legs[first:], lengths[first:], strict=True))
    if not marched:
        where = legs[-1].where if legs else "trip"
        problems.append(Problem(where, "nothing happens on this trip", "a segment after the soak"))
    return Timeline(marched, None if clock is None else clock - total)


def _more_ways(kind: str) -> str:
    return {"drive": ", `distance` or `schedule`", "precondition": ""}.get(kind, " or `until`")


def _only_sets_start(legs: Sequence[Leg], place: int) -> bool:
    return place == 0 and legs[0].kind == "soak"


def _own_length(leg: Leg, clock: float | None, problems: list[Problem]) -> float | None:
    if leg.kind == "drive":
        schedule = leg.values["schedule"]
        return None if schedule is None else schedule.duration_s * leg.values["repeats"]
    if leg.kind == "fast_charge":
        return leg.values["longest"]
    until = leg.values.get("until")
    if until is None:
        return leg.values["duration"]
    if leg.values["duration"] is not None:
        problems.append(Problem(leg.where, "both `duration` and `until` are given", "one of them"))
    if clock is None:
        expected = '`time` in [start], such as "06:00"'
        problems.append(Problem(leg.where, "`until` has no clock to go by", expected))
        return 1.0
    return (until - clock) % DAY_S or DAY_S


def _make_ready(
    legs: Sequence[Leg],
    lengths: list[float],
    place: int,
    clock: float | None,
    length: float,
    problems: list[Problem],
) -> float | None:
    """Clock at which a leg with `ready_by` begins; an open stop before it is given the length that fits."""
    leg = legs[place]
    begins = (leg.values["ready_by"] - length) % DAY_S
    follows_soak = place == 1 and _only_sets_start(legs, 0)
    if clock is not None and place and _is_open(legs[place - 1]):
        lengths[-1] = (begins - clock) % DAY_S
        return clock + lengths[-1]
    if clock is None and (place == 0 or follows_soak):
        return begins
    if clock is None:
        expected = '`time` in [start], such as "06:00"'
        problems.append(Problem(leg.where, "`ready_by` has no clock to go by", expected))
    elif abs((clock - begins + 0.5 * DAY_S) % DAY_S - 0.5 * DAY_S) > 0.5:
        found = f"it is ready at {clock_text(clock + length)}, not at {clock_text(leg.values['ready_by'])}"
        hint = "leave out the duration of the stop before it, which then fills the time"
        problems.append(Problem(leg.where, found, "times that agree", hint))
    return clock


def _is_open(leg: Leg) -> bool:
    values = leg.values
    return leg.kind in ("soak", "park") and values["duration"] is None and values["until"] is None


def lay_grid(trip: Trip, timeline: Timeline, problems: list[Problem]) -> Grid:
    """Put the marched legs one behind the other on steps of equal length."""
    dt = trip.dt_s
    counts = [max(1, round(length / dt)) for _, length in timeline.legs]
    firsts = np.concatenate([[0], np.cumsum(counts)]).astype(int)
    n = int(firsts[-1])
    if n > MOST_STEPS:
        problems.append(_too_long(timeline, n, dt))
        return _empty_grid(dt)
    edges = {"speed_m_per_s": np.zeros(n + 1), "altitude_m": np.full(n + 1, trip.place.altitude_m or 0.0)}
    steps = {name: np.zeros(n) for name in _PER_LEG}
    grade, heading, shade = np.zeros(n), np.zeros(n), np.zeros(n)
    segments: list[Segment] = []
    for (leg, length), first, last in zip(timeline.legs, firsts[:-1], firsts[1:], strict=True):
        segments.append(Segment(leg.name, leg.kind, int(first), int(last)))
        part = slice(first, last)
        for name, value in _of_leg(leg).items():
            steps[name][part] = value
        heading[part], shade[part] = leg.values.get("heading", 0.0), leg.values.get("shade", 0.0)
        if leg.kind == "drive":
            grade[part] = _drive(leg, length, first, last, dt, edges, problems)
    steps["grade"] = grade
    steps["prepare"] = np.zeros(n)
    for (leg, _), first in zip(timeline.legs, firsts[:-1], strict=True):
        lead = round((leg.values.get("prepare") or 0.0) / dt)
        steps["prepare"][max(first - lead, 0) : first] = 1.0
    t_s = np.arange(n + 1) * dt
    return Grid(dt, n, t_s, timeline.clock_s, tuple(segments), edges, steps, heading, shade)


def _too_long(timeline: Timeline, n: int, dt_s: float) -> Problem:
    """Say that a trip has more steps than a run can hold, at the segment that has the most."""
    longest = max(timeline.legs, key=lambda one: one[1])[0]
    found = f"the trip lasts {n * dt_s / DAY_S:.1f} days, which are {n:,} steps of {dt_s:g} s"
    days = MOST_STEPS * dt_s / DAY_S
    enough_s = math.ceil(n * dt_s / MOST_STEPS)
    longer = f'write step = "{enough_s} s" at the head of the file, or ' if enough_s <= LONGEST_STEP_S else ""
    hint = f"{longer}shorten {longest.name!r}"
    return Problem(longest.where, found, f"at most {MOST_STEPS:,} steps, {days:.3g} days at this step", hint)


_PER_LEG = (
    "occupants", "t_setpoint_k", "wanted", "occupied", "plugged", "station_w", "driving", "dynamometer", "fast",
    "charge_to", "charging", "towed_kg", "towed_drag_m2",
)  # fmt: skip


def _empty_grid(dt: float) -> Grid:
    none = np.zeros(0)
    edges = {"speed_m_per_s": np.zeros(1), "altitude_m": np.zeros(1)}
    steps = dict.fromkeys((*_PER_LEG, "grade", "prepare"), none)
    return Grid(dt, 0, np.zeros(1), None, (), edges, steps, none, none)


def _of_leg(leg: Leg) -> dict[str, float]:
    values = leg.values
    fast = leg.kind == "fast_charge"
    plugged = fast or bool(values.get("plugged"))
    charge_to = (values["to"] if fast else values.get("charge_to")) or 0.0
    return {
        "occupants": values.get("occupants") or 0.0,
        "t_setpoint_k": values["set_point"],
        "wanted": float(bool(values.get("conditioned"))),
        "occupied": float((values.get("occupants") or 0) > 0),
        "plugged": float(plugged),
        "station_w": (values.get("station") or 0.0) if plugged else 0.0,
        "driving": float(leg.kind == "drive"),
        "dynamometer": float(bool(values.get("dynamometer"))),
        "fast": float(fast),
        "charge_to": charge_to if plugged else 0.0,
        "charging": float(plugged and charge_to > 0.0),
        "towed_kg": values.get("towed") or 0.0,
        "towed_drag_m2": values.get("towed_drag") or 0.0,
    }


def _drive(
    leg: Leg,
    length: float,
    first: int,
    last: int,
    dt: float,
    edges: dict[str, Array],
    problems: list[Problem],
) -> Array:
    """Fill in speed and altitude from edge `first` to `last`, and give the grade of each step."""
    t_s = np.minimum(np.arange(last - first + 1) * dt, length)
    t_s[-1] = length
    speed = _repeated(leg.values["schedule"], leg.values["repeats"], t_s)
    before = edges["speed_m_per_s"][first]
    if first and abs(before - speed[0]) > 0.1:
        found = f"the drive begins at {speed[0] * 3.6:.1f} km/h, the car before it does {before * 3.6:.1f} km/h"
        hint = "let a schedule begin and end standing, or join drives of the same speed"
        problems.append(Problem(leg.where, found, "the same speed where two segments meet", hint))
    edges["speed_m_per_s"][first : last + 1] = speed
    edges["speed_m_per_s"][last + 1 :] = 0.0
    way = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * dt)])
    profile = leg.values["profile"]
    if profile is None:
        return np.zeros(last - first)
    height = heights.heights_m(profile, way)
    edges["altitude_m"][first : last + 1] = edges["altitude_m"][first] + height
    edges["altitude_m"][last + 1 :] = edges["altitude_m"][last]
    slope = heights.grade(way, height)
    if np.max(np.abs(slope)) > heights.STEEPEST:
        found = f"the way is as steep as {np.max(np.abs(slope)):.0%}"
        problems.append(Problem(leg.where, found, f"at most {heights.STEEPEST:.0%}", "check climb and profile"))
    return slope


def _repeated(schedule: Schedule, repeats: int, t_s: Array) -> Array:
    """Speed at times of a schedule driven several times; its end belongs to the round that ends."""
    length = schedule.duration_s
    rounds = np.minimum(np.ceil(t_s / length - 1e-9) - 1.0, repeats - 1.0).clip(min=0.0)
    return np.interp(t_s - rounds * length, schedule.t_s, schedule.speed_m_per_s)


def check_stops(timeline: Timeline, problems: list[Problem]) -> None:
    """Note drives that end moving where the car then stands."""
    for (leg, _), (following, _) in pairwise(timeline.legs):
        schedule = leg.values["schedule"] if leg.kind == "drive" else None
        if schedule is not None and following.kind != "drive" and schedule.speed_m_per_s[-1] > 0.1:
            end_km_per_h = schedule.speed_m_per_s[-1] * 3.6
            found = f"{leg.name!r} ends at {end_km_per_h:.1f} km/h and {following.name!r} stands"
            problems.append(Problem(leg.where, found, "a schedule that ends standing"))
