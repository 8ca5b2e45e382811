"""`heatwright worth` and `heatwright foresee` as a user meets them."""

import json
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from heatwright.cli_foresee import foresee_verb
from heatwright.cli_worth import worth_verb
from heatwright.compiler.build import compile_program
from heatwright.dispatch.march import run_dispatch
from heatwright.dispatch.score import score
from heatwright.plant.load import load_plant
from heatwright.study.worth import worth
from heatwright.trip.load import build_case, load_trip
from tests.unit.short_trip import SHORT_TRIP


@pytest.fixture(scope="module")
def trip(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("trips") / "short.trip.toml"
    path.write_text(SHORT_TRIP, encoding="utf-8")
    return str(path)


def call(verb, *words: str) -> Result:
    return CliRunner().invoke(verb, list(words))


def test_each_row_is_the_ratio_of_two_runs(trip: str) -> None:
    answer = call(worth_verb, "plain", trip, "--modes", "--json")
    assert answer.exit_code == 0, answer.output
    rows = {row["part"]: row for row in json.loads(answer.stdout)["rows"]}
    plant, case = load_plant("plain"), build_case(load_trip(trip))
    program = compile_program(plant, case)
    whole = score(run_dispatch(plant, program, case).run, case).score_kwh
    for part in ("heater", "compressor"):
        own = score(run_dispatch(plant, program, case, masked=[part]).run, case).score_kwh
        assert rows[part]["mean_percent"] == pytest.approx(100.0 * (own / whole - 1.0), abs=1e-9)
        assert rows[part]["min_percent"] == rows[part]["max_percent"] == rows[part]["mean_percent"]
    assert rows["heater"]["mean_percent"] > 20.0
    assert rows["core"]["mean_percent"] == rows["heater"]["mean_percent"]
    assert any(row["left_out"] == "mode" for row in rows.values())


def test_leaving_out_what_was_never_best_changes_nothing(trip: str) -> None:
    """Rows of 0 % are not marched by the verb: here they are."""
    found = worth(load_plant("secondary"), [load_trip(trip)], modes=True)
    plant, case = load_plant("secondary"), build_case(load_trip(trip))
    program = compile_program(plant, case)
    whole = score(run_dispatch(plant, program, case).run, case).score_kwh
    idle = {row.mask.ids for row in found.rows if row.mean_percent == 0.0}
    assert len(idle) >= 2
    for ids in idle:
        assert score(run_dispatch(plant, program, case, masked=ids).run, case).score_kwh == whole


def test_worth_needs_a_day_and_knows_its_trips() -> None:
    assert "no trip is named" in call(worth_verb, "plain").output
    assert call(worth_verb, "plain", "no_such_trip").exit_code == 2
    assert call(worth_verb, "no_such_plant", "winter_day").exit_code == 2


@cache
def foreseen() -> str:
    answer = call(foresee_verb, "plain", "charge_cold", "--evaluations", "12", "--grid", "5", "3", "3", "--json")
    assert answer.exit_code == 0, answer.output
    return answer.stdout


def test_foresight_has_a_score_a_best_found_and_wrong_forecasts() -> None:
    found = json.loads(foreseen())
    assert 0.0 < found["best_found_kwh"] <= found["score_kwh"]
    assert found["best_found_kwh"] == min(found["score_kwh"], *(one["score_kwh"] for one in found["forms"]))
    assert sum(one["evaluations"] for one in found["forms"]) <= 12
    what = {one["what"] for one in found["wrong_forecast"]}
    assert {"charge not forecast", "charge cancelled at the station"} <= what
    assert len(what) == 10


def test_the_dynamic_programme_stands_beside_the_dispatch_on_its_model() -> None:
    found = json.loads(foreseen())
    reduced = found["reduced"]
    assert found["reduced_dp_kwh"] == reduced["dp_kwh"] > 0.0
    assert found["reduced_dp"].endswith("not a proven optimum of the plant")
    gap = 100.0 * (reduced["dispatch_kwh"] / reduced["dp_kwh"] - 1.0)
    assert reduced["gap_percent"] == pytest.approx(gap)
    forms = {one["form"]: one for one in reduced["forms"]}
    assert list(forms) == ["derived", "constant", "path", "local"]
    assert forms["derived"]["gap_percent"] == pytest.approx(gap)
    assert set(forms["constant"]["levels"]) == {"pack", "drive", "cabin"}
    assert 1 < forms["constant"]["marches"] <= 60
    for one in forms.values():
        own = 100.0 * (one["same_terms_kwh"] / reduced["dp_kwh"] - 1.0)
        assert one["same_terms_gap_percent"] == pytest.approx(own)
    path = reduced["dp_prices"]
    assert set(path[0]) == {"t_s", "pack", "drive", "cabin"}
    assert all(a["t_s"] < b["t_s"] for a, b in pairwise(path))


def test_a_trip_without_a_charge_has_no_forecast_to_be_wrong(trip: str, tmp_path: Path) -> None:
    svg = tmp_path / "paths.svg"
    answer = call(foresee_verb, "plain", trip, "--evaluations", "12", "--no-reference", "--out", str(svg))
    assert answer.exit_code == 0, answer.output
    assert "so there is no wrong one" in " ".join(answer.stdout.split())
    assert max(map(len, answer.stdout.splitlines()[:-1])) <= 100
    assert "dynamic programme: –; left out" in answer.stdout
    assert svg.read_text(encoding="utf-8").count("<polyline") == 3
    assert call(foresee_verb, "plain", trip, "--out", str(svg)).exit_code == 2
    assert call(foresee_verb, "plain", trip, "--evaluations", "3").exit_code == 2
