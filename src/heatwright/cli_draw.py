"""`heatwright draw`: one picture of a saved run or of a plant, as SVG or PNG, or its numbers as JSON."""

from __future__ import annotations

from collections.abc import Callable
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from heatwright.cli_common import get_ready, load, marching, print_json, read_time, reporting
from heatwright.errors import InputError, Problem

if TYPE_CHECKING:
    from heatwright.report.pictures import Drawn
    from heatwright.run import Run

TITLE = "draw"
HELP = {"help_option_names": ["-h", "--help"], "max_content_width": 100}
EXAMPLE = "Example:  heatwright draw ribbons results/plain --leg 2 -o ribbons.svg"
NEW_FILE = click.Path(path_type=Path, dir_okay=False)
SUFFIXES = (".svg", ".png")
COP_AT_C = tuple(range(-20, 25, 5))


class Kinds(click.Group):
    """The kinds of picture; one that is not known is answered with those that are."""

    def resolve_command(self, ctx: click.Context, args: list[str]) -> Any:
        """Return the command of a kind."""
        if args and self.get_command(ctx, args[0]) is None and not args[0].startswith("-"):
            known = self.list_commands(ctx)
            close = get_close_matches(args[0], known, 1, 0.5)
            _refuse(Problem("KIND", repr(args[0]), f"one of {', '.join(known)}", f"draw {close[0]}" if close else ""))
        return super().resolve_command(ctx, args)


@reporting
def _refuse(problem: Problem) -> None:
    raise InputError([problem], TITLE)


@click.group("draw", cls=Kinds, epilog=EXAMPLE, context_settings=HELP)
def draw_verb() -> None:
    """Draw one picture of a saved RUN (a folder of `run --out`) or of a PLANT.

    -o FILE.svg needs nothing else; -o FILE.png is made by a Chromium found on this machine. --json prints the numbers
    that the picture shows.
    """


def _kind(name: str, example: str, *arguments: Callable[..., Any]) -> Callable[[Callable[..., Any]], click.Command]:
    """Make a kind of a function that returns a Drawn; writing, errors and options are the same for all."""

    def made(work: Callable[..., Any]) -> click.Command:
        @reporting
        def verb(out: Path | None, night: bool, as_json: bool, **given: Any) -> None:
            _check(out, as_json)
            _give(work(**given), out, night, as_json)

        verb.__doc__ = work.__doc__
        command: Any = verb
        options = (
            *arguments,
            click.option("-o", "--out", type=NEW_FILE, help="New file, .svg or .png."),
            click.option("--night", is_flag=True, help="In dark colours; an SVG follows its reader by itself."),
            click.option("--json", "as_json", is_flag=True, help="Print what is shown as one JSON object."),
        )
        for option in reversed(options):
            command = option(command)
        epilog = f"Example:  heatwright draw {name} {example}"
        return draw_verb.command(name, epilog=epilog, context_settings=HELP)(command)

    return made


RUN = click.argument("run", type=click.Path(path_type=Path))
RUNS = click.argument("runs", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="RUN...")
PLANT = click.argument("plant")
AT_NEEDED = click.option("--at", required=True, metavar="TIME", help='Instant, as 0:14:30, 14:30 or "870 s".')


def _at(left_out: str) -> Callable[..., Any]:
    return click.option("--at", metavar="TIME", help=f'Instant, as 0:14:30, 14:30 or "870 s"; left out, {left_out}.')


@_kind("traces", "results/plain -o traces.svg", RUN,
       click.option("--series", multiple=True, metavar="NAME", help="A column of series.parquet."))  # fmt: skip
def traces(run: Path, series: tuple[str, ...]) -> Drawn:
    """Lines over the trip.

    Temperatures of the bodies, or the series named.
    """
    from heatwright.report.pictures import traces as drawn

    return drawn(_run(run), series)


@_kind("ribbons", "results/plain --leg 2 -o ribbons.svg", RUN,
       click.option("--from", "start", metavar="TIME", help="Where the span begins; left out, the start."),
       click.option("--to", "end", metavar="TIME", help="Where it ends; left out, the end."),
       click.option("--leg", type=int, metavar="N", help="The span of one leg of the trip, from 1."))  # fmt: skip
