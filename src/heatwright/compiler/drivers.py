"""Driver rows: everything that acts from outside, averaged over each step, for one plant on one trip.

Losses and forces are curved in speed and torque, so they are averaged over three instants of each step
(Simpson), not taken at one: otherwise their kinks would spoil the order of the time step.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.drive_table import DriveTable
from heatwright.physics import cabin, road, solar, wet_pane
from heatwright.physics.drive_map import EXTRA, EXTRA_COPPER, EXTRA_INVERTER, INVERTER, motor_torque_nm, read_map
from heatwright.physics.jit import array_jit
from heatwright.physics.moist_air import H_VAPOUR_J_PER_KG

Floats = NDArray[np.float64]


class Environment:
    """A trip seen by a plant: step means as arrays, with the sums the driver columns need."""

    def __init__(self, plant: Any, case: Any) -> None:
        self.plant, self.case = plant, case
        steps, edges = case.steps, case.edges
        v = edges["speed_m_per_s"].copy()  # writable, as every array given to compiled code: one signature
        self.v0, self.v1 = v[:-1], v[1:]
        self.speed_m_per_s: Floats = 0.5 * (self.v0 + self.v1)
        self.moving: Floats = (self.speed_m_per_s > 0.05).astype(float)
        self.t_ambient_k: Floats = steps["t_ambient_k"]
        self.p_ambient_pa: Floats = steps["p_ambient_pa"]
        self.w_ambient: Floats = steps["w_ambient"]
        self.occupants: Floats = steps["occupants"]
        self.rho_air: Floats = self.p_ambient_pa / (287.05 * self.t_ambient_k)
        drives = plant.of_kind("drive_unit")
        gear = drives[0].values["gear_ratio"] if drives else 0.0
        self.motor_rad_per_s: Floats = self.speed_m_per_s * gear / plant.body["wheel_radius"]
        self._memo: dict[str, Floats] = {}
        self._panes: dict[str, tuple[Floats, Floats]] = {}
        self._outside: dict[str, tuple[Floats, Floats]] = {}

    def map(self, function: Callable[[float], float], values: Floats) -> Floats:
        """Return a scalar function over an array, called once for every distinct value."""
        distinct, back = np.unique(values, return_inverse=True)
        return np.array([function(float(x)) for x in distinct])[back]

    def outside_film(self) -> Floats:
        """Return the outside film of body and glass [W/m2K]."""
        if "film" not in self._memo:
            self._memo["film"] = self.map(cabin.outside_film_w_per_m2k, self.speed_m_per_s)
        return self._memo["film"]

    def glass_outside(self, pane: str) -> tuple[Floats, Floats]:
        """Return (film coefficient outside a pane [W/m2K], temperature it acts against [K]): rain and sky counted.

        A pane is wet while it rains and dries behind the rain; the wiped screen is dry with the rain's end in a drive.
        """
        if pane not in self._outside:
            film = self.outside_film().copy()
            t_k = self.under_sky(self.plant.glass[pane]["slope"])
            wet = self._wetness(wiped=pane == "screen")
            for k in np.flatnonzero(wet > 1e-3):
                film[k], t_k[k] = wet_pane.wet_pane(film[k], t_k[k], self.w_ambient[k], self.p_ambient_pa[k], wet[k])
            self._outside[pane] = film, t_k
        return self._outside[pane]

    def _wetness(self, wiped: bool) -> Floats:
        """Return the wet share of a pane over the steps [-]."""
        key = f"wet{wiped}"
        if key not in self._memo:
            steps = self.case.steps
            self._memo[key] = wetness(steps["rain"], self.case.dt_s, steps["driving"] * float(wiped))
        return self._memo[key]

    def under_sky(self, slope_rad: float) -> Floats:
        """Return the temperature that the outside film acts against where a surface sees the sky [K]."""
        view = 0.5 * (1.0 + np.cos(slope_rad))
        return cabin.outer_k.py_func(self.t_ambient_k, self.case.steps["t_sky_k"], self.outside_film(), view)

    def shell_outside_k(self) -> Floats:
        """Return the temperature outside the opaque body [K]: its roof under the sky, its sides half, its floor not."""
        shell_m2 = sum(zone.values["shell_area"] for zone in self.plant.of_kind("zone"))
        roof, sides = (self.t_ambient_k - self.under_sky(slope) for slope in (0.0, 0.5 * np.pi))
        return self.t_ambient_k - (ROOF_M2 * roof + SIDES_M2 * sides) / shell_m2

    def leak_kg_per_s(self, zone: Any, share: float) -> Floats:
        """Return the outside air that gets into a zone past the air path [kg/s]: leaks, and its share of open doors."""
        v = zone.values
        closed = v["air"] * (v["leak"] + v["leak_moving"] * self.speed_m_per_s)
        return self.rho_air * (closed + share * v["door_flow"] * self.case.steps["doors_open"])

    def drying_w(self) -> Floats:
        """Return the heat that water on clothes and floor takes from the cabin as it evaporates [W]."""
        return H_VAPOUR_J_PER_KG * self.case.steps["drying_kg_per_s"]

    def _gain(self, slope: float, azimuth: float, tau: float, alpha: float) -> tuple[Floats, Floats]:
        """Return the light through and kept in a pane per area [W/m2]."""
        s = self.case.steps
        through, kept = np.zeros(self.case.n), np.zeros(self.case.n)
        keys = ("sun_direct_w_per_m2", "sun_diffuse_w_per_m2", "sun_elevation_rad", "sun_azimuth_rad")
        pane_gains(
            *(s[key].copy() for key in keys), np.array([slope, azimuth, ALBEDO, tau, alpha]), through, kept,
        )  # fmt: skip
        return through, kept

    def _glass(self, pane: str) -> tuple[Floats, Floats]:
        if pane not in self._panes:
            g = self.plant.glass[pane]
            self._panes[pane] = self._gain(g["slope"], g["azimuth"], g["transmittance"], g["absorptance"])
        return self._panes[pane]

    def sun_transmitted(self) -> Floats:
        """Return the sunlight let through all panes [W]."""
        if "sun" not in self._memo:
            parts = [g["area"] * self._glass(name)[0] for name, g in self.plant.glass.items()]
            self._memo["sun"] = np.sum(parts, axis=0) if parts else np.zeros(self.case.n)
        return self._memo["sun"]

    def sun_absorbed(self, pane: str) -> Floats:
        """Return the sunlight kept in a pane [W]."""
        return self.plant.glass[pane]["area"] * self._glass(pane)[1]

    def sun_on_shell(self) -> Floats:
        """Return the sun's share that painted roof and sides pass to the shell's inside [W] (sol-air form).

        Absorbed sun warms the paint by a I / h_o; what crosses is that rise through half the shell.
        """
        zone = self.plant.of_kind("zone")[0].values
        sides = [sum(self._gain(0.5 * np.pi, a, 0.0, 1.0)) for a in (0.5 * np.pi, -0.5 * np.pi)]
        light = ROOF_M2 * self.horizontal() + 0.5 * SIDES_M2 * sum(sides)
        absorbed_w, resistance = self.plant.body["paint"] * light, zone["shell_area"] / zone["shell"]
        return cabin.shell_sun_w.py_func(absorbed_w, resistance, self.outside_film())

    def horizontal(self) -> Floats:
        """Return the global irradiance on the flat [W/m2]."""
        s = self.case.steps
        up = np.maximum(np.sin(s["sun_elevation_rad"]), 0.0)
        return s["sun_direct_w_per_m2"] * up + s["sun_diffuse_w_per_m2"]


def zone_shares(plant: Any) -> dict[str, float]:
    """Return each zone's share of glass, shell, sun, people and doors: as declared, else by air volume."""
    zones = plant.of_kind("zone")
    volume = sum(z.values["air"] for z in zones)
    return {z.name: z.values["share"] if z.values["share"] is not None else z.values["air"] / volume for z in zones}


