"""The lines that a reader wants first, for the page and for the terminal alike."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from heatwright.draw.quantities import MISSING, figure, plain_number, signed
from heatwright.report import pick
from heatwright.run import Run

NO_CONTROL = ("Control", "none", "the plant has no control table: nothing was switched on")


def answer_lines(run: Run) -> list[tuple[str, str, str]]:
    """(what, figure with unit, note): energy, range, minutes to 20 degC, charges, pack, both ledgers."""
    comfort, summary, ledger = run.comfort, run.summary, run.ledger
    used = figure("energy_used_kwh", summary.get("energy_used_kwh"))
    per_100 = figure("energy_kwh_per_100km", summary.get("energy_kwh_per_100km"))
    distance = figure("distance_km", summary.get("distance_km"))
    warm = figure("time_to_20c_s", comfort.get("time_to_20c_s"))
    if "time_to_20c_s" in comfort and comfort["time_to_20c_s"] is None:
        warm = "not reached"
    pack = summary.get("t_pack_end_k", _last(run, "Pack"))
    relative, left = ledger.get("residual_relative"), ledger.get("residual_j")
    closure = MISSING if relative is None else f"{plain_number(float(relative))} of throughput"
    unaccounted = MISSING if left is None else f"{signed(float(left), 1)} J unaccounted for"
    return [
        ("Energy per 100 km", per_100, f"{used} over {distance}"),
        ("Range", figure("range_km", summary.get("range_km")), "on this trip, at its weather"),
        ("Cabin to 20 °C", warm, "from the first moment the cabin is wanted"),
        *(_charge(one) for one in summary.get("charges", ())),
        ("Pack at the end", figure("t_pack_end_k", pack), f"charge {figure('soc', summary.get('soc_end'))}"),
        ("Ledger left over", closure, unaccounted),
        *_water(ledger.get("water")),
        *([] if run.provenance.get("controlled", True) else [NO_CONTROL]),
    ]


def _charge(one: Mapping[str, Any]) -> tuple[str, str, str]:
    """Return the line of one charge: how long it took, from where to where."""
    minutes = f"{one['minutes']:.1f} min" if one["reached"] else "not reached"
    ends = " to ".join(figure("soc", one[key]) for key in ("soc_start", "soc_wanted"))
    return "Charge", minutes, f"{ends}, {figure('from_station_kwh', one['from_station_kwh'])} from the station"


def _water(books: Any) -> list[tuple[str, str, str]]:
    """The line of the water ledger, where a run has one."""
    if not books:
        return []
    left = f"{signed(1e6 * float(books['residual_kg']), 3)} mg unaccounted for"
    return [("Water left over", f"{plain_number(float(books['residual_relative']))} of throughput", left)]


def _last(run: Run, body: str) -> Any:
    return next((float(run.series[key][-1]) for name, key in pick.bodies(run) if name == body), None)
