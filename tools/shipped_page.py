"""Write docs/guide/shipped-plants.md afresh from runs of every shipped plant, or with --check say whether it agrees."""

from __future__ import annotations

import sys
import textwrap
from typing import Any

from tools.sources import ROOT
from tools.written import write_page

PAGE = ROOT / "docs" / "guide" / "shipped-plants.md"
DAYS = ("winter_day", "summer_charge_day", "rain_day")
EXAMPLES = {"secondary": "secondary_loop"}  # folders that do not bear the plant's name
HEAD = """# Shipped plants

All extend one file, `car.plant.toml`, that holds the car: body, glass, pack, drive unit, cabin, the front and both ends
of the air path. They differ in plumbing, in thermal parts and in control, so that a comparison compares those. All
sizes are invented, within common practice. `heatwright show PLANT` tells every value with its source,
`heatwright modes PLANT` what its plumbing allows.

"""
TABLE = """## Three days

Each plant on three of the shipped [trips](trips.md#three-of-the-shipped-trips); what a charge puts in counts as used
only where it was lost. Written by `make docs` from runs.

"""
COLUMNS = (
    "plant", "winter, kWh/100 km", "to 20 °C, min", "pack at the end, °C", "summer, kWh/100 km", "to 80 %, min",
    "hottest cells, °C", "rain, kWh/100 km", "fogged, min",
)  # fmt: skip
FOOT = """
Fogged glass while driving is dangerous, and so is a pack outside its limits: see [Cautions](../start/cautions.md). The
figures are an engineering estimate of invented cars.
"""


def ran(plant: str, day: str) -> Any:
    """Return a shipped plant's run on a shipped day; a fast charge lasts as long as this plant needs."""
    from heatwright.compiler.build import compile_program
    from heatwright.plant.load import load_plant
    from heatwright.simulate import simulate
    from heatwright.study.stops import settled_case
    from heatwright.trip.load import load_trip

    car = load_plant(plant)
    case = settled_case([car], load_trip(day))
    return simulate(compile_program(car, case), case)


def row(plant: str) -> str:
    """One line of the table."""
    from heatwright.study.table import number

    winter, summer, rain = (ran(plant, day) for day in DAYS)
    hottest = float(summer.series["t_pack_hottest_k"].max()) - 273.15
    warm = winter.comfort["time_to_20c_s"]
    cells = [
        f"`{plant}`",
        number(winter.summary["energy_kwh_per_100km"], 1),
        number(warm / 60.0, 1) if warm is not None else "–",
        number(float(winter.series["t_pack_coldest_k"][-1]) - 273.15, 1),
        number(summer.summary["energy_kwh_per_100km"], 1),
        number(summer.summary["charge_minutes"], 1),
        number(hottest, 1),
        number(rain.summary["energy_kwh_per_100km"], 1),
        number(rain.comfort["fogged_s"] / 60.0, 1),
    ]
    return "| " + " | ".join(cells) + " |"


def paragraph(one: Any) -> str:
    """What a plant is, and where an example shows its own behaviour."""
    folder = EXAMPLES.get(one.name, one.name)
    known = (ROOT / "examples" / folder).is_dir()
    link = f" Its own behaviour: [{folder}](../../examples/{folder}/README.md)." if known else ""
    text = f"**{one.title}** (`{one.name}`). {one.about}{link}"
    return textwrap.fill(text, 118, initial_indent="- ", subsequent_indent="  ", break_on_hyphens=False)


def fresh(_: str) -> str:
    """The whole page."""
    from heatwright.plant.catalogue import list_shipped

    shipped = list_shipped()
    said = [paragraph(one) for one in shipped]
    lines = ["| " + " | ".join(COLUMNS) + " |", "| --- |" + " ---: |" * (len(COLUMNS) - 1)]
    lines += [row(one.name) for one in shipped]
    return HEAD + "\n".join(said) + "\n\n" + TABLE + "\n".join(lines) + "\n" + FOOT


if __name__ == "__main__":
    sys.exit(write_page(PAGE, fresh, __doc__))
