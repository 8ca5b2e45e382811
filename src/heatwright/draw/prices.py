"""Heat prices of a pack over its temperature: one line for each time until the charge."""

from __future__ import annotations

import numpy as np

from heatwright.dispatch.price_table import T_SHOWN_C, PriceTable
from heatwright.draw.curves import curves


def price_picture(table: PriceTable, k: int = 0) -> str:
    """SVG of the price of heat in the pack for charge `k` of the trip, or of the standing price where it has none."""
    which = k if k < len(table.prices.charges) else -1
    t_c = np.arange(T_SHOWN_C[0], T_SHOWN_C[1] + 0.5, 0.5)
    lines = table.lines(which, t_c)
    title = f"{table.plant}, {table.trip}: electricity that heat put into the pack is worth"
    return curves(
        t_c.tolist(), lines, title=title, unit="J/J", x_title="pack temperature, °C", height=320.0, dots=False
    )
