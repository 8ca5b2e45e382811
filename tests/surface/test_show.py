"""`heatwright show`: the whole plant, one part, the defaults; as text of a page's width and as JSON."""

import json

import pytest
from click.testing import CliRunner, Result

from heatwright.cli import main
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant


def show(*words: str) -> Result:
    return CliRunner().invoke(main, ["show", *words])


@pytest.mark.parametrize("name", [one.name for one in list_shipped()])
def test_the_whole_plant_fits_a_page(name: str) -> None:
    answer = show(name)
    assert answer.exit_code == 0, answer.output
    lines = answer.stdout.splitlines()
    assert max(map(len, lines)) <= 100
    plant = load_plant(name)
    for part in plant.parts.values():
        assert f"[{part.kind}.{part.name}]  {part.where}" in lines
    for fluid in ("coolant", "refrigerant", "air"):
        assert f"[lines.{fluid}]" in lines
    assert "rules, read from the top" in lines


def test_json_holds_every_value_once() -> None:
    found = json.loads(show("plain", "--json").stdout)
    values = [value for table in (*found["parts"], *found["tables"]) for value in table["values"]]
    assert sum(found["evidence"].values()) == len(values)
    pack = next(part for part in found["parts"] if part["name"] == "pack")
    energy = next(value for value in pack["values"] if value["key"] == "energy")
    assert (energy["text"], energy["number_si"], energy["grade"]) == ("58 kWh", 58 * 3.6e6, "ungraded")
    assert energy["origin"].startswith("car.plant.toml:")
    inlet = next(one for one in found["actuators"] if one["name"] == "inlet")
    assert inlet["states"] == ["fresh", "recirculate", "fresh ~ recirculate"]
    assert found["lines"]["refrigerant"]["ring"].startswith("compressor > condenser")
    assert found["rules"][-1]["when"] == {}


def test_one_part_says_what_is_left_out() -> None:
    answer = show("plain", "--part", "compressor")
    assert "27 cc/rev" in answer.stdout
    assert "deliberate_loss is left out" in answer.stdout
    assert "800 to 8000 rpm" in answer.stdout
    assert "[pack.pack]" not in answer.stdout


def test_assumed_alone() -> None:
    text = show("plain", "--assumed").stdout
    assert "27 cc/rev" not in text
    assert "default: value from memory" in text
    found = json.loads(show("plain", "--assumed", "--json").stdout)
    assert {value["grade"] for part in found["parts"] for value in part["values"]} == {"default"}


def test_an_unknown_part_has_a_hint() -> None:
    answer = show("plain", "--part", "compresor")
    assert answer.exit_code == 2
    assert "did you mean 'compressor'?" in answer.stderr
