"""A plant's answers to a sheet for a terminal."""

from __future__ import annotations

import re
from textwrap import fill, wrap

from heatwright.study.needs.clocks import Answer, Clocks
from heatwright.study.needs.figures import FIGURES, Figure
from heatwright.study.table import WIDTH, Row, aligned, number
from heatwright.units import unit_of

NEVER = "not reached"
ASKS_WIDTH = 52
"""What the four columns of figures leave of a page's width."""
BASIS = (
    "Limits that cite a standard are the standard's; all others are targets. Tests are marches of this model, no"
    " approval: an engineering estimate, not a release for the road."
)


def shown(figure: Figure, value: float | None, difference: bool = False) -> str:
    """Return a figure with its unit; a difference of temperatures in K."""
    if value is None:
        return NEVER
    unit = unit_of(figure.unit)
    words = figure.unit.replace("degC", "K" if difference else "°C")
    scaled = value / unit.factor - (0.0 if difference else unit.offset)
    return f"{number(scaled, figure.digits, plus=difference)} {words}"


def limit_words(answer: Answer) -> str:
    """Return the limit as `at most 20 min`, or `none` where nothing at all is allowed."""
    figure = FIGURES[answer.need.figure]
    return f"{'least' if answer.need.most is None else 'most'} {shown(figure, answer.limit)}"


def clocks_as_text(clocks: Clocks) -> str:
    """Return the whole answer: a table, a sentence beneath every line, and how well the solver did."""
    head = f"{clocks.plant} against {clocks.sheet.name}: {clocks.passed} of {len(clocks.answers)} needs met"
    asks = [_asks(one.need.asks) for one in clocks.answers]
    rows: list[Row] = [["need", "limit", "found", "margin", ""]]
    for (first, *_), one in zip(asks, clocks.answers, strict=True):
        figure = FIGURES[one.need.figure]
        margin = "" if one.margin is None else shown(figure, one.margin, difference=True)
        rows.append([first, limit_words(one), shown(figure, one.found), margin, "met" if one.passed else "MISSED"])
    lines = aligned(rows, words=(4,))
    out = [head, "", lines[0]]
    for line, (_, *more), one in zip(lines[1:], asks, clocks.answers, strict=True):
        out += [line, *more, fill(one.why, WIDTH, initial_indent="    ", subsequent_indent="    ")]
    return "\n".join([*out, "", *_solver(clocks), fill(BASIS, WIDTH)])


def _asks(words: str) -> list[str]:
    """Return the need in lines; no number stands apart from its unit."""
    held = re.sub(r"(?<=[0-9]) (?=\S)", "\u00a0", words)
    return [line.replace("\u00a0", " ") for line in wrap(held, ASKS_WIDTH, subsequent_indent="  ")]


def _solver(clocks: Clocks) -> list[str]:
    """Return what the ledgers left over and how many steps were not solved, over all marches."""
    whole = [one for one in clocks.marched if not one.failed]
    worst = max((abs(one.residual_relative or 0.0) for one in whole), default=0.0)
    steps, flows = sum(one.not_solved_steps for one in whole), sum(one.flow_not_solved for one in whole)
    lost = [f"{one.test} could not be marched: {one.failed}" for one in clocks.marched if one.failed]
    said = (
        f"{len(whole)} marches; ledgers left over at most {worst:.0e} of throughput; steps with the circuit not solved"
        f" {steps}, flows not solved {flows}"
    )
    return [fill(one, WIDTH) for one in (said, *lost)]
