"""The command line: thin verbs. Everything heavy is imported inside the verb that needs it."""

from __future__ import annotations

import functools
import json
import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from heatwright import __version__
from heatwright.errors import HeatwrightError, InputError, OutputError, Problem, RunError

if TYPE_CHECKING:
    from heatwright.plant.model import Plant
    from heatwright.progress import Progress
    from heatwright.run import Run
    from heatwright.trip.model import Trip

DEMO_PLANTS = ("plain", "reversing")
DEMO_TRIP = "winter_day"
INTERRUPTED = 130
COMPILING = "compiling the solver, once after each change of its source or of numba: 20 to 35 s"

Verb = TypeVar("Verb", bound=Callable[..., Any])


def reporting(verb: Verb) -> Verb:
    """Turn the package's errors and Ctrl-C into one report and an exit code."""

    @functools.wraps(verb)
    def wrapped(*args: Any, **options: Any) -> Any:
        try:
            return verb(*args, **options)
        except HeatwrightError as failure:
            _report(failure, bool(options.get("as_json")))
            raise click.exceptions.Exit(1 if isinstance(failure, RunError) else 2) from None
        except KeyboardInterrupt:
            click.echo("\ninterrupted; nothing was left behind", err=True)
            raise click.exceptions.Exit(INTERRUPTED) from None
        except BrokenPipeError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            raise click.exceptions.Exit(0) from None

    return wrapped  # type: ignore[return-value]


json_option = click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of tables.")


@click.group(
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Example:  heatwright run plain winter_day --out results/plain",
)
@click.version_option(__version__, prog_name="heatwright")
def main() -> None:
    """Work out, compare and explain how an electric car moves heat.

    A PLANT is a plant file or the name of a shipped plant, a TRIP a trip file or the name of a shipped trip.
    `heatwright list` names the shipped ones.

    Results are engineering estimates, not a release for the road.
    """


@main.command("list", epilog="Example:  heatwright list")
@json_option
@reporting
def list_verb(as_json: bool) -> None:
    """Name the plants, trips and drive schedules that come with the package."""
    from heatwright.plant.catalogue import list_shipped as plants
    from heatwright.report.text import shipped_table
    from heatwright.trip.catalogue import list_shipped as trips_and_schedules

    others = trips_and_schedules()
    found = {
        "plants": plants(),
        "trips": [one for one in others if one.kind == "trip"],
        "schedules": [one for one in others if one.kind == "schedule"],
    }
    entries = {title: [_entry(one) for one in rows] for title, rows in found.items()}
    if as_json:
        _print_json(entries)
        return
    width = min(shutil.get_terminal_size((100, 24)).columns, 110)
    tables = [
        shipped_table(
            title.capitalize(),
            [(one["name"], one["title"] + (f": {one['about']}" if one["about"] else "")) for one in rows],
            width,
        )
        for title, rows in entries.items()
    ]
    click.echo("\n\n".join(tables))


@main.command("check", epilog="Example:  heatwright check my_car.plant.toml winter_day")
@click.argument("plant")
@click.argument("trip", required=False)
@json_option
@reporting
def check_verb(plant: str, trip: str | None, as_json: bool) -> None:
    """Read PLANT, and TRIP if given, and report every mistake in them at once. Nothing is worked out."""
    from heatwright.run import given_name

    car, way = _load([plant], trip)
    if as_json:
        _print_json({"plant": car[0].source, "trip": given_name(way.source, way.name) if way else None, "problems": []})
        return
    one = car[0]
    click.echo(f"plant {one.name}: {len(one.parts)} parts, {_count(len(one.assumed), 'default')} taken; no mistakes")
    if way:
        click.echo(f"trip {way.name}: {_count(len(way.legs), 'segment')}; no mistakes")


@main.command("run", epilog="Example:  heatwright run plain winter_day --out results/plain")
@click.argument("plant")
@click.argument("trip")
@click.option("--out", type=click.Path(path_type=Path), help="New folder for series, figures and report.")
@click.option(
    "--accuracy", type=click.Choice(["normal", "high"]), default="normal", show_default=True,
    help="How finely the march steps; high takes longer.",
)  # fmt: skip
@json_option
@reporting
def run_verb(plant: str, trip: str, out: Path | None, accuracy: str, as_json: bool) -> None:
    """March PLANT over TRIP and print the answer. Without --out nothing is written."""
    from heatwright.report.text import run_as_text
    from heatwright.run import check_free, run_as_json

    if out is not None:
        check_free(out)
    cars, way = _load([plant], trip)
    with _progress() as progress:
        result = _simulate(cars[0], way, accuracy, progress)
    if out is not None:
        from heatwright.report import save_run

        save_run(result, out)
    if as_json:
        _print_json(run_as_json(result))
        return
    click.echo(run_as_text(result))
    if out is not None:
        click.echo(f"\nwritten to {out}; open {out / 'report.html'}")


@main.command("compare", epilog="Example:  heatwright compare plain reversing --trip winter_day --out compare.html")
@click.argument("plants", nargs=-1, required=True, metavar="PLANT...")
@click.option("--trip", required=True, help="The trip all of them go on.")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="New HTML file for the comparison.")
@json_option
@reporting
def compare_verb(plants: tuple[str, ...], trip: str, out: Path | None, as_json: bool) -> None:
    """Run each PLANT on the same trip and set the answers side by side. Without --out nothing is written."""
    from heatwright.run import check_new_file, write_file

    if out is not None:
        check_new_file(out)
    cars, way = _load(list(plants), trip)
    comparison = _compare(cars, way)
    if out is not None:
        write_file(out, _comparison_page(comparison))
    if as_json:
        from heatwright.run import plain

        _print_json(plain(comparison.as_json()))
        return
    click.echo(comparison.as_text())
    if out is not None:
        click.echo(f"\nwritten to {out}")


