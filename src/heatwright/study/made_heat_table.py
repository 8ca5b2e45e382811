"""Heat made from electricity as a table for a terminal."""

from __future__ import annotations

from heatwright.study.made_heat import ZERO_K, Curve, MadeHeat
from heatwright.study.point_table import circuit_shown
from heatwright.study.table import aligned, number

J_PER_KWH = 3.6e6


def made_heat_as_text(found: MadeHeat) -> str:
    """Return every setting's curve and balance as text."""
    head = (
        f"{found.plant}: heat made from electricity, from {number(found.t_from_k - ZERO_K, 0)} °C, compressor asked "
        f"for\n{number(60.0 * found.speed_hz, 0)} rpm, every actuator held"
    )
    if found.others_hz:
        head += f"\n{circuit_shown(found.compressor, found.others_hz)}"
        head += "; the balance alone counts it" if any(found.others_hz.values()) else ""
    return "\n\n".join([head, *(_curve(one, found.t_to_k) for one in found.curves)])


def _curve(one: Curve, t_to_k: float) -> str:
    reached = "not reached in time" if one.reached_s is None else f"reached after {number(one.reached_s / 60.0, 1)} min"
    lines = [f"setting {one.setting}: {number(t_to_k - ZERO_K, 0)} °C {reached}", ""]
    rows = [["loop, °C", "electricity, W", "heat to the loop, W", "limit"]]
    for t_k, power, heat, limit in zip(one.t_loop_k, one.electricity_w, one.heat_w, one.limit, strict=True):
        rows.append([number(t_k - ZERO_K, 0), number(power, 0), number(heat, 0), (limit or "").partition(":")[0]])
    lines += aligned(rows, words=(3,))
    lines += [
        "",
        f"electricity {number(one.electricity_j / J_PER_KWH, 3)} kWh = to the loop "
        f"{number(one.heat_to_loop_j / J_PER_KWH, 3)} + beside it (shell, standby) "
        f"{number(one.beside_j / J_PER_KWH, 3)}",
        f"share to the loop {number(one.share, 3)}",
        f"ledger closes to {one.ledger_residual_relative:.1e} of throughput; circuit not solved in "
        f"{one.health['circuit_not_solved_steps']} steps",
    ]
    return "\n".join(lines)
