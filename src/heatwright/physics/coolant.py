"""Ethylene glycol and water, 30 to 60 % glycol by mass, -35 to 110 degC.

A mixture is fixed for a run, so its properties are polynomials in tau = T - 273.15 K whose coefficients
`coolant_fit` works out once.  The tables below were fitted to the incompressible mixture "MEG" of CoolProp
8.0 on 16 mixtures from the freezing point (or -35 degC) to 100 degC, greatest errors: density 0.07 %, heat
capacity 0.07 %, conductivity 0.10 %, viscosity 0.07 %.  The source itself stands within about 0.3 %, 1 %,
2 % and 8 % of other published data.

Layout of the coefficients of one mixture (SIZE floats): 0..2 density, 3..6 heat capacity, 7..9 conductivity,
10..13 logarithm of viscosity, each from the constant upwards; 14 glycol mass fraction; 15 freezing point [K].

Outside the range: from 100 to 110 degC and below the freezing point the polynomials are carried on (a
supercooled liquid; slush and ice are not modelled, compare with `freezing_point_k`).  Viscosity is held at
its values at -45 and 120 degC beyond these; the other properties are carried on without limit.
"""

from __future__ import annotations

import math

import numpy as np

from heatwright.physics.jit import kernel_jit

GLYCOL_MIN = 0.30
GLYCOL_MAX = 0.60
SIZE = 16
ZERO_C_K = 273.15

# Rows: powers of tau; columns: powers of (glycol - 0.45).
_DENSITY = (
    (1.0670215e03, 1.4071050e02, -4.5304811e01),
    (-4.0801060e-01, -5.2428952e-01, 2.2763018e-01),
    (-1.9874076e-03, 1.6195274e-03, -6.1923881e-03),
)
_HEAT_CAPACITY = (
    (3.3191356e03, -2.3036498e03, -2.7849009e02),
    (5.0493254e00, 1.2533155e01, -6.9026735e00),
    (-7.9235711e-03, -2.4447168e-02, 8.9625790e-02),
    (-2.3725607e-05, -1.7189344e-04, -9.1720779e-04),
)
_CONDUCTIVITY = (
    (3.9313734e-01, -3.2940517e-01, 1.6670064e-01),
    (6.9003977e-04, -1.6571766e-03, 1.1035683e-03),
    (-2.1010972e-07, 3.5392860e-06, -1.6438185e-05),
)
_LN_VISCOSITY = (
    (-4.9933768e00, 3.1150589e00, 3.6845033e-01, -9.7473193e-01),
    (-4.2790059e-02, -2.8829826e-02, -2.2392310e-02, -1.1663014e-02),
    (3.0367496e-04, 4.9021395e-04, 8.9701255e-04, 3.4930690e-04),
    (-1.1275741e-06, -3.4760292e-06, -6.5078212e-06, 6.1050659e-07),
)
_FREEZING_K = (243.61969, -121.98676, -149.60782)
_COLDEST_TAU_K = -45.0
_HOTTEST_TAU_K = 120.0

_U1 = np.uint64(1)
_U2 = np.uint64(2)
_CP0 = np.uint64(3)
_CP1 = np.uint64(4)
_CP2 = np.uint64(5)
_CP3 = np.uint64(6)
_K0 = np.uint64(7)
_K1 = np.uint64(8)
_K2 = np.uint64(9)
_MU0 = np.uint64(10)
_MU1 = np.uint64(11)
_MU2 = np.uint64(12)
_MU3 = np.uint64(13)


def _at(row: tuple[float, ...], glycol: float) -> float:
    """Return one row's polynomial in (glycol - 0.45)."""
    return sum(c * (glycol - 0.45) ** i for i, c in enumerate(row))


def freezing_point_k(glycol: float) -> float:
    """Return the temperature at which the first ice forms [K].

    Equation: 243.62 - 121.99 y - 149.61 y^2, y = glycol - 0.45; error 0.03 K against the source.

    Parameters
    ----------
    glycol : float
        Glycol mass fraction, 0.30 to 0.60 [-]; carried on outside.

    Returns
    -------
    float
        Freezing point [K].

    Source: fitted to CoolProp 8.0, INCOMP::MEG (Melinder, "Properties of Secondary Working Fluids", IIR).

    >>> round(freezing_point_k(0.5) - 273.15, 1)
    -36.0
    """
    return _at(_FREEZING_K, glycol)


