"""`heatwright prices`: what heat in a plant's pack is worth, over its temperature and the time until the charge."""

from __future__ import annotations

from pathlib import Path

import click

from heatwright.cli_common import get_ready, json_option, load, marching, reporting, tell

EXAMPLE = "Example:  heatwright prices router charge_cold --out prices.svg"
USUAL_TRIP = "charge_mild"


@click.command("prices", epilog=EXAMPLE, context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("plant")
@click.argument("trip", default=USUAL_TRIP)
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="New SVG file for the picture.")
@json_option
@reporting
def prices_verb(plant: str, trip: str, out: Path | None, as_json: bool) -> None:
    """Show what heat in PLANT's pack is worth in electricity on TRIP, as dispatch prices it.

    Left out, TRIP is charge_mild. The price follows from time, losses and ageing of the next fast charge; a table
    [dispatch] in plant or trip may change what it is made of, or give a price instead.
    """
    from heatwright.run import check_new_file, write_file

    if out is not None:
        check_new_file(out)
    cars, way = load([plant], trip)
    with marching() as progress:
        get_ready(progress)
        from heatwright.compiler.build import compile_program
        from heatwright.dispatch.price_table import PriceTable
        from heatwright.dispatch.prices import derive_prices
        from heatwright.dispatch.settings import load_settings
        from heatwright.trip.load import build_case

        program = compile_program(cars[0], build_case(way))
        prices = derive_prices(program, load_settings(cars[0].dispatch, way.dispatch))
    table = PriceTable(cars[0].name, way.name, prices)
    if out is not None:
        from heatwright.draw.prices import price_picture
        from heatwright.draw.svg import standalone

        write_file(out, standalone(price_picture(table)))
    tell(table, as_json, out)
