"""Modes tried at one need and air outside: what each adds, how two sides share it, and how little serves the load."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from heatwright.kernel.status import LIMIT_NONE, LIMIT_SENTENCES
from heatwright.plant.model import Plant
from heatwright.study.capacity.bench import Bench, Settled
from heatwright.study.capacity.candidates import Candidate, part_load, turned_down
from heatwright.study.capacity.cells import Amount, Cell
from heatwright.study.capacity.tasks import Loads, Task, gained, loads_of

PROMISING, ROUNDS, TURNS = 3, 3, (0.6, 0.3, 0.12)
FRUGAL, GUESSES, ENOUGH = 4, 4, 1.03
PACK_SHORT = "the pack gives no more power"
HELD_OFF = "cannot run here"

Found = Sequence[tuple[Cell, Candidate]]


class Trial:
    """One need at one air outside, in which mode after mode is tried."""

    def __init__(self, task: Task, t_k: float, bench: Bench, loads: Loads) -> None:
        self.task, self.t_k, self.bench, self.loads = task, t_k, bench, loads
        self.idles: dict[object, Settled] = {}

    def of(self, mode: Candidate) -> Cell:
        """Return a mode's answer: what it adds to the same car with only its air moving."""
        key = tuple(sorted((name, value) for name, value in mode.idle.items() if value))
        if key not in self.idles:
            self.idles[key] = self.bench.settle(mode.idle)
        idle, full = self.idles[key], self.bench.settle(mode.acts)
        sides = [self._side(side, sign, idle, full) for side, sign in self.task.sides]
        amounts = tuple(amount for amount, _ in sides)
        share = min((one for _, shares in sides for one in shares), default=1.0)
        return Cell(
            self.task.key, self.t_k, amounts, share, mode.id, mode.title, full.p_electric_w, _bound(mode, full),
            full.steady, mode.devices,
        )  # fmt: skip

    def _side(self, side: str, sign: float, idle: Settled, full: Settled) -> tuple[Amount, list[float]]:
        """Return one side in all, and the share that each of its parts (the zones of a cabin) gets of its load."""
        wanted = loads_of(side, sign, idle, self.bench, self.loads)
        added = [b - a if sign > 0.0 else a - b for a, b in zip(gained(idle, side), gained(full, side), strict=True)]
        shares = [can / ask for can, ask in zip(added, wanted, strict=True) if ask > 0.0]
        return Amount(side, max(sum(wanted), 0.0), sum(added)), shares if sum(wanted) > 0.0 else []

    def least_power(self, full: Cell, mode: Candidate) -> float | None:
        """Return the electricity a mode takes [W] when its heaters and compressors do no more than the load asks.

        full : its answer at full devices, which serves the load. Found by the secant rule on the share that is served;
        the least power seen that serves all of it.
        """
        low, high = 0.0, 1.0
        cell = self.of(part_load(mode, low))
        f_low, f_high, power = (cell.share or 0.0) - 1.0, (full.share or 0.0) - 1.0, full.p_electric_w
        if f_low >= 0.0:
            return cell.p_electric_w
        for _ in range(GUESSES):
            part = ((ENOUGH - 1.0) / 2.0 - f_low) / (f_high - f_low)
            middle = low + (high - low) * min(max(part, 0.05), 0.9)
            cell = self.of(part_load(mode, middle))
            missed = (cell.share or 0.0) - 1.0
            if missed < 0.0:
                low, f_low = middle, missed
                continue
            high, f_high, power = middle, missed, min(power, cell.p_electric_w)
            if missed <= ENOUGH - 1.0:
                break
        return power


def shared(plant: Plant, trial: Trial, found: Found) -> Found:
    """Return what the most promising modes do with pumps or expansion valves turned down, where that helps."""

    def served(cell: Cell) -> float:
        return sum(min(one.capacity / one.load, 1.0) for one in cell.amounts if one.load > 0.0)

    promising = sorted(found, key=lambda one: -served(one[0]))[:PROMISING]
    evened = []
    for cell, mode in promising:
        for _ in range(ROUNDS):
            others = [(trial.of(one), one) for one in turned_down(plant, mode, TURNS)]
            better, own = max(others, key=lambda one: one[0].share or 0.0, default=(cell, mode))
            if (better.share or 0.0) <= (cell.share or 0.0):
                break
            cell, mode = better, own
        evened.append((cell, mode))
    return evened


def with_least(trial: Trial, best: Cell, found: Found, evened: Found = ()) -> Cell:
    """Return the best cell with the least electricity that serves the load.

    Turned down are, of the modes that serve it, those with the fewest devices, the one that takes least at full
    devices, and those of `evened`, whose two sides share what there is.
    """
    able = sorted((one for one in found if one[0].met), key=lambda one: (one[0].devices, one[0].p_electric_w))
    tried = [*able[:FRUGAL], *(one for one in evened if one[0].met)]
    tried += sorted(able[FRUGAL:], key=lambda one: one[0].p_electric_w)[:1]
    powers = [(trial.least_power(cell, mode), mode) for cell, mode in tried]
    known = [(power, mode) for power, mode in powers if power is not None]
    if not known:
        return best
    power, mode = min(known, key=lambda one: one[0])
    return replace(best, p_least_w=power, least_mode=mode.id, least_title=mode.title)


def _bound(mode: Candidate, full: Settled) -> str:
    """Return what keeps a mode from more: pack, circuits, devices at their most, or nothing but temperatures."""
    if full.capped:
        return PACK_SHORT
    told = list(mode.at_most)
    several = len(full.circuits) > 1
    for name, at_most in mode.compressors.items():
        runs, limit = full.circuits[name]
        limited = [LIMIT_SENTENCES[limit]] if limit != LIMIT_NONE else []
        if not runs:
            told.append(": ".join([f"{name if several else 'the compressor'} {HELD_OFF}", *limited]))
        elif limited:
            told.append(": ".join([name, *limited] if several else limited))
        else:
            told.append(at_most)
    return " and ".join(told) or "nothing but flow and temperature difference"
