"""A start of the circuit as a picture: pressures above, power and heat below, over the same time."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from heatwright.draw.svg import stacked
from heatwright.draw.traces import Trace, line_chart

GAP = 10.0


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
    note = "Two charts over time since the start: pressures in bar; heat and electric power in kW"
    return stacked(charts, GAP, title, note)
