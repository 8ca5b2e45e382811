"""`heatwright report`: saved runs as one page that can be mailed, and printed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from heatwright.cli_common import reporting
from heatwright.errors import InputError, Problem, ToolError

if TYPE_CHECKING:
    from heatwright.run import Run

TITLE = "report"
EXAMPLE = "Example:  heatwright report results/router -o router.html --pdf"
HOW = "open {page} in any browser and print it there, to paper or to a PDF"
FIGURES = (
    "energy_used_kwh", "energy_kwh_per_100km", "range_km", "soc_end", "t_pack_end_k", "drive_derated_s",
)  # fmt: skip
COMFORT = ("time_to_20c_s", "short_k_min", "over_k_min", "fogged_s")


@click.command("report", epilog=EXAMPLE, context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("runs", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="RUN...")
@click.option(
    "-o", "--out", required=True, type=click.Path(path_type=Path, dir_okay=False), help="New HTML file for the page."
)
@click.option("--pdf", is_flag=True, help="Print it as well, by a Chromium found on this machine.")
@reporting
def report_verb(runs: tuple[Path, ...], out: Path, pdf: bool) -> None:
    """Write the report of a saved RUN, or of several side by side, as one file that asks nothing of the network.

    A run is a folder that `run --out` wrote. With --pdf a file of the same name that ends with .pdf lies beside it.
    """
    from heatwright.report.browser import find_browser, print_pdf
    from heatwright.run import check_new_file, write_file

    target = out.with_suffix(".pdf")
    if out.suffix.lower() not in (".html", ".htm"):
        raise InputError([Problem("-o", str(out), "a name that ends with .html")], TITLE)
    for file in (out, *([target] if pdf else [])):
        check_new_file(file)
    write_file(out, _page(runs))
    click.echo(f"written to {out}")
    if not pdf:
        return
    try:
        find_browser()
        print_pdf(out, target)
    except ToolError as failure:
        raise ToolError(f"{failure}; or {HOW.format(page=out)}") from failure
    click.echo(f"printed to {target}")


def _page(folders: tuple[Path, ...]) -> str:
    """The page of one run with its why-record, or of several beside each other."""
    from heatwright.dispatch.why import FILE, from_folder
    from heatwright.report import render
    from heatwright.report.compare_page import render_comparison
    from heatwright.run import load_run

    runs = [load_run(folder) for folder in folders]
    if len(runs) == 1:
        folder = folders[0]
        return render(runs[0], from_folder(folder) if (folder / FILE).is_file() else None)
    trips = {run.provenance.get("trip_digest") for run in runs}
    if len(trips) > 1:
        named = "; ".join(f"{folder}: {run.trip_name}" for folder, run in zip(folders, runs, strict=True))
        raise InputError([Problem("RUN", f"runs of several trips ({named})", "runs of one trip")], TITLE)
    return render_comparison([_figures(run) for run in runs], runs)


def _figures(run: Run) -> dict[str, Any]:
    """The figures of a saved run that stand side by side."""
    found: dict[str, Any] = {"plant": run.plant_name, "strategy": run.provenance.get("strategy") or "table"}
    found |= {key: run.summary[key] for key in FIGURES if key in run.summary}
    return found | {key: run.comfort[key] for key in COMFORT if key in run.comfort}
