"""Refrigerant states from the run's flat table: pressures, enthalpies, entropies and their slopes.

One float64 array carries everything for one refrigerant at a fixed superheat and subcooling:

    head (TAB_HEAD numbers, indices below)
    low block        a row of 16 a cell: ln p, h1, ln rho1, s1 of the suction gas, 4 cubic coefficients each
    high block       the same: ln p, h_v, s_v of saturated vapour, h3 of the liquid that leaves
    more block       a row of 24 a cell: h1, ln rho1, s1 at half the superheat, the same at none, 4 coefficients each
    bulk block       as the low block: ln rho_v, ln rho_l, h_v, h_l of saturated vapour and liquid
    discharge block  16 bicubic coefficients a (cell, entropy cell): h(saturation temperature, s - s_v)

For R744 the temperature of high and discharge block is that of the gas cooler's outlet, h_v and s_v are those of a
floor below every discharge gas, and a glide block (TAB_GLIDE, a row of 24 a cell) holds the isobar's
temperatures between.
The low side ends at TAB_T_LOW_MAX, for the others TAB_T_MAX. TAB_FILM: film of gas against condensing, for zones.

Cells are even steps of the saturation temperature; inside a cell u runs from 0 to 1.  One lookup gives one
side of the circuit.  Outside the table the end cell's polynomial goes on: callers keep to TAB_T_MIN ..
TAB_T_MAX.  Enthalpy and entropy have the IIR reference: 200 kJ/kg and 1 kJ/(kg K) for saturated liquid at
0 degC.  Source of the numbers: the fluid's reference equation of state as implemented in CoolProp (Bell et
al., Pure and Pseudo-pure Fluid Thermophysical Property Evaluation and the Open-Source Thermophysical Property
Library CoolProp, Ind. Eng. Chem. Res. 53, 2014).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.physics.jit import inner_jit, kernel_jit

TAB_T0, TAB_PER_STEP, TAB_LAST_CELL, TAB_PER_ENTROPY, TAB_N_ENTROPY = 0, 1, 2, 3, 4
TAB_LOW, TAB_HIGH, TAB_DISCHARGE = 5, 6, 7
TAB_T_MIN, TAB_T_MAX, TAB_SUPERHEAT, TAB_SUBCOOLING = 8, 9, 10, 11
TAB_MORE, TAB_BULK, TAB_CP_GAS, TAB_LATENT = 12, 13, 14, 15
TAB_T_LOW_MAX, TAB_P_LOW_MAX_PA, TAB_GLIDE, TAB_FILM = 16, 17, 18, 19
TAB_HEAD = 24
GLIDE_NODES = 6
"""Of the isobar of R744 above the outlet: at 8, 20, 40, 60, 80 and 100 % of the enthalpy up to the floor."""

Floats = NDArray[np.float64]

_1 = np.uint64(1)
_2 = np.uint64(2)
_3 = np.uint64(3)
_4 = np.uint64(4)
_8 = np.uint64(8)
_12 = np.uint64(12)
_16 = np.uint64(16)


@inner_jit
def _cubic(tab: Floats, at: int, u: float) -> tuple[float, float]:
    """Return value and slope (per cell) of the cubic whose four coefficients start at `at`."""
    b = tab[at + _1]
    c = tab[at + _2]
    d = tab[at + _3]
    return tab[at] + u * (b + u * (c + u * d)), b + u * (2.0 * c + 3.0 * u * d)


@kernel_jit
def saturated_side(
    t_k: float, block: float, tab: Floats
) -> tuple[float, float, float, float, float, float, float, float]:
    """Return four properties of one side of the circuit, each followed by its slope in the temperature.

    Equation
        cubic splines in the saturation temperature, at the table's fixed superheat and subcooling
    Parameters
        t_k : float   saturation temperature of that side [K], TAB_T_MIN .. TAB_T_MAX
        block : float   tab[TAB_LOW], TAB_HIGH or TAB_BULK: where the block starts
        tab : array   run table
    Returns
        TAB_LOW: ln(p/Pa), h1 [J/kg], ln(rho1/(kg/m3)), s1 [J/(kg K)] of the suction gas;
        TAB_HIGH: ln(p/Pa), h_v [J/kg], s_v [J/(kg K)] of saturated vapour, h3 [J/kg] of the liquid;
        TAB_BULK: ln rho of saturated vapour and liquid, their h [J/kg];
        each followed by its slope [per K]
    Outside the range
        the end cubic is continued
    Source
        equation of state through the run table (see the module)
    Example
        >>> from heatwright.compiler.tables import refrigerant_tables, run_tables
        >>> tab = run_tables(refrigerant_tables("R1234yf"), superheat_k=5.0, subcooling_k=8.0)
        >>> round(math.exp(saturated_side(273.15, tab[TAB_LOW], tab)[0]) / 1e5, 3)
        3.159
        >>> round(saturated_side(313.15, tab[TAB_HIGH], tab)[6] / 1e3, 2)
        243.46
    """
    r = tab[TAB_PER_STEP]
    x = (t_k - tab[TAB_T0]) * r
    cell = math.floor(x) if x > 0.0 else 0.0
    cell = min(cell, tab[TAB_LAST_CELL])
    u = x - cell
    at = np.uint64(block) + np.uint64(cell) * _16
    v0, d0 = _cubic(tab, at, u)
    v1, d1 = _cubic(tab, at + _4, u)
    v2, d2 = _cubic(tab, at + _8, u)
    v3, d3 = _cubic(tab, at + _12, u)
    return v0, d0 * r, v1, d1 * r, v2, d2 * r, v3, d3 * r


@inner_jit
def _row(t_k: float, block: float, size: int, tab: Floats) -> tuple[Any, float]:
    """Return where a block's row for a temperature starts, and the place inside its cell."""
    x = (t_k - tab[TAB_T0]) * tab[TAB_PER_STEP]
    cell = math.floor(x) if x > 0.0 else 0.0
    cell = min(cell, tab[TAB_LAST_CELL])
    return np.uint64(block) + np.uint64(cell) * np.uint64(size), x - cell


