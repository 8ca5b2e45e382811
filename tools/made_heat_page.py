"""Write docs/guide/heat-without-a-heater.md and its picture afresh, or with --check say whether it agrees."""

from __future__ import annotations

import sys
from functools import cache

from heatwright.plant.load import load_plant
from heatwright.study.made_heat import MadeHeat, made_heat
from heatwright.study.point import Asked
from tools.sources import ROOT
from tools.written import write_page

PAGE = ROOT / "docs" / "guide" / "heat-without-a-heater.md"
PICTURE = ROOT / "docs" / "img" / "made-heat.svg"
PLANT = ROOT / "examples" / "heat_without_a_heater" / "ring.plant.toml"
NAMES = {"throttle+shut": "evaporator in the ring", "shut+throttle": "hot gas round the evaporator"}
HEAD = """# Heat without a heater

When every source is colder than what needs its heat, electricity has to make it. A heater is one way. A compressor and
a blower are another: close a loop round both sides of the refrigerant circuit, so that the evaporator takes from it
what the condenser gave, and what is left over is the work of both. Nothing is lifted, so the coefficient of
performance stays just under one: inverter, part of the motor's loss and the shell's leave the loop.

`heatwright made-heat` asks a plant how much it can make. The car has stood in the cold, every actuator is held, and the
loop warms itself:

```
heatwright made-heat examples/heat_without_a_heater/ring.plant.toml --hold inner:round=100% --hold inner:out=0%
```

![Heat over the temperature of the loop](../img/made-heat.svg)

Cold refrigerant is thin: near the soak temperature the suction pressure meets its least value and the compressor can
take hardly any power, so that the blower's own heat starts the loop. It takes more as the loop warms, until power,
discharge pressure or discharge temperature bind. The table names what bound.

"""
TAIL = """
- *Made badly on purpose.* A blower with a `deliberate_loss` has an actuator `NAME.loss`: its motor draws that much more
  and warms the air with it. It fades out where the air at the motor has 60 to 80 °C.
- *Opened by degrees.* The example's own table lets the ring's air out to the cabin as it warms
  (`inner = { from = "round", to = "out", by = "cabin_condenser.air", over = "30 degC to 50 degC" }`).
- *Balance.* Heat to the loop, heat beside it (shell, standby) and heat stored add up to the electricity; the energy
  ledger of the run says so to its last digits.

The page is written by `make docs` from a run. Loop temperature is the mean of what leaves the exchangers on their air
side. Sizes of the example are invented.
"""


def fresh(_: str = "") -> str:
    """The page's text."""
    from heatwright.study.table import number

    curves = found().curves
    lines = ["| loop, °C | " + " | ".join(f"{NAMES[one.setting]}, W | limit" for one in curves) + " |"]
    lines.append("| ---: |" + " ---: | --- |" * len(curves))
    places = [{round(t - 273.15): k for k, t in enumerate(one.t_loop_k)} for one in curves]
    for mark in sorted({t for at in places for t in at})[::3]:
        row = [number(mark, 0)]
        for one, at in zip(curves, places, strict=True):
            k = at.get(mark)
            row += ["", ""] if k is None else [number(one.heat_w[k], 0), (one.limit[k] or "").partition(":")[0]]
        lines.append("| " + " | ".join(row) + " |")
    for one in curves:
        end = "not within 90 minutes" if one.reached_s is None else f"after {number(one.reached_s / 60.0, 0)} minutes"
        share = number(100.0 * one.share, 1)
        lines += ["", f"*{NAMES[one.setting]}*: 30 °C {end}; {share} % of the electricity went into the loop."]
    return HEAD + "\n".join(lines) + "\n" + TAIL


@cache
def found() -> MadeHeat:
    """The example's curves."""
    asked = Asked(243.15, 243.15, fresh=0.0, held={"inner:round": 1.0, "inner:out": 0.0})
    return made_heat(load_plant(PLANT), asked)


def picture() -> str:
    """The page's picture."""
    from heatwright.draw.made_heat import made_heat_picture
    from heatwright.draw.svg import standalone

    return standalone(made_heat_picture(found(), NAMES))


if __name__ == "__main__":
    if "--check" not in sys.argv:
        PICTURE.write_text(picture(), encoding="utf-8")
    sys.exit(write_page(PAGE, fresh, __doc__))
