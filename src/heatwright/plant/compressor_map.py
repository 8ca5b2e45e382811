"""Reads a compressor's measured map: ten coefficients a speed, or a table a speed, into values at even knots."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from heatwright.plant.mistakes import Mistakes, listed, near
from heatwright.toml_lines import KeyPath
from heatwright.units import UnitError, in_unit, parse, parse_span

Grid = tuple[tuple[float, ...], ...]
FORMS = ("polynomial", "table")
POWERS = ("electric", "shaft")
KEYS = {
    "form": '"polynomial" (ten coefficients) or "table"',
    "superheat": "superheat of the suction gas it was measured with",
    "evaporating": "its first and last evaporating temperature (dew point of the suction pressure)",
    "condensing": "its first and last condensing temperature (dew point of the discharge pressure)",
    "flow_unit": "unit of the mass flow",
    "power_unit": "unit of the power",
    "power_of": '"electric" (the usual) or "shaft"',
    "grade": "how good it is: measured, data sheet, estimated",
    "flow": "for each speed ten coefficients, or rows of evaporating by columns of condensing temperature",
    "power": "the same of the power",
}
UNITS = {"flow": "kg/s", "power": "W"}
SAMPLE = '[compressor.compressor.map] with form = "polynomial", flow = { "3000 rpm" = [...] } and its other keys'
N_COEFFICIENTS = 10
KNOTS = 10  # of a polynomial, on either side: more than it needs, for the density beside it
LEAST_KNOTS = 4


@dataclass(frozen=True)
class CompressorMap:
    """A map in SI: for each speed, rows of evaporating and columns of condensing temperature, evenly spaced."""

    t_evap_k: tuple[float, float]
    t_cond_k: tuple[float, float]
    superheat_k: float
    speeds_hz: tuple[float, ...]
    mdot_kg_per_s: tuple[Grid, ...]
    power_w: tuple[Grid, ...]
    electric: bool


def polynomial(c: tuple[float, ...], s: float, d: float) -> float:
    """Return the ten-coefficient polynomial of AHRI Standard 540 at suction and discharge dew points [degC].

    >>> polynomial((1.0, 2.0, 3.0) + (0.0,) * 7, 10.0, 20.0)
    81.0
    """
    square = c[3] * s * s + c[4] * s * d + c[5] * d * d
    return c[0] + c[1] * s + c[2] * d + square + c[6] * s**3 + c[7] * d * s * s + c[8] * s * d * d + c[9] * d**3


def read_map(name: str, table: Any, mistakes: Mistakes) -> CompressorMap | None:
    """Return the map of compressor `name`; None when there is none or it had a mistake."""
    if table is None:
        return None
    path: KeyPath = ("compressor", name, "map")
    if not isinstance(table, Mapping):
        mistakes.add(path, f"the map of '{name}' is no table", SAMPLE, "docs/parts/compressor.md has a whole one")
        return None
    before = len(mistakes.problems)
    for key in table:
        if key not in KEYS:
            found = f"the map of '{name}' has no '{key}'"
            mistakes.add((*path, key), found, f"one of {listed(KEYS)}", near(key, KEYS))
    form = _word(path, name, table, "form", FORMS, mistakes)
    of = _word(path, name, table, "power_of", POWERS, mistakes)
    superheat = _read(path, name, table, "superheat", "5 K", lambda text: parse(text, "K"), mistakes)
    spans = [
        _read(path, name, table, key, sample, lambda text: parse_span(text, "degC"), mistakes)
        for key, sample in (("evaporating", "-30 degC to 15 degC"), ("condensing", "20 degC to 65 degC"))
    ]
    for key, span in zip(("evaporating", "condensing"), spans, strict=True):
        if span is not None and span[1] - span[0] < 1.0:
            mistakes.add(
                (*path, key),
                f"{name}.map.{key}: '{table[key]}' is no range",
                "the lower temperature first",
                "turn them round",
            )
    if superheat is not None and not 0.0 <= superheat <= 60.0:
        mistakes.add(
            (*path, "superheat"), f"{name}.map.superheat: '{table['superheat']}' cannot be", "0 to 60 K", "see its unit"
        )
    if len(mistakes.problems) > before or spans[0] is None or spans[1] is None or superheat is None:
        return None
    grids = {
        key: _grids(path, name, table, key, unit, form, (spans[0], spans[1]), mistakes) for key, unit in UNITS.items()
    }
    if len(mistakes.problems) > before:
        return None
    if set(grids["flow"]) != set(grids["power"]) or not grids["flow"]:
        told = listed(f"{60 * s:g}" for s in sorted(set(grids["flow"]) ^ set(grids["power"])))
        mistakes.add(
            path,
            f"flow and power of {name}.map differ in their speeds: {told or 'none'} rpm",
            "the same speeds",
            "give each speed to both",
        )
        return None
    speeds = tuple(sorted(grids["flow"]))
    flow, power = (tuple(grids[key][s] for s in speeds) for key in ("flow", "power"))
    _check_positive(path, name, speeds, {"flow": flow, "power": power}, spans, mistakes)
    if len({(len(g), len(g[0])) for g in (*flow, *power)}) > 1:
        mistakes.add(
            path,
            f"the tables of {name}.map differ in rows or columns",
            "tables of one size",
            "fill each up to the same temperatures",
        )
    if len(mistakes.problems) > before:
        return None
    return CompressorMap(spans[0], spans[1], superheat, speeds, flow, power, of == "electric")


def _word(path: KeyPath, name: str, table: Mapping[str, Any], key: str, options: tuple[str, ...], to: Mistakes) -> str:
    text = table.get(key, options[0])
    if text not in options:
        to.add(
            (*path, key),
            f"{name}.map.{key}: {text!r} is not one of its words",
            f"one of {listed(options)}",
            near(str(text), options, f"left out, it is {options[0]}"),
        )
    return str(text)


def _read(
    path: KeyPath, name: str, table: Mapping[str, Any], key: str, sample: str, how: Callable[[Any], Any], to: Mistakes
) -> Any:
    if key not in table:
        to.add(
            path,
            f"the map of '{name}' does not say {key}: {KEYS[key]}",
            f'{key} = "{sample}"',
            "it stands on the sheet of the map",
        )
        return None
    try:
        return how(table[key])
    except UnitError as error:
        to.add_unit((*path, key), f"{name}.map.{key}", error)
        return None


def _grids(
    path: KeyPath,
    name: str,
    table: Mapping[str, Any],
    key: str,
    unit: str,
    form: str,
    spans: tuple[tuple[float, float], tuple[float, float]],
    mistakes: Mistakes,
) -> dict[float, Grid]:
    """Return the values of flow or power at the knots in SI, by speed [1/s]."""
    usual = {"flow": "g/s", "power": "W"}[key]
    try:
        factor = parse(f"1 {table.get(key + '_unit', usual)}", unit)
    except UnitError as error:
        mistakes.add_unit((*path, key + "_unit"), f"{name}.map.{key}_unit", error)
        return {}
    given = table.get(key)
    if not isinstance(given, Mapping):
        mistakes.add(
            (*path, key),
            f"{name}.map.{key} is no table of speeds",
            f'{key} = {{ "3000 rpm" = [...] }}',
            "give the numbers of each speed",
        )
        return {}
    found: dict[float, Grid] = {}
    for text, numbers in given.items():
        here = (*path, key, text)
        try:
            speed = parse(text, "rpm")
        except UnitError as error:
            mistakes.add_unit(here, f"{name}.map.{key}", error)
            continue
        grid = _polynomial_grid(numbers, spans) if form == "polynomial" else _table_grid(numbers)
        if grid is None or not speed > 0.0:
            wanted = (
                f"{N_COEFFICIENTS} numbers"
                if form == "polynomial"
                else f"rows of numbers, {LEAST_KNOTS} rows and {LEAST_KNOTS} columns at least, all of one length"
            )
            mistakes.add(
                here,
                f"{name}.map.{key} at '{text}' is no {form}",
                wanted,
                "see which form the numbers have: polynomial or table",
            )
            continue
        found[speed] = tuple(tuple(factor * value for value in row) for row in grid)
    return found


def _numbers(values: Any) -> bool:
    return isinstance(values, list) and all(isinstance(v, (int, float)) and not isinstance(v, bool) for v in values)


def _polynomial_grid(numbers: Any, spans: tuple[tuple[float, float], tuple[float, float]]) -> Grid | None:
    if not _numbers(numbers) or len(numbers) != N_COEFFICIENTS:
        return None
    c = tuple(float(v) for v in numbers)
    rows, columns = (
        [in_unit(low + (high - low) * k / (KNOTS - 1), "degC") for k in range(KNOTS)] for low, high in spans
    )
    return tuple(tuple(polynomial(c, s, d) for d in columns) for s in rows)


def _table_grid(numbers: Any) -> Grid | None:
    if not isinstance(numbers, list) or len(numbers) < LEAST_KNOTS or not all(_numbers(row) for row in numbers):
        return None
    if len(numbers[0]) < LEAST_KNOTS or len({len(row) for row in numbers}) > 1:
        return None
    return tuple(tuple(float(v) for v in row) for row in numbers)


def _check_positive(
    path: KeyPath,
    name: str,
    speeds: tuple[float, ...],
    grids: Mapping[str, tuple[Grid, ...]],
    spans: list[Any],
    mistakes: Mistakes,
) -> None:
    """Flow and power must be more than nothing all over the range that the map says it holds for."""
    for key, of_speeds in grids.items():
        for speed, grid in zip(speeds, of_speeds, strict=True):
            worst, i, j = min((v, i, j) for i, row in enumerate(grid) for j, v in enumerate(row))
            if not worst > 0.0:
                t_e, t_c = (
                    in_unit(low + (high - low) * k / (n - 1), "degC")
                    for (low, high), k, n in zip(spans, (i, j), (len(grid), len(grid[0])), strict=True)
                )
                mistakes.add(
                    (*path, key),
                    f"the {key} of {name}.map falls to {worst:.3g} {UNITS[key]} at {60 * speed:g} rpm, {t_e:.3g} degC "
                    f"evaporating, {t_c:.3g} degC condensing",
                    "more than nothing all over the map",
                    "narrow 'evaporating' or 'condensing' to where the map was measured",
                )
