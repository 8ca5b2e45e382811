"""`heatwright needs` as a user meets it."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from heatwright.cli_needs import needs_verb
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant
from heatwright.study.needs.clocks import answer_sheet
from heatwright.study.needs.sheet import load_sheet
from tools.needs_page import PAGE

SHEET = """
format = "heatwright needs 1"
name = "Short"
[need.warm]
asks = "cabin at 12 degC"
source = "mine"
trip = "short.trip.toml"
figure = "warm_up"
mark = "12 degC"
most = "{minutes} min"
[need.range]
asks = "range"
source = "mine"
trip = "short.trip.toml"
figure = "range"
least = "100 km"
[need.film]
asks = "film off"
source = "mine"
glass = "demist"
chamber = "-3 degC"
figure = "area_clear"
area = "area_a"
share = "90 %"
most = "10 min"
[capacity]
coldest = "-20 degC"
hottest = "40 degC"
step = "60 K"
"""
TRIP = """
format = "heatwright trip 1"
name = "Short"
[weather]
temperature = "-7 degC"
[[segment]]
kind = "drive"
speed = "50 km/h"
duration = "25 min"
"""


def call(*words: str) -> Result:
    return CliRunner().invoke(needs_verb, list(words))


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    (tmp_path / "short.trip.toml").write_text(TRIP)
    file = tmp_path / "short.needs.toml"
    file.write_text(SHEET.format(minutes=3))
    return file


def test_a_missed_need_is_a_result_with_its_reason(sheet: Path) -> None:
    answer = call("plain", "--trips", "--sheet", str(sheet))
    assert answer.exit_code == 0, answer.output
    assert "Plain against Short: 2 of 3 needs met" in answer.stdout
    assert "MISSED" in answer.stdout
    assert "heater at its 5.5 kW for" in answer.stdout
    assert max(map(len, answer.stdout.splitlines())) <= 100


def test_json_says_the_same(sheet: Path) -> None:
    answer = call("plain", "--trips", "--sheet", str(sheet), "--json")
    clocks = json.loads(answer.stdout)["clocks"]
    warm, far, film = clocks["needs"]
    assert (warm["passed"], far["passed"], film["passed"]) == (False, True, True)
    assert warm["margin"] == pytest.approx(180.0 - warm["found"])
    assert far["margin"] == pytest.approx(far["found"] - 100e3)
    assert clocks["passed"] == 2
    assert all(abs(one["residual_relative"]) < 1e-12 for one in clocks["marched"])


def test_a_looser_limit_is_met(sheet: Path) -> None:
    sheet.write_text(SHEET.format(minutes=60))
    assert "3 of 3 needs met" in call("plain", "--trips", "--sheet", str(sheet)).stdout


def test_bad_input_is_reported_with_its_line(sheet: Path) -> None:
    sheet.write_text(SHEET.format(minutes=3).replace('least = "100 km"', 'least = "100 kg"'))
    answer = call("no_such_plant", "--trips", "--sheet", str(sheet))
    assert answer.exit_code == 2
    assert "short.needs.toml:16" in answer.output
    assert "no_such_plant: there is no such file" in answer.output


def test_capacities_alone_with_a_picture_and_a_page(sheet: Path, tmp_path: Path) -> None:
    svg, page = tmp_path / "can.svg", tmp_path / "needs.html"
    words = ("plain", "--capacity", "--sheet", str(sheet), "--svg", str(svg), "--out", str(page))
    answer = call(*words)
    assert answer.exit_code == 0, answer.output
    assert "short at −20 °C, most at −20 °C" in answer.stdout
    assert "nothing conditions the pack" in answer.stdout
    assert "needs met" not in answer.stdout
    assert "air outside, °C" in svg.read_text(encoding="utf-8")
    told = page.read_text(encoding="utf-8")
    assert "High voltage." in told
    warmed = told.partition('id="warm_cabin"')[2].partition("<section")[0]
    assert "−20.0" in warmed
    assert "40.0" not in warmed  # nothing is asked there
    assert call(*words).exit_code == 2


def test_json_of_capacities_has_every_need_at_every_air_outside(sheet: Path) -> None:
    answer = call("plain", "--capacity", "--sheet", str(sheet), "--json")
    found = json.loads(answer.stdout)
    assert set(found) == {"plant", "capacity"}
    assert len(found["capacity"]["cells"]) == 2 * 8
    warm = next(one for one in found["capacity"]["cells"] if one["task"] == "warm_cabin")
    assert warm["amounts"][0]["side"] == "cabin"
    assert warm["met"] is False
    assert warm["share"] == pytest.approx(warm["amounts"][0]["capacity"] / warm["amounts"][0]["load"])


def test_the_page_of_shipped_plants_is_as_a_run_finds_it() -> None:
    """The column of one plant; if not: `make docs`, or python -m tools.needs_page."""
    rows = [line.strip("| ").split(" | ") for line in PAGE.read_text(encoding="utf-8").splitlines() if "|" in line]
    head, last = rows[0], rows[-1]
    assert {name.strip("`") for name in head[2:]} <= {one.name for one in list_shipped()}
    assert [row[0] for row in rows[2:-1]] == [need.asks for need in load_sheet().needs]
    clocks = answer_sheet(load_plant("plain"), load_sheet())
    column = head.index("`plain`")
    assert last[column - len(head)] == f"{clocks.passed} of {len(clocks.answers)}"
    assert all(abs(one.residual_relative or 1.0) < 1e-12 for one in clocks.marched)
    assert sum(one.not_solved_steps + one.flow_not_solved for one in clocks.marched) == 0
    missed = [row[column].startswith("**") for row in rows[2:-1]]
    assert missed == [not one.passed for one in clocks.answers]
