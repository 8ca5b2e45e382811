"""Heat prices of the pack over its temperature, for several times until the charge: as rows, text and JSON."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from heatwright.dispatch.prices import FastCharge, Prices

ZERO_C = 273.15
BEFORE_S = (0.0, 600.0, 1200.0, 2400.0, 7200.0)
T_SHOWN_C = (-20.0, 55.0)
STEP_C = 5.0
DASH = "–"
HEAD = "joules of electricity that a joule of heat in the pack is worth, by the time until the charge"


@dataclass(frozen=True)
class PriceTable:
    """Prices of a plant's pack on a trip; `prices` holds them in SI."""

    plant: str
    trip: str
    prices: Prices

    def columns(self, k: int) -> list[tuple[str, float]]:
        """Return (words, time until the charge [s]) of every column for charge `k`; -1: no charge."""
        ahead = [("while charging" if t == 0.0 else f"{_span(t)} before", t) for t in BEFORE_S] if k >= 0 else []
        return [*ahead, ("no charge ahead", math.inf)]

    def lines(self, k: int, t_c: np.ndarray) -> list[tuple[str, list[float]]]:
        """Return (words, prices [J/J] at the temperatures [degC]) of every column."""
        out = []
        for words, t_s in self.columns(k):
            which = -1 if math.isinf(t_s) else k
            out.append((words, [self.prices.pack(float(t) + ZERO_C, which, t_s) for t in t_c]))
        return out

    def as_json(self) -> dict[str, Any]:
        """Return the tables for programs; what does not end is null."""
        t_c = np.arange(T_SHOWN_C[0], T_SHOWN_C[1] + 1.0)
        charges = []
        for k, one in enumerate(self.prices.charges):
            minutes, cost = _at(self.prices, one.time_s, t_c) / 60.0, _at(self.prices, one.cost_j, t_c) / 3.6e6
            before = dict(self.lines(k, t_c)[:-1])
            charges.append(
                {
                    "start_s": one.start_s, "station_w": one.station_w, "charge_from": one.soc_from,
                    "charge_to": one.soc_to, "plateau_down_to_c": one.wanted_k - ZERO_C,
                    "charge_min": _finite(minutes), "cost_kwh": _finite(cost), "price": before,
                }
            )  # fmt: skip
        standing = self.lines(-1, t_c)[0][1]
        paths = {"pack": self.prices.pack_path, "drive": self.prices.drive_path, "cabin": self.prices.cabin_path}
        given = {key: path for key, path in paths.items() if path is not None}
        return {
            "plant": self.plant, "trip": self.trip, "t_pack_c": t_c.tolist(), "standing_price": standing,
            "charges": charges, "given": given,
        }  # fmt: skip

    def as_text(self) -> str:
        """Return the tables for a terminal, within 100 columns."""
        blocks = [f"{self.plant}: heat prices on {self.trip}\n{HEAD}"]
        if not self.prices.charges:
            blocks.append("The trip has no fast charge: the standing price holds throughout.")
        for k in range(len(self.prices.charges)) if self.prices.charges else (-1,):
            blocks.append("\n".join(self._block(k)))
        if self.prices.pack_path is not None:
            blocks.append(f"A [dispatch] table gives pack_price, which replaces these: {_path(self.prices.pack_path)}.")
        drive, cabin = (_number(price, 2) for price in self.prices.at(0.0, ZERO_C)[1:])
        blocks.append(f"At the start, heat in the drive unit is worth {drive}, in the cabin's linings {cabin} J/J.")
        return "\n\n".join(blocks)

    def _block(self, k: int) -> list[str]:
        t_c = np.arange(T_SHOWN_C[0], T_SHOWN_C[1] + 0.5 * STEP_C, STEP_C)
        lines = self.lines(k, t_c)
        heads = [words.replace(" before", "").replace("while ", "").replace("no charge", "none") for words, _ in lines]
        rows = [["pack °C", *heads]]
        rows += [[_number(t, 0), *(_number(values[i], 2) for _, values in lines)] for i, t in enumerate(t_c)]
        head: list[str] = []
        if k >= 0:
            one = self.prices.charges[k]
            head = [_charge_words(k, one)]
            rows[0][1:1] = ["charge min", "cost kWh"]
            times, costs = _at(self.prices, one.time_s, t_c) / 60.0, _at(self.prices, one.cost_j, t_c) / 3.6e6
            for row, minutes, cost in zip(rows[1:], times, costs, strict=True):
                row[1:1] = [_number(minutes, 1), _number(cost, 2)]
        wide = [max(len(row[c]) for row in rows) for c in range(len(rows[0]))]
        return [*head, *("  ".join(cell.rjust(w) for cell, w in zip(row, wide, strict=True)) for row in rows)]


def _charge_words(k: int, one: FastCharge) -> str:
    return (
        f"fast charge {k + 1}: after {_span(one.start_s)}, {one.station_w / 1e3:.0f} kW, from about "
        f"{100 * one.soc_from:.0f} % to {100 * one.soc_to:.0f} %; plateau left at {one.wanted_k - ZERO_C:.0f} °C"
    )


def _at(prices: Prices, values: np.ndarray, t_c: np.ndarray) -> np.ndarray:
    """Return tabulated values at the nearest grid temperatures."""
    return values[[int(np.argmin(np.abs(prices.t_grid_k - ZERO_C - t))) for t in t_c]]


def _finite(values: np.ndarray) -> list[float | None]:
    return [float(value) if math.isfinite(value) else None for value in values]


def _number(value: float, digits: int) -> str:
    if not math.isfinite(value):
        return DASH
    text = f"{value:.{digits}f}"
    return (text.lstrip("-") if not text.strip("-0.") else text).replace("-", "−")


def _span(t_s: float) -> str:
    hours, minutes = divmod(round(t_s / 60.0), 60)
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"


def _path(path: tuple[tuple[float, float], ...]) -> str:
    if len(path) == 1:
        return f"{path[0][1]:g} throughout"
    return ", ".join(f"{price:g} at {_span(t)}" for t, price in path)
