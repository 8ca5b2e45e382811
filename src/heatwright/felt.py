"""How warm a run is felt: operative temperature, predicted mean vote, dissatisfied, minutes to comfort.

A seated person in the first zone, at rest in air of 0.1 m/s. What heaters at the body give is not put on the air:
it raises the room in which the vote is asked, air and surfaces alike, by the equivalent temperature.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.comfort import Surroundings
from heatwright.physics import comfort
from heatwright.physics.jit import array_jit
from heatwright.physics.moist_air import vapour_pressure

Floats = NDArray[np.float64]

SPEED_M_PER_S = 0.1  # air past the body: the blower's jets aside (common practice)
METABOLIC_W_PER_M2 = 70.0  # a seated driver (common practice)
BODY_FILM_W_PER_M2K = 8.0  # convection and radiation of the clothed body (common practice)
SAMPLE_S = 10.0  # the vote is worked out this often and joined by straight lines: it moves in minutes
EMPTY_SAMPLE_S = 60.0  # this often where nobody is aboard and nobody wants the cabin warm or cool
NEUTRAL = 0.5  # greatest vote that counts as comfortable: ISO 7730, category B
CLOTHES_CLO = (1.0, 0.5)  # worn at or below 10 degC outside, and at or above 20 degC (common practice)
CLOTHES_C = (10.0, 20.0)
SERIES = ("t_operative_k", "t_felt_k", "pmv", "ppd")


def clothing_clo(case: Any, occupied: NDArray[np.bool_]) -> float:
    """Return the clothing of a trip [clo]: as its file says, else by the mean air outside while people are aboard."""
    if case.clothing_clo is not None:
        return float(case.clothing_clo)
    outside_c = np.asarray(case.steps["t_ambient_k"], float) - 273.15
    mean_c = float(np.mean(outside_c[occupied] if np.any(occupied) else outside_c))
    return float(np.interp(mean_c, CLOTHES_C, CLOTHES_CLO))


def radiant_k(places: Surroundings, series: Mapping[str, NDArray[Any]]) -> Floats:
    """Return the mean temperature of the surfaces, weighted by area [K]: a person amid them, with no nearer side."""
    total = sum(area for _, area in places.surfaces)
    mean = np.zeros(len(series["t_zone_air_k"]))
    for node, area in places.surfaces:
        mean += area / total * np.asarray(series[f"t_{node.replace('.', '_')}_k"], float)
    return mean


def gain_k(places: Surroundings, series: Mapping[str, NDArray[Any]], dt_s: float, clothes: float) -> Floats:
    """Return by how many kelvin heaters at the body raise the equivalent temperature, each lagged by its own time."""
    total = np.zeros(len(series["t_zone_air_k"]))
    for one in places.warmers:
        power = np.asarray(series[f"p_{one.name}_w"], float)
        per_w = comfort.equivalent_change_k(1.0, one.reaches, one.depth, clothes, BODY_FILM_W_PER_M2K, comfort.BODY_M2)
        total += _lagged(power, comfort.warm_up_share(dt_s, one.constant_s)) * per_w
    return total


@array_jit
def _lagged(x: Floats, share: float) -> Floats:
    """Return a series that follows another by a share of what is missing each step; it begins at nothing."""
    y = np.zeros(x.size)
    for k in range(1, x.size):
        y[k] = y[k - 1] + share * (x[k] - y[k - 1])
    return y


@array_jit
def _votes(
    air_k: Floats,
    radiant: Floats,
    gain: Floats,
    w: Floats,
    p_pa: Floats,
    speed: float,
    metabolic: float,
    clothes: float,
) -> tuple[Floats, Floats]:
    """Return the vote as felt, and 1 where the room without heaters is inside the limits of the standard."""
    vote, inside = np.zeros(air_k.size), np.zeros(air_k.size)
    for k in range(air_k.size):
        t, r, g, p = air_k[k], radiant[k], gain[k], vapour_pressure(w[k], p_pa[k])
        vote[k] = comfort.pmv(t + g, r + g, speed, p, metabolic, 0.0, clothes)
        inside[k] = comfort.pmv_in_range(t, r, speed, p, metabolic, 0.0, clothes)
    return vote, inside


def felt(
    places: Surroundings, series: Mapping[str, NDArray[Any]], case: Any
) -> tuple[dict[str, Floats], dict[str, Any]]:
    """Return the series of comfort by step edge, and its figures.

    Series: `t_operative_k` (room alone), `t_felt_k` (with the heaters at the body), `pmv`, `ppd`.
    Figures: `time_to_comfort_s` from the first moment someone is aboard to the first with a vote within 0.5 inside
    the standard's limits (None: never), `comfortable_s` of such steps while occupied,
    `outside_comfort_limits_steps` of occupied steps where the standard says nothing, `clothing_clo`.
    """
    t_s = np.asarray(case.t_s, float)
    aboard = np.asarray(series["occupied"]) > 0
    clothes_clo = clothing_clo(case, aboard[1:])
    clothes = clothes_clo * comfort.CLO_M2K_PER_W
    air, radiant = np.asarray(series["t_zone_air_k"], float), radiant_k(places, series)
    gain = gain_k(places, series, case.dt_s, clothes)
    outside = np.asarray(case.steps["p_ambient_pa"], float)
    p_pa = np.concatenate((outside[:1], outside))
    w = np.asarray(series["w_cabin"], float)
    at = sampled(aboard | (np.asarray(series["wanted"]) > 0), case.dt_s)
    votes, inside = _votes(air[at], radiant[at], gain[at], w[at], p_pa[at], SPEED_M_PER_S, METABOLIC_W_PER_M2, clothes)
    vote = np.interp(t_s, t_s[at], votes)
    valid = inside[np.searchsorted(at, np.arange(t_s.size), side="right") - 1] > 0.0
    weight = comfort.operative_k(1.0, 0.0, SPEED_M_PER_S)
    operative = weight * air + (1.0 - weight) * radiant
    square = vote * vote
    found = {
        "t_operative_k": operative,
        "t_felt_k": operative + gain,
        "pmv": vote,
        "ppd": 1.0 - 0.95 * np.exp(-0.03353 * square * square - 0.2179 * square),
    }
    return found, {**figures(t_s, aboard, vote, valid, case.dt_s), "clothing_clo": clothes_clo}


def sampled(minded: NDArray[np.bool_], dt_s: float) -> NDArray[np.int64]:
    """Return at which step edges the vote is worked out: often about edges that matter to somebody, else seldom."""
    every = max(int(SAMPLE_S / dt_s), 1)
    grid = np.arange(0, minded.size, every)
    kept = np.logical_or.reduceat(minded, grid)
    kept[1:] |= kept[:-1].copy()
    kept[:: max(int(EMPTY_SAMPLE_S / dt_s) // every, 1)] = True
    return np.unique(np.append(grid[kept], minded.size - 1))


def figures(
    t_s: Floats, aboard: NDArray[np.bool_], vote: Floats, valid: NDArray[np.bool_], dt_s: float
) -> dict[str, Any]:
    """Return minutes to comfort, time in comfort and the steps outside the limits; all by step edge."""
    good = aboard & valid & (np.abs(vote) < NEUTRAL)
    first, reached = np.flatnonzero(aboard), np.flatnonzero(good)
    return {
        "time_to_comfort_s": float(t_s[reached[0]] - t_s[first[0]]) if reached.size else None,
        "comfortable_s": float(np.sum(good[1:]) * dt_s),
        "outside_comfort_limits_steps": int(np.sum(aboard[1:] & ~valid[1:])),
    }
