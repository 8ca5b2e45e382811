"""The desk of the dispatch: every array the kernel looks at and works in, for one plant on one trip."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from heatwright.compiler.held import HEATERS
from heatwright.compiler.program import Program
from heatwright.dispatch.candidates import Candidate, Knob, candidates_of, knobs_of
from heatwright.dispatch.settings import Settings
from heatwright.kernel import dispatch_names as dn
from heatwright.kernel import frost, plan
from heatwright.kernel.ahead import COPPER, INVERTER, IRON, PLAIN, Columns
from heatwright.kernel.desk import (
    GROUP_CABIN,
    GROUP_COOLANT,
    GROUP_DRIVE,
    GROUP_PACK,
    NONE,
    OWN,
    UNSEEN,
    Desk,
)
from heatwright.kernel.power import Y_CU, Y_FE, Y_INV
from heatwright.modes.atlas import build_atlas
from heatwright.modes.model import Atlas
from heatwright.plant.model import Plant

LININGS = (".skin", ".trim")
"""Nodes of a zone whose heat is counted as kept in the cabin; its air has a need of its own."""
GROUPS = {"pack": GROUP_PACK, "drive_unit": GROUP_DRIVE, "zone": GROUP_CABIN}
HOT_NODES = [2, 0, 3, 4, 1, 5]
"""Of the nodes of `dr_n`, in the order of the limits of `dr_lim`: entering, winding, rotor, inverter, oil, housing."""


def make_desk(
    plant: Plant,
    program: Program,
    settings: Settings,
    atlas: Atlas | None = None,
    known: tuple[Candidate, ...] | None = None,
) -> tuple[Desk, tuple[Candidate, ...], tuple[Knob, ...]]:
    """Return the desk of a program, with its candidates (left out, those of the atlas) and knobs by name."""
    known = known or candidates_of(plant, atlas or build_atlas(plant))
    acts = program.index.actuators
    knobs = tuple(knob for knob in knobs_of(plant) if {knob.at, knob.other} - {""} <= set(acts))
    places = _Places(plant, program)
    columns = _columns(places)
    return Desk(
        columns=columns,
        **_places_of(places),
        drive_feeds=_ints([any(one.drive_feeds for one in known)]),
        **_turned(places, known),
        **_knobs_of(plant, acts, known, knobs),
        **_kept(places, columns, known, knobs, settings),
    ), known, knobs  # fmt: skip


class _Places:
    """Where things lie in a program: walls, heaters, zones, holders."""

    def __init__(self, plant: Plant, program: Program) -> None:
        self.plant, self.program = plant, program
        pi, pf, index = program.pi, program.pf, program.index
        self.act = {name: k for k, name in enumerate(index.actuators)}
        circuits = plan.circuits(pi) if index.circuits else []
        self.walls = [int(k) for own in circuits for k in plan.section(own, own, "rp_wall")]
        self.kind = plan.section(pi, pi, "dv_kind").astype(int)
        self.device_act = plan.section(pi, pi, "dv_act").astype(int)
        self.par = plan.section(pi, pf, "dv_par").reshape(-1, 6)
        self.heaters = [d for d in range(self.kind.size) if self.kind[d] == 0]
        self.has_loss = plan.section(pi, pi, "dr_act").size > 0
        self.airs = [index.node_place[f"{zone.name}.air"] for zone in plant.of_kind("zone")]
        self.holders = plan.section(pi, pi, "mh").reshape(-1, 7).astype(int)
        self.compressors = [plant.parts[name] for name in index.circuits]


def _columns(at: _Places) -> Columns:
    """Return where a watt of every open heat enters the matrix."""
    pi, pf = at.program.pi, at.program.pf
    so_n, so_y = (plan.section(pi, pi, key).astype(int) for key in ("so_n", "so_y"))
    so_c = plan.section(pi, pf, "so_c")
    seeds: list[tuple[int, int, float, int]] = [(node, 1 + k, 1.0, PLAIN) for k, node in enumerate(at.walls)]

    def of_output(y: int, column: int, share: float, what: int) -> None:
        seeds.extend((int(so_n[s]), column, share * float(so_c[s]), what) for s in np.flatnonzero(so_y == y))

    first_heater = column = 1 + len(at.walls)
    for d in at.heaters:
        of_output(d, column, float(at.par[d, 0]), PLAIN)
        column += 1
    loss = column if at.has_loss else 0
    if at.has_loss:
        for output, what in ((Y_CU, COPPER), (Y_FE, IRON), (Y_INV, INVERTER)):
            of_output(at.kind.size + int(output), column, 1.0, what)
        column += 1
    first_air = column
    seeds += [(node, first_air + k, 1.0, PLAIN) for k, node in enumerate(at.airs)]
    first_holder = first_air + len(at.airs)
    for k, row in enumerate(at.holders):
        of_output(int(row[6]), first_holder + k, 1.0, PLAIN)
    node, of, share, kind = zip(*seeds, strict=True)
    return Columns(
        _ints(node), _ints(of), np.array(share, float), _ints(kind), _ints(at.walls), first_heater, loss, first_air,
        first_holder, first_holder + len(at.holders),
    )  # fmt: skip


def _places_of(at: _Places) -> dict[str, Any]:
    """Return the nodes that needs, score and soft limits look at."""
    plant, index, pi = at.plant, at.program.index, at.program.pi
    group = np.zeros(len(index.nodes), np.uint32)
    for name, members in index.stores.items():
        part = plant.parts.get(name)
        code = GROUP_COOLANT if name == "coolant" else GROUPS.get(part.kind if part else "", 0)
        group[[k for k in members if code != GROUP_CABIN or index.nodes[k].endswith(LININGS)]] = code
    drive = plan.section(pi, pi, "dr_n").astype(int)
    front = plan.section(pi, pi, "fx").reshape(-1, 5).astype(int)
    iced = [(1 + at.walls.index(int(row[0])), frost.PLACES * k) for k, row in enumerate(front) if row[0] in at.walls]
    return {
        "airs": _ints(at.airs),
        "cores": _ints(
            index.node_place[f"{part.name}.coolant"] for part in plant.of_kind("heater_core", "cooler_core")
        ),
        "flash": _ints(plant.parts[name.split(".")[0]].kind == "cabin_coil" for name in index.coils),
        "group": group,
        "hot_node": _ints(drive[HOT_NODES] if drive.size else drive),
        "hot_k": np.array(plan.section(pi, at.program.pf, "dr_lim"), float),
        "frost_column": _ints(column for column, _ in iced),
        "frost_place": _ints(place for _, place in iced),
    }


def _turned(at: _Places, known: tuple[Candidate, ...]) -> dict[str, Any]:
    """Return candidates as actuators, and which compressors, heaters and losses each may turn."""
    plant, n = at.plant, len(known)
    heaters = [next(p for p in plant.of_kind(*HEATERS) if at.act.get(p.name) == at.device_act[d]) for d in at.heaters]
    setting = np.zeros((n, len(at.act)))
    for c, one in enumerate(known):
        for name, value in one.setting.items():
            if name in at.act:
                setting[c, at.act[name]] = value
    losses = [f"{part.name}.loss" for part in plant.of_kind("drive_unit")]
    return {
        "setting": setting,
        "serves": _ints(one.serves for one in known),
        "heater_act": _ints(at.device_act[d] for d in at.heaters),
        "heater_most": np.array([at.par[d, 3] for d in at.heaters], float),
        "comp_act": _ints(at.act[part.name] for part in at.compressors),
        "comp_least": np.array([part.values["least_speed"] for part in at.compressors], float),
        "comp_most": np.array([part.values["speed"] for part in at.compressors], float),
        "loss_act": _ints(plan.section(at.program.pi, at.program.pi, "dr_act")),
        "has_comp": _flags([[p.name in one.running for p in at.compressors] for one in known], len(at.compressors)),
        "has_heater": _flags([[p.name in one.running for p in heaters] for one in known], len(heaters)),
        "has_loss": _ints(not one.running.isdisjoint(losses) for one in known),
    }


def _knobs_of(plant: Plant, acts: tuple[str, ...], known: tuple[Candidate, ...], knobs: tuple[Knob, ...]) -> Any:
    """Return the flow knobs, and which each candidate may turn: all of air and wind, its own pumps and blends."""
    act = {name: k for k, name in enumerate(acts)}
    fans = {part.name for part in plant.of_kind("fan")}
    free = np.zeros((len(known), len(knobs)), np.uint8)
    for j, knob in enumerate(knobs):
        part = knob.at.split(":")[0]
        for c, one in enumerate(known):
            free[c, j] = bool(one.running) and (knob.kind != OWN or part in fans or part in one.knobs)
    start = np.array([knob.start for knob in knobs], float)
    return {
        "knob_at": _ints(act[knob.at] for knob in knobs),
        "knob_other": _ints(act[knob.other] if knob.other else NONE for knob in knobs),
        "knob_least": np.array([knob.least for knob in knobs], float),
        "knob_most": np.array([knob.most for knob in knobs], float),
        "knob_step": np.array([knob.step for knob in knobs], float),
        "knob_kind": _ints(knob.kind for knob in knobs),
        "knob_start": start,
        "free": free,
        "knob": np.repeat(start[None, :], len(known), axis=0),
        "lean": np.ones((len(known), len(knobs))),
        "knob_due": np.zeros((len(known), len(knobs))),
        "knob_idle": np.zeros((len(known), len(knobs))),
    }


def _kept(
    at: _Places, columns: Columns, known: tuple[Candidate, ...], knobs: tuple[Knob, ...], settings: Settings
) -> dict[str, Any]:
    """Return what is kept between decisions, and room to work in."""
    n, nodes, walls = len(known), len(at.program.index.nodes), max(len(at.walls), 1)
    kept = np.zeros(len(dn.KEPT))
    kept[dn.H_IN_MODE], kept[dn.H_PULSE], kept[dn.H_BAR] = 1e9, 1.0, settings.regret_j
    w = at.program.start()
    return {
        "supply": np.full((n, nodes), UNSEEN, np.uint8),
        "allow": np.ones(n, np.uint32),
        "work": np.repeat(w[None, :], n, axis=0),
        "speed": np.zeros((n, len(at.compressors))),
        "heat": np.zeros((n, columns.many)),
        "rows": np.full((n, dn.N_ROW), 2.0 * dn.IMPOSSIBLE_W),
        "acts": np.zeros((n, len(at.act))),
        "due": np.zeros(n),
        "wait": np.zeros(n),
        "latch": np.zeros(len(dn.LATCHES)),
        "latch_before": np.zeros(len(dn.LATCHES)),
        "kept": kept,
        "ring": np.zeros((len(dn.RINGS), dn.RING)),
        "settings": np.array([getattr(settings, name) for name in dn.SETTINGS], float),
        "need": np.zeros(len(dn.NEEDS) + len(at.airs)),
        "base": np.zeros(nodes * columns.many),
        "s": np.zeros(columns.many),
        "m": np.zeros(walls**2),
        "r": np.zeros(3 * walls),
        "reacts": np.zeros((len(at.heaters) + 1, nodes)),
        "end": np.zeros(nodes),
        "per": np.full(max(len(at.airs), 1), 1e-3),
        "frost_bare": np.full(walls, settings.frost_doubt_kg),
        "zones": np.zeros(at.program.ext0.size),
        "trial": np.zeros(dn.N_ROW + len(at.heaters)),
        "spare": np.zeros(len(knobs) + len(at.compressors)),
    }


def _flags(rows: list[list[bool]], width: int) -> Any:
    return np.array(rows, np.uint8).reshape(len(rows), width)


def _ints(values: Iterable[Any]) -> Any:
    return np.array(list(values), np.uint32)
