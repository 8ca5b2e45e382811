"""Drawn days as a table for a terminal."""

from __future__ import annotations

from textwrap import shorten

from heatwright.dispatch.score import Score
from heatwright.study.days import Against, Day, Days
from heatwright.study.table import DASH, WIDTH, aligned, number

HEAD = [
    "seed",
    "strategy",
    "score, kWh",
    "ratio",
    "energy, kWh",
    "discomfort, K h",
    "charge, min",
    "switches/h",
    "vetoes",
]


_SEEN = {"sensors": "sensors", "true state": "the true state"}


def days_as_text(found: Days) -> str:
    """Return every day with a line for each strategy, and the summary."""
    rows = [HEAD]
    for one in found.days:
        rows += [_row(one, name, found.strategies[0]) for name in found.strategies]
    head, *lines = aligned(rows, words=(1,))
    of = f"{found.plant}: {len(found.days)} drawn days, score in kWh, less is better"
    blocks = [f"{of}; strategies see {_SEEN[found.sees]}", "", head]
    each = len(found.strategies)
    for k, one in enumerate(found.days):
        blocks += ["", shorten(one.trip, WIDTH, placeholder=" ..."), *lines[k * each : (k + 1) * each]]
    blocks += [
        "",
        *(f"mean score under {name}: {number(found.mean_score_kwh(name), 2)} kWh" for name in found.strategies),
    ]
    blocks += [_sentence(one) for one in found.against]
    if found.vetoes:
        blocks += ["", "what no score makes good", *(f"  day {s}, {name}: {veto}" for s, name, veto in found.vetoes)]
    return "\n".join(blocks)


def _row(one: Day, name: str, first: str) -> list[str]:
    own: Score = one.scores[name]
    ratio = DASH if name == first else number(one.ratio(name, first), 3)
    return [
        str(one.seed), name, number(own.score_kwh, 2), ratio, number(own.energy_kwh, 2), number(own.discomfort_kh, 2),
        number(own.charge_min or None, 1), number(own.switches_per_h, 1), str(len(own.vetoes)) if own.vetoes else "",
    ]  # fmt: skip


def _sentence(one: Against) -> str:
    return (
        f"{one.strategy} over {one.other}: mean ratio {number(one.mean_ratio, 3)}, better on {one.wins} of {one.days} "
        f"days,\n  best {number(one.best_ratio, 3)} (day {one.best_seed}), worst {number(one.worst_ratio, 3)} "
        f"(day {one.worst_seed})"
    )
