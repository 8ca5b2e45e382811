"""Refrigerant circuits as sections of the plan: the first in the plan itself, further ones behind headers of their own.

Extra state and derived signals of a further circuit lie behind those of the first, a block each, with the same places.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from heatwright.compiler.lower.context import Context
from heatwright.compiler.lower.refrigerant import Circuit
from heatwright.compiler.program import Program
from heatwright.compiler.tables import refrigerant_tables, run_tables
from heatwright.kernel import circuit_names, names, plan
from heatwright.kernel.zones import ZONE_STATES
from heatwright.physics.zones import RATED_K

STOOD_LONG_S = -1e6


def circuit_sections(
    ctx: Context, circuits: Sequence[Circuit], like: Program | None
) -> tuple[dict[str, Any], dict[str, Any], list[plan.Further]]:
    """Return the integer and float sections of the first circuit, and what further ones have of their own.

    `like` : a Program whose refrigerant tables are taken over.
    """
    plans = [] if like is None else plan.circuits(like.pi)
    made = [
        _own_sections(ctx, circuit, k, plan.section(plans[k], like.pf, "cp_tab") if like and k < len(plans) else None)
        for k, circuit in enumerate(circuits)
    ]
    if not made:
        return {}, {}, []
    first, rest = made[0], made[1:]
    first[0]["circ"] = [plan.HEADER * k for k in range(len(made))]
    further = []
    at = extra_size(circuits[0])
    for k, (circuit, (ints, floats)) in enumerate(zip(circuits[1:], rest, strict=True), 1):
        inside = {"ext": (at, extra_size(circuit)), "z": (k * names.N_DERIVED, names.N_DERIVED)}
        further.append(plan.Further(ints, floats, work_sizes(circuit), inside))
        at += extra_size(circuit)
    return first[0], first[1], further


def _own_sections(ctx: Context, circuit: Circuit, number: int, table: Any) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the sections of one circuit; its table is made where none is given."""
    b = ctx.builder
    at = {name: k for k, name in enumerate(circuit.ports)}
    ints: dict[str, list[int]] = dict(b.wall_sections[number])
    ints |= {key: [] for key in ("cb_act", "cb_hot", "cb_cold", "cb_legal", "cb_rank")} | {"cb_ptr": [0]}
    for state in circuit.states:
        ints["cb_act"] += [b.actuators.index(a) for a in state.actuators]
        ints["cb_ptr"].append(len(ints["cb_act"]))
        ints["cb_hot"].append(sum(1 << at[n] for n in state.hot))
        ints["cb_cold"].append(sum(1 << at[n] for n in state.cold))
        ints["cb_legal"].append(int(state.legal))
        order = dict(state.order)
        ints["cb_rank"] += [order.get(n, 0) for n in circuit.ports]
    values = ctx.plant.parts[circuit.compressor].values
    if values["deliberate_loss"] is not None:
        ints["cx_loss"] = [b.actuators.index(f"{circuit.compressor}.loss")]
    ints["cx_act"] = [b.actuators.index(circuit.compressor)]
    ints["cx_y"] = [b.outputs.index(circuit.output)]
    if table is None:
        table = run_tables(refrigerant_tables(circuit.refrigerant), circuit.superheat_k, circuit.subcooling_k)
    floats = {
        "rp_ua": [x for pair in circuit.ua for x in pair],
        "rp_share": list(circuit.shares),
        "cp_par": circuit.parameters,
        "cp_tab": table,
        "cx_par": [values["idle"]],
    }
    return ints, floats


def work_sizes(circuit: Circuit) -> dict[str, int]:
    """Return the length of every section of the work array that belongs to a circuit."""
    ports = len(circuit.ports)
    return {
        "tw": ports, "uah": ports, "uac": ports, "cq": ports, "cdq": ports * ports,
        "cout": circuit_names.OUT_SIZE, "cwork": circuit_names.work_size(ports), "cguess": circuit_names.U_SIZE,
        "cpnow": len(circuit.parameters),
    }  # fmt: skip


def extra_size(circuit: Circuit) -> int:
    """Return the places of a circuit's block of extra state."""
    return names.N_EXTRA + ZONE_STATES + len(circuit.ports)


def start_extra(circuits: Sequence[Circuit]) -> np.ndarray:
    """Return the extra state at the start, one block for each circuit; without a circuit the fixed places alone."""
    blocks = []
    for circuit in circuits:
        block = np.zeros(extra_size(circuit))
        block[names.X_CLOCK_S] = STOOD_LONG_S
        block[names.X_LIQUID_KG] = circuit.parameters[circuit_names.PAR_LIQUID_KG]
        block[names.N_EXTRA : names.N_EXTRA + 4] = circuit.aim_k, circuit.aim_k, circuit.subcooling_k, RATED_K
        blocks.append(block)
    return np.concatenate(blocks) if blocks else np.zeros(names.N_EXTRA)
