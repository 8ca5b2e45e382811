"""Compile a plant and a trip to a Program: lower every part, number everything, pack it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from heatwright.compiler.about import facts_of, provenance_of
from heatwright.compiler.circuits import circuit_sections, extra_size, start_extra, work_sizes
from heatwright.compiler.comfort import surroundings
from heatwright.compiler.drive_table import DriveTable, drive_table
from heatwright.compiler.drivers import converter_loss_w, driver_rows
from heatwright.compiler.lower import air, bodies, cabin, coolant, refrigerant
from heatwright.compiler.lower.context import RHO_AIR, Context
from heatwright.compiler.lower.control import ControlSections, lower_control
from heatwright.compiler.lower.moisture import Moisture, lower_moisture, moisture_sections
from heatwright.compiler.networks import FlowNet, actuator_names, net_sections
from heatwright.compiler.program import Index, Program
from heatwright.kernel import charge as charge_kernel
from heatwright.kernel import circuit_names as circuit_kernel
from heatwright.kernel import names, plan
from heatwright.kernel.frost import PLACES
from heatwright.physics import pack as pack_physics
from heatwright.physics.moist_air import H_FUSION_J_PER_KG, ZERO_C_K
from heatwright.physics.motor import SILICON_CARBIDE, Machine
from heatwright.physics.network import scratch_size
from heatwright.physics.screen_ice import ICE_J_PER_KG_K
from heatwright.plant.kinds_comfort import COMFORT_HEATERS
from heatwright.sensors import Sensors

OUTPUTS = "pack drive_copper drive_iron drive_rotor drive_inverter drive_gear compressor_shell charger".split()
FAN_FREE_M_PER_S = 2.4


def compile_program(
    plant: Any, case: Any, like: Program | None = None, sensors: Sensors | None = None, all_signals: bool = False
) -> Program:
    """Return the Program of a plant on a trip.

    like : a Program of the same plumbing, body and trip, whose driver rows, refrigerant tables and provenance
    are taken over instead of being worked out again. sensors : what the strategy reads through; left out, it reads what
    is there. Raises InputError when the plant lacks what the kernel
    needs, ValueError when `like` is not alike. Nothing is marched and no file is written except the caches of
    refrigerant and drive tables. A plant that goes on many trips is lowered once (`lower_plant`).
    """
    return lower_plant(plant, sensors, all_signals, like).on(case, like)


@dataclass(frozen=True, eq=False)
class Lowered:
    """A plant whose parts are lowered, numbered and packed: all of a Program but what the trip says."""

    plant: Any
    ctx: Context
    circuits: Sequence[refrigerant.Circuit]
    place: dict[str, int]
    pi: np.ndarray
    pf: np.ndarray
    work_size: int
    dwell_s: float
    index: Index
    sensors: Sensors | None

    @cached_property
    def _drive(self) -> DriveTable | None:
        drives = self.plant.of_kind("drive_unit")
        return drive_table(machine_of(drives[0])) if drives else None

    def on(self, case: Any, like: Program | None = None) -> Program:
        """Return the Program on a trip; it shares nothing that may be written to with others of this plant."""
        plant, ctx, columns = self.plant, self.ctx, self.ctx.builder.columns
        if like is None:
            rows, origin = driver_rows(plant, case, columns, ctx.columns, self._drive), provenance_of(plant, case)
        elif np.array_equal(self.pi, like.pi) and like.index.columns == tuple(columns):
            rows, origin = like.rows, dict(like.provenance)
        else:
            raise ValueError("the plants are not alike: they differ in more than numbers")
        zone = plant.of_kind("zone")[0].name
        return Program(
            plant.name, case.name, self.pi.copy(), self.pf.copy(), self.work_size, rows, case.dt_s,
            _start_tau(plant, case, self.place), _start_extra(case, self.circuits),
            np.array([ctx.first.get(a, 0.0) for a in ctx.builder.actuators]), self.dwell_s,
            self.index, origin, facts_of(plant),
            air.feeding_nodes(ctx, zone)[0], zone, plant.about,
            tuple(f"{a.owner}.{a.key} = {a.text} ({a.source})" for a in plant.assumed),
            surroundings=surroundings(plant), sensors=self.sensors,
        )  # fmt: skip


def lower_plant(
    plant: Any, sensors: Sensors | None = None, all_signals: bool = False, like: Program | None = None
) -> Lowered:
    """Return a plant lowered for any number of trips; arguments and errors as of `compile_program`."""
    ctx = Context(plant)
    circuits, nets = _lower(ctx)
    b = ctx.builder
    b.flows = [branch.flow for net in nets for branch in net.branches]
    b.flows.append("front")
    device_names = [d.name for d in ctx.devices]
    b.outputs = [*(f"heat:{n}" for n in device_names), *OUTPUTS, *(one.output for one in circuits[1:])]
    b.terms[names.N_TERMS : names.N_TERMS] = [f"use:{n}" for n in device_names]
    for d in ctx.devices:
        b.source(d.node, f"heat:{d.name}", d.share, f"heat:{d.name}")
        if d.second:
            b.source(d.second, f"heat:{d.name}", 1.0 - d.share, f"heat:{d.name}")
    for f in ctx.front:
        b.source(f.wall, f"frost:{f.name}", 1.0, "latent_frost")
        b.source(f.wall, f"melt:{f.name}", 1.0, "melt")
    moist = lower_moisture(ctx, cabin.zone_shares(ctx), bool(circuits))
    ints, floats, place = b.heat_sections(ctx.fit_cp())
    control = lower_control(ctx, place, sensors, all_signals)
    _extend(ints, floats, net_sections(nets, place, b.flows, b.actuators))
    _extend(ints, floats, (control.ints, control.floats))
    _extend(ints, floats, _device_sections(ctx, nets, place))
    _extend(ints, floats, _body_sections(ctx, place))
    *first, further = circuit_sections(ctx, circuits, like)
    _extend(ints, floats, (first[0], first[1]))
    _extend(ints, floats, _zone_sections(ctx, place))
    _extend(ints, floats, _frost_sections(ctx, place))
    *sections, wet_slots = moisture_sections(ctx, moist, place)
    _extend(ints, floats, (sections[0], sections[1]))
    ints["dim"] += [0, len(b.actuators), len(control.rules)]
    floats["fluid"] = list(ctx.fit)
    pi, pf, size = plan.pack(ints, floats, _work_sizes(ints, floats, ctx, nets, control, wet_slots, circuits), further)
    return Lowered(
        plant, ctx, circuits, place, pi, pf, size, control.dwell_s, _index(ctx, place, circuits, control, moist),
        sensors,
    )  # fmt: skip


def refrigerant_charge_kg(plant: Any) -> float | None:
    """Return the refrigerant in a plant's circuits [kg]; None where one has no mass balance (no vessel, or R744)."""
    circuits, _ = _lower(Context(plant))
    at = [int(one.parameters[circuit_kernel.PAR_CHARGE]) for one in circuits]
    if not all(at):
        return None
    masses = (one.parameters[k + int(charge_kernel.CH_MASS_KG)] for one, k in zip(circuits, at, strict=True))
    return float(sum(masses)) or None


