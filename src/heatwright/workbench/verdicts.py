"""Verdicts on the runs of the bench: whether a difference holds against the spread of what is not known well.

Marching the draws takes a while, so it is a job of the queue. What it finds is one file beside the runs made at the
bench, written whole or not at all, and told only of the runs whose plant and trip it was found for.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from heatwright.errors import InputError, Problem
from heatwright.plant.load import load_plant
from heatwright.run import plain, write_file
from heatwright.workbench.study import MADE, Kept, Study

if TYPE_CHECKING:
    from heatwright.study.verdict import Difference

NAME = "verdict_{}.json"
FORMAT = "heatwright bench verdict 1"
MOST = 4
HEAD = ("figure", "first", "second", "difference", "nine in ten from", "verdict")
TWICE = "Verdicts need two to four runs; {} shown."
Progress = Callable[[float, float], Any]


@dataclass(frozen=True)
class Against:
    """A run set against the first: the sentence that says which is better, and every difference as texts."""

    names: tuple[str, str]
    better: str
    rows: tuple[tuple[str, ...], ...]
    equal: str = ""


@dataclass(frozen=True)
class Verdicts:
    """What the draws say of some runs; `sentences` are those of the printed comparison."""

    against: tuple[Against, ...]
    sentences: tuple[str, ...]
    draws: int

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return asdict(self)


def why_not(study: Study, runs: Sequence[Kept]) -> str:
    """Why no verdict can be asked of these runs; "" where it can."""
    if not 2 <= len(runs) <= MOST:
        return TWICE.format("one is" if len(runs) == 1 else f"{len(runs)} are")
    if len({(one.trip, tuple(sorted(one.trip_changes.items()))) for one in runs}) > 1:
        return "Verdicts are asked of runs on one trip; these went on several."
    for one in runs:
        if one.run.provenance.get("strategy"):
            return f"Verdicts are asked of decision tables alone; {one.name} was driven by something else."
        if not one.plant or not one.trip:
            return f"The plant or trip of {one.name} is not among those of this study."
    return _stale(study, runs)


def _stale(study: Study, runs: Sequence[Kept]) -> str:
    """Whether a file has changed since its run was made: then the draws would tell of another plant."""
    from heatwright.trip.load import load_trip

    try:
        trip = load_trip(study.trip_source(runs[0].trip), dict(runs[0].trip_changes))
        for one in runs:
            plant = load_plant(study.plant_source(one.plant), dict(one.changes))
            told = one.run.provenance
            if told.get("plant_digest") != plant.digest or told.get("trip_digest") != trip.digest:
                return f"The plant or trip file of {one.name} has changed since it ran; run it again."
    except InputError as failure:
        return f"A plant or trip file has mistakes: {failure.problems[0].found}."
    return ""


def ask(study: Study, runs: Sequence[Kept]) -> dict[str, Any]:
    """What a process must know to judge these runs; InputError where it cannot be asked."""
    reason = why_not(study, runs)
    if reason:
        raise InputError([Problem("verdicts", reason.rstrip("."))], "bench")
    cars = [{"name": name, "source": study.plant_source(one.plant), "changes": dict(one.changes)}
            for name, one in zip(told_apart([one.name for one in runs]), runs, strict=True)]  # fmt: skip
    trip = {"source": study.trip_source(runs[0].trip), "changes": dict(runs[0].trip_changes)}
    return {"cars": cars, "way": trip, "marks": [_mark(one) for one in runs]}


def judge(order: Mapping[str, Any], progress: Progress) -> None:
    """March the draws of an order and write what they say; for a process of its own."""
    from heatwright.study.better import better_sentence
    from heatwright.study.compare import compare
    from heatwright.trip.load import load_trip

    cars = [replace(load_plant(one["source"], one["changes"]), name=one["name"]) for one in order["cars"]]
    trip = load_trip(order["way"]["source"], order["way"]["changes"])
    found = compare(cars, trip, progress)
    against = []
    for pair in found.pairs:
        rows = tuple(_row(one) for one in pair.differences if _speaks(one))
        equal = f"{pair.equal.changed}: {pair.equal.how}" if pair.equal and pair.equal.reached else ""
        against.append(Against(pair.plants, better_sentence(pair), rows, equal))
    told = Verdicts(tuple(against), found.verdicts, found.draws)
    text = json.dumps({"format": FORMAT, "marks": order["marks"], "verdicts": plain(told.as_json())}, indent=1)
    write_file(order["folder"], text)


def kept(study: Study, runs: Sequence[Kept]) -> Verdicts | None:
    """The verdicts found for these runs in this order; None where none are, or what lies there cannot be read."""
    marks = [_mark(one) for one in runs]
    for file in sorted((study.folder / MADE).glob(NAME.format("*"))):
        found = _read(file)
        if found is not None and found[0] == marks:
            return found[1]
    return None


def free_place(study: Study) -> Path:
    """A file that is not there yet."""
    return next(p for k in range(1, 100000) if not (p := study.folder / MADE / NAME.format(k)).exists())


def _read(file: Path) -> tuple[Any, Verdicts] | None:
    try:
        told = json.loads(file.read_text(encoding="utf-8"))
        said = told["verdicts"]
        against = tuple(Against(tuple(one["names"]), str(one["better"]), _texts(one["rows"]), str(one["equal"]))
                        for one in said["against"])  # fmt: skip
        return told["marks"], Verdicts(against, tuple(map(str, said["sentences"])), int(said["draws"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _texts(rows: Any) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(str(cell) for cell in row) for row in rows)


def _mark(one: Kept) -> list[str]:
    """What tells a run and what went into it."""
    told = one.run.provenance
    return [one.place, str(told.get("plant_digest")), str(told.get("trip_digest"))]


def told_apart(names: Sequence[str]) -> list[str]:
    """Names with a number behind each that is called as an earlier one."""
    return [name if names[:k].count(name) == 0 else f"{name} ({names[:k].count(name) + 1})"
            for k, name in enumerate(names)]  # fmt: skip


def _speaks(one: Difference) -> bool:
    return not one.quantity.startswith("use:") or max(abs(one.first or 0.0), abs(one.second or 0.0)) >= 0.005


def _row(one: Difference) -> tuple[str, ...]:
    from heatwright.study.table import number, shown_change, shown_value, shown_verdict
    from heatwright.study.verdict import quantity_of

    how = quantity_of(one.quantity)
    spread = ""
    if one.low is not None and one.high is not None and one.low != one.high:
        spread = " to ".join(number(end * how.factor, how.digits, plus=True) for end in (one.low, one.high))
    ends = shown_value(how, one.first), shown_value(how, one.second)
    return (f"{how.words}, {how.unit}", *ends, shown_change(how, one), spread, shown_verdict(one))
