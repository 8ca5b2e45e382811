"""Optics of a pane in the sun.  The sun's place in the sky comes from outside; azimuths count from the nose.

Angles in radians.  A pane's slope is 0 lying flat and pi/2 standing; its azimuth is the way its outer face
looks: 0 ahead, pi/2 right, pi back.
"""

from __future__ import annotations

import math

from heatwright.physics.jit import kernel_jit

GLASS_INDEX = 1.526


@kernel_jit
def incidence_cosine(elevation: float, sun_azimuth: float, slope: float, azimuth: float) -> float:
    """Return the cosine of the angle between the sun and a pane's outward normal [-]; below 0: from behind.

    cos = sin h cos s + cos h sin s cos(a_sun - a).
    Parameters: `elevation` : h; `sun_azimuth`; `slope` : s; `azimuth` : a, all [rad].
    Source: spherical geometry, e.g. Duffie & Beckman, eq. 1.6.3.

    >>> round(incidence_cosine(math.radians(60), 0.0, math.radians(29), 0.0), 4)
    0.9998
    """
    return math.sin(elevation) * math.cos(slope) + math.cos(elevation) * math.sin(slope) * math.cos(
        sun_azimuth - azimuth
    )


@kernel_jit
def incidence_rad(elevation: float, sun_azimuth: float, slope: float, azimuth: float) -> float:
    """Return the angle between the sun and a pane's outward normal [rad], 0 to pi; above pi/2: from behind.

    Parameters: `elevation`, `sun_azimuth`, `slope`, `azimuth` : as `incidence_cosine` [rad].
    Source: as there.

    >>> round(math.degrees(incidence_rad(math.radians(45), 0.0, math.radians(90), 0.0)), 6)
    45.0
    """
    return math.acos(min(max(incidence_cosine(elevation, sun_azimuth, slope, azimuth), -1.0), 1.0))


@kernel_jit
def pane_irradiance(
    direct: float,
    diffuse: float,
    elevation: float,
    sun_azimuth: float,
    slope: float,
    azimuth: float,
    albedo: float,
) -> tuple[float, float, float]:
    """Return (direct on the pane [W/m2], diffuse on the pane [W/m2], cosine of incidence [-]).

    direct B max(cos, 0);  diffuse D (1 + cos s)/2 + albedo (B sin h + D) (1 - cos s)/2.
    Parameters: `direct` : B, on a surface facing the sun [W/m2]; `diffuse` : D, on the level [W/m2];
    `elevation`, `sun_azimuth`, `slope`, `azimuth` : as `incidence_cosine` [rad];
    `albedo` : ground, usual 0.2, snow 0.6-0.8 [-].
    Sun below the horizon: no direct part.
    Source: isotropic sky (Liu & Jordan 1963).

    >>> [round(x, 1) for x in pane_irradiance(900.0, 100.0, math.pi / 2, 0.0, math.pi / 2, 0.0, 0.2)[:2]]
    [0.0, 150.0]
    """
    high = math.sin(elevation)
    beam = direct if high > 0.0 else 0.0
    cosine = incidence_cosine(elevation, sun_azimuth, slope, azimuth)
    sky = 0.5 * (1.0 + math.cos(slope)) * diffuse
    ground = 0.5 * (1.0 - math.cos(slope)) * albedo * (beam * max(high, 0.0) + diffuse)
    on_pane = beam * cosine if cosine > 1e-9 else 0.0
    return on_pane, sky + ground, cosine


@kernel_jit
def sheet_optics(
    cosine: float, index: float, extinction_per_m: float, thickness_m: float
) -> tuple[float, float, float]:
    """Return (tau, rho, alpha) of one bare sheet of glass [-]; they add to 1.

    Parameters: `cosine` : of incidence [-], 0-1; `index` : n, about 1.526; `extinction_per_m` : K, 4 clear
    to 32 common to 60 tinted [1/m]; `thickness_m` : L [m].  At or below 0: all reflected.
    Source: Duffie & Beckman, Solar Engineering of Thermal Processes, sec. 5.1-5.3; see `passed_sheet`, a = exp(-K L).

    >>> [round(x, 3) for x in sheet_optics(0.5, 1.526, 32.0, 0.0023)]
    [0.768, 0.147, 0.085]
    """
    return passed_sheet(cosine, index, math.exp(-extinction_per_m * thickness_m))


@kernel_jit
def passed_sheet(cosine: float, index: float, once: float) -> tuple[float, float, float]:
    """Return (tau, rho, alpha) of a sheet that lets a share of light pass once, straight through [-].

    Fresnel reflection r at each face and Stokes' sum of all passes, for both polarisations and averaged:
    tau = a (1-r)^2 / (1-(ra)^2), rho = r (1 + a tau), alpha = 1 - tau - rho, with a = once^(1 / cos th2).
    Parameters: `cosine` : of incidence [-], 0-1; `index` : n [-]; `once` : share left after one straight pass,
    reflection apart [-], 0-1.  At or below 0: all reflected.
    Source: as `sheet_optics`.

    >>> [round(x, 3) for x in passed_sheet(1.0, 1.526, 1.0)]
    [0.917, 0.083, 0.0]
    """
    if cosine <= 1e-6:
        return 0.0, 1.0, 0.0
    cosine = min(cosine, 1.0)
    inside = math.sqrt(1.0 - (1.0 - cosine * cosine) / (index * index))
    passed = once ** (1.0 / inside)
    r_s = ((cosine - index * inside) / (cosine + index * inside)) ** 2
    r_p = ((index * cosine - inside) / (index * cosine + inside)) ** 2
    tau_s = passed * (1.0 - r_s) ** 2 / (1.0 - (r_s * passed) ** 2)
    tau_p = passed * (1.0 - r_p) ** 2 / (1.0 - (r_p * passed) ** 2)
    tau = 0.5 * (tau_s + tau_p)
    rho = 0.5 * (r_s * (1.0 + passed * tau_s) + r_p * (1.0 + passed * tau_p))
    return tau, rho, 1.0 - tau - rho


