"""Whether having fewer parts pays, told from made-up figures and from one comparison."""

from __future__ import annotations

from dataclasses import replace

import pytest

from heatwright.plant.model import Plant
from heatwright.study.compare import Comparison
from heatwright.study.parts_pay import Against, sentences, set_against
from heatwright.study.parts_roll import roll_up


def against(name: str, saved: float | None, *, more: int = 3, usd: float = 100.0, fair: bool = True) -> Against:
    return Against(("Small", name), more, usd, saved, fair, "like for like" if fair else "but not like for like")


def test_a_plant_that_uses_less_has_its_price_told() -> None:
    first, verdict = sentences([against("Big", 2.0)], "the trip")
    assert first == (
        "Big has 3 more parts than Small, costs about 50 to 200 USD more and uses 2.00 kWh/100 km less on the trip, "
        "like for like: about 25 to 100 USD of parts for each kWh/100 km."
    )
    assert verdict == "Fewer parts cost energy here: Big uses less than Small."


def test_fewer_parts_pay_where_nothing_larger_uses_less() -> None:
    said = sentences([against("Big", -1.0), against("Twin", 0.04, more=0, usd=0.0)], "the trip")
    assert "uses 1.00 kWh/100 km more on the trip" in said[0]
    assert said[1].startswith("Twin has as many parts as Small, costs the same and uses the same energy on the trip")
    assert said[2].startswith("Fewer parts pay here: Small has the fewest, and none of the others")


def test_more_parts_may_pay_in_some_plants_only() -> None:
    said = sentences([against("Big", 1.0), against("Huge", -2.0), against("Odd", 3.0, fair=False)], "the trip")
    assert said[-1] == "More parts save energy in Big only, which uses less than Small; the other uses as much or more."


def test_unlike_service_gives_no_verdict() -> None:
    said = sentences([against("Big", 5.0, fair=False)], "the trip")
    assert "but not like for like" in said[0]
    assert "USD of parts for each" not in said[0]
    assert said[1].startswith("Whether fewer parts pay cannot be told here")


def test_figures_are_those_of_the_comparison(plants: dict[str, Plant], comparison: Comparison) -> None:
    rolls = [roll_up(plant) for plant in plants.values()]
    (one,) = set_against(rolls, comparison)
    pair = comparison.pairs[0]
    found = pair.equal.differences if pair.equal is not None and pair.equal.reached else pair.differences
    change = next(d.difference for d in found if d.quantity == "energy_kwh_per_100km")
    assert change is not None
    assert one.saved_kwh_per_100km == pytest.approx(-change)
    assert one.more_parts == rolls[1].parts - rolls[0].parts
    assert one.plants == pair.plants


def test_a_plant_without_control_is_judged_by_nobody(plants: dict[str, Plant], comparison: Comparison) -> None:
    """It uses the least because it does nothing: that is no saving."""
    last = comparison.runs[-1]
    idle = replace(last, provenance={**last.provenance, "controlled": False})
    rolls = [roll_up(plant) for plant in plants.values()]
    found = set_against(rolls, replace(comparison, runs=(*comparison.runs[:-1], idle)))
    assert not found[-1].fair
    assert found[-1].service == f"but {idle.plant_name} has no control table: nothing in it was switched on"
    assert sentences(found, "the trip")[-1].startswith("Whether fewer parts pay cannot be told here")
