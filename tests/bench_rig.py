"""A small study for tests of the workbench: one short saved run and a plant file of its own.

`BREAKING` is a worker whose march breaks half way where the pack's heat capacity was changed, as a march does whose
plant is outside what the models can bear; `break_marches` has a queue start it.
"""

import sys
from pathlib import Path

TRIP = """format = "heatwright trip 1"
name = "Two minutes"
set_point = "21 degC"
[start]
charge = "80 %"
[weather]
temperature = "-7 degC"
[[segment]]
kind = "drive"
name = "a short way"
duration = "2 min"
speed = "50 km/h"
"""
PLANT = """format = "heatwright plant 1"
extends = "plain.plant.toml"
name = "Mine"
"""

TWO_LEGS = (
    TRIP.replace("Two minutes", "Two legs")
    + """[[segment]]
kind = "drive"
name = "and on"
duration = "1 min"
speed = "30 km/h"
"""
)
BREAKING = """
import sys

from heatwright.workbench import worker

whole = worker.march

def march(job):
    if "pack.heat_capacity" in job["changes"]:
        from heatwright.kernel import march as kernel

        steps, done = kernel.march, []

        def broken(*arguments):
            steps(*arguments)
            done.append(arguments)
            if len(done) == 2:
                arguments[-1][-1, :] = float("nan")

        kernel.march = broken
    whole(job)

worker.march = march
sys.exit(worker.main())
"""


def break_marches(place: Path) -> None:
    """Have every queue of this process start workers whose march loses its temperatures in the second leg."""
    from heatwright.workbench import queue

    (place / "breaking.py").write_text(BREAKING)
    queue.COMMAND = (sys.executable, str(place / "breaking.py"))


def make_study(folder: Path) -> Path:
    """Write a plant, a trip and the run of both into a folder."""
    from heatwright.plant.load import load_plant
    from heatwright.report import save_run
    from heatwright.study.one_run import one_run
    from heatwright.trip.load import load_trip

    (folder / "mine.plant.toml").write_text(PLANT)
    (folder / "short.trip.toml").write_text(TRIP)
    run = one_run(load_plant(folder / "mine.plant.toml"), load_trip(folder / "short.trip.toml"))
    save_run(run, folder / "mine")
    return folder
