"""Write the measured part of docs/guide/dispatch-sensors.md afresh, or with --check say whether it still agrees."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from typing import Any

import numpy as np

from heatwright.sensors import Sensors, load_sensors
from tools.sources import ROOT
from tools.written import write_page

PAGE = ROOT / "docs" / "guide" / "dispatch-sensors.md"
PLANTS = ("reversing", "plain", "router", "secondary", "three_loops")
DAYS = range(1, 13)
NOISE_K = 1.0
TRIPS = (("router", "summer_charge_day"), ("router", "towing"), ("plain", "deep_frost"))
OBSERVED, OBSERVED_DAY = "reversing", 2
NODES = (("cabin.air", "cabin air"), ("cabin.trim", "trim"), ("cabin.shell", "shell"), ("pack.cells_1", "cells"),
         ("drive.rotor", "rotor"))  # fmt: skip
BEGIN, END = "<!-- figures: written by `make docs` -->\n", "<!-- end of figures -->"
BETWEEN = re.compile(re.escape(BEGIN) + ".*?" + re.escape(END), re.S)

SEEN: tuple[tuple[str, Callable[[int], Sensors | None]], ...] = (
    ("true state", lambda _: None),
    ("sensors", load_sensors),
    ("sensors, 1 K noise", lambda day: load_sensors(day).with_noise(NOISE_K)),
)


def of_days() -> list[str]:
    """Scores and switches of drawn days, a line for each plant and what both strategies see."""
    from heatwright.plant.load import load_plant
    from heatwright.study.days import many_days

    lines = [
        "| plant | sees | mean ratio | worst day | switches/h table, mean | dispatch, mean | dispatch, most |",
        "|---|---|---|---|---|---|---|",
    ]
    for name in PLANTS:
        plant = load_plant(name)
        for sees, sensing in SEEN:
            found = many_days(plant, DAYS, sensing=sensing)
            (against,) = found.against
            rates = {
                one: [day.scores[one].switches_per_h or 0.0 for day in found.days] for one in ("table", "dispatch")
            }
            figures = f"{against.mean_ratio:.3f} | {against.worst_ratio:.3f} | {np.mean(rates['table']):.1f}"
            lines.append(
                f"| {name} | {sees} | {figures} | {np.mean(rates['dispatch']):.1f} | {max(rates['dispatch']):.1f} |"
            )
    return lines


def of_trips() -> list[str]:
    """Switches an hour of dispatch on shipped trips, by what it sees."""
    from heatwright.compiler.build import compile_program
    from heatwright.dispatch.march import run_dispatch
    from heatwright.dispatch.score import score
    from heatwright.plant.load import load_plant
    from heatwright.study.stops import settled_case
    from heatwright.trip.load import load_trip

    def march(seen: Sensors | None, plant: Any, case: Any) -> Any:
        return run_dispatch(plant, compile_program(plant, case, sensors=seen), case).run

    lines = ["| plant | trip | true state | sensors | sensors, 1 K noise |", "|---|---|---|---|---|"]
    for name, trip in TRIPS:
        plant = load_plant(name)
        ways = [partial(march, sensing(1)) for _, sensing in SEEN]
        case = settled_case([plant], load_trip(trip), marches=ways)
        rates = [score(way(plant, case), case).switches_per_h or 0.0 for way in ways]
        lines.append(f"| {name} | `{trip}` | " + " | ".join(f"{rate:.1f}" for rate in rates) + " |")
    return lines


@contextmanager
def watched(found: list[Any]) -> Iterator[None]:
    """Note at every decision by how much an observer lies off the car's nodes [K]."""
    from heatwright.dispatch.observer import Observer
    from heatwright.kernel import plan

    follow = Observer.follow

    def noting(self: Observer, car: Any, *rest: Any) -> None:
        follow(self, car, *rest)
        pi = self.program.pi
        found.append(plan.section(pi, self.work, "tau") - plan.section(pi, car, "tau"))

    Observer.follow = noting  # type: ignore[method-assign]
    try:
        yield
    finally:
        Observer.follow = follow  # type: ignore[method-assign]


def of_the_observer() -> list[str]:
    """How far the observer lies off, root mean square over a day."""
    from heatwright.compiler.build import compile_program
    from heatwright.dispatch.days import day
    from heatwright.dispatch.march import run_dispatch
    from heatwright.plant.load import load_plant
    from heatwright.trip.load import build_case

    plant, case = load_plant(OBSERVED), build_case(day(OBSERVED_DAY))
    own = load_sensors(OBSERVED_DAY)
    ways: tuple[tuple[str, Sensors, dict[str, float] | None], ...] = (
        ("sensors that lag but have no errors", own.without_errors(), None),
        ("with errors drawn", own, None),
        ("no errors, a cabin believed to lose 30 % more", own.without_errors(), {"cabin": 1.3}),
    )
    lines = ["| sensors | " + " | ".join(f"{words}, K" for _, words in NODES) + " |", "|---|" + "---|" * len(NODES)]
    for words, sensors, error in ways:
        found: list[Any] = []
        program = compile_program(plant, case, sensors=sensors)
        with watched(found):
            run_dispatch(plant, program, case, model_error=error)
        off = dict(zip(program.index.nodes, np.sqrt(np.mean(np.square(found), axis=0)).tolist(), strict=True))
        lines.append(f"| {words} | " + " | ".join(f"{off[node]:.2f}" for node, _ in NODES) + " |")
    return lines


def figures() -> str:
    """All that is measured, as the page shows it."""
    first, last = DAYS[0], DAYS[-1]
    parts = [
        f"Drawn days {first} to {last}, ratio of scores dispatch over table, and switches per hour with people "
        "aboard.\nTables as shipped.",
        "\n".join(of_days()),
        "Dispatch on three shipped trips that are hard on it, switches per hour with people aboard, the car of day 1:",
        "\n".join(of_trips()),
        f"How far the observer lies off, root mean square over day {OBSERVED_DAY} of the {OBSERVED} plant:",
        "\n".join(of_the_observer()),
    ]
    return "\n\n".join(parts) + "\n"


def fresh(text: str) -> str:
    """The page's text with its figures written anew."""
    if not BETWEEN.search(text):
        raise SystemExit(f"{PAGE}: the marks around the figures are missing")
    written = figures()
    return BETWEEN.sub(lambda _: f"{BEGIN}\n{written}\n{END}", text)


if __name__ == "__main__":
    sys.exit(write_page(PAGE, fresh, __doc__))
