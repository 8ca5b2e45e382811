"""The charge-time model behind the heat prices against whole marches of shipped plants at a charger, and its page."""

import pytest

from heatwright.dispatch.prices import charge_par
from heatwright.dispatch.settings import load_settings
from heatwright.physics import fast_charge as fc
from tests.balance.marches import program_of, run_of
from tools import prices_page


def both_s(plant: str, trip: str, cooling_w: float) -> tuple[float, float]:
    return prices_page.march_and_model_s(program_of(plant, trip), run_of(plant, trip), cooling_w)


# Measured when written: 0.3 % (plain, mild), 1.3 % and 3.2 % (plain and reversing, -10 degC), 0.1 % (router, mild).
# What is left out: spread between cells, heat to the cabin floor, coolant and plate. Plain and reversing do not cool
# their packs at a mild charge; the router does, with more than 4 kW.
@pytest.mark.parametrize(
    ("plant", "trip", "cooling_w", "within"),
    [
        ("plain", "charge_mild", 0.0, 0.02),
        ("plain", "charge_cold", 0.0, 0.05),
        ("reversing", "charge_cold", 0.0, 0.05),
        ("router", "charge_mild", 4e3, 0.02),
    ],
)
def test_the_time_at_the_charger_is_that_of_the_march(plant: str, trip: str, cooling_w: float, within: float) -> None:
    march_s, model_s = both_s(plant, trip, cooling_w)
    assert model_s == pytest.approx(march_s, rel=within)


def test_another_temperature_would_not_pass() -> None:
    """The comparison can fail: the same charge from 20 degC takes far less time."""
    march_s, _ = both_s("plain", "charge_cold", 0.0)
    par, cell = charge_par(program_of("plain", "charge_cold"), load_settings(), 150e3, 263.15)
    warm_s, _, _ = fc.fast_charge(293.15, 0.015, 0.8, par, cell)
    assert warm_s < 0.6 * march_s


@pytest.mark.slow
def test_the_page_is_what_the_code_says() -> None:
    text = prices_page.PAGE.read_text(encoding="utf-8")
    assert prices_page.fresh() == text, "run make docs, or python -m tools.prices_page"
    assert prices_page.PICTURE.read_text(encoding="utf-8") == prices_page.picture()
