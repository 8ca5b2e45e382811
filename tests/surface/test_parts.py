"""`heatwright parts` as a user meets it."""

import json
from pathlib import Path

from click.testing import CliRunner, Result
from short_trip import SHORT_TRIP

from heatwright.cli_parts import parts_verb


def call(*words: str) -> Result:
    return CliRunner().invoke(parts_verb, list(words))


def test_two_plants_stand_side_by_side_with_what_sticks_and_a_picture(tmp_path: Path) -> None:
    svg = tmp_path / "parts.svg"
    answer = call("plain", "reversing", "--svg", str(svg))
    assert answer.exit_code == 0, answer.output
    lines = answer.stdout.splitlines()
    assert lines[0].split() == ["parts", "Reversing", "Plain"]
    assert next(line for line in lines if "all parts" in line).split()[-2:] == ["16", "19"]
    assert "one stuck part in Plain: what is lost of 7 needs" in answer.stdout
    assert "nothing lost wherever it sticks: inlet, outlets" in answer.stdout
    assert "does having fewer parts pay?" not in answer.stdout
    assert max(map(len, lines)) <= 100
    assert "joints that can leak" in svg.read_text(encoding="utf-8")


def test_a_trip_adds_its_figures_and_the_answer_in_words(tmp_path: Path) -> None:
    trip = tmp_path / "short.trip.toml"
    trip.write_text(SHORT_TRIP, encoding="utf-8")
    answer = call("plain", "reversing", "--trip", str(trip), "--json")
    assert answer.exit_code == 0, answer.output
    found = json.loads(answer.stdout)
    first, second = found["plants"]
    assert (first["plant"], first["plant_title"], first["parts"]) == ("reversing", "Reversing", 16)
    assert first["on_trip"]["energy_kwh_per_100km"] > 0.0
    assert first["cost_band_usd"] == [0.5 * first["cost_usd"], 2.0 * first["cost_usd"]]
    assert {"actuator", "state", "lost"} == set(second["stuck"][0])
    assert len(found["sentences"]) == 2
    assert found["sentences"][0].startswith("Plain has 3 more parts than Reversing")


def test_mistakes_are_reported_and_a_picture_is_not_written_over(tmp_path: Path) -> None:
    answer = call("plane", "revesing")
    assert answer.exit_code == 2
    assert "plane" in answer.output
    assert "revesing" in answer.output
    there = tmp_path / "there.svg"
    there.write_text("mine")
    assert call("plain", "--svg", str(there)).exit_code == 2
    assert there.read_text() == "mine"
