"""Tuning of decision tables: which numbers are found, what is written, and that a stopped search goes on."""

import json
import re

import pytest

from tools.tune_tables import PLANTS, SETTINGS, Outcome, Search, known_trials, moved, numbers_of, written

TEXT = """name = "Car"
[compressor.compressor]
speed = "8000 rpm"
[control]
dwell = "20 s"
[control.latch]
cold = { yes = "cabin.air < setpoint - 1 K", no = "cabin.air > setpoint + 2 K" } # at 3 K it is "too cold by 4 K"
deep = { yes = "outside.air < -12 degC",     no = "outside.air > -10 degC" }
[control.act.heat]
inlet  = { from = "fresh ~ recirculate 80 %", to = "fresh", by = "occupants", over = "1 person to 5 people" }
fan    = { from = "20 %", to = "100 %", by = "circuit.high", over = "10 bar to 18 bar" }
drain  = { from = "20 %", to = "100 %", by = "drive.coolant", over = "50 degC to 60 degC" }
blower = { from = "38 %", to = "62 %", by = "setpoint - cabin.air", over = "0.5 K to 7 K" }
pump   = "off"
heater = { raises = "cabin.air", until = "setpoint", from = "0 W", to = "5.5 kW", band = "5 K", min_on = "60 s" }
"""


def test_the_numbers_of_the_control_table_alone_are_found() -> None:
    found = numbers_of(TEXT)
    assert [(one.shipped, one.unit) for one in found] == [
        (1.0, "K"), (2.0, "K"), (12.0, "degC"), (10.0, "degC"), (80.0, "%"), (38.0, "%"), (62.0, "%"),
        (0.5, "K"), (7.0, "K"), (5.5, "kW"), (5.0, "K"),
    ]  # fmt: skip
    for one in found:
        assert float(TEXT[one.start : one.end]) == one.shipped
        assert TEXT.splitlines()[one.line - 1].find(one.key) >= 0


def test_values_are_put_in_place_and_nothing_else_moves() -> None:
    numbers = numbers_of(TEXT)
    values = [one.shipped for one in numbers]
    assert written(TEXT, numbers, values) == TEXT
    values[0], values[5] = 1.25, 40.0
    text = written(TEXT, numbers, values)
    assert 'yes = "cabin.air < setpoint - 1.25 K"' in text
    assert 'from = "40 %", to = "62 %"' in text
    assert '# at 3 K it is "too cold by 4 K"' in text
    assert re.sub("1.25", "1", re.sub('"40 %"', '"38 %"', text)) == TEXT


def test_a_number_stays_within_its_bounds() -> None:
    numbers = numbers_of(TEXT)
    best = tuple(one.shipped for one in numbers)
    for steps in ([50.0] * len(numbers), [-50.0] * len(numbers)):
        for one, value in zip(numbers, moved(numbers, best, steps), strict=True):
            assert value >= 0.0
            assert value != one.shipped
            assert abs(value - one.shipped) <= {"%": 24.0, "degC": 4.5, "K": 3.5, "kW": 1.65}[one.unit] + 1e-9
            assert one.unit != "%" or value <= (90.0 if one.name == "inlet" else 100.0)


def drive(text: str) -> Outcome:
    """A made-up plant that likes much air in the cold."""
    most = next(one for one in numbers_of(text) if one.name == "blower").shipped
    return Outcome((10.0 - 0.05 * most, 20.0 - 0.1 * most), (0, 1))


def test_the_search_keeps_to_its_budget_and_finds_what_is_better() -> None:
    search = Search(TEXT, lambda _: True, drive)
    search.run(SETTINGS, lambda: None)
    assert len(search.trials) == SETTINGS == 25
    assert search.outcome.ratio(search.base) == min(one.ratio(search.base) for one in search.trials) < 1.0
    assert search.best[5] > 38.0


def test_a_setting_with_a_new_veto_is_not_taken() -> None:
    def vetoed(text: str) -> Outcome:
        return Outcome(drive(text).score_kwh, (0, 1) if text == TEXT else (1, 0))

    search = Search(TEXT, lambda _: True, vetoed)
    search.run(SETTINGS, lambda: None)
    assert search.best == tuple(one.shipped for one in search.numbers)
    assert search.outcome == search.base


def test_a_setting_that_is_no_plant_costs_nothing() -> None:
    asked: list[str] = []

    def fits(text: str) -> bool:
        asked.append(text)
        return len(asked) % 3 == 0

    search = Search(TEXT, fits, drive)
    search.run(8, lambda: None)
    assert len(search.trials) == 8
    assert len(asked) >= 3 * 7


def test_a_stopped_search_goes_on_and_ends_as_it_would_have(tmp_path) -> None:
    whole = Search(TEXT, lambda _: True, drive)
    whole.run(SETTINGS, lambda: None)
    half = Search(TEXT, lambda _: True, drive)
    half.run(10, lambda: None)
    file = tmp_path / "car.json"
    file.write_text(json.dumps(half.as_json("car")))
    driven: list[str] = []

    def counted(text: str) -> Outcome:
        driven.append(text)
        return drive(text)

    rest = Search(TEXT, lambda _: True, counted, known_trials(file, TEXT))
    rest.run(SETTINGS, lambda: None)
    assert len(driven) == SETTINGS - 10
    assert rest.as_json("car") == whole.as_json("car")
    assert known_trials(file, TEXT + "# another") == []


@pytest.mark.parametrize("file", sorted(PLANTS.glob("*.plant.toml")), ids=lambda file: file.name.split(".")[0])
def test_every_shipped_table_has_numbers_to_tune(file) -> None:
    text = file.read_text(encoding="utf-8")
    assert bool(numbers_of(text)) == ("[control" in text)
