"""`heatwright draw sheet`: the sheet of a plant, at one of three levels, in a mode or at an instant of a run."""

from __future__ import annotations

from pathlib import Path

import click

from heatwright.cli_common import load, reporting
from heatwright.errors import InputError, Problem

EXAMPLE = "Example:  heatwright draw sheet three_loops --level loops -o loops.svg"


@click.command("sheet", epilog=EXAMPLE, context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("plant")
@click.option("--level", type=click.Choice(["idea", "loops", "plumbing"]), default="plumbing", show_default=True,
              help="Bodies and sides; a line for each loop; or every pipe.")  # fmt: skip
@click.option("--mode", default="", metavar="ID", help="Live and idle legs of this mode of the plant.")
@click.option("--run", "folder", type=click.Path(path_type=Path), help="A run's folder: its temperatures and flows.")
@click.option("--at", "at_s", type=float, default=0.0, show_default=True, metavar="SECONDS", help="Instant of the run.")
@click.option("--refine", is_flag=True, help="Look longer for a better layout, and keep it for this plant.")
@click.option("-o", "--out", type=click.Path(path_type=Path, dir_okay=False), required=True, help="New SVG file.")
@reporting
def sheet_verb(
    plant: str, level: str, mode: str, folder: Path | None, at_s: float, refine: bool, out: Path
) -> None:  # fmt: skip
    """Draw the sheet of PLANT: its parts, pipes and ducts; colour tells temperature, form the medium.

    The layout is kept: a plant whose parts hang together as before looks as before.
    """
    from heatwright.draw.sheet import draw_sheet, layout_of
    from heatwright.draw.svg import standalone
    from heatwright.progress import Progress
    from heatwright.run import check_new_file, load_run, write_file

    if mode and folder is not None:
        raise InputError([Problem("--mode and --run", "both are asked for", "one of the two")], "draw sheet")
    check_new_file(out)
    cars, _ = load([plant], None)
    run = None if folder is None else load_run(folder)
    if run is not None and run.plant_name != cars[0].name:
        found = f"the run is of '{run.plant_name}', the sheet of '{cars[0].name}'"
        raise InputError([Problem("--run", found, "a run of this plant")], "draw sheet")
    with Progress("laying out the sheet") as progress:
        layout = layout_of(cars[0], refine=refine, progress=progress) if level == "plumbing" or refine else None
        drawing = draw_sheet(cars[0], level, mode=mode, run=run, t_s=at_s, layout=layout)
    write_file(out, standalone(drawing))
    click.echo(f"written to {out}")