@main.command("cold", epilog="Example:  heatwright cold plain --out cold.html")
@click.argument("plant")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="New HTML file for the curves.")
@json_option
@reporting
def cold_verb(plant: str, out: Path | None, as_json: bool) -> None:
    """Show how cold coolant throttles PLANT: flow and films of every exchanger from 40 to -20 degC."""
    from heatwright.run import check_new_file, write_file

    if out is not None:
        check_new_file(out)
    cars, _ = _load([plant], None)
    with _progress() as progress:
        _get_ready(progress)
        from heatwright.study.cold import cold_flow

        found = cold_flow(cars[0])
    if out is not None:
        from heatwright.report.cold_page import render_cold

        write_file(out, render_cold(found))
    if as_json:
        _print_json(found.as_json())
        return
    click.echo(found.as_text())
    if out is not None:
        click.echo(f"\nwritten to {out}")


@main.command("demo", epilog="Example:  heatwright demo    then open demo/comparison.html")
@reporting
def demo_verb() -> None:
    """Run two shipped plants through a winter day and write their reports under demo/ in this folder."""
    from heatwright.report import save_run
    from heatwright.run import check_free, check_new_file, write_file

    home = Path("demo")
    for name in DEMO_PLANTS:
        check_free(home / name, replace=True)
    page = check_new_file(home / "comparison.html", replace=True)
    cars, way = _load(list(DEMO_PLANTS), DEMO_TRIP)
    comparison = _compare(cars, way)
    for name, result in zip(DEMO_PLANTS, comparison.runs, strict=True):
        save_run(result, home / name, replace=True)
    write_file(page, _comparison_page(comparison), replace=True)
    click.echo(comparison.as_text())
    click.echo("\nwritten:")
    for path in [page, *(home / name / "report.html" for name in DEMO_PLANTS)]:
        click.echo(f"  {path}")


@main.command("schema", epilog="Example:  heatwright schema plant > plant.schema.json")
@click.argument("kind", type=click.Choice(["plant", "trip"]))
@reporting
def schema_verb(kind: str) -> None:
    """Print the JSON Schema of a plant or trip file, for editors and for programs that write such files."""
    if kind == "plant":
        from heatwright.plant.schema import plant_schema as schema
    else:
        from heatwright.trip.schema import json_schema as schema
    _print_json(schema())


def _load(plants: list[str], trip: str | None) -> tuple[list[Plant], Any]:
    """Plants and trip; the mistakes of all of them are reported together."""
    from heatwright.plant.load import load_plant
    from heatwright.trip.load import load_trip

    problems: list[Problem] = []
    cars: list[Plant] = []
    way: Trip | None = None
    for name in dict.fromkeys(plants):
        try:
            cars.append(load_plant(name))
        except InputError as failure:
            problems += failure.problems
    if trip is not None:
        try:
            way = load_trip(trip)
        except InputError as failure:
            problems += failure.problems
    if problems:
        raise InputError(problems, " and ".join([*dict.fromkeys(plants), *([trip] if trip else [])]))
    return cars, way


def _simulate(plant: Plant, trip: Trip, accuracy: str, progress: Progress) -> Run:
    from heatwright.compiler.build import compile_program
    from heatwright.simulate import simulate
    from heatwright.study.meter import metered
    from heatwright.trip.load import build_case

    _get_ready(progress)
    case = build_case(trip)
    program = compile_program(plant, case)
    return metered(program, simulate(program, case, accuracy=accuracy, progress=progress))


def _compare(cars: list[Plant], trip: Trip) -> Any:
    from heatwright.study.compare import compare

    with _progress() as progress:
        _get_ready(progress)
        return compare(cars, trip, progress=progress)


def _comparison_page(comparison: Any) -> str:
    from heatwright.report.compare_page import render_comparison

    return render_comparison(comparison.rows, comparison.runs, comparison.verdicts, comparison.pairs)


def _progress() -> Progress:
    from heatwright.progress import Progress

    return Progress("marching")


def _get_ready(progress: Progress) -> None:
    """Load the compiled march; where none lies in the cache yet, compile it on both cores and say why it takes long."""
    from heatwright.compiler.warm import is_cold, wake, warm

    if is_cold():
        progress.say(COMPILING)
        warm()
    else:
        wake()


def _report(failure: HeatwrightError, as_json: bool) -> None:
    problems = failure.problems if isinstance(failure, InputError) else (_as_problem(failure),)
    if as_json:
        keys = ("where", "found", "expected", "hint")
        _print_json({"problems": [{key: getattr(one, key) for key in keys} for one in problems]})
        return
    click.echo(failure.report() if isinstance(failure, InputError) else str(failure), err=True)


def _as_problem(failure: HeatwrightError) -> Problem:
    text = str(failure)
    if isinstance(failure, RunError):
        return Problem(f"t = {failure.t_s:g} s", text)
    where, colon, found = text.partition(": ")
    return Problem(where, found) if isinstance(failure, OutputError) and colon else Problem("", text)


def _entry(one: Any) -> dict[str, str]:
    """Name, title and about of a shipped file."""
    return {key: str(getattr(one, key)) for key in ("name", "title", "about")}


def _print_json(value: Any) -> None:
    click.echo(json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False))


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


from heatwright.cli_estimate import estimate_verb  # noqa: E402  (these verbs use what stands above)
from heatwright.cli_point import point_verb  # noqa: E402

main.add_command(estimate_verb)
main.add_command(point_verb)


if __name__ == "__main__":
    main()
