"""Heat prices of a plant on a trip: what a joule put into pack, drive unit or cabin is worth in joules of electricity.

That of the pack follows from the cost of the next fast charge as a function of the pack's temperature at its start.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from heatwright.compiler.program import Program
from heatwright.dispatch.rest_of_trip import between, lining_path, stretches
from heatwright.dispatch.settings import PricePath, Settings
from heatwright.kernel import names, plan
from heatwright.kernel import pack as kp
from heatwright.kernel import power as kw
from heatwright.physics import fast_charge as fc
from heatwright.physics import heat_price as hp

Floats = np.ndarray

T_COLDEST_K = 233.15
N_GRID = 101
STEP_K = 1.0
SMOOTH_STEPS = 2
"""The slope at a temperature is taken over so many steps to either side."""


@dataclass(frozen=True, eq=False)
class Priced:
    """Prices over the grid of temperatures [J/J], at times of the trip [s] or charges [0-1], rising."""

    at: Floats
    price: Floats

    def row(self, at: float) -> Floats:
        """Return the prices at one of them."""
        return between(at, self.at, self.price)


@dataclass(frozen=True, eq=False)
class FastCharge:
    """One fast charge of a trip, and what heat is worth for it.

    cost_j, time_s : of the charge from every temperature of `Prices.t_grid_k` (infinite: not within a day).
    price : electricity a joule of heat in the pack is worth at its start [J/J], falling with temperature, for the
    charge and the rest of the trip. wanted_k : temperature at which that is down to the plateau.
    before : the same over the time of the trip on the way there; during : from steps of the charge on.
    """

    start_s: float
    end_s: float
    station_w: float
    soc_from: float
    soc_to: float
    time_s: Floats
    cost_j: Floats
    price: Floats
    wanted_k: float
    before: Priced
    during: Priced


@dataclass(frozen=True, eq=False)
class Prices:
    """Everything the prices of a march are read from; `par` is that of `physics.heat_price` with no charge ahead.

    rest : prices after the last charge, for what the rest of the trip makes of the heat.
    pack_path : a price given by the user, which then replaces the derived one.
    """

    t_grid_k: Floats
    charges: tuple[FastCharge, ...]
    rest: Priced
    par: Floats
    pack_path: PricePath | None
    drive_path: PricePath
    cabin_path: PricePath

    def ahead(self, t_s: float) -> tuple[int, float]:
        """Return (which charge comes next or runs, time until it begins [s]); (-1, infinite) without one."""
        for k, one in enumerate(self.charges):
            if t_s < one.end_s:
                return k, max(one.start_s - t_s, 0.0)
        return -1, math.inf

    def pack(self, t_pack_k: float, k: int, t_to_charge_s: float, soc: float | None = None) -> float:
        """Return the derived price of heat in the pack [J/J], so long before charge `k`; -1: no charge.

        soc : charge that the pack has, counted while it charges; left out, that at the start.
        """
        if k < 0:
            return float(hp.pack_price(t_pack_k, math.inf, self.t_grid_k, np.zeros_like(self.t_grid_k), self.par))
        one, par = self.charges[k], self.par
        if t_to_charge_s <= 0.0:
            values = one.price if soc is None else one.during.row(soc)
        else:
            values, par = one.before.row(one.start_s - t_to_charge_s), par.copy()
            par[hp.WANTED_K] = wanted_k(self.t_grid_k, values, par[hp.PLATEAU])
        return float(hp.pack_price(t_pack_k, t_to_charge_s, self.t_grid_k, values, par))

    def after_all(self, t_s: float, t_pack_k: float) -> float:
        """Return the price once no charge is ahead: what the rest of the trip makes of it, or the standing price.

        Of the two, the higher in a pack colder than where the standing price is zero, else the lower.
        """
        rest = float(hp.table_price(t_pack_k, self.t_grid_k, self.rest.row(t_s)))
        stands = self.pack(t_pack_k, -1, math.inf)
        return max(rest, stands) if t_pack_k < self.par[hp.CENTRE_K] else min(rest, stands)

    def at(self, t_s: float, t_pack_k: float, soc: float | None = None) -> tuple[float, float, float]:
        """Return the prices of heat in pack, drive unit and cabin [J/J] at a time of the trip."""
        k, before_s = self.ahead(t_s)
        if self.pack_path is not None:
            pack = along(self.pack_path, t_s)
        elif k < 0:
            pack = self.after_all(t_s, t_pack_k)
        else:
            pack = self.pack(t_pack_k, k, before_s, soc)
        return pack, along(self.drive_path, t_s), along(self.cabin_path, t_s)


def along(path: PricePath, t_s: float) -> float:
    """Return the price of a path at a time: straight between its points, level beyond."""
    return float(np.interp(t_s, [t for t, _ in path], [price for _, price in path]))


def derive_prices(program: Program, settings: Settings) -> Prices:
    """Return the prices for a compiled plant and trip."""
    par = np.zeros(hp.N_PAR)
    par[hp.STANDING] = settings.standing_price
    par[hp.CENTRE_K], par[hp.SLOPE_K] = settings.standing_centre_k, settings.standing_slope_k
    par[hp.PLATEAU], par[hp.MAKING_W] = settings.plateau, settings.making_power_w
    par[hp.MARGIN], par[hp.HEAT_J_PER_K] = settings.making_margin, program.facts["pack_heat_j_per_k"]
    grid = T_COLDEST_K + STEP_K * np.arange(N_GRID)
    stops = fast_stops(program, settings)
    pars = [charge_par(program, settings, stop.station_w, stop.t_outside_k) for stop in stops]
    pack = charge_par(program, settings, 0.0, 273.15)
    roads, costs = stretches(program, settings, grid, stops, pars, pack)
    step_j, most = par[hp.HEAT_J_PER_K] * STEP_K, settings.price_most

    def priced(at: Floats, rows: Floats) -> Priced:
        return Priced(at, np.array([falling_price(row, step_j, most) for row in rows]))

    charges = []
    for stop, own, road, cost in zip(stops, pars, roads, costs, strict=False):
        found = np.array([fc.fast_charge(float(t), stop.soc_from, stop.soc_to, *own) for t in grid])
        during = priced(np.linspace(stop.soc_from, stop.soc_to, cost.shape[0]), cost)
        charges.append(
            FastCharge(
                stop.start_s, stop.end_s, stop.station_w, stop.soc_from, stop.soc_to, found[:, 0], found[:, 1],
                during.price[0], wanted_k(grid, during.price[0], settings.plateau), priced(road.t_s, road.cost_j),
                during,
            )
        )  # fmt: skip
    rest = priced(roads[-1].t_s, roads[-1].cost_j)
    cabin = lining_path(program, settings) if settings.cabin_price is None else settings.cabin_price
    return Prices(grid, tuple(charges), rest, par, settings.pack_price, settings.drive_price, cabin)


@dataclass(frozen=True)
class Stop:
    """A fast charge as the trip asks for it."""

    start_s: float
    end_s: float
    station_w: float
    soc_from: float
    soc_to: float
    t_outside_k: float


def fast_stops(program: Program, settings: Settings) -> list[Stop]:
    """Return the fast charges of the trip, each with the charge expected at its start."""
    rows, dt = program.rows, program.dt_s
    fast = np.concatenate([[0.0], rows[:, names.D_FAST] * rows[:, names.D_PLUGGED], [0.0]]) > 0.0
    firsts, lasts = np.flatnonzero(~fast[:-1] & fast[1:]), np.flatnonzero(fast[:-1] & ~fast[1:])
    stops = []
    soc, begun = float(program.ext0[names.X_SOC]), 0
    for first, last in zip(firsts.tolist(), lasts.tolist(), strict=True):
        arrives = settings.arrival_charge
        if arrives is None:
            arrives = max(soc - _road_j(rows[begun:first], dt) / program.facts["pack_j"], 0.0)
        to = float(rows[first, names.D_CHARGETO])
        t_outside_k = float(rows[first, names.D_TAU]) + 273.15
        stops.append(Stop(first * dt, last * dt, float(rows[first, names.D_STATION]), arrives, to, t_outside_k))
        soc, begun = max(to, arrives), last
    return stops


def _road_j(rows: Floats, dt: float) -> float:
    """Return what road, drive unit and low voltage take over some steps [J]; heat and cold are not known yet."""
    taken = [
        names.D_WHEEL, names.D_CU, names.D_FE, names.D_ROT, names.D_INV, names.D_GV, names.D_GC, names.D_GM, names.D_LV,
    ]  # fmt: skip
    return float(rows[:, taken].sum() * dt)


def charge_par(program: Program, settings: Settings, station_w: float, t_outside_k: float) -> tuple[Floats, Floats]:
    """Return (`par`, chemistry) of `physics.fast_charge` for a compiled plant at a station."""
    pk = plan.section(program.pi, program.pf, "pk_par")
    cell = np.array(plan.section(program.pi, program.pf, "pk_cell"))
    cell = cell.reshape((int(pk[kp.P_TABLES]), 2, int(pk[kp.P_KNOTS])))
    par = np.zeros(fc.N_PAR)
    par[fc.SERIES], par[fc.R_25_OHM], par[fc.AGE] = pk[kp.P_SERIES], pk[kp.P_R25], pk[kp.P_AGE]
    par[fc.EA_J_PER_MOL], par[fc.ENERGY_J], par[fc.I_MAX_A] = pk[kp.P_EA], pk[kp.P_ENERGY], pk[kp.P_IMAX]
    par[fc.CAPACITY_C], par[fc.HEAT_J_PER_K] = pk[kp.P_CAPACITY], program.facts["pack_heat_j_per_k"]
    par[fc.STATION_W] = station_w
    par[fc.LOADS_W] = plan.section(program.pi, program.pf, "dr_par")[kw.P_AWAKE]
    par[fc.COOL_FROM_K] = settings.pack_hot_charging_k - settings.pack_hot_width_k
    par[fc.COOL_WIDTH_K], par[fc.COOL_W] = settings.pack_hot_width_k, settings.cooling_power_w
    par[fc.COOL_COP], par[fc.HEATER_W] = settings.cooling_cop, settings.heating_power_w
    par[fc.WAITING_W], par[fc.AGEING_W] = settings.waiting_cost_w, settings.ageing_w
    par[fc.AGEING_FROM_K], par[fc.AGEING_DOUBLE_K] = settings.ageing_centre_k, settings.ageing_double_k
    par[fc.LOSS_W_PER_K], par[fc.OUTSIDE_K] = program.facts["pack_to_outside_w_per_k"], t_outside_k
    return par, cell


def falling_price(cost_j: Floats, step_j: float, most: float) -> Floats:
    """Return -dJ/dE on the grid [J/J], smoothed, never rising with temperature, between -most and most.

    The slope is a mean over SMOOTH_STEPS to either side. Where it would rise (the cost is not convex), neighbours are
    pooled to their mean: the slope of the convex hull, which keeps the cost between the ends of such a stretch.
    cost_j : costs over even steps of temperature; infinite where the charge does not end, which is priced at `most`
    below the cheapest temperature and at -most above it.
    step_j : heat of one step [J].
    """
    k = np.arange(cost_j.size)
    low, high = np.maximum(k - SMOOTH_STEPS, 0), np.minimum(k + SMOOTH_STEPS, cost_j.size - 1)
    known = np.isfinite(cost_j[low]) & np.isfinite(cost_j[high])
    cheapest = int(np.argmin(cost_j)) if known.any() else cost_j.size
    slope = np.where(k <= cheapest, most, -most)
    slope[known] = (cost_j[low[known]] - cost_j[high[known]]) / (step_j * (high - low)[known])
    means: list[list[float]] = []
    for one in np.clip(slope, -most, most):
        means.append([float(one), 1])
        while len(means) > 1 and means[-1][0] > means[-2][0]:
            value, weight = means.pop()
            total = means[-1][1] + weight
            means[-1] = [(means[-1][0] * means[-1][1] + value * weight) / total, total]
    return np.concatenate([np.full(int(weight), value) for value, weight in means])


def wanted_k(grid: Floats, price: Floats, plateau: float) -> float:
    """Return the temperature at which a falling price is down to the plateau [K]; an end of the grid if nowhere."""
    return float(np.interp(plateau, price[::-1], grid[::-1]))
