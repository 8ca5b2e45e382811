"""The refrigerant circuit: which exchanger is hot or cold in each valve state, and the compressor's numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.compressor_map import map_block
from heatwright.compiler.lower.air import AIR_COILS, REFRIGERANT_SHARE, lower_coil
from heatwright.compiler.lower.bodies import pack_nodes
from heatwright.compiler.lower.charge import add_charge
from heatwright.compiler.lower.context import Context
from heatwright.compiler.lower.coolant import film_to
from heatwright.compiler.lower.roles import EXCHANGERS, Net, ValveState, choices, role_changers, valve_states
from heatwright.compiler.networks import actuator_names
from heatwright.compiler.tables import refrigerant_tables
from heatwright.kernel.circuit_names import PAR_P_LIFT_MIN_PA, PAR_P_START_PA, PAR_P_SUCTION_MIN_PA, circuit_parameters
from heatwright.plant.circuits import circuits_of
from heatwright.plant.model import Part

INTERNAL_MOST_K = 40.0  # superheat that an internal exchanger may add before the table ends
LOSS_RAMP_W_PER_S = 500.0
LIFT_LEAST_PA = {"R744": 5e5}  # else the kernel's 1.5 bar; more than the outlet's subcooling is worth
TABLE_ROOM = 1.02
HOT_GAS_FIRST_PA = 3e5  # where the search for its suction pressure begins


@dataclass(frozen=True)
class Circuit:
    """What the kernel needs of a refrigerant circuit.

    `compressor` is its part and the name of what moves it, `output` the heat of its shell; the rest is as lowered.
    """

    compressor: str
    output: str
    refrigerant: str
    ports: tuple[str, ...]
    ua: tuple[tuple[float, float], ...]
    states: tuple[ValveState, ...]
    shares: tuple[float, ...]
    parameters: NDArray[np.float64]
    aim_k: float
    superheat_k: float
    subcooling_k: float


def lower_refrigerant(ctx: Context, outdoor: dict[str, float]) -> list[Circuit]:
    """Declare every exchanger's wall and every compressor; return the circuits, the first compressor's first."""
    return [_lower_circuit(ctx, outdoor, number, net) for number, net in enumerate(circuits_of(ctx.plant))]


def _lower_circuit(ctx: Context, outdoor: dict[str, float], number: int, net: Net) -> Circuit:
    plant, b = ctx.plant, ctx.builder
    inside = {name: plant.parts[name] for branch in net for name in branch.parts}
    part = next(one for one in inside.values() if one.kind == "compressor")
    v, fluid = part.values, plant.fluid_of(part.name)
    if number == 0:
        b.actuators[0] = part.name
    output = f"compressor_shell:{part.name}" if number else "compressor_shell"
    ports, ua, shares = _lower_exchangers(ctx, outdoor, inside, fluid)
    shell = b.node(f"{part.name}.shell", v["heat_capacity"])
    b.to_boundary(shell, "tau_ambient", b.constant(v["shell_loss"]), "compressor_to_outside")
    b.source(shell, output, 1.0, "compressor_shell")
    ctx.actuator(part.name, v["ramp"])
    _lower_valves(ctx, net, part.name)
    if v["deliberate_loss"] is not None:
        ctx.actuator(f"{part.name}.loss", LOSS_RAMP_W_PER_S)
    aim_k = _aim(inside, v["superheat"])
    inner = [one for one in inside.values() if one.kind == "internal_exchanger"]
    table_superheat_k = v["superheat"]
    if v["exchangers"] == "zones":
        table_superheat_k = max(aim_k, 1.0) + (INTERNAL_MOST_K if inner else 0.0)
    if any(one.kind == "accumulator" for one in inside.values()):
        aim_k = 0.0
    internal = float(inner[0].values["effectiveness"]) if inner else 0.0
    settings = valve_states(plant, number)
    legal = [(state.hot, state.cold) for state in settings if state.legal]
    parameters = _parameters(fluid, v, aim_k, internal)
    parameters = add_charge(inside, fluid, ports, legal, parameters, table_superheat_k, v["subcooling"])
    suction = [PAR_P_SUCTION_MIN_PA, PAR_P_START_PA]
    parameters[suction] = np.maximum(parameters[suction], _table_end_pa(fluid))
    return Circuit(
        part.name, output, str(fluid["refrigerant"]), ports, ua, settings, shares, parameters, aim_k,
        table_superheat_k, v["subcooling"],
    )  # fmt: skip


def _table_end_pa(fluid: Mapping[str, Any]) -> float:
    """Return the suction pressure below which the refrigerant's table has nothing, with a little room [Pa].

    A least suction pressure below it could never be met: a circuit that has to fall so far would not start at all.
    """
    return TABLE_ROOM * float(np.exp(refrigerant_tables(fluid["refrigerant"]).ln_p_saturation[0]))


def _lower_exchangers(
    ctx: Context, outdoor: dict[str, float], inside: Mapping[str, Part], fluid: Mapping[str, Any]
) -> tuple[tuple[str, ...], tuple[tuple[float, float], ...], tuple[float, ...]]:
    """Declare the walls; return names, conductances hot and cold [W/K], the refrigerant's share of each resistance."""
    b = ctx.builder
    ports, ua, shares = [], [], []
    walls: list[str] = []
    passed: list[tuple[str, str]] = []
    for exchanger in ctx.plant.of_kind(*EXCHANGERS):
        name = exchanger.name
        if name not in inside:
            continue
        if exchanger.kind == "outdoor_coil":
            ua.append((outdoor[name], outdoor[f"{name}:cold"]))
            shares.append(REFRIGERANT_SHARE)
        elif exchanger.kind in AIR_COILS:
            g = lower_coil(ctx, exchanger)
            ua.append((g, g))
            shares.append(REFRIGERANT_SHARE)
        elif exchanger.kind == "refrigerant_plate":
            g, share = lower_body_plate(ctx, exchanger)
            ua.append((g, g))
            shares.append(share)
        else:
            g = _lower_plate(ctx, exchanger)
            ua.append((g, g))
            shares.append(1.0 - exchanger.values["coolant_share"])
        ports.append(name)
        walls.append(f"{name}.wall")
        if fluid["refrigerant"] == "R744":
            passed.append(_stream_past(ctx, exchanger))
    b.circuits.append((walls, passed))
    return tuple(ports), tuple(ua), tuple(shares)


