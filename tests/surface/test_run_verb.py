"""`heatwright run` with the real march: what it prints, what it writes, what it refuses."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

from heatwright.cli import main
from heatwright.run import load_run
from heatwright.study.table import WIDTH
from tests.balance.marches import PLANTS, run_of

KEYS = {"plant", "trip", "steps", "elapsed_s", "energy_kwh", "ledger", "health", "comfort", "range_km"}
LEDGER = {"residual_j", "residual_relative", "throughput_j", "boundary_j", "terms_j"}
FILES = {"series.parquet", "books.parquet", "summary.json", "ledger.json", "provenance.json", "report.html"}


def call(*words: str) -> Result:
    return CliRunner().invoke(main, list(words))


@pytest.mark.parametrize("plant", PLANTS)
def test_json_holds_the_answer(plant: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    answer = call("run", plant, "winter_day", "--json")
    assert answer.exit_code == 0, answer.output
    data = json.loads(answer.stdout)
    assert set(data) >= KEYS
    assert set(data["ledger"]) >= LEDGER
    assert data["steps"] == 34800
    assert data["elapsed_s"] > 0.0
    assert data["range_km"] > 100.0
    assert data["comfort"]["time_to_20c_s"] > 0.0
    assert "circuit_not_solved_steps" in data["health"]
    assert all(isinstance(value, float) for value in data["energy_kwh"].values())
    assert sum(data["ledger"]["terms_j"].values()) == pytest.approx(data["ledger"]["residual_j"], abs=1e-6)
    assert abs(data["ledger"]["residual_relative"]) < 1e-12
    assert list(tmp_path.iterdir()) == []


def test_every_line_fits_a_page() -> None:
    """Of the joined plant: its names are the longest, and its summary, modes and health the widest that ship."""
    lines = call("run", "joined", "winter_day").stdout.splitlines()
    assert len(lines) > 50
    assert max(map(len, lines)) <= WIDTH


@pytest.mark.parametrize("plant", PLANTS)
def test_the_command_line_says_what_the_march_says(plant: str) -> None:
    data = json.loads(call("run", plant, "winter_day", "--json").stdout)
    run = run_of(plant, "winter_day")
    assert data["energy_kwh"] == dict(run.energy_kwh)
    assert data["ledger"]["terms_j"] == dict(run.ledger["terms_j"])


def test_energy_by_use_is_what_pack_and_station_gave() -> None:
    """Every use and loss together: chemical energy of the pack and what came from the station."""
    data = json.loads(call("run", "plain", "winter_day", "--json").stdout)
    given = (data["ledger"]["terms_j"]["pack_chemistry"] + data["ledger"]["terms_j"]["station"]) / 3.6e6
    assert sum(data["energy_kwh"].values()) == pytest.approx(given, rel=2e-3)


def test_accuracy_is_passed_on() -> None:
    data = json.loads(call("run", "plain", "winter_day", "--accuracy", "high", "--json").stdout)
    assert data["health"]["step_error_k"] > 0.0


def test_a_run_folder_is_whole_and_read_back(tmp_path: Path) -> None:
    out = tmp_path / "results" / "plain"
    answer = call("run", "plain", "winter_day", "--out", str(out))
    assert answer.exit_code == 0, answer.output
    assert {path.name for path in out.iterdir()} == FILES
    assert [path.name for path in out.parent.iterdir()] == ["plain"]
    back, run = load_run(out), run_of("plain", "winter_day")
    assert back.steps == run.steps
    assert set(back.series) == {*run.series, "atlas_mode"}
    titles = [mode["title"] for mode in back.summary["modes"]]
    assert "Heater warms cabin; drive to radiator; fresh air" in titles
    assert back.series["atlas_mode"].max() == len(titles) - 1
    assert back.health["mode_mismatch_samples"] == 0
    for name, values in run.series.items():
        np.testing.assert_allclose(back.series[name], values, rtol=1e-6, err_msg=name)
    assert back.ledger["terms_j"] == pytest.approx(dict(run.ledger["terms_j"]))
    assert back.energy_kwh == pytest.approx(dict(run.energy_kwh))
    stored = json.loads((out / "provenance.json").read_text())
    assert {"plant_digest", "trip_digest", "versions", "accuracy"} <= set(stored)


def test_the_same_folder_again_is_refused_and_stays(tmp_path: Path) -> None:
    out = tmp_path / "plain"
    assert call("run", "plain", "winter_day", "--out", str(out)).exit_code == 0
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    again = call("run", "reversing", "winter_day", "--out", str(out))
    assert again.exit_code == 2
    assert f"{out}: exists already" in again.stderr
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


def test_text_names_the_figures() -> None:
    answer = call("run", "plain", "winter_day")
    assert answer.exit_code == 0, answer.output
    run = run_of("plain", "winter_day")
    assert f"{run.summary['energy_kwh_per_100km']:.2f} kWh/100 km" in answer.stdout
    assert f"{run.summary['range_km']:.1f} km" in answer.stdout
    assert math.isfinite(run.summary["range_km"])
