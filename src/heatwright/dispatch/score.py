"""The score of a driven day in kWh: what it drew, and what its people, its glass, its wait and its cells put up with.

A pure function of a Run and its Case: it asks nothing of the strategy that drove, so strategies can be set side by
side. Traction is left out (the road asks it, whatever the strategy), and so is the heat that charge takes up and gives
back in the cells.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.dispatch.switches import per_hour, switches_of
from heatwright.outcome import J_PER_KWH
from heatwright.physics.moist_air import saturation_pressure
from heatwright.run import Run

NOT_SCORED = frozenset({"traction", "pack_reversible"})
"""Uses that the score leaves out."""

DISCOMFORT_W_PER_K = 400.0
"""A kelvin of cabin air beyond the band, people aboard [W/K]; judgement."""
COMFORT_BAND_K = 1.0
"""Error of the cabin's air that nobody minds [K], either way; judgement."""
FOG_W = 2000.0
"""Glass about to fog, people aboard [W]; judgement."""
FOG_HUMIDITY = 0.97
"""Relative humidity at the coldest glass from which it is about to fog [-]; judgement."""
FOG_MARGIN_K = 2.0
"""Glass this far above the dew point is below FOG_HUMIDITY whatever its temperature [K]: a kelvin is 5 % and more."""
WAITING_W = 6000.0
"""People who wait at a station for the charge they want [W]; judgement."""
AGEING_W = 250.0
"""Wear of the cells at the first doubling above AGEING_FROM_C [W]; judgement."""
AGEING_FROM_C = 25.0
"""Mean of the hottest and coldest cells above which wear is counted [degC]; judgement."""
AGEING_DOUBLES_K = 10.0
"""Warming that doubles the wear [K]; common rule of thumb."""
FULL_CHARGE = 0.95
"""Charge above which a warm pack would not take the braking either [-]; judgement."""

DRAINED_CHARGE = 0.02
"""A pack below this charge is drained [-]; judgement."""
COLD_CABIN_K = 8.0
"""A cabin this far below its set-point on the mean is unheated [K]; judgement."""
COLD_SPELL_S = 1200.0
"""Spells with people aboard must last longer than this to be judged by their second half [s]; judgement."""
CHARGE_STEP = 1e-4
"""A charge short of the one wanted by less than this is there [-]: what one step brings."""


@dataclass(frozen=True)
class Score:
    """What a day comes to. Parts ending in `_kwh` but `energy_kwh` add up to `score_kwh`; the rest explains them.

    uses_kwh : what was drawn, by use, without traction. regen_lost_kwh : what the friction brakes took [mechanical] in
    steps in which the coldest cells lay below their best charging window and the pack was not full; all of it counts,
    so it is the most that a warm pack could have saved. switches_per_h : `switches` an hour with people aboard;
    None if nobody was. vetoes : what no score makes good.
    """

    uses_kwh: Mapping[str, float]
    regen_lost_kwh: float
    discomfort_kwh: float
    fog_kwh: float
    waiting_kwh: float
    ageing_kwh: float
    discomfort_kh: float
    charge_min: float
    switches_per_h: float | None
    vetoes: tuple[str, ...]

    @property
    def energy_kwh(self) -> float:
        """Return what was drawn from pack and station but for traction."""
        return float(sum(self.uses_kwh.values()))

    @property
    def score_kwh(self) -> float:
        """Return the sum of all parts; less is better."""
        others = self.regen_lost_kwh + self.discomfort_kwh + self.fog_kwh + self.waiting_kwh + self.ageing_kwh
        return self.energy_kwh + others


def score(run: Run, case: Any) -> Score:
    """Return the score of a run over the case it was marched on."""
    series = run.series
    kwh = case.dt_s / J_PER_KWH
    aboard = np.asarray(case.steps["occupied"]) > 0.0
    charge = _after(series, "soc")
    rates = penalties_w(run, case)
    return Score(
        uses_kwh={name: float(v) for name, v in run.energy_kwh.items() if name not in NOT_SCORED},
        regen_lost_kwh=float(np.sum(rates["regen_lost_kwh"])) * kwh,
        discomfort_kwh=float(np.sum(rates["discomfort_kwh"])) * kwh,
        fog_kwh=float(np.sum(rates["fog_kwh"])) * kwh,
        waiting_kwh=float(np.sum(rates["waiting_kwh"])) * kwh,
        ageing_kwh=float(np.sum(rates["ageing_kwh"])) * kwh,
        discomfort_kh=float(np.sum(_beyond_k(series, case)[aboard])) * case.dt_s / 3600.0,
        charge_min=int(np.sum(_waiting(series, case))) * case.dt_s / 60.0,
        switches_per_h=per_hour(switches_of(run, aboard), aboard, case.dt_s),
        vetoes=_vetoes(series, case, aboard, charge),
    )


