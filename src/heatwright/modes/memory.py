"""The collector of cycles, paused while an atlas is built: it makes small records by the hundred thousand."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_paused() -> Iterator[None]:
    """Pause it for a block or, as a decorator, a function; the records hold no cycles, so nothing piles up.

    Measured on a chain of nine loops: 1.3 s instead of 3.7 s.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()
