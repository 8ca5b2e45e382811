"""The pages stand alone, say what must be said, and hold up when half of it is missing."""

import re
from dataclasses import dataclass, replace
from html.parser import HTMLParser

import numpy as np
import pytest
from run_factory import fake_run
from svg_reader import faults

from heatwright.report import html, render
from heatwright.report.answer import answer_lines
from heatwright.report.compare_page import figures_table, render_comparison
from heatwright.report.pick import bodies, other_temperatures, pack_limits, powers
from heatwright.run import Label, Run

VOID = {"meta", "link", "br", "img", "hr", "input", "path", "rect", "circle", "stop"}
ANSWERS = ("Energy per 100 km", "Range", "Cabin to 20 °C", "Pack at the end", "Ledger left over")
SECTIONS = (
    "The question", "Plant", "Trip", "The answer in five lines", "Energy by use", "Heat", "Comfort and service",
    "Modes and why", "Refrigerant cycle", "Ledger and health", "Powers and more temperatures",
    "Inputs and their sources", "Cautions",
)  # fmt: skip


class Page(HTMLParser):
    """Checks that tags close, and gathers words and links."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.words: list[str] = []
        self.ids: list[str] = []
        self.asks: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        self.ids += [found["id"]] if found.get("id") else []
        self.asks += [value or "" for name, value in attrs if name in ("src", "href", "srcset", "data", "action")]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


@pytest.fixture(scope="module")
def report(made_up_run: Run) -> str:
    return render(made_up_run)


@pytest.fixture(scope="module")
def comparison(made_up_run: Run) -> str:
    other = fake_run("Other made-up plant", seed=4, warmer_k=3.0)
    rows = [{"plant": one.plant_name, **one.summary, **one.comfort} for one in (made_up_run, other)]
    return render_comparison(rows, [made_up_run, other], ["The first one uses less."])


@pytest.mark.parametrize("name", ["report", "comparison"])
def test_page_asks_for_nothing_outside(name: str, request: pytest.FixtureRequest) -> None:
    text = request.getfixturevalue(name)
    page = Page(text)
    assert page.open == []
    assert page.asks
    assert all(ask.startswith("#") and ask[1:] in page.ids for ask in page.asks)
    assert len(page.ids) == len(set(page.ids))
    addresses = set(re.findall(r"(?:https?:)?//[\w.]+[^\s\"'<)]*", text))
    assert addresses == {"http://www.w3.org/2000/svg"}
    assert "@import" not in text
    assert not re.search(r"url\((?!#)", text)


@pytest.mark.parametrize("name", ["report", "comparison"])
def test_every_picture_in_a_page_is_legible(name: str, request: pytest.FixtureRequest) -> None:
    pictures = re.findall(r'<svg xmlns="[^"]+" class="hw".*?</svg>', request.getfixturevalue(name), re.DOTALL)
    assert len(pictures) >= 7
    for svg in pictures:
        assert faults(svg) == []


def test_report_says_what_it_must(report: str) -> None:
    text = Page(report).text
    for words in (*ANSWERS, *SECTIONS):
        assert words in text
    for words in ("23.71", "kWh/100 km", "286.4", "11.7", "3.1 × 10⁻⁹", "0.2 J unaccounted for"):
        assert words in text
    assert "9f2c9f2c" in text
    assert "cabin leakage: 3 L/s at rest" in text
    assert "limits hit · suction pressure" in text


@pytest.mark.parametrize("name", ["report", "comparison"])
@pytest.mark.parametrize(
    "caution",
    ["High voltage", "mildly flammable", "very high pressure", "toxic", "Lithium-ion pack", "iced windscreen",
     "engineering estimate", "Nothing here is a release for the road", "Local codes", "licensed practice"],
)  # fmt: skip
def test_page_warns(name: str, caution: str, request: pytest.FixtureRequest) -> None:
    text = Page(request.getfixturevalue(name)).text
    assert caution.lower() in text.lower()


def test_report_is_light(report: str, made_up_run: Run) -> None:
    assert made_up_run.steps == 34_200
    assert len(report) < 1_200_000


def test_report_draws_every_temperature_and_power_once(report: str, made_up_run: Run) -> None:
    drawn = [name for _, name in bodies(made_up_run)]
    rest = [name for _, names in other_temperatures(made_up_run, drawn) for name in names]
    temperatures = [name for name in made_up_run.series if name.startswith("t_")]
    assert sorted(drawn + rest) == sorted(temperatures)
    road, others = powers(made_up_run)
    assert road == ["p_traction_w"]
    assert len(others) == 6


def test_names_are_escaped(short_run: Run) -> None:
    text = render(replace(short_run, plant_name="<script>x</script> & co"))
    assert "<script>" not in text
    assert "&lt;script&gt;x&lt;/script&gt; &amp; co" in text


def test_a_bare_run_still_makes_a_page() -> None:
    text = render(Run("p", "t", np.arange(3.0), {}))
    page = Page(text)
    assert page.open == []
    assert "Cautions" in page.text
    assert "nan" not in page.text.lower()


def test_a_cabin_that_never_warms_is_told(short_run: Run) -> None:
    cold = replace(short_run, comfort={"time_to_20c_s": None})
    assert answer_lines(cold)[2][1] == "not reached"
    silent = replace(short_run, comfort={})
    assert answer_lines(silent)[2][1] == "–"


def test_a_ledger_that_does_not_close_is_seen(short_run: Run) -> None:
    open_ledger = {"residual_j": 7.2e5, "residual_relative": 0.12, "terms_j": {"into": 3.6e6, "out": -2.88e6}}
    text = Page(render(replace(short_run, ledger=open_ledger))).text
    assert "+0.200 kWh" in text
    assert "0.12 of throughput" in text


def test_assumed_defaults_make_a_table(short_run: Run) -> None:
    @dataclass
    class Taken:
        owner: str
        key: str
        text: str
        source: str

    taken = [
        Taken("pack", "limit", "50 degC", "common practice"),
        {"owner": "", "key": "k", "text": "1", "source": ""},
    ]
    text = Page(render(replace(short_run, provenance={"assumed": taken}))).text
    assert "pack.limit 50 degC common practice" in text


def test_series_are_found_under_other_names() -> None:
    t = np.arange(3.0)
    names = ("t_zone_cabin_k", "t_pack_cell_1_k", "t_motor_winding_k", "t_ambient_k", "t_vent_left_k")
    run = Run("p", "t", t, dict.fromkeys(names, t + 280), {name: Label(name, "K", "x") for name in names})
    found = dict(bodies(run))
    assert found["Cabin air"] == "t_zone_cabin_k"
    assert found["Pack"] == "t_pack_cell_1_k"
    assert found["Drive unit"] == "t_motor_winding_k"
    assert found["Outside air"] == "t_ambient_k"
    assert found["Vent air"] == "t_vent_left_k"


def test_the_first_of_two_zones_is_the_cabin_of_the_pictures() -> None:
    t = np.arange(3.0)
    names = ("t_left_air_k", "t_right_air_k", "t_vent_k", "t_zone_air_k")
    run = Run("p", "t", t, dict.fromkeys(names, t + 280), {name: Label(name, "K", "x") for name in names})
    assert dict(bodies(run)) == {"Cabin air": "t_zone_air_k", "Vent air": "t_vent_k"}


def test_comparison_signs_its_differences(comparison: str) -> None:
    text = Page(comparison).text
    assert "The first one uses less." in text
    assert "−3.0 km" in text
    assert "+0.30 kWh/100 km" in text
    assert "+3.0 K" in text
    assert text.count("Other made-up plant") >= 6


def test_comparison_puts_all_plants_on_one_scale(made_up_run: Run) -> None:
    """One chart a body, with one value axis, holds a line of each plant."""
    other = fake_run("Other", seed=2, warmer_k=40.0)
    text = render_comparison([], [made_up_run, other])
    cabin = next(svg for svg in re.findall(r"<svg.*?</svg>", text, re.DOTALL) if "<title>Cabin air</title>" in svg)
    assert cabin.count("stroke-linejoin") == 2


def test_comparison_of_rows_alone() -> None:
    page = Page(render_comparison([{"plant": "a", "range_km": 300.0}, {"plant": "b", "range_km": None}], []))
    assert "300.0 km" in page.text


@pytest.mark.parametrize(("rows", "frame"), [(html.LONG, "wide"), (html.LONG + 1, "wide long")])
def test_a_long_table_of_figures_may_go_on_on_the_next_page(rows: int, frame: str) -> None:
    row = {"plant": "A", **{f"figure_{k}_kwh": 1.0 for k in range(rows)}}
    assert figures_table([row]).startswith(f'<div class="{frame}">')


def test_nested_figures_take_the_unit_of_their_table() -> None:
    values = {
        "limits_s": {"least suction pressure": 120.0},
        "wanted_spans": [{"time_to_20c_s": 600.0}, {"time_to_20c_s": None}],
        "empty": {},
        "conversions_j": {"heat:heater": 3.6e6},
    }
    assert html.flat(values) == [
        ("limits · least suction pressure", "2.0 min"),
        ("wanted spans 1 · time to 20 °C", "10.0 min"),
        ("wanted spans 2 · time to 20 °C", "–"),
        ("empty", "none"),
        ("conversions · heat heater", "1.000 kWh"),
    ]


@pytest.mark.parametrize(
    ("stamp", "shown"),
    [
        ("2031-01-14T05:40:00Z", "2031-01-14 05:40 UTC"),
        ("2031-01-14T05:40:00+00:00", "2031-01-14 05:40 UTC"),
        ("2031-01-14T05:40:00+01:00", "2031-01-14 05:40 +0100"),
        ("yesterday", "yesterday"),
        (None, ""),
    ],
)
def test_moment(stamp: object, shown: str) -> None:
    assert html.moment(stamp) == shown


def test_only_what_uses_electricity_is_an_electric_power(short_run: Run) -> None:
    """By what a series is, not by words in its name: a pump for the pack is none of the road's, a limit is no use."""
    extra = {
        "p_friction_brake_w": Label("friction brakes", "W", "heat", "drive"),
        "p_give_limit_w": Label("most the pack may give", "W", "pack", "pack"),
        "p_pack_pump_w": Label("pack pump", "W", "power", "pack_pump"),
        "second_p_compressor_w": Label("compressor, second", "W", "power", "compressor"),
        "p_pack_w": Label("pack terminals", "W", "power", "pack"),
    }
    series = {**short_run.series, **{name: np.full(len(short_run.t_s), 900.0) for name in extra}}
    run = replace(short_run, series=series, labels={**short_run.labels, **extra})
    before, after = powers(short_run), powers(run)
    assert set(after[0]) - set(before[0]) == {"p_pack_w"}
    assert set(after[1]) - set(before[1]) == {"p_pack_pump_w", "second_p_compressor_w"}
    assert pack_limits(run) == ["p_give_limit_w"]
    assert "What the pack may give and take" in render(run)
