"""Write docs/start/does-it-make-sense.md afresh from runs, or with --check say whether its figures still hold."""

from __future__ import annotations

import sys

from tools.sources import ROOT
from tools.written import write_page

PAGE = ROOT / "docs" / "start" / "does-it-make-sense.md"
HEAD = """# Does it make sense?

What whole cars do in a run, beside published figures and common practice. The page is written by `make docs` from runs
of the shipped plants; nothing is tuned to it. A figure outside its band is a miss and stays here as one: the last
section says what is known of each. Bands from memory or worked by hand say so: take them as order of magnitude.

"""
TAIL = """
## What the misses mean

- **More energy on a cold WLTC, `plain`.** A resistive heater, all losses of a cold car and a body lighter than the
  published ones: the same kilowatts weigh more on a smaller use.
- **Range at 35 °C with nothing conditioned.** On rollers the drag is that of the mild day, so what is gained is the
  pack's and the gear's, which lose less when warm. Published cars lose 4 %: what else they run then is not known.

Where a row is not listed here, it lay inside when this page was written. How closely the march itself is solved is
another question: [accuracy](../develop/accuracy.md).
"""


def table() -> str:
    """The rows as one table a group."""
    from heatwright.progress import Progress
    from heatwright.study.sense import rows
    from heatwright.study.table import number

    with Progress("checking") as step:
        found = rows(step)
    lines: list[str] = []
    group = ""
    for row in found:
        if row.group != group:
            group = row.group
            lines += [
                "",
                f"## {group}",
                "",
                "| asked | plant | found | band | | source |",
                "| --- | --- | ---: | ---: | --- | --- |",
            ]
        band = f"{number(row.low, row.digits)} to {number(row.high, row.digits)}"
        value = "none" if row.found is None else f"{number(row.found, row.digits)} {row.unit}".strip()
        note = f" ({row.note})" if row.note else ""
        verdict = "inside" if row.inside else "**miss**"
        lines.append(f"| {row.asked}{note} | `{row.plant}` | {value} | {band} | {verdict} | {row.source} |")
    inside = sum(row.inside for row in found)
    return f"{inside} of {len(found)} figures lie in their bands.\n" + "\n".join(lines) + "\n"


if __name__ == "__main__":
    sys.exit(write_page(PAGE, lambda _: HEAD + table() + TAIL, __doc__))
