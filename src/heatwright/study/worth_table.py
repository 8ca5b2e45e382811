"""What parts are worth, as a table for a terminal."""

from __future__ import annotations

from textwrap import fill, shorten

from heatwright.study.table import WIDTH, aligned, number
from heatwright.study.worth import Row, Worth

HEAD = ["part", "left out", "mean, %", "min, %", "max, %", "days", "vetoes"]
NAME_WIDTH = 40
NOTE = (
    "Score without it over score with it, less one: above zero, the plant is better with it; below, the dispatch, "
    "which looks only a little ahead, did better without. Nothing is taken off the car: mass, flow resistance and "
    "losses stay."
)


def worth_as_text(found: Worth) -> str:
    """Return the rows by falling mean, what brings a veto, and what no candidate uses."""
    rows = [HEAD, *(_row(row) for row in found.rows)]
    trips = ", ".join(f"{trip} ({number(kwh, 2)} kWh)" for trip, kwh in zip(found.trips, found.scores_kwh, strict=True))
    blocks = [f"{found.plant}: what its parts are worth under dispatch", fill(trips, WIDTH), ""]
    blocks += [*aligned(rows, words=(1,)), "", fill(NOTE, WIDTH)]
    vetoes = [f"{row.mask.part}, {trip}: {veto}" for row in found.rows for trip, veto in row.vetoes]
    if vetoes:
        blocks += ["", "without it, what no score makes good"]
        blocks += [fill(one, WIDTH, initial_indent="  ", subsequent_indent="    ") for one in vetoes]
    if found.kept:
        words = f"Not left out, for nearly every candidate cools the drive unit by it: {', '.join(found.kept)}."
        blocks += ["", fill(words, WIDTH)]
    if found.idle:
        blocks += ["", fill(f"No candidate uses: {', '.join(found.idle)}.", WIDTH)]
    return "\n".join(blocks)


def _row(row: Row) -> list[str]:
    figures = (row.mean_percent, min(row.percent), max(row.percent))
    name, says = (
        shorten(text, NAME_WIDTH - 10 * k, placeholder=" ...") for k, text in enumerate((row.mask.part, row.mask.says))
    )
    vetoes = str(len(row.vetoes)) if row.vetoes else ""
    return [name, says, *(number(value, 1, plus=True) for value in figures), str(len(row.percent)), vetoes]
