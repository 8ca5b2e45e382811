"""Draw the pictures of the guide that no page of numbers draws: parts beside energy, and a cold start."""

from __future__ import annotations

from heatwright.draw.parts import parts_picture
from heatwright.draw.start import start_picture
from heatwright.draw.svg import standalone
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant
from heatwright.study.parts import parts
from heatwright.study.start import cold_start
from heatwright.trip.load import load_trip
from tools.sources import ROOT

FOLDER = ROOT / "docs" / "img"
SOAK_K, SECONDS = 243.15, 600.0


def main() -> None:
    """Write both pictures."""
    found = parts([load_plant(one.name) for one in list_shipped()], load_trip("winter_day"))
    (FOLDER / "parts.svg").write_text(standalone(parts_picture(found)), encoding="utf-8")
    start = cold_start(load_plant("reversing"), SOAK_K, duration_s=SECONDS)
    title = f"{start.plant} after a soak at {SOAK_K - 273.15:.0f} °C".replace("-", "−")
    picture = standalone(start_picture(start.t_s, start.series, title))
    (FOLDER / "cold-start.svg").write_text(picture, encoding="utf-8")
    print("docs/img/parts.svg docs/img/cold-start.svg")


if __name__ == "__main__":
    main()
