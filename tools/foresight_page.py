"""Write docs/guide/foresight.md and its picture afresh, or with --check say whether it agrees."""

from __future__ import annotations

import sys
from functools import cache

from heatwright.plant.load import load_plant
from heatwright.study.foresee import EVALUATIONS, Foresight, foresee
from heatwright.study.worth import worth
from heatwright.trip.load import load_trip
from tools.sources import ROOT
from tools.written import write_page

PAGE = ROOT / "docs" / "guide" / "foresight.md"
PICTURE = ROOT / "docs" / "img" / "foresight.svg"
PLANT, CHARGE, DAY = "secondary", "charge_cold", "winter_day"
HEAD = """# What foresight is worth, and what a part is

Dispatch looks two minutes ahead; all it knows of the rest of the day stands in the
[price of heat in the pack](heat-prices.md). Two verbs ask what that is worth and what the plant's parts are, each by
driving the same trips again. Their score is that of [drawn days](command-line.md#days-drawn-by-number).

## Better prices, wrong forecasts

```sh
heatwright foresee {plant} {charge} --out paths.svg
```

`foresee` drives the trip under the derived prices, then under others: one constant price, a path with a knot at the
start and at the begin and end of the first fast charge (without one: at start, middle and end), and the derived prices
with another standing price. Each form is searched by steps that are halved where nothing is better, {n} marches in
all (`--evaluations`). That is the *best found*, on this trip and by these forms: not proven best, and no rule for
other trips.

```text
{first}
```

![Price of heat in the pack over the trip](../img/foresight.svg)

A wrong forecast changes only what the prices are made of; weather, road and plant stay as they are.

- *Believed later or earlier*: until the plug is in, the charge is expected at another time. From the time that it was
  expected earlier, it is taken to come at any moment.
- *Not forecast*: the standing price holds until the plug is in.
- *Air believed colder or warmer*: the charge is worked out in that air; the pack is as warm as it is.
- *Cancelled*: the trip ends where the charge would have begun, with and without the forecast; heat left in the pack
  counts for nothing, so this is the most that it can cost.

The charge lasts until the slowest of these has its charge; each one's wait ends with its own. Searched prices under
which the charge is not there by then, or that bring a veto, are not counted. A trip without a fast
charge has no forecast to be wrong:

```text
{second}
```

## The dynamic programme beside it

Unless `--no-reference` is given, `foresee` also reduces the plant to three stores of heat (pack, drive unit, cabin
interior) and steps of a minute, everything else at rest within a step, and works out the least cost to go backwards
from the end of the trip. Then it marches that model forwards and prints the score beside that of the dispatch on the
same model, under four forms of prices: *derived*, as on the plant; *constant*, the best found of prices of all three
stores by a search of at most 48 marches; *path*, the programme's own along its march, over time alone; *local*, its own
wherever the march is. Beside each stands the same with *the score itself* choosing every step, heat valued at those
prices: what is left above the programme there is the prices', the rest is the dispatch's own terms (how near the
set-point it holds the air, its fixed needs, how far it turns its knobs). With `--json`, `reduced` holds `forms` (each
with `dispatch_kwh`, `gap_percent`, `same_terms_kwh`, `same_terms_gap_percent`, `levels`, `marches`) and `dp_prices`,
what a joule in each store saves. Grids and levels are coarse: a march may lie a little below the programme's. A fast
charge is stepped in charge, not in time: it ends when it is there, and each march waits as long as it needs. Where the
trip wants the cabin made ready, that counts as people aboard. Humidity, frost and the cost of a switch are left out on
both sides; soft limits of dispatch count on both. It is the best found on a reduced model, not a proven optimum of the
plant. It takes about a minute on a plant with many candidates (`--grid` sets how fine it is), and is left out above. A
trip that charges through the car's own charger is refused.

## Without this part

```sh
heatwright worth {plant} {day} {charge}
```

`worth` bars every candidate that uses a part (a heater, heat on purpose in a drive unit, a compressor, an exchanger)
and drives each trip again. A valve is held in the position it was needed in longest; where it has three or more, each
is also left out alone, with all candidates that need it. `--modes` also leaves out, one by one, the modes that were
used; `--days 8 --seed 1` adds drawn days. Parts with the same figures are used by the same candidates. With `--json`:
`rows`, each with `part`, `left_out`, `candidates`, `mean_percent`, `min_percent`, `max_percent`, `days` and `vetoes`.

```text
{third}
```

Nothing is taken off the car and its dispatch is not tuned anew. Below zero, the dispatch did better without: it looks
only a little ahead. In the cold, a car without heat fogs and ices its glass, and a pack outside its limits is
dangerous: see the [cautions](../start/cautions.md). These are engineering estimates of invented cars.
"""


@cache
def foreseen(trip: str) -> Foresight:
    """The findings shown."""
    return foresee(load_plant(PLANT), load_trip(trip), grid=None)


def fresh(_: str = "") -> str:
    """The page's text."""
    third = worth(load_plant(PLANT), [load_trip(DAY), load_trip(CHARGE)]).as_text()
    first, second = (foreseen(trip).as_text() for trip in (CHARGE, DAY))
    return HEAD.format(
        plant=PLANT, charge=CHARGE, day=DAY, n=EVALUATIONS, first=first, second=second, third=third
    )  # fmt: skip


def picture() -> str:
    """The page's picture."""
    from heatwright.draw.foresight import path_picture
    from heatwright.draw.svg import standalone

    return standalone(path_picture(foreseen(CHARGE)))


if __name__ == "__main__":
    if "--check" not in sys.argv:
        PICTURE.write_text(picture(), encoding="utf-8")
    sys.exit(write_page(PAGE, fresh, __doc__))
