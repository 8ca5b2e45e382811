"""`heatwright point` as a user meets it."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from heatwright.cli_point import point_verb
from tools.sources import ROOT


def call(*words: str) -> Result:
    return CliRunner().invoke(point_verb, list(words))


def test_text_and_diagram(tmp_path: Path) -> None:
    file = tmp_path / "loop.svg"
    answer = call("reversing", "--ambient", "-10", "--cabin", "20", "--svg", str(file))
    assert answer.exit_code == 0, answer.output
    assert "COP heating" in answer.stdout
    assert answer.stdout.rstrip().endswith(f"written to {file}")
    assert file.read_text().startswith("<svg")
    assert call("reversing", "--ambient", "-10", "--svg", str(file)).exit_code == 2


def test_json_is_one_object() -> None:
    answer = call("plain", "--ambient", "308.15 K", "--cabin", "25 degC", "--speed", "3000", "--json")
    assert answer.exit_code == 0, answer.output
    data = json.loads(answer.stdout)
    assert data["asked"]["t_ambient_k"] == pytest.approx(308.15)
    assert data["speed_hz"] == pytest.approx(50.0)
    assert [one["number"] for one in data["states"]] == [1, 2, 3, 4]
    assert data["q_hot_w"] - data["q_cold_w"] == pytest.approx(data["p_gas_w"], abs=0.05)
    assert data["health"] == {"circuit_failed": 0, "flow_failed": 0}
    assert data["provenance"]["versions"]["heatwright"]


def test_without_a_setting_heat_is_lifted_rather_than_made() -> None:
    """`router` can also send hot gas round; in the cold a point takes a source, if the plant has one."""
    answer = call("router", "--ambient", "-5", "--cabin", "20", "--json")
    assert answer.exit_code == 0, answer.output
    data = json.loads(answer.stdout)
    assert data["q_cold_w"] > 500.0
    assert data["health"] == {"circuit_failed": 0, "flow_failed": 0}


def test_heat_on_purpose_is_held_in_watts() -> None:
    answer = call("router", "--ambient=-15", "--hold", "drive.loss=3kW", "--json")
    assert answer.exit_code == 0, answer.output
    assert json.loads(answer.stdout)["actuators"]["drive.loss"] == 3000.0
    wrong = call("router", "--ambient=-15", "--hold", "drive.loss=30%")
    assert wrong.exit_code == 2
    assert "a power in watts" in wrong.stderr


def test_of_two_circuits_the_first_is_shown_with_its_own_refrigerant(tmp_path: Path) -> None:
    both = tmp_path / "both.plant.toml"
    own = 'fluid.compressor = { refrigerant = "R134a" }'
    base = ROOT / "tests" / "balance" / "files" / "two_circuits.plant.toml"
    both.write_text(f'format = "heatwright plant 1"\nname = "Both"\nextends = "{base}"\n{own}\n')
    alone = call(str(both), "--ambient", "30")
    assert alone.exit_code == 0, alone.output
    assert "Both, R134a" in alone.stdout
    assert "beside it pack_compressor off" in alone.stdout
    beside = call(str(both), "--ambient", "30", "--hold", "pack_compressor=3000rpm")
    assert "beside it pack_compressor asked for 3000 rpm" in beside.stdout
    slow = call(str(both), "--ambient", "30", "--hold", "pack_compressor=30rpm")
    assert "30 rpm; expected 800 to" in slow.stderr


def test_standby_stands_on_a_line_of_its_own() -> None:
    answer = call("reversing", "--ambient", "0", "--json")
    assert json.loads(answer.stdout)["p_standby_w"] == 10.0
    assert re.search(r"standby of its electronics +10 +W", call("reversing", "--ambient", "0").stdout)
    assert json.loads(call("reversing", "--ambient", "-30", "--json").stdout)["p_standby_w"] == 0.0


def test_sweep_as_table_and_json() -> None:
    text = call("reversing", "--sweep", "ambient=-20:20:20")
    assert text.exit_code == 0, text.output
    assert len(re.findall(r"^(?:−20\.0|0\.0|20\.0) ", text.stdout, re.M)) == 2 * 3  # two blocks of columns
    assert max(map(len, text.stdout.splitlines())) <= 100
    data = json.loads(call("reversing", "--sweep", "ambient=-20:20:20", "--json").stdout)
    assert data["sweep"] == "ambient"
    assert [one["asked"]["t_ambient_k"] for one in data["points"]] == pytest.approx([253.15, 273.15, 293.15])
    assert [one["setting"] for one in data["points"]] == ["heat", "heat", "cool"]


def test_a_point_that_cannot_run_is_no_mistake() -> None:
    answer = call("reversing", "--ambient", "-30")
    assert answer.exit_code == 0, answer.output
    assert "suction pressure at its least value" in answer.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "no temperature of the air outside"),
        (("--ambient", "warm"), "--ambient"),
        (("--ambient", "0", "--speed", "0"), "--speed"),
        (("--ambient", "0", "--hold", "fan"), "a name and a value"),
        (("--ambient", "0", "--hold", "fan=120%"), "0 % to 100 %"),
        (("--ambient", "0", "--hold", "air_heater=40%"), "in watts"),
        (("--ambient", "0", "--hold", "fan=300rpm"), "0 % to 100 %"),
        (("--ambient", "0", "--setting", "melt"), "one of cool, heat"),
        (("--sweep", "wind=1:2:1"), "no quantity 'wind'"),
        (("--sweep", "ambient=0:10"), "--sweep"),
        (("--sweep", "ambient=0:10:0"), "--sweep"),
        (("--sweep", "ambient=0:10:-1"), "--sweep"),
        (("--sweep", "ambient=0:10:5", "--svg", "x.svg"), "--svg"),
    ],
)
def test_bad_input_is_one_report(words: tuple[str, ...], said: str) -> None:
    answer = call("reversing", *words)
    assert answer.exit_code == 2
    assert said in answer.stderr
    assert "Traceback" not in answer.output
    assert not Path("x.svg").exists()


def test_bad_input_as_json() -> None:
    answer = call("reversing", "--ambient", "warm", "--speed", "fast", "--json")
    assert answer.exit_code == 2
    assert [one["where"] for one in json.loads(answer.stdout)["problems"]] == ["--ambient", "--speed"]


def test_help_has_an_example_and_is_light() -> None:
    code = (
        "import sys\nfrom heatwright.cli_point import point_verb\npoint_verb(['--help'], standalone_mode=False)\n"
        "print(sorted({'numba', 'scipy', 'pandas', 'CoolProp'} & set(sys.modules)))"
    )
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "Example:" in answer.stdout
    assert answer.stdout.rstrip().endswith("[]")


def test_carbon_dioxide_has_a_gas_cooler(tmp_path: Path) -> None:
    """Above the critical pressure there is no condensing temperature; the loop passes over the dome."""
    file = tmp_path / "loop.svg"
    plant = "examples/other_refrigerants/carbon_dioxide.plant.toml"
    answer = call(plant, "--ambient", "-10", "--cabin", "20", "--json", "--svg", str(file))
    assert answer.exit_code == 0, answer.output
    data = json.loads(answer.stdout[: answer.stdout.rindex("}") + 1])
    assert data["p_condensing_pa"] > 75e5
    assert data["t_condensing_k"] is None
    assert data["t_gas_cooler_k"] == pytest.approx(data["states"][2]["t_k"])
    assert data["carnot_heating"] is None
    assert data["q_hot_w"] - data["q_cold_w"] == pytest.approx(data["p_gas_w"], abs=0.05)
    assert "gives heat" in file.read_text()


def test_a_position_is_held_by_its_name_and_shuts_the_others() -> None:
    """`inlet=recirculate` is `inlet:recirculate=100%`, with every other position of that door shut."""
    held = json.loads(call("reversing", "--ambient=-5", "--hold", "inlet=recirculate", "--json").stdout)
    assert held["actuators"]["inlet:recirculate"] == 1.0
    assert held["actuators"]["inlet:fresh"] == 0.0
