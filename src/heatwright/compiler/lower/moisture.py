"""The cabin's air as a network of humidities: which nodes, streams, leaks, coils and panes of the heat network."""

from __future__ import annotations

from dataclasses import dataclass, field

from heatwright.compiler.elimination import plan_elimination
from heatwright.compiler.lower.air import AIR_IN_BOX_KG
from heatwright.compiler.lower.cabin import GLASS_BRIDGE
from heatwright.compiler.lower.context import CP_AIR, RHO_AIR, Context
from heatwright.physics.fog import mass_transfer_kg_per_m2s
from heatwright.plant.model import Part

RADIATING_W_PER_M2K = 4.0  # the part of an inside film that is radiation and moves no vapour (common practice)
COILS = ("evaporator", "cabin_coil")
COOLERS = ("cooler_core",)
SCREEN = "screen"


@dataclass(frozen=True)
class Holder:
    """A coil wall or pane that water settles on: from which air node, out of which, on what, by which conductance."""

    name: str
    inlet: str
    out: str
    node: str
    g: int
    zone: int
    par: tuple[float, float, float]
    flow: str = ""
    area_m2: float = 0.0


@dataclass(frozen=True)
class Iced:
    """A screen that ice may lie on outside: its holder, its conductances, what acts outside, its area and capacity."""

    name: str
    node: str
    air: str
    g_inside: int
    g_outside: int
    column: str
    sun: str
    jet: str
    g_jet: int
    area_m2: float
    sun_share: float
    capacity: float


@dataclass
class Moisture:
    """The network as named things: air masses [kg] by node, holders (coils first), zones with their share of people."""

    nodes: dict[str, float] = field(default_factory=dict)
    holders: list[Holder] = field(default_factory=list)
    zones: list[tuple[str, int, float]] = field(default_factory=list)
    iced: list[Iced] = field(default_factory=list)

    @property
    def coils(self) -> list[Holder]:
        """The holders that are coils."""
        return [h for h in self.holders if h.flow]


def lower_moisture(ctx: Context, shares: dict[str, float], with_coils: bool) -> Moisture:
    """Declare the latent heats of coils and panes and return the network; everything else is lowered already."""
    b, plant = ctx.builder, ctx.plant
    zones = plant.of_kind("zone")
    front = {n for *ends, flow in b.streams if flow == "front" for n in ends}
    front |= {node for node, _, flow, *_ in b.outside_streams if flow == "front"}
    out = Moisture()
    for name, spec in b.nodes.items():
        if spec.fluid == "air" and name not in b.merged and name not in front:
            out.nodes[name] = AIR_IN_BOX_KG
    for k, zone in enumerate(zones):
        air = f"{zone.name}.air"
        out.nodes[air] = zone.values["air"] * RHO_AIR
        leak = next(g for node, _, g, term in b.outside_links if node == air and term == "leaks_to_outside")
        out.zones.append((air, leak, shares[zone.name]))
        out.holders += [_pane(ctx, zone, k, name, shares[zone.name]) for name in plant.glass]
    cold = [*(plant.of_kind(*COILS) if with_coils else ()), *plant.of_kind(*COOLERS)]
    out.holders[:0] = [_coil(ctx, part) for part in cold]
    for h in out.holders:
        b.source(h.node, f"latent:{h.name}", 1.0, "heat:latent")
    out.iced = [_iced(ctx, h) for h in out.holders if h.node.endswith(f".glass_{SCREEN}")]
    for one in out.iced:
        b.source(one.node, f"ice:{one.name}", 1.0, "heat:ice")
    return out


def _iced(ctx: Context, h: Holder) -> Iced:
    """A screen pane with what its own node exchanges."""
    b = ctx.builder
    column, g_outside = next((column, g) for node, column, g, _ in b.outside_links if node == h.node)
    sun, share = next((column, share) for node, column, share, _ in b.driver_sources if node == h.node)
    jets = ((p, g) for p, q, into, _, g in b.transfers if into == h.node and q == h.inlet)
    jet, g_jet = next(jets, (h.inlet, h.g))  # without a jet the zone's air against itself: nothing
    capacity = b.nodes[h.node].capacity
    return Iced(h.name, h.node, h.inlet, h.g, g_outside, column, sun, jet, g_jet, h.area_m2, share, capacity)


