"""A measured compressor in the circuit's point: its flow and power take the place of those of our forms."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from heatwright.kernel import circuit_names as cn
from heatwright.physics.compressor import gas_power
from heatwright.physics.compressor_map import MAP_ELECTRIC, map_left, map_point, shaft_power
from heatwright.physics.jit import inner_jit, kernel_jit

Floats = NDArray[np.float64]


@inner_jit
def take_map(te: float, tc: float, speed_hz: float, ln_rho: float, ln_rho_e: float, par: Floats, pt: Floats) -> None:
    """Put a map's mass flow and powers, with their slopes, into pt."""
    at = np.uint64(par[cn.PAR_MAP])
    m, m_e, m_c, power, power_e, power_c = map_point(te, tc, speed_hz, ln_rho, ln_rho_e, par, at)
    k = cn.PAR_DRIVE
    if par[at + np.uint64(MAP_ELECTRIC)] > 0.0:
        power, slope = shaft_power(power, par[k], par[k + 1], par[k + 2])
        power_e *= slope
        power_c *= slope
    gas, gas_p, electric = gas_power(power, par[k], par[k + 1], par[k + 2], par[cn.PAR_GAS_SHARE])
    pt[cn.AT_M] = m
    pt[cn.AT_ME] = m_e
    pt[cn.AT_MC] = m_c
    pt[cn.AT_P] = power
    pt[cn.AT_PE] = power_e
    pt[cn.AT_PC] = power_c
    pt[cn.AT_GAS] = gas
    pt[cn.AT_GASP] = gas_p
    pt[cn.AT_ELECTRIC] = electric


@kernel_jit
def left_map(par: Floats, out: Floats) -> float:
    """Return by how much a solved point lies outside the compressor's map, in the map's widths; 0 without a map."""
    if not par[cn.PAR_MAP] > 0.0:
        return 0.0
    at = np.uint64(par[cn.PAR_MAP])
    return map_left(out[cn.OUT_T_EVAP], out[cn.OUT_T_COND], out[cn.OUT_SPEED], par, at)
