"""What a march comes to: energy ledger, energies by use, comfort, range."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from heatwright.compiler.program import Program

J_PER_KWH = 3.6e6
ZERO_K = 273.15
CONVERSIONS = ("pack_heat", "drive_losses", "compressor_shell", "converter_loss", "charger_heat")
NOT_TERMS = ("throughput", "circuit_residual_abs", "short_drive", "charged")
CABIN_MARKS_C = (10, 15, 20)
VENT_MARK_C = 40
DEFROST_KG_PER_S = 3e-4  # slower melting (a parked car as the day warms) is no defrost
DEFROST_KG = 0.01  # that must go in one spell
DEFROST_GAP_S = 60.0
DRIVE_LIMITS = (
    "coolant entering the drive unit",
    "winding",
    "magnets",
    "inverter",
    "gear oil",
    "housing of the drive unit",
)
"""What holds a drive unit back, in the order of physics.drive_limits."""


def slug(name: str) -> str:
    """Return a name made of letters, digits and underscores."""
    return re.sub(r"_+", "_", re.sub(r"[^A-Za-z0-9]+", "_", name)).strip("_")


def _section(program: Program, array: NDArray, name: str) -> NDArray:
    """A section of a program's arrays. Whoever only reads saved runs by this room's names loads no kernel."""
    from heatwright.kernel import plan

    return plan.section(program.pi, array, name)


def is_boundary(term: str) -> bool:
    """Return whether a ledger term crosses the boundary (and is no use, inner conversion or magnitude)."""
    return not (term.startswith(("use", "heat:")) or term in CONVERSIONS or term in NOT_TERMS)


def ledger(program: Program, w: NDArray[np.float64], u_start: NDArray[np.float64]) -> dict[str, Any]:
    """Return the energy ledger: every signed boundary and store term [J], whose sum is the residual.

    Positive enters the car's thermal and electric system; a store term is minus what it gained.
    """
    acc = dict(zip(program.index.terms, (float(x) for x in _section(program, w, "acc")), strict=True))
    gained = _section(program, w, "u") - u_start
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
        "charged_j": acc["charged"],
        "terms_j": terms,
        "conversions_j": {n: v for n, v in acc.items() if n.startswith("heat:") or n in CONVERSIONS},
    }


def energies_kwh(program: Program, w: NDArray[np.float64]) -> dict[str, float]:
    """Return the energy drawn from pack and station by use [kWh]; the uses add up to what both gave."""
    acc = dict(zip(program.index.terms, (float(x) for x in _section(program, w, "acc")), strict=True))
    uses = {
        "traction": acc["use_traction"],
        "low_voltage": acc["use_low_voltage"],
        "pack_resistance": acc["use_pack_loss"],
        "pack_reversible": acc["pack_heat"] - acc["use_pack_loss"],
        "charger_loss": acc.get("charger_heat", 0.0) - acc["charger_loss"],
    }
    if acc["use_drive_heat"] > 0.0:
        uses["drive_heat"] = acc["use_drive_heat"]
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
    spans = []
    for since in starts:
        span: dict[str, Any] = {"from_s": float(t_s[since])}
        for mark in CABIN_MARKS_C:
            span[f"time_to_{mark}c_s"] = first_time_s(t_s, air, mark + ZERO_K, int(since))
        span[f"vent_time_to_{VENT_MARK_C}c_s"] = first_time_s(t_s, vent, VENT_MARK_C + ZERO_K, int(since))
        spans.append(span)
    if spans:
        out |= {key: value for key, value in spans[0].items() if key != "from_s"}
    dt_min = case.dt_s / 60.0
    occupied = series["occupied"][1:] > 0
    short = np.maximum(series["t_setpoint_k"][1:] - air[1:], 0.0)
    over = np.maximum(air[1:] - series["t_setpoint_k"][1:], 0.0)
    out["short_k_min"] = float(np.sum(short[occupied]) * dt_min)
    out["over_k_min"] = float(np.sum(over[occupied]) * dt_min)
    out["fogged_s"] = float(np.sum((series["fog_margin_k"][1:] < 0.0) & occupied) * case.dt_s)
    out["occupied_s"] = float(np.sum(occupied) * case.dt_s)
    out["wanted_spans"] = spans
    return out


def frost(program: Program, series: Mapping[str, NDArray], books: Mapping[str, Any]) -> dict[str, Any]:
    """Return the figures of frost on the exchangers in the wind: most and last frost, its water, defrosts, melting.

    A defrost is a spell in which at least 10 g melt, faster than 0.3 g/s, with no pause of more than a minute. Empty
    without front.
    """
    out: dict[str, Any] = {}
    if not program.index.front:
        return out
    sums = dict.fromkeys(("frost_end_kg", "vapour_taken_kg", "melt_drained_kg", "frost_water_residual_kg"), 0.0)
    most, spells, lasted = 0.0, 0, 0.0
    for name in program.index.front:
        key = slug(name)
        ice, held, taken, drained = (
            np.asarray(series[f"m_{what}_{key}_kg"], float)
            for what in ("frost", "melt_water", "vapour_taken", "melt_drained")
        )
        most = max(most, float(ice.max()))
        sums["frost_end_kg"] += float(ice[-1])
        sums["vapour_taken_kg"] += float(taken[-1])
        sums["melt_drained_kg"] += float(drained[-1])
        sums["frost_water_residual_kg"] += float(taken[-1] - drained[-1] - ice[-1] - held[-1])
        node = next(n for n in (f"t_{key}_wall_k", f"t_{key}_coolant_k") if n in series)
        found, seconds = defrosts(ice, np.asarray(series[node], float), program.dt_s)
        spells, lasted = spells + found, lasted + seconds
    melt = 0.0 - books["terms_j"]["melt"] / J_PER_KWH
    return {"frost_most_kg": most, **sums, "defrosts": spells, "defrosting_s": lasted, "melt_kwh": melt}


def defrosts(ice: NDArray, wall_k: NDArray, dt_s: float) -> tuple[int, float]:
    """Return how often frost was melted off, and for how long altogether [s]; `ice` [kg] and `wall_k` by step edge."""
    gone = np.maximum(-np.diff(ice), 0.0)
    at = np.flatnonzero((gone > DEFROST_KG_PER_S * dt_s) & (wall_k[:-1] > ZERO_K))
    if not at.size:
        return 0, 0.0
    spells = np.split(at, np.flatnonzero(np.diff(at) * dt_s > DEFROST_GAP_S) + 1)
    real = [spell for spell in spells if gone[spell].sum() >= DEFROST_KG]
    return len(real), float(sum(spell.size for spell in real) * dt_s)


def reached_step(series: Mapping[str, NDArray], case: Any, leg: Any) -> int | None:
    """Return after how many steps of a segment the charge asked for is there, None if it never is."""
    wanted = float(case.steps["charge_to"][leg.first])
    there = np.flatnonzero(series["soc"][leg.first : leg.last_exclusive + 1] >= np.float32(wanted))
    return int(there[0]) if there.size else None


def charges(series: Mapping[str, NDArray], case: Any) -> list[dict[str, Any]]:
    """Return every segment in which the pack is charged: charge, minutes to the one asked for, energies [kWh].

    `from_station_kwh` splits into `into_pack_kwh` (at the terminals) and `beside_kwh` (cabin, 12 V side, the car's
    charger); `pack_heat_kwh` is what the pack turned into heat on the way.
    """
    out = []
    for leg in case.segments:
        if case.steps["charging"][leg.first] <= 0.0:
            continue
        span = slice(leg.first + 1, leg.last_exclusive + 1)
        step = reached_step(series, case, leg)
        kwh = case.dt_s / J_PER_KWH
        into = -float(np.sum(np.minimum(series["p_pack_w"][span], 0.0), dtype=float)) * kwh
        drawn = float(np.sum(series["p_station_w"][span], dtype=float)) * kwh
        heat = float(np.sum(series["q_pack_w"][span], dtype=float)) * kwh
        steps = leg.last_exclusive - leg.first if step is None else step
        out.append(
            {
                "segment": leg.name,
                "soc_start": float(series["soc"][leg.first]),
                "soc_wanted": float(case.steps["charge_to"][leg.first]),
                "soc_end": float(series["soc"][leg.last_exclusive]),
                "reached": step is not None,
                "minutes": steps * case.dt_s / 60.0,
                "from_station_kwh": drawn,
                "into_pack_kwh": into,
                "beside_kwh": drawn - into,
                "pack_heat_kwh": heat,
                "most_w": float(np.max(series["p_station_w"][span])),
                "t_pack_start_k": float(series["t_pack_coldest_k"][leg.first]),
                "t_pack_most_k": float(np.max(series["t_pack_hottest_k"][span])),
            }
        )
    return out


def held_back(series: Mapping[str, NDArray], case: Any) -> dict[str, float]:
    """Return how long the drive unit was held back while driving [s], and by which temperature longest."""
    driving = case.steps["driving"] > 0
    which = np.where(driving & (series["drive_share"][1:] < 1.0), series["drive_limit"][1:].astype(int), 0)
    return {text: float(np.sum(which == k) * case.dt_s) for k, text in enumerate(DRIVE_LIMITS, 1) if np.any(which == k)}


def pack_and_drive(
    program: Program, case: Any, series: Mapping[str, NDArray], w: NDArray[np.float64]
) -> dict[str, Any]:
    """Return what a whole record tells of the pack's heat, of charging, and of a drive unit held back.

    Heat in the pack counts from the trip's `heat_reference` (20 degC if it names none) and is below zero in a pack
    colder than that. Needs `heat_in_pack_j` among the series.
    """
    acc = _section(program, w, "acc")
    heat = series["heat_in_pack_j"]
    return {
        "heat_reference_k": case.t_heat_reference_k,
        "heat_in_pack_start_kwh": float(heat[0]) / J_PER_KWH,
        "heat_in_pack_end_kwh": float(heat[-1]) / J_PER_KWH,
        "heat_in_pack_most_kwh": float(np.max(heat)) / J_PER_KWH,
        "drive_derated_s": float(sum(held_back(series, case).values())),
        "drive_power_short_j": float(acc[program.index.terms.index("short_drive")]),
        **_charged(charges(series, case)),
    }


def _charged(found: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the totals of all charges; nothing if there was none."""
    if not found:
        return {}
    return {
        "charges": found,
        "charge_minutes": sum(one["minutes"] for one in found),
        "charge_kwh": sum(one["into_pack_kwh"] for one in found),
        "charge_pack_heat_kwh": sum(one["pack_heat_kwh"] for one in found),
        "charges_not_reached": sum(not one["reached"] for one in found),
    }


def summary(program: Program, case: Any, series: Mapping[str, NDArray], books: Mapping[str, Any]) -> dict[str, Any]:
    """Return the headline figures: energy per distance, range, ends of charge and pack heat.

    Range is that on what the pack gave; what was charged on the way is left out of it.
    """
    distance = case.distance_m
    terms = books["terms_j"]
    pack = terms["pack_chemistry"] / J_PER_KWH
    station = terms["station"] / J_PER_KWH
    facts = program.facts
    used = pack + station
    per_100 = used / distance * 1e5 if distance > 0 else None
    gave = pack + books["charged_j"] / J_PER_KWH
    pack_per_100 = gave / distance * 1e5 if distance > 0 else None
    cells = set(_section(program, program.pi, "pk_n").tolist())
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
