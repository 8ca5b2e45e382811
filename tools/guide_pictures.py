"""Draw the pictures that no page of numbers draws: the demo's day, parts beside energy, and a cold start."""

from __future__ import annotations

from heatwright.compiler.build import compile_program
from heatwright.draw.parts import parts_picture
from heatwright.draw.start import start_picture
from heatwright.draw.strip import mode_strip
from heatwright.draw.svg import stacked, standalone
from heatwright.draw.traces import line_chart
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant
from heatwright.report.pick import bodies, trace_of
from heatwright.simulate import simulate
from heatwright.study.parts import parts
from heatwright.study.start import cold_start
from heatwright.study.stops import settled_case
from heatwright.trip.load import load_trip
from tools.sources import ROOT

FOLDER = ROOT / "docs" / "img"
PLANT = "reversing"
SOAK_K, SECONDS = 243.15, 600.0


def demo_picture() -> str:
    """Temperatures and rules of one of the demo's plants on its day, as the report of its run shows them."""
    car, trip = load_plant(PLANT), load_trip("winter_day")
    case = settled_case([car], trip)
    run = simulate(compile_program(car, case), case)
    traces = [trace_of(run, key, f"{name}, hottest" if "hottest" in key else name) for name, key in bodies(run)]
    title = f"{run.plant_name}: {run.trip_name}"
    top = line_chart(run.t_s, traces, title=title, unit="°C", legs=run.segments, height=250)
    rules = mode_strip(run.t_s, run.series["mode"], run.mode_names, legs=run.segments)
    return stacked([top, rules], 10.0, title, "Temperatures of a whole day, and which rule was in force")


def main() -> None:
    """Write the pictures."""
    found = parts([load_plant(one.name) for one in list_shipped()], load_trip("winter_day"))
    (FOLDER / "parts.svg").write_text(standalone(parts_picture(found)), encoding="utf-8")
    start = cold_start(load_plant(PLANT), SOAK_K, duration_s=SECONDS)
    title = f"{start.plant} after a soak at {SOAK_K - 273.15:.0f} °C".replace("-", "−")
    picture = standalone(start_picture(start.t_s, start.series, title))
    (FOLDER / "cold-start.svg").write_text(picture, encoding="utf-8")
    (FOLDER / "demo.svg").write_text(standalone(demo_picture()), encoding="utf-8")
    print("docs/img/demo.svg docs/img/parts.svg docs/img/cold-start.svg")


if __name__ == "__main__":
    main()
