"""Air box and front: doors, blower, coils and heaters in cabin air, and the row of exchangers in the wind."""

from __future__ import annotations

from heatwright.compiler.drivers import zone_shares
from heatwright.compiler.lower.context import (
    CP_AIR,
    DEVICE_BLOWER,
    DEVICE_FAN,
    DEVICE_HEATER,
    RHO_AIR,
    Context,
    Device,
    FrontExchanger,
)
from heatwright.compiler.lower.coolant import core_parameters
from heatwright.compiler.networks import (
    CHANNEL,
    PUMP,
    THROAT,
    Element,
    FlowNet,
    actuator_names,
    build_nets,
)
from heatwright.plant.model import Branch, Part

AIR_IN_BOX_KG = 0.02
REFRIGERANT_SHARE = 0.3  # refrigerant's share of an air coil's thermal resistance (common practice)
AIR_COILS = ("evaporator", "cabin_condenser", "cabin_coil")
CORES = ("heater_core", "cooler_core")
BLOWER_EXPONENT = 1.8
BARE_K = 1.0
LOSS_FADES_C = (60.0, 80.0)  # air at a blower's motor between which its deliberate loss fades out (common practice)
STILL_W_PER_K = 1.0  # a coil or its air in a still air box (common practice)
STILL_OUTDOOR_W_PER_K = 3.0  # an outdoor coil in still air (common practice)
FROST_PATH = 0.5  # the front exchangers' share of what holds the air back, clean (common practice)
MELT_W_PER_K = 3000.0  # from a coil's wall to the ice on it (6 m2 of thin water film, value from memory)
OUTSIDE = "outside"


class AirElements:
    """The elements of an air line and of a way through a door."""

    def __init__(self, ctx: Context) -> None:
        self.ctx = ctx

    def line(self, branch: Branch) -> list[Element]:
        """Return the elements of an air line; a bare duct has a small loss."""
        node = air_node(self.ctx, branch.start) or self.ctx.builder.real(f"{self.zone(branch)}.air")
        found = [Element(CHANNEL, (0.2, 0.03, 0.0, BARE_K), node)]
        for name in branch.parts:
            part = self.ctx.plant.parts[name]
            v = part.values
            if part.kind == "blower":
                h0, q0 = v["head"] / 0.72, v["flow"] / RHO_AIR / 0.5
                par = (h0, q0, BLOWER_EXPONENT, 0.5)
                found.append(Element(PUMP, par, node, (name,), name))
            elif part.kind == "shutoff":
                acts = (actuator_names(part)["open"],)
                found.append(Element(THROAT, (0.02, 2.0, 2e6), node, acts, name))
            elif "air_drop" in v:
                area, k = self.ctx.air_loss(v["air_drop"])
                found.append(Element(CHANNEL, (0.2, area, 0.0, k), node))
        return found

    def zone(self, branch: Branch) -> str:
        """Return a zone for the temperature of a line that starts outside."""
        return self.ctx.plant.of_kind("zone")[0].name

    def throat(self, part: Part, positions: tuple[str, ...]) -> Element:
        """Return the element of a way through a door, open in the given positions."""
        area, k = self.ctx.air_loss(part.values["air_drop"])
        leak = max(part.values["leak"], 1e-4)
        names = actuator_names(part)
        node = self.ctx.builder.real(f"{part.name}.air")
        return Element(THROAT, (area, k, k / leak**2), node, tuple(names[p] for p in positions), part.name)


def air_node(ctx: Context, end: object) -> str | None:
    """Return the node of an air junction, None for the outside."""
    kind, name = end.kind, end.name  # type: ignore[attr-defined]
    if kind == "outside":
        return None
    if kind == "tee":
        return ctx.builder.real(f"air:@{name}")
    return ctx.builder.real(f"{name}.air")


def has_air_node(part: Part) -> bool:
    """Return whether air leaves a part at a temperature of its own."""
    return part.kind in (*AIR_COILS, *CORES, "air_heater")


def lower_air(ctx: Context) -> list[FlowNet]:
    """Declare air nodes, streams, blower and air heaters; return the networks."""
    plant, b = ctx.plant, ctx.builder
    lines = plant.nets["air"].branches
    for line in lines:
        for end in (line.start, line.end):
            if end.kind in ("port", "tee"):
                name = f"{end.name}.air" if end.kind == "port" else f"air:@{end.name}"
                if name not in b.nodes:
                    b.node(name, AIR_IN_BOX_KG, "air")
        for name in line.parts:
            if has_air_node(plant.parts[name]):
                node = b.node(f"{name}.air", AIR_IN_BOX_KG, "air")
                for zone, share in zone_shares(plant).items():
                    b.link(node, f"{zone}.trim", b.constant(share * STILL_W_PER_K))
    _merge_junctions(ctx)
    for line in lines:
        _lower_line(ctx, line)
    _lower_ducts(ctx)
    nets = build_nets(plant, "air", AirElements(ctx))
    return nets


