"""The least value found of a function within limits by looking around in even steps, which are halved where nothing is
better. No derivative is asked for, and nothing says that the place found is the best there is."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

Point = tuple[float, ...]
Value = tuple[Point, float]
BesideEachOther = Callable[[Callable[[Any], Any], Any], Iterator[Any]]


class Pattern:
    """A search with a budget of evaluations; places already seen are not paid for again."""

    def __init__(
        self, of: Callable[[Point], float], low: float, high: float, budget: int, side_by_side: BesideEachOther
    ) -> None:
        """of : must not depend on the order of calls. low, high : limits of every coordinate."""
        self._of, self._low, self._high = of, low, high
        self._left, self._side_by_side = budget, side_by_side
        self.seen: dict[Point, float] = {}

    def look(self, points: Iterable[Sequence[float]]) -> None:
        """Evaluate points side by side, as far as the budget goes."""
        new = [p for p in dict.fromkeys(self._held(p) for p in points) if p not in self.seen][: self._left]
        self._left -= len(new)
        self.seen.update(zip(new, self._side_by_side(self._of, new), strict=True))

    def walk(self, step: float, least: float) -> None:
        """Step from the best place seen to the best beside it, halving the step where none is better, down to `least`.

        A place counts as beside another with one coordinate, or all of them, a step up or down.
        """
        while step >= least and self._left > 0:
            at, value = self.best()
            size = len(at)
            moves = [tuple(s * (j == k) for j in range(size)) for k in range(size) for s in (step, -step)]
            moves += [(s,) * size for s in (step, -step)] if size > 1 else []
            self.look([a + d for a, d in zip(at, move, strict=True)] for move in moves)
            if self.best()[1] >= value:
                step *= 0.5

    def best(self) -> Value:
        """Return the best place seen, of equals the first, and its value. ValueError if none was."""
        return min(self.seen.items(), key=lambda one: one[1])

    @property
    def spent(self) -> int:
        """Return how many evaluations were made."""
        return len(self.seen)

    def _held(self, point: Sequence[float]) -> Point:
        return tuple(round(min(max(x, self._low), self._high), 9) for x in point)
