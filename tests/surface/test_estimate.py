"""`heatwright estimate` as a user meets it."""

import json
import subprocess
import sys

import pytest
from click.testing import CliRunner, Result

from heatwright.cli_estimate import estimate_verb

PACK = ("pack-heat", "--energy", "80 kWh", "--from", "10 degC", "--to", "30 degC")


def call(*words: str) -> Result:
    return CliRunner().invoke(estimate_verb, list(words))


def listed() -> list[dict]:
    answer = call("--list", "--json")
    assert answer.exit_code == 0, answer.output
    return json.loads(answer.stdout)


def test_json_has_value_unit_formula_inputs() -> None:
    answer = call(*PACK, "--json")
    assert answer.exit_code == 0, answer.output
    data = json.loads(answer.stdout)
    assert data["name"] == "pack-heat"
    assert (data["value"], data["unit"]) == (pytest.approx(2.6635, abs=1e-4), "kWh")
    assert data["formula"].startswith("heat = energy / density")
    given = {one["name"]: (one["value"], one["unit"]) for one in data["inputs"] if not one["default"]}
    assert given == {
        "energy": (80.0, "kWh"),
        "from": (pytest.approx(10.0), "degC"),
        "to": (pytest.approx(30.0), "degC"),
    }


def test_text_shows_value_formula_and_inputs() -> None:
    answer = call(*PACK)
    assert answer.exit_code == 0, answer.output
    assert answer.stdout.startswith("Heat a pack stores between two temperatures: 2.66 kWh\n")
    assert "80 kWh / (240 Wh/kg)" in answer.stdout
    assert "(default)" in answer.stdout


def test_units_are_free_and_values_may_be_negative() -> None:
    answer = call("pack-heat", "--energy=288 MJ", "--from", "-10 degC", "--to", "283.15 K", "--json")
    assert json.loads(answer.stdout)["value"] == pytest.approx(2.6635, abs=1e-4)


def test_carnot_stands_beside_the_cop() -> None:
    data = json.loads(call("heat-pump-cop", "--cold", "-20 degC", "--hot", "45 degC", "--json").stdout)
    carnot = next(one for one in data["beside"] if one["name"] == "carnot")
    assert carnot["value"] == pytest.approx(4.895, abs=6e-4)  # VC-40, closed form
    assert 1.0 < data["value"] < carnot["value"]


def test_list() -> None:
    names = [one["name"] for one in listed()]
    assert len(names) == len(set(names)) >= 12
    assert all(one["title"] and one["unit"] and one["formula"] and one["inputs"] for one in listed())
    text = call("--list")
    assert text.exit_code == 0
    assert all(name in text.stdout for name in names)
    one = call("range-loss", "--list")
    assert "--consumption" in one.stdout
    assert "15 kWh/100 km" in one.stdout


@pytest.mark.parametrize("name", [one["name"] for one in listed()])
def test_every_estimate_prints_both_ways(name: str) -> None:
    text, data = call(name), call(name, "--json")
    assert text.exit_code == data.exit_code == 0, text.output
    found = json.loads(data.stdout)
    assert {"name", "value", "unit", "formula", "inputs", "beside"} <= set(found)
    assert found["formula"].partition(" = ")[0] in text.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "no estimate named"),
        (("pack-heet",), "try: pack-heat"),
        (("pack-heat", "--enrgy", "80 kWh"), "try: --energy"),
        (("pack-heat", "--speed", "80 km/h"), "--speed: no such input"),
        (("pack-heat", "--energy", "80"), 'write "80 kWh"'),
        (("pack-heat", "--energy", "80", "kWh"), "put a quantity in quotes"),
        (("pack-heat", "--energy", "80 kW"), "a unit such as 'kWh'"),
        (("pack-heat", "--energy", "80 kWq"), "unit 'kWq' is not known"),
        (("pack-heat", "--energy"), "--energy"),
        (("pack-heat", "--energy", "0 kWh"), "more than 0 kWh"),
        (("heat-pump-cop", "--cold", "20 degC", "--hot", "20 degC"), "nothing to lift"),
        (("--list", "--energy", "80 kWh"), "an input beside --list"),
        (("pack-heat", "--list=yes"), "--list"),
    ],
)
def test_bad_input_is_one_report(words: tuple[str, ...], said: str) -> None:
    answer = call(*words)
    assert answer.exit_code == 2
    assert said in answer.stderr
    assert "problem" in answer.stderr.splitlines()[0]
    assert answer.stdout == ""


def test_all_mistakes_in_one_json() -> None:
    answer = call("pack-heat", "--enrgy", "80 kWh", "--to", "warm", "--from", "3 V", "--json")
    assert answer.exit_code == 2
    assert [one["where"] for one in json.loads(answer.stdout)["problems"]] == ["--enrgy", "--from", "--to"]
    missing = call("pack-heat", "--json", "--to")
    assert missing.exit_code == 2
    assert json.loads(missing.stdout)["problems"][0]["where"] == "--to"


def test_help_and_list_are_light() -> None:
    code = (
        "import sys\nfrom heatwright.cli_estimate import estimate_verb\n"
        "for words in (['--help'], ['--list']):\n    estimate_verb(words, standalone_mode=False)\n"
        "print(sorted({'numba', 'scipy', 'pandas', 'CoolProp'} & set(sys.modules)))"
    )
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert 'Example:  heatwright estimate pack-heat --energy "80 kWh"' in answer.stdout
    assert answer.stdout.rstrip().endswith("[]")
