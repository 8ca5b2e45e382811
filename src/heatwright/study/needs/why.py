"""Why a need is met or missed, in a sentence: what stood at its limit meanwhile, or where the energy went."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from heatwright.kernel.status import LIMIT_NONE, LIMIT_SENTENCES
from heatwright.outcome import DRIVE_LIMITS, slug
from heatwright.plant.circuits import connected
from heatwright.simulate import of_circuit
from heatwright.study.point_table import celsius

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from heatwright.plant.model import Part, Plant
    from heatwright.run import Run
    from heatwright.study.needs.figures import Window
    from heatwright.study.needs.sheet import Need

AT_LIMIT = 0.97
OFTEN = 0.15


def why(plant: Plant, run: Run, need: Need, window: Window) -> str:
    """Return the sentence that goes with one figure of one run."""
    told = _TOLD.get(need.figure)
    return told(plant, run, need, window) if told else ""


def bound(plant: Plant, run: Run, first: int, last: int) -> list[str]:
    """Return what stood at its limit for the cabin between two step edges, longest first.

    That may be a heater that can reach the cabin's air, the compressor, its circuit or the blower.
    """
    span = slice(first + 1, max(last, first + 1) + 1)
    found: list[tuple[float, str]] = []
    for part in cabin_heaters(plant):
        power = np.asarray(run.series[f"p_{slug(part.name)}_w"][span], float)
        drawn = float(part.values["power"]) / float(part.values.get("efficiency") or 1.0)
        share = float(np.mean(power >= AT_LIMIT * min(drawn, float(part.values["power"]))))
        found.append((share, f"{part.name} at its {part.values['power'] / 1e3:g} kW"))
    for number, part in enumerate(plant.of_kind("compressor")):
        found += _bound_circuit(part, run, span, number)
    for part in plant.of_kind("blower"):
        full = np.asarray(run.series[f"x_{slug(part.name)}"][span], float) >= AT_LIMIT
        found.append((float(np.mean(full)), f"{part.name} full on"))
    kept = sorted((one for one in found if one[0] >= OFTEN), reverse=True)[:3]
    return [f"{words} for {100.0 * share:.0f} % of the time" for share, words in kept]


def _bound_circuit(part: Part, run: Run, span: slice, number: int) -> list[tuple[float, str]]:
    """The share of the time in which the compressor of circuit `number`, or the circuit itself, stood at a limit."""

    def series(name: str) -> NDArray[np.float64]:
        return np.asarray(run.series[of_circuit(part.name, name) if number else name][span], float)

    top, on = series("speed_used_hz") >= AT_LIMIT * float(part.values["speed"]), series("compressor_on") > 0.0
    found = [(float(np.mean(top & on)), f"{part.name} at its {60.0 * part.values['speed']:.0f} rpm")]
    limits = series("limit").astype(int)
    whose = f"{part.name}: " if number else ""
    for code in np.unique(limits[limits != LIMIT_NONE]).tolist():
        found.append((float(np.mean(limits == code)), whose + LIMIT_SENTENCES[code].partition(":")[0]))
    return found


def cabin_heaters(plant: Plant) -> tuple[Part, ...]:
    """Return the heaters whose heat can reach the cabin's air: those in it, or in coolant that meets a core.

    Coolant lines meet where they share a tank, a tee or a valve in any position.
    """
    groups = [
        {name for branch in group for name in branch.parts} for group in connected(plant.nets["coolant"].branches)
    ]
    cores = {part.name for part in plant.of_kind("heater_core")}
    reaching = {name for group in groups if group & cores for name in group}
    return tuple(
        part
        for part in plant.of_kind("coolant_heater", "air_heater")
        if part.kind == "air_heater" or part.name in reaching
    )


def _unasked(plant: Plant) -> str:
    """Why a cabin's clock is missed though nothing stood at its limit."""
    if plant.control is None:
        return "the plant has no control table, so everything stood still"
    return "nothing stood at its limit: control asked for no more"


def _cabin(plant: Plant, run: Run, need: Need, window: Window) -> str:
    """The cabin's clocks: what stood at its limit, or that the control asked for no more."""
    limits = bound(plant, run, window.first, window.last)
    t_end_k = float(run.series["t_zone_air_k"][window.last])
    ends = "" if window.value is not None else f"the cabin ends at {celsius(t_end_k, 0)} °C; "
    return ends + ("; ".join(limits) or _unasked(plant))


def _cabin_warmest(plant: Plant, run: Run, need: Need, window: Window) -> str:
    limits = bound(plant, run, window.first, window.last)
    return "; ".join(limits) or _unasked(plant)


def _range(plant: Plant, run: Run, need: Need, window: Window) -> str:
    """The uses that take the most, heat that the pack has lost not among them."""
    total = sum(value for value in run.energy_kwh.values() if value > 0.0)
    largest = sorted(run.energy_kwh.items(), key=lambda one: -one[1])[:3]
    per_100 = float(run.summary["pack_kwh_per_100km"] or 0.0)
    uses = ", ".join(f"{name.replace('_', ' ')} {100.0 * value / total:.0f} %" for name, value in largest)
    return f"{per_100:.1f} kWh/100 km: {uses}"


