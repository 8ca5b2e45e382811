"""The traction pack: voltage, resistance, heat, what it may give and take, and how it loses heat.

`cell` in the functions below is one array (table, 2, knot) that carries a chemistry: row pairs of knots and
values for one cell, in the order of the constants here.  `NMC` and `LFP` are ready to use.
Current is positive on discharge.
"""

from __future__ import annotations

import math

import numpy as np

from heatwright.physics.interpolate import read_table
from heatwright.physics.jit import kernel_jit

OCV, ENTROPY, PLATING, HEADROOM, TAPER, HOT = range(6)
"""Tables of a chemistry: open-circuit voltage [V] and dU/dT [V/K] by charge; plating rate limit [1/h] by
temperature [K]; plating headroom [-] and current taper [-] by charge; hot derate [-] by share of hot span."""

_T0, _T1, _T2, _T3, _T4, _T5 = (np.uint64(k) for k in range(6))  # places of the tables in a chemistry
_SOC = (0.0, 0.05, 0.10, 0.20, 0.30, 0.40, 0.50, 0.60, 0.70, 0.80, 0.90, 1.0)
_COLD_C = (-30.0, -20.0, -10.0, 0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0)
_LIMIT_SOC = (0.0, 0.05, 0.10, 0.25, 0.35, 0.50, 0.60, 0.70, 0.80, 0.90, 0.95, 1.0)
_TAPER = (0.80, 0.95, 1.0, 1.0, 0.92, 0.72, 0.60, 0.48, 0.36, 0.20, 0.10, 0.02)
_HEADROOM = (0.80, 0.95, 1.0, 1.0, 0.92, 0.80, 0.73, 0.65, 0.55, 0.38, 0.22, 0.02)
_HOT_SHARE = (0.0, 1.0 / 3.0, 2.0 / 3.0, 1.0)


def chemistry(tables: tuple[tuple[tuple[float, ...], tuple[float, ...]], ...]) -> np.ndarray:
    """Return the array of a chemistry from (knots, values) pairs; short ones repeat their last knot.

    Parameters: `tables` : pairs in the order of the constants above, in their units [V, V/K, K, 1/h, -].
    Source: arrangement of our own.

    >>> chemistry((((0.0, 1.0), (3.0, 4.0)), ((0.0, 0.5, 1.0), (1.0, 1.0, 0.0)))).shape
    (2, 2, 3)
    """
    width = max(len(knots) for knots, _ in tables)
    rows = [[(*row, *[row[-1]] * (width - len(row))) for row in pair] for pair in tables]
    return np.array(rows, dtype=float)


