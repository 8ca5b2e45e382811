"""The refrigerant circuit: which exchanger is hot or cold in each valve state, and the compressor's numbers."""

from __future__ import annotations

import itertools
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
from heatwright.compiler.networks import actuator_names, junction_name
from heatwright.compiler.tables import refrigerant_tables
from heatwright.kernel.circuit_names import PAR_P_LIFT_MIN_PA, circuit_parameters
from heatwright.plant.model import Part, Plant

EXCHANGERS = ("outdoor_coil", "chiller", "liquid_condenser", "refrigerant_plate", *AIR_COILS)
MAX_COMBINATIONS = 4096
INTERNAL_MOST_K = 40.0  # superheat that an internal exchanger may add before the table ends
LOSS_RAMP_W_PER_S = 500.0
LIFT_LEAST_PA = {"R744": 5e5}  # else the kernel's 1.5 bar; more than the outlet's subcooling is worth
HOT_GAS_FIRST_PA = 3e5  # where the search for its suction pressure begins


@dataclass(frozen=True)
class ValveState:
    """One combination of refrigerant valve states: its actuators, and each exchanger's role.

    `order` : the hot exchangers by their place in the row that refrigerant meets; those in parallel share one.
    """

    actuators: tuple[str, ...]
    hot: frozenset[str]
    cold: frozenset[str]
    legal: bool
    order: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True)
class Circuit:
    """What the kernel needs of the refrigerant side."""

    ports: tuple[str, ...]
    ua: tuple[tuple[float, float], ...]
    states: tuple[ValveState, ...]
    shares: tuple[float, ...]
    parameters: NDArray[np.float64]
    aim_k: float
    superheat_k: float
    subcooling_k: float


def _choices(plant: Plant) -> list[tuple[Part, tuple[str, ...]]]:
    """Return the valves and in-line valves in refrigerant lines with their states."""
    inside: dict[str, tuple[str, ...]] = {}
    for line in plant.nets["refrigerant"].branches:
        for end in (line.start, line.end):
            if end.kind == "port":
                inside[end.name] = tuple(plant.parts[end.name].values["positions"])
        for name in line.parts:
            if plant.parts[name].kind in ("expansion", "shutoff"):
                inside[name] = tuple(plant.parts[name].values["states"])
    return [(plant.parts[name], states) for name, states in inside.items()]


def _paths(plant: Plant, state: dict[str, str]) -> list[list[str]]:
    """Return every way of the refrigerant from compressor to compressor, as lists of parts."""
    owner: dict[str, str] = {}

    def root(name: str) -> str:
        while owner.get(name, name) != name:
            name = owner[name]
        return name

    for name, position in state.items():
        part = plant.parts[name]
        if part.kind == "valve":
            for group in part.values["positions"][position]:
                for port in group[1:]:
                    owner[root(f"{name}.{port}")] = root(f"{name}.{group[0]}")
    edges: list[tuple[str, str, list[str]]] = []
    starts: list[tuple[str, list[str]]] = []
    goal: list[tuple[str, list[str]]] = []
    for line in plant.nets["refrigerant"].branches:
        if any(state.get(p) == "shut" for p in line.parts):
            continue
        a, b = root(junction_name(line.start)), root(junction_name(line.end))
        parts = list(line.parts)
        mover = next((p for p in parts if plant.parts[p].kind == "compressor"), None)
        if mover:
            k = parts.index(mover)
            starts.append((b, parts[k + 1 :]))
            goal.append((a, parts[:k]))
            continue
        edges.append((a, b, parts))
        if not line.check:
            edges.append((b, a, parts[::-1]))
    if not starts:
        return []
    (first, head), (last, tail) = starts[0], goal[0]
    found: list[list[str]] = []

    def walk(node: str, seen: frozenset[str], parts: list[str]) -> None:
        if node == last:
            found.append([*parts, *tail])
            return
        for a, b, inside in edges:
            if a == node and b not in seen:
                walk(b, seen | {b}, [*parts, *inside])

    walk(first, frozenset({first}), list(head))
    return found


def _is_throttle(plant: Plant, name: str, state: dict[str, str]) -> bool:
    return plant.parts[name].kind == "expansion" and state[name] == "throttle"


def _roles(
    plant: Plant, state: dict[str, str]
) -> tuple[frozenset[str], frozenset[str], bool, tuple[tuple[str, int], ...]]:
    """Return the hot set, the cold set, whether the compressor may run in the state, and the order of the hot set.

    Gas that goes round all evaporators beside one that is in use is not modelled: such a state is not legal.
    """
    before: dict[str, set[int]] = {}
    order: dict[str, int] = {}
    bare = False
    legal = True
    paths = _paths(plant, state)
    for path in paths:
        throttles = 0
        place = 0
        drawing = False
        for name in path:
            throttles += _is_throttle(plant, name, state)
            if plant.parts[name].kind in EXCHANGERS:
                before.setdefault(name, set()).add(min(throttles, 1))
                drawing |= throttles > 0
                if throttles == 0:
                    order[name] = max(order.get(name, 0), place)
                    place += 1
        legal &= throttles > 0
        bare |= not drawing
    hot = frozenset(n for n, seen in before.items() if seen == {0})
    cold = frozenset(n for n, seen in before.items() if seen == {1})
    legal &= len(hot) + len(cold) == len(before) and bool(hot) and bool(paths) and not (bare and cold)
    return hot, cold, legal, tuple(sorted((name, k) for name, k in order.items() if name in hot))


