"""`heatwright made-heat`: what a plant without a heater can make of electricity, over its loop's temperature."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from heatwright.cli_common import (
    get_ready,
    json_option,
    load,
    marching,
    print_json,
    read_held,
    read_quantity,
    reporting,
)
from heatwright.errors import InputError, Problem

EXAMPLE = "Example:  heatwright made-heat ring.plant.toml --hold inner:round=100% --hold inner:out=0% --svg made.svg"


@click.command("made-heat", epilog=EXAMPLE, context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("plant")
@click.option("--from", "start", metavar="T", default="-30", show_default=True, help="Temperature of the cold soak.")
@click.option("--to", "end", metavar="T", default="30", show_default=True, help="Loop temperature to reach.")
@click.option("--setting", multiple=True, help="Positions of the refrigerant valves; left out, every distinct one.")
@click.option("--speed", metavar="RPM", help="Compressor speed asked for; left out, its most.")
@click.option("--fresh", metavar="SHARE", default="0 %", show_default=True, help="Outside air in the cabin's air.")
@click.option(
    "--hold", multiple=True, metavar="NAME=VALUE", help="An actuator, as blower=40% or inlet=fresh; repeatable."
)
@click.option("--svg", type=click.Path(path_type=Path, dir_okay=False), help="New file for the picture.")
@json_option
@reporting
def made_heat_verb(
    plant: str, start: str, end: str, setting: tuple[str, ...], svg: Path | None, as_json: bool, **texts: Any
) -> None:
    """Make heat from electricity with PLANT's compressor and blower alone, from a cold soak.

    Doors and valves are held so that the loop is closed; each setting gives electricity and heat over its temperature.
    """
    from heatwright.run import check_new_file, write_file
    from heatwright.study.point import Asked

    if svg is not None:
        check_new_file(svg)
    problems: list[Problem] = []
    t_from_k, t_to_k = read_quantity("--from", start, "degC", problems), read_quantity("--to", end, "degC", problems)
    speed_hz = read_quantity("--speed", texts["speed"], "rpm", problems) if texts["speed"] is not None else None
    fresh = read_quantity("--fresh", texts["fresh"], "%", problems)
    held = read_held(texts["hold"], problems)
    if not problems and not t_from_k < t_to_k:
        problems.append(
            Problem("--to", f"{end} is not above --from {start}", "a loop temperature above that of the soak")
        )
    if problems:
        raise InputError(problems, "made heat")
    cars, _ = load([plant], None)
    asked = Asked(t_from_k, t_from_k, speed_hz=speed_hz, fresh=fresh, held=held)
    with marching() as progress:
        get_ready(progress)
        from heatwright.study.made_heat import made_heat

        found = made_heat(cars[0], asked, setting, t_to_k, progress)
    if svg is not None:
        from heatwright.draw.made_heat import made_heat_picture
        from heatwright.draw.svg import standalone

        write_file(svg, standalone(made_heat_picture(found)))
    if as_json:
        print_json(found.as_json())
        return
    from heatwright.study.made_heat_table import made_heat_as_text

    click.echo(made_heat_as_text(found))
    if svg is not None:
        click.echo(f"\nwritten to {svg}")