def _charge(plant: Plant, run: Run, need: Need, window: Window) -> str:
    """Whether pack or station bound, and how warm the cells were."""
    first, last = window.first, window.last
    span = slice(first + 1, last + 1)
    drawn = np.asarray(run.series["p_station_w"][span], float)
    take = np.asarray(run.series["p_take_limit_w"][span], float)
    into = -np.minimum(np.asarray(run.series["p_pack_w"][span], float), 0.0)
    cold = celsius(float(run.series["t_pack_coldest_k"][first]), 0)
    hot = celsius(float(np.max(run.series["t_pack_hottest_k"][span])), 0)
    pack = float(np.mean(into >= AT_LIMIT * take))
    mean = float(np.mean(drawn)) / 1e3
    soc = 100.0 * float(run.series["soc"][first])
    late = f"; counted from {soc:.0f} %, with which it came" if soc > 100.0 * (need.share or 0.0) + 1.0 else ""
    return (
        f"mean {mean:.0f} kW; what the cells may take bound for {100.0 * pack:.0f} % of the time, from {cold} to"
        f" {hot} °C{late}"
    )


def _pack(plant: Plant, run: Run, need: Need, window: Window) -> str:
    """What warmed or cooled the cells: heat of their own, and whether anything reaches them at all."""
    heat = float(np.sum(np.asarray(run.series["q_pack_w"][1:], float)) * float(run.t_s[1] - run.t_s[0])) / 3.6e6
    start, end = (celsius(float(run.series["t_pack_coldest_k"][k]), 0) for k in (0, -1))
    return f"{conditioned(plant)}; {heat:.2f} kWh of heat arise in it; from {start} to {end} °C"


def conditioned(plant: Plant) -> str:
    """Return in words what can reach the pack: coolant, what lies on it, or nothing."""
    packs = {part.name for part in plant.of_kind("pack")}
    wet = any(packs & set(branch.parts) for branch in plant.nets["coolant"].branches)
    ways = ["coolant"] if wet else []
    ways += [part.name for part in plant.parts.values() if part.values.get("on") in packs]
    return f"all that reaches the pack: {' and '.join(ways)}" if ways else "nothing conditions the pack"


def _power_short(plant: Plant, run: Run, need: Need, window: Window) -> str:
    capped = int(run.health.get("pack_power_capped_steps", 0)) * float(run.t_s[1] - run.t_s[0])
    held = held_back(run)
    if capped > 0.0:
        coldest = celsius(float(np.min(run.series["t_pack_coldest_k"])), 0)
        return f"the pack gave all it may for {capped:.0f} s, its coldest cells at {coldest} °C"
    return held or "the pack gave what was asked"


def held_back(run: Run) -> str:
    """Return which temperature held the drive unit back longest, and how far; empty if none did."""
    held: Mapping[str, float] = run.health.get("drive_held_back_s", {})
    if not held:
        return ""
    text, seconds = max(held.items(), key=lambda one: one[1])
    least = float(np.min(run.series["drive_share"]))
    return f"{text} too hot for {seconds / 60.0:.1f} min; down to {100.0 * least:.0f} % of its torque"


def _drive(plant: Plant, run: Run, need: Need, window: Window) -> str:
    """Which temperature came nearest to its limit, where none held it back."""
    held = held_back(run)
    if held:
        return held
    hottest = []
    for part in plant.of_kind("drive_unit"):
        for node, key, words in _DRIVE_NODES:
            name = f"t_{slug(part.name)}_{node}_k"
            if name in run.series:
                t_k = float(np.max(run.series[name]))
                hottest.append((float(part.values[key]) - t_k, f"{words} {celsius(t_k, 0)} °C"))
    gap, text = min(hottest, default=(0.0, "no temperature"))
    return f"{text} at the most, {gap:.0f} K below its limit"


_DRIVE_NODES = (
    ("winding", "winding_limit", "winding"),
    ("rotor", "rotor_limit", "magnets"),
    ("inverter", "inverter_limit", "inverter"),
    ("oil", "oil_limit", "gear oil"),
    ("housing", "limit", DRIVE_LIMITS[-1]),
)


def _glass(plant: Plant, run: Run, need: Need, window: Window) -> str:
    fogged = np.asarray(run.series["fog_margin_k"][1:], float) < 0.0
    occupied = np.asarray(run.series["occupied"][1:], float) > 0.0
    worst = float(np.min(run.series["fog_margin_k"][1:][occupied])) if occupied.any() else 0.0
    fogged_s = float(np.sum(fogged & occupied)) * float(run.t_s[1] - run.t_s[0])
    if fogged_s == 0.0:
        return f"the coldest glass stays {worst:.1f} K above the dew point or more"
    last = float(run.t_s[1:][fogged & occupied][-1]) / 60.0
    long = f"{fogged_s:.0f} s" if fogged_s < 60.0 else f"{fogged_s / 60.0:.0f} min"
    return f"fogged for {long}, last at minute {last:.0f}"


_TOLD: dict[str, Callable[[Any, Any, Any, Any], str]] = {
    "warm_up": _cabin, "pull_down": _cabin, "cabin_warmest": _cabin_warmest, "range": _range, "charge": _charge,
    "pack_hottest": _pack, "pack_coldest_at_end": _pack, "power_short": _power_short, "drive_held_back": _drive,
    "glass_clear": _glass,
}  # fmt: skip
