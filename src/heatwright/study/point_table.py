"""Operating points for a terminal: one in full, or many in a row."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from textwrap import fill
from typing import TYPE_CHECKING

from heatwright.study.table import DASH, WIDTH, Row, aligned, fitted, number

if TYPE_CHECKING:
    from heatwright.study.point import Point

ZERO_C_K = 273.15
BASIS = (
    "COP: heat over the compressor's electric power; its standby, fan, blower and pumps left out."
    " Carnot: between condensing and evaporating temperature. Steady, without frost."
)


def celsius(t_k: float | None, digits: int = 1) -> str:
    """Return a temperature in degC, or a dash."""
    return number(None if t_k is None else t_k - ZERO_C_K, digits)


def point_as_text(point: Point) -> str:
    """Return one point: what was held, the circuit, its exchangers and its states."""
    asked = point.asked
    head = (
        f"{point.title}: outside {celsius(asked.t_ambient_k)} °C,"
        f" cabin {celsius(asked.t_cabin_k)} °C, pack {celsius(asked.pack_k)} °C"
    )
    limit = f"limit: {point.limit}" if point.limit else "no limit reached"
    how = (
        f"settled after {point.settled_after_s:.0f} s"
        if point.settled
        else "not settled after an hour: the last state is shown"
    )
    blocks = [head, "\n".join([f"{point.status}; {how}", limit, *_unsolved(point), *_told(point)])]
    if point.runs:
        blocks += ["\n".join(aligned(_circuit(point), words=(2,))), "\n".join(aligned(_states(point), words=(1,)))]
    blocks += ["\n".join(aligned(_exchangers(point), words=(1,))), fill(_held(point), WIDTH)]
    return "\n\n".join([*blocks, fill(BASIS, WIDTH)])


def _unsolved(p: Point) -> list[str]:
    """Return a line for every counter of steps, on the way to the point, that were not solved."""
    words = {"circuit_failed": "steps without a solved circuit", "flow_failed": "flows not solved"}
    return [f"{words[key]} on the way: {count}" for key, count in p.health.items() if count]


def _told(p: Point) -> list[str]:
    """Return lines on further circuits, on a charge short or over, and on a point outside the compressor's map."""
    told = []
    if p.other_compressors:
        told.append(circuit_shown(p.compressor, {name: p.actuators[name] for name in p.other_compressors}))
    if p.charge in ("short", "over"):
        missed = f"; {1e3 * p.charge_error_kg:.0f} g not accounted for" if abs(p.charge_error_kg) > 1e-3 else ""
        told.append(f"charge {p.charge}: subcooling moves with it{missed}")
    if p.compressor_map_left > 0.0:
        away = f"{100.0 * p.compressor_map_left:.0f} % of its width"
        told.append(f"outside the compressor's map by {away}: {p.compressor_map_range}")
    return told


def circuit_shown(compressor: str, others_hz: Mapping[str, float]) -> str:
    """Return whose circuit of several is shown, and what the other compressors are asked for."""
    running = [f"{name} asked for {60.0 * hz:.0f} rpm" for name, hz in others_hz.items() if hz]
    return f"the circuit of {compressor}; beside it {', '.join(running) or ', '.join(others_hz) + ' off'}"


