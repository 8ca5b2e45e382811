"""`heatwright show`: a plant as it was understood, and how good its numbers are."""

from __future__ import annotations

from difflib import get_close_matches

import click

from heatwright.cli_common import json_option, load, print_json, reporting
from heatwright.errors import InputError, Problem

EXAMPLE = "Example:  heatwright show plain --part compressor"


@click.command("show", epilog=EXAMPLE, context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("plant")
@click.option("--part", default="", metavar="NAME", help="One part or table alone, as compressor or glass.screen.")
@click.option("--assumed", is_flag=True, help="Only values that the file does not give, and where they come from.")
@json_option
@reporting
def show_verb(plant: str, part: str, assumed: bool, as_json: bool) -> None:
    """Print PLANT as it was understood: its values, where each comes from and how good it is, lines and rules."""
    from heatwright.plant.inventory import sheets
    from heatwright.report.plant_text import plant_as_json, plant_as_text

    cars, _ = load([plant], None)
    names = [sheet.name for sheet in sheets(cars[0])]
    if part and part not in names:
        close = get_close_matches(part, names, 1, 0.6)
        hint = f"did you mean '{close[0]}'?" if close else ""
        raise InputError([Problem("--part", f"{plant} has no part '{part}'", f"one of {', '.join(names)}", hint)])
    if as_json:
        print_json(plant_as_json(cars[0], part, assumed))
        return
    click.echo(plant_as_text(cars[0], part, assumed))
