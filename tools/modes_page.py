"""Write the tables and the picture of docs/guide/modes.md afresh, or with --check say whether they still agree."""

from __future__ import annotations

import re
import sys
from collections.abc import Sequence
from functools import cache

from heatwright.draw.modes import mode_picture
from heatwright.draw.svg import standalone
from heatwright.modes.atlas import build_atlas
from heatwright.modes.model import Atlas
from heatwright.modes.needs import NEEDS, coverage
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant
from tools.sources import ROOT
from tools.written import write_page

PAGE = ROOT / "docs" / "guide" / "modes.md"
PICTURE = ROOT / "docs" / "img" / "modes.svg"
DRAWN = "joined"
BEGIN, END = "<!-- tables: written by `make docs` -->\n", "<!-- end of tables -->"
BETWEEN = re.compile(re.escape(BEGIN) + ".*?" + re.escape(END), re.S)


@cache
def atlases() -> dict[str, Atlas]:
    """The atlas of every shipped plant."""
    return {one.name: build_atlas(load_plant(one.name)) for one in list_shipped()}


def tables() -> str:
    """What there is of each shipped plant, and how many useful modes serve each need."""
    counts = [
        [f"`{name}`", f"{a.combinations:,}", f"{a.legal:,}", *map(str, (a.distinct, len(a.families), len(a.useful)))]
        for name, a in atlases().items()
    ]
    served = {name: coverage(a.useful) for name, a in atlases().items()}
    needs = [[need, *(str(found[need] or "–") for found in served.values())] for need in NEEDS]
    head = ["plant", "combinations", "legal", "modes", "families", "useful"]
    return f"{_table(head, counts)}\n{_table(['need', *(f'`{name}`' for name in served)], needs)}"


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    marks = ["---", *["---:"] * (len(head) - 1)]
    return "".join("| " + " | ".join(row) + " |\n" for row in (head, marks, *rows))


def picture() -> str:
    """The picture that the page shows."""
    return standalone(mode_picture(load_plant(DRAWN), atlases()[DRAWN])) + "\n"


def fresh(text: str) -> str:
    """The page's text with its tables written anew."""
    if not BETWEEN.search(text):
        raise SystemExit(f"{PAGE}: the marks around the tables are missing")
    return BETWEEN.sub(lambda _: f"{BEGIN}\n{tables()}\n{END}", text)


if __name__ == "__main__":
    sys.exit(write_page(PAGE, fresh, __doc__) | write_page(PICTURE, lambda _: picture(), __doc__))