def _circuit(p: Point) -> list[Row]:
    rows: list[Row] = [["circuit", "", ""]]

    def add(words: str, value: float | None, digits: int, unit: str, factor: float = 1.0) -> None:
        rows.append([f"  {words}", number(None if value is None else factor * value, digits), unit])

    for words, p_pa, t_k in (
        ("evaporating", p.p_evaporating_pa, p.t_evaporating_k),
        ("condensing", p.p_condensing_pa, p.t_condensing_k),
    ):
        shown = "gas cooler" if t_k is None and p.t_gas_cooler_k is not None else words
        add(f"{shown} pressure", p_pa, 2, "bar", 1e-5)
        if shown == words:
            rows.append([f"  {words} temperature", celsius(t_k), "°C"])
    if p.t_gas_cooler_k is not None:
        rows.append(["  gas cooler's outlet", celsius(p.t_gas_cooler_k), "°C"])
    rows.append(["  discharge gas", celsius(p.t_discharge_k), "°C"])
    add("superheat", p.superheat_k, 1, "K")
    if p.suction_superheat_k != p.superheat_k:
        add("superheat at the compressor", p.suction_superheat_k, 1, "K")
    add("wet-return margin", p.wet_return_margin_k, 1, "K")
    if p.t_gas_cooler_k is None:
        add("subcooling", p.subcooling_k, 1, "K")
    if p.store_level is not None:
        add("level of the vessels", p.store_level, 0, "%", 100.0)
    add("refrigerant flow", p.mdot_kg_per_s, 1, "g/s", 1e3)
    add("compressor speed", p.speed_hz, 0, "rpm", 60.0)
    if p.limit and p.speed_hz < p.speed_asked_hz * (1.0 - 1e-6):
        add("speed asked for", p.speed_asked_hz, 0, "rpm", 60.0)
    add("compressor, electric", p.p_electric_w, 0, "W")
    add("into the gas", p.p_gas_w, 0, "W")
    add("lost through the shell", p.p_shell_w, 0, "W")
    add("standby of its electronics", p.p_standby_w, 0, "W")
    add("fan, blower, pumps, heaters", p.p_auxiliary_w, 0, "W")
    add("heat given", p.q_hot_w, 0, "W")
    add("heat taken up", p.q_cold_w, 0, "W")
    for words, cop, carnot in (
        ("heating", p.cop_heating, p.carnot_heating),
        ("cooling", p.cop_cooling, p.carnot_cooling),
    ):
        beside = f"(Carnot {number(carnot, 2)})" if carnot is not None else ""
        rows.append([f"  COP {words}", number(cop, 2), beside])
    return rows


def _states(p: Point) -> list[Row]:
    rows: list[Row] = [["state", "", "bar", "°C", "kJ/kg", "kJ/(kg K)", "vapour"]]
    for one in p.states:
        share = DASH if one.quality is None else f"{100.0 * one.quality:.0f} %"
        rows.append(
            [f"  {one.number}", one.words, number(one.p_pa * 1e-5, 2), celsius(one.t_k),
             number(one.h_j_per_kg * 1e-3, 1), number(one.s_j_per_kg_k * 1e-3, 4), share]
        )  # fmt: skip
    return rows


def _exchangers(p: Point) -> list[Row]:
    rows: list[Row] = [["exchanger", "", "wall, °C", "heat into it, W"]]
    return rows + [[f"  {e.name}", e.role, celsius(e.t_wall_k), number(e.q_w, 0)] for e in p.exchangers]


def _held(p: Point) -> str:
    moved = [
        f"{name} {number(v, 0) + ' W' if v > 1.0 else f'{100.0 * v:.0f} %'}"
        for name, v in p.actuators.items()
        if v and name not in p.other_compressors
    ]
    return "Held: " + ", ".join(moved) + "."


def sweep_as_text(name: str, points: Sequence[Point]) -> str:
    """Return points as a table, a row each, over the quantity that was swept."""
    first = points[0]
    asked = first.asked
    same = [
        f"{word} {celsius(t)} °C"
        for word, t in (("outside", asked.t_ambient_k), ("cabin", asked.t_cabin_k), ("pack", asked.t_pack_k))
        if word != {"ambient": "outside"}.get(name, name) and t is not None
    ]
    unit = "rpm" if name == "speed" else "°C"
    head = [
        "evaporating, °C",
        "condensing, °C",
        "rpm",
        "given, W",
        "taken up, W",
        "electric, W",
        "COP heat",
        "COP cool",
    ]
    rows: list[Row] = [[f"{name}, {unit}", "setting", *head, "Carnot heat", "", "limit"]]
    for p in points:
        swept = number(60.0 * p.speed_asked_hz, 0) if unit == "rpm" else celsius(swept_value(p, name))
        rows.append(
            [swept, p.setting, celsius(p.t_evaporating_k), celsius(p.t_condensing_k), number(60.0 * p.speed_hz, 0),
             number(p.q_hot_w, 0), number(p.q_cold_w, 0), number(p.p_electric_w, 0), number(p.cop_heating, 2),
             number(p.cop_cooling, 2), number(p.carnot_heating, 2), "" if p.settled else "not settled",
             (p.limit or "").partition(":")[0]]
        )  # fmt: skip
    title = f"{first.plant}, {first.refrigerant}: {', '.join(same)}"
    return "\n\n".join([title, "\n".join(fitted(rows, words=(1, 11, 12))), fill(BASIS, WIDTH)])


def swept_value(point: Point, name: str) -> float:
    """Return the temperature [K] that a sweep of `ambient`, `cabin` or `pack` went through."""
    return float({"ambient": point.asked.t_ambient_k, "cabin": point.asked.t_cabin_k, "pack": point.asked.pack_k}[name])
