"""An independent meter: the ledger worked out again from a run's saved series.

The march books heat with coefficients frozen over a step. The meter knows none of them: it takes
temperatures, flows and powers from the series, energies from the property functions (`coolant.enthalpy`,
`moist_air.enthalpy`) and adds them up over the steps. From the Program it takes facts only: masses and heat
capacities, which node a stream leaves, conductances to the outside, driver rows, standby power.

Sums follow the rule of the march. Where it is of first order, a flow counts with the value at the end of
its step: small volumes follow their inlet within a step, so the mean of both ends would mix a new flow with
an old temperature. Where it is of second order, the trapezoid. A difference counts relative to the greatest
of the two values and `FLOOR` of all that crossed the boundary.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.program import Program
from heatwright.kernel import frost, names, plan
from heatwright.outcome import slug
from heatwright.physics import coolant, moist_air
from heatwright.physics.front_frost import film_factor
from heatwright.run import Run
from heatwright.simulate import of_circuit

Floats = NDArray[np.float64]

CP_AIR = 1006.0
FLOOR = 1e-3
ZERO_C_K = 273.15
J_PER_KWH = 3.6e6
STREAMED = ("gf_g", "ga_g", "gx_g", "gl_g", "gp_g")  # conductances that depend on a flow: never to the outside


def meter(program: Program, run: Run) -> dict[str, Any]:
    """Return every store change and boundary term as metered beside the ledger's [J], and the worst gap.

    Keys: `terms` and `uses` (electric energies) {name: {metered_j, booked_j, relative}}, `worst_relative`
    and `worst_term` of the terms, `worst_use_relative`, `missing` (terms the meter cannot see),
    `balance_relative` (sum of the metered terms over the throughput), `bus_w` (greatest imbalance of the
    electric powers), `flow_imbalance` (greatest of all nodes: what flows in less out, over what flows
    through), `water_kg` {from_people, exchanged, condensed, stored, residual}. Raises KeyError for a run
    whose series are not those of the program.
    """
    m = _Metered(program, run)
    found = {**m.stores(), **m.streams(), **m.links(), **m.rows(), **m.powers(), **m.frost(), **m.ice()}
    booked = run.ledger["terms_j"]
    floor = FLOOR * run.ledger["boundary_j"]
    used = m.uses()
    spent = {name: kwh * J_PER_KWH for name, kwh in run.energy_kwh.items() if name in used}
    terms, uses = _beside(found, booked, floor), _beside(used, spent, floor)
    worst = max(terms, key=lambda name: terms[name]["relative"])
    through = run.ledger["throughput_j"]
    return {
        "terms": terms,
        "uses": uses,
        "worst_term": worst,
        "worst_relative": terms[worst]["relative"],
        "worst_use_relative": max(one["relative"] for one in uses.values()),
        "missing": sorted(set(booked) - set(found)),
        "balance_relative": sum(one["metered_j"] for one in terms.values()) / through if through else 0.0,
        "bus_w": float(np.max(np.abs(m.bus()))),
        "flow_imbalance": m.flow_imbalance(),
        "water_kg": m.water(),
    }


def metered(program: Program, run: Run) -> Run:
    """Return the run with the meter's worst disagreement and worst flow imbalance in its health."""
    read = meter(program, run)
    found = {
        "meter_worst_relative": read["worst_relative"],
        "meter_worst_term": read["worst_term"],
        "meter_flow_imbalance_relative": read["flow_imbalance"],
    }
    return replace(run, health={**run.health, **found})


def _beside(metered: Mapping[str, float], booked: Mapping[str, float], floor: float) -> dict[str, dict[str, float]]:
    """Return both values of every name that both have, and their relative difference."""
    out = {}
    for name in booked:
        if name in metered:
            scale = max(abs(metered[name]), abs(booked[name]), floor)
            relative = abs(metered[name] - booked[name]) / scale if scale > 0.0 else 0.0
            out[name] = {"metered_j": metered[name], "booked_j": booked[name], "relative": relative}
    return out


