"""Write the table of docs/guide/cold-coolant.md afresh, or with --check say whether it still agrees."""

from __future__ import annotations

import re
import sys

from tools.sources import ROOT
from tools.written import write_page

PAGE = ROOT / "docs" / "guide" / "cold-coolant.md"
PLANTS = ("plain", "reversing")
BEGIN, END = "<!-- table: written by `make docs` -->\n", "<!-- end of table -->"
BETWEEN = re.compile(re.escape(BEGIN) + ".*?" + re.escape(END), re.S)


def table() -> str:
    """The shipped plants' exchangers at three temperatures, as the page shows them."""
    from heatwright.plant.load import load_plant
    from heatwright.study.cold import cold_flow
    from heatwright.study.table import number

    marks = (40.0, 0.0, -20.0)
    head = [f"{number(t, 0)} °C" for t in marks]
    top = ["plant", "part", *(f"L/min at {one}" for one in head), *(f"W/K at {one}" for one in head)]
    lines = ["| " + " | ".join(top) + " |", "| " + " | ".join(["---"] * 2 + ["---:"] * 6) + " |"]
    for name in PLANTS:
        for one in cold_flow(load_plant(name), marks).parts:
            flow = [number(v, 1) for v in one.flow_l_per_min]
            film = [number(v, 0) for v in one.film_w_per_k]
            lines.append("| " + " | ".join([f"`{name}`", one.part, *flow, *film]) + " |")
    return "\n".join(lines) + "\n"


def fresh(text: str) -> str:
    """The page's text with its table written anew."""
    if not BETWEEN.search(text):
        raise SystemExit(f"{PAGE}: the marks around the table are missing")
    return BETWEEN.sub(lambda _: f"{BEGIN}\n{table()}\n{END}", text)


if __name__ == "__main__":
    sys.exit(write_page(PAGE, fresh, __doc__))
