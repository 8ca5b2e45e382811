"""Equal service is found by turning one knob, measured against the trip's own wishes."""

from collections.abc import Callable

import numpy as np
import pytest

from heatwright.compiler.program import Program
from heatwright.plant.model import Plant
from heatwright.study import equal
from heatwright.study.lean import lean_figures
from heatwright.study.service import ALIKE, Figures, Worth, service_gap
from heatwright.trip.model import Case

WORTH = Worth()


@pytest.fixture(scope="module")
def nominal(programs: dict[str, Program], case: Case) -> tuple[Figures, Figures]:
    return (lean_figures(programs["plain"], case, WORTH), lean_figures(programs["reversing"], case, WORTH))


def test_the_better_plant_is_turned_down(
    plants: dict[str, Plant], nominal: tuple[Figures, Figures], case: Case
) -> None:
    miss = [own["short_k_min"] for own in nominal]
    assert service_gap(*miss, equal.occupied_s(case)) > ALIKE
    told: list[int] = []
    served = equal.equal_service((plants["plain"], plants["reversing"]), case, nominal, WORTH, lambda: told.append(1))
    assert served is not None
    better = int(np.argmin(miss))
    assert (served.changed, served.knob) == (better, "set-point")
    assert served.gap <= ALIKE
    assert served.miss_k_min[1 - better] == miss[1 - better]
    assert served.figures["energy_kwh_per_100km"] < nominal[better]["energy_kwh_per_100km"]
    assert lean_figures(served.program, case, WORTH) == served.figures
    assert 0 < len(told) <= equal.MOST_MARCHES
    assert "lowered by" in served.words


def test_preheat_can_begin_later(case: Case) -> None:
    later = next(knob for knob in equal._knobs(case, cold=True) if knob.name == "preheat")
    assert later.most == 600.0
    changed = later.apply(case, 120.0)
    assert np.sum(case.steps["wanted"] - changed.steps["wanted"]) == 120.0
    assert np.array_equal(changed.steps["wanted"][600:], case.steps["wanted"][600:])
    assert later.words(120.0) == "preheat begun 2.0 min later"


def test_in_the_heat_the_set_point_is_raised(case: Case) -> None:
    knob = equal._knobs(case, cold=False)[0]
    assert np.all(knob.apply(case, 2.0).steps["t_setpoint_k"] - case.steps["t_setpoint_k"] == pytest.approx(2.0))
    assert "raised" in knob.words(2.0)


@pytest.mark.parametrize(
    ("function", "found"),
    [(lambda x: x / 3 - 1.0, True), (lambda x: (x / 5) ** 6 - 0.5, True), (lambda x: -0.5 + 0 * x, False),
     (lambda x: -0.5 if x < 4.2 else 0.5, False)],
    ids=["straight", "bent", "out of reach", "a jump"],
)  # fmt: skip
def test_search_closes_in_or_gives_up(function: Callable[[float], float], found: bool) -> None:
    seen: list[float] = []

    def off(x: float) -> float:
        seen.append(function(x))
        return seen[-1]

    equal._close_in(off, 16.0, function(0.0))
    assert len(seen) <= equal.MOST_MARCHES
    assert (min(abs(one) for one in seen) <= equal.AIM) == found


def test_no_knob_no_service(
    plants: dict[str, Plant], nominal: tuple[Figures, Figures], case: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A knob that changes nothing never brings them together, and that is said."""
    idle = equal.Knob("idle", 1.0, True, lambda c, x: c, lambda x: "nothing")
    monkeypatch.setattr(equal, "_knobs", lambda case, cold: [idle])
    assert equal.equal_service((plants["plain"], plants["reversing"]), case, nominal, WORTH) is None
