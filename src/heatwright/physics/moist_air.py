"""Moist air, ice and water vapour, -60 to 105 degC.

Humidity ratios and enthalpies are per kilogram of dry air.  Saturation is over ice below the triple point and
over water above it unless a name says otherwise.  Air is an ideal-gas mixture; the enhancement factor (0.4 %
more vapour at sea level) is left out.  The laws of saturation cost one exponential each and serve the kernel
as they stand.
"""

from __future__ import annotations

import math

from heatwright.physics.jit import kernel_jit

ZERO_C_K = 273.15
TRIPLE_K = 273.16
LN_TRIPLE_PA = 6.416171667880966  # of 611.657 Pa
MASS_RATIO = 0.621945  # molar mass of water over that of dry air [-]
R_AIR_J_PER_KG_K = 287.042
CP_AIR_J_PER_KG_K = 1006.0
CP_VAPOUR_J_PER_KG_K = 1860.0
CP_WATER_J_PER_KG_K = 4186.0
H_VAPOUR_J_PER_KG = 2501.0e3  # water vapour at 0 degC over liquid water at 0 degC
H_FUSION_J_PER_KG = 333.4e3  # melting at 0 degC
CP_ICE_J_PER_KG_K = 2097.0  # at 0 degC
CP_ICE_RISE_J_PER_KG_K2 = 7.4

# ln p = a/T + b + c t + d t^2, t = T - 273.15: Hyland and Wexler's equations within 3e-5,
# both 611.657 Pa at 273.16 K.
_ICE_A, _ICE_B, _ICE_C, _ICE_D = -6015.81617144, 28.4392039192, 1.71399365619e-03, -9.57988747855e-06
_WATER_A, _WATER_B, _WATER_C, _WATER_D = (
    -6343.36236513,
    29.6384449103,
    -1.23715450999e-02,
    1.25216049972e-05,
)
_COLDEST_K = 180.0
_HOTTEST_K = 450.0


@kernel_jit
def saturation_pressure(t_k: float) -> float:
    """Return the saturation pressure of water vapour, over ice below 273.16 K and water above [Pa].

    Equation: ln p = a/T + b + c t + d t^2, t = T - 273.15, one set of coefficients for ice and one for
    water.

    Parameters
    ----------
    t_k : float
        Temperature, 213 to 378 [K]; held to 180..450 K.

    Returns
    -------
    float
        Pressure [Pa]; within 3e-5 of the source in the range, without a jump at 273.16 K.

    Source: fitted to Hyland and Wexler, "Formulations for the thermodynamic properties of the saturated
    phases of H2O", ASHRAE Transactions, 1983, as in ASHRAE Handbook - Fundamentals.

    >>> round(saturation_pressure(293.15), 1), round(saturation_pressure(263.15), 1)
    (2338.8, 259.9)
    """
    held_k = min(max(t_k, _COLDEST_K), _HOTTEST_K)
    t = held_k - ZERO_C_K
    if held_k < TRIPLE_K:
        return math.exp(_ICE_A / held_k + _ICE_B + t * (_ICE_C + t * _ICE_D))
    return math.exp(_WATER_A / held_k + _WATER_B + t * (_WATER_C + t * _WATER_D))


@kernel_jit
def saturation_pressure_supercooled(t_k: float) -> float:
    """Return the saturation pressure over liquid water, supercooled below 273.15 K [Pa].

    Equation: ln p = 54.842763 - 6763.22/T - 4.210 ln T + 0.000367 T + tanh[0.0415 (T - 218.8)]
    (53.878 - 1331.22/T - 9.44523 ln T + 0.014025 T).

    Parameters
    ----------
    t_k : float
        Temperature, 123 to 332 [K]; used as it is outside.

    Returns
    -------
    float
        Pressure [Pa].

    Source: Murphy and Koop, "Review of the vapour pressures of ice and supercooled water for atmospheric
    applications", Q. J. R. Meteorol. Soc., 2005, equation 10.

    >>> round(saturation_pressure_supercooled(263.15), 2)
    286.45
    """
    log_t = math.log(t_k)
    ice_like = 54.842763 - 6763.22 / t_k - 4.210 * log_t + 0.000367 * t_k
    turn = math.tanh(0.0415 * (t_k - 218.8))
    return math.exp(ice_like + turn * (53.878 - 1331.22 / t_k - 9.44523 * log_t + 0.014025 * t_k))


