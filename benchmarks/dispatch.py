"""The dispatch: microseconds a decision, a day and a year of commutes under it."""

from __future__ import annotations

import json
import math
import statistics
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from benchmarks.process import run
from benchmarks.readings import Reading
from heatwright.compiler.build import compile_program
from heatwright.dispatch.days import Draw, Sky
from heatwright.dispatch.march import Dispatched, run_dispatch
from heatwright.modes.atlas import build_atlas
from heatwright.modes.model import Atlas
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.trip.load import build_case, load_trip, parse_trip
from heatwright.trip.model import Trip

PLANTS = ("plain", "reversing", "secondary", "joined", "router")
TRIPS = ("winter_day", "summer_charge_day", "rain_day")
FEW = 20
TARGET_FEW_US, TARGET_MANY_US = 200.0, 400.0
TARGET_DAY_S, TARGET_YEAR_S = 0.5, 60.0
YEAR_PLANT, DAYS = "reversing", 365
YEAR_SCRIPT = "import sys; from benchmarks.dispatch import year; year(sys.argv[1], int(sys.argv[2]))"
DAY_MIN, STEP_MIN = 24 * 60, 60
LEG_MIN, STAY_MIN = 25, 9 * 60
LEAVES_H = 7.5


@dataclass(frozen=True, eq=False)
class Car:
    """A plant with its atlas, and programs of trips at hand."""

    plant: Plant
    atlas: Atlas

    def driven(self, case: Any) -> tuple[Dispatched, float]:
        """Return a run under dispatch, and its seconds of processor time, Program and Case given."""
        program = compile_program(self.plant, case)
        begun = time.process_time()
        found = run_dispatch(self.plant, program, case, self.atlas)
        return found, time.process_time() - begun


def car(name: str) -> Car:
    """Return a shipped plant ready to be driven."""
    plant = load_plant(name)
    return Car(plant, build_atlas(plant))


def decisions(repeats: int) -> list[Reading]:
    """Return microseconds a decision over three shipped trips, the mean of all decisions, asleep ones too."""
    out = []
    for name in PLANTS:
        one = car(name)
        cases = [build_case(load_trip(trip)) for trip in TRIPS]
        means = []
        for _ in range(repeats + 1):
            found = [one.driven(case)[0] for case in cases]
            means.append(1e6 * sum(k.deciding_s for k in found) / sum(k.decisions for k in found))
        many, looks = sum(k.decisions for k in found), sum(k.looks for k in found)
        candidates = len(found[0].candidates)
        target = TARGET_FEW_US if candidates <= FEW else TARGET_MANY_US
        note = f"{looks / many:.1f} looks a decision, {sum(k.unsettled for k in found) / many:.2f} of them unsettled"
        best, median = min(means[1:]), statistics.median(means[1:])
        title = f"a decision: {name}, {candidates} candidates"
        out.append(Reading(title, best, "us", target, "most", repeats, median, note))
    return out


def days(repeats: int) -> list[Reading]:
    """Return seconds of a day under dispatch: 50 min driving, 8 h parked, 50 min driving, at -5 degC."""
    trip = parse_trip(_text("a day", 20.0, -5.0, 2.0, ((50, 8 * 60), (50, 0))), Path("day.trip.toml"), "a day")
    case = build_case(trip)
    out = []
    for name in PLANTS:
        one = car(name)
        found = [one.driven(case) for _ in range(repeats + 1)][1:]
        best, median = min(s for _, s in found), statistics.median(s for _, s in found)
        last = found[-1][0]
        note = f"{last.decisions} decisions in {last.deciding_s:.2f} s of it"
        title = f"a day of 100 min driving, 8 h parked: {name}"
        out.append(Reading(title, best, "s", TARGET_DAY_S, "most", repeats, median, note))
    return out


