"""Every picture is well-formed, light, and legible: no words overprint each other or leave the frame."""

import re

import numpy as np
import pytest
from svg_reader import faults, path_numbers, size, texts, tree

from heatwright.draw.bars import stacked_bars, use_bars
from heatwright.draw.ladder import thermometer_ladder
from heatwright.draw.ledger import in_order, ledger_stair
from heatwright.draw.strip import MOST_ROWS, mode_strip, time_in_modes
from heatwright.draw.traces import Trace, line_chart
from heatwright.run import Run, Span

LONG = "Coolant after the second heat exchanger on the way to the pack"


def temperatures(run: Run, count: int) -> list[Trace]:
    names = [name for name in run.series if name.startswith("t_")][:count]
    return [Trace(run.label(name).text, run.series[name] - 273.15) for name in names]


@pytest.mark.parametrize("count", [1, 5, 12])
def test_line_chart_is_legible(made_up_run: Run, count: int) -> None:
    svg = line_chart(made_up_run.t_s, temperatures(made_up_run, count), title="T", unit="°C", legs=made_up_run.segments)
    assert faults(svg) == []
    for trace in temperatures(made_up_run, count):
        assert all(word in " ".join(texts(svg)) for word in trace.name.split())


def test_line_chart_with_long_names_and_equal_ends(made_up_run: Run) -> None:
    t = made_up_run.t_s
    lines = [Trace(f"{LONG} {k}", np.full(len(t), 20.0)) for k in range(8)]
    svg = line_chart(t, lines, title="T", unit="°C", legs=made_up_run.segments, height=80)
    assert faults(svg) == []
    assert size(svg)[1] > 8 * 3 * 15


def test_line_chart_of_a_long_run_is_light(made_up_run: Run) -> None:
    noise = Trace("noise", np.random.default_rng(3).normal(0, 1, len(made_up_run.t_s)))
    svg = line_chart(made_up_run.t_s, [noise], title="T", unit="kW", legs=made_up_run.segments)
    assert len(svg) < 45_000


def test_line_chart_stays_within_its_frame(made_up_run: Run) -> None:
    svg = line_chart(made_up_run.t_s, temperatures(made_up_run, 5), title="T", unit="°C", legs=made_up_run.segments)
    width, height = size(svg)
    assert max(path_numbers(svg)) <= max(width, height)


def test_line_chart_survives_gaps_and_no_legs() -> None:
    t = np.arange(10.0) * 60
    values = np.where(t < 200, np.nan, t)
    svg = line_chart(t, [Trace("part", values), Trace("none", np.full(10, np.nan))], title="T", unit="W")
    assert faults(svg) == []
    assert "nan" not in svg.lower()


def test_line_chart_tells_of_shortened_stops(made_up_run: Run) -> None:
    one = temperatures(made_up_run, 1)
    short = line_chart(made_up_run.t_s, one, title="T", unit="°C", legs=made_up_run.segments)
    whole = line_chart(made_up_run.t_s, one, title="T", unit="°C", legs=made_up_run.segments, squeeze=False)
    assert "hatched stops are drawn shorter" in short
    assert "hatched stops are drawn shorter" not in whole


def test_every_leg_is_numbered(made_up_run: Run) -> None:
    svg = line_chart(made_up_run.t_s, temperatures(made_up_run, 1), title="T", unit="°C", legs=made_up_run.segments)
    numbered = {text.split()[0] for text in texts(svg)}
    assert {str(k) for k in range(1, 8)} <= numbered
    tips = [node.text or "" for node in tree(svg).iter("{http://www.w3.org/2000/svg}title")]
    assert any("Fast charge (charge), 25 min" in tip for tip in tips)


def test_time_in_modes_adds_up(made_up_run: Run) -> None:
    held = time_in_modes(made_up_run.t_s, made_up_run.series["mode"], made_up_run.mode_names)
    assert sum(seconds for _, _, seconds in held) == pytest.approx(34_200)
    assert held[0][1] == "all off"


def test_time_in_modes_by_hand() -> None:
    t = np.array([0.0, 10.0, 20.0, 50.0])
    assert time_in_modes(t, np.array([2, 0, 2, 1]), ("a", "b")) == [(2, "mode 2", 40.0), (0, "a", 10.0)]


def test_mode_strip_is_legible_and_names_every_mode(made_up_run: Run) -> None:
    svg = mode_strip(made_up_run.t_s, made_up_run.series["mode"], made_up_run.mode_names, legs=made_up_run.segments)
    assert faults(svg) == []
    shown = " ".join(texts(svg))
    for index in np.unique(made_up_run.series["mode"]):
        assert all(word in shown for word in made_up_run.mode_names[index].split())
    assert len(svg) < 60_000


def test_mode_strip_gathers_too_many_modes() -> None:
    t = np.arange(4001.0)
    mode = np.arange(4001) // 100
    svg = mode_strip(t, mode, tuple(f"mode named {k}" for k in range(41)))
    assert faults(svg) == []
    assert f"{40 - MOST_ROWS + 1} other modes" in " ".join(texts(svg))


def test_mode_strip_keeps_a_single_step_in_sight() -> None:
    t = np.arange(34_201.0)
    mode = np.zeros(34_201, dtype=int)
    mode[17_000] = 1
    svg = mode_strip(t, mode, ("off", "blink"))
    blink = [
        rect for rect in tree(svg).iter("{http://www.w3.org/2000/svg}rect") if "blink, 1 s" in (rect[0].text or "")
    ]
    assert len(blink) == 1
    assert float(blink[0].attrib["width"]) >= 1.0