@kernel_jit
def humidity_ratio(p_vapour_pa: float, p_pa: float) -> float:
    """Return the humidity ratio of air with a vapour pressure [kg/kg dry air].

    Equation: w = 0.621945 pv / (p - pv).

    Parameters
    ----------
    p_vapour_pa : float
        Vapour pressure, 0 to 0.9 p [Pa]; held to 0.9 p (w = 5.6).
    p_pa : float
        Total pressure [Pa].

    Returns
    -------
    float
        Humidity ratio [kg/kg].

    Source: ideal gas mixture, ASHRAE Handbook - Fundamentals, chapter 1.

    >>> round(humidity_ratio(1584.6, 101325.0), 6)
    0.009881
    """
    pv = min(p_vapour_pa, 0.9 * p_pa)
    return MASS_RATIO * pv / (p_pa - pv)


@kernel_jit
def vapour_pressure(w: float, p_pa: float) -> float:
    """Return the vapour pressure in air of a humidity ratio [Pa].

    Equation: pv = p w / (0.621945 + w).

    Parameters
    ----------
    w : float
        Humidity ratio, 0 or more [kg/kg].
    p_pa : float
        Total pressure [Pa].

    Returns
    -------
    float
        Vapour pressure [Pa].

    Source: inverse of `humidity_ratio`.

    >>> round(vapour_pressure(0.009881, 101325.0), 1)
    1584.6
    """
    return p_pa * w / (MASS_RATIO + w)


@kernel_jit
def saturation_humidity_ratio(t_k: float, p_pa: float) -> float:
    """Return the humidity ratio of saturated air, over ice below 273.16 K and water above [kg/kg].

    Equation: `humidity_ratio` of `saturation_pressure`.

    Parameters
    ----------
    t_k : float
        Temperature, 213 to 378 [K].
    p_pa : float
        Total pressure [Pa].

    Returns
    -------
    float
        Humidity ratio [kg/kg]; near and above boiling held at 5.6.

    Source: Hyland and Wexler 1983 by the fit of `saturation_pressure`.

    >>> round(saturation_humidity_ratio(293.15, 101325.0) * 1e3, 3)
    14.695
    """
    return humidity_ratio(saturation_pressure(t_k), p_pa)


@kernel_jit
def relative_humidity(t_k: float, w: float, p_pa: float) -> float:
    """Return the relative humidity, over ice below 273.16 K and water above [-].

    Equation: pv / p_sat(T).

    Parameters
    ----------
    t_k : float
        Temperature, 213 to 378 [K].
    w : float
        Humidity ratio, 0 or more [kg/kg].
    p_pa : float
        Total pressure [Pa].

    Returns
    -------
    float
        Relative humidity [-], above 1 where the air is supersaturated.

    Source: definition.

    >>> round(relative_humidity(298.15, 0.009881, 101325.0), 3)
    0.5
    """
    return vapour_pressure(w, p_pa) / saturation_pressure(t_k)


@kernel_jit
def dew_point_k(w: float, p_pa: float) -> float:
    """Return the dew point, or below 273.16 K the frost point, of air [K].

    Equation: p_sat(T) = pv: a Magnus form gives the start, three Newton steps on ln p the answer.

    Parameters
    ----------
    w : float
        Humidity ratio, above 0 [kg/kg]; held at 1e-6 from below (frost point about 213 K).
    p_pa : float
        Total pressure [Pa].

    Returns
    -------
    float
        Temperature [K], the exact inverse of `saturation_pressure` to 1e-6 K from 213 to 378 K.

    Source: inverse of the fit to Hyland and Wexler 1983; start by Magnus's form, value from memory.

    >>> round(dew_point_k(0.009881, 101325.0) - 273.15, 2)
    13.86
    """
    log_p = math.log(vapour_pressure(max(w, 1.0e-6), p_pa))
    if log_p < LN_TRIPLE_PA:
        x = log_p - 6.4154243
        t = 272.62 * x / (22.46 - x)
        a, b, c, d = _ICE_A, _ICE_B, _ICE_C, _ICE_D
    else:
        x = log_p - 6.4150000
        t = 243.04 * x / (17.625 - x)
        a, b, c, d = _WATER_A, _WATER_B, _WATER_C, _WATER_D
    for _ in range(3):
        inverse = 1.0 / (ZERO_C_K + t)
        miss = a * inverse + b + t * (c + t * d) - log_p
        t -= miss / (c + 2.0 * d * t - a * inverse * inverse)
    return ZERO_C_K + t


