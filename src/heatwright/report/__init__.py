"""Pages: a run or a comparison as one HTML file that needs nothing else."""

from __future__ import annotations

from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from heatwright.dispatch.why import Why
    from heatwright.run import Run


def render(run: Run, why: Why | None = None) -> str:
    """The report of a run as one HTML page, with its why-record where dispatch kept one."""
    from heatwright.report.page import render_run

    return render_run(run, why)


def save_run(run: Run, folder: str | PathLike[str], *, replace: bool = False, why: Why | None = None) -> Path:
    """Write series, books, summary, ledger, provenance, report and why-record into a new folder, or nothing."""
    from heatwright.dispatch.why import FILE
    from heatwright.run import write_run

    beside = {} if why is None else {FILE: why.as_bytes()}
    return write_run(run, folder, render(run, why), replace=replace, beside=beside)
