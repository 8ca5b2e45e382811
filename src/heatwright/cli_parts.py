"""`heatwright parts`: what plants are made of, what one stuck part takes down, and whether fewer parts pay."""

from __future__ import annotations

from pathlib import Path

import click

from heatwright.cli_common import get_ready, json_option, load, marching, reporting, tell

EXAMPLE = "Example:  heatwright parts plain reversing --trip winter_day --svg parts.svg"


@click.command("parts", epilog=EXAMPLE, context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("plants", nargs=-1, required=True, metavar="PLANT...")
@click.option("--trip", help="A trip that each plant goes on, for energy, comfort and range beside the parts.")
@click.option("--svg", type=click.Path(path_type=Path, dir_okay=False), help="New file for the picture.")
@json_option
@reporting
def parts_verb(plants: tuple[str, ...], trip: str | None, svg: Path | None, as_json: bool) -> None:
    """Roll up each PLANT: parts, mass, cost, valves, joints, hose, coolant, refrigerant, and what one stuck part loses.

    With a trip, energy, comfort and range stand beside them, and a sentence says whether having fewer parts pays.
    """
    from heatwright.run import check_new_file, write_file

    if svg is not None:
        check_new_file(svg)
    cars, way = load(list(plants), trip)
    with marching() as progress:
        get_ready(progress)
        from heatwright.study.parts import parts

        found = parts(cars, way, progress)
    if svg is not None:
        from heatwright.draw.parts import parts_picture
        from heatwright.draw.svg import standalone

        write_file(svg, standalone(parts_picture(found)))
    tell(found, as_json, svg)
