"""Laws of the control table in a run: what one rule has made up for in the long run is not another rule's."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

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
cool_wet = false
cool_hot = false
fresh   = false
dry     = false
cool    = false
cool_2  = false
preheat = false

[control.act.demist]              # falls short on purpose, so that its integral grows
like      = "heat"
blower    = "50 %"                # gentle enough that the rule does not come back within half a minute
heater    = { raises = "cabin.air", until = "30 degC", from = "0 W", to = "5.5 kW", band = "60 K", settle = "60 s" }

[control.act.air]                 # nothing is missing here: the cabin is warmer than that
core_pump = "70 %"
heater    = { raises = "cabin.air", until = "0 degC", from = "0 W", to = "5.5 kW", band = "30 K" }
"""


LEAST_TIMES = """
format  = "heatwright plant 1"
name    = "Cooled by turns"
extends = "plain.plant.toml"

[compressor.compressor]
least_on  = "0 s"
least_off = "LEAST_OFF"

[control]
dwell = "5 s"

[control.latch]
chilly = { yes = "cabin.air < 24 degC", no = "cabin.air > 25 degC" }

[control.rule]
air   = { when = "wanted, chilly" }
chill = { when = "wanted" }
rest  = { }

[control.act]
cool_wet = false
cool_hot = false
fresh   = false
dry     = false
cool    = false
cool_2  = false
preheat = false
demist  = false
heat    = false

[control.act.chill]
inlet      = "fresh"
blower     = "60 %"
outlets    = "face"
compressor = { LAW }
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


COLD_AIR = 'lowers = "evaporator.air", until = "5 degC", from = "900 rpm", to = "8000 rpm", band = "14 K"'
COLD_CABIN = 'lowers = "cabin.air", until = "28 degC", from = "900 rpm", to = "8000 rpm", band = "0.4 K"'


def runs_under(law: str, folder: Path, accuracy: str = "normal", least_off: str = "0 s") -> tuple[Any, Any, Any]:
    """Seconds at which `chill` begins and at which its compressor, held by `law`, starts and stops.

    The compressor's own clocks hold nothing back, but for `least_off`.
    """
    file = folder / "least_times.plant.toml"
    file.write_text(LEAST_TIMES.replace("LAW", law).replace("LEAST_OFF", least_off), encoding="utf-8")
    case = written(
        'temperature = "32 degC"\nhumidity = "40 %"',
        '[[segment]]\nkind = "drive"\nname = "drive"\nspeed = "50 km/h"\nduration = "20 min"\n',
        'set_point = "21 degC"\n[start]\ncharge = "60 %"',
    )
    run = simulate(compile_program(load_plant(file), case), case, accuracy=accuracy)
    runs = run.series["p_compressor_w"] > 100.0
    chills = run.series["mode"] == run.mode_names.index("chill")
    begins = np.flatnonzero(chills[1:] & ~chills[:-1]) + 1
    return begins, np.flatnonzero(runs[1:] & ~runs[:-1]) + 1, np.flatnonzero(~runs[1:] & runs[:-1]) + 1


@pytest.mark.parametrize("accuracy", ["normal", "high"])
@pytest.mark.parametrize("least", ['min_on = "60 s", min_off = "240 s"', 'min_off = "240 s"'])
def test_least_times_count_under_every_law(least: str, accuracy: str, tmp_path: Path) -> None:
    """A compressor that stood for long starts at once; stopped by a rule, it waits for what is left of `min_off`."""
    begins, starts, stops = runs_under(f"{COLD_AIR}, {least}", tmp_path, accuracy)
    assert starts[0] - begins[0] < 15
    pauses = starts[1:] - stops[: starts.size - 1]
    assert pauses.size >= 1
    assert np.all((pauses >= 240) & (pauses <= 243))  # from when it really stands


@pytest.mark.parametrize("least_off", ["0 s", "120 s"])
def test_a_compressor_runs_on_for_its_least_time(least_off: str, tmp_path: Path) -> None:
    """A hold that would let go stops no earlier than `min_on` after the start, though the start had to wait."""
    lasted = []
    for least in ("5 s", "100 s"):
        _, starts, stops = runs_under(f'{COLD_CABIN}, min_on = "{least}"', tmp_path, least_off=least_off)
        lasted.append((stops - starts[: stops.size])[1:])  # the first cools a hot cabin
    assert lasted[0].size > 3
    assert lasted[0].max() < 65
    assert lasted[1].size > 3
    assert np.all((lasted[1] >= 98) & (lasted[1] <= 102))  # seen from 100 W on


COLD_RAIN = """
[[segment]]
kind = "park"
duration = "2 min"
occupants = 2
conditioned = true
wet_clothes = "300 g"
wet_floor = "150 g"
[[segment]]
kind = "drive"
speed = "48 km/h"
duration = "25 min"
occupants = 2
"""


def test_cold_rain_neither_overheats_the_cabin_nor_fogs_the_glass_for_long() -> None:
    """Below the air at which the evaporator dries, `demist` of *plain* blows much air that is not too hot."""
    weather = 'temperature = "4 degC"\nhumidity = "96 %"\ncloud = "100 %"'
    case = written(weather, COLD_RAIN, 'set_point = "21 degC"\n[start]\ncharge = "70 %"')
    run = simulate(compile_program(load_plant("plain"), case), case)
    assert np.sum(run.series["mode"] == run.mode_names.index("demist")) > 300
    assert float(run.series["t_cabin_air_k"].max()) < 273.15 + 23.2
    assert run.comfort["fogged_s"] < 300.0
