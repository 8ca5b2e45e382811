"""Coolant lines: volumes, hoses, pumps, radiators, heaters and the coolant side of every exchanger."""

from __future__ import annotations

import math
from itertools import pairwise

from heatwright.compiler.lower.context import (
    DEVICE_HEATER,
    DEVICE_PUMP,
    Context,
    Device,
    hose_area,
)
from heatwright.compiler.networks import (
    CHANNEL,
    PUMP,
    THROAT,
    Element,
    FlowNet,
    actuator_names,
    build_nets,
    junction_name,
)
from heatwright.plant.model import Branch, Part, Plant

TEE_M3 = 5e-5
PORT_M3 = 3e-5
PUMP_EXPONENT = 1.8
PUMP_DROOP = 0.35
SPIN_SHARE = 0.12
CASE_W_PER_K = 0.8  # case of a part in still air (common practice)
METAL_WITH_COOLANT = {"radiator": 1.0, "heater_core": 1.0, "cooler_core": 1.0, "coolant_exchanger": 0.5}
"""Share of a part's metal that counts with the coolant of one side; other metal is a node of its own."""
STILL_RADIATOR_W_PER_K = 4.0  # a radiator in still air (common practice)


def has_volume(part: Part) -> bool:
    """Return whether a part in a coolant line holds coolant of its own."""
    return "volume" in part.values and part.kind != "tank"


def junction_node(plant: Plant, name: str) -> str:
    """Return the node of a coolant junction."""
    return f"{name}.coolant" if name in plant.parts else f"coolant:{name}"


class CoolantElements:
    """The elements of a coolant line and of a way through a coolant valve."""

    def __init__(self, ctx: Context) -> None:
        self.ctx = ctx

    def line(self, branch: Branch) -> list[Element]:
        """Return the elements of a line: its parts, then its hose."""
        ctx = self.ctx
        found = [e for name in branch.parts if (e := self._part(name, branch))]
        length = hose_length(ctx.plant, branch)
        if length > 0:
            d = ctx.plant.hoses["diameter"]
            found.append(Element(CHANNEL, (d, hose_area(d), length / d, 1.0), f"{branch.name}.hose"))
        return found

    def _part(self, name: str, branch: Branch) -> Element | None:
        ctx = self.ctx
        part = ctx.plant.part_at(name)
        v = part.values
        node = f"{name}.coolant"
        if part.kind == "pump":
            h0 = v["still_head"] or v["head"] / 0.762
            q0 = v["free_flow"] or v["flow"] / 0.45
            drop = v["off_drop"]
            k_off = drop.value / (h0 * (drop.at["flow_m3_per_s"] / q0) ** PUMP_EXPONENT)
            if v["off"] == "blocks":
                k_off = 1e6
            return Element(PUMP, (h0, q0, PUMP_EXPONENT, k_off), pump_node(ctx, part, branch), (part.name,), part.name)
        if part.kind == "shutoff":
            area, k, _ = ctx.loss_element(v["drop"])
            acts = (actuator_names(part)["open"],)
            return Element(
                THROAT,
                (area, k, k * 1e12),
                junction_node(ctx.plant, junction_name(branch.start)),
                acts,
                part.name,
            )
        if part.kind == "filter":
            area, k, _ = ctx.loss_element(v["drop"])
            return Element(CHANNEL, (0.016, area, 0.0, k), junction_node(ctx.plant, junction_name(branch.start)))
        if "drop" in v and "channel" in v:
            return Element(CHANNEL, ctx.channel_element(part), node)
        return None

    def throat(self, part: Part, positions: tuple[str, ...]) -> Element:
        """Return the element of a way through a valve, open in the given positions."""
        area, k, _ = self.ctx.loss_element(part.values["drop"])
        leak = max(part.values["leak"], 1e-6)
        names = actuator_names(part)
        some_port = part.values["ports"][0]
        return Element(
            THROAT,
            (area, k, k / leak**2),
            f"coolant:{part.name}.{some_port}",
            tuple(names[p] for p in positions),
            part.name,
        )