def a_year(say: Any) -> list[Reading]:
    """Return seconds of a year of commutes in a process of its own: of the marches, and of all of it."""
    say(f"a year of commutes, {YEAR_PLANT}")
    _, text = run([sys.executable, "-c", YEAR_SCRIPT, YEAR_PLANT, str(DAYS)])
    told = json.loads(text)
    note = f"{told['decisions']} decisions in {told['deciding_s']:.1f} s of it; {told['energy_kwh']:.0f} kWh"
    name = f"a year of {DAYS} commutes, {YEAR_PLANT}"
    return [
        Reading(f"{name}: marches with dispatch", told["marched_s"], "s", TARGET_YEAR_S, note=note),
        Reading(f"{name}: cases and programs too", told["whole_s"], "s", note="processor time of one core"),
    ]


def year(plant: str, count: int) -> None:
    """Drive a plant through so many days of a year and print what it took, as JSON."""
    one = car(plant)
    one.driven(build_case(commute(0)))
    told = {"marched_s": 0.0, "deciding_s": 0.0, "decisions": 0, "energy_kwh": 0.0}
    begun = time.process_time()
    for k in range(count):
        found, seconds = one.driven(build_case(commute(k)))
        told["marched_s"] += seconds
        told["deciding_s"] += found.deciding_s
        told["decisions"] += found.decisions
        told["energy_kwh"] += sum(found.run.energy_kwh.values())
    print(json.dumps(told | {"whole_s": time.process_time() - begun}))


def commute(day: int) -> Trip:
    """Return day `day` of a year: 24 h from half past seven, two drives of 25 min, nine hours parked between them.

    Its air runs with the season between about -3 and 21 degC on the mean, off by up to 7 K as drawn from the day's
    number; sun and humidity follow. Every day begins with the car at the temperature of its air.
    """
    draw = Draw(day)
    season = math.cos(2.0 * math.pi * (day - 15) / 365.0)
    mean_c = 9.0 - 12.0 * season + draw.between(-7.0, 7.0)
    sun_deg = 40.0 - 23.0 * season
    text = _text(f"day {day}", sun_deg, mean_c, draw.between(2.0, 6.0), ((LEG_MIN, STAY_MIN), (LEG_MIN, DAY_MIN)))
    return parse_trip(text, Path(f"commute_{day}.trip.toml"), f"commute {day}")


def _text(name: str, sun_deg: float, mean_c: float, swing_c: float, legs: tuple[tuple[int, int], ...]) -> str:
    """Return a trip of drives and stays [min]; a last stay of DAY_MIN fills the day."""
    sky = Sky(mean_c, swing_c, 75.0, 0.5, sun_deg, 5.5)
    lines = ['format = "heatwright trip 1"', f'name = "{name}"', 'set_point = "21 degC"', "[start]"]
    lines += ['charge = "80 %"', 'time = "07:30"', "[weather]", 'cloud = "50 %"', 'table = """']
    lines += ["t [min], temperature [degC], humidity [%]"]
    hours = [(minute, LEAVES_H + minute / 60.0) for minute in range(0, DAY_MIN + 2 * STEP_MIN, STEP_MIN)]
    lines += [f"{t}, {sky.air_c(h % 24.0):.2f}, {sky.humidity_percent(h % 24.0):.1f}" for t, h in hours]
    lines += ['"""', "[sun]", 'table = """', "t [min], direct [W/m2], diffuse [W/m2], elevation [deg], azimuth [deg]"]
    for t, h in hours:
        direct, diffuse, height, azimuth = sky.sun(h % 24.0)
        lines.append(f"{t}, {direct:.0f}, {diffuse:.0f}, {height:.2f}, {azimuth:.1f}")
    lines.append('"""')
    left = DAY_MIN
    for k, (drive, stay) in enumerate(legs):
        lines.append(_segment("drive", f"town {k}", 0.4 * drive, "40 km/h"))
        lines.append(_segment("drive", f"road {k}", 0.6 * drive, "80 km/h"))
        stays = min(stay, left - drive)
        if stays:
            lines.append(_segment("park", f"stay {k}", stays))
        left -= drive + stays
    return "\n".join(lines) + "\n"


def _segment(kind: str, name: str, minutes: float, speed: str = "") -> str:
    more = f'speed = "{speed}"\noccupants = 1\n' if speed else ""
    return f'[[segment]]\nkind = "{kind}"\nname = "{name}"\nduration = "{minutes:.0f} min"\n{more}'