def wetness(rain: Floats, dt_s: float, wiped: Floats) -> Floats:
    """Return the wet share of a pane over the steps [-]: that of the rain, fading after it unless it is wiped."""
    fade = np.exp(-dt_s / wet_pane.PANE_DRIES_S)
    out = np.zeros_like(rain)
    if not np.any(rain):
        return out
    last = 0.0
    for k, (now, wipes) in enumerate(zip(rain.tolist(), wiped.tolist(), strict=True)):
        last = out[k] = now if wipes > 0.0 else max(now, last * fade)
    return out


ROOF_M2, SIDES_M2 = 1.5, 3.0  # roof, and doors of both sides, of a mid-size car (common practice)
ALBEDO = 0.2
ROLLERS_KG_PER_M3 = 1.0e5 / (287.05 * 293.15)  # 20 degC, 1000 hPa: reference of UN GTR 15
WAKE_S = 60.0
BLOCK = 512  # rows laid at once


@array_jit
def pane_gains(
    direct: Floats,
    diffuse: Floats,
    elevation: Floats,
    azimuth: Floats,
    par: Floats,
    through: Floats,
    kept: Floats,
) -> None:
    """Fill the light through and kept in a pane per area [W/m2], none in the dark.

    par: slope, azimuth, albedo, tau, alpha.
    """
    slope, facing, albedo, tau, alpha = par[0], par[1], par[2], par[3], par[4]  # once: so is what follows from them
    tau_diffuse, alpha_diffuse = solar.diffuse_optics(tau, alpha)
    for k in range(direct.shape[0]):
        if direct[k] <= 0.0 and diffuse[k] <= 0.0:
            through[k] = kept[k] = 0.0
            continue
        through[k], kept[k] = solar.pane_gain(
            direct[k], diffuse[k], elevation[k], azimuth[k], slope, facing, albedo, tau, alpha,
            tau_diffuse, alpha_diffuse,
        )  # fmt: skip