def feeding_nodes(ctx: Context, zone: str) -> list[str]:
    """Return the nodes from which air is blown into a zone."""
    return list(dict.fromkeys(node for _, node in _blown_lines(ctx, zone)))


def screen_jet(ctx: Context, zone: str) -> tuple[str, str] | None:
    """Return the flow blown against a zone's screen and the node it comes from; None without an outlet there."""
    ways = _blown_lines(ctx, zone)
    return next(((f"air/{line.name}", node) for line, node in ways if line.end.port == "screen"), None)


def _blown_lines(ctx: Context, zone: str) -> list[tuple[Branch, str]]:
    """Return the lines that end in a zone, each with the node whose air it blows in."""
    found: list[tuple[Branch, str]] = []
    for line in ctx.plant.nets["air"].branches:
        if line.end.kind == "zone" and line.end.name == zone and line.start.kind in ("port", "tee"):
            inside = [n for n in line.parts if has_air_node(ctx.plant.parts[n])]
            node = ctx.builder.real(f"{inside[-1]}.air") if inside else air_node(ctx, line.start)
            if node:
                found.append((line, node))
    return found


def _lower_ducts(ctx: Context) -> None:
    """Give the last node before each zone the ducts' heat capacity and their loss to the trim around them."""
    b = ctx.builder
    for zone in ctx.plant.of_kind("zone"):
        nodes = feeding_nodes(ctx, zone.name)
        for node in nodes:
            b.nodes[node].capacity += zone.values["duct_capacity"] / len(nodes) / CP_AIR
            b.link(node, f"{zone.name}.trim", b.constant(zone.values["duct_loss"] / len(nodes)))


def _merge_junctions(ctx: Context) -> None:
    """Give a junction with one way in the temperature of what comes in, if that has a node of its own."""
    b, plant = ctx.builder, ctx.plant
    incoming: dict[str, list[Branch]] = {}
    for line in plant.nets["air"].branches:
        if line.end.kind in ("port", "tee"):
            name = f"{line.end.name}.air" if line.end.kind == "port" else f"air:@{line.end.name}"
            incoming.setdefault(name, []).append(line)
    for node, ways in incoming.items():
        if len(ways) != 1:
            continue
        inside = [n for n in ways[0].parts if has_air_node(plant.parts[n])]
        source = f"{inside[-1]}.air" if inside else air_node(ctx, ways[0].start)
        if source and b.real(source) != node and ways[0].start.kind != "zone":
            b.merged[node] = b.real(source)


def _lower_line(ctx: Context, line: Branch) -> None:
    """Declare the streams of an air line and its blower and heaters."""
    b, plant = ctx.builder, ctx.plant
    flow = f"air/{line.name}"
    here = air_node(ctx, line.start)
    waiting: list[Part] = []
    for name in line.parts:
        part = plant.parts[name]
        ctx.flow_of["air", name] = flow
        if part.kind == "blower":
            waiting.append(part)
            continue
        if not has_air_node(part):
            continue
        node = f"{name}.air"
        ctx.inlet["air", name] = _stream(ctx, here, node, flow)
        here = node
        _heat_of_blowers(ctx, waiting, node, flow)
        waiting = []
        if part.kind == "air_heater":
            _lower_air_heater(ctx, part, flow)
    end = air_node(ctx, line.end)
    if end is None:
        if here is not None:
            b.boundary_stream(here, "tau_ambient", flow, False, "air_to_outside")
    else:
        _stream(ctx, here, end, flow)
        _heat_of_blowers(ctx, waiting, end, flow)


def _stream(ctx: Context, here: str | None, node: str, flow: str) -> str:
    """Join two air nodes by a stream; from outside it is a boundary stream. Return the inlet node."""
    if here is None:
        ctx.builder.boundary_stream(node, "tau_ambient", flow, True, "air_from_outside")
        return node
    if ctx.builder.real(here) != ctx.builder.real(node):
        ctx.builder.stream(here, node, flow)
    return here


def _heat_of_blowers(ctx: Context, blowers: list[Part], node: str, flow: str) -> None:
    for part in blowers:
        v = part.values
        full = v["flow"]
        ctx.actuator(part.name, v["ramp"])
        par = (full, v["power"] - v["idle"], v["idle"])
        ctx.devices.append(Device(part.name, DEVICE_BLOWER, part.name, node, par, flow))
        if v["deliberate_loss"] is not None:
            loss = ctx.actuator(f"{part.name}.loss", v["ramp"] * v["deliberate_loss"])
            heat = (1.0, *LOSS_FADES_C, v["deliberate_loss"])
            ctx.devices.append(Device(f"{part.name}_loss", DEVICE_HEATER, loss, node, heat, node))


