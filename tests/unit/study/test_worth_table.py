"""How worths and foresight are told: order of signs, vetoes, width, JSON."""

import json

from heatwright.study.foresee import Foresight, Found, Wrong
from heatwright.study.masks import Mask
from heatwright.study.worth import Row, Worth


def worths() -> Worth:
    heater = Mask("heater", "coolant heater", frozenset({"a", "b"}))
    long = Mask(
        "Heat lifted from cabin and pack to outside; drive to radiator; recirculated air", "mode", frozenset({"c"})
    )
    rows = (
        Row(heater, (20.0, 60.0), (("Frost", "unheated cabin from 'out' on"),)),
        Row(long, (-1.0, 0.0), ()),
    )
    return Worth("Car", ("Frost", "Rain"), (4.0, 1.0), rows, ("pad",))


def test_rows_have_mean_least_and_most_and_the_vetoes_they_bring() -> None:
    told = json.loads(json.dumps(worths().as_json()))
    first, second = told["rows"]
    assert {"part", "mean_percent", "min_percent", "max_percent", "days"} <= set(first)
    assert (first["mean_percent"], first["min_percent"], first["max_percent"], first["days"]) == (40.0, 20.0, 60.0, 2)
    assert first["vetoes"] == [{"trip": "Frost", "veto": "unheated cabin from 'out' on"}]
    assert second["vetoes"] == []
    assert told["unused"] == ["pad"]


def test_the_table_of_worths_fits_and_tells_what_is_not_used() -> None:
    text = worths().as_text()
    assert max(map(len, text.splitlines())) <= 100
    assert "+40.0" in text
    assert "−0.5" in text
    assert "No candidate uses: pad." in text
    assert "heater, Frost: unheated cabin" in text


def foresight(*wrong: Wrong) -> Foresight:
    path = ((0.0, 0.8), (1500.0, 1.234), (6000.0, -0.2))
    found = (Found("constant", (0.8,), ((0.0, 0.8),), 9.9, 15), Found("path", (0.8, 1.2, -0.2), path, 9.5, 30),
             Found("standing", (0.1,), None, 10.2, 15))  # fmt: skip
    return Foresight("Car", "Charge", 10.0, ((0.0, 0.8), (6000.0, 0.1)), found, wrong)


def test_the_best_found_is_the_least_of_all_with_the_run_among_them() -> None:
    told = json.loads(json.dumps(foresight(Wrong("late", 11.0, 10.0, 70.0, ())).as_json()))
    assert (told["score_kwh"], told["best_found_kwh"], told["reduced_dp_kwh"]) == (10.0, 9.5, None)
    assert told["wrong_forecast"][0]["percent"] == 100.0 * (11.0 / 10.0 - 1.0)
    alone = Foresight("Car", "Charge", 9.0, (), foresight().found, ())
    assert alone.best_found_kwh == 9.0


def test_the_table_of_foresight_fits_and_claims_no_optimum() -> None:
    for one in (foresight(), foresight(Wrong("air at the charger believed 10 K colder", 11.0, 10.0, 70.0, ("x",)))):
        text = one.as_text()
        assert max(map(len, text.splitlines())) <= 100
        assert "not proven best" in text
        assert "optim" not in text
    assert "uses no forecast" not in text
