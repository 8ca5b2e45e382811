"""`heatwright start`: how a plant's refrigerant circuit starts after a cold soak."""

from __future__ import annotations

from pathlib import Path

import click

from heatwright.cli_common import get_ready, json_option, load, marching, print_json, reporting
from heatwright.errors import InputError, Problem

TITLE = "cold start"
EXAMPLE = 'Example:  heatwright start reversing --soak "-30 degC" --svg start.svg'


@click.command("start", epilog=EXAMPLE, context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("plant")
@click.option("--soak", metavar="T", required=True, help='Temperature of everything, as -30 or "243 K".')
@click.option("--setting", default="", help="Positions of the refrigerant valves, as heat; left out, by the weather.")
@click.option("--speed", metavar="RPM", help="Compressor speed asked for; left out, its most.")
@click.option("--duration", metavar="TIME", default="600 s", show_default=True, help="How long to look.")
@click.option("--svg", type=click.Path(path_type=Path, dir_okay=False), help="New file for pressures and power.")
@json_option
@reporting
def start_verb(
    plant: str, soak: str, setting: str, speed: str | None, duration: str, svg: Path | None, as_json: bool
) -> None:
    """Start PLANT's refrigerant circuit after a soak at one temperature, and say what bounds it.

    Actuators are held, heaters off; the compressor's clocks and the liquid that gathered while standing count.
    """
    from heatwright.run import check_new_file, write_file

    if svg is not None:
        check_new_file(svg)
    problems: list[Problem] = []
    t_soak_k = _read("--soak", soak, "degC", problems)
    speed_hz = _read("--speed", speed, "rpm", problems) if speed is not None else None
    duration_s = _read("--duration", duration, "s", problems)
    if problems:
        raise InputError(problems, TITLE)
    cars, _ = load([plant], None)
    with marching() as progress:
        get_ready(progress)
    from heatwright.study.start import cold_start, start_as_text

    found = cold_start(cars[0], t_soak_k, setting, speed_hz, duration_s)
    if svg is not None:
        from heatwright.draw.start import start_picture
        from heatwright.draw.svg import standalone

        title = f"{found.plant} after a soak at {t_soak_k - 273.15:.0f} °C"
        write_file(svg, standalone(start_picture(found.t_s, found.series, title)))
    if as_json:
        print_json(found.as_json())
        return
    click.echo(start_as_text(found))
    if svg is not None:
        click.echo(f"\nwritten to {svg}")


def _read(option: str, text: str, unit: str, problems: list[Problem]) -> float:
    """Return a text's value in SI, a plain number being in `unit`; a mistake is noted."""
    from heatwright.units import UnitError, parse

    text = text.replace("−", "-").strip()
    try:
        return parse(f"{float(text)} {unit}", unit)
    except ValueError:
        pass
    try:
        return parse(text, unit)
    except UnitError as failure:
        problems.append(Problem(option, str(failure)))
        return 0.0