@array_jit
def traction_rows(
    v0: Floats,
    v1: Floats,
    grade: Floats,
    rho: Floats,
    crr: Floats,
    driving: Floats,
    mass: Floats,
    cda: Floats,
    dt: float,
    par: Floats,
    table: Floats,
    torque_nm: Floats,
    omega_step: float,
    out: Floats,
) -> None:
    """Fill `out` (n, 13): wheel power, copper, iron, rotor, inverter, gear viscous, gear churn, gear mesh [W], most
    heat on purpose in copper, all of it and in the inverter [W], used share of torque [-], power short [W].

    mass [kg] and cda [m2] hold what is towed. par: rotating factor, gear ratio / wheel radius [1/m]. Torque beyond the
    machine's is cut and what it would have given counts as short; regenerative braking fades out below 2 m/s. Of a car
    that stands parked the inverter's loss is the one it has once something wakes it.
    """
    for k in range(v0.shape[0]):
        if driving[k] <= 0.0:
            out[k, 4] = table[0, 0, INVERTER]
            out[k, 8] = table[0, 0, EXTRA_COPPER]
            out[k, 9] = table[0, 0, EXTRA]
            out[k, 10] = table[0, 0, EXTRA_INVERTER]
            continue
        a = (v1[k] - v0[k]) / dt
        for j in range(3):
            weight = 4.0 / 6.0 if j == 1 else 1.0 / 6.0
            v = v0[k] + 0.5 * j * (v1[k] - v0[k])
            force = road.road_force_n(v, a, mass[k], par[0], cda[k], rho[k], crr[k], grade[k], 0.0)
            if v <= 0.0 and force < 0.0:
                force = 0.0
            if force < 0.0:
                force *= min(v / 2.0, 1.0)
            omega = v * par[1]
            torque = motor_torque_nm(force / par[1], omega, 333.15)
            x = omega / omega_step
            i = min(int(x), torque_nm.shape[0] - 2)
            most = torque_nm[i] + (torque_nm[i + 1] - torque_nm[i]) * min(x - i, 1.0)
            out[k, 11] = max(out[k, 11], min(abs(torque) / max(most, 1e-9), 1.0))
            if abs(torque) > most:
                if force > 0.0:
                    out[k, 12] += weight * force * (1.0 - most / abs(torque)) * v
                force *= most / abs(torque)
                torque = most if torque > 0.0 else -most
            out[k, 0] += weight * force * v
            for layer in range(4):
                out[k, 1 + layer] += weight * read_map(table, torque_nm, omega_step, omega, torque, layer)
            out[k, 8] += weight * read_map(table, torque_nm, omega_step, omega, torque, EXTRA_COPPER)
            out[k, 9] += weight * read_map(table, torque_nm, omega_step, omega, torque, EXTRA)
            out[k, 10] += weight * read_map(table, torque_nm, omega_step, omega, torque, EXTRA_INVERTER)
            out[k, 5] += weight * 0.3 * omega
            out[k, 6] += weight * 1.5e-4 * omega * omega
            out[k, 7] += weight * 0.015 * abs(torque) * omega


def tyre_coldness(env: Environment) -> Floats:
    """Return the tyres' coldness at every step [-]: 1 after a long stand, fading while rolling."""
    rolling = env.case.steps["driving"] > 0
    tau = env.plant.body["tyre_time"]
    dt = env.case.dt_s
    out = np.ones(env.case.n)
    cold = 1.0
    edges = np.flatnonzero(np.diff(np.concatenate(([False], rolling, [False])).astype(int)))
    last = 0
    for start, stop in zip(edges[::2], edges[1::2], strict=True):
        cold = 1.0 - (1.0 - cold) * np.exp(-(start - last) * dt / (2.0 * tau))
        t = (np.arange(start, stop) - start + 0.5) * dt
        out[start:stop] = cold * np.exp(-t / tau)
        cold *= np.exp(-(stop - start) * dt / tau)
        last = stop
    return out