def coolant_fit(x_glycol: float) -> np.ndarray:
    """Return the coefficients of one mixture for the functions below, SIZE floats.

    Equation: c_i = sum_j C_ij (glycol - 0.45)^j; the layout stands at the head of this module.

    Parameters
    ----------
    x_glycol : float
        Glycol mass fraction, 0.30 to 0.60 [-] (50 % by volume is 0.527 by mass).

    Returns
    -------
    array of float
        Coefficients; a fraction outside the range raises ValueError.

    Source: fitted to CoolProp 8.0, INCOMP::MEG.

    >>> c = coolant_fit(0.5)
    >>> round(density(293.15, c, np.uint64(0)), 1)
    1064.5
    """
    if not GLYCOL_MIN <= x_glycol <= GLYCOL_MAX:
        raise ValueError(f"glycol mass fraction {x_glycol}: expected {GLYCOL_MIN} to {GLYCOL_MAX}")
    rows = (*_DENSITY, *_HEAT_CAPACITY, *_CONDUCTIVITY, *_LN_VISCOSITY)
    return np.array([*(_at(row, x_glycol) for row in rows), x_glycol, freezing_point_k(x_glycol)])


@kernel_jit
def density(t_k: float, c: np.ndarray, o: int) -> float:
    """Return the density of the coolant [kg/m3].

    Equation: c0 + c1 tau + c2 tau^2, tau = T - 273.15.

    Parameters
    ----------
    t_k : float
        Temperature, 238 to 383 [K]; carried on outside.
    c : array of float
        Coefficients from `coolant_fit`.
    o : int
        Where they start in c (uint64).

    Returns
    -------
    float
        Density [kg/m3].

    Source: fitted to CoolProp 8.0, INCOMP::MEG, 0.07 %.

    >>> round(density(333.15, coolant_fit(0.5), np.uint64(0)), 1)
    1041.0
    """
    tau = t_k - ZERO_C_K
    return c[o] + tau * (c[o + _U1] + tau * c[o + _U2])


@kernel_jit
def heat_capacity(t_k: float, c: np.ndarray, o: int) -> float:
    """Return the specific heat capacity of the coolant [J/kgK].

    Equation: c3 + c4 tau + c5 tau^2 + c6 tau^3, tau = T - 273.15.

    Parameters
    ----------
    t_k : float
        Temperature, 238 to 383 [K]; carried on outside.
    c : array of float
        Coefficients from `coolant_fit`.
    o : int
        Where they start in c (uint64).

    Returns
    -------
    float
        Heat capacity [J/kgK].

    Source: fitted to CoolProp 8.0, INCOMP::MEG, 0.07 %.

    >>> round(heat_capacity(293.15, coolant_fit(0.5), np.uint64(0)))
    3313
    """
    tau = t_k - ZERO_C_K
    return c[o + _CP0] + tau * (c[o + _CP1] + tau * (c[o + _CP2] + tau * c[o + _CP3]))


@kernel_jit
def enthalpy(t_k: float, c: np.ndarray, o: int) -> float:
    """Return the specific enthalpy of the coolant above its value at 273.15 K [J/kg].

    Equation: integral of `heat_capacity` over tau from 0, exact.

    Parameters
    ----------
    t_k : float
        Temperature, 238 to 383 [K]; carried on outside.
    c : array of float
        Coefficients from `coolant_fit`.
    o : int
        Where they start in c (uint64).

    Returns
    -------
    float
        Enthalpy [J/kg], 0 at 273.15 K.

    Source: integral of `heat_capacity`; the effect of pressure is left out (0.1 J/kg per kPa).

    >>> round(enthalpy(303.15, coolant_fit(0.5), np.uint64(0)))
    98557
    """
    tau = t_k - ZERO_C_K
    low = c[o + _CP0] + tau * 0.5 * c[o + _CP1]
    return tau * (low + tau * tau * (c[o + _CP2] / 3.0 + tau * 0.25 * c[o + _CP3]))


