"""The charge block behind the compressor's numbers: inside volumes, the charge, and the clocks of a start."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.tables import refrigerant_tables, run_tables
from heatwright.kernel import charge as kernel
from heatwright.kernel import circuit_names as cn
from heatwright.physics.refrigerant import TAB_HIGH, TAB_LOW, gas_temperature, saturated_side
from heatwright.plant.model import Part

Floats = NDArray[np.float64]
Roles = tuple[frozenset[str], frozenset[str]]
T_EVAP_USUAL_K, T_COND_USUAL_K, ABOVE_VAPOUR_USUAL_J_PER_KG = 273.15, 318.15, 20e3
LEVEL_USUAL = 0.4


def add_charge(
    inside: Mapping[str, Part],
    fluid: Mapping[str, Any],
    ports: Sequence[str],
    roles: Sequence[Roles],
    par: Floats,
    superheat_k: float,
    subcooling_k: float,
) -> Floats:
    """Return the compressor's numbers with the charge block behind them and the clocks filled in.

    A charge that the file does not give is the least with which, at 0 degC evaporating and 45 degC condensing, the
    vessels are 40 % full of liquid in the setting that needs most. Without a vessel and without a charge, and
    for R744 (its high side has no two phases), there is no mass balance. `inside` are the parts of the circuit.
    """

    def of_kind(kind: str) -> list[Part]:
        return [one for one in inside.values() if one.kind == kind]

    v = of_kind("compressor")[0].values
    vessels = [sum(one.values["volume"] for one in of_kind(kind)) for kind in ("receiver", "accumulator")]
    volumes = [inside[name].values["inside_volume"] for name in ports]
    block = np.array(
        [fluid["charge_kg"] or 0.0, fluid["hot_gas_charge"] or 0.0, fluid["discharge_line"], fluid["liquid_line"],
         fluid["suction_line"], *vessels, *volumes]
    )  # fmt: skip
    par = np.concatenate([par, block])
    par[cn.PAR_P_START_PA] = min(v["suction_least_start"], v["suction_least"])
    par[cn.PAR_START_S : cn.PAR_LEAST_OFF_S + 1] = v["start_allowance"], v["least_on"], v["least_off"]
    if fluid["refrigerant"] == "R744" or not (fluid["charge_kg"] or any(vessels)):
        return par
    at = par.size - block.size
    par[cn.PAR_CHARGE] = at
    if not fluid["charge_kg"]:
        tab = run_tables(refrigerant_tables(fluid["refrigerant"]), superheat_k, subcooling_k)
        par[at + int(kernel.CH_MASS_KG)] = max(_usual(ports, one, par, tab) for one in roles) if roles else 0.0
    accumulators = of_kind("accumulator")
    if accumulators:
        own = accumulators[0].values
        par[cn.PAR_LIQUID_KG] = own["gathers"] * par[at + int(kernel.CH_MASS_KG)]
        par[cn.PAR_LIQUID_S] = own["gathering"]
    return par


def _usual(ports: Sequence[str], roles: Roles, par: Floats, tab: Floats) -> float:
    """Return the mass at the usual point with the vessels as full as usual [kg]."""
    h1 = saturated_side(T_EVAP_USUAL_K, tab[TAB_LOW], tab)[2]
    h_v, h3 = saturated_side(T_COND_USUAL_K, tab[TAB_HIGH], tab)[2::4]
    t2 = gas_temperature(T_COND_USUAL_K, h_v + ABOVE_VAPOUR_USUAL_J_PER_KG, tab)[0]
    h2 = h_v + ABOVE_VAPOUR_USUAL_J_PER_KG
    first = int(par[cn.PAR_CHARGE]) + int(kernel.CH_PORTS)
    inside = dict(zip(ports, par[first : first + len(ports)], strict=True))
    hot, cold = (sum(inside[name] for name in some) for some in roles)
    idle = sum(inside.values()) - hot - cold
    mass, empty, full = kernel.circuit_mass(h3, T_EVAP_USUAL_K, T_COND_USUAL_K, h1, h2, t2, hot, cold, idle, par, tab)
    return float(mass + empty + LEVEL_USUAL * (full - empty))