@kernel_jit
def less_superheat(
    t_k: float,
    half: float,
    none: float,
    h: float,
    h_t: float,
    ln_rho: float,
    ln_rho_t: float,
    s: float,
    s_t: float,
    tab: Floats,
) -> tuple[float, float, float, float, float, float]:
    """Return suction gas at less than the table's superheat: weighted means of gas at all, half and none of it.

    Equation
        parabola through three superheats, by its weights: half = 4 y (1 - y), none = (2 y - 1)(y - 1), y the share
    Parameters
        t_k : float   evaporating temperature [K], TAB_T_MIN .. TAB_T_MAX
        half, none : float   weights of the gas at half and at no superheat [-]
        h, h_t, ln_rho, ln_rho_t, s, s_t : float   the gas at the whole superheat, as `saturated_side` gives it
        tab : array   run table
    Returns
        h1 [J/kg], ln(rho1/(kg/m3)), s1 [J/(kg K)], each followed by its slope [per K]
    Outside the range
        the end cubic is continued
    Source
        equation of state through the run table (see the module)
    Example
        >>> from heatwright.compiler.tables import refrigerant_tables, run_tables
        >>> tab = run_tables(refrigerant_tables("R134a"), superheat_k=10.0, subcooling_k=5.0)
        >>> all_of_it = saturated_side(273.15, tab[TAB_LOW], tab)[2:]
        >>> round((less_superheat(273.15, 0.0, 1.0, *all_of_it, tab)[0]) / 1e3, 1)
        398.6
    """
    at, x = _row(t_k, tab[TAB_MORE], 24, tab)
    r = tab[TAB_PER_STEP]
    whole = 1.0 - half - none
    h *= whole
    h_t *= whole
    ln_rho *= whole
    ln_rho_t *= whole
    s *= whole
    s_t *= whole
    for weight in (half, none):
        v0, d0 = _cubic(tab, at, x)
        v1, d1 = _cubic(tab, at + _4, x)
        v2, d2 = _cubic(tab, at + _8, x)
        h += weight * v0
        h_t += weight * d0 * r
        ln_rho += weight * v1
        ln_rho_t += weight * d1 * r
        s += weight * v2
        s_t += weight * d2 * r
        at += _12
    return h, h_t, ln_rho, ln_rho_t, s, s_t


@kernel_jit
def saturated_liquid(t_k: float, tab: Floats) -> tuple[float, float]:
    """Return the enthalpy of saturated liquid and its slope in the temperature.

    Equation
        cubic spline in the saturation temperature
    Parameters
        t_k : float   condensing temperature [K], TAB_T_MIN .. TAB_T_MAX
        tab : array   run table
    Returns
        h [J/kg], dh/dt [J/(kg K)]
    Outside the range
        the end cubic is continued
    Source
        equation of state through the run table (see the module)
    Example
        >>> from heatwright.compiler.tables import refrigerant_tables, run_tables
        >>> tab = run_tables(refrigerant_tables("R134a"), superheat_k=5.0, subcooling_k=5.0)
        >>> round(saturated_liquid(273.15, tab)[0] / 1e3, 1)
        200.0
    """
    at, x = _row(t_k, tab[TAB_BULK], 16, tab)
    value, slope = _cubic(tab, at + _12, x)
    return value, slope * tab[TAB_PER_STEP]


