"""The why-record as tables for a terminal and as plain values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import zip_longest
from textwrap import wrap
from typing import Any

from heatwright.dispatch.why import TERMS, Decision, Why
from heatwright.kernel import dispatch_names as dn
from heatwright.study.table import WIDTH, Row, fitted, number

SWITCH_WIDTHS = (8, 29, 29, 28)
LIVE = {
    "heat": "cabin to be warmed",
    "cool": "cabin to be cooled",
    "dry": "glass to be kept dry",
    "pack_in_w": "pack to be warmed",
    "pack_out_w": "pack to be cooled",
    "drive": "drive unit to be cooled",
    "frost": "front exchanger to be defrosted",
}
TERM_WORDS = {
    "electric_w": "electricity",
    "cabin_w": "cabin not as wanted",
    "dry_w": "damp at the glass",
    "pack_w": "pack unmet",
    "drive_w": "drive unit unmet",
    "frost_w": "frost left",
    "soft_w": "soft limits",
    "stored_w": "less heat stored",
    "start_w": "starts",
}


def clock(t_s: float) -> str:
    """Return a time as h:mm:ss."""
    whole = round(t_s)
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def live(needs: Mapping[str, float]) -> list[str]:
    """Return the needs that are live, in words."""
    return [words for name, words in LIVE.items() if needs[name] > 0.5]


def decision_as_text(one: Decision) -> str:
    """Return one decision as text: needs, prices, the candidates with the terms of their scores, the reason."""
    needs = ", ".join(live(one.needs)) or "nothing"
    price = number(one.needs["price_pack"], 2)
    lines = [f"at {clock(one.t_s)}: needed: {needs}; heat in the pack is worth {price} J/J", ""]
    for place, line in enumerate(one.candidates, 1):
        ran = "  (ran)" if line.number == one.ran else ""
        lines += wrap(f"{place}. {line.title}{ran}", WIDTH, subsequent_indent="   ")
    grid: list[Row] = [["W", *(str(k) for k in range(1, len(one.candidates) + 1))]]
    able = [line.score_w < dn.IMPOSSIBLE_W for line in one.candidates]
    grid.append(
        ["score", *(number(x.score_w, 0) if ok else "not possible" for x, ok in zip(one.candidates, able, strict=True))]
    )
    for name in TERMS:
        grid.append(
            [
                f"  {TERM_WORDS[name]}",
                *(number(x.row[name], 0) if ok else "" for x, ok in zip(one.candidates, able, strict=True)),
            ]
        )
    speeds = (number(x.row["speed"], 0) if ok else "" for x, ok in zip(one.candidates, able, strict=True))
    grid.append(["compressor, 1/s", *speeds])
    return "\n".join([*lines, "", *fitted(grid), "", *wrap(f"why: {one.reason}", WIDTH)])


def decision_as_json(one: Decision) -> dict[str, Any]:
    """Return one decision as plain values."""
    return {
        "t_s": one.t_s,
        "needs": {**one.needs, "live": live(one.needs)},
        "candidates": [
            {
                "mode": x.title,
                "id": x.id,
                "ran": x.number == one.ran,
                "score_w": x.score_w,
                "speed_per_s": x.row["speed"],
                "terms_w": dict(x.terms_w),
            }
            for x in one.candidates
        ],
        "reason": one.reason,
    }


def switches_as_text(record: Why) -> str:
    """Return every change of mode as a table no wider than a page: when, from what, to what, and why."""
    cells = [("time", "from", "to", "why")]
    for t_s, before, after in record.changes():
        cells.append((clock(t_s), record.titles[before], record.titles[after], record.at(t_s).reason))
    lines = [line for row in cells for line in (*_wrapped(row), "")]
    switches = len(record.switches())
    slept = len(cells) - 1 - switches
    told = f"{switches} switches in {record.t_s.size} decisions, {slept} times woken or fallen asleep;\n"
    told += "--at TIME tells the needs and scores of one"
    return "\n".join([*lines, told])


def _wrapped(cells: Sequence[str]) -> list[str]:
    """Return one row of a table with long texts going on in the next line."""
    columns = [wrap(text, width) for text, width in zip(cells, SWITCH_WIDTHS, strict=True)]
    lines = zip_longest(*columns, fillvalue="")
    return ["  ".join(c.ljust(w) for c, w in zip(row, SWITCH_WIDTHS, strict=True)).rstrip() for row in lines]


def switches_as_json(record: Why) -> dict[str, Any]:
    """Return every change of mode as plain values, with the decision that made it; a switch is one of a car awake."""
    switches = {t for t, _, _ in record.switches()}
    return {
        "changes": [
            {"from": record.titles[a], "switch": t in switches, **decision_as_json(record.at(t))}
            for t, a, _ in record.changes()
        ]
    }