def _lower(ctx: Context) -> tuple[list[refrigerant.Circuit], list[FlowNet]]:
    """Lower every part of the plant in an order that has lines before what stands in them."""
    plant = ctx.plant
    for door in plant.of_kind("door", "valve", "shutoff"):
        if door.kind == "valve" and any(
            door.name in (line.start.name, line.end.name) for line in plant.nets["refrigerant"].branches
        ):
            continue
        for k, name in enumerate(actuator_names(door).values()):
            ctx.actuator(name, 1.0 / door.values["stroke"], 1.0 if k == 0 else 0.0)
    coolant_nets = coolant.lower_coolant(ctx)
    air_nets = air.lower_air(ctx)
    for core in plant.of_kind("heater_core", "cooler_core"):
        air.lower_core(ctx, core)
    outdoor = air.lower_front(ctx)
    circuits = refrigerant.lower_refrigerant(ctx, outdoor)
    shares = cabin.zone_shares(ctx)
    for zone in plant.of_kind("zone"):
        cabin.lower_zone(ctx, zone, shares[zone.name], _blown_flow(plant), air.screen_jet(ctx, zone.name))
    first_zone = plant.of_kind("zone")[0].name
    for pack in plant.of_kind("pack"):
        bodies.lower_pack(ctx, pack, shares)
    for unit in plant.of_kind("drive_unit"):
        bodies.lower_drive(ctx, unit)
    for part in plant.of_kind("electronics"):
        bodies.lower_electronics(ctx, part)
    for pad in plant.of_kind("pad"):
        bodies.lower_pad(ctx, pad)
    for heater in plant.of_kind(*COMFORT_HEATERS):
        bodies.lower_comfort_heater(ctx, heater, first_zone)
    return circuits, [*coolant_nets, *air_nets]


