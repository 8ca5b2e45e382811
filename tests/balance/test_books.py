"""The books of a run: its ledger over time, and the heat of any span, close as the whole ledger does."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from heatwright.books import MARK_STEPS, pieces
from heatwright.errors import InputError
from heatwright.outcome import is_boundary
from heatwright.run import Run, load_run, write_run
from heatwright.study.heats import BODIES, heats, marks
from tests.balance.marches import PLANTS, run_of

TRIP = "winter_day"
SPANS = [(None, None), (0.0, 1500.0), (1500.0, 3300.0), (24_900.0, 24_960.0)]


@pytest.mark.parametrize("plant", PLANTS)
def test_the_last_mark_is_the_ledger(plant: str) -> None:
    run = run_of(plant, TRIP)
    assert {name: run.books[name][-1] for name in run.ledger["terms_j"]} == pytest.approx(run.ledger["terms_j"])
    assert run.books["t_s"][[0, -1]].tolist() == [0.0, run.t_s[-1]]
    assert np.diff(run.books["t_s"]).max() <= MARK_STEPS


@pytest.mark.parametrize("span", SPANS)
@pytest.mark.parametrize("plant", PLANTS)
def test_the_heat_of_a_span_closes(plant: str, span: tuple[float | None, float | None]) -> None:
    """Ledger and heat are two sums over different terms; each is nothing."""
    run = run_of(plant, TRIP)
    found = heats(run, *span)
    through = run.ledger["throughput_j"]
    assert found.throughput_j > 0.0
    assert abs(found.left_over_j) < 1e-12 * through
    assert abs(found.ledger_left_over_j) < 1e-12 * through
    assert sum(found.into(body) for body in (*BODIES, "loops")) == pytest.approx(0.0, abs=1e-12 * through)


def test_spans_add_up() -> None:
    run = run_of("reversing", TRIP)
    whole = {one.key: one.joules for one in heats(run).rows}
    parts = [{one.key: one.joules for one in heats(run, *span).rows} for span in ((None, 3300.0), (3300.0, None))]
    added = {key: sum(part.get(key, 0.0) for part in parts) for key in whole}
    assert added == pytest.approx(whole, rel=1e-9, abs=1e-3)


def test_a_term_that_is_lost_is_seen() -> None:
    run = run_of("plain", TRIP)
    lame = replace(run, books={name: values for name, values in run.books.items() if name != "glass_to_outside"})
    assert heats(lame).left_over_j == pytest.approx(-run.ledger["terms_j"]["glass_to_outside"])


def test_every_ledger_term_is_heat_or_electric() -> None:
    run = run_of("plain", TRIP)
    named = sum(one.joules for one in heats(run).rows if one.kind != "made")
    electric = sum(run.books[name][-1] for name in ("pack_chemistry", "station", "road_work", "low_voltage"))
    electric += sum(run.books[name][-1] for name in ("charger_loss", "heater_loss", "compressor_standby"))
    assert named + electric == pytest.approx(run.ledger["residual_j"], abs=1e-3)
    assert all(is_boundary(name) for name in run.ledger["terms_j"])


def test_books_come_back_from_the_folder(tmp_path: Path) -> None:
    run = run_of("plain", TRIP)
    back = load_run(write_run(run, tmp_path / "r", ""))
    assert {name: values.tolist() for name, values in back.books.items()} == {
        name: values.tolist() for name, values in run.books.items()
    }


def test_what_cannot_be_told_is_refused() -> None:
    run = run_of("plain", TRIP)
    with pytest.raises(InputError, match="span of at least 60 s"):
        heats(run, 100.0, 101.0)
    with pytest.raises(InputError, match="without the marks of its ledger"):
        marks(replace(run, books={}))
    with pytest.raises(InputError):
        heats(Run("p", "t", np.arange(3.0), {}))


def test_a_segment_begins_at_a_mark() -> None:
    assert pieces(150, [0, 70, 400]) == [(0, 60), (60, 70), (70, 120), (120, 150)]
