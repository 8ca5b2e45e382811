"""A trip as a film: the bodies and the heat between them, above a chart in which an upright line walks along."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from heatwright.draw.axes import LegSpan, TimeAxis
from heatwright.draw.bodies import bodies_picture
from heatwright.draw.frame import LEFT, RIGHT
from heatwright.draw.palette import ink
from heatwright.draw.svg import num, stacked
from heatwright.draw.traces import Trace, line_chart
from heatwright.study.frames import Moment

LASTS_S = 20.0
FRAMES = 100
CHART = 92.0


def instants(t_s: np.ndarray, legs: Sequence[LegSpan], count: int = FRAMES) -> list[float]:
    """Times at which a film looks at a run [s]: even steps along the drawn axis, so long stops pass sooner."""
    axis = TimeAxis.over(t_s, legs, LEFT, RIGHT)
    at = np.linspace(LEFT, RIGHT, count + 1)[:-1] + (RIGHT - LEFT) / count / 2
    return [float(v) for v in np.interp(at, axis.knots_px, axis.knots_s)]


def film(
    moments: Sequence[Moment], t_s: np.ndarray, traces: Sequence[Trace], legs: Sequence[LegSpan], *, title: str
) -> str:
    """SVG that plays a trip in some 20 s, over and over; `moments` must stand at the times of `instants`."""
    chart = line_chart(t_s, traces, title="Temperatures", unit="°C", legs=legs, height=CHART)
    walk = f"@keyframes hw-walk{{to{{transform:translateX({num(RIGHT - LEFT)}px)}}}}"
    calm = "@media print,(prefers-reduced-motion:reduce){.hw-walk{animation:none!important}}"
    style = f"stroke:{ink('accent')};stroke-width:1.6px;animation:hw-walk {num(LASTS_S)}s linear infinite"
    line = f'<path class="hw-walk" d="M{num(LEFT)} 24V{num(24 + 22 + CHART)}" style="{style}"/>'
    end = chart.rindex("</svg>")
    chart = f"{chart[:end]}<style>{walk}{calm}</style>{line}</svg>"
    note = f"An animation over {LASTS_S:g} s of the whole trip: bodies, temperatures and the heat between them"
    return stacked([bodies_picture(moments, title=title, lasts_s=LASTS_S), chart], 6.0, title, note)
