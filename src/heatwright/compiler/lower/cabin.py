"""The cabin: air, sunlit skin, slow trim, shell, panes one by one, people, leaks and sun."""

from __future__ import annotations

from collections.abc import Mapping

from heatwright.compiler import drivers
from heatwright.compiler.builder import Builder
from heatwright.compiler.lower.context import CP_AIR, RHO_AIR, Context
from heatwright.physics import cabin as physics
from heatwright.plant.model import Part

GLASS_BRIDGE = 1.3  # frames, seals and body bridges around glass (common practice, fitted to known heating loads)
GLASS_J_PER_K_M2 = 0.005 * 2500.0 * 800.0  # 5 mm of glass (handbook density and heat capacity)


def zone_shares(ctx: Context) -> dict[str, float]:
    """Return each zone's share of glass, shell, sun and people: as declared, else by air volume."""
    return drivers.zone_shares(ctx.plant)


def lower_zone(ctx: Context, part: Part, share: float, air_flow: str, jet: tuple[str, str] | None) -> None:
    """Declare a zone. `air_flow` is the blown flow into it, `jet` the one on the screen and whence it comes."""
    b, v, z = ctx.builder, part.values, part.name
    mass = v["air"] * RHO_AIR
    air = b.node(f"{z}.air", mass * v["air_factor"], "air")
    skin = b.node(f"{z}.skin", v["skin"])
    trim = b.node(f"{z}.trim", v["trim"])
    b.link(skin, trim, b.constant(v["skin_to_trim"]))
    rated = v["trim_to_air"]
    reference = rated.at["mdot_kg_per_s"]
    b.link(skin, air, _blown(b, air_flow, v["skin_to_air"], v["skin_still"], reference))
    b.link(trim, air, _blown(b, air_flow, rated.value, v["trim_still"], reference))
    _shell(ctx, part, share, air_flow, reference)
    for name, glass in ctx.plant.glass.items():
        _pane(ctx, part, name, glass, share, air_flow, jet if name == "screen" else None, reference)
    leak = ctx.column(
        f"g_{z}_leak_w_per_k",
        lambda env: CP_AIR * env.leak_kg_per_s(part, share),
    )
    b.to_boundary(air, "tau_ambient", b.driven(leak, 0.0, v["ua_factor"]), "leaks_to_outside")
    people = ctx.column("q_people_w", lambda env: physics.SENSIBLE_W * env.occupants)
    b.driver_source(air, people, share, "people")
    drying = ctx.column("q_drying_w", lambda env: env.drying_w())
    b.driver_source(air, drying, -share, "drying")
    sun = ctx.column("q_sun_cabin_w", lambda env: env.sun_transmitted())
    on_skin, on_air = v["sun_on_skin"], v["sun_on_air"]
    b.driver_source(skin, sun, share * on_skin, "sun")
    b.driver_source(air, sun, share * on_air, "sun")
    b.driver_source(trim, sun, share * (1.0 - on_skin - on_air), "sun")


def _blown(b: Builder, flow: str, rated: float, still: float, reference: float) -> int:
    """A conductance that grows evenly from its share with the blower off to its value at the reference flow [W/K]."""
    return b.flow_linear(flow, rated * still, rated * (1.0 - still) / reference)


def _shell(ctx: Context, part: Part, share: float, air_flow: str, reference: float) -> None:
    """The opaque body: a node between an inner and an outer half of its resistance."""
    b, v, z = ctx.builder, part.values, part.name
    factor = v["ua_factor"]
    shell = b.node(f"{z}.shell", v["shell_capacity"])
    area = v["shell_area"]
    half = 0.5 / v["shell"]
    film = v["inside_film"] * area
    full, still = 1.0 / (1.0 / film + half), 1.0 / (1.0 / (film * v["film_still"]) + half)
    b.link(shell, f"{z}.air", _blown(b, air_flow, full * factor, still / full, reference))
    column = ctx.column(f"g_{z}_shell_w_per_k", lambda env: 1.0 / (half + 1.0 / (env.outside_film() * area)))
    outside = ctx.column("tau_outside_shell", lambda env: env.shell_outside_k() - 273.15)
    b.to_boundary(shell, outside, b.driven(column, 0.0, 1.0), "cabin_shell_to_outside")
    sun = ctx.column("q_sun_shell_w", lambda env: env.sun_on_shell())
    b.driver_source(shell, sun, share, "sun")


def _pane(
    ctx: Context,
    part: Part,
    name: str,
    glass: Mapping[str, float],
    share: float,
    air_flow: str,
    jet: tuple[str, str] | None,
    reference: float,
) -> None:
    """One pane (its share for this zone): its node is the inner face; glass and outer film stand outside it."""
    b, v, z = ctx.builder, part.values, part.name
    factor = v["ua_factor"] * GLASS_BRIDGE
    area = glass["area"] * share
    node = b.node(f"{z}.glass_{name}", area * GLASS_J_PER_K_M2)
    film = v["inside_film"]
    still = v["film_still"] * film
    flow, full = (air_flow, film) if jet is None else (jet[0], v["jet_film"])
    blown = reference if jet is None else share * reference  # a share of the pane has its share of the jet
    g = b.flow_linear(flow, still * area * factor, (full - still) * area * factor / blown)
    b.link(node, f"{z}.air", g)
    if jet is not None:  # the air at the pane is warmer, or colder, than the cabin's by what the jet has kept
        kept = b.flow_linear(flow, 0.0, v["jet_kept"] * (full - still) * area * factor / blown)
        b.transfer(jet[1], f"{z}.air", node, f"{z}.air", kept)
    resistance = glass["resistance"]
    column = ctx.column(f"g_glass_{name}_w_per_m2k", lambda env: 1.0 / (resistance + 1.0 / env.glass_outside(name)[0]))
    outside = ctx.column(f"tau_outside_glass_{name}", lambda env: env.glass_outside(name)[1] - 273.15)
    b.to_boundary(node, outside, b.driven(column, 0.0, area * factor), "glass_to_outside")
    sun = ctx.column(f"q_sun_glass_{name}_w", lambda env: env.sun_absorbed(name))
    b.driver_source(node, sun, share, "sun")
