"""`heatwright compare` and `heatwright cold` as a user meets them."""

import json
import re
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from short_trip import SHORT_TRIP

from heatwright.cli import main
from heatwright.plant.load import load_plant
from heatwright.study.compare import compare
from heatwright.study.table import WIDTH
from heatwright.trip.load import load_trip

ROW = (
    "plant trip strategy energy_kwh_per_100km range_km time_to_20c_s pack_end_c pack_heat_kwh switches_per_h"
    " residual_relative"
).split()


def call(*words: str) -> Result:
    return CliRunner().invoke(main, list(words))


@pytest.fixture
def short(tmp_path: Path) -> str:
    file = tmp_path / "short.trip.toml"
    file.write_text(SHORT_TRIP)
    return str(file)


def test_json_is_one_object_with_a_row_a_plant(short: str) -> None:
    answer = call("compare", "plain", "reversing", "--trip", short, "--json")
    assert answer.exit_code == 0, answer.output
    data = json.loads(answer.stdout)
    assert [row["plant"] for row in data["rows"]] == ["plain", "reversing"]
    assert [row["plant_title"] for row in data["rows"]] == ["Plain", "Reversing"]
    for row in data["rows"]:
        assert set(ROW) <= set(row)
        assert abs(row["residual_relative"]) < 1e-9
        assert row["not_solved_steps"] == 0
    assert data["draws"] == {**data["draws"], "count": 64, "lost": 0}
    pair = data["pairs"][0]
    assert {one["quantity"] for one in pair["differences"]} >= {"energy_kwh_per_100km", "range_km", "short_k_min"}
    assert all(one["draws"] == 64 for one in pair["differences"])


def test_both_strategies_have_a_row_a_plant(short: str, tmp_path: Path) -> None:
    page = tmp_path / "both.html"
    words = ("compare", "plain", "reversing", "--trip", short)
    both = json.loads(call(*words, "--strategy", "both", "--json").stdout)
    named = [(row["plant"], row["strategy"]) for row in both["rows"]]
    assert named == [(p, s) for p in ("plain", "reversing") for s in ("table", "dispatch")]
    assert all(set(ROW) <= set(row) and abs(row["residual_relative"]) < 1e-9 for row in both["rows"])
    table = json.loads(call(*words, "--json").stdout)
    assert both["rows"][0::2] == table["rows"]
    assert both["pairs"] == table["pairs"]
    alone = call(*words, "--strategy", "dispatch", "--json", "--out", str(page))
    alone = json.loads(alone.stdout)
    assert alone["rows"] == both["rows"][1::2]
    assert alone["pairs"] == []
    every = tmp_path / "every.html"
    text = call(*words, "--strategy", "both", "--out", str(every)).stdout
    assert "<dt>Runs</dt><dd>4</dd>" in every.read_text()
    assert "<dt>Plants</dt><dd>2</dd>" in page.read_text()
    assert "every verdict are of the decision tables" in text
    assert len(re.findall(r"^(?:Plain|Reversing) +(?:table|dispatch) ", text, re.M)) == 4
    assert max(len(line) for line in text.splitlines()) <= 100
    assert "What holds" not in page.read_text()


def test_a_plant_without_control_is_named_as_such(short: str, tmp_path: Path) -> None:
    """It uses little because it does nothing: a reader must not take that for a saving."""
    idle = tmp_path / "idle.plant.toml"
    idle.write_text('format = "heatwright plant 1"\nname = "Idle"\nextends = "plain.plant.toml"\ncontrol = false\n')
    answer = call("compare", "plain", str(idle), "--trip", short)
    assert answer.exit_code == 0, answer.output
    assert "Idle has no control table: nothing in it was switched on." in answer.stdout
    assert "Plain has no control table" not in answer.stdout
    alone = call("run", str(idle), short)
    assert "the plant has no control table: nothing was switched on" in alone.stdout


def test_four_plants_fit_a_page_with_every_number(short: str) -> None:
    """Their names alone are too wide: the table goes on below, and the long names of a pair at equal service too."""
    plants = [load_plant(name) for name in ("joined", "plate_in_pack", "reversing_two_coils", "secondary")]
    found = compare(plants, load_trip(short))
    text = found.as_text()
    assert max(map(len, text.splitlines())) <= WIDTH
    figures, solver, _ = text.partition("\nsolver")
    assert solver
    assert figures.count("\nservice ") == 2
    shown = [cell for line in figures.splitlines() if "range, km" in line for cell in line.split()[2:]]
    assert shown == [f"{row['range_km']:.0f}" for row in found.rows]


def test_text_and_page(short: str, tmp_path: Path) -> None:
    page = tmp_path / "compare.html"
    answer = call("compare", "plain", "reversing", "--trip", short, "--out", str(page))
    assert answer.exit_code == 0, answer.output
    assert "verdicts" in answer.stdout
    assert answer.stdout.rstrip().endswith(f"written to {page}")
    text = page.read_text()
    assert "What holds" in text
    assert not re.search(r"(?:src|href)=\"https?:", text)
    again = call("compare", "plain", "reversing", "--trip", short, "--out", str(page))
    assert again.exit_code == 2


def test_two_comparisons_are_the_same(short: str) -> None:
    """Whatever runs beside it: the draws are fixed and each march is alone with its numbers."""
    first, second = (json.loads(call("compare", "plain", "reversing", "--trip", short, "--json").stdout) for _ in "ab")
    assert first == second


def test_cold_verb(tmp_path: Path) -> None:
    page = tmp_path / "cold.html"
    answer = call("cold", "plain", "--out", str(page))
    assert answer.exit_code == 0, answer.output
    assert "coolant film, W/K" in answer.stdout
    assert page.read_text().count("<svg") >= 3
    data = json.loads(call("cold", "plain", "--json").stdout)
    assert data["temperatures_c"][0] == 40.0
    assert call("cold", "plain", "--out", str(page)).exit_code == 2


@pytest.mark.slow
def test_the_shipped_pair_on_the_shipped_trip() -> None:
    """The plant that can lift heat takes less, and says so whatever is drawn of the five unknowns."""
    answer = call("compare", "plain", "reversing", "--trip", "winter_day", "--json")
    assert answer.exit_code == 0, answer.output
    data = json.loads(answer.stdout)
    pair = data["pairs"][0]
    energy = next(one for one in pair["differences"] if one["quantity"] == "energy_kwh_per_100km")
    assert energy["difference"] < -2.0
    assert energy["verdict"] == "holds"
    assert pair["equal"] is None or pair["equal"]["gap"] <= 0.05
    assert "numba" in sys.modules
