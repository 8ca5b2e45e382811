"""A decision table on solved knobs: its rules choose, valves stand as the rule says, everything else is solved."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from short_trip import SHORT_TRIP

from heatwright.cli import main
from heatwright.compiler.build import compile_program
from heatwright.dispatch.march import Dispatched, run_dispatch
from heatwright.dispatch.rules import FIRST, Rules
from heatwright.errors import InputError
from heatwright.kernel.desk import ASLEEP
from heatwright.plant.load import load_plant
from heatwright.simulate import simulate
from heatwright.trip.load import build_case, load_trip

PLANT = "reversing"


@pytest.fixture(scope="module")
def trip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("rules") / "short.trip.toml"
    file.write_text(SHORT_TRIP)
    return file


@pytest.fixture(scope="module")
def found(trip: Path) -> Dispatched:
    plant, case = load_plant(PLANT), build_case(load_trip(str(trip)))
    return run_dispatch(plant, compile_program(plant, case), case, strategy=Rules())


def test_the_first_rule_is_that_of_the_table(found: Dispatched, trip: Path) -> None:
    case = build_case(load_trip(str(trip)))
    table = simulate(compile_program(load_plant(PLANT), case), case)
    rules = [rule.name for rule in load_plant(PLANT).control.rules]
    assert list(found.why.ids[FIRST:]) == rules
    first = int(found.why.chosen[0])
    assert first == FIRST + int(table.series["mode"][1])
    assert len(set(found.why.chosen.tolist())) >= 2


def test_valves_stand_as_the_rule_says_and_knobs_move(found: Dispatched) -> None:
    run, control = found.run, load_plant(PLANT).control
    mode = np.asarray(run.series["mode"], int)[1:]
    reverser = np.asarray(run.series["x_reverser_heat"])[1:]
    seen = 0
    for number in set(mode[mode >= FIRST].tolist()):
        act = control.acts[found.why.ids[number]]["reverser"]
        assert act.kind == "fixed"
        turned = np.flatnonzero(np.diff(mode, prepend=-1) != 0)
        after = np.arange(mode.size) - turned[np.searchsorted(turned, np.arange(mode.size), side="right") - 1]
        steps = (mode == number) & (after > 120)
        seen += int(steps.sum())
        assert reverser[steps] == pytest.approx(dict(act.value).get("heat", 0.0))
    assert seen > 300
    assert len(np.unique(np.round(run.series["x_compressor"], 1))) > 5


def test_the_ledger_closes_and_no_point_is_used_unsettled(found: Dispatched) -> None:
    assert abs(found.run.ledger["residual_relative"]) < 1e-9
    assert np.isfinite(found.run.series["t_zone_air_k"]).all()
    assert (found.why.chosen != ASLEEP).any()


def test_the_verb_names_the_strategy(trip: Path, tmp_path: Path) -> None:
    answer = CliRunner().invoke(
        main, ["run", PLANT, str(trip), "--strategy", "rules", "--out", str(tmp_path / "run"), "--json"]
    )
    assert answer.exit_code == 0, answer.output
    kept = json.loads((tmp_path / "run" / "provenance.json").read_text())
    assert kept["strategy"] == "rules"
    told = CliRunner().invoke(main, ["why", str(tmp_path / "run"), "--at", "15:00"])
    assert "chosen by the strategy rules" in told.output


def test_a_plant_without_a_table_has_no_rules() -> None:
    with pytest.raises(InputError, match="no decision table"):
        Rules().candidates(replace(load_plant(PLANT), control=None))