def penalties_w(run: Run, case: Any) -> dict[str, NDArray[np.float64]]:
    """Return every part of the score but what was drawn, as watts in each step, by its field of `Score`."""
    series = run.series
    aboard = np.asarray(case.steps["occupied"]) > 0.0
    return {
        "regen_lost_kwh": _lost_w(series, _after(series, "soc")),
        "discomfort_kwh": np.where(aboard, DISCOMFORT_W_PER_K * _beyond_k(series, case), 0.0),
        "fog_kwh": FOG_W * _about_to_fog(series, aboard),
        "waiting_kwh": WAITING_W * _waiting(series, case),
        "ageing_kwh": _ageing_w(series),
    }


def drawn_w(run: Run) -> NDArray[np.float64]:
    """Return what pack and station give at their terminals in each step, but for traction [W]."""
    series = run.series
    return _after(series, "p_pack_w") + _after(series, "p_station_w") - _after(series, "p_traction_w")


def _after(series: Mapping[str, Any], name: str) -> NDArray[np.float64]:
    """Return a series as it stands at the end of every step."""
    return np.asarray(series[name], float)[1:]


def _beyond_k(series: Mapping[str, Any], case: Any) -> NDArray[np.float64]:
    """Return how far the cabin's air lies outside the band about its set-point at the end of every step [K]."""
    error = np.abs(_after(series, "t_zone_air_k") - np.asarray(case.steps["t_setpoint_k"], float))
    beyond: NDArray[np.float64] = np.maximum(error - COMFORT_BAND_K, 0.0)
    return beyond


def _waiting(series: Mapping[str, Any], case: Any) -> NDArray[np.bool_]:
    """Return in which steps people wait at a station for the charge they want."""
    charge = _after(series, "soc")
    waits: NDArray[np.bool_] = np.asarray(case.steps["fast"]) > 0.0
    return waits & (charge < np.asarray(case.steps["charge_to"]) - CHARGE_STEP)


def _about_to_fog(series: Mapping[str, Any], aboard: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return in which steps with people aboard the air at the coldest glass is damper than FOG_HUMIDITY."""
    margin, dew = _after(series, "fog_margin_k"), _after(series, "dew_k")
    damp = np.zeros(aboard.size, bool)
    for k in np.flatnonzero(aboard & (margin < FOG_MARGIN_K)):
        damp[k] = saturation_pressure(dew[k]) > FOG_HUMIDITY * saturation_pressure(dew[k] + margin[k])
    return damp


def _lost_w(series: Mapping[str, Any], charge: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return what the friction brakes take because the cells are cold [W]."""
    cold = _after(series, "t_pack_coldest_k") < _after(series, "t_charge_best_k")
    return np.where(cold & (charge < FULL_CHARGE), np.maximum(_after(series, "p_friction_brake_w"), 0.0), 0.0)


def _ageing_w(series: Mapping[str, Any]) -> NDArray[np.float64]:
    """Return the worth of the wear of warm cells [W]."""
    cells_c = 0.5 * (_after(series, "t_pack_hottest_k") + _after(series, "t_pack_coldest_k")) - 273.15
    above: NDArray[np.float64] = np.maximum(cells_c - AGEING_FROM_C, 0.0)
    return AGEING_W * (2.0 ** (above / AGEING_DOUBLES_K) - 1.0)


def _vetoes(
    series: Mapping[str, Any], case: Any, aboard: NDArray[np.bool_], charge: NDArray[np.float64]
) -> tuple[str, ...]:
    found = []
    if float(np.min(charge)) < DRAINED_CHARGE:
        found.append("drained pack")
    short = np.asarray(case.steps["t_setpoint_k"], float) - _after(series, "t_zone_air_k")
    edges = np.flatnonzero(np.diff(np.concatenate(([False], aboard, [False])).astype(int)))
    for first, last in edges.reshape(-1, 2).tolist():
        if (last - first) * case.dt_s > COLD_SPELL_S and float(
            np.mean(short[(first + last) // 2 : last])
        ) > COLD_CABIN_K:
            leg = next(one for one in case.segments if one.last_exclusive > first)
            found.append(f"unheated cabin from {leg.name!r} on")
    return tuple(found)
