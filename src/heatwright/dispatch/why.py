"""The why-record: at every decision what was needed, which candidates were best, and what they would have come to."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zipfile import BadZipFile

import numpy as np

from heatwright.dispatch.switches import switched
from heatwright.errors import InputError, Problem
from heatwright.kernel import dispatch_names as dn

if TYPE_CHECKING:
    from heatwright.dispatch.candidates import Candidate

FILE = "why.npz"
TERMS = dn.ROW[dn.R_ELECTRIC : dn.R_START + 1]
TIE_W = 1.0
ROOM = 512
"""Decisions that are noted before they are put aside."""


@dataclass(frozen=True, eq=False)
class Why:
    """One row for every decision.

    t_s : when. chosen : number of the candidate that ran. best : (n, 3) numbers of the best three, lowest score first
    (-1: none). lines : (n, 4, columns of `dispatch_names.ROW`) of the best three and of the one that ran. needs :
    (n, columns of `dispatch_names.NEEDS`). titles, ids : of all candidates. by : who chose, where it
    was not dispatch; asked : numbers of what it chose, which did not run where it could not be done. aboard : (n,)
    whether people were; None where that was not kept, as of a march alone.
    """

    t_s: np.ndarray
    chosen: np.ndarray
    best: np.ndarray
    lines: np.ndarray
    needs: np.ndarray
    ids: tuple[str, ...]
    titles: tuple[str, ...]
    by: str = ""
    asked: np.ndarray | None = None
    aboard: np.ndarray | None = None

    def at(self, t_s: float) -> Decision:
        """Return the decision in force at a time."""
        k = max(int(np.searchsorted(self.t_s, t_s, side="right")) - 1, 0)
        ran = int(self.chosen[k])
        found = [self._line(k, j, int(self.best[k, j])) for j in range(dn.BEST) if self.best[k, j] >= 0]
        if all(one.number != ran for one in found):
            found.append(self._line(k, dn.BEST, ran))
        needs = dict(zip(dn.NEEDS, self.needs[k].tolist(), strict=False))
        before = int(self.chosen[k - 1]) if k else -1
        said = reason(found, ran, before, self.titles) if self.asked is None else self._told(int(self.asked[k]), ran)
        return Decision(float(self.t_s[k]), needs, tuple(found), ran, said)

    def switches(self) -> list[tuple[float, int, int]]:
        """Return (time [s], from, to) of every switch: people aboard and the car awake before and after it.

        Where nobody kept who was aboard, all changes of a car awake.
        """
        from heatwright.kernel.desk import ASLEEP

        minded = self.chosen != ASLEEP
        return self._told_of(switched(self.chosen, minded if self.aboard is None else minded & self.aboard))

    def changes(self) -> list[tuple[float, int, int]]:
        """Return (time [s], from, to) of every change of the candidate that runs, waking and falling asleep too."""
        return self._told_of(switched(self.chosen, np.ones(self.chosen.size, bool)))

    def _told_of(self, moved: np.ndarray) -> list[tuple[float, int, int]]:
        return [(float(self.t_s[k]), int(self.chosen[k - 1]), int(self.chosen[k])) for k in moved]

    def as_bytes(self) -> bytes:
        """Return the record as one compressed file, for `from_folder`."""
        packed = io.BytesIO()
        np.savez_compressed(
            packed, t_s=self.t_s, chosen=self.chosen, best=self.best, lines=self.lines, needs=self.needs,
            ids=np.array(self.ids), titles=np.array(self.titles), row=np.array(dn.ROW), named=np.array(dn.NEEDS),
            by=np.array(self.by), asked=self.chosen[:0] if self.asked is None else self.asked,
            aboard=np.zeros(0, bool) if self.aboard is None else self.aboard,
        )  # fmt: skip
        return packed.getvalue()

    def _told(self, asked: int, ran: int) -> str:
        said = f"chosen by the strategy {self.by}"
        if asked == ran:
            return said
        return f"the strategy {self.by} chose: {self.titles[asked]}, which cannot be done now"

    def _line(self, k: int, j: int, number: int) -> Line:
        row = dict(zip(dn.ROW, self.lines[k, j].tolist(), strict=True))
        return Line(number, self.ids[number], self.titles[number], row)


def from_folder(folder: Path) -> Why:
    """Read the why-record of a saved run; InputError where there is none or it is of another kind."""
    file = folder / FILE
    if not file.is_file():
        said = "no run" if not (folder / "provenance.json").is_file() else "a run without a why-record"
        hint = "heatwright run PLANT TRIP --strategy dispatch --out FOLDER writes one"
        raise InputError([Problem(str(folder), said, "the folder of a run under dispatch", hint)], "why")
    try:
        with np.load(file, allow_pickle=False) as kept:
            if kept["row"].tolist() != list(dn.ROW) or kept["named"].tolist() != list(dn.NEEDS):
                raise ValueError("written by another version")
            return Why(
                kept["t_s"], kept["chosen"], kept["best"], kept["lines"], kept["needs"],
                tuple(kept["ids"].tolist()), tuple(kept["titles"].tolist()),
                str(kept["by"]) if "by" in kept else "", _kept(kept, "asked"), _kept(kept, "aboard"),
            )  # fmt: skip
    except (OSError, ValueError, KeyError, EOFError, BadZipFile) as failure:
        raise InputError([Problem(str(file), str(failure), "a why-record", "run the plant again")], "why") from failure


def _kept(kept: Any, name: str) -> np.ndarray | None:
    """Return an array that not every record holds."""
    found = kept[name] if name in kept else np.zeros(0)
    return found if found.size else None


@dataclass(frozen=True)
class Line:
    """One candidate at one decision: its score [W], the terms of it [W], and what would come of it."""

    number: int
    id: str
    title: str
    row: Mapping[str, float]

    @property
    def score_w(self) -> float:
        """Its score [W]; what cannot be done counts as `dispatch_names.IMPOSSIBLE_W`."""
        return self.row["score_w"]

    @property
    def terms_w(self) -> Mapping[str, float]:
        """The terms that add up to the score [W]."""
        return {name: self.row[name] for name in TERMS}


@dataclass(frozen=True)
class Decision:
    """One decision: needs, the best candidates (and the one that ran), and the reason in words."""

    t_s: float
    needs: Mapping[str, float]
    candidates: tuple[Line, ...]
    ran: int
    reason: str = field(default="")


def reason(found: Sequence[Line], ran: int, before: int, titles: Sequence[str]) -> str:
    """Return in a sentence why a candidate runs."""
    mine = next(one for one in found if one.number == ran)
    others = [one for one in found if one.number != ran]
    best = found[0]
    if best.number == ran:
        if not others or others[0].score_w >= dn.IMPOSSIBLE_W:
            return "it is the only one that can be done"
        gap = others[0].score_w - mine.score_w
        if gap < TIE_W:
            return "a tie: what runs goes on"
        return f"it scores best, {gap:.0f} W better than: {others[0].title}"
    gap = mine.score_w - best.score_w
    if before == ran:
        return f"it would score {gap:.0f} W less: {best.title}; the loss so far does not pay for a switch"
    return f"it runs although it would score {gap:.0f} W less: {best.title}"


class WhyBook:
    """Gathers the record while a trip is marched: `room` is filled by the kernel, and emptied here when it is full."""

    def __init__(self, needs: int) -> None:
        from heatwright.kernel.period import Notes

        lines = np.zeros((ROOM, dn.BEST + 1, dn.N_ROW), np.float32)
        best = np.zeros((ROOM, dn.BEST), np.int32)
        self.room = Notes(np.zeros(ROOM), np.zeros(ROOM, np.uint32), best, lines, np.zeros((ROOM, needs)))
        self.at = 0
        self.kept: list[tuple[np.ndarray, ...]] = []
        self.asked: list[int] = []

    def next(self, asked: int | None = None) -> int:
        """Return the place in `room` for the next decision. asked : what another than dispatch chose."""
        if asked is not None:
            self.asked.append(asked)
        if self.at == ROOM:
            self._empty()
        self.at += 1
        return self.at - 1

    def _empty(self) -> None:
        self.kept.append(tuple(part[: self.at].copy() for part in self.room))
        self.at = 0

    def closed(self, known: Sequence[Candidate], by: str = "") -> Why:
        """Return the record. by : who chose, where it was not dispatch."""
        self._empty()
        t_s, chosen, best, lines, needs = (np.concatenate(parts) for parts in zip(*self.kept, strict=True))
        return Why(
            t_s, chosen.astype(int), best.astype(int), lines, needs,
            tuple(one.id for one in known), tuple(one.title for one in known),
            by, np.array(self.asked) if self.asked else None,
        )  # fmt: skip