def hose_length(plant: Plant, branch: Branch) -> float:
    """Return the metres of hose in a branch; the branches of a line with junctions inside share its length evenly."""
    lengths = plant.hoses.get("length") or {}
    line = branch.line or branch.name
    pieces = sum((one.line or one.name) == line for one in plant.nets["coolant"].branches)
    return float(lengths.get(line, plant.hoses["each"])) / pieces


def pump_node(ctx: Context, part: Part, branch: Branch) -> str:
    """Return the node a pump's coolant is taken from and its heat goes to: the next volume in its line."""
    after = branch.parts[branch.parts.index(part.name) + 1 :]
    for name in after:
        if has_volume(ctx.plant.part_at(name)):
            return f"{name}.coolant"
    return (
        f"{branch.name}.hose"
        if hose_length(ctx.plant, branch) > 0
        else junction_node(ctx.plant, junction_name(branch.end))
    )


def lower_coolant(ctx: Context) -> list[FlowNet]:
    """Declare the nodes, streams, pumps and heaters of every coolant line; return the networks."""
    plant, b = ctx.plant, ctx.builder
    hoses = plant.hoses
    speed_column = ctx.column("g_hose_w_per_m_k", lambda env: hoses["loss"] + hoses["loss_moving"] * env.speed_m_per_s)
    for part in plant.of_kind("pump"):
        ctx.actuator(part.name, part.values["ramp"])
    for line in plant.nets["coolant"].branches:
        _declare_junctions(ctx, line)
        sequence = [junction_node(plant, junction_name(line.start))]
        for name in line.parts:
            part = plant.part_at(name)
            if has_volume(part):
                metal = METAL_WITH_COOLANT.get(part.kind, 0.0) * (part.values.get("heat_capacity") or 0.0)
                node = b.node(f"{name}.coolant", ctx.coolant_mass(part.values["volume"], metal), "coolant")
                ctx.inlet["coolant", name] = sequence[-1]
                sequence.append(node)
                _lose_standing(ctx, part, node)
            ctx.flow_of["coolant", name] = f"coolant/{line.name}"
        length = hose_length(plant, line)
        if length > 0:
            node = b.node(f"{line.name}.hose", ctx.coolant_mass(hose_area(hoses["diameter"]) * length), "coolant")
            b.to_boundary(node, "tau_ambient", b.driven(speed_column, 0.0, length), "hoses_to_outside")
            sequence.append(node)
        sequence.append(junction_node(plant, junction_name(line.end)))
        for a, c in pairwise(sequence):
            b.stream(a, c, f"coolant/{line.name}")
            ctx.outlet[a] = c
    nets = build_nets(plant, "coolant", CoolantElements(ctx))
    for net in nets:
        for branch in net.branches:
            if branch.valve:
                b.stream(junction_node(plant, branch.start), junction_node(plant, branch.end), branch.flow)
    _lower_pumps(ctx, nets)
    for part in plant.of_kind("coolant_heater"):
        _lower_heater(ctx, part)
    for part in plant.of_kind("coolant_exchanger"):
        _lower_exchanger(ctx, part)
    return nets


def _lose_standing(ctx: Context, part: Part, node: str) -> None:
    """Let a part's coolant cool by its case: into the trim around an air box, else to the air under the bonnet."""
    if part.kind in ("heater_core", "cooler_core"):
        ctx.builder.link(node, f"{ctx.plant.of_kind('zone')[0].name}.trim", ctx.builder.constant(CASE_W_PER_K))
    elif part.kind not in ("pack", "drive_unit"):
        loss = STILL_RADIATOR_W_PER_K if part.kind == "radiator" else CASE_W_PER_K
        ctx.builder.to_boundary(node, "tau_ambient", ctx.builder.constant(loss), "cases_to_outside")


