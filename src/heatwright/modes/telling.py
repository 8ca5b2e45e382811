"""Tells how far a long search is."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from typing import TypeVar

Tell = Callable[[float], object]
Item = TypeVar("Item")


def told(items: Collection[Item], tell: Tell | None, first: float = 0.0, last: float = 1.0) -> Iterator[Item]:
    """The items one by one; before each `tell` is called with the share done, from `first` to `last`.

    >>> [item for item in told("ab", print, 0.5)]
    0.5
    0.75
    ['a', 'b']
    """
    for number, item in enumerate(items):
        if tell is not None:
            tell(first + (last - first) * number / len(items))
        yield item
