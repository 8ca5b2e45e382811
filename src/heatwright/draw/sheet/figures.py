"""Figures of every part at an instant of a run: what flows in and out of it, and every series that is its own."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from heatwright.draw.quantities import figure, signed, words
from heatwright.draw.sheet.graph import WIND, Graph, Node, Pipe, graph_of
from heatwright.draw.sheet.instant import state_of_run
from heatwright.draw.sheet.pipes import series_of
from heatwright.draw.sheet.state import State, known, refrigerant_stretches, way_of
from heatwright.outcome import slug
from heatwright.plant.model import Plant
from heatwright.run import Run

MORE = {
    "compressor": ("p_suction_pa", "p_discharge_pa", "mdot_refrigerant_kg_per_s", "superheat_k", "subcooling_k"),
    "pack": ("soc", "t_pack_coldest_k", "t_pack_hottest_k", "p_give_limit_w", "p_take_limit_w", "q_pack_w"),
    "drive_unit": ("p_traction_w", "drive_share", "p_drive_heat_w"),
    "zone": ("rh_cabin", "fog_margin_k", "t_vent_k"),
}
"""Series that tell of the only part of a kind without bearing its name."""
LINES = re.compile(r"^mdot_|_hose_k$|^t_coolant_|^limit$")
KINDS_OF_NAME = ("t", "x", "p", "q", "m", "held")
TOLD_ONCE = ("m_vapour_taken_", "m_melt_drained_")


@dataclass(frozen=True)
class Figures:
    """One part: its name in the sheet, its words, what kind it is, and rows of (what, figure)."""

    part: str
    words: str
    kind: str
    rows: tuple[tuple[str, str], ...]


def figures_of(plant: Plant, run: Run, t_s: float) -> tuple[Figures, ...]:
    """Figures of every part on the sheet at the step edge nearest to a time [s], in the order of the sheet."""
    graph = graph_of(plant)
    state = state_of_run(plant, run, t_s)
    k = int(np.argmin(np.abs(np.asarray(run.t_s) - t_s)))
    stretches = refrigerant_stretches(plant, graph, state)
    owners = _owners(plant, run)
    found = []
    for node in graph.nodes.values():
        if node.part:
            rows = [*_position(node, state), *_streams(graph, node, run, k, state, stretches)]
            rows += [_own(run, name, node.part, k) for name in owners[node.part]]
            kind = plant.parts[node.part].kind.replace("_", " ")
            found.append(Figures(node.part, node.label, kind, tuple(dict.fromkeys(rows))))
    return tuple(found)


def _position(node: Node, state: State) -> list[tuple[str, str]]:
    """How a valve or door rests, or whether a part runs."""
    setting = (state.setting or {}).get(node.part)
    return [("position" if node.symbol in ("valve", "door") else "is", setting.replace("_", " "))] if setting else []


def _streams(
    graph: Graph, node: Node, run: Run, k: int, state: State, stretches: Mapping[str, str]
) -> list[tuple[str, str]]:
    """Temperature of everything that flows in and out, and how much."""
    rows = []
    for pipe in graph.at(node.id):
        way = way_of(pipe, state)
        t_k = known(series_of(pipe, state, stretches.get(pipe.id, "")), state.temperatures)
        into = (pipe.end == node.id) == (way > 0)
        other = graph.nodes[pipe.start if pipe.end == node.id else pipe.end].label or "a joint"
        flow = None if pipe.medium == WIND else _flow(pipe, run, k)
        told = [] if t_k is None else [figure("t_k", t_k)]
        told += [] if flow is None else [figure("mdot_kg_per_s", flow)]
        if way and told:
            rows.append((f"{pipe.medium} {'in from' if into else 'out to'} {other}", ", ".join(told)))
    return rows


def _flow(pipe: Pipe, run: Run, k: int) -> float | None:
    """Mass flow of a pipe [kg/s], without its sign; of ducts drawn as one their sum."""
    known_flows = [abs(float(run.series[name][k])) for name in pipe.flow if name in run.series]
    return sum(known_flows) if known_flows else None


def _owners(plant: Plant, run: Run) -> dict[str, list[str]]:
    """The series of every part: those whose name bears the part's (the longest such name), and those of its kind."""
    slugs = sorted(((slug(name), name) for name in plant.parts), key=lambda one: -len(one[0]))
    found: dict[str, list[str]] = {name: [] for name in plant.parts}
    for series in run.series:
        if LINES.search(series) or series.partition("_")[0] not in KINDS_OF_NAME or series.startswith(TOLD_ONCE):
            continue
        owner = next((name for short, name in slugs if re.search(rf"_{re.escape(short)}(_|$)", series)), "")
        if owner:
            found[owner].append(series)
    for part in plant.parts.values():
        if len(plant.of_kind(part.kind)) == 1:
            found[part.name] += [one for one in MORE.get(part.kind, ()) if one in run.series]
    return {name: list(dict.fromkeys(own)) for name, own in found.items()}


def _own(run: Run, name: str, part: str, k: int) -> tuple[str, str]:
    """One series of a part: words without the part's name, where something else is left, and the figure."""
    value = float(run.series[name][k])
    if run.label(name).unit == "1/s":
        return "speed asked for", f"{signed(value, 1)} Hz"
    said = (run.label(name).text if name in run.labels else words(name)).replace("_", " ")
    rest = re.sub(rf"^{re.escape(part.replace('_', ' '))} ", "", said)
    alone = {"x": "set to", "p": "power"}.get(name.partition("_")[0]) if rest == part.replace("_", " ") else None
    return alone or rest, figure(name, value)
