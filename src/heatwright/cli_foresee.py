"""`heatwright foresee`: what better prices of pack heat would still save on a trip, and what a wrong forecast costs."""

from __future__ import annotations

from pathlib import Path

import click

from heatwright.cli_common import get_ready, json_option, load, marching, reporting, tell

EXAMPLE = "Example:  heatwright foresee secondary charge_cold"


@click.command("foresee", epilog=EXAMPLE, context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("plant")
@click.argument("trip")
@click.option(
    "--evaluations", type=click.IntRange(12, 10_000), default=60, show_default=True,
    help="How many marches the search may take.",
)  # fmt: skip
@click.option(
    "--grid",
    "sizes",
    type=click.IntRange(2, 200),
    nargs=3,
    default=(17, 7, 7),
    show_default=True,
    help="Points of the dynamic programme's grids: pack, drive unit, cabin interior.",
)
@click.option("--no-reference", is_flag=True, help="Leave the dynamic programme out; it takes a minute or two.")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="New SVG file for the paths of price.")
@json_option
@reporting
def foresee_verb(
    plant: str,
    trip: str,
    evaluations: int,
    sizes: tuple[int, int, int],
    no_reference: bool,
    out: Path | None,
    as_json: bool,
) -> None:
    """Try other prices of heat in PLANT's pack on TRIP, and wrong forecasts of its fast charges.

    Searched are a constant price, a path of three knots and the standing price, on the full plant. What is found is
    the best found, not proven best. A dynamic programme on a reduced model of the plant is set beside the dispatch on
    that same model.
    """
    from heatwright.run import check_new_file, write_file

    if out is not None:
        check_new_file(out)
    cars, way = load([plant], trip)
    with marching() as progress:
        from heatwright.study.foresee import foresee

        get_ready(progress, dispatch=True)
        found = foresee(cars[0], way, evaluations, progress, None if no_reference else sizes)
    if out is not None:
        from heatwright.draw.foresight import path_picture
        from heatwright.draw.svg import standalone

        write_file(out, standalone(path_picture(found)))
    tell(found, as_json, out)
