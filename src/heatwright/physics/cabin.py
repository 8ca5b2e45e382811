"""The cabin's walls, inside bodies, people and air: conductances and sources of a zone.

A zone is four bodies: air; a light sunlit *skin* (top of the dash, seat fronts) that takes most of the sun;
the slow *trim* behind it; the *shell* half-way through the body panels.  How the inside mass is split and coupled is a
plant's own (`zone`); the defaults were fitted at once to published parked soaks and to warm-ups (tools/fit_soak.py).
"""

from __future__ import annotations

import math

from heatwright.physics.jit import kernel_jit

FILM_STILL, FILM_PER_FLOW, FILM_MOST = 5.7, 39.6, 12.0  # [W/m2K], [W/m2K per kg/s], [W/m2K]
SENSIBLE_W, LATENT_W = 70.0, 45.0  # a person
MOISTURE_KG_PER_S = LATENT_W / 2.5e6
CO2_M3_PER_S = 18.0e-3 / 3600.0
CLOTHES_S, FLOOR_S = 2.0 * 3600.0, 6.0 * 3600.0  # time in which water carried in dries to a share of 1/e


@kernel_jit
def outside_film_w_per_m2k(speed: float) -> float:
    """Return the film coefficient outside [W/m2K], max(8, 0.6 + 6.64 sqrt(v)).

    Parameters: `speed` : [m/s], >= 0, to about 50; the floor stands for wind and radiation at standstill.
    Source: form of Fayazbakhsh & Bahrami, SAE 2013-01-1507; coefficients and floor from memory.

    >>> outside_film_w_per_m2k(0.0), round(outside_film_w_per_m2k(50 / 3.6), 1)
    (8.0, 25.3)
    """
    return max(8.0, 0.6 + 6.64 * math.sqrt(max(speed, 0.0)))


@kernel_jit
def inside_film_w_per_m2k(mdot: float) -> float:
    """Return the film coefficient inside [W/m2K], min(12, 5.7 + 39.6 m): 5.7 still, 9 at 300 kg/h.

    Parameters: `mdot` : blown air [kg/s], >= 0.  A screen with its outlet on has 18-25 instead.
    Source: value from memory; the still value was fitted with the skin (see the head of the file).

    >>> inside_film_w_per_m2k(0.0), round(inside_film_w_per_m2k(300 / 3600), 6)
    (5.7, 9.0)
    """
    return min(FILM_MOST, FILM_STILL + FILM_PER_FLOW * max(mdot, 0.0))


@kernel_jit
def pane_w_per_k(area_m2: float, film_in: float, resistance: float, film_out: float, bridge: float) -> float:
    """Return a pane's conductance air to air [W/K], b A / (1/h_i + r + 1/h_o).

    Parameters: `area_m2`; `film_in`, `film_out` [W/m2K]; `resistance` : r, thickness over conductivity,
    usual 0.005 [m2K/W];
    `bridge` : b, usual 1.3 for seals and frames [-].
    Source: resistances in series; bridge factor from memory.

    >>> round(pane_w_per_k(3.8, 9.0, 0.005, outside_film_w_per_m2k(50 / 3.6), 1.3))
    32
    """
    return bridge * area_m2 / (1.0 / film_in + resistance + 1.0 / film_out)


@kernel_jit
def half_wall_w_per_k(area_m2: float, film: float, resistance: float, bridge: float) -> float:
    """Return the conductance from the middle of the shell to the air on one side [W/K], b A / (r/2 + 1/h).

    Parameters: `area_m2` : usual 10; `film` on that side [W/m2K]; `resistance` : whole layer, usual 0.22
    [m2K/W]; `bridge` : usual 1.3 [-].
    Source: resistances in series; values from memory.

    >>> round(half_wall_w_per_k(10.0, 9.0, 0.22, 1.3), 1)
    58.8
    """
    return bridge * area_m2 / (0.5 * resistance + 1.0 / film)


@kernel_jit
def shell_sun_w(absorbed_w: float, resistance: float, film_out: float) -> float:
    """Return the part of the sun absorbed on the paint that reaches the middle of the shell [W].

    q = Q (1/h_o) / (1/h_o + r/2): the heat divides between the outside film and the outer half of the wall.
    Parameters: `absorbed_w` : absorptance x irradiance x area [W]; absorptance 0.30 white, 0.50 silver, 0.90
    black; `resistance` : whole layer [m2K/W]; `film_out` [W/m2K].
    Source: current divider (sol-air temperature); absorptances from memory.

    >>> round(shell_sun_w(1000.0, 0.22, 8.0))
    532
    """
    return absorbed_w / (1.0 + 0.5 * resistance * film_out)


