"""What a part, a position or a mode is worth: days under dispatch without it, against the same days with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.dispatch.march import Dispatched, run_dispatch
from heatwright.dispatch.score import Score, score
from heatwright.errors import InputError, Problem
from heatwright.modes.atlas import build_atlas
from heatwright.modes.model import Atlas
from heatwright.plant.model import Plant
from heatwright.run import Run, plain
from heatwright.simulate import Progress
from heatwright.study.draws import side_by_side
from heatwright.study.masks import Mask, longest_held, mode_masks, modes_behind, part_masks, position_masks
from heatwright.study.stops import settled_case
from heatwright.trip.load import build_case
from heatwright.trip.model import Trip


@dataclass(frozen=True)
class Row:
    """One thing left out: by how much the score of each day is then higher [%], and the vetoes that only it brings."""

    mask: Mask
    percent: tuple[float, ...]
    vetoes: tuple[tuple[str, str], ...]

    @property
    def mean_percent(self) -> float:
        """Return the mean over the days."""
        return sum(self.percent) / len(self.percent)

    def as_json(self) -> dict[str, Any]:
        """Return the row as plain JSON values."""
        return {
            "part": self.mask.part, "left_out": self.mask.says, "candidates": len(self.mask.ids),
            "mean_percent": self.mean_percent, "min_percent": min(self.percent), "max_percent": max(self.percent),
            "days": len(self.percent), "vetoes": [{"trip": trip, "veto": veto} for trip, veto in self.vetoes],
        }  # fmt: skip


@dataclass(frozen=True)
class Worth:
    """Rows by falling mean; `scores_kwh` those of the whole plant, a trip each; `idle` parts that no candidate uses,
    `kept` radiators not left out, since nearly every candidate would go with them.
    """

    plant: str
    trips: tuple[str, ...]
    scores_kwh: tuple[float, ...]
    rows: tuple[Row, ...]
    idle: tuple[str, ...]
    kept: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return everything as plain JSON values."""
        days = [{"trip": trip, "score_kwh": kwh} for trip, kwh in zip(self.trips, self.scores_kwh, strict=True)]
        rows = [row.as_json() for row in self.rows]
        out: dict[str, Any] = plain(
            {"plant": self.plant, "rows": rows, "days": days, "unused": self.idle, "kept": self.kept}
        )
        return out

    def as_text(self) -> str:
        """Return the table for a terminal."""
        from heatwright.study.worth_table import worth_as_text

        return worth_as_text(self)


@dataclass(frozen=True)
class _Day:
    """One trip with the whole plant: its time grid, its score, and the candidates ever chosen or among the best."""

    trip: str
    case: Any
    score: Score
    counted: frozenset[str]


def worth(plant: Plant, trips: Sequence[Trip], modes: bool = False, progress: Progress | None = None) -> Worth:
    """Drive every trip without each part, and without each valve or position, and with `modes` without each mode used.

    A fast charge lasts until the slowest of all variants has its charge; the wait of each ends with its own. What was
    never chosen nor among the best three on a trip (their knobs alone are turned) cannot change it and is not marched.
    """
    if not trips:
        raise InputError(
            [Problem("worth", "no trip is named", "one trip or more", "name a trip, or --days 8")], "worth"
        )
    atlas = build_atlas(plant)
    firsts = list(side_by_side(lambda trip: _march(plant, build_case(trip), atlas), trips))
    known = firsts[0].candidates
    behind = modes_behind(known)
    held: dict[tuple[str, str], float] = {}
    for one in firsts:
        for key, span in longest_held(one.why, float(one.run.t_s[-1]), plant, behind).items():
            held[key] = held.get(key, 0.0) + span
    masks, idle, kept = part_masks(plant, behind)
    masks += position_masks(plant, behind, held)
    if modes:
        masks += mode_masks(known, set().union(*(_counted(one) for one in firsts)), behind)
    columns, days = [], []
    for k, (trip, first) in enumerate(zip(trips, firsts, strict=True)):
        day = _laid(plant, trip, atlas, masks, _counted(first))
        days.append(day)
        columns.append(_without(plant, day, atlas, masks, lambda share, k=k: _tell(progress, k + share, len(trips))))
    rows = [
        Row(
            mask,
            tuple(_percent(column[j], day.score) for day, column in zip(days, columns, strict=True)),
            tuple(
                (day.trip, veto)
                for day, column in zip(days, columns, strict=True)
                for veto in column[j].vetoes
                if veto not in day.score.vetoes
            ),
        )
        for j, mask in enumerate(masks)
    ]  # fmt: skip
    rows.sort(key=lambda row: (-row.mean_percent, row.mask.part))
    kwh = tuple(day.score.score_kwh for day in days)
    return Worth(plant.name, tuple(day.trip for day in days), kwh, tuple(rows), tuple(idle), tuple(kept))


def _percent(without: Score, whole: Score) -> float:
    return 100.0 * (without.score_kwh / whole.score_kwh - 1.0)


def _tell(progress: Progress | None, done: float, total: float) -> None:
    if progress is not None:
        progress(done, total)


def _march(
    plant: Plant, case: Any, atlas: Atlas, masked: frozenset[str] = frozenset(), program: Program | None = None
) -> Dispatched:
    return run_dispatch(plant, program or compile_program(plant, case), case, atlas, masked=masked)


def _counted(one: Dispatched) -> frozenset[str]:
    """Return the ids of the candidates that were ever chosen or among the best three."""
    numbers = {*one.why.chosen.tolist(), *one.why.best.ravel().tolist()} - {-1}
    return frozenset(one.why.ids[number] for number in numbers)


def _laid(plant: Plant, trip: Trip, atlas: Atlas, masks: Sequence[Mask], counted: frozenset[str]) -> _Day:
    """Return a trip whose charges last for the slowest of all variants, driven by the whole plant."""
    sets = {frozenset(), *(mask.ids for mask in masks if mask.ids & counted)}

    def way(ids: frozenset[str]) -> Any:
        def march(plant: Plant, case: Any) -> Run:
            return _march(plant, case, atlas, ids).run

        return march

    case = settled_case([plant], trip, marches=tuple(way(ids) for ids in sets))
    whole = _march(plant, case, atlas)
    return _Day(trip.name, case, score(whole.run, case), _counted(whole))


def _without(plant: Plant, day: _Day, atlas: Atlas, masks: Sequence[Mask], tell: Any) -> list[Score]:
    """Return the score of a day without each of the masks."""
    sets = list(dict.fromkeys(mask.ids for mask in masks if mask.ids & day.counted))
    found: dict[frozenset[str], Score] = {}
    program = compile_program(plant, day.case)

    def one(ids: frozenset[str]) -> Score:
        return score(_march(plant, day.case, atlas, ids, program).run, day.case)

    for ids, own in zip(sets, side_by_side(one, sets), strict=True):
        found[ids] = own
        tell(len(found) / len(sets))
    return [found.get(mask.ids, day.score) for mask in masks]
