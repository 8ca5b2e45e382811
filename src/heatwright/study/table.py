"""A comparison for a terminal: energy, service, solver, and the verdicts in sentences."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill, shorten
from typing import TYPE_CHECKING, Any

from heatwright.study.service import ALIKE
from heatwright.study.verdict import DEPENDS, HOLDS, Difference, Quantity, quantity_of

if TYPE_CHECKING:
    from heatwright.study.compare import Comparison, Pair

WIDTH = 100
DASH = "–"
TOTALS = ("energy_kwh_per_100km", "net_kwh_per_100km")
ENDS = ("range_km", "from_station_kwh", "from_pack_kwh", "pack_heat_kwh", "pack_end_c")
SERVICE = "short_k_min over_k_min vent_time_to_40c_s time_to_10c_s time_to_15c_s time_to_20c_s fogged_s".split()
NO_EQUAL = "No equal service of {0} and {1} was found: neither set-point nor preheat brings them within 5 %."
TOLD = ("energy_kwh_per_100km", "range_km", "time_to_20c_s", "fogged_s")
TOLD_EQUAL = "energy_kwh_per_100km net_kwh_per_100km range_km from_station_kwh from_pack_kwh".split()

DRIVEN = "energy_kwh_per_100km range_km time_to_20c_s pack_end_c pack_heat_kwh".split()
DRIVEN_HEAD = "plant|strategy|kWh/100 km|range, km|20 °C, min|pack, °C|heat, kWh|switches/h|left over".split("|")
NAME_WIDTH = 16
TABLES_ALONE = "The blocks below and every verdict are of the decision tables: equal service is sought for them alone."
ROWS_ALONE = (
    "But for decision tables neither draws nor equal service are asked: see whether service is alike before judging."
)
BLOCKS_OF = "The blocks below are of {0}."

Row = list[str]


def number(value: float | None, digits: int, plus: bool = False) -> str:
    """Return a number with a true minus sign, zero without a sign; a dash where there is none."""
    if value is None:
        return DASH
    text = f"{value:+,.{digits}f}" if plus else f"{value:,.{digits}f}"
    if not text.strip("+-0.,"):
        text = text.lstrip("+-")
    return text.replace("-", "−")


def aligned(rows: Sequence[Row], words: Sequence[int] = ()) -> list[str]:
    """Return rows in columns two spaces apart; numbers to the right, the first column and `words` to the left."""
    width = max(len(row) for row in rows)
    full = [row + [""] * (width - len(row)) for row in rows]
    wide = [max(len(row[k]) for row in full) for k in range(width)]
    lines = []
    for row in full:
        cells = [c.ljust(wide[k]) if k == 0 or k in words else c.rjust(wide[k]) for k, c in enumerate(row)]
        lines.append("  ".join(cells).rstrip())
    return lines


def fitted(rows: Sequence[Row], words: Sequence[int] = ()) -> list[str]:
    """Return rows as `aligned` does, in as many blocks as keep every line to the page; each begins with column 1."""
    width = max(len(row) for row in rows)
    full = [row + [""] * (width - len(row)) for row in rows]
    wide = [max(len(row[k]) for row in full) for k in range(width)]
    blocks: list[list[int]] = [[0]]
    for k in range(1, width):
        if len(blocks[-1]) > 1 and sum(wide[c] + 2 for c in blocks[-1]) + wide[k] > WIDTH:
            blocks.append([0])
        blocks[-1].append(k)
    lines: list[str] = []
    for columns in blocks:
        left = [place for place, k in enumerate(columns) if k in words]
        lines += ([""] if lines else []) + aligned([[row[k] for k in columns] for row in full], left)
    return lines


def as_text(comparison: Comparison) -> str:
    """Return a whole comparison as text."""
    rows = comparison.rows
    names = " and ".join(
        [", ".join(r["plant"] for r in rows[:-1]), rows[-1]["plant"]] if len(rows) > 1 else [rows[0]["plant"]]
    )
    head = f"{names} on {comparison.trip} ({number(rows[0]['distance_km'], 1)} km)"
    driven = ["\n".join(_driven(comparison))] if any(row["strategy"] != "table" for row, _ in comparison.driven) else []
    parts = [fill(head, WIDTH), *driven, "\n".join(_figures(comparison)), "\n".join(_solver(comparison))]
    parts += ["\n".join(_at_equal(pair)) for pair in comparison.pairs if pair.equal and pair.equal.reached]
    said = [fill(one, WIDTH, initial_indent="  ", subsequent_indent="  ") for one in sentences(comparison)]
    if said:
        parts.append("\n".join(["verdicts", *said]))
    return "\n\n".join([*parts, "\n".join(_notes(comparison))])


def _driven(comparison: Comparison) -> list[str]:
    """Return a line for each plant and strategy."""
    grid: list[Row] = [DRIVEN_HEAD]
    for row, _ in comparison.driven:
        relative = f"{row['residual_relative']:.0e}".replace("-", "−")
        values = [shown_value(quantity_of(key), row[key]) for key in DRIVEN]
        name = shorten(str(row["plant"]), NAME_WIDTH, placeholder=" ...")
        grid.append(
            [
                name,
                shorten(row["strategy"], NAME_WIDTH, placeholder=" ..."),
                *values,
                number(row["switches_per_h"], 1),
                relative,
            ]
        )
    first = comparison.rows[0]["strategy"]
    note = TABLES_ALONE if first == "table" else ROWS_ALONE
    if first != "table" and comparison.dispatched:
        note += f" {BLOCKS_OF.format(first)}"
    return [*fitted(grid, words=(1,)), "", fill(note, WIDTH)]


def _figures(comparison: Comparison) -> list[str]:
    """Return the blocks of energy and service in one grid, so that their columns stand under each other."""
    rows = comparison.rows
    pair = comparison.pairs[0] if len(comparison.pairs) == 1 else None
    plants = [str(row["plant"]) for row in rows]
    tail = ["difference", "verdict"] if pair else []
    grid: list[Row] = [["energy by use, kWh/100 km", *plants, *tail]]
    for name in dict.fromkeys(name for row in rows for name in row["use_kwh_per_100km"]):
        values = [row["use_kwh_per_100km"].get(name) for row in rows]
        if any(value is not None and abs(value) >= 0.005 for value in values):
            grid.append(_line(quantity_of(f"use:{name}"), values, pair, unit=False))
    grid += [_line(quantity_of(key), [row.get(key) for row in rows], pair, unit=False) for key in TOTALS]
    breaks = [len(grid)]
    grid.append(["range, and where from", *plants, *tail])
    grid += [_line(quantity_of(key), [row.get(key) for row in rows], pair) for key in ENDS]
    breaks.append(len(grid))
    grid.append(["service", *plants, *tail])
    grid += [_line(quantity_of(key), [row.get(key) for row in rows], pair) for key in SERVICE]
    grid.append(["  switches per hour aboard", *(number(row["switches_per_h"], 1) for row in rows)])
    for k in reversed(breaks):
        grid.insert(k, [""])
    return fitted(grid, words=(len(rows) + 2,) if pair else ())


def _line(quantity: Quantity, values: Sequence[float | None], pair: Pair | None, unit: bool = True) -> Row:
    words = f"  {quantity.words}, {quantity.unit}" if unit else f"  {quantity.words}"
    cells = [words, *(shown_value(quantity, value) for value in values)]
    if pair is not None:
        one = pair.named(quantity.key)
        cells += [shown_change(quantity, one), shown_verdict(one)]
    return cells


def shown_value(quantity: Quantity, value: float | None) -> str:
    """Return a figure as a reader sees it, without its unit."""
    if value is None:
        return "never" if quantity.key.endswith("_s") else DASH
    return number(value * quantity.factor, quantity.digits)


def shown_change(quantity: Quantity, one: Difference) -> str:
    """Return a signed difference without its unit."""
    return DASH if one.difference is None else number(one.difference * quantity.factor, quantity.digits, plus=True)


def shown_verdict(one: Difference) -> str:
    """Return the verdict, or that there is no difference."""
    return "same" if one.difference == 0.0 else one.verdict


def _solver(comparison: Comparison) -> list[str]:
    """Return what tells how far the march itself can be trusted, and the limits that were met."""
    rows = comparison.rows
    grid: list[Row] = [["solver", *(row["plant"] for row in rows)]]
    grid.append(["  energy account left over, J", *(f"{row['residual_j']:.1e}".replace("-", "−") for row in rows)])
    relative = (f"{row['residual_relative']:.1e}".replace("-", "−") for row in rows)
    grid.append(["  the same, of all that flowed", *relative])
    for key, text in (
        ("not_solved_steps", "steps without a solved circuit"),
        ("flow_not_solved", "flows not solved"),
        ("pack_power_capped_steps", "steps with the pack at its most power"),
    ):
        grid.append([f"  {text}", *(str(row[key]) for row in rows)])
    limits = dict.fromkeys(text for row in rows for text in row["limits_s"])
    if limits:
        grid.append(["limits met, min"])
        for text in limits:
            values = (row["limits_s"].get(text) for row in rows)
            grid.append([f"  {text.partition(':')[0]}", *(DASH if v is None else number(v / 60, 1) for v in values)])
    return fitted(grid)


def _at_equal(pair: Pair) -> list[str]:
    """Return the block of one pair at equal service."""
    equal = pair.equal
    assert equal is not None
    names = [f"{name}*" if name == equal.changed else name for name in pair.plants]
    grid: list[Row] = [["at equal service", *names, "difference", "verdict"]]
    for key in [*TOLD_EQUAL, pair.service.figure]:
        one = next(d for d in equal.differences if d.quantity == key)
        q = quantity_of(key)
        ends = (shown_value(q, one.first), shown_value(q, one.second))
        grid.append([f"  {q.words}, {q.unit}", *ends, shown_change(q, one), shown_verdict(one)])
    how = fill(f"* {equal.changed}: {equal.how}", WIDTH, initial_indent="  ", subsequent_indent="    ")
    return [*fitted(grid, words=(4,)), how]


def _notes(comparison: Comparison) -> list[str]:
    worth = comparison.worth
    told = (
        f"Left in the car: charge counts {worth.charge:g} kWh a kWh, heat stored in the pack {worth.pack_heat:g} kWh"
        " of electricity a kWh."
    )
    lines = [fill(told, WIDTH)]
    if comparison.draws:
        asked = (
            f"Verdicts: both plants again in the same {comparison.draws} draws of cabin loss and fresh air,"
            " outdoor coil, compressor, pack, and parked pack; ranges in the guide to comparing."
        )
        if comparison.lost_draws:
            asked += f" {comparison.lost_draws} marches could not go on and are left out."
        lines.append(fill(asked, WIDTH))
    return lines


def sentences(comparison: Comparison) -> list[str]:
    """Return the findings of a comparison as sentences, pair by pair."""
    idle = [run.plant_name for run in comparison.runs if not run.provenance.get("controlled", True)]
    out = [f"{name} has no control table: nothing in it was switched on." for name in idle]
    for pair in comparison.pairs:
        out.append(_on_service(pair, comparison.rows))
        out += [_told(pair, one, "") for one in pair.differences if one.quantity in TOLD and _tells(one)]
        equal = pair.equal
        if equal is not None and equal.reached:
            out.append(
                f"Equal service: {equal.changed} with its {equal.how} misses as much as the other"
                f" ({number(equal.miss_k_min[0], 0)} and {number(equal.miss_k_min[1], 0)} K min)."
            )
            out += [_told(pair, d, "At equal service, ") for d in equal.differences if d.quantity in TOLD[:2]]
        elif equal is not None:
            out.append(NO_EQUAL.format(*pair.plants))
    return out


def _tells(one: Difference) -> bool:
    """Return whether a difference is worth a sentence: times and fog only where they differ."""
    return one.quantity in TOLD[:2] or one.verdict in (HOLDS, DEPENDS)


def _on_service(pair: Pair, rows: Sequence[Any]) -> str:
    service = pair.service
    first, second = service.miss_k_min
    aboard = next(row["occupied_s"] for row in rows if row["plant"] == pair.plants[0]) / 60.0
    what = "too cold" if service.figure == "short_k_min" else "too warm"
    verdict = "like for like" if service.alike else "not like for like"
    return (
        f"Service: over {number(aboard, 0)} min with people aboard {pair.plants[0]} is {number(first, 0)} K min {what},"
        f" {pair.plants[1]} {number(second, 0)}: {number(100 * service.gap, 0)} % apart, {verdict}"
        f" (limit {100 * ALIKE:.0f} %)."
    )


def _told(pair: Pair, one: Difference, lead: str) -> str:
    """Return one difference as a sentence."""
    quantity = quantity_of(one.quantity)
    words = lead + quantity.words if lead else quantity.words[0].upper() + quantity.words[1:]
    ends = f"{pair.plants[1]} {shown_value(quantity, one.second)}, {pair.plants[0]} {shown_value(quantity, one.first)}"
    text = f"{words}, {quantity.unit}: {ends}"
    if one.difference is not None:
        share = f", {number(100 * one.relative, 0, plus=True)} %" if one.relative is not None else ""
        text += f" ({shown_change(quantity, one)}{share})"
    text += f": {shown_verdict(one)}, {one.why}"
    if one.low is not None and one.high is not None and one.low != one.high:
        low, high = (number(v * quantity.factor, quantity.digits, plus=True) for v in (one.low, one.high))
        text += f", nine in ten lie between {low} and {high}"
    if one.moved_by is not None and one.rank_correlation is not None:
        rho = number(one.rank_correlation, 2, plus=True)
        text += f". Measure the {one.moved_by} next: it moves this most (rank correlation {rho})"
    return text + "."
