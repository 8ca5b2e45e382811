"""`heatwright needs`: a plant against a sheet of needs, with amounts and clocks."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from heatwright.cli_common import get_ready, json_option, load, marching, print_json, reporting
from heatwright.errors import InputError, Problem

if TYPE_CHECKING:
    from heatwright.modes.model import Atlas
    from heatwright.plant.model import Plant
    from heatwright.progress import Progress
    from heatwright.study.capacity.sweep import Capacities
    from heatwright.study.needs.clocks import Clocks
    from heatwright.study.needs.sheet import Sheet

SETTINGS = {"help_option_names": ["-h", "--help"]}
EXAMPLE = "Example:  heatwright needs reversing --svg capacities.svg --out needs.html"
FINE_K = 2.5
USUAL_SHEET = "default"


@click.command("needs", epilog=EXAMPLE, context_settings=SETTINGS)
@click.argument("plant")
@click.option("--sheet", default=USUAL_SHEET, show_default=True, help="Sheet of needs: a file, or a shipped one.")
@click.option("--trips", is_flag=True, help="Clocks and ranges alone.")
@click.option("--capacity", is_flag=True, help="Capacities alone.")
@click.option("--fine", is_flag=True, help="Capacities every 2.5 K of the air outside.")
@click.option("--svg", type=click.Path(path_type=Path, dir_okay=False), help="New file for the picture of capacities.")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="New HTML file for the whole answer.")
@json_option
@reporting
def needs_verb(plant: str, sheet: str, svg: Path | None, out: Path | None, as_json: bool, **flags: bool) -> None:
    """Judge PLANT by a sheet of needs: clocks and ranges on trips, and capacities against loads over the weather.

    A need that is missed is a result, not an error: the exit code is 0.
    """
    from heatwright.run import check_new_file, write_file

    for file in (svg, out):
        if file is not None:
            check_new_file(file)
    car, asked = _read(plant, sheet)
    trips, capacity = (
        flags["trips"] or not flags["capacity"],
        flags["capacity"] or not flags["trips"] or svg is not None,
    )
    with marching() as progress:
        atlas = _atlas(car) if capacity else None
        get_ready(progress)
        clocks = _clocks(car, asked, progress) if trips else None
        found = _capacities(car, atlas, asked, flags["fine"], progress) if atlas else None
    written = {}
    if svg is not None and found is not None:
        written[svg] = _picture(found)
    if out is not None:
        from heatwright.report.needs_page import render_needs

        written[out] = render_needs(car.name, asked.name, clocks, found)
    for file, text in written.items():
        write_file(file, text)
    if as_json:
        parts: dict[str, Any] = {"clocks": clocks, "capacity": found}
        print_json({"plant": plant} | {key: one.as_json() for key, one in parts.items() if one is not None})
        return
    _print(clocks, found)
    for file in written:
        click.echo(f"\nwritten to {file}")


def _read(plant: str, sheet: str) -> tuple[Plant, Sheet]:
    """Return plant and sheet; the mistakes of both are reported together."""
    from heatwright.study.needs.sheet import load_sheet

    problems: list[Problem] = []
    asked = None
    try:
        asked = load_sheet(sheet)
    except InputError as failure:
        problems += failure.problems
    try:
        cars, _ = load([plant], None)
    except InputError as failure:
        problems += failure.problems
    if problems or asked is None:
        raise InputError(problems, f"{plant} and {sheet}")
    return cars[0], asked


def _clocks(plant: Plant, sheet: Sheet, progress: Progress) -> Clocks:
    from heatwright.study.needs.clocks import answer_sheet

    return answer_sheet(plant, sheet, lambda done, total: progress(done, total, "trips and tests"))


def _atlas(plant: Plant) -> Atlas:
    """Return the atlas that capacities are read from; InputError where it is too large to be built whole."""
    from heatwright.modes.atlas import build_atlas

    atlas = build_atlas(plant)
    if not atlas.whole:
        hint = "--trips, which needs no modes, or fewer valves"
        raise InputError([Problem(plant.source, "too many joint states to try every mode", "", hint)], "capacities")
    return atlas


def _capacities(plant: Plant, atlas: Atlas, sheet: Sheet, fine: bool, progress: Progress) -> Capacities:
    from heatwright.study.capacity.sweep import capacities

    loads = {**sheet.loads, "step": FINE_K} if fine else sheet.loads
    return capacities(plant, atlas, loads, lambda done, total: progress(done, total, "capacities"))


def capacities_of(plant: str) -> Capacities:
    """Return what a plant can do at most over the air outside, on the usual sheet of needs."""
    car, asked = _read(plant, USUAL_SHEET)
    with marching() as progress:
        atlas = _atlas(car)
        get_ready(progress)
        return _capacities(car, atlas, asked, False, progress)


def _picture(found: Capacities) -> str:
    from heatwright.draw.capacity import capacity_picture
    from heatwright.draw.svg import standalone

    return standalone(capacity_picture(found))


def _print(clocks: Clocks | None, found: Capacities | None) -> None:
    from heatwright.study.capacity.text import capacities_as_text
    from heatwright.study.needs.text import clocks_as_text

    texts = [] if clocks is None else [clocks_as_text(clocks)]
    texts += [] if found is None else [capacities_as_text(found)]
    click.echo("\n\n".join(texts))
