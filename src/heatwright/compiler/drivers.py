"""Driver rows: everything that acts from outside, averaged over each step, for one plant on one trip.

Losses and forces are curved in speed and torque, so they are averaged over three instants of each step
(Simpson), not taken at one: otherwise their kinks would spoil the order of the time step.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.drive_table import DriveTable
from heatwright.physics import cabin, road, solar
from heatwright.physics.drive_map import EXTRA, EXTRA_COPPER, EXTRA_INVERTER, INVERTER, motor_torque_nm, read_map
from heatwright.physics.jit import array_jit

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

    def map(self, function: Callable[[float], float], values: Floats) -> Floats:
        """Return a scalar function over an array, called once for every distinct value."""
        distinct, back = np.unique(values, return_inverse=True)
        return np.array([function(float(x)) for x in distinct])[back]

    def outside_film(self) -> Floats:
        """Return the outside film of body and glass [W/m2K]."""
        if "film" not in self._memo:
            self._memo["film"] = self.map(cabin.outside_film_w_per_m2k, self.speed_m_per_s)
        return self._memo["film"]

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
        """Return the sun's share that the painted roof passes to the shell's inside [W] (sol-air form).

        Absorbed sun on the roof warms it by a I / h_o; what crosses is that rise through half the shell.
        """
        zone = self.plant.of_kind("zone")[0].values
        film = self.outside_film() * ROOF_M2
        through = 2.0 * zone["shell"] * ROOF_M2 / zone["shell_area"]
        return self.plant.body["paint"] * ROOF_M2 * self.horizontal() * through / (through + film)

    def horizontal(self) -> Floats:
        """Return the global irradiance on the flat [W/m2]."""
        s = self.case.steps
        up = np.maximum(np.sin(s["sun_elevation_rad"]), 0.0)
        return s["sun_direct_w_per_m2"] * up + s["sun_diffuse_w_per_m2"]


ROOF_M2 = 1.5  # roof of a mid-size car (common practice)
ALBEDO = 0.2
WAKE_S = 60.0


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
    """Fill the light through and kept in a pane per area [W/m2]; par: slope, azimuth, albedo, tau, alpha."""
    for k in range(direct.shape[0]):
        through[k], kept[k] = solar.pane_gain(
            direct[k], diffuse[k], elevation[k], azimuth[k], par[0], par[1], par[2], par[3], par[4]
        )


@array_jit
def traction_rows(
    v0: Floats,
    v1: Floats,
    grade: Floats,
    rho: Floats,
    crr: Floats,
    driving: Floats,
    dt: float,
    par: Floats,
    table: Floats,
    torque_nm: Floats,
    omega_step: float,
    out: Floats,
) -> None:
    """Fill `out` (n, 13): wheel power, copper, iron, rotor, inverter, gear viscous, gear churn, gear mesh [W], most
    heat on purpose in copper, all of it and in the inverter [W], used share of torque [-], power short [W].

    par: mass, rotating factor, drag area, gear ratio / wheel radius [1/m]. Torque beyond the machine's is cut and
    what it would have given counts as short; regenerative braking fades out below 2 m/s. Of a car that stands
    parked the inverter's loss is the one it has once something wakes it.
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
            force = road.road_force_n(v, a, par[0], par[1], par[2], rho[k], crr[k], grade[k], 0.0)
            if v <= 0.0 and force < 0.0:
                force = 0.0
            if force < 0.0:
                force *= min(v / 2.0, 1.0)
            omega = v * par[3]
            torque = motor_torque_nm(force / par[3], omega, 333.15)
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
        "moisture_kg_per_s": cabin.MOISTURE_KG_PER_S * env.occupants,
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
        unit = plant.of_kind("drive_unit")[0].values
        crr = body["rolling"] * (1.0 + body["rolling_slope"] * np.maximum(298.15 - env.t_ambient_k, 0.0))
        crr = crr * (1.0 + body["tyre_cold"] * tyre_coldness(env))
        par = np.array(
            [
                body["mass"],
                body["rotating_factor"],
                body["drag_area"],
                unit["gear_ratio"] / body["wheel_radius"],
            ]
        )
        traction_rows(
            env.v0, env.v1, steps["grade"].copy(), env.rho_air, crr, steps["driving"].astype(float), case.dt_s, par,
            drive.table, drive.torque_nm, drive.omega_step, out,
        )  # fmt: skip
        keys = "wheel_w loss_copper_w loss_iron_w loss_rotor_w loss_inverter_w gear_viscous_w gear_churn_w gear_mesh_w"
        values |= {key: out[:, k] for k, key in enumerate(keys.split())}
        values |= {
            "extra_copper_w": out[:, 8], "extra_inverter_w": out[:, 10],
            "extra_iron_w": out[:, 9] - out[:, 8] - out[:, 10],
            "torque_used": out[:, 11], "wheel_short_w": out[:, 12],
        }  # fmt: skip
    rows = np.zeros((case.n, len(columns)))
    for k, name in enumerate(columns):
        if name in own:
            rows[:, k] = own[name](env)
        else:
            rows[:, k] = values.get(name, 0.0)
    return rows


def _infiltration(plant: Any, env: Environment) -> Floats:
    """Return the air leaking into all zones [kg/s]."""
    total = np.zeros(env.case.n)
    for zone in plant.of_kind("zone"):
        v = zone.values
        total += env.rho_air * v["air"] * (v["leak"] + v["leak_moving"] * env.speed_m_per_s)
    return total


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
