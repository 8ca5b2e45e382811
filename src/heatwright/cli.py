"""The command line: thin verbs. Everything heavy is imported inside the verb that needs it."""

from __future__ import annotations

import shutil
from dataclasses import replace
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from heatwright import __version__
from heatwright.cli_common import get_ready, json_option, load, marching, print_json, reporting, tell
from heatwright.cli_days import days_verb
from heatwright.cli_draw import draw_verb
from heatwright.cli_estimate import estimate_verb
from heatwright.cli_foresee import foresee_verb
from heatwright.cli_glass import defrost_verb, demist_verb
from heatwright.cli_made import made_heat_verb
from heatwright.cli_modes import modes_verb
from heatwright.cli_needs import needs_verb
from heatwright.cli_open import DEMO_PLANTS, DEMO_TRIP, open_verb
from heatwright.cli_parts import parts_verb
from heatwright.cli_point import point_verb
from heatwright.cli_prices import prices_verb
from heatwright.cli_report import report_verb
from heatwright.cli_show import show_verb
from heatwright.cli_start import start_verb
from heatwright.cli_story import story_verb
from heatwright.cli_why import why_verb
from heatwright.cli_worth import worth_verb
from heatwright.errors import InputError, Problem

if TYPE_CHECKING:
    from heatwright.dispatch.own import Own
    from heatwright.dispatch.rules import Rules
    from heatwright.dispatch.why import Why
    from heatwright.plant.model import Plant
    from heatwright.progress import Progress
    from heatwright.run import Run
    from heatwright.trip.model import Trip

STRATEGIES = ("table", "rules", "dispatch")


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
        print_json(entries)
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

    car, way = load([plant], trip)
    if as_json:
        print_json({"plant": car[0].source, "trip": given_name(way.source, way.name) if way else None, "problems": []})
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
@click.option(
    "--strategy", metavar="table|rules|dispatch|FILE.py[:NAME]", default="table", show_default=True,
    help="Who drives: the plant's decision table; its rules alone, with knobs solved as under dispatch; dispatch, "
    "which weighs every mode; or a strategy of your own.",
)  # fmt: skip
@json_option
@reporting
def run_verb(plant: str, trip: str, out: Path | None, accuracy: str, strategy: str, as_json: bool) -> None:
    """March PLANT over TRIP and print the answer. Without --out nothing is written.

    A FILE.py of --strategy is run as it stands: give only files whose content you trust.
    """
    from heatwright.report.text import run_as_text
    from heatwright.run import check_free, run_as_json

    if out is not None:
        check_free(out)
    own = _own(strategy)
    if strategy != "table" and accuracy == "high":
        raise InputError([Problem("--accuracy", f"{strategy} marches in normal accuracy only", "normal")], "run")
    cars, way = load([plant], trip)
    why: Why | None = None
    with marching() as progress:
        if strategy != "table":
            result, why = _dispatch(cars[0], way, progress, own)
        else:
            result = _simulate(cars[0], way, accuracy, progress)
    if out is not None:
        from heatwright.report import save_run

        save_run(result, out, why=why)
    if as_json:
        print_json(run_as_json(result))
        return
    click.echo(run_as_text(result))
    if out is not None:
        click.echo(f"\nwritten to {out}; open {out / 'report.html'}")


@main.command("compare", epilog="Example:  heatwright compare plain reversing --trip winter_day --out compare.html")
@click.argument("plants", nargs=-1, required=True, metavar="PLANT...")
@click.option("--trip", required=True, help="The trip all of them go on.")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="New HTML file for the comparison.")
@click.option(
    "--strategy", metavar="NAMES", default="table", show_default=True,
    help="What drives the plants, with commas between: table, rules, dispatch, FILE.py[:NAME]; both is "
    "table,dispatch. Verdicts and equal service are asked of decision tables alone.",
)  # fmt: skip
@json_option
@reporting
def compare_verb(plants: tuple[str, ...], trip: str, out: Path | None, strategy: str, as_json: bool) -> None:
    """Run each PLANT on the same trip and set the answers side by side. Without --out nothing is written.

    A FILE.py of --strategy is run as it stands: give only files whose content you trust. Where it fails, nothing is
    told and nothing is written.
    """
    from heatwright.run import check_new_file, write_file

    if out is not None:
        check_new_file(out)
    cars, way = load(list(plants), trip)
    comparison = _compare(cars, way, "table,dispatch" if strategy == "both" else strategy)
    if out is not None:
        write_file(out, _comparison_page(comparison))
    tell(comparison, as_json, out)


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
    cars, _ = load([plant], None)
    with marching() as progress:
        get_ready(progress)
        from heatwright.study.cold import cold_flow

        found = cold_flow(cars[0])
    if out is not None:
        from heatwright.report.cold_page import render_cold

        write_file(out, render_cold(found))
    tell(found, as_json, out)


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
    cars, way = load(list(DEMO_PLANTS), DEMO_TRIP)
    comparison = _compare(cars, way)
    for name, result in zip(DEMO_PLANTS, comparison.runs, strict=True):
        save_run(result, home / name, replace=True)
    write_file(page, _comparison_page(comparison), replace=True)
    click.echo(comparison.as_text())
    click.echo("\nwritten:")
    for path in [page, *(home / name / "report.html" for name in DEMO_PLANTS)]:
        click.echo(f"  {path}")


