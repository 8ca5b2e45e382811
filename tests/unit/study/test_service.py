"""What a run cost and gave."""

from dataclasses import replace

import numpy as np
import pytest

from heatwright.compiler.program import Program
from heatwright.dispatch.score import score
from heatwright.simulate import simulate
from heatwright.study.service import Worth, figures, miss_key, row_of, service_gap
from heatwright.trip.model import Case

ASKED = (
    "plant trip strategy energy_kwh_per_100km range_km time_to_20c_s pack_end_c pack_heat_kwh switches_per_h"
    " residual_relative short_k_min fogged_s from_station_kwh from_pack_kwh not_solved_steps limits_s"
).split()


def test_a_row_says_what_is_asked_of_it(programs: dict[str, Program], case: Case) -> None:
    run = simulate(programs["plain"], case)
    row = row_of(run)
    assert set(ASKED) <= set(row)
    assert (row["plant"], row["trip"], row["strategy"]) == ("Plain", "Round the block", "table")
    assert sum(row["use_kwh_per_100km"].values()) == pytest.approx(row["energy_kwh_per_100km"], rel=1e-12)
    assert row["from_station_kwh"] + row["from_pack_kwh"] == pytest.approx(row["energy_used_kwh"])
    cells = programs["plain"].facts["pack_heat_j_per_k"] / 3.6e6
    rises = [
        float(run.series[name][-1] - run.series[name][0]) for name in run.series if name.startswith("t_pack_cells")
    ]
    assert row["pack_heat_kwh"] == pytest.approx(cells * np.mean(rises), rel=1e-3)
    assert row["pack_end_c"] == pytest.approx(run.series["t_pack_coldest_k"][-1] - 273.15)
    assert row["switches_per_h"] == score(run, case).switches_per_h


def test_worth_counts_what_is_left(programs: dict[str, Program], case: Case) -> None:
    run = simulate(programs["plain"], case)

    def net(worth: Worth) -> float:
        found = figures(run.summary, run.comfort, run.energy_kwh, worth)["net_kwh_per_100km"]
        assert found is not None
        return found * run.summary["distance_km"] / 100

    heat, used = run.summary["pack_heat_gained_kwh"], run.summary["energy_used_kwh"]
    assert net(Worth(1.0, 0.0)) == pytest.approx(used)
    assert net(Worth(1.0, 0.3)) == pytest.approx(used - 0.3 * heat)
    assert net(Worth(2.0, 0.0)) == pytest.approx(used + run.summary["from_pack_kwh"])


@pytest.mark.parametrize(
    ("a", "b", "minutes", "gap"),
    [(3.0, 4.0, 60.0, 1 / 60), (100.0, 125.0, 60.0, 0.2), (125.0, 100.0, 60.0, 0.2), (0.0, 0.0, 0.0, 0.0)],
)
def test_gap_has_a_floor(a: float, b: float, minutes: float, gap: float) -> None:
    assert service_gap(a, b, 60.0 * minutes) == pytest.approx(gap)


def test_a_hot_trip_counts_what_is_too_warm(case: Case) -> None:
    assert miss_key(case) == "short_k_min"
    hot = replace(case, steps={**case.steps, "t_ambient_k": case.steps["t_ambient_k"] + 40.0})
    assert miss_key(hot) == "over_k_min"
    empty = replace(case, steps={**case.steps, "occupied": np.zeros(case.n)})
    assert miss_key(empty) == "short_k_min"
