"""A steady point of a plant's refrigerant circuit: outside, cabin and pack held, the exchangers left to settle.

The plant is compiled as for any trip, on a case of constant weather; everything big (cabin, pack, drive unit,
compressor shell) is given a capacity so large that it stays where it was put, the actuators are held, and the
kernel marches until the walls of the exchangers have settled. No equation stands here: what is shown is the circuit as
the march solves it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.build import compile_program
from heatwright.compiler.compressor_map import map_range
from heatwright.compiler.lower.roles import ValveState
from heatwright.compiler.program import Program
from heatwright.compiler.tables import refrigerant_tables
from heatwright.kernel import circuit_names as cn
from heatwright.kernel import march as kernel
from heatwright.kernel import names, plan
from heatwright.kernel.charge import CH_MASS_KG
from heatwright.kernel.frost import N_PAR, TAKES
from heatwright.kernel.status import (
    CIRCUIT_HELD_OFF,
    CIRCUIT_NOT_SOLVED,
    CIRCUIT_RUNS,
    CIRCUIT_SENTENCES,
    LIMIT_NONE,
    LIMIT_SENTENCES,
    LIMIT_UNSOLVED,
)
from heatwright.physics.moist_air import saturation_humidity_ratio
from heatwright.physics.road import SEA_LEVEL_PA
from heatwright.plant.model import Plant
from heatwright.run import plain
from heatwright.study.point_setting import NOTHING_TO_SET, held_setting, setting_name
from heatwright.study.point_state import CycleState, cycle_states, saturated_at
from heatwright.trip.model import Case, Segment, Start

Floats = NDArray[np.float64]
ZERO_C_K = 273.15
HELD_TIMES = 1e9  # a held body's capacity, times its own
PIECE_S = 20
RAMP_S = 30.0
LONGEST_S = 3600
SETTLED_K = 1e-3  # change of any refrigerant wall over one piece
NONE = np.zeros(0, np.uint32), np.zeros((0, 0), np.float32)


@dataclass(frozen=True)
class Asked:
    """What a point is asked for; without a speed half of the compressor's most, without a pack as warm as outside.

    `setting` names the refrigerant valves' positions, empty for the one that suits the weather (`choose`).
    `fresh` is the share of outside air where a door mixes it with the cabin's, `humidity` that of both airs,
    `wind_m_per_s` the air that meets the car's nose besides what the fan draws; `held` are actuators by name.
    """

    t_ambient_k: float
    t_cabin_k: float
    t_pack_k: float | None = None
    setting: str = ""
    speed_hz: float | None = None
    fresh: float = 0.5
    humidity: float = 0.5
    wind_m_per_s: float = 0.0
    held: Mapping[str, float] = field(default_factory=dict)

    @property
    def pack_k(self) -> float:
        """Temperature of the pack [K]."""
        return self.t_ambient_k if self.t_pack_k is None else self.t_pack_k


@dataclass(frozen=True)
class Exchanger:
    """One refrigerant exchanger: its role, wall temperature, and the heat its wall takes from the refrigerant."""

    name: str
    role: str
    t_wall_k: float
    q_w: float


@dataclass(frozen=True)
class Point:
    """A point as it was found; quantities of the running circuit are None where the compressor does not run.

    Of a plant with several circuits it is the point of the first `compressor`; the others stand as they are held. R744
    has a gas cooler: `t_gas_cooler_k` is the temperature at its outlet, `t_condensing_k` None unless it condenses;
    subcooling and Carnot's bound, which want a condensing temperature, are None.
    """

    plant: str
    refrigerant: str
    setting: str
    asked: Asked
    actuators: Mapping[str, float]
    runs: bool
    status: str
    limit: str | None
    settled: bool
    settled_after_s: float
    speed_asked_hz: float
    speed_hz: float
    p_evaporating_pa: float | None
    t_evaporating_k: float | None
    p_condensing_pa: float | None
    t_condensing_k: float | None
    t_discharge_k: float | None
    superheat_k: float | None
    suction_superheat_k: float | None
    wet_return_margin_k: float | None
    subcooling_k: float | None
    mdot_kg_per_s: float
    p_electric_w: float
    p_shaft_w: float
    p_gas_w: float
    p_shell_w: float
    p_auxiliary_w: float
    p_standby_w: float
    q_hot_w: float
    q_cold_w: float
    residual_w: float
    cop_heating: float | None
    cop_cooling: float | None
    carnot_heating: float | None
    carnot_cooling: float | None
    exchangers: tuple[Exchanger, ...]
    states: tuple[CycleState, ...]
    health: Mapping[str, int]
    provenance: Mapping[str, Any]
    charge_kg: float | None = None
    store_level: float | None = None
    charge: str = "not balanced"
    charge_error_kg: float = 0.0
    compressor_map_left: float = 0.0
    compressor_map_range: str = ""
    t_gas_cooler_k: float | None = None
    compressor: str = ""
    other_compressors: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """Plant, refrigerant and, where there is anything to set, the setting."""
        chosen = "" if self.setting == NOTHING_TO_SET else f", setting {self.setting}"
        return f"{self.plant}, {self.refrigerant}{chosen}"

    def as_json(self) -> dict[str, Any]:
        """Return everything as plain JSON values."""
        found: dict[str, Any] = plain(asdict(self))
        return found


def operating_point(plant: Plant, asked: Asked) -> Point:
    """Return the steady point of a plant's refrigerant circuit.

    A limit that binds is named, and a point that cannot run is reported as such; neither is an error. Raises
    InputError for a plant without a circuit, an unknown setting or actuator, or a value out of its range, all
    together, and as `compile_program` does.
    """
    program = compile_program(plant, steady_case(asked))
    state, values = held_setting(plant, program, asked)
    w, settled, elapsed_s = settle(plant, program, asked, values)
    return _read(plant, program, asked, state, values, w, settled, elapsed_s)


def steady_case(asked: Asked) -> Case:
    """Return one second of constant weather at night, the car at rest and nobody aboard."""
    still = (
        "sun_direct_w_per_m2 sun_diffuse_w_per_m2 sun_elevation_rad sun_azimuth_rad occupants wanted occupied plugged"
        " station_w driving rain grade doors_open drying_kg_per_s dynamometer"
    ).split()
    steps = {name: np.zeros(1) for name in still}
    steps |= {name: np.full(1, asked.t_ambient_k) for name in ("t_ambient_k", "t_sky_k")}
    steps |= {"t_setpoint_k": np.full(1, asked.t_cabin_k), "p_ambient_pa": np.full(1, SEA_LEVEL_PA)}
    steps["w_ambient"] = np.full(1, _water(asked.t_ambient_k, asked.humidity))
    edges = {"speed_m_per_s": np.full(2, asked.wind_m_per_s), "altitude_m": np.zeros(2)}
    start = Start(asked.t_ambient_k, 0.8, asked.pack_k, _water(asked.t_cabin_k, asked.humidity))
    segments = (Segment("steady", "park", 0, 1),)
    return Case("steady", "", "", "", 1.0, 1, np.array([0.0, 1.0]), segments, edges, steps, start)


def _water(t_k: float, humidity: float) -> float:
    return humidity * float(saturation_humidity_ratio(t_k, SEA_LEVEL_PA))


def held_nodes(plant: Plant, program: Program) -> list[int]:
    """Return the places of the nodes that stay as they were put: bodies of cabin, pack, drive unit, compressor."""
    bodies = {part.name for part in plant.of_kind("zone", "pack", "drive_unit", "electronics", "compressor")}
    ends = (".coolant", ".hose", ".plate")
    return [
        program.index.node_place[node]
        for node in program.index.nodes
        if node.split(".")[0] in bodies and not node.endswith(ends)
    ]


def settle(plant: Plant, program: Program, asked: Asked, values: Floats) -> tuple[Floats, bool, float]:
    """March until the refrigerant walls stand still; return the work array, whether they do, and how long it took."""
    pi, pf, w = program.pi, program.pf.copy(), program.start()
    held = held_nodes(plant, program)
    plan.section(pi, pf, "mass")[held] *= HELD_TIMES
    plan.section(pi, pf, "fx_par")[int(TAKES) :: N_PAR] = 0.0  # a steady point has dry exchangers in the wind
    airs = list(program.index.air_kg)
    plan.section(pi, pf, "mo_kg")[[airs.index(f"{zone.name}.air") for zone in plant.of_kind("zone")]] *= HELD_TIMES
    tau = plan.section(pi, w, "tau")
    zones = {zone.name for zone in plant.of_kind("zone")}
    for node, k in program.index.node_place.items():
        if node.split(".")[0] in zones:
            tau[k] = asked.t_cabin_k - ZERO_C_K
    plan.section(pi, w, "act")[:] = [0.0, *values[1:]]
    row = program.rows[:1]
    plan.section(pi, w, "ext")[names.X_LIQUID_KG] = 0.0
    kernel.prepare(pi, pf, w, row[0])
    rows = np.repeat(row, PIECE_S, axis=0)
    walls = plan.section(pi, pi, "rp_wall").astype(int)
    for first in range(0, LONGEST_S, PIECE_S):
        before, speed = tau[walls].copy(), float(plan.section(pi, w, "cout")[cn.OUT_SPEED])
        acts = np.repeat(values[None, :], PIECE_S, axis=0)
        acts[:, 0] *= np.minimum((first + 1.0 + np.arange(PIECE_S)) / RAMP_S, 1.0)
        kernel.march(pi, pf, w, rows, 1.0, False, True, acts, *NONE)
        moved = float(np.max(np.abs(tau[walls] - before)))
        new = float(plan.section(pi, w, "cout")[cn.OUT_SPEED])
        if first > RAMP_S and moved < SETTLED_K and abs(new - speed) <= 1e-2 * max(speed, 1.0):
            return w, True, float(first + PIECE_S)
    return w, False, float(LONGEST_S)


def _read(
    plant: Plant,
    program: Program,
    asked: Asked,
    state: ValveState,
    values: Floats,
    w: Floats,
    settled: bool,
    elapsed_s: float,
) -> Point:
    """Return the point that a work array holds after the march."""
    pi = program.pi
    out, q, tw, z = (plan.section(pi, w, name) for name in ("cout", "cq", "tw", "z"))
    runs = bool(z[names.Z_ON] > 0.0)
    limit = int(z[names.Z_LIMIT])
    status = CIRCUIT_RUNS if runs else CIRCUIT_NOT_SOLVED if limit == LIMIT_UNSOLVED else CIRCUIT_HELD_OFF
    own, *others = (part.name for part in plant.of_kind("compressor"))
    fluid = str(plant.fluid_of(own)["refrigerant"])
    tab = plan.section(pi, program.pf, "cp_tab")
    roles = {**dict.fromkeys(state.hot, "hot"), **dict.fromkeys(state.cold, "cold")}
    ports = zip(program.index.ports, tw, q, strict=True)
    devices = plan.section(pi, w, "pdev")[: len(program.index.devices)]
    hot, cold = float(q[q > 0.0].sum()), float(np.abs(q[q < 0.0]).sum())
    te, tc, electric = (float(out[k]) for k in (cn.OUT_T_EVAP, cn.OUT_T_COND, cn.OUT_P_ELECTRIC))
    tables = refrigerant_tables(fluid)
    cooler = tc if runs and tables.transcritical else None
    lift = tc - te if runs and tc > te and cooler is None else None

    def of(k: int) -> float | None:
        return float(out[k]) if runs else None

    return Point(
        plant=plant.name, refrigerant=fluid, setting=setting_name(state), asked=asked,
        actuators={name: float(v) for name, v in zip(program.index.actuators[1:], values[1:], strict=True)},
        runs=runs, status=CIRCUIT_SENTENCES[status], limit=None if limit == LIMIT_NONE else LIMIT_SENTENCES[limit],
        settled=settled, settled_after_s=elapsed_s, speed_asked_hz=float(values[0]), speed_hz=float(out[cn.OUT_SPEED]),
        p_evaporating_pa=of(cn.OUT_P_LOW), t_evaporating_k=of(cn.OUT_T_EVAP), p_condensing_pa=of(cn.OUT_P_HIGH),
        t_condensing_k=of(cn.OUT_T_COND) if cooler is None else saturated_at(tables, float(out[cn.OUT_P_HIGH])),
        t_discharge_k=of(cn.OUT_T_DISCHARGE), superheat_k=of(cn.OUT_SUPERHEAT),
        suction_superheat_k=of(cn.OUT_SUCTION_SUPERHEAT), wet_return_margin_k=of(cn.OUT_WET_MARGIN),
        subcooling_k=of(cn.OUT_SUBCOOLING) if cooler is None else None,
        mdot_kg_per_s=float(out[cn.OUT_MDOT]), p_electric_w=electric, p_shaft_w=float(out[cn.OUT_P_SHAFT]),
        p_gas_w=float(out[cn.OUT_P_GAS]), p_shell_w=float(out[cn.OUT_P_SHELL]), p_auxiliary_w=float(devices.sum()),
        p_standby_w=float(plan.section(pi, program.pf, "cx_par")[0]) if runs else 0.0,
        q_hot_w=hot, q_cold_w=cold, residual_w=hot - cold - float(out[cn.OUT_P_GAS]),
        cop_heating=hot / electric if runs else None, cop_cooling=cold / electric if runs else None,
        carnot_heating=tc / lift if lift else None, carnot_cooling=te / lift if lift else None,
        exchangers=tuple(Exchanger(n, roles.get(n, "off"), float(t), float(heat)) for n, t, heat in ports),
        states=cycle_states(out, tab, tables) if runs else (), t_gas_cooler_k=cooler,
        health=_health(program, w), provenance=dict(program.provenance), compressor=own,
        other_compressors=tuple(others), **_charge(program, w, runs),
    )  # fmt: skip


def _health(program: Program, w: Floats) -> dict[str, int]:
    """Return how many steps on the way had an unsolved circuit or unsolved flows."""
    counts = dict(zip(names.COUNTERS, plan.section(program.pi, w, "misc"), strict=False))
    return {key: int(counts[key]) for key in ("circuit_failed", "flow_failed")}


CHARGE_WORDS = {0: "enough", 1: "short", -1: "over"}


def _charge(program: Program, w: Floats, runs: bool) -> dict[str, Any]:
    """Return what the mass balance and the compressor's map say of the point."""
    par, out, z = (plan.section(program.pi, w, name) for name in ("cpnow", "cout", "z"))
    at = int(par[cn.PAR_CHARGE])
    found: dict[str, Any] = {"compressor_map_left": float(z[names.Z_MAPLEFT]), "compressor_map_range": map_range(par)}
    if at == 0 or not runs:
        return found
    level = float(out[cn.OUT_LEVEL])
    return found | {
        "charge_kg": float(par[at + int(CH_MASS_KG)]),
        "store_level": level if np.isfinite(level) else None,
        "charge": CHARGE_WORDS[int(out[cn.OUT_CHARGE_SHORT])],
        "charge_error_kg": float(out[cn.OUT_CHARGE_ERROR_KG]),
    }


SWEPT = {"ambient": "t_ambient_k", "cabin": "t_cabin_k", "pack": "t_pack_k", "speed": "speed_hz"}


def sweep_points(
    plant: Plant,
    asked: Asked,
    name: str,
    values: Sequence[float],
    progress: Callable[[float, float], None] | None = None,
) -> tuple[Point, ...]:
    """Return the points with one of `SWEPT` going through values [K, or 1/s for the speed]."""
    found = []
    for k, value in enumerate(values):
        change: dict[str, Any] = {SWEPT[name]: float(value)}
        found.append(operating_point(plant, replace(asked, **change)))
        if progress is not None:
            progress(k + 1, len(values))
    return tuple(found)
