"""Pictures of a run from made-up data: nothing overprints, extremes and gaps hold, what moves can stand still."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from svg_reader import faults, texts, tree

from heatwright.dispatch.why import TERMS, Decision, Line
from heatwright.draw.bodies import bodies_picture
from heatwright.draw.decision import decision_picture
from heatwright.draw.film import FRAMES, film, instants
from heatwright.draw.margins import margins_at, margins_over_time
from heatwright.draw.mode_table import mode_table
from heatwright.draw.ribbons import heat_ribbons
from heatwright.draw.traces import Trace
from heatwright.kernel import dispatch_names as dn
from heatwright.run import Run
from heatwright.study.frames import BodyNow, Moment
from heatwright.study.heats import Heat, Heats
from heatwright.study.margins import Margin, margins
from heatwright.study.used_modes import Cell, UsedMode, UsedModes

KWH = 3.6e6


def made_heats(*joules: float) -> Heats:
    kinds = ("made", "outside", "stored")
    rows = [
        Heat(f"row_{k}", f"a row with a rather long name, number {k}", kinds[k % 3], "loops", value)
        for k, value in enumerate(joules)
    ]
    return Heats("Made up", "trip", 0.0, 3600.0, tuple(rows), 0.0)


@pytest.mark.parametrize(
    "joules",
    [(), (KWH,), (KWH, -KWH), (3 * KWH, -KWH, -KWH, -KWH), tuple(KWH * (-1) ** k / (k + 1) for k in range(30)),
     (50 * KWH, 1.0, 2.0, 3.0, -50 * KWH), tuple([0.02 * KWH] * 20 + [-0.4 * KWH])],
)  # fmt: skip
def test_ribbons_of_any_heat_are_legible(joules: tuple[float, ...]) -> None:
    assert faults(heat_ribbons(made_heats(*joules))) == []


def heights(svg: str) -> dict[float, float]:
    """Height of the end of each ribbon by its heat [kWh]."""
    space = "{http://www.w3.org/2000/svg}"
    tall = {node.find(f"{space}title").text: float(node.attrib["height"])  # type: ignore[union-attr]
            for node in tree(svg).iter(f"{space}rect") if node.find(f"{space}title") is not None}  # fmt: skip
    return {float(re.findall(r"([\d.]+) kWh", words)[0]): high for words, high in tall.items() if words}


def test_ribbons_beside_each_other_have_one_scale() -> None:
    large, small = made_heats(3 * KWH, -3 * KWH), made_heats(KWH, -KWH)
    drawn = heat_ribbons(small, most_j=large.throughput_j)
    assert faults(drawn) == []
    assert heights(drawn)[1.0] == pytest.approx(heights(heat_ribbons(large))[3.0] / 3.0, rel=0.01)


def test_ribbons_are_as_wide_as_their_heat_and_say_what_is_left_over() -> None:
    svg = heat_ribbons(made_heats(3 * KWH, -2 * KWH, -0.5 * KWH))
    by_kwh = heights(svg)
    assert by_kwh[3.0] / by_kwh[2.0] == pytest.approx(1.5, rel=0.01)
    assert by_kwh[2.0] / by_kwh[0.5] == pytest.approx(4.0, rel=0.01)
    assert any(words.startswith("left over: 1,800,000.000 J, 1.7e-01 of all heat") for words in texts(svg))


def decision(count: int, spread: float, *, impossible: bool = False) -> Decision:
    lines = []
    for k in range(count):
        row = dict.fromkeys(dn.ROW, 0.0) | {t: spread * (j + 1) * (-1) ** j for j, t in enumerate(TERMS)}
        row["score_w"] = dn.IMPOSSIBLE_W if impossible else sum(row[t] for t in TERMS)
        lines.append(Line(k, f"id{k}", "Heat lifted from here to there; and a long word or two more " * 2, row))
    needs = dict.fromkeys(dn.NEEDS, 1.0)
    return Decision(600.0, needs, tuple(lines), count - 1, "it is the only one that can be done, " * 5)


@pytest.mark.parametrize("one", [decision(4, 900.0), decision(1, 0.0), decision(2, 1.0, impossible=True)])
def test_a_decision_is_legible_and_names_the_one_that_ran(one: Decision) -> None:
    svg = decision_picture(one)
    assert faults(svg) == []
    assert texts(svg).count("ran") == 1


def test_margins_are_met_missed_or_not_asked() -> None:
    t = np.arange(0.0, 3601.0)
    values = {"met": t * 0 + 2.0, "missed": t * 0 - 3.0, "never": t * np.nan, "crosses": np.linspace(-5.0, 5.0, t.size)}
    needs = [
        Margin(key, key, f"what {key} means, told at length", "K", v, float(np.isfinite(v).sum()), float((v < 0).sum()))
        for key, v in values.items()
    ]  # fmt: skip
    svg = margins_over_time(t, needs, at_s=1800.0)
    assert faults(svg) == []
    said = texts(svg)
    assert {"always met", "never asked", "missed 60 of 60 min"} <= set(said)
    at = margins_at(t, needs, 3600.0)
    assert faults(at) == []
    assert {"+2.0 K  met", "−3.0 K  missed", "not asked", "+5.0 K  met"} <= set(texts(at))


def test_margins_follow_the_series() -> None:
    t = np.arange(4.0)
    series = {
        "wanted": np.array([0.0, 1.0, 1.0, 1.0]), "t_zone_air_k": np.array([260.0, 290.0, 294.0, 296.0]),
        "t_setpoint_k": np.full(4, 294.0), "p_pack_w": np.array([0.0, 5e3, -5e3, -5e3]),
        "p_give_limit_w": np.full(4, 9e3), "p_take_limit_w": np.array([9e3, 9e3, 6e3, 4e3]),
        "p_drive_short_w": np.array([0.0, 5e3, 0.0, 0.0]),
    }  # fmt: skip
    found = {one.key: one for one in margins(Run("p", "t", t, series))}
    assert set(found) == {"warm", "cool", "pack"}
    assert [found["warm"].at(k) for k in range(4)] == [None, -3.0, 1.0, 3.0]
    assert [found["cool"].at(k) for k in range(4)] == [None, 5.0, 1.0, -1.0]
    assert [found["pack"].at(k) for k in range(4)] == [None, -1.0, 1.0, 0.0]
    assert (found["warm"].asked_s, found["warm"].missed_s) == (3.0, 1.0)


@pytest.mark.parametrize("count", [0, 1, 7, 12])
def test_a_mode_table_of_any_width_is_legible(count: int) -> None:
    kinds = (Cell("42 % fresh, 58 % recirculate"), Cell("1,200 rpm", 0.4), Cell("off", 0.0, True))
    cells = tuple(kinds[k % 3] for k in range(count))
    modes = tuple(UsedMode(f"m{k}", f"Mode {k}: a title of some length; fresh air", 60.0 * k, cells) for k in range(15))
    svg = mode_table(UsedModes("Modes", tuple(f"actuator {k}" for k in range(count)), modes, 40.0))
    assert faults(svg) == []
    assert any(words.startswith("3 more modes") for words in texts(svg))
    assert not any(words.endswith("-") for words in texts(svg)), "no word is broken"


def moment(t_s: float, w: float) -> Moment:
    bodies = {name: BodyNow(263.0 + t_s / 60.0, w, 100.0, 50.0) for name in ("pack", "drive", "cabin")}
    return Moment(t_s, t_s, t_s + 60.0, bodies, 263.0, 1000.0, -w)


@pytest.mark.parametrize("w", [-12_000.0, 0.0, 12_000.0])
def test_bodies_of_an_instant_are_legible_and_still(w: float) -> None:
    svg = bodies_picture([moment(60.0, w)])
    assert faults(svg) == []
    assert "@keyframes" not in svg
    unknown = replace(moment(60.0, w), t_outside_k=None)
    assert "–" in texts(bodies_picture([unknown]))


def test_a_film_moves_and_stands_still_for_those_who_ask() -> None:
    t = np.arange(0.0, 3601.0)
    times = instants(t, ())
    assert len(times) == FRAMES
    assert times == sorted(times)
    svg = film([moment(s, s) for s in times], t, [Trace("a", t)], (), title="Trip")
    tree(svg)
    names = re.findall(r"animation:([\w-]+) 20s", svg)
    assert names
    assert set(names) <= set(re.findall(r"@keyframes ([\w-]+)", svg))
    assert svg.count("prefers-reduced-motion:reduce") == 2
    assert "<script" not in svg