def _lower_valves(ctx: Context, net: Net, compressor: str) -> None:
    """Declare the actuators of a circuit's valves; those that turn roles move only while its compressor stands."""
    changers = role_changers(ctx.plant, net)
    for valve, states in choices(ctx.plant, net):
        names = actuator_names(valve)
        for k, state in enumerate(states):
            if len(states) > 1:
                ctx.actuator(names[state], 1.0 / valve.values["stroke"], 1.0 if k == 0 else 0.0)
                if valve.name in changers:
                    ctx.guarded[names[state]] = compressor


def _parameters(fluid: Mapping[str, Any], v: Mapping[str, Any], aim_k: float, internal: float) -> NDArray[np.float64]:
    """Return the compressor's numbers as the kernel reads them."""
    default = circuit_parameters()
    isentropic = [float(x) for x in default[6:14]]
    isentropic[0] *= v["efficiency_factor"]
    return circuit_parameters(
        displacement_m3=v["displacement"],
        isentropic=tuple(isentropic),
        gas_share=v["loss_to_gas"],
        p_suction_min_pa=v["suction_least"],
        p_discharge_max_pa=v["discharge_most"],
        t_discharge_max_k=v["discharge_temperature_most"],
        ratio_max=v["ratio_most"],
        power_max_w=v["power_most"],
        speed_min_hz=v["least_speed"],
        p_lift_min_pa=LIFT_LEAST_PA.get(fluid["refrigerant"], float(default[PAR_P_LIFT_MIN_PA])),
        zones=v["exchangers"] == "zones",
        aim_k=aim_k,
        internal=internal,
        measured=_measured(fluid, v),
        p_bypass_pa=HOT_GAS_FIRST_PA if fluid["hot_gas_charge"] else 0.0,
    )


def _stream_past(ctx: Context, exchanger: Part) -> tuple[str, str]:
    """Return the nodes of what a gas cooler gives its heat to, on its way in and out; a pack's is one node twice."""
    name = exchanger.name
    if exchanger.kind == "outdoor_coil":
        return ctx.inlet["air", name], f"{name}.wind"
    if exchanger.kind == "refrigerant_plate":
        cells = pack_nodes(ctx.plant.parts[exchanger.values["on"]])
        return cells[0], cells[0]
    fluid = "air" if exchanger.kind in AIR_COILS else "coolant"
    return ctx.inlet[fluid, name], f"{name}.{fluid}"


def _aim(inside: Mapping[str, Part], compressor: float) -> float:
    """Return the superheat that the expansion valves aim at [K]: the greatest of theirs, else the compressor's."""
    valves = [part.values["superheat"] for part in inside.values() if part.kind == "expansion"]
    return float(max((own for own in valves if own is not None), default=compressor))


def _measured(fluid: Mapping[str, Any], values: Mapping[str, Any]) -> NDArray[np.float64] | None:
    """Return the compressor's measured map as the kernel reads it; None where our forms stand."""
    found = values["map"]
    if found is None:
        return None
    return map_block(found, refrigerant_tables(fluid["refrigerant"]), values["efficiency_factor"])


def lower_body_plate(ctx: Context, part: Part) -> tuple[float, float]:
    """Declare the wall of a plate on a pack, linked alike to all its cell groups; return conductance and share."""
    b, v = ctx.builder, part.values
    wall = b.node(f"{part.name}.wall", v["heat_capacity"])
    cells = pack_nodes(ctx.plant.parts[v["on"]])
    for name in cells:
        b.link(wall, name, b.constant(v["to_body"] / len(cells)))
    return float(v["ua"]), float(v["to_body"] / (v["to_body"] + v["ua"]))


def _lower_plate(ctx: Context, part: Part) -> float:
    """Declare a refrigerant-to-coolant exchanger's wall and film; return the refrigerant-side conductance."""
    b, v = ctx.builder, part.values
    wall = b.node(f"{part.name}.wall", v["heat_capacity"])
    rated = v["ua"]
    g = film_to(ctx, part, rated.value / v["coolant_share"], rated)
    b.link(wall, f"{part.name}.coolant", g)
    return float(rated.value / (1.0 - v["coolant_share"]))
