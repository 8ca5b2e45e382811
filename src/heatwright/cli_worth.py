"""`heatwright worth`: what every part of a plant earns on some days, found by leaving it out."""

from __future__ import annotations

import click

from heatwright.cli_common import get_ready, json_option, load, marching, reporting, tell

EXAMPLE = "Example:  heatwright worth secondary winter_day rain_day"


@click.command("worth", epilog=EXAMPLE, context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("plant")
@click.argument("trips", nargs=-1, metavar="[TRIP]...")
@click.option("--days", type=click.IntRange(0, 1000), default=0, help="Drawn days to drive besides the trips.")
@click.option("--seed", type=click.IntRange(min=0), default=1, show_default=True, help="Number of the first of them.")
@click.option("--modes", is_flag=True, help="Leave out each mode that was used as well.")
@json_option
@reporting
def worth_verb(plant: str, trips: tuple[str, ...], days: int, seed: int, modes: bool, as_json: bool) -> None:
    """Drive each TRIP under dispatch without each part of PLANT, and tell how much the score rises.

    Left out is whatever uses a heater, heat on purpose in the drive unit, a compressor, an exchanger, a position of a
    valve; a valve itself is held where it stood longest. The score is that of `heatwright days`.
    """
    ways = [load([plant], name)[1] for name in trips]
    cars, _ = load([plant], None)
    with marching() as progress:
        from heatwright.dispatch.days import day
        from heatwright.study.worth import worth

        ways += [day(number) for number in range(seed, seed + days)]
        get_ready(progress, dispatch=True)
        found = worth(cars[0], ways, modes, progress)
    tell(found, as_json)
