"""`heatwright made-heat` as a user meets it."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from heatwright.cli_made import made_heat_verb
from heatwright.study.table import WIDTH
from tools.sources import ROOT

RING = str(ROOT / "examples" / "heat_without_a_heater" / "ring.plant.toml")
CHANGED = "compressor.compressor.idle ="
SHUT = ("--hold", "inner:round=100%", "--hold", "inner:out=0%")


def call(*words: str) -> Result:
    return CliRunner().invoke(made_heat_verb, list(words))


def test_one_setting_gives_a_curve_a_balance_and_a_picture(tmp_path: Path) -> None:
    svg = tmp_path / "made.svg"
    answer = call(RING, "--from=-10", "--to", "20", "--setting", "throttle+shut", *SHUT, "--svg", str(svg))
    assert answer.exit_code == 0, answer.output
    assert "20 °C reached after" in answer.stdout
    assert "share to the loop" in answer.stdout
    assert "loop temperature" in svg.read_text(encoding="utf-8")


def test_json_has_the_same_curve() -> None:
    answer = call(RING, "--from=-10", "--to", "0", "--setting", "throttle+shut", *SHUT, "--json")
    assert answer.exit_code == 0, answer.output
    (curve,) = json.loads(answer.stdout)["curves"]
    assert curve["setting"] == "throttle+shut"
    assert len(curve["t_loop_k"]) == len(curve["heat_w"]) > 3
    assert curve["electricity_j"] > curve["heat_to_loop_j"] > 0.0


def test_a_setting_with_nothing_but_a_plate_and_a_coil_in_the_wind() -> None:
    """No air of the cabin and no coolant meets them: the plate's own metal is the loop."""
    answer = call("plate_in_pack", "--from", "0", "--to", "5", "--setting", "heat+shut+throttle", "--json")
    assert answer.exit_code == 0, answer.output
    (curve,) = json.loads(answer.stdout)["curves"]
    assert len(curve["t_loop_k"]) > 0
    assert abs(curve["ledger_residual_relative"]) < 1e-12


def test_of_several_circuits_it_says_which_and_keeps_to_a_page() -> None:
    both = str(ROOT / "tests" / "balance" / "files" / "two_circuits.plant.toml")
    alone = call(both, "--from=-10", "--to", "0")
    assert "the circuit of compressor; beside it pack_compressor off" in alone.stdout
    assert max(map(len, alone.stdout.splitlines())) <= WIDTH
    words = (
        both,
        "--from",
        "20",
        "--to",
        "30",
        "--hold",
        "pack_compressor=3000rpm",
        "--hold",
        "pack_exv:throttle=100%",
    )
    beside = call(*words)
    assert "pack_compressor asked for 3000 rpm; the balance alone counts it" in beside.stdout
    found = json.loads(call(*words, "--json").stdout)
    assert found["compressor"] == "compressor"
    assert found["others_hz"] == {"pack_compressor": 50.0}
    assert (
        found["curves"][0]["electricity_j"]
        > 1.2 * json.loads(call(*words[:5], "--json").stdout)["curves"][0]["electricity_j"]
    )


def test_the_means_count_the_standby_of_the_compressor(tmp_path: Path) -> None:
    def mean(idle: str) -> float:
        car = tmp_path / f"idle_{idle[:2].strip()}.plant.toml"
        car.write_text(f'format = "heatwright plant 1"\nname = "I"\nextends = "plain.plant.toml"\n{CHANGED} "{idle}"\n')
        answer = call(str(car), "--from", "20", "--to", "25", "--json")
        return float(json.loads(answer.stdout)["curves"][0]["electricity_w"][-1])

    assert mean("70 W") - mean("10 W") == pytest.approx(60.0, abs=0.5)


def test_every_mistake_at_once() -> None:
    answer = call(RING, "--from", "warm", "--hold", "inner", "--speed", "3 kg")
    assert answer.exit_code == 2
    for word in ("--from", "--hold", "--speed"):
        assert word in answer.output


def test_an_unknown_setting_and_a_picture_that_exists(tmp_path: Path) -> None:
    answer = call(RING, "--setting", "sideways")
    assert answer.exit_code == 2
    assert "throttle+shut" in answer.output
    there = tmp_path / "there.svg"
    there.write_text("mine")
    assert call(RING, *SHUT, "--svg", str(there)).exit_code == 2
    assert there.read_text() == "mine"
