"""Why a strategy did worse on a drawn day: which part of the score, in which minutes, and what the why-record says."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from textwrap import fill
from typing import Any

import numpy as np

from heatwright.compiler.build import compile_program
from heatwright.dispatch.days import day
from heatwright.dispatch.march import Dispatched, run_dispatch
from heatwright.dispatch.score import Score, drawn_w, penalties_w, score
from heatwright.modes.atlas import build_atlas
from heatwright.plant.model import Plant
from heatwright.run import Run, plain
from heatwright.sensors import load_sensors
from heatwright.simulate import Progress
from heatwright.study.days import Days, Sensing
from heatwright.study.stops import settled_case
from heatwright.study.strategies import DISPATCH, Strategy, marches_of, of_day
from heatwright.study.table import WIDTH
from heatwright.study.why_text import clock, live

WINDOW_S = 600.0
WORDS = {
    "energy_kwh": "electricity",
    "regen_lost_kwh": "braking lost to cold cells",
    "discomfort_kwh": "a cabin not as wanted",
    "fog_kwh": "glass about to fog",
    "waiting_kwh": "waiting for charge",
    "ageing_kwh": "wear of warm cells",
}


@dataclass(frozen=True)
class WorseDay:
    """A day on which a strategy did worse than another: by part, and the ten minutes that cost most of the worst part.

    more_kwh : score of the one less that of the other, by part. part : the part that grew most. from_s, to_s : the
    minutes in which it grew most. mode, needs, reason : what the why-record says of the middle of them.
    """

    seed: int
    ratio: float
    more_kwh: Mapping[str, float]
    part: str
    from_s: float
    to_s: float
    mode: str
    needs: tuple[str, ...]
    reason: str

    def as_json(self) -> dict[str, Any]:
        """Return the finding as plain JSON values."""
        out: dict[str, Any] = plain(vars(self))
        return out

    def sentence(self) -> str:
        """Return the finding in a sentence or two."""
        parts = ", ".join(f"{WORDS[name]} {value:+.2f}" for name, value in self.more_kwh.items() if abs(value) >= 0.005)
        need = ", ".join(self.needs) or "nothing"
        when = f"{clock(self.from_s)} to {clock(self.to_s)}"
        return (
            f"day {self.seed}, {100.0 * (self.ratio - 1.0):+.1f} %: {parts} kWh. Most of it from {when}, "
            f"needed: {need}; ran: {self.mode}; {self.reason}"
        )


@dataclass(frozen=True)
class Explained:
    """Drawn days, and why dispatch did worse on those on which it did."""

    found: Days
    worse: tuple[WorseDay, ...]

    def as_json(self) -> dict[str, Any]:
        """Return days, summary and explanations as plain JSON values."""
        return {**self.found.as_json(), "worse": [one.as_json() for one in self.worse]}

    def as_text(self) -> str:
        """Return the days as a table for a terminal, and a paragraph for each day on which dispatch did worse."""
        told = [fill(one.sentence(), WIDTH, initial_indent="  ", subsequent_indent="  ") for one in self.worse]
        heading = "days on which dispatch did worse, and why" if told else "on no day did dispatch do worse"
        return "\n".join([self.found.as_text(), "", heading, *told])


def worse_days(
    plant: Plant,
    found: Days,
    sensing: Sensing = load_sensors,
    progress: Progress | None = None,
    strategies: Sequence[Strategy] | None = None,
) -> tuple[WorseDay, ...]:
    """Return why dispatch did worse than the first strategy on each day on which it did; none if it is not among them.

    Those days are driven again, for the why-record. sensing, strategies : as `many_days` had them; strategies may be
    left out where none is one's own. progress(done, total) counts days.
    """
    first = found.strategies[0]
    if DISPATCH not in found.strategies[1:]:
        return ()
    marches, atlas, out = marches_of(plant, strategies or found.strategies), build_atlas(plant), []
    worse = [one for one in found.days if one.ratio(DISPATCH, first) > 1.0]
    for one in worse:
        seen = sensing(one.seed)
        ways = {name: of_day(march, name, f"day {one.seed}", seen) for name, march in marches.items()}
        case = settled_case([plant], day(one.seed), marches=tuple(ways.values()))
        own = run_dispatch(plant, compile_program(plant, case, sensors=seen), case, atlas)
        other = ways[first](plant, case)
        out.append(worse_day(one.seed, own, other, (score(own.run, case), score(other, case)), case))
        if progress is not None:
            progress(len(out), len(worse))
    return tuple(out)


def more_by_part(own: Score, other: Score) -> dict[str, float]:
    """Return by how much each part of a score is more than that of another [kWh]."""
    return {name: getattr(own, name) - getattr(other, name) for name in WORDS}


def worse_day(seed: int, own: Dispatched, other: Run, scores: tuple[Score, Score], case: Any) -> WorseDay:
    """Return why a run under dispatch did worse than another of the same case; scores : of the two, in that order."""
    more = more_by_part(*scores)
    part = max(more, key=lambda name: more[name])
    rates = [drawn_w(run) if part == "energy_kwh" else penalties_w(run, case)[part] for run in (own.run, other)]
    first, last = _costliest(rates[0] - rates[1], max(round(WINDOW_S / case.dt_s), 1))
    decision = own.why.at(0.5 * (first + last) * case.dt_s)
    return WorseDay(
        seed, scores[0].score_kwh / scores[1].score_kwh, more, part, first * case.dt_s, last * case.dt_s,
        own.why.titles[decision.ran], tuple(live(decision.needs)), decision.reason,
    )  # fmt: skip


def _costliest(more_w: np.ndarray, steps: int) -> tuple[int, int]:
    """Return (first, end) of the so many steps that add up to most."""
    steps = min(steps, more_w.size)
    sums = np.concatenate(([0.0], np.cumsum(more_w)))
    first = int(np.argmax(sums[steps:] - sums[:-steps]))
    return first, first + steps