def ribbons(run: Path, start: str | None, end: str | None, leg: int | None) -> Drawn:
    """Where the heat of a span came from and went.

    A span begins and ends at the marks of the ledger nearest to it, a minute apart and where each leg begins.
    """
    from heatwright.report.pictures import ribbons as drawn

    kept = _run(run)
    if leg is not None and (start or end):
        raise InputError([Problem("--leg", "together with --from or --to", "one or the other")], TITLE)
    if leg is not None:
        if not 1 <= leg <= len(kept.segments):
            raise InputError([Problem("--leg", f"{leg}", f"1 to {len(kept.segments)}")], TITLE)
        one = kept.segments[leg - 1]
        return drawn(kept, float(kept.t_s[one.first]), float(kept.t_s[min(one.last_exclusive, kept.steps)]))
    return drawn(kept, _time(kept, "--from", start), _time(kept, "--to", end))


@_kind("bodies", "results/plain --at 0:40:00 -o bodies.svg", RUN, AT_NEEDED)
def bodies(run: Path, at: str) -> Drawn:
    """The bodies and the heat between them.

    Pack, drive unit, cabin and outside at an instant, and the loops of coolant, refrigerant and air.
    """
    from heatwright.report.pictures import bodies as drawn

    kept = _run(run)
    return drawn(kept, _time(kept, "--at", at) or 0.0)


@_kind("film", "results/plain -o film.svg", RUN)
def film(run: Path) -> Drawn:
    """The whole trip as an animated SVG.

    Bodies, temperatures and the heat between them in 20 s, for talks; a PNG shows its first frame.
    """
    from heatwright.report.pictures import film_of

    return film_of(_run(run))


@_kind("cycle", "results/reversing --at 0:12:00 -o loop.svg", RUN, _at("where it takes most power"),
       click.option("--circuit", default="", metavar="NAME", help="One of several compressors."))  # fmt: skip
def cycle(run: Path, at: str | None, circuit: str) -> Drawn:
    """Pressure over enthalpy at an instant.

    Loops of the five minutes before it lie behind it in grey.
    """
    from heatwright.report.pictures import cycle as drawn

    kept = _run(run)
    return drawn(kept, _time(kept, "--at", at), circuit)


@_kind("strip", "results/plain -o strip.svg", RUN)
def strip(run: Path) -> Drawn:
    """Which rule or candidate was in force."""
    from heatwright.report.pictures import strip as drawn

    return drawn(_run(run))


@_kind("modes", "results/router -o modes.svg", RUN)
def modes(run: Path) -> Drawn:
    """The modes a run used, as a table.

    A row a mode, a column an actuator that moved at all.
    """
    from heatwright.report.pictures import modes as drawn

    return drawn(_run(run))


@_kind("needs", "results/plain -o needs.svg", RUN, _at("the whole trip"))
def needs(run: Path, at: str | None) -> Drawn:
    """Five needs and their margins.

    Over the whole trip, or at an instant.
    """
    from heatwright.report.pictures import needs as drawn

    kept = _run(run)
    return drawn(kept, _time(kept, "--at", at))


@_kind("why", "results/router --at 0:33:20 -o why.svg", RUN, AT_NEEDED)
def why(run: Path, at: str) -> Drawn:
    """Why a mode ran under dispatch.

    Needs that were on, candidates, the terms of their scores, and the reason in a sentence.
    """
    from heatwright.dispatch.why import from_folder
    from heatwright.report.pictures import why as drawn

    record = from_folder(run)
    return drawn(record, read_time("--at", at, float(record.t_s[-1])))


@_kind("bars", "results/plain results/reversing -o bars.svg", RUNS)
def bars(runs: tuple[Path, ...]) -> Drawn:
    """Energy by use, a bar a run."""
    from heatwright.report.pictures import bars as drawn

    return drawn([_run(one) for one in runs])


@_kind("ledger", "results/plain -o ledger.svg", RUN)
def ledger(run: Path) -> Drawn:
    """The energy ledger as a stair."""
    from heatwright.report.pictures import ledger as drawn

    return drawn(_run(run))


@_kind("ladder", "results/plain -o ladder.svg", RUN)
def ladder(run: Path) -> Drawn:
    """Where each body began and ended.

    The scale of temperatures with two marks a body.
    """
    from heatwright.report.pictures import ladder as drawn

    return drawn(_run(run))


@_kind("coverage", "reversing -o coverage.svg", PLANT)
def coverage(plant: str) -> Drawn:
    """Which needs a plant's modes serve."""
    from heatwright.draw.modes import mode_picture
    from heatwright.modes.atlas import build_atlas
    from heatwright.modes.needs import coverage as count
    from heatwright.report.pictures import Drawn

    cars, _ = load([plant], None)
    atlas = build_atlas(cars[0])
    if not atlas.whole:
        raise InputError([Problem(plant, "too many joint states to draw every mode", "", "fewer valves")], TITLE)
    return Drawn(mode_picture(cars[0], atlas), dict(count(atlas.useful)))