@pytest.mark.parametrize("columns", [1, 2, 4])
def test_use_bars_label_every_use_in_kwh(made_up_run: Run, columns: int) -> None:
    runs = [(f"Plant number {k}", made_up_run.energy_kwh) for k in range(columns)]
    svg = use_bars(runs)
    assert faults(svg) == []
    for value in made_up_run.energy_kwh.values():
        assert texts(svg).count(f"{value:.2f} kWh") == columns


def test_use_bars_beside_each_other_have_one_scale() -> None:
    alone, beside = use_bars([("a", {"fan": 2.0})]), use_bars([("a", {"fan": 2.0})], beside=[{"heater": 8.0}])
    width = [max(float(one.attrib["width"]) for one in tree(svg).iter("{http://www.w3.org/2000/svg}rect") if len(one))
             for svg in (alone, beside)]  # fmt: skip
    assert width[1] == pytest.approx(width[0] / 4.0, rel=0.01)


def test_use_bars_draw_lengths_to_one_scale_from_zero() -> None:
    svg = use_bars([("a", {"traction": 8.0, "fan": 2.0, "recovered": -1.0})])
    assert faults(svg) == []
    wide = {
        (rect[0].text or "").split(",")[1].split(":")[0].strip(): float(rect.attrib["width"])
        for rect in tree(svg).iter("{http://www.w3.org/2000/svg}rect")
        if len(rect)
    }
    assert wide["traction"] / wide["fan"] == pytest.approx(4.0, rel=0.01)
    assert wide["fan"] / wide["recovered"] == pytest.approx(2.0, rel=0.01)
    assert "−1.00 kWh" in texts(svg)


def test_uses_of_one_colour_are_told_apart_by_strokes() -> None:
    alone = stacked_bars([("a", {"heater": 4.0, "compressor": 1.0})])
    two = stacked_bars([("a", {"heater": 4.0, "pack_heater": 1.0})])
    three = stacked_bars([("a", {"drive_pump": 4.0, "core_pump": 1.0, "pack_pump": 2.0})])
    strokes = [svg.count("l4 -4") for svg in (alone, two, three)]
    assert strokes[0] == 0 < strokes[1] < strokes[2]
    assert faults(three) == []


def test_stacked_bars_name_every_use_and_the_total(made_up_run: Run) -> None:
    svg = stacked_bars([("Plain", made_up_run.energy_kwh), ("A plant with a very long name", made_up_run.energy_kwh)])
    assert faults(svg) == []
    assert texts(svg).count(f"{sum(made_up_run.energy_kwh.values()):.2f} kWh") == 2
    assert {"traction", "compressor", "coolant heater", "fan"} <= set(texts(svg))


def test_bars_of_nothing_are_drawn() -> None:
    assert faults(use_bars([("a", {})])) == []
    assert faults(stacked_bars([("a", {"traction": 0.0})])) == []


def test_ledger_stair_is_legible_and_closes(made_up_run: Run) -> None:
    svg = ledger_stair(made_up_run.ledger["terms_j"])
    assert faults(svg) == []
    words = texts(svg)
    assert words[-1] == "0.000 kWh"
    assert words[-2] == "left over"


def test_ledger_stair_shows_what_does_not_close() -> None:
    svg = ledger_stair({"into": 3.6e6, "out": -2.9e6})
    assert texts(svg)[-1] == "+0.194 kWh"


def test_ledger_terms_stand_ins_first() -> None:
    assert [name for name, _ in in_order({"a": -1.0, "b": 2.0, "c": -3.0, "d": 5.0})] == ["d", "b", "c", "a"]


@pytest.mark.parametrize("level", [263.15, 200.0, 500.0])
def test_ladder_is_legible_with_marks_on_top_of_each_other(level: float) -> None:
    marks = [(name, level, level + k) for k, name in enumerate(("Cabin air", "Pack", "Drive unit", "Outside air"))]
    svg = thermometer_ladder(marks)
    assert faults(svg) == []


def test_no_picture_asks_for_anything_outside(made_up_run: Run) -> None:
    svg = line_chart(made_up_run.t_s, temperatures(made_up_run, 3), title="T", unit="°C")
    outside = re.findall(r"(?:https?:)?//[^\s\"')<]+", svg)
    assert set(outside) == {"http://www.w3.org/2000/svg"}


def test_one_leg_only() -> None:
    t = np.arange(7201.0)
    legs = (Span("Parked in the sun all day", "park", 0, 7200),)
    svg = line_chart(t, [Trace("Cabin", t / 100)], title="T", unit="°C", legs=legs)
    assert faults(svg) == []
    assert "hatched" not in svg


def test_ledger_gathers_what_is_too_small_to_see() -> None:
    svg = ledger_stair({"into": 3.6e6, "out": -3.6e6 + 700.0, "a": -500.0, "b": -200.0})
    assert "2 terms under 0.5 Wh" in texts(svg)
    assert texts(svg)[-1] == "0.000 kWh"


def test_a_use_that_a_plant_does_not_have_is_a_dash() -> None:
    svg = use_bars([("a", {"traction": 5.0, "air_heater": 1.0}), ("b", {"traction": 5.0})])
    assert texts(svg).count("–") == 1
    assert "0.00 kWh" not in texts(svg)
