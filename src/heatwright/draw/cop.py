"""Capacity and COP of a circuit over the air outside: one curve a quantity, from steady points."""

from __future__ import annotations

from collections.abc import Sequence

from heatwright.draw.curves import curves
from heatwright.draw.quantities import signed
from heatwright.draw.svg import stacked
from heatwright.study.point import Point

GAP = 8.0
NAN = float("nan")


def cop_picture(points: Sequence[Point]) -> str:
    """SVG of heat, electric power [kW] and COP of the points.

    Lines break where the setting of the valves changes, and where nothing runs.
    """
    t_c = [one.asked.t_ambient_k - 273.15 for one in points]
    runs = [one.runs for one in points]
    heat = [
        ("gives", [one.q_hot_w / 1e3 if on else NAN for one, on in zip(points, runs, strict=True)]),
        ("takes up", [one.q_cold_w / 1e3 if on else NAN for one, on in zip(points, runs, strict=True)]),
        ("compressor, electric", [one.p_electric_w / 1e3 if on else NAN for one, on in zip(points, runs, strict=True)]),
    ]
    ratio = [
        ("COP of heating", [NAN if one.cop_heating is None else one.cop_heating for one in points]),
        ("COP of cooling", [NAN if one.cop_cooling is None else one.cop_cooling for one in points]),
    ]
    title = f"{points[0].plant}, {points[0].refrigerant}"
    if not any(runs):
        heat, ratio = (
            [(name, [0.0] * len(points)) for name, _ in heat],
            [(name, [0.0] * len(points)) for name, _ in ratio],
        )
        title += ": the compressor runs at none of these points"
    x_title = f"air outside, °C; cabin at 20 °C, compressor at half of its most speed; setting {_settings(points)}"
    anew = [t_c[k] for k in range(1, len(points)) if points[k].setting != points[k - 1].setting or not runs[k - 1]]
    charts = [
        curves(t_c, heat, title=f"{title}: heat and power", unit="kW", x_title=x_title, anew=anew),
        curves(t_c, ratio, title="heat over electric power", unit="–", x_title=x_title, anew=anew),
    ]
    note = f"Two charts over the air outside from {t_c[0]:.0f} to {t_c[-1]:.0f} °C: heat and power in kW; COP"
    return stacked(charts, GAP, title, note)


def _settings(points: Sequence[Point]) -> str:
    """The valves' settings along the axis, each with the first temperature it holds at."""
    firsts = [one for k, one in enumerate(points) if k == 0 or one.setting != points[k - 1].setting]
    return ", ".join(
        f"{one.setting} from {signed(one.asked.t_ambient_k - 273.15, 0)} °C" if len(firsts) > 1 else one.setting
        for one in firsts
    )
