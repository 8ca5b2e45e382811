"""Laws of the control table in a run: what one rule has made up for in the long run is not another rule's."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from heatwright.compiler.build import compile_program
from heatwright.plant.load import load_plant
from heatwright.simulate import simulate
from tests.balance.marches import written

PLANT = """
format  = "heatwright plant 1"
name    = "Two laws for one heater"
extends = "plain.plant.toml"

[control.latch]
early = { yes = "cabin.air < 8 degC", no = "cabin.air > 10 degC" }

[control.rule]
demist = { when = "wanted, early" }
air    = { when = "wanted" }
heat   = { when = "wanted" }       # never reached; `demist` is like it
rest   = { }

[control.act]
dry     = false
cool    = false
cool_2  = false
preheat = false

[control.act.demist]              # falls short on purpose, so that its integral grows
like      = "heat"
heater    = { raises = "cabin.air", until = "30 degC", from = "0 W", to = "5.5 kW", band = "60 K", settle = "60 s" }

[control.act.air]                 # nothing is missing here: the cabin is warmer than that
core_pump = "70 %"
heater    = { raises = "cabin.air", until = "0 degC", from = "0 W", to = "5.5 kW", band = "30 K" }
"""


def test_a_law_without_settle_keeps_nothing_of_the_one_before(tmp_path: Path) -> None:
    """The heater is asked for at once when the rule changes, and for nothing, as its law says."""
    file = tmp_path / "two_laws.plant.toml"
    file.write_text(PLANT, encoding="utf-8")
    case = written(
        'temperature = "-5 degC"\nhumidity = "70 %"',
        '[[segment]]\nkind = "drive"\nname = "drive"\nspeed = "50 km/h"\nduration = "20 min"\n',
        'set_point = "21 degC"\n[start]\ncharge = "60 %"',
    )
    run = simulate(compile_program(load_plant(file), case), case)
    early = run.series["mode"] == run.mode_names.index("demist")
    late = np.flatnonzero(run.series["mode"] == run.mode_names.index("air"))
    assert run.series["p_heater_w"][early].max() > 3000.0
    assert late.size > 30
    first = late[0]
    assert run.series["t_cabin_air_k"][first] > 273.15 + 8.0
    assert run.series["p_heater_w"][first + 15 : first + 30].max() < 1.0
