"""`run --strategy dispatch` and `why`, as a user meets them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from short_trip import SHORT_TRIP

from heatwright.cli import main
from heatwright.dispatch.why import from_folder
from heatwright.run import load_run


def call(*words: str) -> Result:
    return CliRunner().invoke(main, list(words))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("dispatch") / "router"
    answer = call("run", "router", "cold_test", "--strategy", "dispatch", "--out", str(place))
    assert answer.exit_code == 0, answer.output
    assert "decisions" in answer.stdout
    assert max(len(line) for line in answer.stdout.splitlines() if str(place) not in line) <= 100
    return place


def test_the_folder_holds_the_why_record_beside_the_run(folder: Path) -> None:
    assert (folder / "why.npz").is_file()
    assert json.loads((folder / "provenance.json").read_text())["strategy"] == "dispatch"
    assert "<dt>Strategy</dt><dd>dispatch</dd>" in (folder / "report.html").read_text()
    notes = json.loads((folder / "summary.json").read_text())
    assert notes["health"]["switches"] == len(from_folder(folder).switches())
    assert notes["health"]["mode_mismatch_samples"] == 0
    assert notes["mode_names"][0] == "asleep"


def test_every_switch_is_told(folder: Path) -> None:
    text = call("why", str(folder))
    assert text.exit_code == 0, text.output
    told = json.loads(call("why", str(folder), "--json").stdout)["changes"]
    assert f"{sum(one['switch'] for one in told)} switches in" in text.stdout
    assert f"{sum(not one['switch'] for one in told)} times woken or fallen asleep" in text.stdout
    assert all(one["reason"] for one in told)
    assert max(len(line) for line in text.stdout.splitlines()) <= 100
    words = set(" ".join(text.stdout.split()).split())
    assert all(set(one["reason"].split()) <= words for one in told)


def test_a_plant_without_a_table_is_driven_and_what_was_overridden_is_told(tmp_path: Path) -> None:
    plant, trip, out = (tmp_path / name for name in ("bare.plant.toml", "short.trip.toml", "out"))
    plant.write_text('format = "heatwright plant 1"\nname = "Bare"\nextends = "plain.plant.toml"\ncontrol = false\n')
    trip.write_text(SHORT_TRIP + '\n[dispatch]\npack_cold = "-7 degC"\n')
    answer = call("run", str(plant), str(trip), "--strategy", "dispatch", "--out", str(out))
    assert answer.exit_code == 0, answer.output
    assert "no control table" not in answer.stdout
    run, why = load_run(out), from_folder(out)
    assert run.series["t_zone_air_k"].max() > run.series["t_zone_air_k"][0] + 10.0
    settings = run.provenance["dispatch_settings"]
    assert list(settings) == ["pack_cold"]
    assert settings["pack_cold"].startswith("-7 degC (")
    assert str(trip) in settings["pack_cold"]
    assert run.mode_names == why.titles
    step = float(run.t_s[1] - run.t_s[0])
    for k in range(len(why.t_s) - 1):
        first, last = (round(float(t_s) / step) for t_s in why.t_s[k : k + 2])
        assert set(run.series["mode"][first + 1 : last + 1].tolist()) == {float(why.chosen[k])}


@pytest.mark.parametrize("at", ["0:14:30", "14:30", "870 s"])
def test_one_instant_is_told_with_scores_that_add_up(folder: Path, at: str) -> None:
    text = call("why", str(folder), "--at", at)
    assert text.exit_code == 0, text.output
    assert "cabin to be warmed" in text.stdout
    assert max(map(len, text.stdout.splitlines())) <= 100
    told = json.loads(call("why", str(folder), "--at", at, "--json").stdout)
    assert set(told) == {"t_s", "needs", "candidates", "reason"}
    assert told["t_s"] == 870.0
    assert sum(one["ran"] for one in told["candidates"]) == 1
    for one in told["candidates"]:
        assert set(one) >= {"mode", "score_w", "speed_per_s", "terms_w"}
        assert one["speed_per_s"] >= 0.0
        if one["score_w"] < 1e6:
            assert sum(one["terms_w"].values()) == pytest.approx(one["score_w"], abs=1.0)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--at", "teatime"), "is no time"),
        (("--at", "9:00:00"), "lies outside the run"),
    ],
)
def test_a_time_that_is_none_is_told(folder: Path, words: tuple[str, ...], said: str) -> None:
    answer = call("why", str(folder), *words)
    assert answer.exit_code != 0
    assert said in answer.output
    assert "Traceback" not in answer.output


def test_a_folder_without_a_record_is_told(tmp_path: Path) -> None:
    for place, said in ((tmp_path, "no run"), (tmp_path / "none", "no run")):
        answer = call("why", str(place))
        assert answer.exit_code != 0
        assert said in answer.output
    (tmp_path / "provenance.json").write_text("{}")
    assert "a run without a why-record" in call("why", str(tmp_path)).output
    (tmp_path / "why.npz").write_bytes(b"not a record")
    spoilt = call("why", str(tmp_path))
    assert spoilt.exit_code != 0
    assert "Traceback" not in spoilt.output


def test_high_accuracy_is_refused_under_dispatch() -> None:
    answer = call("run", "plain", "cold_test", "--strategy", "dispatch", "--accuracy", "high")
    assert answer.exit_code != 0
    assert "normal accuracy only" in answer.output