def valve_states(plant: Plant) -> tuple[ValveState, ...]:
    """Return every combination of refrigerant valve states with the roles that follow from the plumbing."""
    choices = _choices(plant)
    combos = list(itertools.islice(itertools.product(*(s for _, s in choices)), MAX_COMBINATIONS))
    out = []
    for combo in combos:
        state = {part.name: s for (part, _), s in zip(choices, combo, strict=True)}
        acts = tuple(
            actuator_names(part)[s] for (part, states), s in zip(choices, combo, strict=True) if len(states) > 1
        )
        out.append(ValveState(acts, *_roles(plant, state)))
    return tuple(out)


def role_changers(plant: Plant) -> set[str]:
    """Return the valves that turn an exchanger from hot to cold: they may move only while the compressor stands."""
    found = set()
    choices = _choices(plant)
    for part, states in choices:
        others = [(p, s) for p, s in choices if p.name != part.name]
        for combo in itertools.islice(itertools.product(*(s for _, s in others)), MAX_COMBINATIONS):
            base = {p.name: s for (p, _), s in zip(others, combo, strict=True)}
            roles = [_roles(plant, {**base, part.name: s}) for s in states]
            if any(a[0] & b[1] for a in roles for b in roles):
                found.add(part.name)
                break
    return found


def lower_refrigerant(ctx: Context, outdoor: dict[str, float]) -> Circuit | None:
    """Declare every exchanger's wall and the compressor; return the circuit, or None without a compressor."""
    plant, b = ctx.plant, ctx.builder
    compressors = plant.of_kind("compressor")
    if not compressors:
        return None
    part = compressors[0]
    v = part.values
    ports, ua, shares = _lower_exchangers(ctx, outdoor)
    shell = b.node(f"{part.name}.shell", v["heat_capacity"])
    b.to_boundary(shell, "tau_ambient", b.constant(v["shell_loss"]), "compressor_to_outside")
    b.source(shell, "compressor_shell", 1.0, "compressor_shell")
    ctx.actuator("compressor", v["ramp"])
    _lower_valves(ctx)
    if v["deliberate_loss"] is not None:
        ctx.actuator(f"{part.name}.loss", LOSS_RAMP_W_PER_S)
    aim_k = _aim(plant, v["superheat"])
    inner = plant.of_kind("internal_exchanger")
    table_superheat_k = v["superheat"]
    if v["exchangers"] == "zones":
        table_superheat_k = max(aim_k, 1.0) + (INTERNAL_MOST_K if inner else 0.0)
    if plant.of_kind("accumulator"):
        aim_k = 0.0
    internal = float(inner[0].values["effectiveness"]) if inner else 0.0
    settings = valve_states(plant)
    legal = [(state.hot, state.cold) for state in settings if state.legal]
    parameters = _parameters(plant, v, aim_k, internal)
    parameters = add_charge(plant, ports, legal, parameters, table_superheat_k, v["subcooling"])
    return Circuit(ports, ua, settings, shares, parameters, aim_k, table_superheat_k, v["subcooling"])


def _lower_exchangers(
    ctx: Context, outdoor: dict[str, float]
) -> tuple[tuple[str, ...], tuple[tuple[float, float], ...], tuple[float, ...]]:
    """Declare the walls; return names, conductances hot and cold [W/K], the refrigerant's share of each resistance."""
    plant, b = ctx.plant, ctx.builder
    ports, ua, shares = [], [], []
    for exchanger in plant.of_kind(*EXCHANGERS):
        name = exchanger.name
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
        b.walls.append(f"{name}.wall")
        if plant.fluid["refrigerant"] == "R744":
            b.passed.append(_stream_past(ctx, exchanger))
    return tuple(ports), tuple(ua), tuple(shares)


def _lower_valves(ctx: Context) -> None:
    """Declare the actuators of the refrigerant valves; those that turn roles move only while the compressor stands."""
    changers = role_changers(ctx.plant)
    for valve, states in _choices(ctx.plant):
        names = actuator_names(valve)
        for k, state in enumerate(states):
            if len(states) > 1:
                ctx.actuator(names[state], 1.0 / valve.values["stroke"], 1.0 if k == 0 else 0.0)
                if valve.name in changers:
                    ctx.guarded.add(names[state])


def _parameters(plant: Plant, v: Mapping[str, Any], aim_k: float, internal: float) -> NDArray[np.float64]:
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
        p_lift_min_pa=LIFT_LEAST_PA.get(plant.fluid["refrigerant"], float(default[PAR_P_LIFT_MIN_PA])),
        zones=v["exchangers"] == "zones",
        aim_k=aim_k,
        internal=internal,
        measured=_measured(plant, v),
        p_bypass_pa=HOT_GAS_FIRST_PA if plant.fluid["hot_gas_charge"] else 0.0,
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


def _aim(plant: Plant, compressor: float) -> float:
    """Return the superheat that the expansion valves aim at [K]: the greatest of theirs, else the compressor's."""
    own = [valve.values["superheat"] for valve in plant.of_kind("expansion") if valve.values["superheat"] is not None]
    return float(max(own, default=compressor))


def _measured(plant: Plant, values: Mapping[str, Any]) -> NDArray[np.float64] | None:
    """Return the compressor's measured map as the kernel reads it; None where our forms stand."""
    found = values["map"]
    if found is None:
        return None
    return map_block(found, refrigerant_tables(plant.fluid["refrigerant"]), values["efficiency_factor"])


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