def _blown_flow(plant: Any) -> str:
    """Return the flow through the blower."""
    lines = plant.nets["air"].branches
    return next((f"air/{ln.name}" for ln in lines if any(plant.parts[p].kind == "blower" for p in ln.parts)), "front")


def _extend(ints: dict, floats: dict, more: tuple[dict, dict]) -> None:
    ints.update(more[0])
    floats.update(more[1])


def _device_sections(ctx: Context, nets: list[FlowNet], place: dict[str, int]) -> tuple[dict, dict]:
    """Return the sections of heaters, pumps, blowers and fans."""
    b = ctx.builder
    element_of: dict[str, int] = {}
    k = 0
    for net in nets:
        for branch in net.branches:
            for e in branch.elements:
                if e.part:
                    element_of[e.part] = k
                k += 1
    d = ctx.devices
    ints = {
        "dv_kind": [x.kind for x in d],
        "dv_act": [b.actuators.index(x.actuator) for x in d],
        "dv_n": [place[x.flow] if x.kind == 0 else place[x.node] for x in d],
        "dv_el": [element_of.get(x.name, 0) for x in d],
        "dv_m": [b.flows.index(x.flow) if x.flow in b.flows else 0 for x in d],
    }
    return ints, {"dv_par": [v for x in d for v in (*x.par, *[0.0] * (6 - len(x.par)))]}


def _body_sections(ctx: Context, place: dict[str, int]) -> tuple[dict, dict]:
    """Return the sections of pack, drive unit and front."""
    plant, b = ctx.plant, ctx.builder
    ints: dict[str, list[int]] = {}
    floats: dict[str, Any] = {}
    packs = plant.of_kind("pack")
    v = packs[0].values
    cell = (pack_physics.LFP if v["chemistry"] == "lfp" else pack_physics.NMC).copy()
    cell[pack_physics.PLATING, 1] *= v["charge_factor"]
    ints["pk_n"] = [place[n] for n in bodies.pack_nodes(packs[0])]
    nominal = pack_physics.ocv_v(0.5, cell, float(v["series"]))
    floats["pk_par"] = [
        float(v["series"]), v["resistance"], v["age"], v["activation"], v["energy"], v["charge_current"], v["regen"],
        v["energy"] / nominal, v["discharge"], v["series"] * v["cell_floor"], float(cell.shape[0]),
        float(cell.shape[2]), v["limit"], v["stop"],
    ]  # fmt: skip
    floats["pk_cell"] = cell
    drives = plant.of_kind("drive_unit")
    ints["dr_n"] = [place[n] for n in bodies.drive_nodes(ctx, drives[0])] if drives else []
    holders = bodies.holders_of(plant, "charger")
    ints["ch_n"] = [place[f"{part.name}.body"] for part in holders]
    ints["dr_act"] = [b.actuators.index(a) for a in (f"{d.name}.loss" for d in drives) if a in b.actuators]
    floats["dr_lim"] = bodies.drive_limits_k(ctx, drives[0]) if drives else []
    body = plant.body
    floats["dr_par"] = [
        body["charger"],
        body["charger_fixed"],
        body["charger_share"],
        body["charger_square"],
        (drives[0].values["deliberate_loss"] or 0.0) if drives else 0.0,
        drives[0].values["loss_efficiency"] if drives else 1.0,
        body["load_awake"] + converter_loss_w(body, body["load_awake"]),
        float(bool(holders)),
        min((part.values["limit"] for part in holders), default=0.0),
    ]
    fans = plant.of_kind("fan")
    face = max((plant.parts[n].values.get("face_area", 0.0) for n in plant.front_stack), default=0.27)
    fan = b.actuators.index(fans[0].name) if fans else 0
    free = fans[0].values["flow"] / (RHO_AIR * face) if fans else FAN_FREE_M_PER_S
    ints["fr_idx"] = [b.flows.index("front"), fan]
    floats["fr_par"] = [face, free]
    return ints, floats


