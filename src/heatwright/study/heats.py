"""Heat over a span of a run: where it was made or came from, and where it went or stayed, read from the run's books.

The ledger counts energy that crosses the car's boundary. Here its electric terms are put in place by the heat that
electricity became in each part, so that what remains is heat alone: made, let in or out, stored. Both sums close alike.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from heatwright.errors import InputError, Problem
from heatwright.outcome import is_boundary
from heatwright.run import Run

ELECTRIC = "pack_chemistry station road_work low_voltage charger_loss heater_loss compressor_standby".split()
"""Ledger terms that are no heat of the car."""
MOVERS = ("pump", "fan", "blower")
TITLES = {
    "pack_heat": ("losses of the pack", "pack"),
    "drive_losses": ("losses of the drive unit", "drive"),
    "converter_loss": ("losses of the converter", "loops"),
    "charger_heat": ("losses of the charger", "loops"),
    "compressor": ("work of the compressor", "loops"),
    "movers": ("pumps, fan and blower", "loops"),
    "sun": ("sun", "cabin"),
    "people": ("people", "cabin"),
    "front": ("air at the front", "loops"),
    "air": ("air let in and out", "cabin"),
    "glass_to_outside": ("glass", "cabin"),
    "cabin_shell_to_outside": ("shell of the cabin", "cabin"),
    "lines": ("hoses, tanks and cases", "loops"),
    "pack_to_outside": ("case of the pack", "pack"),
    "drive_to_outside": ("case of the drive unit", "drive"),
    "compressor_to_outside": ("case of the compressor", "loops"),
    "electronics_to_outside": ("case of the electronics", "loops"),
    "ice_on_glass": ("ice on the glass", "cabin"),
}
TOGETHER = {
    "front": ("front_air_in", "front_air_out", "latent_frost", "melt"),
    "air": ("air_from_outside", "air_to_outside", "leaks_to_outside", "drying", "latent"),
    "lines": ("hoses_to_outside", "tanks_to_outside", "cases_to_outside"),
}
BODIES = {"pack": "pack", "drive": "drive unit", "cabin": "cabin"}
KINDS = {"pack": "pack", "drive_unit": "drive", "zone": "cabin"}
STORES = {"drive": "drive unit", "air_side": "air box", "refrigerant_side": "exchangers"}
INNER = ("heat:latent", "heat:ice")
WITHOUT = "heatwright run PLANT TRIP --out FOLDER writes one that holds them"


@dataclass(frozen=True)
class Heat:
    """One row: what it is, its kind (made, outside or stored), the body it belongs to, and the heat into the car [J].

    A store's heat is below zero where it kept some.
    """

    key: str
    words: str
    kind: str
    body: str
    joules: float


@dataclass(frozen=True)
class Heats:
    """All heat of a run between two marks [s]; `ledger_left_over_j` is what the energy ledger leaves over there."""

    plant: str
    trip: str
    from_s: float
    to_s: float
    rows: tuple[Heat, ...]
    ledger_left_over_j: float

    @property
    def sources(self) -> tuple[Heat, ...]:
        """Rows that brought heat, the largest first."""
        return tuple(sorted((one for one in self.rows if one.joules > 0.0), key=lambda one: -one.joules))

    @property
    def sinks(self) -> tuple[Heat, ...]:
        """Rows that took heat, the largest first."""
        return tuple(sorted((one for one in self.rows if one.joules < 0.0), key=lambda one: one.joules))

    @property
    def left_over_j(self) -> float:
        """Sum of all rows [J]: nothing, but for the error of closure."""
        return float(sum(one.joules for one in self.rows))

    @property
    def throughput_j(self) -> float:
        """Heat of all sources [J]."""
        return float(sum(one.joules for one in self.sources))

    def into(self, body: str) -> float:
        """Return the heat that a body (pack, drive or cabin) got from the coolant, refrigerant and air loops [J]."""
        return -float(sum(one.joules for one in self.rows if one.body == body))

    def of(self, body: str, kind: str) -> float:
        """Return the heat of one kind that belongs to a body or to the loops [J]."""
        return float(sum(one.joules for one in self.rows if one.body == body and one.kind == kind))

    def as_json(self) -> dict[str, Any]:
        """Return everything as plain values."""
        return {
            "plant": self.plant, "trip": self.trip, "from_s": self.from_s, "to_s": self.to_s,
            "rows": [asdict(one) for one in self.rows], "throughput_j": self.throughput_j,
            "left_over_j": self.left_over_j, "ledger_left_over_j": self.ledger_left_over_j,
            "from_loops_j": {body: self.into(body) for body in BODIES},
        }  # fmt: skip

    def as_text(self) -> str:
        """Return the table twin of the picture, for a terminal."""
        rows = [f"{one.words:32}{one.joules / 3.6e6:>+10.3f} kWh" for one in (*self.sources, *self.sinks)]
        return "\n".join([*rows, f"{'left over':32}{self.left_over_j / 3.6e6:>+10.3f} kWh"])


def heats(run: Run, from_s: float | None = None, to_s: float | None = None) -> Heats:
    """Return the heat between two times [s], each moved to the mark that is nearest; left out, of the whole run.

    Raises InputError for a run without books, and for a span that holds no two marks.
    """
    times = marks(run)
    first, last = (
        0 if from_s is None else int(np.abs(times - from_s).argmin()),
        len(times) - 1 if to_s is None else int(np.abs(times - to_s).argmin()),
    )
    if first >= last:
        found = f"no heat between {from_s or 0.0:g} s and {times[-1] if to_s is None else to_s:g} s"
        step = float(np.diff(times).max())
        raise InputError([Problem("span", found, f"a span of at least {step:g} s within the {times[-1]:g} s")], "heat")
    sums = {name: float(values[last] - values[first]) for name, values in run.books.items() if name != "t_s"}
    bodies = {name: KINDS.get(kind, "loops") for name, kind in (run.provenance.get("bodies") or {}).items()}
    books = sum(value for name, value in sums.items() if is_boundary(name))
    rows = tuple(one for one in _rows(sums, bodies) if abs(one.joules) > 1e-6)
    return Heats(run.plant_name, run.trip_name, float(times[first]), float(times[last]), rows, books)


def marks(run: Run) -> np.ndarray:
    """Return the times between which heat can be told [s]; InputError for a run without books."""
    if not run.books:
        raise InputError([Problem(run.plant_name, "a run without the marks of its ledger", hint=WITHOUT)], "heat")
    return run.books["t_s"]


def _rows(sums: Mapping[str, float], bodies: Mapping[str, str]) -> Iterable[Heat]:
    yield from _made(sums)
    taken = {name for names in TOGETHER.values() for name in names}
    for key, names in TOGETHER.items():
        yield _titled(key, "outside", sum(sums.get(name, 0.0) for name in names))
    for name, value in sums.items():
        if name.startswith("stored_in_"):
            store = name.removeprefix("stored_in_")
            yield Heat(name, STORES.get(store, store.replace("_", " ")), "stored", bodies.get(store, "loops"), value)
        elif is_boundary(name) and name not in taken and name not in ELECTRIC:
            yield _titled(name, "outside", value)


def _made(sums: Mapping[str, float]) -> Iterable[Heat]:
    """Heat that electricity became, part by part."""
    yield _titled("compressor", "made", sums.get("use_compressor", 0.0) + sums.get("compressor_standby", 0.0))
    for name in ("pack_heat", "drive_losses", "converter_loss", "charger_heat"):
        yield _titled(name, "made", sums.get(name, 0.0))
    parts = {name[5:]: value for name, value in sums.items() if name.startswith("heat:") and name not in INNER}
    moving = {name: value for name, value in parts.items() if any(word in name for word in MOVERS)}
    yield _titled("movers", "made", sum(moving.values()))
    for name, value in parts.items():
        if name not in moving:
            yield Heat(f"heat:{name}", name.replace("_", " "), "made", "loops", value)


def _titled(key: str, kind: str, joules: float) -> Heat:
    words, body = TITLES.get(key, (key.replace("_", " "), "loops"))
    return Heat(key, words, kind, body, joules)