class _Metered:
    """The series of one run seen through the property functions."""

    def __init__(self, program: Program, run: Run) -> None:
        self.program, self.run, self.index = program, run, program.index
        self.second_order = run.provenance.get("accuracy") == "high"
        self.fit = self._real("fluid")
        self.n_coolant = int(self._whole("dim")[1])
        self.mass = self._real("mass")
        self.capacity = self.mass * self._real("c1")
        self.flows = [self._series(f"mdot_{slug(name)}_kg_per_s") for name in self.index.flows]

    def _whole(self, name: str) -> list[int]:
        return [int(k) for k in plan.section(self.program.pi, self.program.pi, name)]

    def _real(self, name: str) -> Floats:
        return plan.section(self.program.pi, self.program.pf, name)

    def _series(self, name: str) -> Floats:
        return np.asarray(self.run.series[name], float)[1:]

    def _column(self, name: str) -> Floats:
        return self.program.rows[:, self.index.columns.index(name)]

    def _kelvin(self, node: int) -> Floats:
        return np.asarray(self.run.series[f"t_{slug(self.index.nodes[node])}_k"], float)

    def _in_step(self, node: int) -> Floats:
        """Return the temperature that stands for each step, by the rule of the march [K]."""
        t_k = self._kelvin(node)
        return 0.5 * (t_k[1:] + t_k[:-1]) if self.second_order else t_k[1:]

    def _enthalpy(self, node: int, t_k: Floats) -> Floats:
        """Return the enthalpy of a node's fluid above 273.15 K [J/kg]; air counts dry, as in the march."""
        if node < self.n_coolant:
            return coolant.enthalpy.py_func(t_k, self.fit, 0)
        return moist_air.enthalpy.py_func(t_k, 0.0)

    def _total(self, power_w: Floats) -> float:
        return float(np.sum(power_w) * self.program.dt_s)

    def stores(self) -> dict[str, float]:
        """Return minus the gain of every store."""
        out: dict[str, float] = {}
        for store, nodes in self.index.stores.items():
            gained = 0.0
            for k in nodes:
                ends = self._kelvin(k)[[0, -1]]
                if k < self.n_coolant:
                    ends = self.mass[k] * self._enthalpy(k, ends)
                else:
                    ends = self.capacity[k] * (ends - ZERO_C_K)
                gained += float(ends[1] - ends[0])
            out[f"stored_in_{store}"] = -gained
        return out

    def streams(self) -> dict[str, float]:
        """Return the enthalpy of the streams that cross the boundary, by ledger term."""
        out: dict[str, float] = {}
        columns = self._whole("tb_col")
        parts = (self._whole(key) for key in ("bs_n", "bs_m", "bs_d", "bs_b", "bs_acc"))
        for node, flow, inward, boundary, term in zip(*parts, strict=True):
            into = self.flows[flow] if inward else -self.flows[flow]
            outside = self._enthalpy(node, self.program.rows[:, columns[boundary]] + ZERO_C_K)
            inside = self._enthalpy(node, self._in_step(node))
            name = self.index.terms[term]
            out[name] = out.get(name, 0.0) + self._total(into * np.where(into >= 0.0, outside, inside))
        return out

    def links(self) -> dict[str, float]:
        """Return the heat through every conductance to the outside, by ledger term."""
        out: dict[str, float] = {}
        columns, constant = self._whole("tb_col"), self._real("gc")
        law = zip(self._whole("gd_col"), self._real("g_c0"), self._real("g_c1"), strict=True)
        driven = dict(zip(self._whole("gd_g"), law, strict=True))
        streamed = {g for key in STREAMED for g in self._whole(key)}
        parts = (self._whole(key) for key in ("bt_q", "bt_b", "bt_g", "bt_acc"))
        unseen = set()
        for node, boundary, g, term in zip(*parts, strict=True):
            name = self.index.terms[term]
            if g in streamed:
                unseen.add(name)
            column, c0, c1 = driven.get(g, (0, constant[g], 0.0))
            conductance = c0 + c1 * self.program.rows[:, column]
            outside = self.program.rows[:, columns[boundary]]
            heat = conductance * (outside - (self._in_step(node) - ZERO_C_K))
            out[name] = out.get(name, 0.0) + self._total(heat)
        return {name: value for name, value in out.items() if name not in unseen}

    def rows(self) -> dict[str, float]:
        """Return the heats that come straight from the trip: sun, people, converter."""
        out: dict[str, float] = {}
        parts = (self._whole("sd_col"), self._real("sd_c"), self._whole("sd_acc"))
        for column, share, term in zip(*parts, strict=True):
            name = self.index.terms[term]
            out[name] = out.get(name, 0.0) + self._total(share * self.program.rows[:, column])
        return out

    def standby(self) -> Floats:
        """Return the standby power of every compressor [W]."""
        plans = plan.circuits(self.program.pi)
        idle = [float(plan.section(pi, self.program.pf, "cx_par")[0]) for pi in plans]
        return self._over_circuits("compressor_on", idle)

    def _over_circuits(self, name: str, weights: Sequence[float]) -> Floats:
        """Return the weighted sum of a series over the refrigerant circuits."""
        total = np.zeros(len(self.program.rows))
        for number, (circuit, weight) in enumerate(zip(self.index.circuits, weights, strict=True)):
            total = total + weight * self._series(of_circuit(circuit, name) if number else name)
        return total

    def compressors(self) -> Floats:
        """Return the power of every compressor, standby left out [W]."""
        return self._over_circuits("p_compressor_w", [1.0] * len(self.index.circuits))

    def bus(self) -> Floats:
        """Return pack and station power less every use of it, the charger left out [W]."""
        uses = self._series("p_traction_w") + self._series("p_low_voltage_w") + self.compressors()
        uses = uses + self.standby() + self._series("p_drive_heat_w")
        for device in self.index.devices:
            uses = uses + self._series(f"p_{slug(device)}_w")
        return self._series("p_pack_w") + self.supply() - uses

    def supply(self) -> Floats:
        """Return what leaves the charger: station power s solves s = supply + its losses; a fast one has none [W]."""
        _, fixed, share, square = self._real("dr_par")[:4]
        s = self._series("p_station_w")
        rest = np.maximum(s - fixed, 0.0)
        after = 2.0 * rest / (1.0 + share + np.sqrt((1.0 + share) ** 2 + 4.0 * square * rest))
        return np.where(self._column("fast") > 0.0, s, after)

    def powers(self) -> dict[str, float]:
        """Return the electric and mechanical boundary terms."""
        station = self._series("p_station_w")
        braked = self._series("p_friction_brake_w")
        short = self._series("p_drive_short_w") - self._column("wheel_short_w")
        wheel = self._column("wheel_w") * self._column("driving") + braked - short
        kinds, par = self._whole("dv_kind"), self._real("dv_par")
        lost = np.zeros_like(station)
        for k, device in enumerate(self.index.devices):
            if kinds[k] == 0:
                lost += (1.0 - par[6 * k]) * self._series(f"p_{slug(device)}_w")
        reaches, inside = self._real("dr_par")[[5, 7]]
        lost += (1.0 - reaches) * self._series("p_drive_heat_w")
        vapour = float(moist_air.enthalpy.py_func(ZERO_C_K, 1.0) - moist_air.enthalpy.py_func(ZERO_C_K, 0.0))
        kept = self._column("converter_inside_w")
        return {
            "pack_chemistry": self._total(self._series("p_pack_w") + self._series("q_pack_w")),
            "station": self._total(station),
            "charger_loss": -(1.0 - inside) * self._total(station - self.supply()),
            "road_work": -self._total(wheel),
            "low_voltage": -self._total(self._series("p_low_voltage_w") - kept),
            "heater_loss": -self._total(lost),
            "latent": vapour * self.condensed(),
            "compressor_standby": -self._total(self.standby()),
        }

    def ice(self) -> dict[str, float]:
        """Return the heat that ice on the screens still lacks at the end: what melted, at its warming and melting."""
        each = float(self.program.ext0[names.X_ICEHEAT])
        ice = [self._series(f"ice_{slug(name)}_kg") for name in self.index.ice_m2]
        return {"ice_on_glass": each * sum(float(one[-1] - one[0]) for one in ice)}

    def frost(self) -> dict[str, float]:
        """Return the heats of vapour that settled on the front exchangers and of its melting, from the masses alone."""
        out: dict[str, float] = {}
        places = zip(self._whole("fx_n"), self._whole("fx_a"), strict=True)
        par = self._real("fx_par").reshape(-1, frost.N_PAR)
        vapour, fusion = moist_air.H_VAPOUR_J_PER_KG, moist_air.H_FUSION_J_PER_KG
        for k, (name, (node, air)) in enumerate(zip(self.index.front, places, strict=True)):
            ice, taken = (
                np.asarray(self.run.series[f"m_{w}_{slug(name)}_kg"], float) for w in ("frost", "vapour_taken")
            )
            kept = 1.0 - par[k, int(frost.INNER)]
            kept = kept * np.array([film_factor.py_func(max(m, 0.0), par[k, int(frost.FULL)]) for m in ice[:-1]])
            wall, wind = (self._in_step(n) if self.second_order else self._kelvin(n)[:-1] for n in (node, air))
            frozen = float(np.sum(np.diff(taken)[wind - kept * (wind - wall) < ZERO_C_K]))
            settled, gained = float(taken[-1] - taken[0]), float(ice[-1] - ice[0])
            out["latent_frost"] = out.get("latent_frost", 0.0) + vapour * settled + fusion * frozen
            out["melt"] = out.get("melt", 0.0) - fusion * (frozen - gained)
        return out

    def flow_imbalance(self) -> float:
        """Return the greatest share of what flows through a node that does not come out again."""
        size = len(self.index.nodes)
        net, through = np.zeros((size, self.flows[0].size)), np.zeros((size, self.flows[0].size))
        for a, b, f in zip(*(self._whole(key) for key in ("st_a", "st_b", "st_m")), strict=True):
            for node, sign in ((a, -1.0), (b, 1.0)):
                net[node] += sign * self.flows[f]
                through[node] += 0.5 * np.abs(self.flows[f])
        for node, f, inward in zip(*(self._whole(key) for key in ("bs_n", "bs_m", "bs_d")), strict=True):
            net[node] += self.flows[f] if inward else -self.flows[f]
            through[node] += 0.5 * np.abs(self.flows[f])
        flowing = through > 1e-4
        return float(np.max(np.abs(net[flowing]) / through[flowing], initial=0.0))

    def uses(self) -> dict[str, float]:
        """Return the electric energy of every use [J]."""
        out = {
            "traction": self._total(self._series("p_traction_w")),
            "low_voltage": self._total(self._series("p_low_voltage_w")),
            "compressor": self._total(self.compressors() + self.standby()),
            "charger_loss": self._total(self._series("p_station_w") - self.supply()),
            "drive_heat": self._total(self._series("p_drive_heat_w")),
        }
        return out | {d: self._total(self._series(f"p_{slug(d)}_w")) for d in self.index.devices}

    def condensed(self) -> float:
        """Return the water that must have condensed for the cabin's vapour to balance [kg]."""
        water = self.water()
        return water["from_people"] + water["exchanged"] - water["stored"] if water else 0.0

    def water(self) -> dict[str, float]:
        """Return the water of the cabin's air: what came and went, and what does not add up [kg].

        `condensed` is what coils and panes gained, and what the coils drained as booked.
        """
        airs = self.index.air_kg
        if not airs:
            return {}
        w = [np.asarray(self.run.series[f"w_{slug(air)}_kg_per_kg"], float) for air in airs]
        inside = [0.5 * (x[1:] + x[:-1]) if self.second_order else x[1:] for x in w]
        outside = self._column("w_ambient")
        exchanged = 0.0
        for n, m, inward in zip(*(self._whole(f"mb_{k}") for k in "nmd"), strict=True):
            flow = self.flows[m] if inward else -self.flows[m]
            exchanged += self._total(np.where(flow >= 0.0, flow * outside, flow * inside[n]))
        shares = 0.0
        for (name, share), n in zip(self._zone_shares().items(), self._whole("mz_n"), strict=True):
            leak = self._leak(name)
            exchanged += self._total(leak * (outside - inside[n]))
            shares += share
        people = shares * self._total(self._column("moisture_kg_per_s"))
        coils, held = len(self.index.coils), self._held()
        drained = -self.run.ledger["water"]["terms_kg"]["coil_drain"]
        condensed = drained + sum(held)
        stored = sum(mass * float(x[-1] - x[0]) for mass, x in zip(airs.values(), w, strict=True))
        rest = people + exchanged - condensed - stored
        out = {"from_people": people, "exchanged": exchanged, "condensed": condensed, "stored": stored}
        return out | {"on_coils": sum(held[:coils]), "residual": rest}

    def _held(self) -> list[float]:
        """Return what every coil and pane gained [kg]."""
        keys = [f"{'film' if m2 > 0.0 else 'held'}_{slug(name)}_kg" for name, m2 in self.index.holder_m2.items()]
        return [float(self.run.series[key][-1]) - float(self.run.series[key][0]) for key in keys]

    def _zone_shares(self) -> dict[str, float]:
        """Return each zone's share of what people give."""
        zones = [air.removesuffix(".air") for air in self.index.air_kg if air.removesuffix(".air") in self.index.stores]
        return dict(zip(zones, (float(x) for x in self._real("mz_share")), strict=True))

    def _leak(self, zone: str) -> Floats:
        """Return the air that leaks through a zone [kg/s], from the conductance of its leak."""
        g = self._whole("mz_g")[list(self._zone_shares()).index(zone)]
        k = self._whole("gd_g").index(g)
        c0, c1 = self._real("g_c0")[k], self._real("g_c1")[k]
        return (c0 + c1 * self.program.rows[:, self._whole("gd_col")[k]]) / CP_AIR
