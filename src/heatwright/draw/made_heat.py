"""Electricity and heat over the loop's temperature, one pair of lines a setting."""

from __future__ import annotations

import numpy as np

from heatwright.draw.curves import curves
from heatwright.study.made_heat import ZERO_K, MadeHeat


def made_heat_picture(found: MadeHeat, names: dict[str, str] | None = None) -> str:
    """SVG of heat to the loop over the loop's temperature; `names` gives settings other words."""
    x = sorted({round(t - ZERO_K, 3) for one in found.curves for t in one.t_loop_k})
    lines = []
    for one in found.curves:
        at = {round(t - ZERO_K, 3): heat / 1e3 for t, heat in zip(one.t_loop_k, one.heat_w, strict=True)}
        words = (names or {}).get(one.setting, one.setting)
        lines.append((f"{words}, {100.0 * one.share:.0f} % of the electricity", [at.get(t, np.nan) for t in x]))
    title = f"{found.plant}: heat made from electricity as the loop warms"
    return curves(x, lines, title=title, unit="kW", x_title="loop temperature, °C")
