"""Tables for the terminal."""

from dataclasses import replace

from heatwright.report.text import columns, run_as_text, shipped_table
from heatwright.run import Run


def test_columns_are_aligned() -> None:
    assert columns([("a", "1.00"), ("bcd", "12.00")], head=("use", "kWh"), numbers=True).splitlines() == [
        "use    kWh",
        "a     1.00",
        "bcd  12.00",
    ]
    assert columns([]) == ""


def test_shipped_table_wraps_beside_the_names() -> None:
    text = shipped_table("Plants", [("plain", "word " * 30)], width=60)
    lines = text.splitlines()
    assert lines[0] == "Plants"
    assert all(len(line) <= 60 for line in lines)
    assert all(line.startswith(" " * 9) for line in lines[2:])
    assert shipped_table("Trips", []) == "Trips\n  none"


def test_run_as_text_has_the_answer_and_units(short_run: Run) -> None:
    text = run_as_text(short_run)
    for words in (
        "23.71 kWh/100 km",
        "286.4 km",
        "11.7 min",
        "in all",
        "14.112",
        "steps redone",
        "3.1 × 10⁻⁹",
    ):
        assert words in text
    assert max(map(len, text.splitlines())) <= 110


def test_a_long_title_of_a_mode_is_wrapped(short_run: Run) -> None:
    long = "Heat lifted from drive and made heat to cabin; air dried; drive making heat; inner return, fresh air"
    modes = [{"title": long, "id": "m1d72w", "time_s": 60.0}]
    text = run_as_text(replace(short_run, summary={**short_run.summary, "modes": modes}))
    lines = text.splitlines()
    at = next(k for k, line in enumerate(lines) if "m1d72w" in line)
    assert max(len(line) for line in lines[at - 1 : at + 3]) <= 100
    assert f"{lines[at].split('  ')[0]} {lines[at + 1].strip()}" == long
