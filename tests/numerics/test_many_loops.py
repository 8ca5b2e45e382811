"""Cars of many loops, as the benchmark makes them: their size, and that their books close."""

import pytest

from benchmarks.nodes import car_with
from heatwright.compiler.build import compile_program
from heatwright.simulate import simulate
from heatwright.study.settled import short_case


@pytest.mark.parametrize(("joined", "nodes"), [(True, 127), (False, 93)])
def test_a_car_of_eighteen_loops_keeps_its_books(joined: bool, nodes: int) -> None:
    """Heat goes down the row of exchangers; every node counts and none is lost."""
    drive = '[[segment]]\nkind = "drive"\nspeed = "60 km/h"\nduration = "10 min"'
    case = short_case('temperature = "5 degC"', drive, 'step = "1 s"')
    program = compile_program(car_with(18, joined), case)
    assert len(program.index.nodes) == nodes
    run = simulate(program, case)
    assert abs(run.ledger["residual_relative"]) < 1e-12
    assert run.health["flow_not_solved"] == 0
