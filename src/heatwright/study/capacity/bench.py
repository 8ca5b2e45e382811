"""A car on a bench: weather and driving constant, cabin and pack held, actuators held, the rest left to settle.

The plant is compiled as for any trip and marched by the kernel; no equation stands here. What cabin air and cells gain
or lose while they are held is read from their energies, so that it counts whatever way the heat comes. Everything else
that is solid settles faster than in the car (with a fiftieth of its heat capacity): only the end of the march is read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.build import compile_program
from heatwright.compiler.lower.bodies import pack_nodes
from heatwright.compiler.program import Program
from heatwright.kernel import circuit_names as cn
from heatwright.kernel import march as kernel
from heatwright.kernel import names, plan
from heatwright.outcome import DRIVE_LIMITS
from heatwright.physics.moist_air import saturation_humidity_ratio
from heatwright.physics.road import SEA_LEVEL_PA
from heatwright.plant.model import Plant
from heatwright.study.point import HELD_TIMES, NONE, RAMP_S
from heatwright.study.settled import dry_front, short_case

Floats = NDArray[np.float64]
CABIN_HUMIDITY = 0.5
FASTER = 0.02
COOLANT_C, DRIVEN_C = 30.0, 60.0
PIECE_S = 30
LEAST_S = 90
LONGEST_S = 3000
HOT_S = 600
STILL_W = 3.0
STILL_K = 0.05
STILL_SHARE = 0.001
LOSSES = "loss_copper_w loss_iron_w loss_rotor_w loss_inverter_w gear_viscous_w gear_churn_w gear_mesh_w".split()


@dataclass(frozen=True)
class Situation:
    """What is held: air outside, cabin, cells; weather and how the car drives (standing at no speed).

    `damp` holds the water of the cabin's air at half of saturation; else it is left to people and outside air.
    """

    t_ambient_k: float
    t_cabin_k: float
    t_pack_k: float
    speed_m_per_s: float = 0.0
    grade: float = 0.0
    sun_w_per_m2: float = 0.0
    people: int = 0
    humidity: float = 0.6
    damp: bool = False


@dataclass(frozen=True)
class Settled:
    """The end of a march: what the air of every zone and the cells gain [W], the zones' gain of water [kg/s], power.

    `p_electric_w` counts heaters, fans, pumps, heat made on purpose, and of compressors that run their standby too.
    `circuits` : by the name of its compressor, whether each refrigerant circuit runs, and its limit (kernel.status).
    `drive_share` is the torque that the drive unit's temperatures allow and `drive_limit` which of them, `capped`
    whether the pack could not give what was asked.
    """

    zones_w: tuple[float, ...]
    pack_w: float
    water_kg_per_s: float
    p_electric_w: float
    circuits: Mapping[str, tuple[bool, int]]
    drive_share: float
    drive_limit: str
    capped: bool
    steady: bool

    @property
    def cabin_w(self) -> float:
        """What the air of all zones gains [W]."""
        return sum(self.zones_w)


class Bench:
    """One situation of one plant, compiled; `settle` marches it with actuators held."""

    def __init__(self, plant: Plant, situation: Situation, like: Program | None = None) -> None:
        self.plant, self.situation = plant, situation
        self.program = compile_program(plant, _case(situation))
        self.row = self.program.rows[-1:].copy()
        index, pi = self.program.index, self.program.pi
        self.pf = self.program.pf.copy()
        dry_front(self.program)
        plan.section(pi, self.pf, "fx_par")[:] = plan.section(pi, self.program.pf, "fx_par")
        self.air = [index.node_place[f"{zone.name}.air"] for zone in plant.of_kind("zone")]
        packs = [name for part in plant.of_kind("pack") for name in pack_nodes(part)]
        self.cells = [index.node_place[name] for name in packs]
        self.circuits = dict(zip(index.circuits, plan.circuits(pi), strict=True))
        self.compressors = [index.actuators.index(name) for name in self.circuits]
        self._capacities()

    def _capacities(self) -> None:
        """Hold cabin air (where asked its water too) and cells; let every other solid settle faster."""
        index, pi = self.program.index, self.program.pi
        mass = plan.section(pi, self.pf, "mass")
        walls = {int(k) for own in self.circuits.values() for k in plan.section(own, own, "rp_wall")}
        for name, k in index.node_place.items():
            part = self.plant.parts.get(name.split(".")[0])
            solid = part is not None and part.kind in ("zone", "pack", "drive_unit", "electronics", "compressor")
            if solid and not name.endswith((".coolant", ".hose")) and k not in walls:
                mass[k] *= FASTER
        mass[self.air + self.cells] *= HELD_TIMES / FASTER
        airs = list(index.air_kg)
        self.zone_air = [airs.index(f"{zone.name}.air") for zone in self.plant.of_kind("zone")]
        if self.situation.damp:
            plan.section(pi, self.pf, "mo_kg")[self.zone_air] *= HELD_TIMES

    @cached_property
    def cell_capacity(self) -> float:
        """Heat capacity of all cells [J/K]."""
        mass, c1 = (plan.section(self.program.pi, self.program.pf, key) for key in ("mass", "c1"))
        return float(np.sum((mass * c1)[self.cells]))

    def settle(self, acts: Mapping[str, float], losses: float | None = None) -> Settled:
        """March with actuators held (those not named rest at 0) until what is gained stands still.

        losses : share of the drive unit's losses that arise; given, its temperatures must stand still as well, and the
        march ends where one of them holds it back.
        """
        program, pi = self.program, self.program.pi
        values = np.array([acts.get(name, 0.0) for name in program.index.actuators])
        row = self.row.copy()
        row[0, [names.DRIVERS.index(key) for key in LOSSES]] *= 1.0 if losses is None else losses
        w = program.start()
        self._place(w, COOLANT_C if losses is None else DRIVEN_C)
        still = values.copy()
        still[self.compressors] = 0.0
        plan.section(pi, w, "act")[:] = still
        kernel.prepare(pi, self.pf, w, row[0])
        rows = np.repeat(row, PIECE_S, axis=0)
        before: Floats | None = None
        steady = False
        z = plan.section(pi, w, "z")
        for first in range(0, LONGEST_S, PIECE_S):
            held = np.repeat(values[None, :], PIECE_S, axis=0)
            held[:, self.compressors] *= np.minimum((first + 1.0 + np.arange(PIECE_S)) / RAMP_S, 1.0)[:, None]
            state = self._state(w)
            capped = float(plan.section(pi, w, "misc")[names.M_CAPPED])
            kernel.march(pi, self.pf, w, rows, 1.0, False, True, held, *NONE)
            now = np.concatenate(((self._state(w) - state) / PIECE_S, self._drive_k(w)))
            steady = (
                before is not None and first >= LEAST_S and _still(before, now, len(self.air) + 1, losses is not None)
            )
            before = now
            hot = losses is not None and first >= HOT_S and z[names.Z_DSHARE] < 1.0
            if steady or hot:
                break
        gained = before if before is not None else np.zeros(len(self.air) + 2)
        capped = float(plan.section(pi, w, "misc")[names.M_CAPPED]) > capped
        return self._read(w, gained, bool(capped), steady)

    def _place(self, w: Floats, coolant_c: float) -> None:
        """Put cabin and cells where they are held; coolant begins warm, as of a car that has been driven hard."""
        tau = plan.section(self.program.pi, w, "tau")
        zones = {zone.name for zone in self.plant.of_kind("zone")}
        for name, k in self.program.index.node_place.items():
            if name.split(".")[0] in zones:
                tau[k] = self.situation.t_cabin_k - 273.15
            elif name.endswith((".coolant", ".hose")):
                tau[k] = max(tau[k], coolant_c)

    def _state(self, w: Floats) -> Floats:
        """Energies of every zone's air and of the cells [J], and water of all zones' air [kg]."""
        u, wet = plan.section(self.program.pi, w, "u"), plan.section(self.program.pi, w, "wet")
        kg = plan.section(self.program.pi, self.pf, "mo_kg")
        rest = [u[self.cells].sum(), float(kg[self.zone_air] @ wet[self.zone_air])]
        return np.concatenate((u[self.air], rest))

    def _drive_k(self, w: Floats) -> Floats:
        """Temperatures of coolant entering, winding, magnets, inverter, oil, housing [K]; none without drive unit."""
        nodes = plan.section(self.program.pi, self.program.pi, "dr_n").astype(int)
        if nodes.size == 0:
            return np.zeros(0)
        return plan.section(self.program.pi, w, "tau")[nodes[[2, 0, 3, 4, 1, 5]]] + 273.15

    def _read(self, w: Floats, gained: Floats, capped: bool, steady: bool) -> Settled:
        pi = self.program.pi
        z = plan.section(pi, w, "z")
        n = len(self.air)
        devices = plan.section(pi, w, "pdev")[: len(self.program.index.devices)]
        circuits, electric = {}, float(devices.sum()) + float(z[names.Z_DHEAT])
        for name, own in self.circuits.items():
            at = plan.section(own, w, "z")
            circuits[name] = bool(at[names.Z_ON] > 0.0), int(at[names.Z_LIMIT])
            if circuits[name][0]:
                electric += float(plan.section(own, w, "cout")[cn.OUT_P_ELECTRIC])
                electric += float(plan.section(own, self.pf, "cx_par")[0])
        return Settled(
            tuple(float(one) for one in gained[:n]), float(gained[n]), float(gained[n + 1]), electric,
            circuits, float(z[names.Z_DSHARE]), ("", *DRIVE_LIMITS)[int(z[names.Z_DLIMIT])], capped, steady,
        )  # fmt: skip

    def loss_w(self) -> float:
        """Return the drive unit's loss in the point of driving [W], at the winding's temperature of the loss map."""
        return float(sum(self.row[0, names.DRIVERS.index(key)] for key in LOSSES))


def _still(before: Floats, now: Floats, heats: int, drive: bool) -> bool:
    """Return whether the first `heats` values [W], and if asked the drive unit's temperatures [K], stand still."""
    moved = np.abs(now - before)
    still = bool(np.all(moved[:heats] <= np.maximum(STILL_W, STILL_SHARE * np.abs(now[:heats]))))
    return still and (not drive or bool(np.all(moved[heats + 1 :] <= STILL_K)))


