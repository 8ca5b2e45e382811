"""Zones inside a refrigerant exchanger: superheating at an evaporator's end, desuperheating to subcooling in a row.

The conductance that a part declares is that of the whole exchanger at a rated point. Gas and liquid take up heat far
worse than boiling or condensing refrigerant, so that what a zone of either needs is missing from the rest. A lump has
one wall temperature; in a zone of gas the real wall comes near to the air or coolant behind it. So zones are worked out
with the conductance from refrigerant to that fluid: `share` is the refrigerant's share of its resistance.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from heatwright.physics.jit import kernel_jit

Floats = NDArray[np.float64]

SUPERHEAT_SHARE = 0.6
"""Most superheat a valve aims at, as a share of source less evaporating temperature (common practice)."""
STABLE_SHARE = 0.4
"""Least superheat at which a valve is stable, as the same share (common practice, value from memory)."""
SUBCOOLING_SHARE = 0.7
"""Most subcooling that is reached, as a share of condensing temperature less sink (common practice)."""
BOILING_GAS = 0.2
"""Refrigerant-side conductance per area of superheating gas against boiling (value from memory)."""
RATED_K, RATED_SUPERHEAT_K = 10.0, 5.0
"""Point at which the conductance of an evaporator is declared (common practice)."""
CONDENSING_GAS = 0.35
"""Refrigerant-side conductance per area of hot gas or liquid against condensing (value from memory)."""
CONDENSING_ALONE = 1.15
"""Conductance of a condenser that only condenses against the declared one of the whole (value from memory)."""
LEAST_K = 0.01


@kernel_jit
def single_phase(ratio: float, share: float) -> float:
    """Return the conductance to the fluid behind the wall where one phase flows, as a share of that with two phases.

    Equation
        1 / (share / ratio + 1 - share)
    Parameters
        ratio : float   conductance of the refrigerant's own film in one phase against two [-]
        share : float   that film's share of the whole resistance where two phases flow, 0 to 1 [-]
    Returns
        share of the conductance [-]
    Outside the range
        none checked
    Source
        resistances in series
    Example
        >>> round(single_phase(0.2, 0.3), 3)
        0.455
    """
    return 1.0 / (share / ratio + 1.0 - share)


@kernel_jit
def evaporator_factor(d_k: float, superheat_k: float, latent: float, cp_gas: float, share: float) -> float:
    """Return what part of its declared refrigerant-side conductance an evaporator has while its end superheats.

    Equation
        per unit of flow the whole exchanger needs  L / D  to boil and  cp ln(D / (D - SH)) / r  to superheat, and moves
        L + cp SH;  g = (L + cp SH) / (L + cp D ln(D / (D - SH)) / r), against its value at D = 10 K, SH = 5 K;
        the refrigerant's side takes all of the change:  factor = share / (1 / g - 1 + share)
    Parameters
        d_k : float   source less evaporating temperature D [K], above superheat_k
        superheat_k : float   superheat SH at the end [K], 0 to 0.9 d_k; 0: the vessel behind takes wet vapour
        latent : float   enthalpy of saturated vapour less that of what enters, L [J/kg]
        cp_gas : float   specific heat of the gas [J/(kg K)]
        share : float   refrigerant's share of the whole resistance, above 0, to 1 [-]
    Returns
        factor [-]: 1 at the rated point, more without superheat
    Outside the range
        superheat is taken as 0.9 d_k at most; the factor is at most 3
    Source
        energy balance over two zones; r from the film ratio 0.2, a value from memory
    Example
        >>> round(evaporator_factor(10.0, 5.0, 150e3, 950.0, 0.3), 3)
        1.0
        >>> round(evaporator_factor(10.0, 0.0, 150e3, 950.0, 0.3), 3)
        1.246
    """
    ratio = single_phase(BOILING_GAS, share)
    g = _moved(d_k, min(superheat_k, 0.9 * d_k), latent, cp_gas, ratio)
    g /= _moved(RATED_K, RATED_SUPERHEAT_K, latent, cp_gas, ratio)
    return share / max(1.0 / g - 1.0 + share, share / 3.0)


@kernel_jit
def _moved(d_k: float, superheat_k: float, latent: float, cp_gas: float, ratio: float) -> float:
    if not superheat_k > 0.0:
        return 1.0
    needed = latent + cp_gas * d_k * math.log(d_k / (d_k - superheat_k)) / ratio
    return (latent + cp_gas * superheat_k) / needed


@kernel_jit
def isobar_port(
    h: float, m: float, ua: float, t_sink: float, line: Floats, at: int, n: int, single: float, rise: float, to: float
) -> float:  # fmt: skip
    """Return the enthalpy with which refrigerant leaves one exchanger of a row of condensers or gas coolers.

    Equation
        m dh = -f U (T(h) - T_sink) da over the area, T(h) the isobar as a line of n pieces, exact on each: exponential
        where T changes with h, linear on the plateau of condensation; f = 1 on the plateau, `single` elsewhere;
        T_sink = t_sink + rise (h - to): in counterflow the sink warms towards the refrigerant's entry
    Parameters
        h : float   enthalpy on entry [J/kg]
        m : float   mass flow [kg/s], above 0
        ua : float   conductance from refrigerant to sink where it condenses [W/K]
        t_sink : float   temperature behind the wall [K], at the enthalpy `to`
        line : array   from place `at`: n + 1 enthalpies [J/kg] from the coldest node up, then n + 1 temperatures [K]
        at : int   where the line starts
        n : int   number of pieces
        single : float   share of the conductance where one phase flows [-]
        rise : float   rise of the sink per enthalpy of the refrigerant [K kg/J]; 0: one temperature
        to : float   enthalpy [J/kg] at which the sink enters
    Returns
        enthalpy on leaving [J/kg], at most that on entry: a sink warmer than the refrigerant takes and gives nothing
    Outside the range
        beyond its ends the isobar goes on with the slope of its last piece
    Source
        exact integration
    Example
        >>> line = np.array([250e3, 262e3, 400e3, 430e3, 303.15, 313.15, 313.15, 338.15])
        >>> round(isobar_port(430e3, 0.03, 800.0, 303.15, line, 0, 3, 0.6, 0.0, 0.0) / 1e3, 1)
        250.1
    """
    first = np.uint64(at)
    nodes = first + np.uint64(n) + np.uint64(1)
    left = 1.0
    k = np.uint64(n - 1)
    one = np.uint64(1)
    while k > np.uint64(0) and h <= line[first + k]:
        k -= one
    while True:
        low = line[first + k]
        slope = (line[nodes + k + one] - line[nodes + k]) / (line[first + k + one] - low) - rise
        end = line[nodes + k] - t_sink - rise * (low - to)
        difference = end + slope * (h - low)
        if not difference > 0.0:
            return h
        last = k == np.uint64(0)
        if abs(slope) < 1e-9:
            need = m * (h - low) / (ua * difference)
            if last or need >= left:
                return h - ua * difference * left / m
        else:
            rate = single * ua * slope / m
            need = math.log(difference / end) / rate if end > 0.0 else 1e9
            if last or need >= left:
                return h - difference * (1.0 - math.exp(-rate * left)) / slope
        left -= need
        h = low
        k -= one
