"""One plant over many drawn days under each of several strategies, set side by side by their scores."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from heatwright.dispatch.days import day
from heatwright.dispatch.score import Score, score
from heatwright.errors import InputError, Problem
from heatwright.plant.model import Plant
from heatwright.run import plain
from heatwright.sensors import Sensors, load_sensors
from heatwright.simulate import Progress
from heatwright.study.draws import side_by_side
from heatwright.study.stops import settled_case
from heatwright.study.strategies import DISPATCH, TABLE, Strategy, labels_of, marches_of, of_day, told_of

USUAL = (TABLE, DISPATCH)
TOLD = ("score_kwh", "energy_kwh", "discomfort_kh", "charge_min", "switches_per_h")
"""What a day's answer tells of each strategy."""

Sensing = Callable[[int], Sensors | None]
"""The sensors that a day's car is read through, by the day's number; None reads the true state."""


@dataclass(frozen=True)
class Day:
    """One drawn day: its seed, its title, and the score under each strategy, in the order asked for."""

    seed: int
    trip: str
    scores: Mapping[str, Score]

    def ratio(self, one: str, other: str) -> float:
        """Return the score under one strategy over that under another [-]."""
        return self.scores[one].score_kwh / self.scores[other].score_kwh


@dataclass(frozen=True)
class Against:
    """How a strategy fares against another over all days: ratio of scores, days won, its best and its worst day."""

    strategy: str
    other: str
    mean_ratio: float
    wins: int
    days: int
    best_seed: int
    best_ratio: float
    worst_seed: int
    worst_ratio: float


@dataclass(frozen=True)
class Days:
    """What `many_days` found; the first strategy is the one that the others are set against.

    sees : what all strategies look at: "sensors" or "true state". told : for each strategy what JSON tells of it.
    """

    plant: str
    strategies: tuple[str, ...]
    days: tuple[Day, ...]
    sees: str = "true state"
    told: tuple[Mapping[str, str], ...] = ()

    @property
    def against(self) -> tuple[Against, ...]:
        """Return how every other strategy fares against the first."""
        return tuple(self._against(one) for one in self.strategies[1:])

    @property
    def vetoes(self) -> tuple[tuple[int, str, str], ...]:
        """Return (seed, strategy, what) of every veto."""
        return tuple(
            (one.seed, name, veto) for one in self.days for name, found in one.scores.items() for veto in found.vetoes
        )

    def mean_score_kwh(self, strategy: str) -> float:
        """Return a strategy's mean score."""
        return sum(one.scores[strategy].score_kwh for one in self.days) / len(self.days)

    def _against(self, strategy: str) -> Against:
        other = self.strategies[0]
        ratios = [(one.ratio(strategy, other), one.seed) for one in self.days]
        (best, best_seed), (worst, worst_seed) = min(ratios), max(ratios)
        mean = sum(ratio for ratio, _ in ratios) / len(ratios)
        wins = sum(ratio < 1.0 for ratio, _ in ratios)
        return Against(strategy, other, mean, wins, len(ratios), best_seed, best, worst_seed, worst)

    def as_json(self) -> dict[str, Any]:
        """Return days and summary as plain JSON values."""
        rows = [
            {"seed": one.seed, "trip": one.trip}
            | {name: {key: getattr(found, key) for key in TOLD} for name, found in one.scores.items()}
            for one in self.days
        ]
        summary = {
            "plant": self.plant,
            "sees": self.sees,
            "strategies": self.told or [{"strategy": name} for name in self.strategies],
            "mean_score_kwh": {name: self.mean_score_kwh(name) for name in self.strategies},
            "against": [vars(one) for one in self.against],
            "vetoes": [{"seed": seed, "strategy": name, "veto": veto} for seed, name, veto in self.vetoes],
        }
        out: dict[str, Any] = plain({"days": rows, "summary": summary})
        return out

    def as_text(self) -> str:
        """Return the days as a table for a terminal."""
        from heatwright.study.days_table import days_as_text

        return days_as_text(self)


def many_days(
    plant: Plant,
    seeds: Sequence[int],
    strategies: Sequence[Strategy] = USUAL,
    progress: Progress | None = None,
    sensing: Sensing = load_sensors,
) -> Days:
    """Drive a plant through the days of the seeds under every strategy and return their scores.

    A fast charge lasts until the slowest of the strategies has its charge, so all of them drive the same day; the wait
    of each ends with its own charge. sensing : every strategy of a day reads the same sensors with the same errors, by
    default the declared ones with errors drawn from the day's number; a function that returns None shows them the true
    state. progress(done, total) counts days; days run beside each other on all cores.
    strategies : names, or strategies of one's own (`dispatch.own.load_own`), through the same sensors.
    InputError if a decision table is asked for and the plant has none, or there is no day; RunError, with day and
    strategy, where one of them fails: then there is no answer at all.
    """
    marches = marches_of(plant, strategies)
    if not seeds:
        raise InputError([Problem("days", "no day is asked for", "one seed or more")], "days")

    def one(seed: int) -> Day:
        trip = day(seed)
        seen = {name: of_day(march, name, f"day {seed}", sensing(seed)) for name, march in marches.items()}
        case = settled_case([plant], trip, marches=tuple(seen.values()))
        return Day(seed, trip.name, {name: score(march(plant, case), case) for name, march in seen.items()})

    found = []
    for each in side_by_side(one, seeds):
        found.append(each)
        if progress is not None:
            progress(len(found), len(seeds))
    sees = "true state" if sensing(seeds[0]) is None else "sensors"
    told = tuple(told_of(name, one) for name, one in labels_of(strategies).items())
    return Days(plant.name, tuple(marches), tuple(found), sees, told)
