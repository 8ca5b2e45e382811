"""`heatwright why`: why a run under dispatch did what it did, at every switch or at one instant."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from heatwright.cli_common import json_option, print_json, read_time, reporting

if TYPE_CHECKING:
    from heatwright.dispatch.why import Why

EXAMPLE = "Example:  heatwright why results/router --at 0:14:30"


@click.command("why", epilog=EXAMPLE, context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("run", type=click.Path(path_type=Path))
@click.option(
    "--at", metavar="TIME", help='Instant, as 0:14:30, 14:30 (min:s) or "870 s"; left out, every change of mode.'
)
@json_option
@reporting
def why_verb(run: Path, at: str | None, as_json: bool) -> None:
    """Say of RUN, a folder written under dispatch, what was needed, which modes competed, and why one ran."""
    from heatwright.dispatch.why import from_folder
    from heatwright.run import plain
    from heatwright.study.why_text import decision_as_json, decision_as_text, switches_as_json, switches_as_text

    record = from_folder(run)
    if at is None:
        if as_json:
            print_json(plain(switches_as_json(record)))
        else:
            click.echo(switches_as_text(record))
        return
    decision = record.at(_instant(at, record))
    if as_json:
        print_json(plain(decision_as_json(decision)))
        return
    click.echo(decision_as_text(decision))


def _instant(text: str, record: Why) -> float:
    """Return a time of the run [s]; InputError where it cannot be read or lies outside."""
    end_s = float(record.t_s[-1] + (record.t_s[-1] - record.t_s[-2] if record.t_s.size > 1 else 0.0))
    return read_time("--at", text, end_s)