@kernel_jit
def temperature_from_enthalpy(h_j_per_kg: float, t_guess_k: float, c: np.ndarray, o: int) -> float:
    """Return the temperature of the coolant at an enthalpy, by two Newton steps from a guess [K].

    Equation: T <- T - (h(T) - h)/cp(T), twice.

    Parameters
    ----------
    h_j_per_kg : float
        Enthalpy from `enthalpy` [J/kg].
    t_guess_k : float
        Start, within 60 K of the answer [K].
    c : array of float
        Coefficients from `coolant_fit`.
    o : int
        Where they start in c (uint64).

    Returns
    -------
    float
        Temperature [K]; error below 1e-6 K from a guess 5 K off, 0.02 K from one 60 K off.

    Source: Newton's method on `enthalpy`.

    >>> c, o = coolant_fit(0.5), np.uint64(0)
    >>> round(temperature_from_enthalpy(enthalpy(303.15, c, o), 300.0, c, o), 6)
    303.15
    """
    t_k = t_guess_k
    for _ in range(2):
        t_k -= (enthalpy(t_k, c, o) - h_j_per_kg) / heat_capacity(t_k, c, o)
    return t_k


@kernel_jit
def conductivity(t_k: float, c: np.ndarray, o: int) -> float:
    """Return the thermal conductivity of the coolant [W/mK].

    Equation: c7 + c8 tau + c9 tau^2, tau = T - 273.15.

    Parameters
    ----------
    t_k : float
        Temperature, 238 to 383 [K]; carried on outside.
    c : array of float
        Coefficients from `coolant_fit`.
    o : int
        Where they start in c (uint64).

    Returns
    -------
    float
        Conductivity [W/mK].

    Source: fitted to CoolProp 8.0, INCOMP::MEG, 0.10 %.

    >>> round(conductivity(293.15, coolant_fit(0.5), np.uint64(0)), 3)
    0.389
    """
    tau = t_k - ZERO_C_K
    return c[o + _K0] + tau * (c[o + _K1] + tau * c[o + _K2])


@kernel_jit
def viscosity(t_k: float, c: np.ndarray, o: int) -> float:
    """Return the dynamic viscosity of the coolant [Pa s].

    Equation: exp(c10 + c11 tau + c12 tau^2 + c13 tau^3), tau = T - 273.15 held to -45..120 K.

    Parameters
    ----------
    t_k : float
        Temperature, 238 to 383 [K].
    c : array of float
        Coefficients from `coolant_fit`.
    o : int
        Where they start in c (uint64).

    Returns
    -------
    float
        Viscosity [Pa s]; constant below 228.15 K and above 393.15 K.

    Source: fitted to CoolProp 8.0, INCOMP::MEG, 0.07 %.

    >>> cold, warm = (viscosity(t, coolant_fit(0.5), np.uint64(0)) for t in (253.15, 313.15))
    >>> round(cold * 1e3, 1), round(cold / warm, 1)
    (22.2, 10.5)
    """
    tau = min(max(t_k - ZERO_C_K, _COLDEST_TAU_K), _HOTTEST_TAU_K)
    return math.exp(c[o + _MU0] + tau * (c[o + _MU1] + tau * (c[o + _MU2] + tau * c[o + _MU3])))


@kernel_jit
def prandtl(t_k: float, c: np.ndarray, o: int) -> float:
    """Return the Prandtl number of the coolant [-].

    Equation: Pr = mu cp / k.

    Parameters
    ----------
    t_k : float
        Temperature, 238 to 383 [K]; outside as the three properties.
    c : array of float
        Coefficients from `coolant_fit`.
    o : int
        Where they start in c (uint64).

    Returns
    -------
    float
        Prandtl number [-].

    Source: definition.

    >>> round(prandtl(293.15, coolant_fit(0.5), np.uint64(0)), 1)
    31.4
    """
    return viscosity(t_k, c, o) * heat_capacity(t_k, c, o) / conductivity(t_k, c, o)
