"""What a march comes to: energy ledger, energies by use, comfort, range."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.program import Program
from heatwright.kernel import plan

J_PER_KWH = 3.6e6
ZERO_K = 273.15
CONVERSIONS = ("pack_heat", "drive_losses", "compressor_shell", "converter_loss")
NOT_TERMS = ("throughput", "circuit_residual_abs")
CABIN_MARKS_C = (10, 15, 20)
VENT_MARK_C = 40


def slug(name: str) -> str:
    """Return a name made of letters, digits and underscores."""
    return re.sub(r"_+", "_", re.sub(r"[^A-Za-z0-9]+", "_", name)).strip("_")


def is_boundary(term: str) -> bool:
    """Return whether a ledger term crosses the boundary (and is no use, inner conversion or magnitude)."""
    return not (term.startswith(("use", "heat:")) or term in CONVERSIONS or term in NOT_TERMS)


def ledger(program: Program, w: NDArray[np.float64], u_start: NDArray[np.float64]) -> dict[str, Any]:
    """Return the energy ledger: every signed boundary and store term [J], whose sum is the residual.

    Positive enters the car's thermal and electric system; a store term is minus what it gained.
    """
    acc = dict(zip(program.index.terms, (float(x) for x in plan.section(program.pi, w, "acc")), strict=True))
    gained = plan.section(program.pi, w, "u") - u_start
    terms = {name: value for name, value in acc.items() if is_boundary(name)}
    for store, places in program.index.stores.items():
        terms[f"stored_in_{store}"] = -float(sum(gained[k] for k in places))
    residual = float(sum(terms.values()))
    boundary = float(sum(abs(v) for name, v in terms.items() if not name.startswith("stored_in_")))
    through = acc["throughput"]
    return {
        "residual_j": residual,
        "residual_relative": residual / through if through else 0.0,
        "throughput_j": through,
        "boundary_j": boundary,
        "refrigerant_residual_j": acc["circuit_residual_abs"],
        "terms_j": terms,
        "conversions_j": {n: v for n, v in acc.items() if n.startswith("heat:") or n in CONVERSIONS},
    }


def energies_kwh(program: Program, w: NDArray[np.float64]) -> dict[str, float]:
    """Return the energy drawn from pack and station by use [kWh]; the uses add up to what both gave."""
    acc = dict(zip(program.index.terms, (float(x) for x in plan.section(program.pi, w, "acc")), strict=True))
    uses = {
        "traction": acc["use_traction"],
        "low_voltage": acc["use_low_voltage"],
        "pack_resistance": acc["use_pack_loss"],
        "pack_reversible": acc["pack_heat"] - acc["use_pack_loss"],
        "charger_loss": -acc["charger_loss"],
    }
    if program.index.ports:
        uses["compressor"] = acc["use_compressor"]
    uses |= {name[4:]: value for name, value in acc.items() if name.startswith("use:")}
    return {name: value / J_PER_KWH for name, value in uses.items()}


def first_time_s(t_s: NDArray, values: NDArray, mark: float, since: int) -> float | None:
    """Return how long after row `since` a series first reaches a mark [s], None if never."""
    above = np.flatnonzero(values[since:] >= mark)
    return float(t_s[since + above[0]] - t_s[since]) if above.size else None


def comfort(series: Mapping[str, NDArray], case: Any) -> dict[str, Any]:
    """Return the service figures: minutes to marks from the first wish, shortfall and fog while occupied."""
    t_s = np.asarray(case.t_s)
    wanted = series["wanted"] > 0
    air, vent = series["t_zone_air_k"], series["t_vent_k"]
    out: dict[str, Any] = {}
    starts = np.flatnonzero(np.diff(np.concatenate(([0], wanted.astype(int)))) == 1)
    windows = []
    for since in starts:
        window: dict[str, Any] = {"from_s": float(t_s[since])}
        for mark in CABIN_MARKS_C:
            window[f"time_to_{mark}c_s"] = first_time_s(t_s, air, mark + ZERO_K, int(since))
        window[f"vent_time_to_{VENT_MARK_C}c_s"] = first_time_s(t_s, vent, VENT_MARK_C + ZERO_K, int(since))
        windows.append(window)
    if windows:
        out |= {key: value for key, value in windows[0].items() if key != "from_s"}
    dt_min = case.dt_s / 60.0
    occupied = series["occupied"][1:] > 0
    short = np.maximum(series["t_setpoint_k"][1:] - air[1:], 0.0)
    over = np.maximum(air[1:] - series["t_setpoint_k"][1:], 0.0)
    out["short_k_min"] = float(np.sum(short[occupied]) * dt_min)
    out["over_k_min"] = float(np.sum(over[occupied]) * dt_min)
    out["fogged_s"] = float(np.sum((series["fog_margin_k"][1:] < 0.0) & occupied) * case.dt_s)
    out["occupied_s"] = float(np.sum(occupied) * case.dt_s)
    out["windows"] = windows
    return out


def summary(program: Program, case: Any, series: Mapping[str, NDArray], books: Mapping[str, Any]) -> dict[str, Any]:
    """Return the headline figures: energy per distance, range, ends of charge and pack heat."""
    distance = case.distance_m
    terms = books["terms_j"]
    pack = terms["pack_chemistry"] / J_PER_KWH
    station = terms["station"] / J_PER_KWH
    facts = program.facts
    used = pack + station
    per_100 = used / distance * 1e5 if distance > 0 else None
    pack_per_100 = pack / distance * 1e5 if distance > 0 else None
    cells = set(plan.section(program.pi, program.pi, "pk_n").tolist())
    packs = [name for name, places in program.index.stores.items() if cells & set(places)]
    usable = facts["pack_usable_j"] / J_PER_KWH
    return {
        "distance_km": distance / 1e3,
        "energy_used_kwh": used,
        "from_pack_kwh": pack,
        "from_station_kwh": station,
        "energy_kwh_per_100km": per_100,
        "pack_kwh_per_100km": pack_per_100,
        "range_km": usable / pack_per_100 * 100.0 if pack_per_100 and pack_per_100 > 0 else None,
        "soc_start": float(series["soc"][0]),
        "soc_end": float(series["soc"][-1]),
        "t_pack_start_k": float(series["t_pack_coldest_k"][0]),
        "t_pack_end_k": float(series["t_pack_coldest_k"][-1]),
        "pack_heat_gained_kwh": -sum(terms[f"stored_in_{name}"] for name in packs) / J_PER_KWH,
        "steps": int(case.n),
        "duration_s": float(case.n * case.dt_s),
    }
