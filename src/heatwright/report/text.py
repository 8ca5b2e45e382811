"""Tables for the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

from heatwright.run import Run

TITLE_WIDTH = 66
"""What id, time and share of a mode leave of a page's width."""


def columns(rows: Sequence[Sequence[str]], *, head: Sequence[str] = (), numbers: bool = False) -> str:
    """Rows in aligned columns two spaces apart; with `numbers` all but the first stand to the right."""
    every = [*([head] if head else []), *rows]
    if not every:
        return ""
    widths = [max(len(row[k]) for row in every if k < len(row)) for k in range(max(map(len, every)))]
    lines = []
    for row in every:
        cells = [cell.rjust(widths[k]) if numbers and k else cell.ljust(widths[k]) for k, cell in enumerate(row)]
        lines.append("  ".join(cells).rstrip())
    return "\n".join(lines)


def shipped_table(title: str, rows: Sequence[tuple[str, str]], width: int = 100) -> str:
    """A heading, and names with what they are, wrapped beside them."""
    if not rows:
        return f"{title}\n  none"
    wide = max(len(name) for name, _ in rows) + 2
    lines = [title]
    for name, about in rows:
        parts = wrap(about, max(30, width - wide - 2)) or [""]
        lines.append(f"  {name.ljust(wide)}{parts[0]}".rstrip())
        lines += [" " * (wide + 2) + part for part in parts[1:]]
    return "\n".join(lines)


def run_as_text(run: Run) -> str:
    """A run as a reader at a terminal wants it: the answer, energy by use, comfort, health."""
    from heatwright.draw.quantities import signed, words
    from heatwright.report.answer import answer_lines
    from heatwright.report.html import flat
    from heatwright.report.modes_by_time import HEAD, modes_by_time

    parts = [f"{run.plant_name} on {run.trip_name}", columns(answer_lines(run))]
    if run.energy_kwh:
        total = sum(run.energy_kwh.values())
        rows = [
            (words(use), signed(value, 3), f"{100 * value / total:.1f} %" if total else "")
            for use, value in sorted(run.energy_kwh.items(), key=lambda row: -row[1])
        ]
        rows.append(("in all", signed(total, 3), ""))
        parts.append(columns(rows, head=("energy by use", "kWh", "share"), numbers=True))
    modes: list[tuple[str, ...]] = []
    for title, *figures in modes_by_time(run):
        first, *more = wrap(title, TITLE_WIDTH, subsequent_indent="  ")
        modes += [(first, *figures), *((line, *("" for _ in figures)) for line in more)]
    if modes:
        parts.append(columns(modes, head=HEAD))
    for title, values in (("comfort and service", run.comfort), ("health of the solver", run.health)):
        if values:
            parts.append(columns([(title, ""), *[(f"  {_short(name)}", text) for name, text in flat(values)]]))
    return "\n\n".join(parts)


def _short(name: str) -> str:
    """Return a name of a figure without the explanation behind a colon, so that the table fits a page."""
    return name.partition(":")[0]
