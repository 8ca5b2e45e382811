"""The mode strip: one row a mode, dark where it was in force, with the time spent in each."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from heatwright.draw.axes import LegSpan, span_words
from heatwright.draw.frame import LEFT, RIGHT, WIDTH, Frame
from heatwright.draw.palette import ink
from heatwright.draw.svg import LINE_PX, box, line, picture, text, wrapped

NAME_X = RIGHT + 10.0
NAME_WIDTH = WIDTH - NAME_X - 4.0
MOST_ROWS = 14


def time_in_modes(t_s: np.ndarray, mode: np.ndarray, names: Sequence[str]) -> list[tuple[int, str, float]]:
    """(index, name, seconds) of each mode used, in the order of first use; the last edge spans no time."""
    held = np.asarray(mode[:-1]).astype(np.int64)
    spans = np.diff(t_s)
    used, first = np.unique(held, return_index=True)
    order = used[np.argsort(first)]
    return [(int(k), mode_name(names, int(k)), float(spans[held == k].sum())) for k in order]


def mode_name(names: Sequence[str], index: int) -> str:
    """Name of a mode; its number where the run gave no name."""
    return names[index] if 0 <= index < len(names) else f"mode {index}"


def mode_strip(
    t_s: np.ndarray,
    mode: np.ndarray,
    names: Sequence[str],
    *,
    title: str = "Rules in force",
    legs: Sequence[LegSpan] = (),
    squeeze: bool = True,
) -> str:
    """SVG with a row for each mode used; the shortest share one row where there are too many."""
    rows = _rows(time_in_modes(t_s, mode, names))
    texts = [wrapped(f"{name}  {span_words(held)}", NAME_WIDTH) for _, name, held in rows]
    heights = [max(20.0, len(lines) * LINE_PX + 6) for lines in texts]
    frame = Frame.over(t_s, legs, sum(heights), squeeze=squeeze)
    body = [frame.backdrop(title)]
    top = frame.top
    for (members, name, held), lines, height in zip(rows, texts, heights, strict=True):
        body.append(line(LEFT, top + height, WIDTH - 4, top + height, ink("rule"), width=0.8))
        tip = f"{name}, {span_words(held)}"
        for x0, x1 in _blocks(frame, t_s, np.isin(mode, list(members))):
            body.append(box(x0, top + 3, x1 - x0, height - 6, ink("accent"), tip=tip))
        first = top + height / 2 - (len(lines) - 1) * LINE_PX / 2 + 4.3
        for k, words in enumerate(lines):
            body.append(text(NAME_X, first + k * LINE_PX, words))
        top += height
    note = "; ".join(f"{name} {span_words(held)}" for _, name, held in rows)
    return picture(WIDTH, frame.height, "".join(body), title, note)


def _rows(used: list[tuple[int, str, float]]) -> list[tuple[frozenset[int], str, float]]:
    if len(used) <= MOST_ROWS:
        return [(frozenset([k]), name, held) for k, name, held in used]
    longest = {k for k, _, _ in sorted(used, key=lambda row: -row[2])[: MOST_ROWS - 1]}
    rows = [(frozenset([k]), name, held) for k, name, held in used if k in longest]
    rest = [row for row in used if row[0] not in longest]
    held = sum(row[2] for row in rest)
    return [*rows, (frozenset(row[0] for row in rest), f"{len(rest)} other modes", held)]


def _blocks(frame: Frame, t_s: np.ndarray, on: np.ndarray) -> list[tuple[float, float]]:
    """Pixel spans in which the mode held; spans that the eye cannot part are joined, each at least 1 px."""
    held = np.concatenate([[False], on[:-1], [False]]).astype(np.int8)
    change = np.diff(held)
    starts = frame.time.at(t_s[np.flatnonzero(change == 1)])
    ends = frame.time.at(t_s[np.flatnonzero(change == -1)])
    blocks: list[tuple[float, float]] = []
    for x0, x1 in zip(starts.tolist(), ends.tolist(), strict=True):
        x1 = max(x1, x0 + 1.0)
        if blocks and x0 - blocks[-1][1] < 0.7:
            blocks[-1] = (blocks[-1][0], max(x1, blocks[-1][1]))
        else:
            blocks.append((x0, x1))
    return blocks
