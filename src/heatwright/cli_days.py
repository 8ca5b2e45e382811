"""`heatwright days`: one plant over many drawn days, each strategy's score beside the other's."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from heatwright.cli_common import get_ready, json_option, load, marching, reporting, tell

if TYPE_CHECKING:
    from heatwright.sensors import Sensors

MOST_NOISE_K = 10.0
EXAMPLE = "Example:  heatwright days router --seed 1 --count 30"


@click.command("days", epilog=EXAMPLE, context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("plant")
@click.option("--seed", type=click.IntRange(min=0), default=1, show_default=True, help="Number of the first day.")
@click.option("--count", type=click.IntRange(1, 10_000), default=30, show_default=True, help="How many days.")
@click.option(
    "--strategies", metavar="NAMES", default="table,dispatch", show_default=True,
    help="What drives the plant, with commas between: table, rules (of the table, knobs solved), dispatch, "
    "FILE.py[:NAME] (a strategy of your own). The first is what the others are set against.",
)  # fmt: skip
@click.option(
    "--sensors/--true-state",
    default=True,
    show_default=True,
    help="Let every strategy read the declared sensors, their errors drawn for each day, or the true state.",
)
@click.option("--noise", metavar="TEXT", help="Noise of every reading of a temperature instead of its own, such as 1K.")
@click.option(
    "--trips", type=click.Path(path_type=Path, file_okay=False), help="New folder for the days as trip files."
)
@click.option("--explain", is_flag=True, help="Drive the days on which dispatch did worse again and say why.")
@json_option
@reporting
def days_verb(
    plant: str,
    seed: int,
    count: int,
    strategies: str,
    sensors: bool,
    noise: str | None,
    trips: Path | None,
    explain: bool,
    as_json: bool,
) -> None:
    """Drive PLANT through many drawn days under each strategy and set their scores side by side.

    A day is drawn from its number alone: a commute, a long way with a fast charge, or mild rain, at -20 to 37 degC. The
    score adds up electricity but for traction, discomfort, glass about to fog, waiting at a station and wear of warm
    cells. A FILE.py is run as it stands: give only files whose content you trust; where it fails, nothing is told.
    """
    from heatwright.run import check_free, write_file, write_folder

    if trips is not None:
        check_free(trips)
    noise_k = _noise_k(noise, sensors)
    cars, _ = load([plant], None)
    seeds = range(seed, seed + count)
    with marching() as progress:
        from heatwright.study.days import many_days
        from heatwright.study.days_why import Explained, worse_days
        from heatwright.study.strategies import read_strategies

        named = read_strategies(strategies)
        get_ready(progress, dispatch=named != ("table",))
        sensing = partial(_sensing, sensors, noise_k)
        found = many_days(cars[0], seeds, named, progress, sensing)
        worse = worse_days(cars[0], found, sensing, strategies=named) if explain else None
    if trips is not None:
        from heatwright.dispatch.days import day_text

        def fill(folder: Path) -> None:
            for one in seeds:
                write_file(folder / f"day_{one}.trip.toml", day_text(one))

        write_folder(trips, fill)
    tell(found if worse is None else Explained(found, worse), as_json, trips)


def _noise_k(text: str | None, sensors: bool) -> float | None:
    """Return the noise asked for [K]; InputError if it is none, or there is no sensor to have it."""
    from heatwright.errors import InputError, Problem
    from heatwright.units import UnitError, parse

    if text is None:
        return None
    if not sensors:
        raise InputError(
            [Problem("--noise", "the true state has no noise", "--noise with --sensors", "leave one of the two out")],
            "days",
        )
    try:
        noise_k = parse(text, "K")
    except UnitError as mistake:
        raise InputError([Problem("--noise", mistake.found, mistake.expected, "write it as 1K")], "days") from None
    if not 0.0 <= noise_k <= MOST_NOISE_K:
        raise InputError([Problem("--noise", f"{text!r} cannot be", f"0 to {MOST_NOISE_K:g} K")], "days")
    return noise_k


def _sensing(sensors: bool, noise_k: float | None, day: int) -> Sensors | None:
    """Return the sensors of a day's car; None where the true state is seen."""
    from heatwright.sensors import load_sensors

    if not sensors:
        return None
    found = load_sensors(day)
    return found if noise_k is None else found.with_noise(noise_k)