def _frost_sections(ctx: Context, place: dict[str, int]) -> tuple[dict, dict]:
    """Return the sections of the exchangers that frost may grow on."""
    y = ctx.builder.outputs.index
    ints = {
        "fx_n": [place[f.wall] for f in ctx.front],
        "fx_a": [place[f.air] for f in ctx.front],
        "fx_g": [f.g for f in ctx.front],
        "fx_y": [y(f"frost:{f.name}") for f in ctx.front],
        "fx_x": [y(f"melt:{f.name}") for f in ctx.front],
    }
    return ints, {"fx_par": [x for f in ctx.front for x in f.par]}


def _zone_sections(ctx: Context, place: dict[str, int]) -> tuple[dict, dict]:
    """Return the sections of the first zone's air and glass."""
    plant = ctx.plant
    zone = plant.of_kind("zone")[0]
    ints = {
        "zn_air": [place[f"{zone.name}.air"]],
        "zn_glass": [place[f"{zone.name}.glass_{g}"] for g in plant.glass],
    }
    return ints, {}


def _work_sizes(
    ints: dict,
    floats: dict,
    ctx: Context,
    nets: list[FlowNet],
    control: ControlSections,
    wet_slots: int,
    circuits: list[refrigerant.Circuit],
) -> dict[str, int]:
    """Return the length of every section of the work array."""
    b = ctx.builder
    n, n_slot = ints["dim"][0], ints["dim"][2]
    n_el = len(ints["el_kind"])
    scratch = max((scratch_size(len(net.junctions), len(net.branches)) for net in nets), default=1)
    extra = sum(extra_size(one) for one in circuits) or names.N_EXTRA
    frost = PLACES * len(ctx.front)
    airs, holders = len(floats["mo_kg"]), len(ints["mh_y"])
    wet = 2 * airs + holders + len(ints["mi_y"]) + names.N_WATER
    state = n + extra + frost + wet + len(b.terms)
    return {
        "u": n, "ext": extra, "frost": frost, "wet": wet, "acc": len(b.terms),
        "tau": n, "taun": n, "cap": n, "cps": n, "hof": n,
        "a": n_slot, "b": n, "g": b.n_g, "mdot": len(b.flows), "tb": len(b.boundaries),
        "y": len(b.outputs), "pdev": len(ctx.devices) + 3, "act": len(b.actuators), "actx": len(b.actuators),
        "sig": len(ints["sg_kind"]), "z": names.N_DERIVED * max(len(circuits), 1),
        "cs": 4 + control.latches + 3 * len(b.actuators), "misc": names.N_COUNTERS,
        "hfilm": len(ints["gx_g"]), "edrive": n_el, "erho": n_el, "emu": n_el,
        "tlast": len(ints["net_node"]), "ttol": len(ints["net_node"]), "mlast": len(b.flows), "moved": len(b.flows),
        "net_w": scratch, "net_p": sum(len(net.junctions) for net in nets),
        "save": 2 * state + n, "gfilm": b.n_g,
        "seen": 1 + 2 * len(ints["sg_kind"]) if "sg_par" in floats else 0,
        "wa": wet_slots, "wb": airs, "hold": 3 * holders, "dew": len(floats["mz_share"]),
        **(work_sizes(circuits[0]) if circuits else {}),
    }  # fmt: skip