def _case(s: Situation) -> Any:
    """Return constant weather and driving; the last step is the one that is marched: tyres warm."""
    weather = f'temperature = "{s.t_ambient_k - 273.15:.6g} degC"\nhumidity = "{100.0 * s.humidity:.6g} %"\n'
    if s.sun_w_per_m2 > 0.0:
        weather += f'[sun]\ndirect = "{s.sun_w_per_m2:.6g} W/m2"\nelevation = "90 deg"\n'
    people = f"occupants = {s.people}\n"
    if s.speed_m_per_s > 0.0:
        segment = f'[[segment]]\nkind = "drive"\nrolling = true\nspeed = "{3.6 * s.speed_m_per_s:.6g} km/h"\n'
        segment += 'duration = "2 h"\n'
    else:
        segment = '[[segment]]\nkind = "park"\nconditioned = true\nduration = "2 min"\n'
    start = f'step = "60 s"\n[start]\ntemperature = "{s.t_ambient_k - 273.15:.6g} degC"\ncharge = "60 %"\n'
    start += f'pack_temperature = "{s.t_pack_k - 273.15:.6g} degC"\n'
    case = short_case(weather, segment + people, start)
    level = (CABIN_HUMIDITY, s.t_cabin_k) if s.damp else (s.humidity, s.t_ambient_k)
    water = level[0] * float(saturation_humidity_ratio(level[1], SEA_LEVEL_PA))
    steps = {**case.steps, "grade": np.full(case.n, s.grade)}  # without the height that a climb would gain
    return replace(case, steps=steps, start=replace(case.start, w_cabin=water))