@kernel_jit
def enthalpy(t_k: float, w: float) -> float:
    """Return the enthalpy of moist air over dry air and liquid water at 0 degC [J/kg dry air].

    Equation: h = 1006 t + w (2501000 + 1860 t), t = T - 273.15.

    Parameters
    ----------
    t_k : float
        Temperature, 213 to 378 [K].
    w : float
        Humidity ratio, all of it vapour, 0 or more [kg/kg].

    Returns
    -------
    float
        Enthalpy [J/kg dry air].

    Source: ASHRAE Handbook - Fundamentals, chapter 1.

    >>> round(enthalpy(298.15, 0.009881))
    50322
    """
    t = t_k - ZERO_C_K
    return CP_AIR_J_PER_KG_K * t + w * (H_VAPOUR_J_PER_KG + CP_VAPOUR_J_PER_KG_K * t)


@kernel_jit
def temperature_from_enthalpy(h_j_per_kg: float, w: float) -> float:
    """Return the temperature of moist air of an enthalpy [K].

    Equation: t = (h - 2501000 w) / (1006 + 1860 w).

    Parameters
    ----------
    h_j_per_kg : float
        Enthalpy [J/kg dry air].
    w : float
        Humidity ratio [kg/kg].

    Returns
    -------
    float
        Temperature [K].

    Source: inverse of `enthalpy`.

    >>> round(temperature_from_enthalpy(50322.0, 0.009881), 2)
    298.15
    """
    return ZERO_C_K + (h_j_per_kg - H_VAPOUR_J_PER_KG * w) / (CP_AIR_J_PER_KG_K + CP_VAPOUR_J_PER_KG_K * w)


@kernel_jit
def density(t_k: float, w: float, p_pa: float) -> float:
    """Return the density of moist air, dry air and vapour together [kg/m3].

    Equation: rho = p (1 + w) / [287.042 T (1 + w/0.621945)].

    Parameters
    ----------
    t_k : float
        Temperature, 213 to 378 [K].
    w : float
        Humidity ratio, 0 or more [kg/kg].
    p_pa : float
        Total pressure [Pa].

    Returns
    -------
    float
        Density [kg/m3]; divided by 1 + w it is the dry air per volume.

    Source: ideal gas mixture, ASHRAE Handbook - Fundamentals, chapter 1.

    >>> round(density(316.15, 0.013562, 101325.0), 4)
    1.1075
    """
    return p_pa * (1.0 + w) / (R_AIR_J_PER_KG_K * t_k * (1.0 + w / MASS_RATIO))


@kernel_jit
def humidity_ratio_from_wet_bulb(t_k: float, t_wet_k: float, p_pa: float) -> float:
    """Return the humidity ratio of air with a dry-bulb and a wet-bulb temperature [kg/kg].

    Equation: w = [(2501 - 2.326 t*) ws* - 1.006 (t - t*)] / (2501 + 1.86 t - 4.186 t*) over water, a wet bulb
    of 0 degC or more; w = [(2830 - 0.24 t*) ws* - 1.006 (t - t*)] / (2830 + 1.86 t - 2.1 t*) over ice.

    Parameters
    ----------
    t_k, t_wet_k : float
        Dry-bulb and wet-bulb temperature, the latter not above the former [K].
    p_pa : float
        Total pressure [Pa].

    Returns
    -------
    float
        Humidity ratio [kg/kg]; below 0 where no air has so low a wet bulb.

    Source: ASHRAE Handbook - Fundamentals, chapter 1, equations for adiabatic saturation.

    >>> round(humidity_ratio_from_wet_bulb(313.15, 293.15, 101325.0), 4)
    0.0064
    """
    t = t_k - ZERO_C_K
    wet = t_wet_k - ZERO_C_K
    ws = saturation_humidity_ratio(t_wet_k, p_pa)
    if wet >= 0.0:
        return ((2501.0 - 2.326 * wet) * ws - 1.006 * (t - wet)) / (2501.0 + 1.86 * t - 4.186 * wet)
    return ((2830.0 - 0.24 * wet) * ws - 1.006 * (t - wet)) / (2830.0 + 1.86 * t - 2.1 * wet)


