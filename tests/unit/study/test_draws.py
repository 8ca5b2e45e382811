"""A march in a batch gives the very numbers it gives alone; one that fails is left out, not hidden."""

from typing import Any

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.errors import RunError
from heatwright.plant.model import Plant
from heatwright.simulate import simulate
from heatwright.study import draws
from heatwright.study.service import Worth, figures
from heatwright.study.unknowns import draw_factors, drawn
from heatwright.trip.model import Case

WORTH = Worth()


@pytest.mark.parametrize("name", ["plain", "reversing"])
def test_batch_equals_single_runs_exactly(
    name: str, plants: dict[str, Plant], programs: dict[str, Program], case: Case
) -> None:
    factors = draw_factors(64)[:6]
    batch = draws.march_draws(plants[name], programs[name], case, factors, WORTH)
    for row, own in zip(factors, batch, strict=True):
        run = simulate(compile_program(drawn(plants[name], row.tolist()), case), case)
        assert own == figures(run.summary, run.comfort, run.energy_kwh, WORTH)
    assert len({own["energy_kwh_per_100km"] for own in batch if own}) == 6


def test_every_march_is_told(plants: dict[str, Plant], programs: dict[str, Program], case: Case) -> None:
    told: list[int] = []
    draws.march_draws(plants["plain"], programs["plain"], case, draw_factors(5), WORTH, lambda: told.append(1))
    assert len(told) == 5


def test_a_lost_march_is_none(
    plants: dict[str, Plant], programs: dict[str, Program], case: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    factors = draw_factors(4)
    marched = draws.lean_figures
    lost = drawn(plants["plain"], factors[2].tolist()).parts["pack"].values["resistance"]

    def fails_once(program: Program, *rest: Any) -> Any:
        if np.any(program.pf == lost):
            raise RunError("lost", 1.0)
        return marched(program, *rest)

    monkeypatch.setattr(draws, "lean_figures", fails_once)
    batch = draws.march_draws(plants["plain"], programs["plain"], case, factors, WORTH)
    assert [own is None for own in batch] == [False, False, True, False]


def test_there_is_a_core() -> None:
    assert draws.cores() >= 1
