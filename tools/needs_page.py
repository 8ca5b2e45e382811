"""Write docs/guide/needs-of-shipped-plants.md and its picture afresh, or with --check say whether it agrees."""

from __future__ import annotations

import sys
from functools import cache
from typing import Any

from tools.sources import ROOT
from tools.written import write_page

PAGE = ROOT / "docs" / "guide" / "needs-of-shipped-plants.md"
PICTURE = ROOT / "docs" / "img" / "capacities.svg"
SHOWN = "three_loops"
HEAD = """# Needs of the shipped plants

What [`heatwright needs`](needs.md) finds of every shipped plant with the sheet `default`. The page is written by
`make docs` from runs; sizes of the plants are invented, limits without a standard are targets.

![Capacities of three_loops](../img/capacities.svg)

## Clocks and ranges

A figure in bold misses its limit; – was never reached.

"""
MIDDLE = """
## Capacities

Where the best mode falls short of the load, and what binds where it falls shortest; empty where it never does.

"""
TAIL = """
Defrost times come [late](../parts/screen_ice.md). These are engineering estimates, no approval: see the
[cautions](../start/cautions.md).
"""


def fresh(_: str = "") -> str:
    """The page's text."""
    return HEAD + "\n".join(_clocks()) + "\n" + MIDDLE + "\n".join(_capacities()) + "\n" + TAIL


@cache
def answers() -> dict[str, tuple[Any, Any]]:
    """Every shipped plant's clocks and capacities by name."""
    from heatwright.modes.atlas import build_atlas
    from heatwright.plant.catalogue import list_shipped
    from heatwright.plant.load import load_plant
    from heatwright.study.capacity.sweep import capacities
    from heatwright.study.needs.clocks import answer_sheet
    from heatwright.study.needs.sheet import load_sheet

    sheet = load_sheet()
    found = {}
    for one in list_shipped():
        plant = load_plant(one.name)
        found[one.name] = answer_sheet(plant, sheet), capacities(plant, build_atlas(plant), sheet.loads)
    return found


def _clocks() -> list[str]:
    """A row a need, a column a plant."""
    from heatwright.study.needs.figures import FIGURES
    from heatwright.study.needs.text import limit_words, shown

    columns = {name: clocks for name, (clocks, _) in answers().items()}
    lines = ["| need | limit | " + " | ".join(f"`{name}`" for name in columns) + " |"]
    lines.append("| --- | ---: |" + " ---: |" * len(columns))
    for k, first in enumerate(next(iter(columns.values())).answers):
        cells = []
        for clocks in columns.values():
            one = clocks.answers[k]
            words = "–" if one.found is None else shown(FIGURES[one.need.figure], one.found).rpartition(" ")[0]
            cells.append(words if one.passed else f"**{words}**")
        lines.append(f"| {first.need.asks} | {limit_words(first)} | " + " | ".join(cells) + " |")
    met = [f"{clocks.passed} of {len(clocks.answers)}" for clocks in columns.values()]
    return [*lines, "| met | | " + " | ".join(met) + " |"]


def _capacities() -> list[str]:
    """A section of sentences a plant."""
    from heatwright.study.capacity.tasks import TASKS
    from heatwright.study.capacity.text import verdict

    lines = []
    for name, (_, found) in answers().items():
        short = [(task.words, verdict(found.of(task.key))) for task in TASKS]
        told = [f"- {words}: {sentence}" for words, sentence in short if sentence.startswith("short")]
        lines += [f"### `{name}`", "", *(told or ["Served everywhere."]), ""]
    return lines[:-1]


def picture() -> str:
    """The capacities of one plant as a file."""
    from heatwright.draw.capacity import capacity_picture
    from heatwright.draw.svg import standalone

    return standalone(capacity_picture(answers()[SHOWN][1]))


if __name__ == "__main__":
    status = write_page(PAGE, fresh, __doc__)
    if "--check" not in sys.argv:
        PICTURE.write_text(picture(), encoding="utf-8")
    sys.exit(status)