@inner_jit
def _glide(t_k: float, h2: float, t2: float, tab: Floats, line: Floats, at: int) -> int:
    """Fill the isobar of R744: outlet, six nodes up to the floor, two on the way to the discharge gas, that gas."""
    o = np.uint64(at)
    n = np.uint64(GLIDE_NODES + 4)
    _, _, h_v, dh_v, _, _, h3, _ = saturated_side(t_k, tab[TAB_HIGH], tab)
    row, x = _row(t_k, tab[TAB_GLIDE], 4 * GLIDE_NODES, tab)
    line[o] = h3
    line[o + n] = t_k
    for k in range(np.uint64(GLIDE_NODES)):
        part = 1.0 if k == np.uint64(5) else max(0.2 * k, 0.08)
        line[o + _1 + k] = h3 + part * (h_v - h3)
        line[o + n + _1 + k] = _cubic(tab, row + _4 * k, x)[0]
    t_v = line[o + n + np.uint64(GLIDE_NODES)]
    h_end = max(h2, h_v + 2e3)
    third = 2.0 / 3.0 * (h_end - h_v) / (t2 + t_v)
    t_mid = t_v
    for k in range(np.uint64(1), np.uint64(3)):
        h_mid, _, t_mid = gas_enthalpy(t_k, third * k, h_v, dh_v, tab)
        line[o + np.uint64(GLIDE_NODES) + k] = min(h_mid, h_end - 1e3 / k)
        line[o + n + np.uint64(GLIDE_NODES) + k] = t_mid
    line[o + np.uint64(GLIDE_NODES + 3)] = h_end
    line[o + n + np.uint64(GLIDE_NODES + 3)] = max(t2, t_mid + 0.1)
    return GLIDE_NODES + 3


@kernel_jit
def high_isobar(t_k: float, h2: float, t2: float, tab: Floats, line: Floats, at: int) -> int:
    """Fill the isobar of the high side as a line from the leaving liquid up to the discharge gas; return its pieces.

    Equation
        nodes: liquid at the table's subcooling (at least 1 K below saturation), saturated liquid, saturated vapour, and
        the discharge gas (at least 1 K above saturation)
    Parameters
        t_k : float   condensing temperature [K]
        h2, t2 : float   discharge gas [J/kg], [K]
        tab : array   run table
        line : array   out, from place `at`: four enthalpies [J/kg], then four temperatures [K]; R744: ten of each
        at : int   where the line starts
    Returns
        number of pieces: 3; R744: 9
    Outside the range
        a discharge that is wet gives a short last piece
    Source
        equation of state through the run table
    Example
        >>> from heatwright.compiler.tables import refrigerant_tables, run_tables
        >>> tab = run_tables(refrigerant_tables("R134a"), superheat_k=5.0, subcooling_k=5.0)
        >>> line = np.zeros(8)
        >>> high_isobar(313.15, 440e3, 332.0, tab, line, 0), [round(float(x) / 1e3, 1) for x in line[:4]]
        (3, [249.0, 256.4, 419.4, 440.0])
    """
    if tab[TAB_GLIDE] > 0.0:
        return _glide(t_k, h2, t2, tab, line, at)
    o = np.uint64(at)
    _, _, h_v, _, _, _, h3, _ = saturated_side(t_k, tab[TAB_HIGH], tab)
    h_l, slope = saturated_liquid(t_k, tab)
    line[o] = min(h3, h_l - slope)
    line[o + _1] = h_l
    line[o + _2] = h_v
    line[o + _3] = max(h2, h_v + 1e3)
    line[o + _4] = t_k - max(tab[TAB_SUBCOOLING], 1.0)
    line[o + _4 + _1] = t_k
    line[o + _4 + _2] = t_k
    line[o + _4 + _3] = max(t2, t_k + 1.0)
    return 3


