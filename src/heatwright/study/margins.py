"""Five needs of a car over a run, each as a margin: above zero it is met, below it is not; nan where nobody asks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.run import Run

Floats = NDArray[np.float64]
BAND_K = 1.0
"""How far the cabin's air may lie off its set-point."""


@dataclass(frozen=True, eq=False)
class Margin:
    """One need over a run: its margin in `unit`, what the margin is, and the time it was asked for and missed [s]."""

    key: str
    words: str
    means: str
    unit: str
    values: Floats
    asked_s: float
    missed_s: float

    def at(self, k: int) -> float | None:
        """Return the margin at row `k` of the run; None where nobody asks."""
        value = float(self.values[k])
        return value if np.isfinite(value) else None

    def as_json(self) -> dict[str, Any]:
        """Return what it comes to as plain values; the series itself is `values`."""
        finite = self.values[np.isfinite(self.values)]
        return {
            "key": self.key, "words": self.words, "means": self.means, "unit": self.unit, "asked_s": self.asked_s,
            "missed_s": self.missed_s, "least": float(finite.min()) if finite.size else None,
        }  # fmt: skip


def margins(run: Run) -> tuple[Margin, ...]:
    """Return the needs that the run has series for: cabin warm, cabin cool, clear glass, pack able, drive unit cool."""
    series = {name: np.asarray(values, float) for name, values in run.series.items() if name in _READ}
    lasts_s = np.append(0.0, np.diff(run.t_s))
    found = []
    for key, words, means, unit, reads, work_out in _NEEDS:
        if all(name in series for name in reads):
            values = np.where(np.isfinite(work_out(series)), work_out(series), np.nan)
            asked = np.isfinite(values)
            missed = asked & (np.nan_to_num(values) < 0.0)
            found.append(
                Margin(key, words, means, unit, values, float(lasts_s[asked].sum()), float(lasts_s[missed].sum()))
            )
    return tuple(found)


def _warm(s: dict[str, Floats]) -> Floats:
    return np.where(s["wanted"] > 0.0, s["t_zone_air_k"] - s["t_setpoint_k"] + BAND_K, np.nan)


def _cool(s: dict[str, Floats]) -> Floats:
    return np.where(s["wanted"] > 0.0, s["t_setpoint_k"] + BAND_K - s["t_zone_air_k"], np.nan)


def _clear(s: dict[str, Floats]) -> Floats:
    return np.where(s["occupied"] > 0.0, s["fog_margin_k"], np.nan)


def _pack(s: dict[str, Floats]) -> Floats:
    """What the pack may give beyond what is asked, or still take [kW]; pulses it may take for moments count as zero."""
    gives = s["p_pack_w"] > 1.0
    takes = s["p_pack_w"] < -1.0
    give = s["p_give_limit_w"] - s["p_pack_w"] - s["p_drive_short_w"]
    room = np.where(gives, give, np.maximum(s["p_take_limit_w"] + s["p_pack_w"], 0.0))
    return np.where(gives | takes, room * 1e-3, np.nan)


def _drive(s: dict[str, Floats]) -> Floats:
    return np.where(s["speed_m_per_s"] > 0.0, 100.0 * (s["drive_share"] - 1.0), np.nan)


_NEEDS = (
    ("warm", "Cabin warm", f"air above set-point less {BAND_K:g} K, while wanted", "K",
     ("wanted", "t_zone_air_k", "t_setpoint_k"), _warm),
    ("cool", "Cabin cool", f"air below set-point plus {BAND_K:g} K, while wanted", "K",
     ("wanted", "t_zone_air_k", "t_setpoint_k"), _cool),
    ("clear", "Glass clear", "glass above the dew point, people aboard", "K", ("occupied", "fog_margin_k"), _clear),
    ("pack", "Pack able", "power it may give beyond what is asked, or take", "kW",
     ("p_pack_w", "p_give_limit_w", "p_take_limit_w", "p_drive_short_w"), _pack),
    ("drive", "Drive unit cool", "share of its torque left, less 100 %, while driving", "%",
     ("speed_m_per_s", "drive_share"), _drive),
)  # fmt: skip
_READ = frozenset(name for *_, reads, _ in _NEEDS for name in reads)