@kernel_jit
def infiltration_kg_per_s(
    volume_m3: float, still_per_h: float, per_speed: float, speed: float, density: float
) -> float:
    """Return the air leaking in with all shut [kg/s], rho V (n0 + k v) / 3600.

    Parameters: `volume_m3` : usual 3; `still_per_h` : n0, usual 0.3 [1/h]; `per_speed` : k, usual 0.072
    [1/h per m/s] (0.02 per km/h); `speed` [m/s]; `density` [kg/m3].
    Source: within the range of Knibbs, de Dear & Atkinson, Indoor Air (2009); defaults from memory.

    >>> round(infiltration_kg_per_s(3.0, 0.3, 0.072, 100 / 3.6, 1.2) * 3600, 2)
    8.28
    """
    return density * volume_m3 * (still_per_h + per_speed * max(speed, 0.0)) / 3600.0


@kernel_jit
def ram_air_kg_per_s(per_speed: float, speed: float, fresh: float) -> float:
    """Return the outside air pushed in by driving with the blower off [kg/s], k v x.

    Parameters: `per_speed` : k, usual 8e-4 kg/m (0.8 kg/h per km/h); `speed` [m/s]; `fresh` : x, opening of
    the fresh flap [-], 0-1.
    Source: linear form: air-change measurements in four cars, J. Exp. Sci. Env. Epi. 2008; slope from memory.

    >>> round(ram_air_kg_per_s(8e-4, 100 / 3.6, 1.0) * 3600)
    80
    """
    return per_speed * max(speed, 0.0) * fresh


@kernel_jit
def drying_kg_per_s(water_kg: float, tau_s: float, from_s: float, to_s: float) -> float:
    """Return the mean rate at which water on clothes or a floor evaporates between two times [kg/s].

    M (exp(-t0/tau) - exp(-t1/tau)) / (t1 - t0), exact for M' = -M/tau.
    Parameters: `water_kg` : M, at time 0 [kg]; `tau_s` : usual 2 h clothes, 6 h floor [s]; `from_s`, `to_s` : t0 <
    t1, since it was carried in [s].  The air's own humidity does not slow it down.
    Source: first-order drying; the times are values from memory (a wet coat of 150 g then gives 75 g/h at first, about
    what cloth of half a square metre gives off indoors, and what its wearer breathes out and perspires).

    >>> round(drying_kg_per_s(0.15, 7200.0, 0.0, 60.0) * 3.6e6)
    75
    """
    return water_kg * (math.exp(-from_s / tau_s) - math.exp(-to_s / tau_s)) / (to_s - from_s)


@kernel_jit
def door_m3_per_s(width_m: float, height_m: float, t_in_k: float, t_out_k: float) -> float:
    """Return the air that warm and cold sides exchange through an open door [m3/s], either way the same.

    C/3 W sqrt(g H^3 |T_i - T_o| / T_m), C = 0.6; calm air.
    Parameters: `width_m`, `height_m` : of the opening, usual 0.75 and 1.0 [m]; `t_in_k`, `t_out_k` [K], > 0.
    Source: Brown & Solvason, Natural convection through rectangular openings in partitions, Int. J. Heat Mass
    Transfer 5 (1962); coefficient from memory.

    >>> round(door_m3_per_s(0.75, 1.0, 293.15, 280.15), 3)
    0.1
    """
    mean = 0.5 * (t_in_k + t_out_k)
    return 0.2 * width_m * math.sqrt(9.81 * height_m**3 * abs(t_in_k - t_out_k) / mean)


@kernel_jit
def people_w(persons: float, sensible_w: float, latent_w: float) -> tuple[float, float, float, float]:
    """Return (sensible heat [W], latent heat [W], water [kg/s], carbon dioxide [m3/s]) of the people aboard.

    Water = latent / 2.5 MJ/kg; carbon dioxide 18 L/h a person.
    Parameters: `persons` [-]; `sensible_w`, `latent_w` : a person, usual 70 and 45 [W].
    Source: values from memory (a load paper quotes 200/180 Btu/h).

    >>> people = people_w(1.0, 70.0, 45.0)
    >>> round(people[2] * 3.6e6, 1), round(people[3] * 3.6e6, 1)
    (64.8, 18.0)
    """
    latent = persons * latent_w
    return persons * sensible_w, latent, latent / 2.5e6, persons * CO2_M3_PER_S


