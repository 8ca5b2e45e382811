"""Optics of a pane in the sun.  The sun's place in the sky comes from outside; azimuths count from the nose.

Angles in radians.  A pane's slope is 0 lying flat and pi/2 standing; its azimuth is the way its outer face
looks: 0 ahead, pi/2 right, pi back.
"""

from __future__ import annotations

import math

from heatwright.physics.jit import kernel_jit


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
def angular_factor(angle: float) -> float:
    """Return a pane's transmittance over that square on [-], max(0, 1 - (th / 90 deg)^4).

    Parameters: `angle` : of incidence [rad].
    Source: value from memory; against Fresnel and Stokes for clear glass it reads 0.04 low at 45 deg, 0.11 at
    60 deg, 0.15 at 70-75 deg.

    >>> round(angular_factor(math.radians(60.0)), 4)
    0.8025
    """
    return max(1.0 - (angle / (0.5 * math.pi)) ** 4, 0.0)


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

    Fresnel reflection r at each face and Stokes' sum of all passes, for both polarisations and averaged:
    tau = a (1-r)^2 / (1-(ra)^2), rho = r (1 + a tau), alpha = 1 - tau - rho, a = exp(-K L / cos th2).
    Parameters: `cosine` : of incidence [-], 0-1; `index` : n, about 1.526; `extinction_per_m` : K, 4 clear
    to 32 common to 60 tinted [1/m]; `thickness_m` : L [m].  At or below 0: all reflected.
    Source: Duffie & Beckman, Solar Engineering of Thermal Processes, sec. 5.1-5.3.

    >>> [round(x, 3) for x in sheet_optics(0.5, 1.526, 32.0, 0.0023)]
    [0.768, 0.147, 0.085]
    """
    if cosine <= 1e-6:
        return 0.0, 1.0, 0.0
    cosine = min(cosine, 1.0)
    inside = math.sqrt(1.0 - (1.0 - cosine * cosine) / (index * index))
    passed = math.exp(-extinction_per_m * thickness_m / inside)
    r_s = ((cosine - index * inside) / (cosine + index * inside)) ** 2
    r_p = ((index * cosine - inside) / (index * cosine + inside)) ** 2
    tau_s = passed * (1.0 - r_s) ** 2 / (1.0 - (r_s * passed) ** 2)
    tau_p = passed * (1.0 - r_p) ** 2 / (1.0 - (r_p * passed) ** 2)
    tau = 0.5 * (tau_s + tau_p)
    rho = 0.5 * (r_s * (1.0 + passed * tau_s) + r_p * (1.0 + passed * tau_p))
    return tau, rho, 1.0 - tau - rho


@kernel_jit
def pane_optics(cosine: float, tau_normal: float, alpha: float) -> tuple[float, float, float]:
    """Return (tau, rho, alpha) of a coated or laminated pane [-]; they add to 1.

    tau = tau_normal [1 - (th / 90 deg)^4]; alpha constant, held to 1 - tau; rho the rest.
    Parameters: `cosine` : of incidence [-]; `tau_normal` : usual 0.50 screen, 0.45 sides, 0.40 rear, 0.10
    glass roof [-]; `alpha` : usual 0.35 [-].  At or below 0: nothing passes, nothing is absorbed.
    Source: value from memory; use where only data at normal incidence are known.

    >>> [round(x, 3) for x in pane_optics(0.5, 0.50, 0.35)]
    [0.401, 0.249, 0.35]
    """
    if cosine <= 0.0:
        return 0.0, 1.0, 0.0
    tau = tau_normal * angular_factor(math.acos(min(cosine, 1.0)))
    absorbed = min(alpha, 1.0 - tau)
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
) -> tuple[float, float]:
    """Return (transmitted, absorbed in the pane) per area [W/m2]; diffuse light taken at 60 deg.

    Parameters: `direct`, `diffuse`, `elevation`, `sun_azimuth`, `slope`, `azimuth`, `albedo` : as
    `pane_irradiance`; `tau_normal`, `alpha` : as `pane_optics`.
    Source: 60 deg for diffuse light: Duffie & Beckman, sec. 5.4 (Brandemuehl & Beckman 1980).

    >>> screen = (math.radians(29), 0.0, 0.2, 0.50, 0.35)
    >>> [round(x) for x in pane_gain(900.0, 100.0, math.radians(45), 0.0, *screen)]
    [473, 339]
    """
    on_pane, scattered, cosine = pane_irradiance(direct, diffuse, elevation, sun_azimuth, slope, azimuth, albedo)
    tau_b, _, alpha_b = pane_optics(cosine, tau_normal, alpha)
    tau_d, _, alpha_d = pane_optics(0.5, tau_normal, alpha)
    return tau_b * on_pane + tau_d * scattered, alpha_b * on_pane + alpha_d * scattered
