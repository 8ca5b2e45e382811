"""Tuning of decision tables: which numbers a group moves, what is taken, and what the plant files say of it."""

import json
from collections.abc import Callable
from dataclasses import replace

import pytest

from tools.tune_groups import GROUPS, Group, moved, numbers_of, of_group
from tools.tune_tables import (
    BUDGET,
    HOME,
    IN_ORDER,
    MARK,
    PLANTS,
    Outcome,
    Search,
    bare,
    changes,
    digest,
    marked,
    undone,
    words_of,
    written_by_hand,
)

TEXT = """name = "Car"
[compressor.compressor]
speed = "8000 rpm"
[control]
dwell = "20 s"
[control.latch]
cold   = { yes = "cabin.air < setpoint - 1 K", no = "cabin.air > setpoint + 2 K" } # at 3 K it is "too cold by 4 K"
urgent = { yes = "pack.hottest + 8 K * charging > 43 degC", no = "pack.hottest + 8 K * charging < 39 degC" }
deep   = { yes = "outside.air < -12 degC",     no = "outside.air > -10 degC" }
[control.act.heat]
inlet  = { from = "fresh ~ recirculate 75 %", to = "fresh", by = "occupants", over = "1 person to 5 people" }
blower = { from = "40 %", to = "90 %", by = "setpoint - cabin.air", over = "0.5 K to 7 K" }
pump   = "off"
[control.act.demist]
blower = "80 %" # "much"
heater = { raises = "cabin.vent", until = "vent_target + 13 K", from = "0 W", to = "5.5 kW", band = "5 K" }
"""
NAMED = {one.name: one for one in GROUPS}


def line(text: str, begin: str) -> str:
    return next(one for one in text.splitlines() if one.startswith(begin))


def test_numbers_are_found_with_place_sign_and_unit() -> None:
    found = {(one.place, one.unit, one.value) for one in numbers_of(TEXT)}
    assert ("latch.cold.yes", "K", -1.0) in found
    assert ("latch.urgent.yes", "degC", 43.0) in found
    assert ("latch.deep.no", "degC", -10.0) in found
    assert ("act.demist.blower", "%", 80.0) in found
    assert not any("speed" in place or value in (3.0, 4.0) for place, _, value in found)
    for one in numbers_of(TEXT):
        assert f"{abs(one.value):g}" in TEXT[one.start : one.end]


def test_a_group_moves_its_numbers_and_nothing_else() -> None:
    text = moved(TEXT, NAMED["cold_at"], 1)
    assert line(text, "cold").startswith(
        'cold   = { yes = "cabin.air < setpoint - 0.5 K", no = "cabin.air > setpoint + 2.5 K" }'
    )
    assert text.replace(line(text, "cold"), line(TEXT, "cold")) == TEXT
    assert '"cabin.air < setpoint + 0.5 K"' in moved(TEXT, NAMED["cold_at"], 3)
    assert moved(TEXT, NAMED["frost"], 1) == TEXT


def test_a_threshold_of_a_latch_moves_without_what_its_flags_add() -> None:
    text = moved(TEXT, NAMED["pack_heat"], -1)
    assert line(text, "urgent") == line(TEXT, "urgent").replace("43", "41").replace("39", "37")


def test_scales_and_bounds() -> None:
    assert 'from = "46 %", to = "100 %"' in moved(TEXT, NAMED["heating_air"], 1)
    assert "recirculate 80 %" in moved(TEXT, NAMED["recirculation"], 1)
    beyond = Group("x", "", "act.x", ("%",), 10.0, high=60.0)
    assert beyond.moved(75.0, 1) == 75.0
    assert beyond.moved(75.0, -1) == 65.0


def of(scores: tuple[float, ...], vetoes: tuple[int, ...] = (0, 0), runs: int = 2) -> Outcome:
    return Outcome(scores, (0.0, 0.0), (1.0, 1.0), vetoes, runs)


def by_cold(answer: Callable[[float], Outcome]) -> Search:
    """A search in which only the threshold of `cold` counts."""
    said = lambda text: next(one.value for one in numbers_of(text) if one.place == "latch.cold.yes")  # noqa: E731
    search = Search(TEXT, lambda _: True, lambda text: answer(said(text)))
    search.run()
    return search


def test_the_search_goes_on_where_it_got_better_and_keeps_to_its_budget() -> None:
    search = by_cold(lambda cold: of((10.0 + cold, 20.0 + cold)))
    assert search.steps == {"cold_at": search.steps["cold_at"]}
    assert search.steps["cold_at"] < -5
    assert search.runs <= BUDGET
    assert search.runs > BUDGET - 2 * 2


def test_a_day_that_gets_worse_forbids_a_setting() -> None:
    search = by_cold(lambda cold: of((10.0 + 3.0 * cold, 20.0 - cold)))
    assert search.best == TEXT
    assert min(one.mean_ratio for one in search.trials) < 0.95
    assert not any(one.is_taken for one in search.trials)


def test_a_new_veto_or_a_gain_of_chance_forbids_a_setting() -> None:
    vetoed = by_cold(lambda cold: of((10.0 + cold, 20.0 + cold), (0, int(cold != -1.0))))
    assert vetoed.best == TEXT
    assert by_cold(lambda cold: of((10.0 + 1e-3 * cold, 20.0))).best == TEXT


def test_a_setting_that_is_no_plant_is_not_driven() -> None:
    search = Search(TEXT, lambda _: False, lambda _: of((1.0, 1.0)))
    search.run()
    assert search.runs == 2


def test_a_budget_counts_both_runs_of_a_charge() -> None:
    search = Search(TEXT, lambda _: True, lambda _: replace(of((1.0, 1.0)), runs=90))
    search.run()
    assert search.runs == 180


def test_what_was_changed_can_be_undone() -> None:
    text = moved(moved(TEXT, NAMED["cold_at"], 2), NAMED["demist_air"], -1)
    said = list(changes(TEXT, text))
    assert {one["place"] for one in said} == {"latch.cold.yes", "latch.cold.no", "act.demist.blower"}
    assert undone(text, said) == TEXT


def test_the_line_on_tuning_stands_above_the_table_and_is_not_part_of_it() -> None:
    text = marked(marked(TEXT, "one"), "two")
    assert text.count(MARK) == 1
    assert f"{MARK} two\n[control]\n" in text
    assert bare(text) == TEXT
    assert digest(text) == digest(TEXT)


@pytest.mark.parametrize("name", IN_ORDER)
def test_every_shipped_table_is_what_its_result_says(name: str) -> None:
    text = (PLANTS / f"{name}.plant.toml").read_text(encoding="utf-8")
    said = json.loads((HOME / f"{name}.json").read_text(encoding="utf-8"))
    assert said["runs"] <= BUDGET
    assert line(text, MARK) == f"{MARK} {words_of(said)}"
    before = written_by_hand(name)
    assert digest(before) == said["digest_as_written"]
    assert list(changes(before, bare(text))) == (said["values"] if said["ships_tuned"] else [])
    assert not set(said["seeds"]) & set(said["other_days"]["seeds"])


def test_every_table_that_ships_is_named_and_every_group_is_of_use() -> None:
    texts = {file.name.split(".")[0]: file.read_text(encoding="utf-8") for file in PLANTS.glob("*.plant.toml")}
    assert {name for name, text in texts.items() if "[control" in text} == set(IN_ORDER)
    for group in GROUPS:
        assert any(of_group(group, numbers_of(text)) for text in texts.values()), group.name
