"""`heatwright defrost` and `heatwright demist`: how long until the screen is clear, against the limits."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from heatwright.cli_common import get_ready, json_option, load, marching, print_json, reporting
from heatwright.errors import InputError, Problem

if TYPE_CHECKING:
    from heatwright.study.glass import Asked, Found

SETTINGS = {"help_option_names": ["-h", "--help"]}
svg_option = click.option("--svg", type=click.Path(path_type=Path, dir_okay=False), help="New file for the traces.")
rule_option = click.option("--rule", default="", help="Control rule held in force; left out, the plant's demist rule.")
MOST_PEOPLE = 9


@click.command("defrost", epilog="Example:  heatwright defrost plain --svg ice.svg", context_settings=SETTINGS)
@click.argument("plant")
@click.option("--chamber", metavar="T", default="-18 degC", show_default=True, help="Air and car at the start.")
@click.option("--ice", metavar="LOAD", default="0.44 kg/m2", show_default=True, help="Ice on the screen.")
@rule_option
@svg_option
@json_option
@reporting
def defrost_verb(plant: str, chamber: str, ice: str, rule: str, svg: Path | None, as_json: bool) -> None:
    """Clear PLANT's screen of ice in a cold chamber and judge the times."""
    from heatwright.study.glass import Asked

    t_k, load_kg = _quantity("--chamber", chamber, "degC"), _quantity("--ice", ice, "kg/m2")
    problems = []
    if not 223.15 <= t_k < 273.15:
        problems.append(Problem("--chamber", f"{chamber!r} is out of range", "-50 degC to below 0 degC"))
    if not 0.0 < load_kg <= 5.0:
        problems.append(Problem("--ice", f"{ice!r} is out of range", "more than 0, up to 5 kg/m2"))
    if problems:
        raise InputError(problems, "defrost")
    _answer(plant, Asked("defrost", t_k, load_kg, 1, rule), svg, as_json)


@click.command("demist", epilog="Example:  heatwright demist reversing", context_settings=SETTINGS)
@click.argument("plant")
@click.option("--chamber", metavar="T", default="-3 degC", show_default=True, help="Air and car at the start.")
@click.option("--people", type=click.IntRange(1, MOST_PEOPLE), default=5, show_default=True, help="Breathing inside.")
@rule_option
@svg_option
@json_option
@reporting
def demist_verb(plant: str, chamber: str, people: int, rule: str, svg: Path | None, as_json: bool) -> None:
    """Fog PLANT's screen from inside for five minutes, clear it and judge the times."""
    from heatwright.study.glass import Asked

    t_k = _quantity("--chamber", chamber, "degC")
    if not 253.15 <= t_k <= 293.15:
        raise InputError([Problem("--chamber", f"{chamber!r} is out of range", "-20 to 20 degC")], "demist")
    _answer(plant, Asked("demist", t_k, 0.0, people, rule), svg, as_json)


def _quantity(option: str, text: str, unit: str) -> float:
    """Return a quantity of the command line in SI."""
    from heatwright.units import UnitError, parse

    try:
        return parse(text, unit)
    except UnitError as mistake:
        raise InputError([Problem(option, mistake.found, mistake.expected, mistake.hint)], option) from mistake


def _answer(name: str, asked: Asked, svg: Path | None, as_json: bool) -> None:
    """March, print and draw."""
    from heatwright.run import check_new_file, write_file

    if svg is not None:
        check_new_file(svg)
    cars, _ = load([name], None)
    with marching() as progress:
        get_ready(progress)
        from heatwright.study.glass import glass_as_text, glass_run

        found = glass_run(cars[0], asked, progress)
    if svg is not None:
        write_file(svg, _picture(found))
    if as_json:
        print_json(found.as_json())
        return
    click.echo(glass_as_text(found))
    if svg is not None:
        click.echo(f"\nwritten to {svg}")


def _picture(found: Found) -> Any:
    """The clear shares of the areas over the run as a chart."""
    from heatwright.draw.svg import standalone
    from heatwright.draw.traces import Trace, line_chart

    words = {one.key: one.words for one, *_ in found.rows}
    lines = [Trace(words[key], 100.0 * values) for key, values in found.shares.items() if not key.endswith("_us")]
    title = f"Screen free of {'ice' if found.asked.kind == 'defrost' else 'film'}: {found.run.plant_name}"
    return standalone(line_chart(found.run.t_s, lines, title=title, unit="%", zero=True))
