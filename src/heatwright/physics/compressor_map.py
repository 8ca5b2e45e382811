"""A measured compressor: mass flow and power from a map of spline patches, with the slopes the solver needs.

One float array carries the map, from place `at` on (made by compiler/compressor_map.py):

    head      MAP_HEAD numbers: origin, steps and cells of both temperatures, count of speeds, what the power is
    rho       4 coefficients a cell of evaporating temperature: ln of the suction density at the rated superheat
    speeds    the speeds of the map [1/s], rising
    patches   for each speed, for flow [kg/rev] and power [J/rev], 16 coefficients a cell (evaporating, condensing)
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.physics.jit import inner_jit, kernel_jit

Floats = NDArray[np.float64]

MAP_T_EVAP, MAP_PER_STEP_EVAP, MAP_N_EVAP, MAP_T_COND, MAP_PER_STEP_COND, MAP_N_COND = range(6)
MAP_N_SPEED, MAP_ELECTRIC, MAP_FLOW_LEAST, MAP_POWER_LEAST = range(6, 10)
MAP_HEAD = 10

_1, _2, _3, _4, _8, _12, _16 = (np.uint64(k) for k in (1, 2, 3, 4, 8, 12, 16))


@inner_jit
def _cubic(par: Floats, at: int, u: float) -> tuple[float, float]:
    """Return value and slope of the cubic whose four coefficients start at `at`."""
    b = par[at + _1]
    c = par[at + _2]
    d = par[at + _3]
    return par[at] + u * (b + u * (c + u * d)), b + u * (2.0 * c + 3.0 * u * d)


@inner_jit
def _patch(par: Floats, at: int, x: float, y: float, dx: float, dy: float) -> tuple[float, float, float]:
    """Return value and both slopes of a patch at (x, y), continued straight by (dx, dy) beyond its edges."""
    r0, q0 = _cubic(par, at, y)
    r1, q1 = _cubic(par, at + _4, y)
    r2, q2 = _cubic(par, at + _8, y)
    r3, q3 = _cubic(par, at + _12, y)
    value = r0 + x * (r1 + x * (r2 + x * r3))
    by_x = r1 + x * (2.0 * r2 + 3.0 * x * r3)
    by_y = q0 + x * (q1 + x * (q2 + x * q3))
    twist = q1 + x * (2.0 * q2 + 3.0 * x * q3)
    return value + by_x * dx + by_y * dy + twist * dx * dy, by_x + twist * dy, by_y + twist * dx


@inner_jit
def _place(t_k: float, origin: float, per_step: float, cells: float) -> tuple[float, float, float]:
    """Return cell, place inside it and what lies beyond the map's edge, in steps."""
    x = (t_k - origin) * per_step
    inside = min(max(x, 0.0), cells)
    cell = min(math.floor(inside), cells - 1.0)
    return cell, inside - cell, x - inside


@inner_jit
def _between(speed_hz: float, par: Floats, speeds: int, n_speed: int) -> tuple[Any, float]:
    """Return the number of the map's speed below, and the share of the way to the next (0 to 1)."""
    if n_speed < _2:
        return np.uint64(0), 0.0
    below = np.uint64(0)
    for k in range(_1, n_speed - _1):
        if par[speeds + k] <= speed_hz:
            below = np.uint64(k)
    low = par[speeds + below]
    return below, min(max((speed_hz - low) / (par[speeds + below + _1] - low), 0.0), 1.0)


@inner_jit
def _blended(
    share: float, par: Floats, at: int, grid: int, x: float, y: float, dx: float, dy: float, least: float
) -> tuple[float, float, float]:
    """Return value and slopes between a speed's patch and that of the next, at least `least`."""
    value, by_x, by_y = _patch(par, at, x, y, dx, dy)
    if share > 0.0:
        value2, by_x2, by_y2 = _patch(par, at + _2 * grid, x, y, dx, dy)
        value += share * (value2 - value)
        by_x += share * (by_x2 - by_x)
        by_y += share * (by_y2 - by_y)
    if value < least:
        return least, 0.0, 0.0
    return value, by_x, by_y


