"""`heatwright prices` as a user meets it."""

import json
from pathlib import Path

from click.testing import CliRunner, Result

from heatwright.cli_prices import prices_verb


def call(*words: str) -> Result:
    return CliRunner().invoke(prices_verb, list(words))


def test_the_table_fits_100_columns_and_the_picture_is_written(tmp_path: Path) -> None:
    svg = tmp_path / "prices.svg"
    answer = call("router", "charge_cold", "--out", str(svg))
    assert answer.exit_code == 0, answer.output
    assert max(map(len, answer.stdout.splitlines())) <= 100
    assert "fast charge 1: after 25 min, 150 kW" in answer.stdout
    drawing = svg.read_text(encoding="utf-8")
    assert drawing.count("<polyline") == 6
    for words in ("while charging", "10 min before", "2 h before", "no charge ahead", "pack temperature, °C"):
        assert f">{words}</text>" in drawing


def test_json_has_the_same_prices() -> None:
    answer = call("plain", "charge_cold", "--json")
    assert answer.exit_code == 0, answer.output
    found = json.loads(answer.stdout)
    (charge,) = found["charges"]
    at = found["t_pack_c"].index(0.0)
    assert charge["price"]["2 h before"][at] == 0.8
    assert charge["price"]["while charging"][at] > 1.2  # a pack that is heated at the plug saves less time
    assert charge["charge_min"][at] > charge["charge_min"][at + 20]
    assert found["standing_price"][at] == 0.2


def test_a_trip_without_a_fast_charge_has_the_standing_price() -> None:
    answer = call("plain", "winter_day")
    assert answer.exit_code == 0, answer.output
    assert "The trip has no fast charge" in answer.stdout


def test_a_price_of_the_plant_is_told(tmp_path: Path) -> None:
    plant = tmp_path / "own.plant.toml"
    head = 'format = "heatwright plant 1"\nname = "Own"\nextends = "plain.plant.toml"\n'
    plant.write_text(f'{head}[dispatch]\npack_price = "25 %"\ndrive_price = "5 %"\n', encoding="utf-8")
    answer = call(str(plant))
    assert answer.exit_code == 0, answer.output
    assert "pack_price, which replaces these: 0.25 throughout" in answer.stdout
    assert "drive unit is worth 0.05" in answer.stdout


def test_a_file_that_exists_stays(tmp_path: Path) -> None:
    there = tmp_path / "there.svg"
    there.write_text("mine")
    assert call("plain", "--out", str(there)).exit_code == 2
    assert there.read_text() == "mine"


def test_a_mistake_in_the_table_is_told_and_nothing_written(tmp_path: Path) -> None:
    plant = tmp_path / "own.plant.toml"
    head = 'format = "heatwright plant 1"\nname = "Own"\nextends = "plain.plant.toml"\n'
    plant.write_text(f'{head}[dispatch]\npack_price = "0.3"\n', encoding="utf-8")
    answer = call(str(plant), "--out", str(tmp_path / "new.svg"))
    assert answer.exit_code == 2
    assert "own.plant.toml:5: dispatch.pack_price: '0.3' has no unit" in answer.output
    assert not (tmp_path / "new.svg").exists()