def _lower_air_heater(ctx: Context, part: Part, flow: str) -> None:
    """An element in the air stream: power as asked, fading near its self-limiting temperature."""
    b, v = ctx.builder, part.values
    element = b.node(f"{part.name}.element", v["heat_capacity"])
    rated = v["to_air"]
    g = b.wall_air(flow, rated.value, rated.at["mdot_kg_per_s"], 0.5)
    b.link(element, f"{part.name}.air", b.constant(STILL_W_PER_K))
    b.transfer(element, ctx.inlet["air", part.name], f"{part.name}.air", element, g)
    ctx.actuator(part.name, v["ramp"])
    limit = v["limit"] - 273.15
    par = (v["efficiency"], 0.75 * limit, limit, v["power"])
    ctx.devices.append(Device(part.name, DEVICE_HEATER, part.name, element, par, element))


def lower_coil(ctx: Context, part: Part) -> float:
    """Declare a refrigerant coil in cabin air; return the conductance from refrigerant to its wall [W/K]."""
    b, v = ctx.builder, part.values
    wall = b.node(f"{part.name}.wall", v["heat_capacity"])
    rated = v["ua"]
    flow = ctx.flow_of["air", part.name]
    ua_air = rated.value / (1.0 - REFRIGERANT_SHARE)
    g = b.wall_air(flow, ua_air, rated.at["mdot_kg_per_s"], v["air_power"])
    b.link(wall, f"{part.name}.air", b.constant(STILL_W_PER_K))
    b.transfer(wall, ctx.inlet["air", part.name], f"{part.name}.air", wall, g)
    return rated.value / REFRIGERANT_SHARE


def lower_core(ctx: Context, part: Part) -> None:
    """Declare a coolant core in cabin air: cross flow between both inlets."""
    b = ctx.builder
    air = ctx.flow_of["air", part.name]
    coolant = ctx.flow_of["coolant", part.name]
    par = core_parameters(ctx, part, part.values["ua"].at["mdot_kg_per_s"])
    g = b.cross(coolant, f"{part.name}.coolant", air, par)
    b.transfer(
        ctx.inlet["coolant", part.name],
        ctx.inlet["air", part.name],
        f"{part.name}.air",
        f"{part.name}.coolant",
        g,
    )


def lower_front(ctx: Context) -> dict[str, float]:
    """Declare the wind through the front stack; return refrigerant-side conductances of outdoor coils.

    The value of an outdoor coil is (as condenser); its evaporating one stands under name + ":cold".
    """
    b, plant = ctx.builder, ctx.plant
    out: dict[str, float] = {}
    stack = [plant.parts[n] for n in plant.front_stack if plant.parts[n].kind != "fan"]
    fans = plant.of_kind("fan")
    if not stack:
        return out
    here = b.node("front.inlet", 0.05, "air")
    b.boundary_stream(here, "tau_ambient", "front", True, "front_air_in")
    for part in stack:
        node = b.node(f"{part.name}.wind", 0.05, "air")
        b.stream(here, node, "front")
        mdot_ref = RHO_AIR * part.values["face_area"] * part.values["ua"].at["speed_m_per_s"]
        if part.kind == "radiator":
            par = core_parameters(ctx, part, mdot_ref)
            g = b.cross(ctx.flow_of["coolant", part.name], f"{part.name}.coolant", "front", par)
            b.transfer(ctx.inlet["coolant", part.name], here, node, f"{part.name}.coolant", g)
            met = f"{part.name}.coolant"
        else:
            v = part.values
            wall = b.node(f"{part.name}.wall", v["heat_capacity"])
            air = v["ua"].value / (1.0 - REFRIGERANT_SHARE)
            g = b.wall_air("front", air, mdot_ref, v["air_power"])
            b.to_boundary(wall, "tau_ambient", b.constant(STILL_OUTDOOR_W_PER_K), "cases_to_outside")
            b.transfer(wall, here, node, wall, g)
            met = wall
            ctx.inlet["air", part.name] = here
            out[part.name] = v["ua"].value / REFRIGERANT_SHARE
            out[f"{part.name}:cold"] = 1.0 / max(1.0 / v["ua_evaporating"].value - 1.0 / air, 1e-6)
        ctx.front.append(FrontExchanger(part.name, met, here, g, frost_parameters(part, len(stack))))
        here = node
    b.boundary_stream(here, "tau_ambient", "front", False, "front_air_out")
    for fan in fans:
        ctx.actuator(fan.name, 0.2)
        par = (fan.values["power"] - fan.values["idle"], fan.values["idle"])
        ctx.devices.append(Device(fan.name, DEVICE_FAN, fan.name, here, par))
    return out


def frost_parameters(part: Part, stacked: int) -> tuple[float, ...]:
    """Return what the kernel's frost needs of a front exchanger.

    In order: frost that closes half the way and melt water held [kg], the inner share of the resistance, the share of
    the path's loss, the conductance to melting ice [W/K], and 1 as long as vapour may settle.
    """
    v = part.values
    inner = v["coolant_share"] if part.kind == "radiator" else 0.0
    melts = min(v["ua"].value / inner, MELT_W_PER_K) if inner else MELT_W_PER_K
    path = min(FROST_PATH, 1.0 / stacked)
    return v["frost_full"], v["melt_kept"] * v["frost_full"], min(inner, 0.99), path, melts, 1.0
