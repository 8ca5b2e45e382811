"""`heatwright open`: the workbench in a browser on this machine."""

from __future__ import annotations

from pathlib import Path

import click

from heatwright.cli_common import get_ready, load, marching, reporting
from heatwright.errors import InputError, Problem

DEMO_PLANTS = ("plain", "reversing")
DEMO_TRIP = "winter_day"
EXAMPLE = "Example:  heatwright open    or, on a folder of saved runs:  heatwright open results"


@click.command("open", epilog=EXAMPLE, context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("folder", required=False, type=click.Path(path_type=Path))
@click.option("--port", type=click.IntRange(1, 65535), help="Port to serve at; the next free one where it is taken.")
@click.option("--no-browser", is_flag=True, help="Print the address only.")
@reporting
def open_verb(folder: Path | None, port: int | None, no_browser: bool) -> None:
    """Open the workbench on FOLDER, a folder of saved runs and files of plants and trips; without one, on the demo.

    It serves 127.0.0.1 alone, until Ctrl-C. Runs made in it are written into FOLDER/made.
    """
    from heatwright.workbench.serve import HOST, PORT, demo_folder, free_port, serve

    if folder is not None and not folder.is_dir():
        raise InputError([Problem(str(folder), "there is no such folder", "a folder of saved runs")], "open")
    title = "Winter day, two plants" if folder is None else folder.resolve().name
    home = demo_folder() if folder is None else folder
    if folder is None:
        run_demo(home)
    wanted = port or PORT
    bound, got = free_port(wanted)
    address = f"http://{HOST}:{got}/"

    def ready() -> None:
        taken = "" if got == wanted else f"   (port {wanted} is taken)"
        click.echo(f"{address}{taken}   Ctrl-C ends it")
        if not no_browser:
            import webbrowser

            webbrowser.open(address)

    serve(home, title, bound, ready)


def run_demo(home: Path) -> None:
    """Run the demo study, as far as the cache does not hold it yet."""
    missing = [name for name in DEMO_PLANTS if not (home / name / "provenance.json").is_file()]
    if not missing:
        return
    cars, way = load(missing, DEMO_TRIP)
    with marching() as progress:
        get_ready(progress)
        from heatwright.report import save_run
        from heatwright.study.one_run import one_run

        for name, car in zip(missing, cars, strict=True):
            progress.what = f"demo study, {name}"
            save_run(one_run(car, way, progress=progress), home / name)
