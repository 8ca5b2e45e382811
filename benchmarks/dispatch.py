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
from heatwright.compiler.build import Lowered, lower_plant
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
YEAR_PLANTS, DAYS = ("plain", "reversing", "secondary", "router"), 365
YEAR_SCRIPT = "import sys; from benchmarks.dispatch import year; year(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))"
DAY_MIN, STEP_MIN = 24 * 60, 60
LEG_MIN, STAY_MIN = 25, 9 * 60
SHORT_MIN = 2 * LEG_MIN + STAY_MIN
"""A commute without the night at home behind it."""
LEAVES_H = 7.5


@dataclass(frozen=True, eq=False)
class Car:
    """A plant with its atlas, lowered once for every trip."""

    plant: Plant
    atlas: Atlas
    lowered: Lowered

    def driven(self, case: Any) -> tuple[Dispatched, float]:
        """Return a run under dispatch, and its seconds of processor time, Program and Case given."""
        program = self.lowered.on(case)
        begun = time.process_time()
        found = run_dispatch(self.plant, program, case, self.atlas)
        return found, time.process_time() - begun


def car(name: str) -> Car:
    """Return a shipped plant ready to be driven."""
    plant = load_plant(name)
    return Car(plant, build_atlas(plant), lower_plant(plant))


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


def a_year(say: Any, plants: tuple[str, ...] = YEAR_PLANTS) -> list[Reading]:
    """Return seconds of a year of commutes, a process for each plant: of the marches, and of all of it."""
    out = []
    for plant in plants:
        for length_min, words in ((DAY_MIN, "24 h"), (SHORT_MIN, f"{SHORT_MIN / 60.0:.1f} h")):
            say(f"a year of commutes of {words}, {plant}")
            _, text = run([sys.executable, "-c", YEAR_SCRIPT, plant, str(DAYS), str(length_min)])
            out += _told(plant, words, json.loads(text))
    return out


def _told(plant: str, words: str, told: dict[str, float]) -> list[Reading]:
    """Return the readings of one year: marches with their Runs, and everything with its split."""
    apart = ", ".join(f"{key[:-2]} {told[key]:.1f}" for key in ("trips_s", "cases_s", "programs_s", "runs_s"))
    note = f"{told['decisions']} decisions in {told['deciding_s']:.1f} s of it; {told['energy_kwh']:.0f} kWh"
    name = f"{DAYS} commutes of {words}, {plant}"
    return [
        Reading(f"{name}: marches", told["runs_s"], "s", TARGET_YEAR_S, note=note),
        Reading(f"{name}: all of it", told["whole_s"], "s", note=apart),
    ]


def year(plant: str, count: int, length_min: int = DAY_MIN) -> None:
    """Drive a plant through so many days of a year and print what it took, by its parts, as JSON."""
    one = car(plant)
    one.driven(build_case(commute(0, length_min)))
    names = ("trips_s", "cases_s", "programs_s", "runs_s", "deciding_s")
    told: dict[str, float] = dict.fromkeys((*names, "decisions", "energy_kwh"), 0)
    begun = time.process_time()
    for k in range(count):
        marks = [time.process_time()]
        trip = commute(k, length_min)
        marks.append(time.process_time())
        case = build_case(trip)
        marks.append(time.process_time())
        program = one.lowered.on(case)
        marks.append(time.process_time())
        found = run_dispatch(one.plant, program, case, one.atlas)
        marks.append(time.process_time())
        for name, seconds in zip(names, [*map(float.__sub__, marks[1:], marks), found.deciding_s], strict=True):
            told[name] += seconds
        told["decisions"] += found.decisions
        told["energy_kwh"] += sum(found.run.energy_kwh.values())
    print(json.dumps(told | {"whole_s": time.process_time() - begun}))


def commute(day: int, length_min: int = DAY_MIN) -> Trip:
    """Return day `day` of a year: 24 h from half past seven, two drives of 25 min, nine hours parked between them.

    length_min : SHORT_MIN leaves out the night at home. The air runs with the season between about -3 and 21 degC on
    the mean, off by up to 7 K as drawn from the day's number; sun and humidity follow. Every day begins with the car
    at the temperature of its air.
    """
    draw = Draw(day)
    season = math.cos(2.0 * math.pi * (day - 15) / 365.0)
    mean_c = 9.0 - 12.0 * season + draw.between(-7.0, 7.0)
    sun_deg = 40.0 - 23.0 * season
    legs = ((LEG_MIN, STAY_MIN), (LEG_MIN, DAY_MIN))
    text = _text(f"day {day}", sun_deg, mean_c, draw.between(2.0, 6.0), legs, length_min)
    return parse_trip(text, Path(f"commute_{day}.trip.toml"), f"commute {day}")


def _text(
    name: str, sun_deg: float, mean_c: float, swing_c: float, legs: tuple[tuple[int, int], ...], left: int = DAY_MIN
) -> str:
    """Return a trip of drives and stays [min]; a last stay of DAY_MIN fills what is left of the day."""
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