def _coil(ctx: Context, part: Part) -> Holder:
    """A coil wall: water goes with the coil's own conductance, up to what the fins hold.

    A cooler core has no wall of its own: its coolant stands for it, with the conductance from coolant to air.
    """
    core = part.kind in COOLERS
    wall, out = f"{part.name}.coolant" if core else f"{part.name}.wall", f"{part.name}.air"
    from_node = ctx.inlet["coolant", part.name] if core else wall
    g = next(g for p, q, into, _, g in ctx.builder.transfers if p == from_node and into == out and q != into)
    flow = ctx.flow_of["air", part.name]
    par = (1.0 / CP_AIR, 0.0, max(part.values["holds"], 1e-9))
    return Holder(part.name, ctx.inlet["air", part.name], out, wall, g, 0, par, flow)


def _pane(ctx: Context, zone: Part, k: int, name: str, share: float) -> Holder:
    """A pane: vapour goes with the convective part of its inside film."""
    node, air = f"{zone.name}.glass_{name}", f"{zone.name}.air"
    g = next(g for p, q, *_, g in ctx.builder.transfers if p == node and q == air)
    area = ctx.plant.glass[name]["area"] * share
    one = float(mass_transfer_kg_per_m2s(1.0))
    par = (one / (zone.values["ua_factor"] * GLASS_BRIDGE), one * RADIATING_W_PER_M2K * area, 0.0)
    return Holder(f"{zone.name}_{name}", air, air, node, g, k, par, area_m2=area)


def moisture_sections(ctx: Context, net: Moisture, place: dict[str, int]) -> tuple[dict, dict, int]:
    """Return the sections of the network and the places of its matrix, once every node of heat has its place."""
    b = ctx.builder
    at = {name: k for k, name in enumerate(net.nodes)}

    def local(name: str) -> int:
        return at[b.real(name)]

    inner = [(a, c, f) for a, c, f in b.streams if b.real(a) in at and b.real(c) in at and b.real(a) != b.real(c)]
    outer = [s for s in b.outside_streams if b.real(s[0]) in at]
    pairs = [(local(a), local(c)) for a, c, _ in inner] + [(local(h.out), local(h.inlet)) for h in net.holders]
    elim = plan_elimination(len(at), pairs)
    ints: dict[str, list[int]] = {
        "mo_elim": elim.programme,
        "ms_a": [local(a) for a, *_ in inner],
        "ms_b": [local(c) for _, c, _ in inner],
        "ms_m": [b.flows.index(f) for *_, f in inner],
        "ms_ab": [elim.slot[local(a), local(c)] for a, c, _ in inner],
        "ms_ba": [elim.slot[local(c), local(a)] for a, c, _ in inner],
        "mb_n": [local(node) for node, *_ in outer],
        "mb_m": [b.flows.index(flow) for _, _, flow, *_ in outer],
        "mb_d": [int(inward) for *_, inward, _ in outer],
        "mz_n": [local(air) for air, *_ in net.zones],
        "mz_g": [g for _, g, _ in net.zones],
        "mo_coil": [b.flows.index(h.flow) for h in net.coils],
        "mh_i": [local(h.inlet) for h in net.holders],
        "mh_o": [local(h.out) for h in net.holders],
        "mh_s": [elim.slot[local(h.out), local(h.inlet)] for h in net.holders],
        "mh_node": [place[h.node] for h in net.holders],
        "mh_g": [h.g for h in net.holders],
        "mh_z": [h.zone for h in net.holders],
        "mh_y": [b.outputs.index(f"latent:{h.name}") for h in net.holders],
        "mi_glass": [place[one.node] for one in net.iced],
        "mi_air": [place[one.air] for one in net.iced],
        "mi_ga": [one.g_inside for one in net.iced],
        "mi_go": [one.g_outside for one in net.iced],
        "mi_col": [b.columns.index(one.column) for one in net.iced],
        "mi_sun": [b.columns.index(one.sun) for one in net.iced],
        "mi_h": [b.outputs.index(f"latent:{one.name}") for one in net.iced],
        "mi_y": [b.outputs.index(f"ice:{one.name}") for one in net.iced],
        "mi_jet": [place[b.real(one.jet)] for one in net.iced],
        "mi_gj": [one.g_jet for one in net.iced],
    }
    floats = {
        "mo_kg": list(net.nodes.values()),
        "mz_share": [share for *_, share in net.zones],
        "mh_par": [x for h in net.holders for x in h.par],
        "mi_par": [x for one in net.iced for x in (one.area_m2, one.sun_share, one.capacity)],
    }
    return ints, floats, len(elim.slot)
