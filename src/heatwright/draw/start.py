"""A start of the circuit as a picture: pressures above, power and heat below, over the same time."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from heatwright.draw.svg import element, picture
from heatwright.draw.traces import Trace, line_chart

WIDTH, HEIGHT, GAP = 960.0, 274.0, 10.0


def start_picture(t_s: np.ndarray, series: Mapping[str, np.ndarray], title: str) -> str:
    """SVG of suction and discharge pressure, electric power and heat given over the time since the start."""
    pressures = [
        Trace("discharge", np.asarray(series["p_discharge_pa"]) / 1e5),
        Trace("suction", np.asarray(series["p_suction_pa"]) / 1e5),
    ]
    powers = [
        Trace("heat from the hot side", np.asarray(series["q_hot_w"]) / 1e3),
        Trace("compressor, electric", np.asarray(series["p_compressor_w"]) / 1e3),
    ]
    charts = [
        line_chart(t_s, pressures, title=f"{title}: pressures", unit="bar", zero=True),
        line_chart(t_s, powers, title="power and heat", unit="kW", zero=True),
    ]
    inside = [chart[chart.index(">") + 1 : chart.rindex("</svg>")] for chart in charts]
    body = "".join(element("g", one, transform=f"translate(0 {k * (HEIGHT + GAP):g})") for k, one in enumerate(inside))
    note = "Two charts over time since the start: pressures in bar; heat and electric power in kW"
    return picture(WIDTH, 2.0 * HEIGHT + GAP, body, title, note)
