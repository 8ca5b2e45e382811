"""A line on stderr for work that takes longer than two seconds; silent where nobody watches."""

from __future__ import annotations

import os
import sys
import time
from typing import TextIO

QUIET_S = 2.0
EVERY_S = 0.1
EVERY_PIPED_S = 2.0
WIDTH = 30
FORCE = "HEATWRIGHT_PROGRESS"


class Progress:
    """Call it with the share done, or with (done, total); it draws once two seconds have passed.

    It writes only to a terminal, unless `force` or the variable HEATWRIGHT_PROGRESS=1 says otherwise; then,
    where there is no terminal, each state is a line of its own.
    """

    def __init__(self, what: str = "", *, stream: TextIO | None = None, force: bool | None = None) -> None:
        self.what = what
        self._stream = stream if stream is not None else sys.stderr
        self._terminal = self._stream.isatty()
        forced = os.environ.get(FORCE, "") not in ("", "0") if force is None else force
        self._shown = self._terminal or forced
        self._start = time.monotonic()
        self._last = float("-inf")
        self._first: tuple[float, float] | None = None
        self._drawn = False

    def __call__(self, done: float, total: float = 1.0, what: str = "") -> None:
        """Tell how much is done."""
        if what:
            self.what = what
        now = time.monotonic()
        share = min(max(done / total if total else 0.0, 0.0), 1.0)
        self._first = self._first or (now, share)
        pause = EVERY_S if self._terminal else EVERY_PIPED_S
        if not self._shown or now - self._start < QUIET_S or now - self._last < pause:
            return
        self._last = now
        self._write(f"{self.what} {bar(share)} {share * 100:3.0f} %{_left(share, now, *self._first)}")

    def say(self, sentence: str) -> None:
        """Say at once what a long wait is for."""
        if self._shown:
            self.clear()
            print(sentence, file=self._stream, flush=True)

    def clear(self) -> None:
        """Take the drawn line away, so that what follows starts on a clean one."""
        if self._drawn and self._terminal:
            self._stream.write("\r\x1b[K")
            self._stream.flush()
        self._drawn = False

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, *_: object) -> None:
        self.clear()

    def _write(self, text: str) -> None:
        self._stream.write(f"\r\x1b[K{text}" if self._terminal else text + "\n")
        self._stream.flush()
        self._drawn = True


def bar(share: float) -> str:
    """A bar of fixed width, filled to the share."""
    full = round(share * WIDTH)
    return "[" + "=" * full + " " * (WIDTH - full) + "]"


def _left(share: float, now: float, first_at: float, first_share: float) -> str:
    """Words for the time still to go, from the pace since the first call."""
    gained, spent_s = share - first_share, now - first_at
    if gained < 0.02 or spent_s < 0.5 or share >= 1.0:
        return ""
    return f", about {max(1, round(spent_s * (1 - share) / gained))} s to go"
