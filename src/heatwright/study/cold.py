"""How cold coolant throttles: flow and film of every exchanger with each pump at full speed, warm to cold.

Viscosity rises tenfold from 40 to -20 degC; pumps give less, films turn laminar. The march knows it at every step;
this study shows it alone, from the kernel's own functions.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from textwrap import fill
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.kernel import march as kernel
from heatwright.kernel import plan
from heatwright.physics import coolant, hydraulics
from heatwright.physics.road import SEA_LEVEL_PA
from heatwright.plant.model import Plant
from heatwright.run import plain
from heatwright.study.table import WIDTH, aligned, number
from heatwright.trip.model import Case, Segment, Start

TEMPERATURES_C = (40.0, 30.0, 20.0, 10.0, 0.0, -10.0, -20.0)
ZERO_C_K = 273.15
ZERO = np.uint64(0)
L_PER_MIN = 60_000.0


@dataclass(frozen=True)
class ColdPart:
    """One exchanger at every temperature: volume flow [L/min], coolant film [W/K], Reynolds number [-]."""

    part: str
    line: str
    flow_l_per_min: tuple[float, ...]
    film_w_per_k: tuple[float, ...]
    reynolds: tuple[float, ...]


@dataclass(frozen=True)
class Cold:
    """What `cold_flow` found; `valves` are the coolant valves, each as `name:position` in the position it stood in."""

    plant: str
    valves: tuple[str, ...]
    temperatures_c: tuple[float, ...]
    parts: tuple[ColdPart, ...]

    def as_json(self) -> dict[str, Any]:
        """Return everything as plain JSON values."""
        found: dict[str, Any] = plain(asdict(self))
        return found

    def as_text(self) -> str:
        """Return tables for a terminal."""
        head = f"{self.plant}: coolant at one temperature throughout, every pump at full speed; {self.standing}"
        blocks = [
            self._block("flow, L/min", "flow_l_per_min", 1),
            self._block("coolant film, W/K", "film_w_per_k", 0),
            self._block("Reynolds number", "reynolds", 0),
        ]
        return "\n\n".join([fill(head, WIDTH), *blocks])

    @property
    def standing(self) -> str:
        """Where the coolant valves stood, in words."""
        if not self.valves:
            return "no coolant valve to set"
        stood = ", ".join(" at ".join(name.split(":")) for name in self.valves)
        return f"each coolant valve in its first position: {stood}"

    def _block(self, title: str, key: str, digits: int) -> str:
        rows = [[title, *(f"{number(t, 0)} °C" for t in self.temperatures_c)]]
        rows += [[f"  {one.part}", *(number(v, digits) for v in getattr(one, key))] for one in self.parts]
        return "\n".join(aligned(rows))


def cold_flow(plant: Plant, temperatures_c: Sequence[float] = TEMPERATURES_C) -> Cold:
    """Return flow and film conductance of every coolant-side exchanger over the coolant's temperature.

    All coolant has the same temperature, every pump runs at full speed and valves stand in their first position; a
    part that this leaves without a way has no flow. The films of one part are added up. Raises InputError as
    `compile_program` does.
    """
    program = compile_program(plant, _still())
    flows: dict[tuple[str, str], list[tuple[float, float, float]]] = {}
    for t_c in temperatures_c:
        for key, found in _at(plant, program, float(t_c)).items():
            flows.setdefault(key, []).append(found)
    parts = tuple(
        ColdPart(part, line, *(tuple(column) for column in zip(*rows, strict=True)))
        for (part, line), rows in flows.items()
    )
    return Cold(plant.name, _valves(plant, program), tuple(float(t) for t in temperatures_c), parts)


def _valves(plant: Plant, program: Program) -> tuple[str, ...]:
    """Return the actuators of coolant valves that are open at the start: one position a valve."""
    ends = (end for line in plant.nets["coolant"].branches for end in (line.start, line.end))
    valves = {end.name for end in ends if end.kind == "port" and plant.parts[end.name].kind == "valve"}
    open_ = zip(program.index.actuators, program.act0, strict=True)
    return tuple(name for name, share in open_ if share > 0.0 and name.partition(":")[0] in valves)


def _at(plant: Plant, program: Program, t_c: float) -> dict[tuple[str, str], tuple[float, float, float]]:
    """Return (flow [L/min], film [W/K], Reynolds number) of every (part, line) at one temperature."""
    pi, pf, w = program.pi, program.pf, program.start()
    plan.section(pi, w, "tau")[:] = t_c
    act = plan.section(pi, w, "act")
    for pump in plant.of_kind("pump"):
        act[program.index.actuators.index(pump.name)] = 1.0
    kernel.prepare(pi, pf, w, program.rows[0])
    fit = plan.section(pi, pf, "fluid")
    rho, mu = (float(f(t_c + ZERO_C_K, fit, ZERO)) for f in (coolant.density, coolant.viscosity))
    mdot = plan.section(pi, w, "mdot")
    out: dict[tuple[str, str], tuple[float, float, float]] = {}
    for node, flow, bore, area, film in _films(program, w):
        key = (program.index.nodes[node].removesuffix(".coolant"), program.index.flows[flow].partition("/")[2])
        m = abs(float(mdot[flow]))
        before = out[key][1] if key in out else 0.0
        out[key] = (m / rho * L_PER_MIN, before + film, float(hydraulics.reynolds(m, bore, area, mu)))
    return out


def _films(program: Program, w: NDArray[np.float64]) -> list[tuple[int, int, float, float, float]]:
    """Return (coolant node, flow, bore, area, conductance) of every coolant film of a program."""
    pi, pf = program.pi, program.pf

    def whole(name: str) -> list[int]:
        return [int(k) for k in plan.section(pi, pi, name)]

    g, hfilm = plan.section(pi, w, "g"), plan.section(pi, w, "hfilm")
    walls = plan.section(pi, pf, "gf_par").reshape(-1, 4)
    cores = plan.section(pi, pf, "gx_par").reshape(-1, 7)
    found = [
        (node, flow, float(par[0]), float(par[1]), float(g[k]))
        for node, flow, par, k in zip(whole("gf_n"), whole("gf_m"), walls, whole("gf_g"), strict=True)
    ]
    return found + [
        (node, flow, float(par[0]), float(par[1]), float(h))
        for node, flow, par, h in zip(whole("gx_n"), whole("gx_m"), cores, hfilm, strict=True)
    ]


def _still() -> Case:
    """Return a trip of one second on which nothing acts: only its form is needed, to compile a plant."""
    names = (
        "w_ambient sun_direct_w_per_m2 sun_diffuse_w_per_m2 sun_elevation_rad sun_azimuth_rad occupants wanted occupied"
        " plugged station_w driving rain grade doors_open drying_kg_per_s dynamometer"
    ).split()
    steps = {name: np.zeros(1) for name in names}
    steps |= {name: np.full(1, 293.15) for name in ("t_ambient_k", "t_sky_k", "t_setpoint_k")}
    steps["p_ambient_pa"] = np.full(1, SEA_LEVEL_PA)
    edges = {"speed_m_per_s": np.zeros(2), "altitude_m": np.zeros(2)}
    start = Start(t_start_k=293.15, soc=0.5, t_pack_k=293.15, w_cabin=0.0)
    return Case(
        "still", "", "", "", 1.0, 1, np.array([0.0, 1.0]), (Segment("still", "park", 0, 1),), edges, steps, start
    )  # fmt: skip