@kernel_jit
def co2_share(share: float, outside: float, source: float, flow: float, volume_m3: float, dt_s: float) -> float:
    """Return the volume share of carbon dioxide after a step [-], exact for steady source and flow.

    V dc/dt = G + q (c_out - c).
    Parameters: `share`, `outside` : now and outside [-]; `source` : G [m3/s]; `flow` : fresh and leaking air
    q [m3/s], >= 0; `volume_m3` [m3]; `dt_s` [s].
    Source: mixing balance, closed form.

    >>> round(co2_share(400e-6, 400e-6, 18e-3 / 3600, 14 / 1.2 / 3600, 3.0, 1e6) * 1e6)
    1943
    """
    if flow <= 0.0:
        return share + source * dt_s / volume_m3
    end = outside + source / flow
    return end + (share - end) * math.exp(-flow * dt_s / volume_m3)


@kernel_jit
def vent_target_k(t_set_k: float, t_cabin_k: float, t_ambient_k: float, sun_w: float) -> float:
    """Return the outlet temperature to aim at [K].

    T_set + 1.6 (T_set - T_cabin) + 0.25 (T_set - T_amb) - 0.008 Q_sun, held within 4 and 60 degC.
    Parameters: `t_set_k`, `t_cabin_k`, `t_ambient_k` [K]; `sun_w` : sun through the glass [W].
    Source: value from memory (form is common practice).

    >>> round(vent_target_k(295.15, 285.15, 266.15, 0.0) - 273.15, 2)
    45.25
    """
    aim = t_set_k + 1.6 * (t_set_k - t_cabin_k) + 0.25 * (t_set_k - t_ambient_k) - 0.008 * sun_w
    return min(max(aim, 277.15), 333.15)


@kernel_jit
def outer_k(t_ambient_k: float, t_sky_k: float, film_out: float, view: float) -> float:
    """Return the outside temperature a pane feels when it also sees the sky [K].

    T_o = T_amb - e F 4 s T_m^3 (T_amb - T_sky) / h_o, e 0.84, T_m the mean; h_o already holds the exchange
    with surfaces at air temperature.
    Parameters: `t_ambient_k`, `t_sky_k` [K]; `film_out` [W/m2K];
    `view` : F, part of the sky seen, (1 + cos slope)/2 [-].
    Source: linearised radiation; emissivity of glass from memory.

    >>> round(outer_k(263.15, 243.15, 8.0, 0.9) - 263.15, 1)
    -7.0
    """
    mean = 0.5 * (t_ambient_k + t_sky_k)
    return t_ambient_k - 0.84 * view * 4.0 * 5.670374419e-8 * mean**3 * (t_ambient_k - t_sky_k) / film_out


@kernel_jit
def glass_inner_k(
    t_air_k: float, t_outer_k: float, film_in: float, resistance: float, film_out: float, absorbed: float
) -> float:
    """Return the inner surface temperature of a pane at rest [K].

    h_i (T_a - T_g) + q = (T_g - T_o) / (r + 1/h_o), absorbed heat q counted at the inner face.
    Parameters: `t_air_k` : air that washes it; `t_outer_k` : outside air or `outer_k` [K]; `film_in`,
    `film_out` [W/m2K]; `resistance` : usual 0.005 [m2K/W]; `absorbed` : sun or heating wires [W/m2].
    Source: resistances in series.

    >>> round(glass_inner_k(295.15, 263.15, 9.0, 0.005, outside_film_w_per_m2k(50 / 3.6), 0.0) - 273.15, 1)
    -0.9
    """
    outward = 1.0 / (resistance + 1.0 / film_out)
    return (film_in * t_air_k + outward * t_outer_k + absorbed) / (film_in + outward)


@kernel_jit
def fog_margin_k(t_glass_k: float, t_dew_k: float) -> float:
    """Return by how much the glass is warmer than the dew point beside it [K]; below 0 it fogs or frosts.

    Parameters: `t_glass_k` : inner surface; `t_dew_k` : dew (frost) point of the air there [K].
    Source: definition.

    >>> fog_margin_k(275.0, 271.0)
    4.0
    """
    return t_glass_k - t_dew_k