@kernel_jit
def map_point(
    t_evap_k: float, t_cond_k: float, speed_hz: float, ln_rho: float, ln_rho_e: float, par: Floats, at: int
) -> tuple[float, float, float, float, float, float]:
    """Return mass flow and power of a mapped compressor, each with its slopes in both temperatures.

    Equation
        m = n mu(te, tc) rho1 / rho_rated(te);  P = n pi(te, tc)
        mu, pi: flow and work a revolution, bicubic splines at the map's speeds, linear in speed between them
    Parameters
        t_evap_k, t_cond_k : float   dew temperatures of suction and discharge pressure [K], the map's range
        speed_hz : float   shaft speed n [1/s], the map's range
        ln_rho, ln_rho_e : float   ln of the suction density rho1/(kg/m3) and its slope in te [1/K]
        par : array   holds the map (layout: the module)
        at : int   where the map starts in par
    Returns
        m [kg/s], dm/dte, dm/dtc [kg/(s K)], P [W] as the map has it (shaft or electric), dP/dte, dP/dtc [W/K]
    Outside the range
        temperatures: mu and pi go on straight, not below a twentieth of their least value; speed: mu and pi stay
        those of the nearest speed.  `map_left` tells by how much the range was left
    Source
        ANSI/AHRI Standard 540, Performance Rating of Positive Displacement Refrigerant Compressors (maps in dew
        temperatures at a rated superheat); flow by the ratio of suction densities at another superheat, power as
        rated: common practice
    Example
        >>> flat = [0.01, *[0.0] * 15, 800.0, *[0.0] * 15]
        >>> par = np.array([250.0, 0.1, 1.0, 300.0, 0.1, 1.0, 1.0, 1.0, 0.001, 80.0, 2.0, 0.0, 0.0, 0.0, 50.0, *flat])
        >>> [round(x, 6) for x in map_point(255.0, 305.0, 100.0, 2.0, 0.0, par, np.uint64(0))]
        [1.0, 0.0, 0.0, 80000.0, 0.0, 0.0]
    """
    o = np.uint64(at)
    n_evap = par[o + np.uint64(MAP_N_EVAP)]
    n_cond = par[o + np.uint64(MAP_N_COND)]
    r_evap = par[o + np.uint64(MAP_PER_STEP_EVAP)]
    r_cond = par[o + np.uint64(MAP_PER_STEP_COND)]
    row, x, dx = _place(t_evap_k, par[o + np.uint64(MAP_T_EVAP)], r_evap, n_evap)
    col, y, dy = _place(t_cond_k, par[o + np.uint64(MAP_T_COND)], r_cond, n_cond)
    rho = o + np.uint64(MAP_HEAD)
    rated, rated_e = _cubic(par, rho + np.uint64(row) * _4, x)
    n_speed = np.uint64(par[o + np.uint64(MAP_N_SPEED)])
    speeds = rho + np.uint64(n_evap) * _4
    below, share = _between(speed_hz, par, speeds, n_speed)
    grid = np.uint64(n_evap * n_cond) * _16
    cell = speeds + n_speed + below * _2 * grid + np.uint64(row * n_cond + col) * _16
    mu, mu_e, mu_c = _blended(share, par, cell, grid, x, y, dx, dy, par[o + np.uint64(MAP_FLOW_LEAST)])
    work, work_e, work_c = _blended(share, par, cell + grid, grid, x, y, dx, dy, par[o + np.uint64(MAP_POWER_LEAST)])
    denser = speed_hz * math.exp(ln_rho - rated - rated_e * dx)
    m = mu * denser
    m_e = mu_e * r_evap * denser + m * (ln_rho_e - rated_e * r_evap)
    power = work * speed_hz
    return m, m_e, mu_c * r_cond * denser, power, work_e * r_evap * speed_hz, work_c * r_cond * speed_hz


@kernel_jit
def map_left(t_evap_k: float, t_cond_k: float, speed_hz: float, par: Floats, at: int) -> float:
    """Return by how much a point lies outside a compressor's map, in its own widths.

    Equation
        the greatest of distance outside / width over evaporating and condensing temperature and speed
    Parameters
        t_evap_k, t_cond_k : float   dew temperatures [K]
        speed_hz : float   shaft speed [1/s]
        par : array   holds the map
        at : int   where the map starts in par
    Returns
        0 inside the map, else the share of its width (of the speed itself where the map has one speed) [-]
    Outside the range
        this is what it is for
    Source
        common practice: a fit is not to be trusted outside the points it was made from
    Example
        >>> par = np.array([250.0, 0.1, 3.0, 300.0, 0.1, 3.0, 1.0, 0.0, 0.0, 0.0, *[0.0] * 12, 50.0])
        >>> [round(map_left(t, 310.0, 50.0, par, np.uint64(0)), 2) for t in (260.0, 247.0)]
        [0.0, 0.1]
    """
    o = np.uint64(at)
    n_evap = par[o + np.uint64(MAP_N_EVAP)]
    n_cond = par[o + np.uint64(MAP_N_COND)]
    _, _, dx = _place(t_evap_k, par[o + np.uint64(MAP_T_EVAP)], par[o + np.uint64(MAP_PER_STEP_EVAP)], n_evap)
    _, _, dy = _place(t_cond_k, par[o + np.uint64(MAP_T_COND)], par[o + np.uint64(MAP_PER_STEP_COND)], n_cond)
    speeds = o + np.uint64(MAP_HEAD) + np.uint64(n_evap) * _4
    low = par[speeds]
    high = par[speeds + np.uint64(par[o + np.uint64(MAP_N_SPEED)]) - _1]
    width = high - low if high > low else high
    away = max(low - speed_hz, speed_hz - high, 0.0) / width
    away = away if away > 1e-9 else 0.0
    return max(abs(dx) / n_evap, abs(dy) / n_cond, away)


@kernel_jit
def shaft_power(
    p_electric_w: float, best: float = 0.93, droop: float = 0.05, scale_w: float = 500.0
) -> tuple[float, float]:
    """Return the shaft power behind an electric power, and its slope.

    Equation
        P / (best - droop exp(-P / scale)) = P_el, solved by Newton's rule
    Parameters
        p_electric_w : float   electric power P_el [W], 0 to 8000
        best : float   efficiency of motor with inverter at high power [-], 0.85 to 0.94
        droop : float   loss of efficiency at no power [-]
        scale_w : float   power over which the droop fades [W]
    Returns
        P [W], dP / dP_el [-]
    Outside the range
        above: the efficiency tends to best
    Source
        the drive law of `compressor.gas_power`, turned round; coefficients are values from memory
    Example
        >>> [round(x, 3) for x in shaft_power(1083.152)]
        [1000.002, 0.937]
    """
    p = p_electric_w * best
    slope = best
    for _ in range(8):
        fade = droop * math.exp(-p / scale_w)
        eta = best - fade
        slope = eta * eta / (eta - p * fade / scale_w)
        step = (p_electric_w - p / eta) * slope
        p += step
        if abs(step) < 1e-9 * p_electric_w:
            break
    return p, slope
