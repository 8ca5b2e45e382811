"""What is handed on: a report of the runs shown with the sections chosen, as one HTML file or as PDF."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from heatwright.errors import InputError, Problem, ToolError
from heatwright.workbench import verdicts
from heatwright.workbench.study import Kept, Study

if TYPE_CHECKING:
    from heatwright.dispatch.why import Why

MOST = 4
HOW = (
    "There is no Chromium on this machine to make a PDF with. Open the HTML file in any browser and print it from there"
    " (Ctrl+P), choosing to save as PDF."
)


@dataclass(frozen=True)
class Offer:
    """What a report may be made of: sections as (key, title, whether it always goes along), and how it is printed."""

    sections: tuple[tuple[str, str, bool], ...]
    prints: bool
    how: str

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return asdict(self)


def section_titles() -> tuple[tuple[str, str], ...]:
    """Every section: key and title."""
    from heatwright.report.page import SECTIONS

    return tuple((key, title) for key, (title, _) in SECTIONS.items())


def offer() -> Offer:
    """What there is to choose."""
    from heatwright.report.browser import find_browser
    from heatwright.report.page import ALWAYS

    try:
        find_browser()
        prints = True
    except ToolError:
        prints = False
    return Offer(tuple((key, title, key in ALWAYS) for key, title in section_titles()), prints, "" if prints else HOW)


def address(ending: str, ids: Sequence[str]) -> str:
    """Where the report of some runs lies on this server."""
    return f"/report.{ending}?runs={','.join(ids)}"


def keys_of(text: str | None) -> tuple[str, ...] | None:
    """The sections that a request names; None where it names none, InputError for one that there is not."""
    from heatwright.report.page import SECTIONS

    if text is None:
        return None
    keys = tuple(key for key in text.split(",") if key)
    bad = [key for key in keys if key not in SECTIONS]
    if bad:
        raise InputError([Problem("sections", f"there is no section {bad[0][:40]!r}", ", ".join(SECTIONS))], "bench")
    return keys


def as_html(study: Study, runs: Sequence[Kept], keys: Sequence[str] | None) -> str:
    """The report as one HTML file that needs nothing else."""
    from heatwright.report.several import render_several

    if not 1 <= len(runs) <= MOST:
        raise InputError([Problem("report", f"{len(runs)} runs", f"one to {MOST}")], "bench")
    names = verdicts.told_apart([one.name for one in runs])
    judged = verdicts.kept(study, runs) if len(runs) > 1 else None
    told = [*(one.better for one in judged.against), *judged.sentences] if judged else []
    return render_several([(n, one.run, _why(one)) for n, one in zip(names, runs, strict=True)], keys, told)


def as_pdf(page: str) -> bytes:
    """A page printed by the Chromium of this machine; ToolError where there is none, or it fails."""
    from heatwright.report.browser import print_pdf

    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder) / "report.html", Path(folder) / "report.pdf"
        source.write_text(page, encoding="utf-8")
        print_pdf(source, target)
        return target.read_bytes()


def file_name(runs: Sequence[Kept], ending: str) -> str:
    """A name for the file, out of those of the runs, in letters that every system takes."""
    plain = "_".join("".join(c if c.isalnum() and c.isascii() else "_" for c in one.name) for one in runs)
    return f"{plain[:80].strip('_') or 'report'}.{ending}"


def _why(one: Kept) -> Why | None:
    from heatwright.dispatch.why import FILE, from_folder

    return from_folder(one.folder) if (one.folder / FILE).is_file() else None