@kernel_jit
def gas_enthalpy(t_cond_k: float, ds: float, h_v: float, dh_v: float, tab: Floats) -> tuple[float, float, float]:
    """Return h at the condensing pressure and an entropy above saturated vapour, with both slopes.

    Equation
        ds > 0: bicubic spline h(t, ds);  else (wet): h = h_v + t ds, exact inside the dome
    Parameters
        t_cond_k : float   saturation temperature of the pressure [K], TAB_T_MIN .. TAB_T_MAX
        ds : float   entropy less that of saturated vapour [J/(kg K)], to 320 (R290: 640)
        h_v, dh_v : float   saturated vapour's enthalpy [J/kg] and slope [J/(kg K)]
        tab : array   run table
    Returns
        h [J/kg], dh/dt at fixed ds [J/(kg K)], dh/ds at fixed t = the gas temperature [K]
    Outside the range
        the end cubic is continued
    Source
        equation of state through the run table; dh = T ds on an isobar (any thermodynamics text)
    Example
        >>> from heatwright.compiler.tables import refrigerant_tables, run_tables
        >>> tab = run_tables(refrigerant_tables("R134a"), superheat_k=5.0, subcooling_k=0.0)
        >>> h_v = saturated_side(313.15, tab[TAB_HIGH], tab)[2]
        >>> round(gas_enthalpy(313.15, -10.0, h_v, 0.0, tab)[0] - h_v, 1)
        -3131.5
    """
    if not ds > 0.0:
        return h_v + t_cond_k * ds, dh_v + ds, t_cond_k
    x = (t_cond_k - tab[TAB_T0]) * tab[TAB_PER_STEP]
    cell = math.floor(x) if x > 0.0 else 0.0
    cell = min(cell, tab[TAB_LAST_CELL])
    y = ds * tab[TAB_PER_ENTROPY]
    row = min(math.floor(y), tab[TAB_N_ENTROPY] - 1.0)
    at = np.uint64(tab[TAB_DISCHARGE]) + np.uint64(cell * tab[TAB_N_ENTROPY] + row) * _16
    x -= cell
    y -= row
    r0, q0 = _cubic(tab, at, y)
    r1, q1 = _cubic(tab, at + _4, y)
    r2, q2 = _cubic(tab, at + _8, y)
    r3, q3 = _cubic(tab, at + _12, y)
    return (
        r0 + x * (r1 + x * (r2 + x * r3)),
        (r1 + x * (2.0 * r2 + 3.0 * x * r3)) * tab[TAB_PER_STEP],
        (q0 + x * (q1 + x * (q2 + x * q3))) * tab[TAB_PER_ENTROPY],
    )


@kernel_jit
def gas_temperature(t_cond_k: float, h: float, tab: Floats) -> tuple[float, float]:
    """Return temperature and entropy of gas at the condensing pressure and a given enthalpy.

    Equation
        h(t_cond, ds) = h solved for ds by Newton's rule; T = dh/ds on the isobar
    Parameters
        t_cond_k : float   saturation temperature of the pressure [K], TAB_T_MIN .. TAB_T_MAX
        h : float   enthalpy [J/kg]
        tab : array   run table
    Returns
        temperature [K], entropy [J/(kg K)]; wet gas gives t_cond_k
    Outside the range
        the end cubic is continued
    Source
        equation of state through the run table; dh = T ds on an isobar (any thermodynamics text)
    Example
        >>> from heatwright.compiler.tables import refrigerant_tables, run_tables
        >>> tab = run_tables(refrigerant_tables("R134a"), superheat_k=5.0, subcooling_k=0.0)
        >>> round(gas_temperature(313.15, 440e3, tab)[0] - 273.15, 1)
        58.8
    """
    _, _, h_v, dh_v, s_v, _, _, _ = saturated_side(t_cond_k, tab[TAB_HIGH], tab)
    ds = (h - h_v) / t_cond_k
    t = t_cond_k
    if ds > 0.0:
        for _ in range(6):
            value, _, t = gas_enthalpy(t_cond_k, ds, h_v, dh_v, tab)
            step = (h - value) / t
            ds += step
            if abs(step) < 1e-7:
                break
    return t, s_v + ds


@kernel_jit
def saturation_temperature(p_pa: float, guess_k: float, tab: Floats) -> tuple[float, float]:
    """Return the saturation temperature of a pressure and its slope in ln p.

    Equation
        ln p(t) of the table inverted by Newton's rule in 1/t, kept inside the table
    Parameters
        p_pa : float   pressure [Pa], above 0
        guess_k : float   first guess [K]
        tab : array   run table
    Returns
        temperature [K], dt/dln p [K]
    Outside the range
        the nearest table end
    Source
        equation of state through the run table (see the module)
    Example
        >>> from heatwright.compiler.tables import refrigerant_tables, run_tables
        >>> tab = run_tables(refrigerant_tables("R134a"), superheat_k=5.0, subcooling_k=0.0)
        >>> round(saturation_temperature(101325.0, 270.0, tab)[0] - 273.15, 2)
        -26.07
    """
    target = math.log(p_pa)
    t = guess_k
    slope = 1.0
    for _ in range(20):
        value, slope, _, _, _, _, _, _ = saturated_side(t, tab[TAB_LOW], tab)
        new = 1.0 / (1.0 / t - (target - value) / (slope * t * t))
        new = min(max(new, tab[TAB_T_MIN]), tab[TAB_T_LOW_MAX])
        step = new - t
        t = new
        if abs(step) < 1e-9:
            break
    return t, 1.0 / slope
