"""Heat prices of a plant on a trip: what a joule put into pack, drive unit or cabin is worth in joules of electricity.

That of the pack follows from the cost of the next fast charge as a function of the pack's temperature at its start.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.program import Program
from heatwright.dispatch.rest_of_trip import lining_path, stretches
from heatwright.dispatch.settings import PricePath, Settings
from heatwright.kernel import names, plan
from heatwright.kernel import pack as pk
from heatwright.kernel import power as kw
from heatwright.kernel import price_book as kp
from heatwright.physics import fast_charge as fc
from heatwright.physics import heat_price as hp

Floats = np.ndarray

T_COLDEST_K = 233.15
N_GRID = 101
STEP_K = 1.0
NO_CHARGE = -1.0
"""Stands for the charge at the start of charging."""
SMOOTH_STEPS = 2
"""The slope at a temperature is taken over so many steps to either side."""


@dataclass(frozen=True, eq=False)
class Priced:
    """Prices over the grid of temperatures [J/J], at times of the trip [s] or charges [0-1], rising."""

    at: Floats
    price: Floats


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

    def expected(self) -> tuple[FastCharge, ...]:
        """Return the charges as they are expected, each until its `end_s`, in order."""
        return self.charges

    @cached_property
    def book(self) -> kp.PriceBook:
        """The same as the kernel reads it, for questions from here."""
        return self.make_book()

    def make_book(self) -> kp.PriceBook:
        """Return the same as the kernel reads it, with room of its own to work in."""
        n, charges = self.t_grid_k.size, self.expected()
        before, during = _stacked([one.before for one in charges], n), _stacked([one.during for one in charges], n)
        paths = [_path_arrays(path) for path in (self.pack_path or (), self.drive_path, self.cabin_path)]
        return kp.PriceBook(
            self.t_grid_k, self.par.copy(), np.array([one.start_s for one in charges], float),
            np.array([one.end_s for one in charges], float), *before, *during, self.rest.at, self.rest.price,
            *paths[0], *paths[1], *paths[2], np.zeros(n),
        )  # fmt: skip

    def pack(self, t_pack_k: float, k: int, t_to_charge_s: float) -> float:
        """Return the derived price of heat in the pack [J/J], so long before charge `k`; -1: no charge.

        At its start or after, that at the charge the pack then has.
        """
        if k < 0:
            return self.standing(t_pack_k)
        return float(kp.charge_price(self.book, t_pack_k, k, t_to_charge_s, NO_CHARGE))

    def standing(self, t_pack_k: float) -> float:
        """Return the price of heat in the pack with no charge ahead and nothing made of the rest of the trip [J/J]."""
        return float(hp.standing_price(t_pack_k, *self.par[[hp.STANDING, hp.CENTRE_K, hp.SLOPE_K]]))

    def at(self, t_s: float, t_pack_k: float, soc: float = NO_CHARGE) -> tuple[float, float, float]:
        """Return the prices of heat in pack, drive unit and cabin [J/J] at a time of the trip.

        soc : charge that the pack has, counted while it charges; left out, that at the start.
        """
        out = np.zeros(3)
        kp.price_all(self.book, t_s, t_pack_k, soc, out)
        return float(out[0]), float(out[1]), float(out[2])


def _stacked(some: list[Priced], n: int) -> tuple[NDArray[np.uint32], Floats, Floats]:
    """Return (where each begins and the last ends, all `at`, all rows of n prices)."""
    firsts = np.cumsum([0, *(one.at.size for one in some)]).astype(np.uint32)
    return firsts, np.concatenate([np.zeros(0), *(one.at for one in some)]), np.concatenate(
        [np.zeros((0, n)), *(one.price for one in some)]
    )  # fmt: skip


def _path_arrays(path: PricePath) -> tuple[Floats, Floats]:
    """Return times and prices of a path."""
    return np.array([t for t, _ in path], float), np.array([price for _, price in path], float)


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
                during.price[0], float(hp.falls_to(settings.plateau, grid, during.price[0])),
                priced(road.t_s, road.cost_j), during,
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
    own = plan.section(program.pi, program.pf, "pk_par")
    cell = np.array(plan.section(program.pi, program.pf, "pk_cell"))
    cell = cell.reshape((int(own[pk.P_TABLES]), 2, int(own[pk.P_KNOTS])))
    par = np.zeros(fc.N_PAR)
    par[fc.SERIES], par[fc.R_25_OHM], par[fc.AGE] = own[pk.P_SERIES], own[pk.P_R25], own[pk.P_AGE]
    par[fc.EA_J_PER_MOL], par[fc.ENERGY_J], par[fc.I_MAX_A] = own[pk.P_EA], own[pk.P_ENERGY], own[pk.P_IMAX]
    par[fc.CAPACITY_C], par[fc.HEAT_J_PER_K] = own[pk.P_CAPACITY], program.facts["pack_heat_j_per_k"]
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
    hp.pool_falling(np.clip(slope, -most, most, out=slope), np.zeros(slope.size))
    return slope