def _start_tau(plant: Any, case: Any, place: dict[str, int]) -> np.ndarray:
    """Return every node's start temperature [degC]: soaked, the pack on its own."""
    tau = np.full(max(place.values()) + 1, case.start.t_start_k - 273.15)
    for pack in plant.of_kind("pack"):
        for name, k in place.items():
            if name.startswith(f"{pack.name}."):
                tau[k] = case.start.t_pack_k - 273.15
    return tau


def _start_extra(case: Any, circuits: Sequence[refrigerant.Circuit]) -> np.ndarray:
    ext = start_extra(circuits)
    ext[names.X_SOC] = case.start.soc
    ext[names.X_W] = case.start.w_cabin
    ext[names.X_ICE] = case.start.ice_kg_per_m2
    cold_k = max(ZERO_C_K - case.start.t_start_k, 0.0)
    ext[names.X_ICEHEAT] = H_FUSION_J_PER_KG + ICE_J_PER_KG_K * cold_k
    return ext


def machine_of(part: Any) -> Machine:
    """Return the electric machine a drive unit declares; what the file leaves out keeps the model's own default."""
    v = part.values
    wanted: dict[str, Any] = {
        "pole_pairs": v["pole_pairs"], "psi_wb": v["flux"], "l_d_h": v["ld"], "l_q_h": v["lq"], "r_ohm": v["rs"],
        "i_max_a": v["current"], "omega_max_rad_per_s": v["speed"] * 2 * np.pi,
    }  # fmt: skip
    inverter: dict[str, Any] = SILICON_CARBIDE if v["inverter"] == "sic" else {}
    return Machine(**wanted, **inverter)


def _index(
    ctx: Context,
    place: dict[str, int],
    circuits: list[refrigerant.Circuit],
    control: ControlSections,
    moist: Moisture,
) -> Index:
    b = ctx.builder
    order = sorted({k: n for n, k in reversed(place.items()) if n not in b.merged}.items())
    stores: dict[str, list[int]] = {}
    for k, name in order:
        stores.setdefault(_store_of(ctx, name), []).append(k)
    return Index(
        tuple(n for _, n in order), place, tuple(b.flows), tuple(b.columns), tuple(b.terms), tuple(b.outputs),
        tuple(b.actuators), tuple(d.name for d in ctx.devices), control.rules,
        circuits[0].ports if circuits else (), {s: tuple(ks) for s, ks in stores.items()},
        tuple(f.name for f in ctx.front), dict(moist.nodes), {h.name: h.area_m2 for h in moist.holders},
        {one.name: one.area_m2 for one in moist.iced}, tuple(one.compressor for one in circuits), control.signals,
    )  # fmt: skip


def _store_of(ctx: Context, node: str) -> str:
    """Return the body or group whose stored heat a node belongs to."""
    owner = node.split(".")[0]
    part = ctx.plant.parts.get(owner)
    if part is not None and part.kind in ("pack", "drive_unit", "zone", "electronics"):
        return owner if not node.endswith(".coolant") else "coolant"
    if node.endswith((".coolant", ".hose")) or node.startswith("coolant:"):
        return "coolant"
    return "refrigerant_side" if node.endswith((".wall", ".shell")) else "air_side"
