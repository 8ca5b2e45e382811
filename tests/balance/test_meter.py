"""An independent meter, fed with the saved series and property functions alone, reads what the ledger says."""

from __future__ import annotations

from dataclasses import replace

import pytest

from heatwright.study.meter import meter
from tests.balance.marches import PLANTS, program_of, run_of

TRIPS = ("winter_day", "rain_day", "day24", "hot_day", "deep_cold")
ACCURACIES = ("normal", "high")
TERMS = 2e-3
DOORS = 5e-3
"""An open door changes a tenth of the cabin's air in a step; the trapezoid over its humidity misses that by so much."""
THAWS = 2e-2
"""A trace of frost that comes and goes within a minute melts between two saved states."""
USES = 5e-3
"""The compressor's power is recorded for the temperatures at the start of a step and booked for those at its
end; where it starts and stops often the two differ by some 0.2 %."""


@pytest.mark.parametrize("accuracy", ACCURACIES)
@pytest.mark.parametrize("trip", TRIPS)
@pytest.mark.parametrize("plant", PLANTS)
def test_meter_and_ledger_agree(plant: str, trip: str, accuracy: str) -> None:
    program, run = program_of(plant, trip), run_of(plant, trip, accuracy)
    read = meter(program, run)
    loose = {"latent": DOORS, "melt": THAWS}
    far = {name: one for name, one in read["terms"].items() if one["relative"] > loose.get(name, TERMS)}
    assert far == {}
    assert read["worst_relative"] == read["terms"][read["worst_term"]]["relative"]
    assert read["worst_use_relative"] < USES
    assert abs(read["balance_relative"]) < 1e-4
    stores = {f"stored_in_{store}" for store in program.index.stores}
    assert stores <= set(read["terms"])
    unseen = sum(abs(run.ledger["terms_j"][name]) for name in read["missing"])
    assert unseen <= 1e-3 * run.ledger["boundary_j"]


@pytest.mark.parametrize("accuracy", ACCURACIES)
@pytest.mark.parametrize("trip", TRIPS)
@pytest.mark.parametrize("plant", PLANTS)
def test_powers_flows_and_water_balance(plant: str, trip: str, accuracy: str) -> None:
    read = meter(program_of(plant, trip), run_of(plant, trip, accuracy))
    assert read["bus_w"] < 0.05
    assert read["flow_imbalance"] < 1e-6
    water = read["water_kg"]
    turned_over = water["from_people"] + abs(water["exchanged"])
    assert abs(water["residual"]) < (1e-6 if accuracy == "normal" else 2e-3) * turned_over


@pytest.mark.parametrize(
    "term", ["stored_in_coolant", "stored_in_cabin", "air_to_outside", "glass_to_outside", "road_work"]
)
def test_the_meter_sees_a_wrong_ledger(term: str) -> None:
    program, run = program_of("plain", "winter_day"), run_of("plain", "winter_day")
    terms = run.ledger["terms_j"]
    wrong = replace(run, ledger={**run.ledger, "terms_j": {**terms, term: terms[term] * 1.004}})
    read = meter(program, wrong)
    assert read["worst_term"] == term
    assert read["worst_relative"] > TERMS


def test_the_meter_sees_a_wrong_series() -> None:
    """Half a kelvin on the cabin air is a wrong exhaust enthalpy."""
    program, run = program_of("plain", "winter_day"), run_of("plain", "winter_day")
    series = {**run.series, "t_cabin_air_k": run.series["t_cabin_air_k"] + 0.5}
    assert meter(program, replace(run, series=series))["terms"]["air_to_outside"]["relative"] > TERMS