@kernel_jit
def passed_once(tau_normal: float) -> float:
    """Return the share that a sheet must let pass once to have a transmittance at normal incidence [-].

    The root of r^2 tau a^2 + (1-r)^2 a - tau = 0, r = ((n-1)/(n+1))^2.
    Parameters: `tau_normal` : 0 to 0.917 [-], beyond it 1 is returned.
    Source: `passed_sheet` at normal incidence, solved for a.

    >>> round(passed_once(0.5), 4), round(passed_sheet(1.0, 1.526, passed_once(0.5))[0], 6)
    (0.546, 0.5)
    """
    r = ((GLASS_INDEX - 1.0) / (GLASS_INDEX + 1.0)) ** 2
    b = (1.0 - r) ** 2
    return min(2.0 * tau_normal / (b + math.sqrt(b * b + 4.0 * r * r * tau_normal * tau_normal)), 1.0)


@kernel_jit
def pane_optics(cosine: float, tau_normal: float, alpha: float) -> tuple[float, float, float]:
    """Return (tau, rho, alpha) of a pane of which only data at normal incidence are known [-]; they add to 1.

    tau and alpha follow the angle as those of the bare sheet with the same tau at normal incidence do, scaled to the
    pane's own; alpha is held to 1 - tau, rho is the rest.
    Parameters: `cosine` : of incidence [-]; `tau_normal` : usual 0.50 screen, 0.45 sides, 0.40 rear, 0.10
    glass roof [-]; `alpha` : usual 0.35 [-].  At or below 0: nothing passes, nothing is absorbed.
    Source: as `sheet_optics`; that a coating changes the level and not the angle is an assumption.

    >>> [round(x, 3) for x in pane_optics(0.5, 0.50, 0.35)]
    [0.399, 0.213, 0.388]
    """
    if cosine <= 1e-6:
        return 0.0, 1.0, 0.0
    once = passed_once(tau_normal)
    tau_0, _, alpha_0 = passed_sheet(1.0, GLASS_INDEX, once)
    tau_a, _, alpha_a = passed_sheet(cosine, GLASS_INDEX, once)
    tau = tau_normal * (tau_a / tau_0) if tau_0 > 0.0 else 0.0
    absorbed = alpha * (alpha_a / alpha_0) if alpha_0 > 1e-6 else alpha
    absorbed = min(absorbed, 1.0 - tau)
    return tau, 1.0 - tau - absorbed, absorbed


@kernel_jit
def inward_share(film_in: float, film_out: float) -> float:
    """Return the part of the heat absorbed in a pane that flows inward [-], h_i / (h_i + h_o).

    Parameters: `film_in`, `film_out` [W/m2K], > 0.
    Source: Duffie & Beckman; ISO 9050 (secondary heat transfer), pane taken as one temperature.

    >>> round(inward_share(9.0, 24.3), 2)
    0.27
    """
    return film_in / (film_in + film_out)


@kernel_jit
def diffuse_optics(tau_normal: float, alpha: float) -> tuple[float, float]:
    """Return (transmitted, absorbed) shares of diffuse light at a pane [-], which is taken at 60 deg.

    Parameters: `tau_normal`, `alpha` : as `pane_optics`.
    Source: Duffie & Beckman, sec. 5.4 (Brandemuehl & Beckman 1980).

    >>> [round(x, 2) for x in diffuse_optics(0.50, 0.35)]
    [0.4, 0.39]
    """
    tau, _, absorbed = pane_optics(0.5, tau_normal, alpha)
    return tau, absorbed


@kernel_jit
def pane_gain(
    direct: float,
    diffuse: float,
    elevation: float,
    sun_azimuth: float,
    slope: float,
    azimuth: float,
    albedo: float,
    tau_normal: float,
    alpha: float,
    tau_diffuse: float,
    alpha_diffuse: float,
) -> tuple[float, float]:
    """Return (transmitted, absorbed in the pane) per area [W/m2].

    Parameters: `direct`, `diffuse`, `elevation`, `sun_azimuth`, `slope`, `azimuth`, `albedo` : as
    `pane_irradiance`; `tau_normal`, `alpha` : as `pane_optics`; `tau_diffuse`, `alpha_diffuse` : of `diffuse_optics`,
    which a pane has once for all hours.
    Source: shares of direct and diffuse light added.

    >>> screen = (math.radians(29), 0.0, 0.2, 0.50, 0.35)
    >>> [round(x) for x in pane_gain(900.0, 100.0, math.radians(45), 0.0, *screen, *diffuse_optics(0.50, 0.35))]
    [469, 346]
    """
    on_pane, scattered, cosine = pane_irradiance(direct, diffuse, elevation, sun_azimuth, slope, azimuth, albedo)
    tau, absorbed = 0.0, 0.0
    if on_pane > 0.0:
        tau, _, absorbed = pane_optics(cosine, tau_normal, alpha)
    return tau * on_pane + tau_diffuse * scattered, absorbed * on_pane + alpha_diffuse * scattered
