"""`heatwright needs`: a plant against a sheet of needs, with amounts and clocks."""

from __future__ import annotations

import click

from heatwright.cli_common import get_ready, json_option, load, marching, print_json, reporting

SETTINGS = {"help_option_names": ["-h", "--help"]}


@click.command("needs", epilog="Example:  heatwright needs reversing", context_settings=SETTINGS)
@click.argument("plant")
@click.option("--sheet", default="default", show_default=True, help="Sheet of needs: a file, or a shipped one.")
@json_option
@reporting
def needs_verb(plant: str, sheet: str, as_json: bool) -> None:
    """Judge PLANT by a sheet of needs: clocks and ranges on trips of regulated and hard days.

    A need that is missed is a result, not an error: the exit code is 0.
    """
    from heatwright.study.needs.sheet import load_sheet

    asked = load_sheet(sheet)
    cars, _ = load([plant], None)
    with marching() as progress:
        get_ready(progress)
        from heatwright.study.needs.clocks import answer_sheet

        answers = answer_sheet(cars[0], asked, progress)
    if as_json:
        print_json({"plant": plant, "clocks": answers.as_json()})
        return
    from heatwright.study.needs.text import clocks_as_text

    click.echo(clocks_as_text(answers))