@main.command("schema", epilog="Example:  heatwright schema plant > plant.schema.json")
@click.argument("kind", type=click.Choice(["plant", "trip", "needs"]))
@reporting
def schema_verb(kind: str) -> None:
    """Print the JSON Schema of a plant, a trip or a sheet of needs, for editors and programs that write such files."""
    if kind == "plant":
        from heatwright.plant.schema import plant_schema as schema
    elif kind == "needs":
        from heatwright.study.needs.sheet import sheet_schema as schema
    else:
        from heatwright.trip.schema import json_schema as schema
    print_json(schema())


def _simulate(plant: Plant, trip: Trip, accuracy: str, progress: Progress) -> Run:
    from heatwright.study.one_run import one_run

    get_ready(progress)
    return one_run(plant, trip, accuracy, progress)


def _own(strategy: str) -> Own | Rules | None:
    """Return the rules of the table or the user's own strategy; None of table and dispatch; else InputError."""
    if strategy == "rules":
        from heatwright.dispatch.rules import Rules

        return Rules()
    if strategy in STRATEGIES:
        return None
    if ".py" not in strategy:
        near = get_close_matches(strategy, STRATEGIES, 1)
        hint = f"write {near[0]!r}" if near else ""
        said = Problem(
            "--strategy", f"there is no strategy {strategy!r}", "table, rules, dispatch or FILE.py[:NAME]", hint
        )
        raise InputError([said], "run")
    from heatwright.dispatch.own import load_own

    return load_own(strategy)


def _dispatch(plant: Plant, trip: Trip, progress: Progress, own: Own | Rules | None) -> tuple[Run, Why]:
    """Return the run under dispatch, rules or a user's own strategy, and its why-record."""
    from heatwright.study.dispatched import dispatched

    get_ready(progress, dispatch=True)
    found = dispatched(plant, trip, progress, own)
    return found.run, found.why


def _compare(cars: list[Plant], trip: Trip, strategy: str = "table") -> Any:
    with marching() as progress:
        from heatwright.study.compare import compare
        from heatwright.study.strategies import read_strategies

        named = read_strategies(strategy, "--strategy", "compare")
        get_ready(progress, dispatch=named != ("table",))
        return compare(cars, trip, progress=progress, strategies=named)


def _comparison_page(comparison: Any) -> str:
    from heatwright.report.compare_page import render_comparison

    if not comparison.dispatched:
        return render_comparison(comparison.rows, comparison.runs, comparison.verdicts, comparison.pairs)
    rows, runs = [], []
    for row, run in comparison.driven:
        name = f"{row['plant']}, {row['strategy']}"
        rows.append({**row, "plant": name})
        runs.append(replace(run, plant_name=name))
    return render_comparison(rows, runs, comparison.verdicts, comparison.pairs)


def _entry(one: Any) -> dict[str, str]:
    """Name, title and about of a shipped file."""
    return {key: str(getattr(one, key)) for key in ("name", "title", "about")}


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


main.add_command(days_verb)
main.add_command(draw_verb)
main.add_command(estimate_verb)
main.add_command(foresee_verb)
main.add_command(made_heat_verb)
main.add_command(modes_verb)
main.add_command(needs_verb)
main.add_command(open_verb)
main.add_command(parts_verb)
main.add_command(point_verb)
main.add_command(prices_verb)
main.add_command(report_verb)
main.add_command(show_verb)
main.add_command(start_verb)
main.add_command(worth_verb)
main.add_command(story_verb)
main.add_command(defrost_verb)
main.add_command(demist_verb)
main.add_command(why_verb)


if __name__ == "__main__":
    main()
