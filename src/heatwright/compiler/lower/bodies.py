"""Pack and drive unit: their nodes, the links inside, to coolant, to cabin and to the outside."""

from __future__ import annotations

import math
from collections.abc import Mapping

from heatwright.compiler.lower.context import DEVICE_HEATER, Context, Device
from heatwright.compiler.lower.coolant import film_to
from heatwright.plant.model import Part, Plant

CELL_TO_CELL = 40.0  # W/K between neighbouring cell groups of a 75 kWh pack (common practice)
COMFORT_FADE_C = (50.0, 60.0)  # air, or pane, over which a heater at the body or in a pane gives up (common practice)
PLATE_SHARE = 0.02  # share of the pack's heat capacity that is plate metal (common practice)


def pack_nodes(part: Part) -> list[str]:
    """Return the names of a pack's cell nodes, in the coolant's order."""
    return [f"{part.name}.cells_{k + 1}" for k in range(int(part.values["nodes"]))]


def lower_pack(ctx: Context, part: Part, shares: Mapping[str, float]) -> None:
    """Cell groups in a row, each to the outside, every zone's floor by its share and, if there is one, the plate."""
    b, v = ctx.builder, part.values
    names = pack_nodes(part)
    n = len(names)
    plated = v["plate"] is not None
    capacity = v["heat_capacity"] * (1.0 - (PLATE_SHARE if plated else 0.0))
    still, moving = v["to_outside"] / n, v["to_outside_moving"] / n
    for k, name in enumerate(names):
        b.node(name, capacity / n)
        b.to_boundary(name, "tau_ambient", b.driven("speed", still, moving), "pack_to_outside")
        for zone, share in shares.items():
            b.link(name, f"{zone}.trim", b.constant(share * v["to_cabin"] / n))
        b.source(name, "pack", 1.0 / n, "pack_heat")
        if k:
            b.link(names[k - 1], name, b.constant(CELL_TO_CELL * v["energy"] / 2.7e8))
    if plated:
        plate = b.node(f"{part.name}.plate", PLATE_SHARE * v["heat_capacity"])
        for name in names:
            b.link(name, plate, b.constant(v["cells_to_plate"] / n))
        b.link(plate, f"{part.name}.coolant", film_to(ctx, part, v["plate"].value, v["plate"]))


def lower_drive(ctx: Context, part: Part) -> None:
    """Winding, iron, rotor, oil, inverter, its case and the housing; four films to the jacket."""
    b, v, p = ctx.builder, part.values, part.name
    kinds = ("winding", "iron", "rotor", "oil", "inverter", "case", "housing")
    total = sum(v[f"{k}_capacity"] for k in kinds)
    scale = v["heat_capacity"] / total if v["heat_capacity"] else 1.0
    for k in kinds:
        b.node(f"{p}.{k}", v[f"{k}_capacity"] * scale)
    b.link(f"{p}.winding", f"{p}.iron", b.constant(v["winding_to_iron"]))
    turning = ctx.column(
        f"g_{p}_gap_w_per_k",
        lambda env: v["rotor_to_iron"] + v["rotor_to_iron_turning"] * env.motor_rad_per_s,
    )
    b.link(f"{p}.rotor", f"{p}.iron", b.driven(turning, 0.0, 1.0))
    b.link(f"{p}.rotor", f"{p}.oil", b.constant(v["rotor_to_oil"]))
    b.link(f"{p}.iron", f"{p}.housing", b.constant(v["iron_to_housing"]))
    b.link(f"{p}.oil", f"{p}.housing", b.constant(v["oil_to_housing"]))
    b.link(f"{p}.inverter", f"{p}.case", b.constant(v["inverter_to_coolant"]))
    outside = ctx.column(
        f"g_{p}_outside_w_per_k",
        lambda env: (
            v["to_outside"] + env.moving * (v["to_outside_driving"] + v["to_outside_moving"] * env.speed_m_per_s)
        ),
    )
    b.to_boundary(f"{p}.housing", "tau_ambient", b.driven(outside, 0.0, 1.0), "drive_to_outside")
    if ("coolant", p) in ctx.flow_of:
        links = {k: v[f"{k}_to_coolant"] for k in ("iron", "oil", "inverter", "case")}
        share = v["jacket"].value / sum(links.values())
        for k, g in links.items():
            b.link(f"{p}.{k}", f"{p}.coolant", film_to(ctx, part, g * share, v["jacket"]))
    for k, node in (
        ("copper", "winding"),
        ("iron", "iron"),
        ("rotor", "rotor"),
        ("inverter", "inverter"),
        ("gear", "oil"),
    ):
        b.source(f"{p}.{node}", f"drive_{k}", 1.0, "drive_losses")
    if v["deliberate_loss"] is not None:
        ctx.actuator(f"{p}.loss", math.inf)


