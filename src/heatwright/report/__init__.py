"""Pages: a run or a comparison as one HTML file that needs nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from heatwright.run import Run


def render(run: Run) -> str:
    """The report of a run as one HTML page."""
    from heatwright.report.page import render_run

    return render_run(run)


def save_run(
    run: Run, folder: str | PathLike[str], *, replace: bool = False, beside: Mapping[str, bytes] | None = None
) -> Path:
    """Write series, summary, ledger, provenance, report and what is `beside` into a new folder, or nothing."""
    from heatwright.run import write_run

    return write_run(run, folder, render(run), replace=replace, beside=beside)
