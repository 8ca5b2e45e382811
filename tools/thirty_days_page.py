"""Write the measured part of docs/guide/thirty-days.md afresh, or with --check say whether it still agrees."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable, Mapping
from typing import Any

from tools.sources import ROOT
from tools.written import write_page

PAGE = ROOT / "docs" / "guide" / "thirty-days.md"
FIRST, COUNT = 301, 30
BEGIN, END = "<!-- figures: written by `make docs` -->\n", "<!-- end of figures -->"
BETWEEN = re.compile(re.escape(BEGIN) + ".*?" + re.escape(END), re.S)


def driven() -> Iterable[Mapping[str, Any]]:
    """Yield what `heatwright days PLANT --seed 301 --count 30 --explain --json` tells of every shipped plant."""
    from heatwright.plant.catalogue import list_shipped
    from heatwright.plant.load import load_plant
    from heatwright.sensors import load_sensors
    from heatwright.study.days import many_days
    from heatwright.study.days_why import Explained, worse_days

    for one in list_shipped():
        plant = load_plant(one.name)
        found = many_days(plant, range(FIRST, FIRST + COUNT))
        yield Explained(found, worse_days(plant, found, load_sensors)).as_json()


def row(told: Mapping[str, Any]) -> str:
    """Return the line of a plant."""
    (against,) = told["summary"]["against"]
    rates = [[day[name]["switches_per_h"] or 0.0 for day in told["days"]] for name in ("table", "dispatch")]
    means = [f"{sum(rate) / len(rate):.1f}" for rate in rates]
    figures = [f"{against['mean_ratio']:.3f}", f"{against['wins']} of {len(told['days'])}"]
    figures += [f"{against['worst_ratio']:.3f} ({against['worst_seed']})"]
    figures += [f"{against['best_ratio']:.3f} ({against['best_seed']})", *means, f"{max(rates[1]):.1f}"]
    return f"| {told['summary']['plant']} | " + " | ".join(figures) + " |"


def vetoes(told: Mapping[str, Any]) -> list[str]:
    """Return what no score makes good, a line for each day and strategy."""
    name = told["summary"]["plant"]
    return [f"- {name}, day {one['seed']}, {one['strategy']}: {one['veto']}" for one in told["summary"]["vetoes"]]


def worse(told: Mapping[str, Any]) -> list[str]:
    """Return why dispatch did worse, a line for each day on which it did."""
    from heatwright.study.days_why import WorseDay

    return [f"- {told['summary']['plant']}: {WorseDay(**one).sentence()}." for one in told["worse"]]


def figures(plants: Iterable[Mapping[str, Any]]) -> str:
    """Return all that is measured, as the page shows it."""
    known = list(plants)
    heads = ["plant", "mean ratio", "better", "worst (day)", "best (day)"]
    heads += ["switches/h table, mean", "dispatch, mean", "dispatch, most"]
    lines = ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads), *(row(one) for one in known)]
    gone = [line for one in known for line in vetoes(one)] or ["- nothing"]
    bad = [line for one in known for line in worse(one)] or ["- none"]
    parts = ["\n".join(lines), "## What no score makes good", "\n".join(gone)]
    parts += ["## Days on which dispatch did worse, and why", "\n".join(bad)]
    return "\n\n".join(parts) + "\n"


def fresh(old: str, plants: Iterable[Mapping[str, Any]] | None = None) -> str:
    """Return the page with its figures written anew; ValueError where their place is missing."""
    if not BETWEEN.search(old):
        raise ValueError(f"{PAGE.name}: no place for the figures")
    new = figures(driven() if plants is None else plants)
    return BETWEEN.sub(lambda _: BEGIN + "\n" + new + "\n" + END, old)


if __name__ == "__main__":
    sys.exit(write_page(PAGE, fresh, __doc__))
