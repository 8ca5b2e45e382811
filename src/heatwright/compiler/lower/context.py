"""What every lowering function shares: the plant, the builder, coolant properties, driver columns, devices."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.builder import Builder
from heatwright.physics import coolant, hydraulics
from heatwright.plant.model import Part, Plant, Rated

ZERO = np.uint64(0)
T40_K = 313.15
RHO_AIR = 1.2
CP_AIR = 1006.0
MINOR_SHARE = 0.2  # share of a coolant part's declared drop that is bends and headers, not friction

DEVICE_HEATER, DEVICE_PUMP, DEVICE_BLOWER, DEVICE_FAN = range(4)


@dataclass
class Device:
    """An electrical load whose heat enters a node: heater, pump, blower or fan; what `share` leaves enters `second`."""

    name: str
    kind: int
    actuator: str
    node: str
    par: tuple[float, ...]
    flow: str = ""
    second: str = ""
    share: float = 1.0


@dataclass(frozen=True)
class FrontExchanger:
    """An exchanger in the wind: its wall (or coolant), the air that meets it, their conductance, what frost needs."""

    name: str
    wall: str
    air: str
    g: int
    par: tuple[float, ...]


@dataclass(frozen=True)
class CoolantState:
    """Properties of the plant's coolant at one temperature."""

    rho: float
    cp: float
    mu: float
    k: float


Column = Callable[[Any], NDArray[np.float64]]


@dataclass
class Context:
    """One compilation in progress."""

    plant: Plant
    builder: Builder = field(default_factory=Builder)
    columns: dict[str, Column] = field(default_factory=dict)
    devices: list[Device] = field(default_factory=list)
    front: list[FrontExchanger] = field(default_factory=list)
    slews: dict[str, float] = field(default_factory=dict)
    first: dict[str, float] = field(default_factory=dict)
    guarded: dict[str, str] = field(default_factory=dict)
    before: dict[tuple[str, str], str] = field(default_factory=dict)
    flow_of: dict[tuple[str, str], str] = field(default_factory=dict)
    inlet: dict[tuple[str, str], str] = field(default_factory=dict)
    outlet: dict[str, str] = field(default_factory=dict)
    fit: NDArray[np.float64] = field(init=False)

    def __post_init__(self) -> None:
        self.fit = coolant.coolant_fit(self.plant.fluid["coolant_glycol_fraction"])

    def fit_cp(self) -> NDArray[np.float64]:
        """Return the four coefficients of the coolant's specific heat in degC."""
        return self.fit[3:7]

    def coolant_at(self, t_k: float) -> CoolantState:
        """Return the coolant's properties at a temperature."""
        f = self.fit
        return CoolantState(
            float(coolant.density(t_k, f, ZERO)),
            float(coolant.heat_capacity(t_k, f, ZERO)),
            float(coolant.viscosity(t_k, f, ZERO)),
            float(coolant.conductivity(t_k, f, ZERO)),
        )

    def coolant_mass(self, volume_m3: float, metal_j_per_k: float = 0.0) -> float:
        """Return the coolant mass of a volume, metal counted as the coolant mass of equal heat capacity."""
        state = self.coolant_at(293.15)
        return state.rho * volume_m3 + metal_j_per_k / state.cp

    def column(self, name: str, values: Column) -> str:
        """Declare a driver column together with how its values follow from the trip."""
        self.columns[name] = values
        return self.builder.column(name)

    def actuator(self, name: str, slew_per_s: float, first: float = 0.0) -> str:
        """Declare an actuator, how fast it moves, and where it starts."""
        self.builder.place(self.builder.actuators, name)
        self.slews[name] = slew_per_s
        self.first[name] = first
        return name

    def reference_flow(self, rated: Rated) -> tuple[float, CoolantState]:
        """Return the coolant mass flow and properties a rated value refers to."""
        state = self.coolant_at(rated.at.get("temperature_k", T40_K))
        return rated.at.get("flow_m3_per_s", 10e-3 / 60) * state.rho, state

    def film_surface(self, part: Part, conductance: float, rated: Rated) -> float:
        """Return the wetted area [m2] whose film gives `conductance` [W/K] at the reference of `rated`."""
        mdot, s = self.reference_flow(rated)
        h = hydraulics.film(mdot, part.values["channel"], part.values["flow_area"], s.mu, s.cp, s.k)
        return conductance / float(h)

    def channel_element(self, part: Part) -> tuple[float, float, float, float]:
        """Return (d_h, area, L/D, k) of a part's coolant passage, from its declared drop."""
        rated: Rated = part.values["drop"]
        mdot, s = self.reference_flow(rated)
        d_h, area = part.values["channel"], part.values["flow_area"]
        v = mdot / (s.rho * area)
        k = MINOR_SHARE * rated.value / (0.5 * s.rho * v * v)
        ratio = hydraulics.channel_length_ratio(rated.value, mdot, d_h, area, s.rho, s.mu, k)
        return d_h, area, float(ratio), k

    def loss_element(self, rated: Rated, area: float = 0.01) -> tuple[float, float, float]:
        """Return (area, k open) of a coolant throat with a declared drop."""
        mdot, s = self.reference_flow(rated)
        v = mdot / (s.rho * area)
        return area, rated.value / (0.5 * s.rho * v * v), 0.0

    def air_loss(self, rated: Rated, area: float = 0.02) -> tuple[float, float]:
        """Return (area, k) of an air resistance with a declared drop."""
        v = rated.at.get("mdot_kg_per_s", 400 / 3600) / (RHO_AIR * area)
        return area, rated.value / (0.5 * RHO_AIR * v * v)


def hose_area(diameter: float) -> float:
    """Return the bore of a hose [m2]."""
    return math.pi / 4 * diameter**2
