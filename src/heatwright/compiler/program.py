"""What a plant and a trip compile to: a packed plan, driver rows, and the names of every place in them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.comfort import Surroundings
from heatwright.kernel import plan
from heatwright.sensors import Sensors

Floats = NDArray[np.float64]


STOOD_LONG_S = 1e9


@dataclass(frozen=True, eq=False)
class Index:
    """Names of nodes, flows, driver columns, ledger terms, actuators, devices, rules, front exchangers, as placed.

    `air_kg` : cabin air of every humidity [kg]. `holder_m2` : coils (0) and panes that water settles on [m2].
    `ice_m2` : screens that ice may lie on [m2]. `circuits` : the compressor of every refrigerant circuit, of which
    `ports` are the exchangers of the first. `signals` : what the decision table, and with sensors the observer, reads.
    """

    nodes: tuple[str, ...]
    node_place: Mapping[str, int]
    flows: tuple[str, ...]
    columns: tuple[str, ...]
    terms: tuple[str, ...]
    outputs: tuple[str, ...]
    actuators: tuple[str, ...]
    devices: tuple[str, ...]
    rules: tuple[str, ...]
    ports: tuple[str, ...]
    stores: Mapping[str, tuple[int, ...]]
    front: tuple[str, ...] = ()
    air_kg: Mapping[str, float] = field(default_factory=dict)
    holder_m2: Mapping[str, float] = field(default_factory=dict)
    ice_m2: Mapping[str, float] = field(default_factory=dict)
    circuits: tuple[str, ...] = ()
    signals: tuple[str, ...] = ()

    @property
    def coils(self) -> tuple[str, ...]:
        """Names of the coils that hold water: those holders that are no panes."""
        return tuple(name for name, area in self.holder_m2.items() if area == 0.0)


@dataclass(frozen=True, eq=False)
class Program:
    """A plant ready to march over one trip.

    `pi`, `pf` : the packed plan (kernel.plan). `rows` : (steps, columns) driver rows. `tau0` [degC], `ext0` and
    `act0` : the start. `sensors` : what signals are read through; None reads what is there. Everything else
    is names and provenance.
    """

    plant_name: str
    trip_name: str
    pi: NDArray[np.uint32]
    pf: Floats
    work_size: int
    rows: Floats
    dt_s: float
    tau0: Floats
    ext0: Floats
    act0: Floats
    dwell_s: float
    index: Index
    provenance: Mapping[str, object]
    facts: Mapping[str, float]
    vent_node: str
    zone: str
    plant_about: str = ""
    assumed: tuple[str, ...] = ()
    given_flows: tuple[float, ...] = ()
    surroundings: Surroundings = field(default_factory=Surroundings)
    sensors: Sensors | None = None

    def start(self) -> Floats:
        """Return a fresh work array holding the start of the trip."""
        w = np.zeros(self.work_size)
        plan.section(self.pi, w, "tau")[:] = self.tau0
        plan.section(self.pi, w, "ext")[:] = self.ext0
        plan.section(self.pi, w, "act")[:] = self.act0
        if self.given_flows:
            plan.section(self.pi, w, "mdot")[:] = self.given_flows
        cs = plan.section(self.pi, w, "cs")
        cs[0], cs[1], cs[2] = len(self.index.rules) - 1, STOOD_LONG_S, self.dwell_s
        cs[cs.size - 3 * self.act0.size + 2 :: 3] = STOOD_LONG_S  # every actuator, before its first move
        return w

    def place(self, section: str, k: int = 0) -> int:
        """Return the place in the work array of item k of a section."""
        return int(self.pi[plan.W_BASE + plan.W[section]]) + k