@_kind("sheet", "three_loops --level loops -o loops.svg", PLANT,
       click.option("--level", type=click.Choice(["idea", "loops", "plumbing", "temperatures"]), default="plumbing",
                    show_default=True, help="Bodies and sides; loops; every pipe; of a run every temperature."),
       click.option("--mode", default="", metavar="ID", help="Live and idle legs of this mode of the plant."),
       click.option("--run", "folder", type=click.Path(path_type=Path), help="Temperatures and flows of a saved run."),
       _at("its start"),
       click.option("--refine", is_flag=True, help="Look longer for a layout, and keep it."))  # fmt: skip
def sheet(plant: str, level: str, mode: str, folder: Path | None, at: str | None, refine: bool) -> Drawn:
    """The sheet of a plant: parts, pipes, ducts.

    Colour tells temperature, form the medium. The layout is kept: a plant whose parts hang together as before looks as
    before.
    """
    from heatwright.progress import Progress
    from heatwright.report.pictures import sheet as drawn

    cars, _ = load([plant], None)
    run = None if folder is None else _run(folder)
    if run is None and at is not None:
        raise InputError([Problem("--at", "without --run", "--run FOLDER")], TITLE)
    if run is not None and run.plant_name != cars[0].name:
        found = f"the run is of '{run.plant_name}', the sheet of '{cars[0].name}'"
        raise InputError([Problem("--run", found, "a run of this plant")], TITLE)
    at_s = 0.0 if run is None else _time(run, "--at", at) or 0.0
    with Progress("laying out the sheet") as progress:
        return drawn(cars[0], level, mode=mode, run=run, at_s=at_s, refine=refine, progress=progress)


@_kind("capacity", "reversing -o capacity.svg", PLANT)
def capacity(plant: str) -> Drawn:
    """What a plant can do at most for each need.

    Against what is asked, over the air outside.
    """
    from heatwright.cli_needs import capacities_of
    from heatwright.draw.capacity import capacity_picture
    from heatwright.report.pictures import Drawn

    found = capacities_of(plant)
    return Drawn(capacity_picture(found), found.as_json())


@_kind("cop", "reversing -o cop.svg", PLANT)
def cop(plant: str) -> Drawn:
    """Heat, power and COP over the air outside.

    Steady points at half of the compressor's most speed, the cabin at 20 °C.
    """
    from heatwright.draw.cop import cop_picture
    from heatwright.report.pictures import Drawn

    cars, _ = load([plant], None)
    with marching() as progress:
        get_ready(progress)
        from heatwright.study.point import Asked, sweep_points

        values = [t + 273.15 for t in COP_AT_C]
        points = sweep_points(cars[0], Asked(values[0], 293.15), "ambient", values, progress)
    return Drawn(cop_picture(points), [one.as_json() for one in points])


def _run(folder: Path) -> Run:
    from heatwright.run import load_run

    return load_run(folder)


def _time(run: Run, option: str, text: str | None) -> float | None:
    return None if text is None else read_time(option, text, float(run.t_s[-1]))


def _check(out: Path | None, as_json: bool) -> None:
    """Refuse before any work what could not be written at its end."""
    from heatwright.run import check_new_file

    if out is None:
        if not as_json:
            raise InputError([Problem("-o", "no file", "FILE.svg or FILE.png, or --json")], TITLE)
        return
    if out.suffix.lower() not in SUFFIXES:
        raise InputError([Problem("-o", str(out), "a name that ends with .svg or .png")], TITLE)
    check_new_file(out)
    if out.suffix.lower() == ".png":
        from heatwright.report.browser import find_browser

        find_browser()


def _give(drawn: Drawn, out: Path | None, night: bool, as_json: bool) -> None:
    """Write the picture, print its numbers."""
    from heatwright.draw.svg import standalone
    from heatwright.run import plain, write_file

    if out is not None and out.suffix.lower() == ".png":
        from heatwright.report.browser import take_picture

        take_picture(standalone(drawn.svg), out, night=night)
    elif out is not None:
        write_file(out, standalone(drawn.svg, night=night))
    if as_json:
        print_json(plain(drawn.twin))
    elif out is not None:
        click.echo(f"written to {out}")
