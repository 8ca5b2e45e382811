"""A small study for tests of the workbench: one short saved run and a plant file of its own."""

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
