"""Many drawn days: what is asked for, and how the answers are put together."""

import json

import pytest

from heatwright.dispatch.score import Score
from heatwright.errors import InputError
from heatwright.study.days import Day, Days
from heatwright.study.strategies import read_strategies


def scored(kwh: float, vetoes: tuple[str, ...] = ()) -> Score:
    return Score({"compressor": kwh - 1.0}, 0.1, 0.2, 0.3, 0.2, 0.2, 0.5, 2.0, 4.0, vetoes)


def found() -> Days:
    pairs = [(4, 8.0, 6.0), (5, 10.0, 11.0), (6, 5.0, 4.5)]
    days = [Day(seed, f"Day {seed}", {"table": scored(a), "dispatch": scored(b)}) for seed, a, b in pairs]
    days.append(Day(7, "Day 7", {"table": scored(4.0, ("drained pack",)), "dispatch": scored(4.0)}))
    return Days("Car", ("table", "dispatch"), tuple(days))


def test_the_second_is_set_against_the_first() -> None:
    (one,) = found().against
    assert (one.strategy, one.other, one.days, one.wins) == ("dispatch", "table", 4, 2)
    assert one.mean_ratio == pytest.approx((6 / 8 + 11 / 10 + 4.5 / 5 + 1) / 4)
    assert (one.best_seed, one.worst_seed) == (4, 5)
    assert (one.best_ratio, one.worst_ratio) == (pytest.approx(0.75), pytest.approx(1.1))


def test_json_has_five_figures_of_each_strategy_and_a_summary() -> None:
    told = json.loads(json.dumps(found().as_json()))
    assert set(told) == {"days", "summary"}
    first = told["days"][0]
    assert list(first) == ["seed", "trip", "table", "dispatch"]
    figures = {"score_kwh", "energy_kwh", "discomfort_kh", "charge_min", "switches_per_h"}
    assert set(first["table"]) == set(first["dispatch"]) == figures
    assert first["table"]["score_kwh"] == pytest.approx(8.0)
    assert told["summary"]["against"][0]["mean_ratio"] == pytest.approx(found().against[0].mean_ratio)
    assert told["summary"]["vetoes"] == [{"seed": 7, "strategy": "table", "veto": "drained pack"}]


def test_the_table_fits_a_terminal_and_names_what_is_wrong() -> None:
    text = found().as_text()
    assert max(len(line) for line in text.splitlines()) <= 100
    assert "better on 2 of 4 days" in text
    assert "day 7, table: drained pack" in text


def test_one_strategy_alone_has_nothing_to_be_set_against() -> None:
    alone = Days("Car", ("dispatch",), (Day(1, "Day 1", {"dispatch": scored(3.0)}),))
    assert alone.against == ()
    assert "mean score under dispatch: 3.00 kWh" in alone.as_text()


def test_strategies_are_read_in_order_and_once() -> None:
    assert read_strategies(" dispatch, table,dispatch ") == ("dispatch", "table")


@pytest.mark.parametrize(
    ("text", "words"), [("tabel", "write 'table'"), ("table,luck", "'luck'"), (" , ", "no strategy")]
)
def test_unknown_strategies_are_one_report(text: str, words: str) -> None:
    with pytest.raises(InputError, match=r"table, rules, dispatch") as failure:
        read_strategies(text)
    assert words in str(failure.value)
