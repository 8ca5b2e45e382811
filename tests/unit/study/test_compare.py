"""Comparisons of the shipped plants on a short trip."""

import json
import re
from pathlib import Path

import pytest
from short_trip import SHORT_TRIP

from heatwright import run_study
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.report.compare_page import render_comparison
from heatwright.study.compare import Comparison, compare
from heatwright.study.service import ALIKE, Worth
from heatwright.trip.model import Trip


def test_unlike_service_is_shown_again_at_equal_service(comparison: Comparison) -> None:
    pair = comparison.pairs[0]
    assert pair.plants == ("Plain", "Reversing")
    assert not pair.service.alike
    assert pair.equal is not None
    assert pair.equal.reached
    assert pair.equal.gap <= ALIKE
    energy = {one.quantity: one for one in pair.equal.differences}["energy_kwh_per_100km"]
    plain, reversing = (row["energy_kwh_per_100km"] for row in comparison.rows)
    changed = pair.plants.index(pair.equal.changed)
    assert (energy.first == plain) == (changed == 1)
    assert (energy.second == reversing) == (changed == 0)
    assert energy.draws == 16


def test_differences_are_second_less_first(comparison: Comparison) -> None:
    one = comparison.pairs[0].named("energy_kwh_per_100km")
    first, second = (row["energy_kwh_per_100km"] for row in comparison.rows)
    assert one.difference == pytest.approx(second - first)
    assert one.draws == 16


def test_json_twin(comparison: Comparison) -> None:
    data = json.loads(json.dumps(comparison.as_json(), allow_nan=False))
    assert data["plants"] == ["plain", "reversing"]
    assert data["draws"]["count"] == 16
    assert len(data["draws"]["unknowns"]) == 9
    assert data["worth"] == {"charge": 1.0, "pack_heat": 0.3}
    verdicts = {one["verdict"] for one in data["pairs"][0]["differences"]}
    assert verdicts <= {"holds", "depends", "within doubt"}
    assert data["verdicts"] == list(comparison.verdicts)


def test_text_is_aligned_and_speaks(comparison: Comparison) -> None:
    text = comparison.as_text()
    lines = text.splitlines()
    assert max(map(len, lines)) <= 110
    heads = [line for line in lines if line.startswith(("energy by use", "range, and", "service"))]
    assert len({line.index("Reversing") for line in heads}) == 1
    assert "not like for like" in " ".join(text.split())
    assert any(line.startswith("at equal service") for line in lines)
    assert not re.search(r"\b(nan|inf|None)\b", text)
    for title in ("verdicts", "solver", "Left in the car"):
        assert any(line.startswith(title) for line in lines)


def test_page_shows_every_verdict(comparison: Comparison) -> None:
    page = render_comparison(comparison.rows, comparison.runs, comparison.verdicts, comparison.pairs)
    assert "At equal service" in page
    assert "What holds" in page
    assert page.count("of 16</td>") > 20


def test_the_same_plant_twice_is_like_for_like(plants: dict[str, Plant], trip: Trip) -> None:
    found = compare([plants["plain"], plants["plain"]], trip, draws=2)
    assert [row["plant"] for row in found.rows] == ["Plain", "Plain (2)"]
    pair = found.pairs[0]
    assert pair.service.alike
    assert pair.equal is None
    assert all(one.difference == 0.0 for one in pair.differences if one.difference is not None)
    assert "0 % apart, like for like" in found.verdicts[0]


def test_three_plants_against_the_first(plants: dict[str, Plant], trip: Trip) -> None:
    big = load_plant("plain", {"pack.energy": "75 kWh"})
    found = compare([plants["plain"], plants["reversing"], big], trip, draws=0)
    assert [pair.plants for pair in found.pairs] == [("Plain", "Reversing"), ("Plain", "Plain (2)")]
    assert found.pairs[0].named("energy_kwh_per_100km").verdict == "within doubt"
    assert found.pairs[1].named("range_km").difference > 0.0
    assert "Plain (2)" in found.as_text()


def test_one_plant_alone_is_a_table(plants: dict[str, Plant], trip: Trip) -> None:
    found = compare([plants["plain"]], trip)
    assert found.pairs == ()
    assert found.draws == 0
    assert "Plain on Round the block" in found.as_text()


def test_worth_can_be_set(plants: dict[str, Plant], trip: Trip) -> None:
    found = compare([plants["plain"]], trip, worth=Worth(1.0, 0.0))
    assert found.rows[0]["net_kwh_per_100km"] == pytest.approx(found.rows[0]["energy_kwh_per_100km"])


def test_progress_reaches_its_end(plants: dict[str, Plant], trip: Trip) -> None:
    told: list[tuple[float, float]] = []
    compare(list(plants.values()), trip, lambda done, total: told.append((done, total)), draws=3)
    shares = [done / total for done, total in told]
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert len(told) > 10


def test_a_study_is_every_plant_on_every_trip(tmp_path: Path) -> None:
    file = tmp_path / "short.trip.toml"
    file.write_text(SHORT_TRIP)
    told: list[tuple[float, float]] = []
    study = run_study(["plain", "reversing"], [file], progress=lambda done, total: told.append((done, total)))
    assert [row["plant"] for row in study.rows] == ["Plain", "Reversing"]
    assert told == [(1, 2), (2, 2)]
    assert study.runs[1].plant_name == "Reversing"
    assert json.dumps(study.as_json(), allow_nan=False)
