"""The picture of parts, cost and energy."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from svg_reader import SPACE, faults, tree, words_of

from heatwright.draw.parts import parts_picture
from heatwright.study.parts import PartsAnswer
from heatwright.study.parts_roll import Roll
from heatwright.study.stuck import StuckParts

SMALL = Roll("Small", "small", {"pump": 10}, 20.0, 500.0, 460.0, 10_000.0, 2, 1, 0, 5, {"coolant": 1, "refrigerant": 1},
             {"coolant": 8, "refrigerant": 10}, 4.5, 5.0, 0.6, False)  # fmt: skip
LARGE = replace(SMALL, plant="A plant with a rather long name, all its loops joined", kinds={"pump": 40},
                cost_usd=8_000.0, joints={"coolant": 130, "refrigerant": 40})  # fmt: skip
NOTHING_STUCK = StuckParts((), ())


def answer(*energies: float | None) -> PartsAnswer:
    found = PartsAnswer((SMALL, LARGE), (NOTHING_STUCK, NOTHING_STUCK))
    rows = tuple({"energy_kwh_per_100km": energy} for energy in energies)
    trip = SimpleNamespace(trip="A made-up winter day with a rather long name", rows=rows)
    return replace(found, comparison=trip) if energies else found  # type: ignore[arg-type]


@pytest.mark.parametrize("energies", [(), (22.5, 130.0), (None, None)])
def test_words_stand_clear_of_each_other(energies: tuple[float | None, ...]) -> None:
    assert faults(parts_picture(answer(*energies))) == []


def test_bars_are_as_long_as_their_figures() -> None:
    bars = [node for node in tree(parts_picture(answer())).iter(f"{SPACE}rect") if float(node.attrib["height"]) == 16]
    wide = [float(bar.attrib["width"]) for bar in bars]
    assert wide[0] / wide[1] == pytest.approx(10 / 40, abs=0.01)
    assert wide[2] / wide[3] == pytest.approx(500 / 8000, abs=0.01)
    assert wide[4] / wide[5] == pytest.approx(18 / 170, abs=0.01)


def test_a_cost_is_told_as_a_band() -> None:
    said = [one.text for one in words_of(parts_picture(answer()))]
    assert "250 to 1,000" in said
    assert "4,000 to 16,000" in said
