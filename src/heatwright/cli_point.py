"""`heatwright point`: a steady point of the refrigerant circuit, alone or in a row."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

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

if TYPE_CHECKING:
    from heatwright.plant.model import Plant
    from heatwright.study.point import Asked

TITLE = "operating point"
MOST_POINTS = 200
EXAMPLE = "Example:  heatwright point reversing --ambient=-10 --cabin 20 --svg loop.svg"


@click.command("point", epilog=EXAMPLE, context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("plant")
@click.option("--ambient", metavar="T", help='Air outside, as -10 or "263 K"; plain numbers are degC.')
@click.option("--cabin", metavar="T", default="20", show_default=True, help="Cabin: air, trim and glass.")
@click.option("--pack", metavar="T", help="Pack; left out, as warm as the air outside.")
@click.option("--setting", default="", help="Positions of the refrigerant valves, as heat; left out, by the weather.")
@click.option("--speed", metavar="RPM", help="Compressor speed asked for; left out, half of its most.")
@click.option("--fresh", metavar="SHARE", default="50 %", show_default=True, help="Outside air in the cabin's air.")
@click.option("--humidity", metavar="SHARE", default="50 %", show_default=True, help="Of both airs.")
@click.option("--wind", metavar="V", default="0 km/h", show_default=True, help="Air that meets the car's nose.")
@click.option(
    "--hold", multiple=True, metavar="NAME=VALUE", help="An actuator, as blower=40% or inlet=fresh; repeatable."
)
@click.option("--sweep", metavar="NAME=A:B:STEP", help="ambient, cabin, pack or speed from A to B.")
@click.option(
    "--svg", type=click.Path(path_type=Path, dir_okay=False), help="New file for a pressure-enthalpy diagram."
)
@json_option
@reporting
def point_verb(plant: str, svg: Path | None, sweep: str | None, as_json: bool, **texts: Any) -> None:
    """Work out a steady point of PLANT's refrigerant circuit.

    Outside, cabin, pack and drive unit keep their temperatures; the exchangers settle. A limit that binds is named.
    """
    from heatwright.run import check_new_file, write_file

    if svg is not None:
        check_new_file(svg)
    swept, asked = _read(texts, sweep, svg)
    cars, _ = load([plant], None)
    if swept:
        _print_sweep(cars[0], asked, *swept, as_json)
        return
    with marching() as progress:
        get_ready(progress)
    from heatwright.study.point import operating_point
    from heatwright.study.point_table import point_as_text

    found = operating_point(cars[0], asked)
    if svg is not None:
        from heatwright.draw.ph import pressure_enthalpy
        from heatwright.draw.svg import standalone

        write_file(svg, standalone(pressure_enthalpy(found)))
    if as_json:
        print_json(found.as_json())
        return
    click.echo(point_as_text(found))
    if svg is not None:
        click.echo(f"\nwritten to {svg}")


def _print_sweep(plant: Plant, asked: Asked, name: str, values: list[float], as_json: bool) -> None:
    from heatwright.study.point import sweep_points
    from heatwright.study.point_table import sweep_as_text

    with marching() as progress:
        get_ready(progress)
        points = sweep_points(plant, asked, name, values, progress)
    if as_json:
        print_json({"sweep": name, "points": [one.as_json() for one in points]})
        return
    click.echo(sweep_as_text(name, points))


def _read(texts: dict[str, Any], sweep: str | None, svg: Path | None) -> tuple[tuple[str, list[float]] | None, Asked]:
    """Return what is swept, and what is asked; InputError lists every text that cannot be read."""
    from heatwright.study.point import Asked

    problems: list[Problem] = []

    def read(option: str, text: str, unit: str) -> float:
        return read_quantity(option, text, unit, problems)

    swept = _swept(sweep, problems) if sweep else None
    if swept and svg is not None:
        problems.append(Problem("--svg", "a diagram of a sweep", "one point, without --sweep"))
    if texts["ambient"] is None and not (sweep or "").startswith("ambient="):
        problems.append(
            Problem("--ambient", "no temperature of the air outside", "a temperature, such as --ambient -10")
        )
    ambient = texts["ambient"] or "0"
    t_ambient_k = swept[1][0] if swept and swept[0] == "ambient" and swept[1] else read("--ambient", ambient, "degC")
    t_cabin_k = read("--cabin", texts["cabin"], "degC")
    t_pack_k = read("--pack", texts["pack"], "degC") if texts["pack"] is not None else None
    held = read_held(texts["hold"], problems)
    speed_hz = read("--speed", texts["speed"], "rpm") if texts["speed"] is not None else None
    fresh, humidity = (read(f"--{name}", texts[name], "%") for name in ("fresh", "humidity"))
    wind = read("--wind", texts["wind"], "km/h")
    if problems:
        raise InputError(problems, TITLE)
    return swept, Asked(t_ambient_k, t_cabin_k, t_pack_k, texts["setting"], speed_hz, fresh, humidity, wind, held)


def _swept(text: str, problems: list[Problem]) -> tuple[str, list[float]] | None:
    """Return a sweep's name and its values in SI."""
    form = "ambient=-20:20:5, or the same of cabin, pack or speed"
    name, _, span = text.partition("=")
    try:
        first, last, step = (float(part.replace("−", "-")) for part in span.split(":"))
        count = (last - first) / step
    except (ValueError, ZeroDivisionError):
        problems.append(Problem("--sweep", repr(text), form))
        return None
    if name not in ("ambient", "cabin", "pack", "speed"):
        problems.append(Problem("--sweep", f"no quantity {name!r}", form))
        return None
    if not 0.0 <= count < MOST_POINTS:
        problems.append(Problem("--sweep", f"{text!r} has {max(count, 0.0):.0f} steps", f"1 to {MOST_POINTS} points"))
        return None
    numbers = [first + k * step for k in range(int(count + 1e-9) + 1)]
    return name, [v / 60.0 if name == "speed" else v + 273.15 for v in numbers]