def _kelvin(t_c: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(t + 273.15 for t in t_c)


NMC = chemistry(
    (
        (_SOC, (3.00, 3.35, 3.45, 3.55, 3.61, 3.65, 3.70, 3.80, 3.90, 4.00, 4.09, 4.18)),
        (
            (0.05, 0.10, 0.20, 0.30, 0.40, 0.50, 0.60, 0.70, 0.80, 0.90, 1.0),
            (-35e-5, -30e-5, -15e-5, -5e-5, -2e-5, 0.0, 2e-5, 8e-5, 8e-5, 3e-5, -3e-5),
        ),
        (_kelvin(_COLD_C), (0.0, 0.08, 0.25, 0.45, 0.65, 0.90, 1.2, 1.5, 1.8, 2.05, 2.2)),
        (_LIMIT_SOC, _HEADROOM),
        (_LIMIT_SOC, _TAPER),
        (_HOT_SHARE, (1.0, 0.727, 0.227, 0.0)),
    )
)
"""Nickel-manganese-cobalt on graphite; every number a value from memory."""

LFP = chemistry(
    (
        (_SOC, (2.90, 3.15, 3.20, 3.24, 3.27, 3.28, 3.29, 3.30, 3.32, 3.33, 3.34, 3.42)),
        ((0.0, 1.0), (0.0, 0.0)),
        (_kelvin(_COLD_C), (0.0, 0.03, 0.12, 0.30, 0.45, 0.70, 1.0, 1.3, 1.6, 1.9, 2.1)),
        (_LIMIT_SOC, _HEADROOM),
        (_LIMIT_SOC, _TAPER),
        (_HOT_SHARE, (1.0, 0.857, 0.381, 0.0)),
    )
)
"""Iron phosphate on graphite; values from memory, dU/dT not known and taken as zero."""


@kernel_jit
def ocv_v(soc: float, cell: np.ndarray, n_series: float) -> float:
    """Return the pack's open-circuit voltage [V], n_series times the cell's, straight between knots.

    Parameters: `soc` : charge [-], 0-1, level beyond; `cell` : chemistry; `n_series` : cells in series [-].
    Source: value from memory (shape of a common NMC and LFP cell).

    >>> round(ocv_v(0.5, NMC, 96.0), 1), round(ocv_v(0.5, LFP, 108.0), 1)
    (355.2, 355.3)
    """
    return n_series * read_table(cell, _T0, soc)


@kernel_jit
def entropy_v_per_k(soc: float, cell: np.ndarray, n_series: float) -> float:
    """Return the pack's dU/dT [V/K], n_series times the cell's.

    Parameters: `soc` [-], 0-1; `cell` : chemistry; `n_series` [-].
    Source: value from memory (shape); measure where it matters.

    >>> round(entropy_v_per_k(0.2, NMC, 96.0), 5)
    -0.0144
    """
    return n_series * read_table(cell, _T1, soc)


@kernel_jit
def resistance_ohm(
    t_k: float,
    soc: float,
    r_25_ohm: float,
    ageing: float,
    ea_j_per_mol: float,
    share_2: float,
    ea_2_j_per_mol: float,
) -> float:
    """Return the pack's resistance [ohm], R25 fT fs (1 + ageing).

    fT = (1 - share_2) exp(Ea/R x) + share_2 exp(Ea2/R x), x = 1/T - 1/298.15 K;
    fs = 1 + 0.9 exp(-s/0.06) + 0.12 max(0, (s - 0.85)/0.15)^2.
    Usual: Ea 25 kJ/mol alone (share_2 = 0).  High-power pulses below -10 degC: 14 and 40 kJ/mol, share 0.55.
    Parameters: `t_k` : [K], 243-333; `soc` [-], 0-1; `r_25_ohm` : 10-s value at 25 degC, half charge [ohm];
    `ageing` : [-], 0 new to 1 at end of life; `ea_j_per_mol`, `ea_2_j_per_mol` : 14e3-40e3 [J/mol];
    `share_2` [-], 0-1.
    Outside: the same law goes on; T is held above 200 K.
    Source: Arrhenius form; coefficients from memory.

    >>> round(resistance_ohm(253.15, 0.5, 0.070, 0.0, 25e3, 0.0, 40e3) / 0.070, 2)
    6.01
    """
    x = (1.0 / max(t_k, 200.0) - 1.0 / 298.15) / 8.314462618
    f_t = (1.0 - share_2) * math.exp(ea_j_per_mol * x)
    if share_2 > 0.0:
        f_t += share_2 * math.exp(ea_2_j_per_mol * x)
    high = max(0.0, (soc - 0.85) / 0.15)
    f_s = 1.0 + 0.9 * math.exp(-max(soc, 0.0) / 0.06) + 0.12 * high * high
    return r_25_ohm * f_t * f_s * (1.0 + ageing)


@kernel_jit
def current_a(p_terminal_w: float, u_v: float, r_ohm: float) -> tuple[float, bool]:
    """Return (current [A], whether the power was out of reach) for a power at the terminals.

    P = U I - R I^2, the smaller root: I = 2 P / (U + sqrt(U^2 - 4 R P)); above U^2 / 4R the current of the
    greatest power, U / 2R, is returned with True.
    Parameters: `p_terminal_w` : [W], negative charges; `u_v` : open-circuit voltage [V], > 0; `r_ohm` [ohm].
    Source: closed form.

    >>> i, short = current_a(50_000.0, 350.0, 0.07)
    >>> round(i, 3), round(350.0 * i - 0.07 * i * i, 6), short
    (147.19, 50000.0, False)
    """
    inside = u_v * u_v - 4.0 * r_ohm * p_terminal_w
    if inside < 0.0:
        return u_v / (2.0 * r_ohm), True
    return 2.0 * p_terminal_w / (u_v + math.sqrt(inside)), False


@kernel_jit
def heat_w(i_a: float, r_ohm: float, t_k: float, entropy_pack_v_per_k: float) -> float:
    """Return the heat made in the pack [W], I^2 R - I T dU/dT; negative where the reversible part cools.

    Parameters: `i_a` : current, positive on discharge [A]; `r_ohm` [ohm]; `t_k` [K];
    `entropy_pack_v_per_k` : dU/dT of the pack [V/K].
    Source: Bernardi, Pawlikowski, Newman (1985), energy balance without heat of mixing.

    >>> round(heat_w(100.0, 0.070, 298.15, -0.0144))
    1129
    """
    return i_a * i_a * r_ohm - i_a * t_k * entropy_pack_v_per_k


@kernel_jit
def soc_rate_per_s(i_a: float, capacity_c: float) -> float:
    """Return the rate of change of charge [1/s], -I / capacity.

    Parameters: `i_a` : [A], positive on discharge; `capacity_c` : [C] = [A s], > 0.
    Source: charge balance, coulombic efficiency 1 (common practice, > 0.995 in use).

    >>> soc_rate_per_s(200.0, 720000.0) * 3600
    -1.0
    """
    return -i_a / capacity_c


@kernel_jit
def charge_rate_per_h(t_cold_k: float, t_hot_k: float, soc: float, cell: np.ndarray) -> float:
    """Return the charge rate allowed [1/h], power over gross energy, as one function of heat and charge.

    c = min( plating(T_cold) headroom(s),  c_top taper(s) ) x hot(y),
    y = (T_hot - T_k(s)) / (60 degC - T_k(s)),  T_k(s) = 45 degC up to s = 0.35, then falling to 35 degC at 1.
    Cold cells are limited by lithium plating, which needs less warmth when the current must be small anyway:
    `headroom` falls later than `taper`, so the least temperature that gives the full rate falls with charge
    (35 degC at s = 0.2, about 18 degC at s = 0.8); hot cells are held back earlier when nearly full.
    Up to s = 0.35 the cold side is the plain product plating x taper.
    Parameters: `t_cold_k`, `t_hot_k` : coldest and hottest cell [K]; `soc` [-], 0-1; `cell` : chemistry.
    Outside: 0 below -30 degC and above 60 degC.
    Source: value from memory throughout; the fall of the best temperature with the rate follows the plating
    and growth branches of Waldmann et al. (2014), its size is a guess.

    >>> round(charge_rate_per_h(273.15, 273.15, 0.30, NMC) * 75.0, 1)
    32.4
    """
    last = cell.shape[2] - 1
    cold = read_table(cell, _T2, t_cold_k) * read_table(cell, _T3, soc)
    full = cell[2, 1, last] * read_table(cell, _T4, soc)
    t_knee = _hot_knee_k(soc)
    hot = read_table(cell, _T5, (t_hot_k - t_knee) / (333.15 - t_knee))
    return min(cold, full) * hot


@kernel_jit
def _hot_knee_k(soc: float) -> float:
    return 318.15 - 10.0 * min(max((soc - 0.35) / 0.65, 0.0), 1.0)


@kernel_jit
def charge_window_k(soc: float, cell: np.ndarray) -> tuple[float, float]:
    """Return (least, most) pack temperature [K] at which the full charge rate of this charge is allowed.

    Preparation aims at the first; cooling while charging begins above the second: both follow
    `charge_rate_per_h`, so one does not fight the other.  Solved on the straight pieces of the plating table.
    Parameters: `soc` [-], 0-1; `cell` : chemistry.
    Source: as `charge_rate_per_h`.

    >>> [round(t - 273.15, 1) for t in charge_window_k(0.2, NMC)]
    [35.0, 45.0]
    >>> [round(t - 273.15, 1) for t in charge_window_k(0.8, NMC)]
    [19.0, 38.1]
    """
    last = cell.shape[2] - 1
    wanted = cell[2, 1, last] * read_table(cell, _T4, soc) / max(read_table(cell, _T3, soc), 1e-9)
    t_least = cell[2, 0, last]
    for k in range(1, last + 1):
        if cell[2, 1, k] >= wanted:
            low, high = cell[2, 1, k - 1], cell[2, 1, k]
            share = (wanted - low) / max(high - low, 1e-12)
            t_least = cell[2, 0, k - 1] + (cell[2, 0, k] - cell[2, 0, k - 1]) * share
            break
    return t_least, _hot_knee_k(soc)


@kernel_jit
def charge_limit_w(
    t_cold_k: float,
    t_hot_k: float,
    soc: float,
    energy_j: float,
    u_v: float,
    i_max_a: float,
    pulse: float,
    cell: np.ndarray,
) -> float:
    """Return the most power that may be put in [W, >= 0], min(pulse c(T, s) E, U I_max).

    Parameters: `t_cold_k`, `t_hot_k`, `soc`, `cell` : as `charge_rate_per_h`;
    `energy_j` : gross energy [J]; `u_v` : pack voltage [V];
    `i_max_a` : cable or contactor limit [A]; `pulse` : 1 for charging, 1.5 for braking of up to 10 s.
    Source: value from memory.

    >>> round(charge_limit_w(273.15, 273.15, 0.3, 75 * 3.6e6, 350.0, 500.0, 1.0, NMC) / 1e3, 1)
    32.4
    """
    rate_per_s = charge_rate_per_h(t_cold_k, t_hot_k, soc, cell) / 3600.0
    return min(pulse * rate_per_s * energy_j, u_v * i_max_a)


@kernel_jit
def underside_w_per_k(still_w_per_k: float, speed: float) -> float:
    """Return the conductance from the pack's underside to outside air [W/K], G0 + 0.432 v (0.12 per km/h).

    The one way a pack loses heat outside; the way to the cabin floor (6 W/K) is a separate link.
    Parameters: `still_w_per_k` : parked [W/K], usual 10; `speed` : [m/s], >= 0.
    Source: value from memory (3 m2 at 3-6 W/m2K).

    >>> round(underside_w_per_k(10.0, 100.0 / 3.6), 1)
    22.0
    """
    return still_w_per_k + 0.432 * speed


@kernel_jit
def plate_film_w_per_k(ua_w_per_k: float, flow: float, flow_reference: float, mu_ratio: float) -> float:
    """Return the conductance between cold plate and coolant [W/K], G (V / V_ref)^0.6 (mu / mu_ref)^(-1/3).

    Parameters: `ua_w_per_k` : at the reference flow and viscosity, usual 1000 at 10 L/min, 40 degC;
    `flow`, `flow_reference` : [m3/s]; `mu_ratio` : viscosity over its reference value [-], > 0.
    No flow gives 0.
    Source: value from memory (turbulent and developing laminar films lumped).

    >>> g = plate_film_w_per_k(1000.0, 20.0, 10.0, 1.0)
    >>> round(1.0 / (1.0 / 1200.0 + 1.0 / g))
    670
    """
    if flow <= 0.0:
        return 0.0
    return ua_w_per_k * (flow / flow_reference) ** 0.6 * mu_ratio ** (-1.0 / 3.0)


@kernel_jit
def heat_capacity_j_per_k(cells_kg: float, rest_kg: float, coolant_kg: float) -> float:
    """Return a pack's heat capacity [J/K], cells at 1000, structure and plates at 750, coolant at 3300 J/kgK.

    Parameters: `cells_kg`, `rest_kg`, `coolant_kg` [kg]; a 75 kWh pack has about 310, 145 and 8.
    Source: cells 830 (NCA) to 1130 (LFP) J/kgK measured (public cell-property page); the rest from memory.

    >>> round(heat_capacity_j_per_k(310.0, 145.0, 8.0) / 1e3)
    445
    """
    return cells_kg * 1000.0 + rest_kg * 750.0 + coolant_kg * 3300.0
