"""Heights along a way: profiles as text, stretched to the way driven, and the grade they make."""

from __future__ import annotations

import re

import numpy as np

from heatwright.trip.model import Profile
from heatwright.units import UnitError, parse

STEEPEST = 0.4
_POINT = re.compile(r"\s*(?P<s>\S+\s*[a-zA-Z]+)\s*[,\s]\s*(?P<h>\S+\s*[a-zA-Z]+)\s*")


def parse_profile(name: str, points: list[str], where: str) -> Profile:
    """Read points such as "3 km 60 m"; UnitError names a point that cannot be read or goes backwards."""
    pairs: list[tuple[float, float]] = []
    for point in points:
        match = _POINT.fullmatch(point) if isinstance(point, str) else None
        if not match:
            raise UnitError(f"point {point!r} of the profile", 'distance and height, such as "3 km 60 m"')
        pairs.append((parse(match["s"], "m"), parse(match["h"], "m")))
        if len(pairs) > 1 and pairs[-1][0] <= pairs[-2][0]:
            raise UnitError(f"point {point!r} does not lie behind the one before", "distances that increase")
    if len(pairs) < 2:
        raise UnitError("the profile has fewer than two points", "at least a start and an end")
    table = np.array(pairs) - pairs[0]
    return Profile(name, table[:, 0], table[:, 1], where)


def even(climb_m: float) -> Profile:
    """The profile of an even slope."""
    return Profile("even", np.array([0.0, 1.0]), np.array([0.0, climb_m]))


def fit(profile: Profile, climb_m: float | None, reverse: bool) -> Profile:
    """A profile scaled to a climb (as it is, if None) and turned round for the way back."""
    s_m, h_m = profile.s_m, profile.h_m
    if climb_m is not None:
        h_m = h_m * (climb_m / h_m[-1])
    if reverse:
        s_m, h_m = s_m[-1] - s_m[::-1], h_m[::-1] - h_m[-1]
    return Profile(profile.name, s_m, h_m, profile.where)


def heights_m(profile: Profile, driven_m: np.ndarray) -> np.ndarray:
    """Heights at the distances driven, the profile stretched so that its end meets the last of them."""
    if driven_m[-1] <= 0.0:
        return np.zeros_like(driven_m)
    return np.interp(driven_m, profile.s_m * (driven_m[-1] / profile.s_m[-1]), profile.h_m)


def grade(driven_m: np.ndarray, height_m: np.ndarray) -> np.ndarray:
    """Rise over run in each step, from way and height at the edges; zero where the car stands.

    The way is measured along the road: rise over way is the sine of the slope, the grade its tangent.
    """
    way, rise = np.diff(driven_m), np.diff(height_m)
    sine = np.divide(rise, way, out=np.zeros_like(rise), where=way > 1e-6)
    return sine / np.sqrt(1.0 - np.minimum(sine**2, 0.99))
