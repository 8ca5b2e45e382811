"""Write docs/guide/heat-prices.md and its picture afresh, or with --check say whether it agrees."""

from __future__ import annotations

import sys
from dataclasses import replace
from functools import cache

import numpy as np

from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.dispatch.price_table import PriceTable
from heatwright.dispatch.prices import charge_par, derive_prices, fast_stops
from heatwright.dispatch.settings import load_settings
from heatwright.kernel import names
from heatwright.physics import fast_charge as fc
from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.trip.load import build_case, load_trip
from tools.sources import ROOT
from tools.written import write_page

PAGE = ROOT / "docs" / "guide" / "heat-prices.md"
PICTURE = ROOT / "docs" / "img" / "heat-prices.svg"
PLANT, TRIP = "router", "charge_cold"
CASES = (
    ("plain", "charge_mild", 0.0), ("plain", "charge_cold", 0.0), ("reversing", "charge_cold", 0.0),
    ("router", "charge_mild", 4e3), ("plain", "summer_charge_day", 0.0),
)  # fmt: skip
"""Plant, trip and heat taken from a hot pack [W]; plain and reversing do not cool their packs at these chargers."""
HEAD = """# Heat prices

Heat in the pack is worth something to a car on its way to a charger in the cold, and is a burden to one in the heat. A
price says how much: joules of electricity that a joule of heat put into the pack saves later. With prices a supervisor
that looks two minutes ahead acts as if it saw the charger. `heatwright prices` shows them:

```sh
heatwright prices router charge_cold --out prices.svg
```

![Price of heat in the pack over its temperature](../img/heat-prices.svg)

```text
"""
MIDDLE = """```

## Where the price comes from

From the end of the trip back: what does the rest cost from every temperature of the pack, if
nobody heats or cools it on purpose on the road? Counted are resistive loss on the road, wear (`ageing`), and every
fast charge with the pack as one lump (`physics/fast_charge.py`): the pack's own charge limit, resistance and heat, the
station's power, loss to the air outside, cooling above `pack_hot_charging` less `pack_hot_width`. A charge costs
`waiting_cost` times the time, wear, resistive loss and the electricity of cooling. The price is the slope of that cost.
Where the slope would rise with temperature it is pooled to its mean, so that the price never rises; it is never above
`price_most`.

- *While there is time to make the heat later*, the price is at most the `plateau`, what heat costs to make. Time is
  short once `making_margin` times the time that `making_power` needs is all there is left; from there to the bare
  time the price rises evenly to that at the charger.
- *While it charges* the price falls with the charge that is still to come, to what the way after it makes of the heat.
- *No charge ahead*: what the rest of the trip makes of it, or the standing price, whichever counts for more:
  `standing_price` in a cold pack, zero at `standing_centre`, as much below zero in a hot one.
- *Linings of the cabin* (skin and trim) give their heat to the air by and by. While the cabin is wanted, a joule in
  them is worth `lining_price` in the cold and minus that in the heat, less the share that is not given before people
  leave; nothing in mild weather.
- *Your own*: `pack_price`, `drive_price` and `cabin_price` in a table `[dispatch]` of plant or trip, as one price
  or over time:

```toml
[dispatch]
plateau    = "0.7 J/J"
pack_price = [["0 min", "30 %"], ["20 min", "0.9 J/J"]]
```

All of these stand in [the settings of dispatch](../reference/dispatch.md), with units, ranges and sources.

## The model against whole marches

From the march's own charge and temperature at the plug. Left out of the model: spread between cells, heat to the
cabin's floor, coolant and plate.

| plant | trip | cooling in the model | march, min | model, min | off |
| --- | --- | ---: | ---: | ---: | ---: |
"""
TAIL = """
The charge at arrival is the start's less what road, drive unit and low voltage take: heating is not known yet, so
the car really arrives emptier in the cold. No heat is made at the charger in the model unless `heating_power` says
so; a plant that heats its pack there finds prices below these. A pack outside its limits is dangerous: see the
[cautions](../start/cautions.md). These are engineering estimates of invented cars.
"""


def march_and_model_s(program: Program, run: Run, cooling_w: float) -> tuple[float, float]:
    """Return the time of a trip's first charge in its march and in the model from the same charge and temperature."""
    settings = load_settings()  # the tables of these drive so:
    settings = replace(settings, heating_power_w=0.0, pack_hot_charging_k=303.15, cooling_cop=2.5)
    stop = fast_stops(program, settings)[0]
    first, last = round(stop.start_s / program.dt_s), round(stop.end_s / program.dt_s)
    soc = np.asarray(run.series["soc"], float)[first : last + 1]
    reached = np.flatnonzero(soc >= stop.soc_to - 1e-9)
    if not reached.size:
        raise ValueError(f"{program.plant_name} does not reach its charge on {program.trip_name}")
    ends = [float(run.series[f"t_pack_{which}_k"][first]) for which in ("hottest", "coldest")]
    outside_k = float(program.rows[first, names.D_TAU]) + 273.15
    par, cell = charge_par(program, settings, stop.station_w, outside_k)
    par[fc.COOL_W] = cooling_w
    model_s, _, _ = fc.fast_charge(0.5 * sum(ends), float(soc[0]), stop.soc_to, par, cell)
    return float(reached[0]) * program.dt_s, model_s


@cache
def table() -> PriceTable:
    """The prices shown."""
    plant, trip = load_plant(PLANT), load_trip(TRIP)
    return PriceTable(plant.name, trip.name, derive_prices(compile_program(plant, build_case(trip)), load_settings()))


def _compared() -> list[str]:
    from heatwright.simulate import simulate
    from heatwright.study.table import number

    lines = []
    for plant, trip, cooling_w in CASES:
        case = build_case(load_trip(trip))
        program = compile_program(load_plant(plant), case)
        march_s, model_s = march_and_model_s(program, simulate(program, case), cooling_w)
        off = f"{number(100.0 * (model_s / march_s - 1.0), 1, plus=True)} %"
        cooling = f"{cooling_w / 1e3:.0f} kW" if cooling_w else "none"
        times = f"{march_s / 60.0:.1f} | {model_s / 60.0:.1f}"
        lines.append(f"| `{plant}` | `{trip}` | {cooling} | {times} | {off} |")
    return lines


def fresh(_: str = "") -> str:
    """The page's text."""
    return HEAD + table().as_text() + "\n" + MIDDLE + "\n".join(_compared()) + "\n" + TAIL


def picture() -> str:
    """The page's picture."""
    from heatwright.draw.prices import price_picture
    from heatwright.draw.svg import standalone

    return standalone(price_picture(table()))


if __name__ == "__main__":
    if "--check" not in sys.argv:
        PICTURE.write_text(picture(), encoding="utf-8")
    sys.exit(write_page(PAGE, fresh, __doc__))
