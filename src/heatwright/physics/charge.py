"""How much refrigerant a volume holds: void fraction, mean density of a two-phase stretch, and of an exchanger."""

from __future__ import annotations

import math

from heatwright.physics.jit import kernel_jit

_NARROW = 1e-5


@kernel_jit
def void_fraction(quality: float, rho_liquid: float, rho_vapour: float) -> float:
    """Return the share of a cross-section that vapour fills.

    Equation
        alpha = x / (x + (1 - x) (rho_v / rho_l)^(2/3)), slip ratio S = (rho_l / rho_v)^(1/3)
    Parameters
        quality : float   vapour's share x of the flow [-], 0 to 1
        rho_liquid, rho_vapour : float   saturated densities [kg/m3]
    Returns
        alpha [-]
    Outside the range
        clamped to 0 and 1
    Source
        S. M. Zivi, Estimation of steady-state steam void-fraction by means of the principle of minimum entropy
        production, J. Heat Transfer 86 (1964) 247-252 (value from memory)
    Example
        >>> round(void_fraction(0.1, 1147.0, 32.6), 4)
        0.544
    """
    x = min(max(quality, 0.0), 1.0)
    return x / (x + (1.0 - x) * (rho_vapour / rho_liquid) ** (2.0 / 3.0))


@kernel_jit
def two_phase_density(x_in: float, x_out: float, rho_liquid: float, rho_vapour: float) -> float:
    """Return the mean density along a stretch in which the quality changes evenly.

    Equation
        rho = rho_l - (rho_l - rho_v) mean(alpha), alpha by Zivi, integrated in closed form over x
    Parameters
        x_in, x_out : float   quality at both ends [-], 0 to 1, in either order
        rho_liquid, rho_vapour : float   saturated densities [kg/m3]
    Returns
        rho [kg/m3]
    Outside the range
        qualities are clamped to 0 and 1
    Source
        integral of the void fraction above; even heat along the stretch: common practice
    Example
        >>> round(two_phase_density(0.0, 1.0, 1147.0, 32.6), 1)
        217.7
    """
    a = min(max(x_in, 0.0), 1.0)
    b = min(max(x_out, 0.0), 1.0)
    if abs(b - a) < _NARROW:
        alpha = void_fraction(0.5 * (a + b), rho_liquid, rho_vapour)
    else:
        c = (rho_vapour / rho_liquid) ** (2.0 / 3.0)
        k = 1.0 - c
        alpha = (1.0 - c / (k * (b - a)) * math.log((c + k * b) / (c + k * a))) / k
    return rho_liquid - (rho_liquid - rho_vapour) * alpha


@kernel_jit
def exchanger_density(
    h_in: float,
    h_out: float,
    h_liquid: float,
    h_vapour: float,
    rho_gas: float,
    rho_liquid: float,
    rho_vapour: float,
    rho_subcooled: float,
) -> float:
    """Return the mean density of the refrigerant in an exchanger, zones in proportion to their heat.

    Equation
        rho = sum over gas, two-phase, liquid of share rho_zone, share = heat of the zone / |h_in - h_out|
        gas: mean of rho_gas and rho_v; two-phase: `two_phase_density`; liquid: mean of rho_subcooled and rho_l
    Parameters
        h_in, h_out : float   enthalpy at both ends [J/kg], in either order, not equal
        h_liquid, h_vapour : float   saturated enthalpies at its pressure [J/kg]
        rho_gas : float   density of the superheated end [kg/m3]
        rho_liquid, rho_vapour : float   saturated densities [kg/m3]
        rho_subcooled : float   density of the subcooled end [kg/m3]
    Returns
        rho [kg/m3]
    Outside the range
        an end inside the dome has no zone beyond it
    Source
        common practice: even heat flux over the inside surface
    Example
        >>> round(exchanger_density(430e3, 245e3, 256e3, 419e3, 50.0, 1147.0, 58.0, 1180.0), 1)
        321.8
    """
    top = max(h_in, h_out)
    bottom = min(h_in, h_out)
    span = top - bottom
    gas = max(top - max(h_vapour, bottom), 0.0) / span
    liquid = max(min(h_liquid, top) - bottom, 0.0) / span
    latent = h_vapour - h_liquid
    wet = two_phase_density((bottom - h_liquid) / latent, (top - h_liquid) / latent, rho_liquid, rho_vapour)
    return gas * 0.5 * (rho_gas + rho_vapour) + liquid * 0.5 * (rho_subcooled + rho_liquid) + (1.0 - gas - liquid) * wet
