"""Why a strategy did worse on a drawn day."""

import json

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.dispatch.days import day
from heatwright.dispatch.march import run_dispatch
from heatwright.dispatch.score import drawn_w, penalties_w, score
from heatwright.modes.atlas import build_atlas
from heatwright.plant.load import load_plant
from heatwright.simulate import simulate
from heatwright.study.days import Days
from heatwright.study.days_why import worse_day, worse_days
from heatwright.trip.load import build_case

SEED = 2


@pytest.mark.slow
def test_a_day_is_explained_by_its_dearest_part_and_minutes() -> None:
    plant, case = load_plant("plain"), build_case(day(SEED))
    program = compile_program(plant, case)
    own, other = run_dispatch(plant, program, case, build_atlas(plant)), simulate(program, case)
    scores = (score(own.run, case), score(other, case))
    found = worse_day(SEED, own, other, scores, case)
    assert sum(found.more_kwh.values()) == pytest.approx(scores[0].score_kwh - scores[1].score_kwh)
    assert found.ratio == pytest.approx(scores[0].score_kwh / scores[1].score_kwh)
    assert found.more_kwh[found.part] == max(found.more_kwh.values())
    rates = [drawn_w(run) if found.part == "energy_kwh" else penalties_w(run, case)[found.part]
             for run in (own.run, other)]  # fmt: skip
    more = rates[0] - rates[1]
    steps = round((found.to_s - found.from_s) / case.dt_s)
    sums = [float(np.sum(more[k : k + steps])) for k in range(more.size - steps + 1)]
    assert sums[round(found.from_s / case.dt_s)] == pytest.approx(max(sums))
    assert found.mode in own.why.titles
    assert found.reason in found.sentence()
    assert json.loads(json.dumps(found.as_json()))["part"] == found.part


def test_what_is_drawn_adds_up_to_the_uses_of_a_run() -> None:
    case = build_case(day(SEED))
    run = simulate(compile_program(load_plant("plain"), case), case)
    inside = ("traction", "pack_resistance", "pack_reversible", "charger_loss")
    uses = sum(value for name, value in run.energy_kwh.items() if name not in inside)
    assert float(np.sum(drawn_w(run))) * case.dt_s / 3.6e6 == pytest.approx(uses, rel=0.01)


def test_days_without_dispatch_have_nothing_to_explain() -> None:
    assert worse_days(load_plant("plain"), Days("plain", ("table",), ())) == ()