def _declare_junctions(ctx: Context, line: Branch) -> None:
    """Declare the nodes at both ends of a line, once."""
    b, plant = ctx.builder, ctx.plant
    for end in (line.start, line.end):
        name = junction_name(end)
        node = junction_node(plant, name)
        if node in b.nodes:
            continue
        if end.kind == "tank":
            part = plant.parts[name]
            b.node(node, ctx.coolant_mass(part.values["volume"]), "coolant")
            b.to_boundary(node, "tau_ambient", b.constant(part.values["loss"]), "tanks_to_outside")
        else:
            b.node(node, ctx.coolant_mass(TEE_M3 if end.kind == "tee" else PORT_M3), "coolant")


def _lower_pumps(ctx: Context, nets: list[FlowNet]) -> None:
    """Declare the pumps as devices: idle, efficiency, droop, spin so that rated power is met."""
    for net in nets:
        for branch in net.branches:
            for e in branch.elements:
                if e.kind == PUMP and e.part:
                    v = ctx.plant.parts[e.part].values
                    spin = SPIN_SHARE * v["power"]
                    shaft = max(v["power"] - v["idle"] - spin, 0.05 * v["power"])
                    eff = min(v["flow"] * v["head"] / shaft, 0.9)
                    ctx.devices.append(
                        Device(
                            e.part,
                            DEVICE_PUMP,
                            e.part,
                            e.node,
                            (v["idle"], eff, PUMP_DROOP, spin),
                            branch.flow,
                        )
                    )


def _lower_heater(ctx: Context, part: Part) -> None:
    """An element with its heat capacity, joined to its coolant by a film; power fades with coolant heat."""
    b, v = ctx.builder, part.values
    element = b.node(f"{part.name}.element", v["heat_capacity"])
    surface = ctx.film_surface(part, v["to_coolant"].value, v["to_coolant"])
    flow = ctx.flow_of["coolant", part.name]
    g = b.film(flow, f"{part.name}.coolant", v["channel"], v["flow_area"], surface, math.inf)
    b.link(element, f"{part.name}.coolant", g)
    ctx.actuator(part.name, v["ramp"])
    par = (v["efficiency"], v["limit"] - 273.15, v["stop"] - 273.15, v["power"])
    ctx.devices.append(Device(part.name, DEVICE_HEATER, part.name, element, par, f"{part.name}.coolant"))


def _lower_exchanger(ctx: Context, part: Part) -> None:
    """Join the coolants of two sides by their inlets: one conductance for each pair of directions."""
    b, v = ctx.builder, part.values
    rated = v["ua"]
    sides = [f"{part.name}.a", f"{part.name}.b"]
    shares = (v["a_share"], 1.0 - v["a_share"])
    surfaces = [ctx.film_surface(part, rated.value / share, rated) for share in shares]
    flows = [ctx.flow_of["coolant", side] for side in sides]
    here = [f"{side}.coolant" for side in sides]
    enters = [(ctx.inlet["coolant", side], ctx.outlet[node]) for side, node in zip(sides, here, strict=True)]
    first = b.paired(flows, here, (v["channel"], v["flow_area"], *surfaces))
    for k in range(4):
        b.transfer(enters[0][k // 2], enters[1][k % 2], here[1], here[0], first + k)


def film_to(ctx: Context, part: Part, conductance: float, rated: object) -> int:
    """Return a coolant-film conductance of a part that is `conductance` at the reference of `rated`."""
    surface = ctx.film_surface(part, conductance, rated)  # type: ignore[arg-type]
    v = part.values
    flow = ctx.flow_of["coolant", part.name]
    return ctx.builder.film(flow, f"{part.name}.coolant", v["channel"], v["flow_area"], surface, math.inf)


def core_parameters(ctx: Context, part: Part, mdot_air_ref: float) -> tuple[float, ...]:
    """Return the parameters of a cross-flow core from its overall conductance and the coolant's share."""
    v = part.values
    rated = v["ua"]
    surface = ctx.film_surface(part, rated.value / v["coolant_share"], rated)
    air = rated.value / (1.0 - v["coolant_share"])
    return (v["channel"], v["flow_area"], surface, air, mdot_air_ref, v["air_power"], 2.0)