@kernel_jit
def wet_bulb_k(t_k: float, w: float, p_pa: float) -> float:
    """Return the wet-bulb temperature of air, by 40 halvings between 60 K below it and itself [K].

    Equation: `humidity_ratio_from_wet_bulb`(T, T*) = w.

    Parameters
    ----------
    t_k : float
        Temperature, 213 to 378 [K].
    w : float
        Humidity ratio, 0 to saturation [kg/kg]; above saturation the result is T.
    p_pa : float
        Total pressure [Pa].

    Returns
    -------
    float
        Wet-bulb temperature [K]; not meant for the step of the kernel.

    Source: ASHRAE Handbook - Fundamentals, chapter 1.

    >>> round(wet_bulb_k(298.15, 0.009881, 101325.0) - 273.15, 2)
    17.89
    """
    low = t_k - 60.0
    high = t_k
    for _ in range(40):
        middle = 0.5 * (low + high)
        if humidity_ratio_from_wet_bulb(t_k, middle, p_pa) > w:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


@kernel_jit
def heat_of_vaporisation(t_k: float) -> float:
    """Return the heat of vaporisation of water [J/kg].

    Equation: 2500910 - 2374.95 t + 0.52758 t^2 - 0.01228 t^3, t = T - 273.15.

    Parameters
    ----------
    t_k : float
        Temperature, 273 to 373 [K]; carried on outside.

    Returns
    -------
    float
        Heat [J/kg], within 2e-5 of the source in the range.

    Source: fitted to CoolProp 8.0, water by Wagner and Pruss, IAPWS-95.

    >>> round(heat_of_vaporisation(298.15))
    2441674
    """
    t = t_k - ZERO_C_K
    return 2.50090957e06 + t * (-2.37494908e03 + t * (5.27578809e-01 - 1.22796811e-02 * t))


@kernel_jit
def heat_of_sublimation(t_k: float) -> float:
    """Return the heat of sublimation of ice [J/kg].

    Equation: [46782.5 + 35.8925 T - 0.07414 T^2 + 541.5 exp(-(T/123.75)^2)] / 0.018015268.

    Parameters
    ----------
    t_k : float
        Temperature, 30 to 273.16 [K]; carried on above.

    Returns
    -------
    float
        Heat [J/kg].

    Source: Murphy and Koop 2005, equation 5.

    >>> round(heat_of_sublimation(273.16) / 1e3, 1)
    2834.2
    """
    share = t_k / 123.75
    molar = 46782.5 + t_k * (35.8925 - 0.07414 * t_k) + 541.5 * math.exp(-share * share)
    return molar / 0.018015268


@kernel_jit
def ice_heat_capacity(t_k: float) -> float:
    """Return the specific heat capacity of ice [J/kgK].

    Equation: 2097 + 7.4 t, t = T - 273.15.

    Parameters
    ----------
    t_k : float
        Temperature, 233 to 273.15 [K]; carried on outside.

    Returns
    -------
    float
        Heat capacity [J/kgK].

    Source: line through two values of IAPWS-06 (0 and -10 degC).

    >>> round(ice_heat_capacity(263.15))
    2023
    """
    return CP_ICE_J_PER_KG_K + CP_ICE_RISE_J_PER_KG_K2 * (t_k - ZERO_C_K)


@kernel_jit
def ice_density(t_k: float) -> float:
    """Return the density of solid ice [kg/m3].

    Equation: 916.7 - 0.15 t, t = T - 273.15.

    Parameters
    ----------
    t_k : float
        Temperature, 233 to 273.15 [K]; carried on outside.

    Returns
    -------
    float
        Density [kg/m3]; frost is far lighter.

    Source: line through two values of IAPWS-06 (0 and -10 degC).

    >>> round(ice_density(263.15), 1)
    918.2
    """
    return 916.7 - 0.15 * (t_k - ZERO_C_K)
