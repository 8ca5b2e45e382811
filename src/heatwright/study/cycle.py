"""The refrigerant's loop of a run at an instant, with the loops of the minutes before it, from the run's own series."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from heatwright.compiler.tables import RefrigerantTables, refrigerant_tables
from heatwright.errors import InputError, Problem
from heatwright.kernel.status import LIMIT_NONE, LIMIT_SENTENCES
from heatwright.outcome import slug
from heatwright.run import Run, plain
from heatwright.study.point_state import CycleState, named_states

TRAIL_S = 300.0
TRAIL_LOOPS = 10
OFF = "the compressor stands still"
SERIES = "p_suction_pa p_discharge_pa h_suction_j_per_kg h_discharge_j_per_kg h_liquid_j_per_kg t_discharge_k".split()
POWERS = "q_hot_w q_cold_w p_compressor_w speed_used_hz mdot_refrigerant_kg_per_s limit".split()
WITHOUT = "heatwright run PLANT TRIP --out FOLDER writes one that holds them"


@dataclass(frozen=True)
class PastLoop:
    """A loop of the trail: when [s], and the pressures [Pa] and enthalpies [J/kg] of its four states."""

    t_s: float
    p_pa: tuple[float, ...]
    h_j_per_kg: tuple[float, ...]


@dataclass(frozen=True)
class Cycle:
    """A circuit at an instant of a run; without states where its compressor stands still."""

    title: str
    refrigerant: str
    t_s: float
    states: tuple[CycleState, ...]
    q_hot_w: float
    q_cold_w: float
    p_electric_w: float
    speed_hz: float
    mdot_kg_per_s: float
    cop_heating: float | None
    cop_cooling: float | None
    status: str
    limit: str | None
    trail: tuple[PastLoop, ...] = ()
    settled: bool = True

    def as_json(self) -> dict[str, Any]:
        """Return everything as plain values."""
        found: dict[str, Any] = plain(asdict(self))
        return found


def circuits_of(run: Run) -> tuple[str, ...]:
    """Return the compressors of a run, in the order of its circuits."""
    return tuple(run.provenance.get("refrigerants") or ())


def busiest_s(run: Run, circuit: str = "") -> float:
    """Return when a circuit takes most power [s], as the mean over a minute; InputError as `cycle_at`."""
    power = np.asarray(run.series[_named(run, _known(run, circuit), "p_compressor_w")], float)
    wide = min(60, len(power))
    return float(run.t_s[int(np.convolve(power, np.ones(wide) / wide, "same").argmax())])


def cycle_at(run: Run, t_s: float, circuit: str = "", trail_s: float = TRAIL_S) -> Cycle:
    """Return the loop of a circuit, left out that of the first compressor, at a time [s] with a trail as long as asked.

    Raises InputError for a run without such a circuit, or one written without its enthalpies.
    """
    compressor = _known(run, circuit)
    tables = refrigerant_tables(run.provenance["refrigerants"][compressor])
    k = _row(run, t_s)
    one = {name: float(run.series[_named(run, compressor, name)][k]) for name in (*SERIES, *POWERS)}
    on = one["mdot_refrigerant_kg_per_s"] > 0.0
    electric, limit = one["p_compressor_w"], int(one["limit"])
    return Cycle(
        title=f"{run.plant_name}, {tables.fluid}", refrigerant=tables.fluid, t_s=float(run.t_s[k]),
        states=_states(one, tables) if on else (), q_hot_w=one["q_hot_w"], q_cold_w=abs(one["q_cold_w"]),
        p_electric_w=electric, speed_hz=one["speed_used_hz"], mdot_kg_per_s=one["mdot_refrigerant_kg_per_s"],
        cop_heating=one["q_hot_w"] / electric if on and electric > 0.0 else None,
        cop_cooling=abs(one["q_cold_w"]) / electric if on and electric > 0.0 else None,
        status="runs" if on else OFF, limit=None if limit == LIMIT_NONE else LIMIT_SENTENCES[limit],
        trail=_trail(run, compressor, float(run.t_s[k]), trail_s),
    )  # fmt: skip


def _known(run: Run, circuit: str) -> str:
    """The compressor asked for, left out the first."""
    compressor = circuit or next(iter(circuits_of(run)), "")
    if compressor in circuits_of(run) and _named(run, compressor, SERIES[2]) in run.series:
        return compressor
    known = ", ".join(circuits_of(run))
    found = f"no refrigerant circuit {circuit!r}" if circuit and known else "no refrigerant circuit with its enthalpies"
    raise InputError([Problem(run.plant_name, found, f"one of {known}" if known else "", WITHOUT)], "cycle")


def _row(run: Run, t_s: float) -> int:
    return max(int(np.searchsorted(run.t_s, t_s + 1e-6, side="right")) - 1, 0)


def _named(run: Run, compressor: str, name: str) -> str:
    """The series of a circuit: plain for the first, with its compressor's name for the others."""
    first = next(iter(circuits_of(run)), compressor)
    return name if compressor in ("", first) else f"{slug(compressor)}_{name}"


def _trail(run: Run, compressor: str, t_s: float, trail_s: float) -> tuple[PastLoop, ...]:
    """Loops at even steps before an instant, the oldest first, those at rest left out."""
    found = []
    for back in np.linspace(trail_s, 0.0, TRAIL_LOOPS, endpoint=False):
        if t_s - back < run.t_s[0]:
            continue
        k = _row(run, t_s - back)
        low, high, h1, h2, h3 = (float(run.series[_named(run, compressor, name)][k]) for name in SERIES[:5])
        if run.series[_named(run, compressor, "mdot_refrigerant_kg_per_s")][k] > 0.0:
            found.append(PastLoop(float(run.t_s[k]), (low, high, high, low), (h1, h2, h3, h3)))
    return tuple(found)


def _states(one: dict[str, float], tables: RefrigerantTables) -> tuple[CycleState, ...]:
    low, high, h1, h2, h3, t2 = (one[name] for name in SERIES)
    return named_states(low, high, h1, h2, h3, t2, tables)
