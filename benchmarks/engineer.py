"""The same car as an engineer's script: NumPy, CoolProp's AbstractState and fsolve, handed to solve_ivp.

From the program it takes what the engineer would have on file: masses, heat capacities, which node touches which,
compressor and pack coefficients; from the record mass flows, conductances and pump powers. Every flux, the
refrigerant cycle, the pack, the losses and the humidity are written here again; nothing is taken from the
package's physics or kernel but the numbers' places.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from benchmarks.cases import ZERO_C, Floats, Record, Stretch, line_at, stacked
from heatwright.kernel import circuit_names as cn
from heatwright.kernel.names import X_PULSE

CP_AIR = 1006.0
H_EVAPORATION = 2.501e6
# ln p_ws of ASHRAE Handbook - Fundamentals, chapter 1, equations 5 (ice) and 6 (water), after Hyland and Wexler 1983
ICE = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)
WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0.0, 6.5459673)


def saturated_humidity(t_k: float, p_pa: float) -> float:
    """Return the humidity ratio of saturated air [kg/kg]."""
    a, b, c, d, e, f, g = ICE if t_k < 273.16 else WATER
    p_water = math.exp(a / t_k + b + t_k * (c + t_k * (d + t_k * (e + t_k * f))) + g * math.log(t_k))
    return 0.621945 * p_water / (p_pa - p_water)


T_LOW_K = 223.15


class Cycle:
    """A steady vapour-compression cycle: evaporating and condensing temperature from two heat balances."""

    def __init__(self, par: Floats, superheat_k: float, subcooling_k: float, fluid: str = "R1234yf") -> None:
        import CoolProp.CoolProp as coolprop
        from scipy.optimize import fsolve

        self.par, self.superheat_k, self.subcooling_k = par, superheat_k, subcooling_k
        self.state = coolprop.AbstractState("HEOS", fluid)
        self.t_top_k = self.state.T_critical() - 2.0
        self.kinds = coolprop.QT_INPUTS, coolprop.PT_INPUTS, coolprop.PSmass_INPUTS
        self.fsolve = fsolve
        self.guess: Floats | None = None
        self.evaluations = 0

    def point(self, te: float, tc: float, speed_hz: float) -> tuple[float, float, float, float]:
        """Return heat drawn by the evaporators and given by the condensers, electric power and loss to the shell."""
        by_q, by_pt, by_ps = self.kinds
        s, p = self.state, self.par
        s.update(by_q, 1.0, te)
        low = s.p()
        s.update(by_q, 1.0, tc)
        high = s.p()
        s.update(by_pt, low, te + self.superheat_k)
        h1, s1, rho = s.hmass(), s.smass(), s.rhomass()
        s.update(by_ps, high, s1)
        h2s = s.hmass()
        s.update(by_pt, high, tc - self.subcooling_k)
        h3 = s.hmass()
        ratio = high / low
        base, clearance, leak, throttling, floor = p[cn.PAR_VOLUMETRIC : cn.PAR_VOLUMETRIC + 5]
        fill = max(base - (ratio - 1.0) * (clearance + leak / speed_hz) - (speed_hz / throttling) ** 2, floor)
        best, at, above, below, fall, middle, span, least = p[cn.PAR_ISENTROPIC : cn.PAR_ISENTROPIC + 8]
        away = math.log(ratio / at)
        eta = best - (above if away > 0.0 else below) * away**2 - fall * ((speed_hz - middle) / span) ** 2
        m = fill * p[cn.PAR_DISPLACEMENT_M3] * speed_hz * rho
        shaft = m * (h2s - h1) / max(eta, least)
        best, droop, scale = p[cn.PAR_DRIVE : cn.PAR_DRIVE + 3]
        electric = shaft / (best - droop * math.exp(-max(shaft, 0.0) / scale))
        loss = electric - shaft
        gas = shaft + p[cn.PAR_GAS_SHARE] * loss
        drawn = m * (h1 - h3)
        return drawn, drawn + gas, electric, electric - gas

    def solve(self, speed_hz: float, t_wall_k: Floats, ua_hot: Floats, ua_cold: Floats) -> tuple[Floats, float, float]:
        """Return the heat into every wall, the electric power and the loss to the shell [W]."""
        if speed_hz < cn.SPEED_OFF_HZ:
            self.guess = None
            return np.zeros(t_wall_k.size), 0.0, 0.0

        def heats(u: Floats) -> tuple[Floats, Floats]:
            up, down = u[1] - t_wall_k, t_wall_k - u[0]
            return ua_hot * 0.5 * (up + np.sqrt(up**2 + 0.25)), ua_cold * 0.5 * (down + np.sqrt(down**2 + 0.25))

        def residual(u: Floats) -> list[float]:
            self.evaluations += 1
            tc = min(max(u[1], T_LOW_K + 1.0), self.t_top_k)  # the equation of state ends at the critical point
            drawn, given, _, _ = self.point(min(max(u[0], T_LOW_K), tc - 0.5), tc, speed_hz)
            hot, cold = heats(u)
            return [(drawn - cold.sum()) * 1e-3, (given - hot.sum()) * 1e-3]

        start = self.guess
        if start is None:
            start = np.array([t_wall_k[ua_cold > 0].min() - 8.0, t_wall_k[ua_hot > 0].max() + 12.0])
        u, info, _, text = self.fsolve(residual, start, xtol=1e-8, full_output=True)
        if np.abs(info["fvec"]).max() > 1e-5 and self.guess is not None:  # a trial step led far away: from the walls
            self.guess = None
            return self.solve(speed_hz, t_wall_k, ua_hot, ua_cold)
        if np.abs(info["fvec"]).max() > 1e-5:  # kW; fsolve complains of slow progress when it is already there
            raise ArithmeticError(f"the cycle was not solved: {text}")
        self.guess = u
        hot, cold = heats(u)
        _, _, electric, shell = self.point(u[0], u[1], speed_hz)
        return hot - cold, electric, shell


class Engineer:
    """The heat balances of every node, the pack's charge and the humidities of the cabin's air."""

    def __init__(self, stretch: Stretch, record: Record, shape: str = "steps") -> None:
        from heatwright.physics.refrigerant import TAB_SUBCOOLING, TAB_SUPERHEAT

        self.stretch, self.shape = stretch, shape
        self.inputs = stacked(stretch, record)
        widths = [x.shape[1] for x in (stretch.rows, record.act, record.mdot, record.g, record.pdev)]
        self.ends = np.cumsum(widths)[:-1]
        self.last = self.inputs.shape[0] - 1
        self.index = stretch.program.index
        self.get: dict[str, NDArray] = {}
        self.col = {name: k for k, name in enumerate(self.index.columns)}
        self.out = {name: k for k, name in enumerate(self.index.outputs)}
        self.n = len(self.index.nodes)
        tab = stretch.section("cp_tab")
        self.cycle = Cycle(stretch.section("cp_par"), tab[TAB_SUPERHEAT], tab[TAB_SUBCOOLING])
        self.cell = self["pk_cell"].reshape(int(self["pk_par"][10]), 2, -1)
        self.calls = 0

    def __getitem__(self, name: str) -> NDArray:
        if name not in self.get:
            part = self.stretch.section(name)
            self.get[name] = part.astype(np.int64) if part.dtype == np.uint32 else part
        return self.get[name]

    def table(self, which: int, x: float) -> float:
        """Return one of the cell's tables at x."""
        return float(np.interp(x, self.cell[which, 0], self.cell[which, 1]))

    def roles(self, act: Floats) -> tuple[Floats, Floats]:
        """Return the conductance of every exchanger as condenser and as evaporator for the valves as they stand."""
        ports = self["rp_wall"].size
        hot, cold = np.zeros(ports), np.zeros(ports)
        bits = 1 << np.arange(ports)
        ua = self["rp_ua"].reshape(ports, 2)
        for c, legal in enumerate(self["cb_legal"]):
            weight = legal * np.prod(act[self["cb_act"][self["cb_ptr"][c] : self["cb_ptr"][c + 1]]])
            hot += weight * ua[:, 0] * ((self["cb_hot"][c] & bits) > 0)
            cold += weight * ua[:, 1] * ((self["cb_cold"][c] & bits) > 0)
        return hot, cold

    def devices(self, t: Floats, act: Floats, pdev: Floats, y: Floats) -> float:
        """Fill the heats of heaters, pumps, blowers and fans; return their electric power [W]."""
        kind, par = self["dv_kind"], self["dv_par"].reshape(-1, 6)
        power = pdev[: kind.size].copy()
        y[: kind.size] = power
        heater = kind == 0
        if heater.any():
            p = par[heater]
            fade = np.clip((p[:, 2] - t[self["dv_n"][heater]]) / (p[:, 2] - p[:, 1]), 0.0, 1.0)
            power[heater] = np.clip(act[self["dv_act"][heater]], 0.0, p[:, 3]) * fade
            y[: kind.size][heater] = p[:, 0] * power[heater]
        return float(power.sum())

    def traction(self, t: Floats, row: Floats, allowed: float, y: Floats) -> float:
        """Fill the losses of the drive unit; return its electric power [W], braking limited to what is allowed."""
        at = self.col
        if row[at["driving"]] <= 0.0:
            return 0.0
        winding, oil = self["dr_n"][:2]
        thick = min(4.0, math.exp(0.025 * (60.0 - t[oil])))
        copper = row[at["loss_copper_w"]] * (1 + 0.00393 * (t[winding] - 20.0)) / (1 + 0.00393 * (80.0 - 20.0))
        gear = thick * row[at["gear_viscous_w"]] + math.sqrt(thick) * row[at["gear_churn_w"]] + row[at["gear_mesh_w"]]
        others = [row[at[f"loss_{k}_w"]] for k in ("iron", "rotor", "inverter")]
        names = ("copper", "iron", "rotor", "inverter", "gear")
        losses = (copper, *others, gear)
        for name, loss in zip(names, losses, strict=True):
            y[self.out[f"drive_{name}"]] = loss
        total = sum(losses)
        wheel = row[at["wheel_w"]]
        if wheel + total < -allowed:
            wheel = min(-allowed - total, 0.0)
        return wheel + total

    def pack(self, t: Floats, soc: float, row: Floats, loads: float, y: Floats) -> float:
        """Fill the heat of pack and drive unit; return the pack's current [A]."""
        series, r25, age, activation, energy, i_most, regen_most, _ = self["pk_par"][:8]
        cells = t[self["pk_n"]] + ZERO_C
        cold, warm = float(cells.min()), float(cells.max())
        mean = 0.5 * (cold + warm)
        u = series * self.table(0, soc)
        high = max(0.0, (soc - 0.85) / 0.15)
        by_charge = 1.0 + 0.9 * math.exp(-soc / 0.06) + 0.12 * high**2
        r = r25 * math.exp(activation / 8.314462618 * (1 / mean - 1 / 298.15)) * by_charge * (1.0 + age)
        knee = 318.15 - 10.0 * min(max((soc - 0.35) / 0.65, 0.0), 1.0)
        plating = self.table(2, cold) * self.table(3, soc)
        rate = min(plating, self.cell[2, 1, -1] * self.table(4, soc))
        rate *= self.table(5, (warm - knee) / (333.15 - knee))
        pulse = 1.0 + 0.5 * min(max((10.0 - self.stretch.section("ext")[X_PULSE]) / 2.0, 0.0), 1.0)
        limit = min(pulse * rate / 3600.0 * energy, u * i_most, regen_most)
        want = loads + self.traction(t, row, limit + loads, y)
        if want > 0.0 and row[self.col["plugged"]] > 0.0:
            raise ValueError("this script does not know the plug")
        i = 2.0 * want / (u + math.sqrt(u**2 - 4.0 * r * want))
        y[self.out["pack"]] = i**2 * r - i * mean * series * self.table(1, soc)
        return i

    def moisture(self, t: Floats, w: Floats, row: Floats, mdot: Floats, g: Floats, y: Floats) -> Floats:
        """Return the rates of the humidities [1/s]; fill the latent heat of coils and panes, which keep no water."""
        at, n = self.col, w.size
        a, b, m = self["ms_a"], self["ms_b"], mdot[self["ms_m"]]
        carried = m * np.where(m >= 0.0, w[a], w[b])
        q = np.bincount(b, carried, n) - np.bincount(a, carried, n)
        node, outside = self["mb_n"], row[at["w_ambient"]]
        m = mdot[self["mb_m"]] * np.where(self["mb_d"] == 0, -1.0, 1.0)
        q += np.bincount(node, m * np.where(m >= 0.0, outside, w[node]), n)
        node = self["mz_n"]
        came = g[self["mz_g"]] / CP_AIR * (outside - w[node]) + self["mz_share"] * row[at["moisture_kg_per_s"]]
        q += np.bincount(node, came, n)
        par = self["mh_par"].reshape(-1, 3)
        k = np.maximum(par[:, 0] * g[self["mh_g"]] - par[:, 1], 0.0)
        k[: self["mo_coil"].size] *= mdot[self["mo_coil"]] > 0.0
        level = np.array([saturated_humidity(x + ZERO_C, row[at["p_ambient"]]) for x in t[self["mh_node"]]])
        water = k * np.maximum(w[self["mh_i"]] - level, 0.0)
        y[self["mh_y"]] = water * H_EVAPORATION
        return (q - np.bincount(self["mh_o"], water, n)) / self["mo_kg"]

    def fluxes(self, t: Floats, row: Floats, mdot: Floats, g: Floats, y: Floats) -> Floats:
        """Return the heat into every node [W] from conductances, streams and sources."""
        n = self.n
        c = [self[f"c{k}"] for k in (1, 2, 3, 4)]
        cp = c[0] + t * (c[1] + t * (c[2] + t * c[3]))
        h = t * (c[0] + t * (c[1] / 2 + t * (c[2] / 3 + t * c[3] / 4)))
        boundary = row[self["tb_col"]]
        f = g[self["tr_g"]] * (t[self["tr_p"]] - t[self["tr_q"]])
        q = np.bincount(self["tr_r"], f, n) - np.bincount(self["tr_s"], f, n)
        q += np.bincount(self["bt_q"], g[self["bt_g"]] * (boundary[self["bt_b"]] - t[self["bt_q"]]), n)
        m = mdot[self["st_m"]]
        carried = m * np.where(m >= 0.0, h[self["st_a"]], h[self["st_b"]])
        q += np.bincount(self["st_b"], carried, n) - np.bincount(self["st_a"], carried, n)
        node = self["bs_n"]
        m = mdot[self["bs_m"]] * np.where(self["bs_d"] == 0, -1.0, 1.0)
        q += np.bincount(node, m * np.where(m >= 0.0, cp[node] * boundary[self["bs_b"]], h[node]), n)
        q += np.bincount(self["so_n"], self["so_c"] * y[self["so_y"]], n)
        return q + np.bincount(self["sd_n"], self["sd_c"] * row[self["sd_col"]], n)

    def rates(self, t_s: float, x: Floats) -> Floats:
        """Return dx/dt at a time [s] after the stretch begins: temperatures [K/s], charge, humidity [1/s]."""
        self.calls += 1
        k, share = line_at(t_s / self.stretch.dt_s, self.last, self.shape)
        now = self.inputs[k] if share == 0.0 else (1.0 - share) * self.inputs[k] + share * self.inputs[k + 1]
        row, act, mdot, g, pdev = np.split(now, self.ends)
        t, soc, w = x[: self.n] - ZERO_C, float(x[self.n]), x[self.n + 1 :]
        y = np.zeros(len(self.index.outputs))
        wall = self["rp_wall"]
        q_wall, electric, shell = self.cycle.solve(float(act[0]), t[wall] + ZERO_C, *self.roles(act))
        loads = self.devices(t, act, pdev, y) + row[self.col["low_voltage_w"]]
        loads += electric + self["cx_par"][0] if electric > 0.0 else 0.0
        i = self.pack(t, soc, row, loads, y)
        y[self.out["compressor_shell"]] = shell
        humid = self.moisture(t, w, row, mdot, g, y)
        q = self.fluxes(t, row, mdot, g, y)
        q[wall] += q_wall
        cp = self["c1"] + t * (self["c2"] + t * (self["c3"] + t * self["c4"]))
        return np.concatenate([q / (self["mass"] * cp), [-i / self["pk_par"][7]], humid])


def solve(model: Engineer, x0: Floats, method: str, rtol: float, atol: float, max_step_s: float, steps: int) -> Floats:
    """Return the states at the first `steps` step edges after the start, by scipy's solve_ivp."""
    from scipy.integrate import solve_ivp

    edges = np.arange(steps + 1) * model.stretch.dt_s
    found: Any = solve_ivp(model.rates, (0.0, edges[-1]), x0, method, edges, rtol=rtol, atol=atol, max_step=max_step_s)
    if not found.success:
        raise ArithmeticError(f"{method} gave up: {found.message}")
    return found.y.T[1:]