def drive_nodes(ctx: Context, part: Part) -> list[str]:
    """Return the nodes the kernel watches of a drive unit (kernel.drive): without coolant the housing stands in."""
    p = part.name
    cooled = ("coolant", p) in ctx.flow_of
    entering = ctx.inlet["coolant", p] if cooled else f"{p}.housing"
    around = f"{p}.coolant" if cooled else f"{p}.case"
    own = (f"{p}.{k}" for k in ("rotor", "inverter", "housing", "iron"))
    return [f"{p}.winding", f"{p}.oil", entering, *own, around, f"{p}.case"]


def drive_limits_k(ctx: Context, part: Part) -> list[float]:
    """Return where each watched temperature begins to hold the unit back, in the order of physics.drive_limits."""
    v = part.values
    entering = v["coolant_limit"] if ("coolant", part.name) in ctx.flow_of else v["limit"]
    return [entering, *(v[f"{k}_limit"] for k in ("winding", "rotor", "inverter", "oil")), v["limit"]]


def lower_electronics(ctx: Context, part: Part) -> None:
    """One lump with a jacket; its losses are those of charger and converter."""
    b, v, p = ctx.builder, part.values, part.name
    b.node(f"{p}.body", v["heat_capacity"])
    column = ctx.column(
        f"g_{p}_outside_w_per_k", lambda env: v["to_outside"] + v["to_outside_moving"] * env.speed_m_per_s
    )
    b.to_boundary(f"{p}.body", "tau_ambient", b.driven(column, 0.0, 1.0), "electronics_to_outside")
    if ("coolant", p) in ctx.flow_of:
        b.link(f"{p}.body", f"{p}.coolant", film_to(ctx, part, v["jacket"].value, v["jacket"]))
    if v["holds"] != "charger":
        share = 1.0 / len(holders_of(ctx.plant, "converter"))
        b.driver_source(f"{p}.body", "converter_inside_w", share, "converter_loss")
    if v["holds"] != "converter":
        b.source(f"{p}.body", "charger", 1.0 / len(holders_of(ctx.plant, "charger")), "charger_heat")


def holders_of(plant: Plant, what: str) -> list[Part]:
    """Return the electronics whose body takes up the loss of the "charger" or the "converter"."""
    return [part for part in plant.of_kind("electronics") if part.values["holds"] in ("both", what)]


def lower_pad(ctx: Context, part: Part) -> None:
    """An electric mat whose heat enters the body's cell groups evenly."""
    target = ctx.plant.parts[part.values["on"]]
    ctx.actuator(part.name, math.inf)
    first, *others = pack_nodes(target)
    share = 1.0 / (1 + len(others))
    par = (part.values["efficiency"], 60.0, 70.0, part.values["power"])
    ctx.devices.append(Device(part.name, DEVICE_HEATER, part.name, first, par, first, share=share))
    for node in others:
        ctx.builder.source(node, f"heat:{part.name}", share, f"heat:{part.name}")


def lower_comfort_heater(ctx: Context, part: Part, first_zone: str) -> None:
    """A heater at the body or in a pane: what reaches the body ends in the zone's air, the rest where it lies."""
    v = part.values
    zone = v["zone"] or first_zone
    ctx.actuator(part.name, math.inf)
    par = (v["efficiency"], *COMFORT_FADE_C, v["power"])
    if part.kind == "screen_heater":
        node, rest, share = f"{zone}.glass_{v['pane']}", "", 1.0
    else:
        surface = "skin" if part.kind == "radiant_panel" else "trim"
        node, rest, share = f"{zone}.air", f"{zone}.{surface}", v["share"]
    ctx.devices.append(Device(part.name, DEVICE_HEATER, part.name, node, par, node, rest, share))
