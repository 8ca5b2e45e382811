"""Every joule is accounted for: the ledger's terms sum to a residual that is nothing but rounding."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.balance.marches import PLANTS, case_of, run_of

TRIPS = ("winter_day", "rain_day", "day24", "hot_day", "deep_cold")
ACCURACIES = ("normal", "high")
RELATIVE = 1e-12
ABSOLUTE_J = 0.01


@pytest.mark.parametrize("accuracy", ACCURACIES)
@pytest.mark.parametrize("trip", TRIPS)
@pytest.mark.parametrize("plant", PLANTS)
def test_the_residual_is_rounding(plant: str, trip: str, accuracy: str) -> None:
    books = run_of(plant, trip, accuracy).ledger
    assert books["throughput_j"] > 1e7
    assert abs(books["residual_j"]) <= ABSOLUTE_J
    assert abs(books["residual_j"]) <= RELATIVE * books["throughput_j"]
    assert books["residual_relative"] == books["residual_j"] / books["throughput_j"]


@pytest.mark.parametrize("trip", TRIPS)
@pytest.mark.parametrize("plant", PLANTS)
def test_terms_sum_to_the_residual(plant: str, trip: str) -> None:
    books = run_of(plant, trip).ledger
    assert math.fsum(books["terms_j"].values()) == pytest.approx(books["residual_j"], abs=1e-6)


@pytest.mark.parametrize("accuracy", ACCURACIES)
@pytest.mark.parametrize("trip", TRIPS)
@pytest.mark.parametrize("plant", PLANTS)
def test_every_gram_of_water_is_accounted_for(plant: str, trip: str, accuracy: str) -> None:
    """People, outside air, coils and glass: what came is what left, what drained and what stayed."""
    books = run_of(plant, trip, accuracy).ledger["water"]
    assert books["throughput_kg"] > 0.1
    assert abs(books["residual_relative"]) <= 1e-10
    assert math.fsum(books["terms_kg"].values()) == pytest.approx(books["residual_kg"], abs=1e-15)


@pytest.mark.parametrize("plant", PLANTS)
def test_the_day_is_a_day(plant: str) -> None:
    run = run_of(plant, "day24")
    assert run.t_s[-1] == 86400.0
    assert [leg.kind for leg in run.segments] == ["precondition", "drive", "park", "drive", "park", "park"]


@pytest.mark.parametrize("plant", PLANTS)
def test_the_hot_day_condenses_and_the_cold_one_heats(plant: str) -> None:
    """Otherwise the extremes above would show nothing."""
    hot, cold = run_of(plant, "hot_day"), run_of(plant, "deep_cold")
    assert hot.ledger["terms_j"]["latent"] > 5e4
    assert hot.energy_kwh["compressor"] > 0.5
    assert cold.energy_kwh.get("heater", 0.0) + cold.energy_kwh.get("air_heater", 0.0) > 1.0
    assert cold.series["t_cabin_air_k"].max() > 248.15 + 20.0


@pytest.mark.parametrize("trip", TRIPS)
@pytest.mark.parametrize("plant", PLANTS)
def test_the_solvers_have_solved(plant: str, trip: str) -> None:
    """A closed ledger is not accuracy: no step may stand on an unsolved circuit or flow."""
    health = run_of(plant, trip).health
    assert health["circuit_not_solved_steps"] == 0
    assert health["flow_not_solved"] == 0
    assert health["steps_redone"] == 0
    assert health["coolant_outside_its_range_steps"] == 0
    assert health["refrigerant_residual_j"] <= 1e-5 * run_of(plant, trip).ledger["throughput_j"]


@pytest.mark.parametrize("accuracy", ACCURACIES)
@pytest.mark.parametrize("plant", PLANTS)
def test_charge_moves_with_the_pack_current(plant: str, accuracy: str) -> None:
    """State of charge and current are kept apart from the ledger: charge lost is the integral of the current."""
    run, dt = run_of(plant, "winter_day", accuracy), case_of("winter_day").dt_s
    moved_c = float(np.sum(run.series["i_pack_a"][1:].astype(float)) * dt)
    lost = float(run.series["soc"][0] - run.series["soc"][-1])
    capacity_c = moved_c / lost
    half = run.series["soc"].size // 2
    so_far_c = float(np.sum(run.series["i_pack_a"][1 : half + 1].astype(float)) * dt)
    lost_so_far = float(run.series["soc"][0] - run.series["soc"][half])
    assert so_far_c / lost_so_far == pytest.approx(capacity_c, rel=2e-4)