def driver_rows(plant: Any, case: Any, columns: list[str], own: dict[str, Any], drive: DriveTable | None) -> Floats:
    """Return the (n, columns) driver rows of a plant on a trip."""
    env = Environment(plant, case)
    steps, body = case.steps, plant.body
    values: dict[str, Any] = {
        "one": 1.0,
        "tau_ambient": env.t_ambient_k - 273.15,
        "w_ambient": env.w_ambient,
        "p_ambient": env.p_ambient_pa,
        "speed": env.speed_m_per_s,
        "driving": steps["driving"],
        "plugged": steps["plugged"],
        "station_w": steps["station_w"],
        "wanted": steps["wanted"],
        "occupied": steps["occupied"],
        "t_setpoint_k": steps["t_setpoint_k"],
        "sun_w_per_m2": env.horizontal(),
        "occupants": env.occupants,
        "ram_m_per_s": plant.front["ram_factor"] * env.speed_m_per_s,
        "rho_air": env.rho_air,
        "moisture_kg_per_s": cabin.MOISTURE_KG_PER_S * env.occupants + steps["drying_kg_per_s"],
        "infiltration_kg_per_s": _infiltration(plant, env),
        "tau_sky": steps["t_sky_k"] - 273.15,
        "motor_rad_per_s": env.motor_rad_per_s,
        "sun_cabin_w": env.sun_transmitted(),
        **{name: steps.get(name, 0.0) for name in ("charge_to", "fast", "prepare", "charging")},
    }
    load, inside = _low_voltage(plant, case)
    values["low_voltage_w"], values["converter_inside_w"] = load, inside
    if drive is not None:
        out = np.zeros((case.n, 13))
        rho = np.where(steps["dynamometer"] > 0.0, ROLLERS_KG_PER_M3, env.rho_air)
        unit = plant.of_kind("drive_unit")[0].values
        crr = body["rolling"] * (1.0 + body["rolling_slope"] * np.maximum(298.15 - env.t_ambient_k, 0.0))
        crr = crr * (1.0 + body["tyre_cold"] * tyre_coldness(env))
        mass = np.zeros(case.n) + body["mass"] + steps.get("towed_kg", 0.0)
        cda = np.zeros(case.n) + body["drag_area"] + steps.get("towed_drag_m2", 0.0)
        par = np.array([body["rotating_factor"], unit["gear_ratio"] / body["wheel_radius"]])
        traction_rows(
            env.v0, env.v1, steps["grade"].copy(), rho, crr, steps["driving"].astype(float), mass, cda, case.dt_s, par,
            drive.table, drive.torque_nm, drive.omega_step, out,
        )  # fmt: skip
        keys = "wheel_w loss_copper_w loss_iron_w loss_rotor_w loss_inverter_w gear_viscous_w gear_churn_w gear_mesh_w"
        values |= {key: out[:, k] for k, key in enumerate(keys.split())}
        values |= {
            "extra_copper_w": out[:, 8], "extra_inverter_w": out[:, 10],
            "extra_iron_w": out[:, 9] - out[:, 8] - out[:, 10],
            "torque_used": out[:, 11], "wheel_short_w": out[:, 12],
        }  # fmt: skip
    return side_by_side([own[name](env) if name in own else values.get(name, 0.0) for name in columns], case.n)


def side_by_side(columns: Sequence[Any], n: int) -> Floats:
    """Return n rows of columns, each an array or one number, laid a block at a time that the cache holds."""
    rows = np.empty((n, len(columns)))
    whole = [np.broadcast_to(one, n) for one in columns]
    for first in range(0, n, BLOCK):
        block = rows[first : first + BLOCK]
        for k, one in enumerate(whole):
            block[:, k] = one[first : first + BLOCK]
    return rows


def _infiltration(plant: Any, env: Environment) -> Floats:
    """Return the air leaking into all zones [kg/s]."""
    shares = zone_shares(plant)
    parts = [env.leak_kg_per_s(zone, shares[zone.name]) for zone in plant.of_kind("zone")]
    return np.sum(parts, axis=0) if parts else np.zeros(env.case.n)


def _low_voltage(plant: Any, case: Any) -> tuple[Floats, Floats]:
    """Return the high-voltage power of the 12 V side and what of it warms power electronics [W].

    Every waking from sleep costs `wake_energy`, spread over the first `WAKE_S` awake.
    """
    body, steps = plant.body, case.steps
    awake = (np.maximum(steps["wanted"], steps["plugged"]) > 0) | (steps["driving"] > 0)
    load = np.where(
        steps["driving"] > 0, body["load_driving"], np.where(awake, body["load_awake"], body["load_asleep"])
    )
    loss = awake * converter_loss_w(body, load)
    inside = np.zeros(case.n)
    if any(part.values["holds"] != "charger" for part in plant.of_kind("electronics")):
        inside = loss
    waking = np.zeros(case.n)
    for first in np.flatnonzero(awake & ~np.concatenate(([False], awake[:-1]))):
        last = min(first + max(round(WAKE_S / case.dt_s), 1), case.n)
        waking[first:last] += body["wake_energy"] / ((last - first) * case.dt_s)
    return load + loss + waking, inside


def converter_loss_w(body: Any, load: Any) -> Any:
    """Return what the 12 V converter loses while it gives `load` [W]."""
    return body["converter_fixed"] + load * (body["converter_share"] + body["converter_square"] * load)
