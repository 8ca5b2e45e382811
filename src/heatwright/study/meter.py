"""An independent meter: the ledger worked out again from a run's saved series.

The march books heat with coefficients frozen over a step. The meter knows none of them: it takes temperatures,
flows and powers from the series, energies from the property functions (`coolant.enthalpy`, `moist_air.enthalpy`)
and integrates over the trip. From the Program it takes facts only: masses and heat capacities, which node a
stream leaves, conductances to the outside, driver rows. What it cannot see is told apart, not guessed.

A difference counts relative to the greater of the two values and `FLOOR` of all that crossed the boundary.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.program import Program
from heatwright.kernel import names, plan
from heatwright.physics import coolant, moist_air
from heatwright.run import Run
from heatwright.simulate import slug

Floats = NDArray[np.float64]

FLOOR = 1e-3
ZERO_C_K = 273.15
LINKED = ("gd_g", "gf_g", "ga_g", "gx_g", "gl_g")  # conductances that are not constant; only the first is driven


class Metered:
    """The series of one run seen through the property functions."""

    def __init__(self, program: Program, run: Run) -> None:
        self.program, self.run, self.index = program, run, program.index
        self.dt_s = program.dt_s
        self.fit = self._float("fluid")
        mass, c1 = self._float("mass"), self._float("c1")
        self.n_coolant = int(self._int("dim")[1])
        self.mass: Floats = mass
        self.capacity: Floats = mass * c1

    def _int(self, name: str) -> NDArray[np.uint32]:
        return plan.section(self.program.pi, self.program.pi, name)

    def _float(self, name: str) -> Floats:
        return plan.section(self.program.pi, self.program.pf, name)

    def column(self, name: str) -> Floats:
        """Return a driver column, one value a step."""
        return self.program.rows[:, self.index.columns.index(name)]

    def series(self, name: str) -> Floats:
        """Return a series at the ends of the steps."""
        return np.asarray(self.run.series[name], float)[1:]

    def flow(self, k: int) -> Floats:
        """Return a mass flow over each step [kg/s]."""
        return self.series(f"mdot_{slug(self.index.flows[k])}_kg_per_s")

    def temperature(self, node: int) -> Floats:
        """Return a node's temperature at every step edge [K]."""
        return np.asarray(self.run.series[f"t_{slug(self.index.nodes[node])}_k"], float)

    def specific(self, node: int, t_k: Floats) -> Floats:
        """Return the enthalpy of what a node holds, above 273.15 K [J/kg]."""
        if node < self.n_coolant:
            return coolant.enthalpy.py_func(t_k, self.fit, 0)
        return moist_air.enthalpy.py_func(t_k, 0.0)

    def energy(self, node: int, t_k: float) -> float:
        """Return the energy stored in a node above 273.15 K [J]."""
        if node < self.n_coolant:
            return float(self.mass[node] * self.specific(node, np.float64(t_k)))
        return float(self.capacity[node] * (t_k - ZERO_C_K))

    def total(self, power_w: Floats) -> float:
        """Return the integral of a power over the trip [J]."""
        return float(np.sum(power_w) * self.dt_s)
