"""Marches of a reduced model: under the dispatch, and towards the least cost to go."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from heatwright.dispatch.prices import Prices
from heatwright.dispatch.reduced import BRAKE_GRID_K, Menu, Reduced, Step
from heatwright.kernel import dispatch_names as dn
from heatwright.kernel.dispatch import decide
from heatwright.kernel.induction import best_line, stage_j
from heatwright.kernel.menu import E_AIR, E_CABIN, E_PACK, E_S, N_EFFECT, fill_best, measure
from heatwright.outcome import J_PER_KWH

Floats = NDArray[np.float64]
LOOKS = 3
"""Decisions that the dispatch takes for a step, its knobs moving on with each."""
TURNS, NEAR_W = 2, 3000.0
"""Turns of the knobs of a candidate whose score is so near the best."""
ThreePrices = tuple[float, float, float]
PriceOf = Callable[[int, Floats], ThreePrices]
"""Prices of heat in pack, drive unit and cabin [J/J] at a step, the stores at some temperatures [K]."""
GoalOf = Callable[[int, Floats], tuple[Floats, Floats, Floats]]
"""What the cost to go is after a step from some temperatures: (values [J], box, points of the grid)."""
FAR_BOX = np.array([100.0, 400.0, 100.0, 400.0, 100.0, 400.0, 0.0, 0.0, 0.0])
CORNERS = np.array([2.0, 2.0, 2.0])


@dataclass(frozen=True, eq=False)
class March:
    """A march: when every step begins [s], stores at the begin of every step and the end [K], cost of every step [J].

    prices : of heat in pack, drive unit and cabin at every step [J/J]. charge_s : how long the charges took.
    """

    t_s: Floats
    stores_k: Floats
    cost_j: Floats
    prices: Floats
    charge_s: float

    @property
    def score_kwh(self) -> float:
        """Return its score."""
        return float(self.cost_j.sum()) / J_PER_KWH


class Looker:
    """Looks at every candidate of a reduced model as the dispatch does, under any prices."""

    def __init__(self, model: Reduced) -> None:
        self.model, self.desk = model, model.desk()
        self.heats, self.scratch = np.zeros(max(self.desk.heater_act.size, 1)), np.zeros(N_EFFECT)
        self.out = np.zeros(N_EFFECT * self.desk.rows.shape[0])

    def look(self, w: Floats, step: Step, prices: ThreePrices) -> Floats:
        """Return one line for each candidate, its knobs turned further where it is near the best."""
        rate = self.ready(w, step, prices)
        program = self.model.program
        fill_best(
            program.pi, program.pf, w, step.row, self.desk, NEAR_W, TURNS, self.model.caps, rate, self.heats,
            self.scratch, self.out,
        )  # fmt: skip
        return self.out

    def chosen(self, w: Floats, step: Step, prices: ThreePrices) -> Floats:
        """Return the line of what the dispatch chooses."""
        rate = self.ready(w, step, prices)
        program, desk, line = self.model.program, self.desk, self.out[:N_EFFECT]
        for _ in range(LOOKS):
            best = int(decide(program.pi, program.pf, w, step.row, desk))
        for c in (best, *np.argsort(desk.rows[:, dn.R_SCORE], kind="stable")):
            measure(program.pi, program.pf, w, step.row, desk, c, self.model.caps, rate, self.heats, self.scratch, line)
            if np.isfinite(line[0]):
                break
        return line

    def ready(self, w: Floats, step: Step, prices: ThreePrices) -> float:
        """Make the desk ready for a step; return the rate of its charge [1/s]."""
        self.desk.need[[dn.N_LP, dn.N_LD, dn.N_LC]] = prices
        return self.model.ready(self.desk, w, step)


def march_dispatch(model: Reduced, price_of: PriceOf) -> March:
    """March the reduced model under the dispatch."""
    looker, w = Looker(model), model.fresh()
    return _march(model, w, lambda k, t_k: looker.chosen(w, model.steps[k], price_of(k, t_k)), price_of)


def march_to(
    model: Reduced, menu: Menu, goal_of: GoalOf, price_of: PriceOf, others: Sequence[PriceOf] = ()
) -> tuple[March, Floats]:
    """March the reduced model, each step by the least sum of its cost and the cost to go; also return the knobs found.

    It chooses from the menu and from what the dispatch makes of every candidate, under the prices of the march and
    under others.
    """
    w, ways, knobs = model.fresh(), [(Looker(model), way) for way in (price_of, *others)], []
    own = N_EFFECT * menu.lines
    room = np.zeros(own + sum(looker.out.size for looker, _ in ways))

    def choose(k: int, t_k: Floats) -> Floats:
        step = model.steps[k]
        menu.fill(w, k, room[:own])
        at = own
        for looker, way in ways:
            room[at : at + looker.out.size] = looker.look(w, step, way(k, t_k))
            at += looker.out.size
        knobs.append(ways[0][0].desk.knob.copy())
        v, box, grid = goal_of(k, t_k)
        found, _ = best_line(
            room, room.size // N_EFFECT, t_k, v, box, grid, step.stage, BRAKE_GRID_K, step.brake_w
        )  # fmt: skip
        return room[N_EFFECT * found : N_EFFECT * (found + 1)]

    return _march(model, w, choose, price_of), np.array(knobs)


def priced_goal(model: Reduced, price_of: PriceOf) -> GoalOf:
    """Return a cost to go that falls by the prices with every joule of heat kept."""
    ends = FAR_BOX[0] + FAR_BOX[1] * np.stack(np.meshgrid(*([[0.0, 1.0]] * 3), indexing="ij"), axis=-1).reshape(-1, 3)

    def goal(k: int, t_k: Floats) -> tuple[Floats, Floats, Floats]:
        worth = np.array(price_of(k, t_k)) * model.caps
        return -(ends - t_k) @ worth, FAR_BOX, CORNERS

    return goal


def learn_knobs(model: Reduced, march: March, price_of: PriceOf) -> Floats:
    """Return the flow knobs that the dispatch finds for every candidate along a march: (step, candidate, knob)."""
    looker, w, out = Looker(model), model.fresh(), []
    for k, step in enumerate(model.steps):
        model.put(w, step, march.stores_k[k])
        looker.look(w, step, price_of(k, march.stores_k[k]))
        out.append(looker.desk.knob.copy())
    return np.array(out)


def under(model: Reduced, prices: Prices) -> PriceOf:
    """Return the prices of a dispatch in the form of the marches here."""
    return lambda k, t_k: prices.at(model.steps[k].t_s, float(t_k[0]), model.steps[k].charge)


def constant(model: Reduced, prices: Prices, levels: ThreePrices) -> PriceOf:
    """Return constant prices of heat in pack, drive unit and cabin."""
    pack, drive, cabin = (((0.0, level),) for level in levels)
    return under(model, replace(prices, pack_path=pack, drive_path=drive, cabin_path=cabin))


def _march(model: Reduced, w: Floats, choose: Callable[[int, Floats], Floats], price_of: PriceOf) -> March:
    n = len(model.steps)
    t_s, stores, cost, prices = np.zeros(n), np.zeros((n + 1, 3)), np.zeros(n), np.zeros((n, 3))
    stores[0] = model.start
    air, charge_s, late_s = float(model.start[2]), 0.0, 0.0
    for k, step in enumerate(model.steps):
        late_s = late_s if step.gained > 0.0 else 0.0
        t_s[k] = step.t_s + late_s
        model.put(w, step, stores[k], air)
        prices[k] = price_of(k, stores[k])
        line = choose(k, stores[k])
        cost[k] = stage_j(line, float(stores[k, 0]), step.stage, BRAKE_GRID_K, step.brake_w)
        stores[k + 1] = stores[k] + line[E_PACK : E_CABIN + 1]
        air = float(line[E_AIR])
        if step.gained > 0.0:
            late_s += float(line[E_S])
            charge_s += float(line[E_S])
    return March(t_s, stores, cost, prices, charge_s)
